//! The one table of problem codes: name, severity, title, help and long text of each kind of problem.
//!
//! Codes are grouped by hundreds: 1 rows and what is in scope, 2 numbers, 3 dates, 4 places, 5 identity, 6 codes and
//! columns of the owner, 7 inspections, 8 work done, failures and decisions. A code keeps its number for ever. To add one: a variant, a
//! row in [`CODES`], a case in `tests/bad_inputs` and a line in the README; tests ask for all four.

use std::fmt;

/// How bad a problem is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Worth knowing.
    Note,
    /// The record is used; part of it is treated as unknown.
    Warning,
    /// The record cannot be used as it stands.
    Error,
}

impl Severity {
    /// The word on screen and in tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }
}

/// A kind of problem. The table [`CODES`] says what each is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[expect(
    missing_docs,
    reason = "every code's title and explanation stand in CODES, which is printed for users"
)]
pub enum Code {
    RaggedRow,
    UnclosedQuote,
    NotAPoint,
    RepeatedColumn,
    ErrorCell,
    OtherMaterial,
    OtherOwner,
    OtherStatus,
    OutOfScopeInspection,
    CountedPoles,
    NoCount,
    ZeroCount,
    LastInspectionKnown,
    DoubtfulMaterial,
    TotalRow,
    NotANumber,
    NotPositive,
    PoleLength,
    GroundlineSize,
    SizesDisagree,
    CircumferenceGrew,
    ImpossibleDepth,
    AmbiguousNumber,
    NotAZone,
    NotYesOrNo,
    AmbiguousClass,
    NotAClass,
    OffTheSteps,
    NotASize,
    SizeColumnsDisagree,
    NotALoading,
    NotADate,
    TwoDigitYear,
    DateTooEarly,
    DateInFuture,
    PlaceholderDate,
    AmbiguousDate,
    InspectedBeforeSet,
    RemovedBeforeSet,
    OlderThanItsLine,
    PlaceholderYear,
    FrequentYear,
    BrandAfterSet,
    BrandLongBeforeSet,
    OutOfRange,
    NullPlace,
    SwappedPlace,
    ProjectedPlace,
    HalfPlace,
    WrongSign,
    SamePlace,
    UndeclaredProjection,
    FarFromItsLine,
    OffTheProjection,
    OutsideItsProjection,
    NoId,
    RepeatedRow,
    RepeatedId,
    UnknownPole,
    PossibleTwin,
    PredecessorsRecord,
    NotesSayGone,
    RepeatedReadings,
    ImpossiblePace,
    UnknownCode,
    UnknownMaterial,
    UnreadColumn,
    NoMethod,
    NoInspectionDate,
    NoVerdict,
    FutureInspection,
    RepeatedInspection,
    ConflictingInspections,
    PocketMisfit,
    UnknownDefect,
    DefectWithoutRule,
    PocketElsewhere,
    UnknownAgent,
    AgentWithoutTreatment,
    BraceWithoutDate,
    AgentOutOfPlace,
    WorkOnUnknownPole,
    NoWorkDate,
    NoWork,
    FutureWork,
    RepeatedWork,
    SeenAfterRemoval,
    NewPoleStoodBefore,
    NoFailureDate,
    FutureFailure,
    RepeatedFailure,
    FailureOfUnknownKind,
    FailedStillListed,
    DecisionOnUnknownPole,
    UnknownPackage,
    NoDecision,
    DecisionOnNothing,
    NoDecisionYear,
    NoMethodOrAction,
    IncompleteClearing,
    NoDecisionDate,
    FutureDecision,
    ContradictingDecisions,
    RepeatedDecision,
    YearOutsideSchedule,
    OutOfScopeDecision,
    DeferralIncomplete,
    DeferralPastReview,
    LesserAction,
    WeakMethod,
    DecisionWithoutEffect,
    DeferralBeyondReview,
    ReviewTooEarly,
}

/// What a code means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CodeInfo {
    /// The code.
    pub code: Code,
    /// Its name: P and three digits.
    pub name: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// The kind of problem, in a few words.
    pub title: &'static str,
    /// What would help.
    pub help: &'static str,
    /// What it means and what is done about it.
    pub explanation: &'static str,
}

impl Code {
    /// All codes, in the order of their names.
    pub const ALL: [Self; CODES.len()] = {
        let mut all = [CODES[0].code; CODES.len()];
        let mut place = 0;
        while place < CODES.len() {
            all[place] = CODES[place].code;
            place += 1;
        }
        all
    };

    /// The code's row in the table.
    pub const fn info(self) -> &'static CodeInfo {
        // Rows stand in the order of the variants; a test holds them to it.
        &CODES[self as usize]
    }

    /// How bad it is.
    pub const fn severity(self) -> Severity {
        self.info().severity
    }

    /// The code with this name, whatever its case.
    pub fn from_name(name: &str) -> Option<Self> {
        CODES
            .iter()
            .find(|info| info.name.eq_ignore_ascii_case(name.trim()))
            .map(|info| info.code)
    }
}

impl fmt::Display for Code {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.info().name)
    }
}

/// The table of codes as Markdown, one line a code.
pub fn table_of_codes() -> String {
    let head = String::from("| code | severity | what | help |\n|---|---|---|---|\n");
    let rows = CODES.iter().map(|info| {
        format!(
            "| {} | {} | {} | {} |\n",
            info.name,
            info.severity.word(),
            info.title,
            info.help
        )
    });
    std::iter::once(head).chain(rows).collect()
}

/// Every code, in the order of the variants.
pub const CODES: &[CodeInfo] = &[
    CodeInfo {
        code: Code::RaggedRow,
        name: "P101",
        severity: Severity::Warning,
        title: "a row has more or fewer cells than the header",
        help: "is a separator or a quote missing, or a comma inside a text not quoted?",
        explanation: "The row was kept. Cells that are missing are unknown; cells beyond the header are not read. If the break is in the middle of the row, its later cells may stand in the wrong columns: look at the row in the file.",
    },
    CodeInfo {
        code: Code::UnclosedQuote,
        name: "P102",
        severity: Severity::Warning,
        title: "a quote is opened and not closed",
        help: "write a quote inside a text twice, or take it out",
        explanation: "Read as the standard for such files says, the quote would swallow the rows that follow it. The rows were therefore read line by line, with quotes taken as plain characters, so that no row is lost. A quoted text that is closed may hold line breaks; that is no problem.",
    },
    CodeInfo {
        code: Code::NotAPoint,
        name: "P103",
        severity: Severity::Error,
        title: "a feature of the layer is not a point",
        help: "export the poles as points",
        explanation: "A pole is a point. Lines, areas and features without a geometry cannot be one; the feature was set aside.",
    },
    CodeInfo {
        code: Code::RepeatedColumn,
        name: "P104",
        severity: Severity::Warning,
        title: "two columns of the file have the same name",
        help: "rename one of them",
        explanation: "The first of the columns was read; the others were not. If the values that matter stand in a later one, rename the columns.",
    },
    CodeInfo {
        code: Code::ErrorCell,
        name: "P111",
        severity: Severity::Warning,
        title: "a cell in which a spreadsheet's formula failed",
        help: "mend the formula, or leave the cell empty",
        explanation: "Cells such as #N/A and #REF! hold no value: the lookup or the sum behind them went wrong. The cell is treated as unknown, the row is kept. An id that is such a cell leaves the row without an id.",
    },
    CodeInfo {
        code: Code::OtherMaterial,
        name: "P112",
        severity: Severity::Note,
        title: "a pole that is not of wood",
        help: "nothing, if the material is right",
        explanation: "Only wooden poles are planned for. The row is out of scope, and so are inspections of that pole.",
    },
    CodeInfo {
        code: Code::OtherOwner,
        name: "P113",
        severity: Severity::Note,
        title: "a pole of an owner who is not planned for",
        help: "add the owner to scope.owners, if it is",
        explanation: "The programme plans for the owners of scope.owners. The row is out of scope, and so are inspections of that pole.",
    },
    CodeInfo {
        code: Code::OtherStatus,
        name: "P114",
        severity: Severity::Note,
        title: "a pole whose status is not planned for",
        help: "add the status to scope.statuses, if it is",
        explanation: "The programme plans for the statuses of scope.statuses; a pole with a day of removal is removed, whatever its status says. The row is out of scope, and so are inspections of that pole.",
    },
    CodeInfo {
        code: Code::OutOfScopeInspection,
        name: "P115",
        severity: Severity::Note,
        title: "an inspection of a pole that is not planned for",
        help: "nothing, if the pole's own row is right",
        explanation: "The pole stands in a pole list, but its material, owner or status is out of scope; a note at its own row says which. The inspection is out of scope too.",
    },
    CodeInfo {
        code: Code::CountedPoles,
        name: "P116",
        severity: Severity::Note,
        title: "a row that stands for several poles",
        help: "list the poles one by one, once their ids are known",
        explanation: "The row gives a count. It was taken as that many poles with ids of our own making, set evenly over the years that the row gives. Such poles are counts, not poles: their order and years are not recorded, and coordinates of the row are not theirs. They carry the flag from_a_count.",
    },
    CodeInfo {
        code: Code::NoCount,
        name: "P117",
        severity: Severity::Error,
        title: "a count that is not a whole number",
        help: "write how many poles the row stands for",
        explanation: "Without a count nobody knows how many poles the row stands for, and it has no id to be one pole. The row was set aside.",
    },
    CodeInfo {
        code: Code::ZeroCount,
        name: "P118",
        severity: Severity::Note,
        title: "a row that stands for no pole",
        help: "nothing, if the count is right",
        explanation: "The count is 0, as in a table of sizes and years that has a row for each. The row was set aside.",
    },
    CodeInfo {
        code: Code::LastInspectionKnown,
        name: "P119",
        severity: Severity::Note,
        title: "the last inspection on a pole's row stands in the inspection records too",
        help: "nothing: it counts once",
        explanation: "The pole's row and an inspection record say the same verdict of the same day, and the row says nothing that the record does not. The record counts, and what stands on the pole's row was set aside, since it is not a second look.",
    },
    CodeInfo {
        code: Code::DoubtfulMaterial,
        name: "P120",
        severity: Severity::Warning,
        title: "no material in a list that is mostly not of wood",
        help: "enter the material, or take the rows out that are not wooden poles",
        explanation: "A pole whose material is not recorded is taken as wood. In this file most of the rows that do give a material are not of wood, as in a list of street lights, so that most of the others will not be either: they would be planned for, and counted in every total, as wooden poles. They are taken as wood all the same, since a pole is never dropped for what is not known.",
    },
    CodeInfo {
        code: Code::TotalRow,
        name: "P121",
        severity: Severity::Warning,
        title: "a row of totals",
        help: "delete the row; if its poles are on no other row, write what they are instead of the word",
        explanation: "A list of counts often ends with the sum of its rows, and counting that row would double every pole. A row whose size, line, species, preservative or another text is nothing but a word for a sum (total, grand total, subtotal, sum) was set aside.",
    },
    CodeInfo {
        code: Code::NotANumber,
        name: "P201",
        severity: Severity::Warning,
        title: "a number was expected",
        help: "write a plain number, with a unit of ours if need be: 12.5, 40 ft, 31 1/2 in",
        explanation: "Numbers may have thousands separators, a decimal point or a decimal comma, and a unit (mm, cm, m, in, ft). What cannot be read as one is treated as unknown; the pole stays in the plan.",
    },
    CodeInfo {
        code: Code::NotPositive,
        name: "P202",
        severity: Severity::Warning,
        title: "a length that is zero or negative",
        help: "leave the cell empty where a length is not known",
        explanation: "Zero stands in many lists for \"not recorded\". A length of zero or below is treated as unknown; the pole stays in the plan.",
    },
    CodeInfo {
        code: Code::PoleLength,
        name: "P203",
        severity: Severity::Warning,
        title: "a pole length that no wooden pole has",
        help: "is the column in another unit? Set units.length",
        explanation: "Pole lengths from 4 to 60 m are accepted. Outside that the unit is usually wrong: feet read as metres, or centimetres as millimetres. The length is treated as unknown.",
    },
    CodeInfo {
        code: Code::GroundlineSize,
        name: "P204",
        severity: Severity::Warning,
        title: "a groundline size that no wooden pole has",
        help: "is the column in another unit, or a diameter in a column of circumferences?",
        explanation: "Groundline diameters from 100 to 900 mm are accepted, and circumferences of such poles. Outside that the unit is usually wrong, or a diameter stands where a circumference should. The size is treated as unknown.",
    },
    CodeInfo {
        code: Code::SizesDisagree,
        name: "P205",
        severity: Severity::Warning,
        title: "diameter and circumference of one pole do not fit together",
        help: "check both columns and their units",
        explanation: "A circumference is 3.14 diameters. Where both are given and differ by more than a tenth, neither can be trusted and the diameter is treated as unknown.",
    },
    CodeInfo {
        code: Code::CircumferenceGrew,
        name: "P206",
        severity: Severity::Warning,
        title: "what is left is larger than what was there",
        help: "are the two columns exchanged?",
        explanation: "The remaining circumference cannot be larger than the original one at the same place, apart from a measuring error of a few hundredths. Both are treated as unknown; the verdict of the inspection still counts.",
    },
    CodeInfo {
        code: Code::ImpossibleDepth,
        name: "P207",
        severity: Severity::Warning,
        title: "a depth or shell that does not fit into the pole",
        help: "is the column in another unit?",
        explanation: "A decay depth or a sound shell is at most half of the diameter. Outside that it is treated as unknown; the verdict of the inspection still counts.",
    },
    CodeInfo {
        code: Code::AmbiguousNumber,
        name: "P208",
        severity: Severity::Warning,
        title: "a number that can be read in two ways",
        help: "write it without thousands separators and with a decimal point",
        explanation: "1,234 is one thousand or one and a bit. Where the limits of the field do not decide, the value is treated as unknown.",
    },
    CodeInfo {
        code: Code::NotAZone,
        name: "P209",
        severity: Severity::Warning,
        title: "a decay zone that is not 1 to 5",
        help: "use the zones of the map that the programme's decay_zone goes by",
        explanation: "Decay zones are whole numbers from 1 (low) to 5 (severe). The programme's decay_zone was taken instead.",
    },
    CodeInfo {
        code: Code::NotYesOrNo,
        name: "P210",
        severity: Severity::Warning,
        title: "yes or no was expected",
        help: "write yes or no",
        explanation: "Understood are yes, no, y, n, true, false, 1 and 0. Anything else is treated as unknown.",
    },
    CodeInfo {
        code: Code::AmbiguousClass,
        name: "P221",
        severity: Severity::Warning,
        title: "a class that may be one of treatment",
        help: "write the size class with the length in feet, or map the column to something else",
        explanation: "H1 to H6 are size classes of poles in America and hazard classes of preservative treatment elsewhere. In a list of metric lengths, or beside a word of treatment, the two are not guessed between: the class is treated as unknown.",
    },
    CodeInfo {
        code: Code::NotAClass,
        name: "P222",
        severity: Severity::Warning,
        title: "a pole class that does not exist",
        help: "leave the cell empty where the class is not known",
        explanation: "Classes are H6 to H1, 1 to 7, 9 and 10. Other numbers, often 0 for \"not recorded\", are treated as unknown. Names that are no number are kept as the names of the owner's own classes.",
    },
    CodeInfo {
        code: Code::OffTheSteps,
        name: "P223",
        severity: Severity::Note,
        title: "a length between the steps of poles in feet",
        help: "is the height above ground meant, or another unit?",
        explanation: "Poles measured in feet are 20, 25, 30 and so on up to 125 ft long. Another length is kept; dimensions of its class are interpolated.",
    },
    CodeInfo {
        code: Code::NotASize,
        name: "P224",
        severity: Severity::Warning,
        title: "a size that cannot be read",
        help: "write the length and the class, or the top diameter with its units: 40-4, 45/4, 12m/180",
        explanation: "A size holds a length with a class or a top diameter, and perhaps a species. What cannot be taken apart without guessing is treated as unknown.",
    },
    CodeInfo {
        code: Code::SizeColumnsDisagree,
        name: "P225",
        severity: Severity::Warning,
        title: "the size and another column of one row do not agree",
        help: "correct the one that is wrong",
        explanation: "A length, class, top diameter or species stands both in the size and in a column of its own, with different values. It is treated as unknown.",
    },
    CodeInfo {
        code: Code::NotALoading,
        name: "P226",
        severity: Severity::Warning,
        title: "a required moment or use of capacity that cannot be",
        help: "write the moment with its unit, or the use of capacity as a share such as 0.65",
        explanation: "A required moment is above 0 and at most 5,000 kNm; a use of capacity lies between 0.01 and 2. What cannot be read, or does not fit, is treated as unknown.",
    },
    CodeInfo {
        code: Code::NotADate,
        name: "P301",
        severity: Severity::Warning,
        title: "a date was expected",
        help: "write 1985-06-30 or 1985, or set date_form for this file",
        explanation: "ISO dates, bare years and the file's declared date_form are understood, and other common forms where they can mean only one day. What cannot be read is treated as unknown. A five-digit number is often a spreadsheet's count of days: format the column as a date before you export it.",
    },
    CodeInfo {
        code: Code::TwoDigitYear,
        name: "P302",
        severity: Severity::Warning,
        title: "a year of fewer than four digits",
        help: "write the year with four digits, or set date_form for this file, for example \"%y\" or \"%d.%m.%y\"",
        explanation: "85 is 1885, 1985 or a typing error; poles stand long enough for all three. With a date_form that declares two digits (%y) it means the last hundred years; otherwise the date is treated as unknown.",
    },
    CodeInfo {
        code: Code::DateTooEarly,
        name: "P303",
        severity: Severity::Warning,
        title: "no year, or a year before 1880",
        help: "leave the cell empty where the year is not known",
        explanation: "No pole in service was set before 1880. Zero stands in many lists for \"not recorded\". The date is treated as unknown.",
    },
    CodeInfo {
        code: Code::DateInFuture,
        name: "P304",
        severity: Severity::Warning,
        title: "a date after the day of the plan",
        help: "is the year mistyped, or is plan_from too early?",
        explanation: "A plan reads nothing that is later than its own plan_from. The date is treated as unknown.",
    },
    CodeInfo {
        code: Code::PlaceholderDate,
        name: "P305",
        severity: Severity::Warning,
        title: "a date that systems write when they have none",
        help: "leave the cell empty where the date is not known",
        explanation: "1900, 1901, 1899-12-30 and 1970-01-01 are what programs write where nobody entered a date. The date is treated as unknown.",
    },
    CodeInfo {
        code: Code::AmbiguousDate,
        name: "P306",
        severity: Severity::Warning,
        title: "day and month cannot be told apart",
        help: "set date_form for this file, for example \"%d/%m/%Y\" or \"%m/%d/%Y\"",
        explanation: "03/04/1985 is in March or in April. Without a declared date_form the date is not guessed: it is treated as unknown.",
    },
    CodeInfo {
        code: Code::InspectedBeforeSet,
        name: "P307",
        severity: Severity::Warning,
        title: "an inspection is older than the pole",
        help: "was the pole replaced under the old number?",
        explanation: "The pole was there when it was inspected, so the date on which it was set cannot be right, or the inspection belongs to its predecessor. The inspection is kept and the set date treated as unknown. If the pole was replaced under the old number, give the old one its own id.",
    },
    CodeInfo {
        code: Code::RemovedBeforeSet,
        name: "P308",
        severity: Severity::Warning,
        title: "a pole was removed or reinforced before it was set",
        help: "check both dates",
        explanation: "One of the two dates is wrong. The set date is treated as unknown; a removal stays a removal.",
    },
    CodeInfo {
        code: Code::OlderThanItsLine,
        name: "P309",
        severity: Severity::Note,
        title: "a pole far older than the rest of its line",
        help: "is the year mistyped, or is this a pole that was used before?",
        explanation: "The set year lies more than 30 years before the oldest quarter of its line, and three times as long before it as the middle half of the line took to set, and no other pole of the line is of its age. Old poles do stand on rebuilt lines: the year is used as it is.",
    },
    CodeInfo {
        code: Code::PlaceholderYear,
        name: "P310",
        severity: Severity::Warning,
        title: "a year that stands for 'not known'",
        help: "leave the cell empty where the year is not known",
        explanation: "The year has over ten times as many poles as the years around it, it stands on most lines, and it is one from which computers count, or all its poles have one day, or nothing was set in the ten years after. A boom of building does not look like that. The date is treated as unknown.",
    },
    CodeInfo {
        code: Code::FrequentYear,
        name: "P311",
        severity: Severity::Note,
        title: "a year with far more poles than those around it",
        help: "was the network built in that year, or was the year entered where it was not known?",
        explanation: "The year has over ten times as many poles as the median of the five years before and after, and few lines alone do not explain it, but nothing proves that it stands for 'not known'. It is used as it is; the note stands at the first such pole.",
    },
    CodeInfo {
        code: Code::BrandAfterSet,
        name: "P312",
        severity: Severity::Warning,
        title: "a brand that is younger than the pole's setting",
        help: "was the pole replaced and the old set date kept?",
        explanation: "A pole cannot be branded after it was set. Either the set date is the predecessor's or one of the two is misread; the set date is treated as unknown.",
    },
    CodeInfo {
        code: Code::BrandLongBeforeSet,
        name: "P313",
        severity: Severity::Note,
        title: "a pole branded long before it was set",
        help: "was it in service elsewhere before?",
        explanation: "Poles wait in a yard for some years at most. One branded more than five years before it was set was probably used before, and its wood has aged since. The set date is used as it is.",
    },
    CodeInfo {
        code: Code::OutOfRange,
        name: "P401",
        severity: Severity::Warning,
        title: "coordinates that are not on the earth",
        help: "longitudes lie within -180 to 180, latitudes within -90 to 90",
        explanation: "The place is treated as unknown. The pole stays in the plan, but not on maps and not in packages by distance.",
    },
    CodeInfo {
        code: Code::NullPlace,
        name: "P402",
        severity: Severity::Warning,
        title: "coordinates 0, 0",
        help: "leave both cells empty where the place is not known",
        explanation: "Longitude 0 and latitude 0 lie in the sea; programs write them where nobody entered a place. The place is treated as unknown.",
    },
    CodeInfo {
        code: Code::SwappedPlace,
        name: "P403",
        severity: Severity::Warning,
        title: "longitude and latitude seem to be exchanged",
        help: "exchange them in the file, or the two columns in the programme",
        explanation: "The pole lies far from the others, or off the earth, but among them when the two values are exchanged. It is not moved without you: its place is treated as unknown.",
    },
    CodeInfo {
        code: Code::ProjectedPlace,
        name: "P404",
        severity: Severity::Warning,
        title: "coordinates in metres or feet, not degrees",
        help: "set epsg for this file, or export WGS 84 longitudes and latitudes",
        explanation: "Values far beyond 180 are coordinates of a map projection. They are converted when the programme names it (epsg = ...) and not guessed at otherwise: the place is treated as unknown.",
    },
    CodeInfo {
        code: Code::HalfPlace,
        name: "P405",
        severity: Severity::Warning,
        title: "only one of longitude and latitude",
        help: "give both or none",
        explanation: "One coordinate alone is no place. The place is treated as unknown.",
    },
    CodeInfo {
        code: Code::WrongSign,
        name: "P406",
        severity: Severity::Warning,
        title: "a coordinate seems to have the wrong sign",
        help: "west and south are negative",
        explanation: "The pole lies far from the others, but among them when the sign of one coordinate is changed. It is not moved without you: its place is treated as unknown.",
    },
    CodeInfo {
        code: Code::SamePlace,
        name: "P407",
        severity: Severity::Note,
        title: "several poles at one point",
        help: "were places copied down, or is this a structure of several poles?",
        explanation: "Structures of two or three poles may share a point. Where many poles do, the point is usually an address, a centre of a town or a copied cell. The places are used as they are.",
    },
    CodeInfo {
        code: Code::UndeclaredProjection,
        name: "P408",
        severity: Severity::Warning,
        title: "a file with coordinates that are no degrees, and no epsg",
        help: "add epsg = ... to this file in the programme, or export longitude and latitude (WGS 84)",
        explanation: "Coordinates in metres or feet say where a pole stands only together with their projection, which the EPSG code names. Where other poles of the list have places, the codes that put these among them are named; they are not chosen for you. Until then the places are treated as unknown.",
    },
    CodeInfo {
        code: Code::FarFromItsLine,
        name: "P409",
        severity: Severity::Warning,
        title: "a pole far from the others of its line",
        help: "check the coordinates and the line",
        explanation: "The pole stands at least 1 km and 20 usual spacings from every other pole of its line. When the poles before and after it by sequence stand together, its coordinates or its line must be wrong, and the place is treated as unknown. Without a sequence only poles over 10 km away are named, and their places are used as they are. A group of poles over 100 km from the rest of its line is named once, at its first pole, and used as it is: was another projection or zone meant for its file? Lines that go on beyond a smaller gap are not meant.",
    },
    CodeInfo {
        code: Code::OffTheProjection,
        name: "P410",
        severity: Severity::Warning,
        title: "coordinates that the declared projection does not have",
        help: "is epsg the right code, and are the two columns exchanged?",
        explanation: "The projection that epsg names has no such point on the earth. The place is treated as unknown.",
    },
    CodeInfo {
        code: Code::OutsideItsProjection,
        name: "P411",
        severity: Severity::Warning,
        title: "coordinates far from where the declared projection is used",
        help: "is epsg the right code? Nothing to do where the owner keeps one grid beyond its edge",
        explanation: "A zone of the Universal Transverse Mercator projection is meant for 6 degrees of longitude, of which 2 more on either side are let pass; a grid of a country's own for 10 degrees on either side of its central meridian; one with standard parallels for their latitudes and three quarters of their distance beyond, plus 3 degrees. Poles outside hint at a code of another zone or country: every pole would then be drawn in the wrong place. The check comes from the projection's own numbers and not from a list of areas, so that it asks and proves nothing. The places are used as they are.",
    },
    CodeInfo {
        code: Code::NoId,
        name: "P501",
        severity: Severity::Error,
        title: "a row without an id",
        help: "give the row the pole's id, or map another column to id",
        explanation: "Without an id nothing can be said about the pole and nothing planned for it. The row was set aside.",
    },
    CodeInfo {
        code: Code::RepeatedRow,
        name: "P502",
        severity: Severity::Warning,
        title: "the same pole twice, with the same content",
        help: "delete one of the rows",
        explanation: "Both rows say the same: one counts and the other was set aside.",
    },
    CodeInfo {
        code: Code::RepeatedId,
        name: "P503",
        severity: Severity::Error,
        title: "two poles with one id",
        help: "give each pole its own id, or correct the row that is wrong",
        explanation: "The rows differ, so at most one of them is right. The most complete row counts (among equals the one that comes first by its content, whatever the order of the file); the others were set aside.",
    },
    CodeInfo {
        code: Code::UnknownPole,
        name: "P504",
        severity: Severity::Error,
        title: "an inspection of a pole that is not in the list",
        help: "add the pole to the list, or correct the id",
        explanation: "What was found cannot be tied to a pole; the inspection was set aside. Poles that the programme's scope leaves out are not meant here: their inspections are counted as out of scope.",
    },
    CodeInfo {
        code: Code::PossibleTwin,
        name: "P505",
        severity: Severity::Note,
        title: "two poles at one point that look like one",
        help: "is this one pole under two ids?",
        explanation: "Two poles at exactly one point differ only in how their ids are written, or are alike in line, size, kind and year as far as these are known (at least three of them). Structures of two poles look like this too: both are kept, and both would be visited.",
    },
    CodeInfo {
        code: Code::PredecessorsRecord,
        name: "P506",
        severity: Severity::Warning,
        title: "an inspection of the pole that stood here before",
        help: "give the old pole its own id",
        explanation: "The pole was rejected, and the list says that one was set afterwards: a new pole took the place and the id. What was found in the old one says nothing of the new one, so the inspection is kept among the records of poles that are gone. Without a reject before the set date this is not supposed: then P307 doubts the set date.",
    },
    CodeInfo {
        code: Code::NotesSayGone,
        name: "P507",
        severity: Severity::Warning,
        title: "notes that say that the pole is gone",
        help: "set its status to removed, or correct the note",
        explanation: "Read are plain English notes such as 'removed', 'pole was pulled', 'no pole here', 'pole not found', 'replaced by pole 12'. The pole stays in the plan, since a visit to a pole that is gone costs little and a pole left out by mistake is never looked at again. With scope.drop_if_notes_say_gone = true, poles whose notes in the list say so are out of scope.",
    },
    CodeInfo {
        code: Code::RepeatedReadings,
        name: "P508",
        severity: Severity::Warning,
        title: "the same readings on most poles of a round",
        help: "ask the contractor how the readings were made",
        explanation: "Of at least 30 poles that one contractor measured in a year, four in five have the same readings in every column. Wood does not measure alike: were readings copied down, or is the column a limit rather than a reading? All inspections are kept and count as what they say they are, so look before you rely on them.",
    },
    CodeInfo {
        code: Code::ImpossiblePace,
        name: "P509",
        severity: Severity::Warning,
        title: "more intrusive inspections in a day than crews can do",
        help: "are these the days of the reports, or were the poles only looked at?",
        explanation: "By crews.poles_per_crew_day, one contractor would have needed more than five crews on a day. Either the date is that of a report, or poles recorded as opened were only looked at, which finds far less. All inspections are kept and count as what they say they are, so look before you rely on them.",
    },
    CodeInfo {
        code: Code::UnknownCode,
        name: "P601",
        severity: Severity::Warning,
        title: "a code that the programme does not explain",
        help: "add it to the codes of this file in the programme",
        explanation: "Each code is listed once, with the number of rows that have it. It is treated as unknown: poles stay in the plan. Codes of verdicts and methods are different: a run stops at those, because it would misread what was found.",
    },
    CodeInfo {
        code: Code::UnknownMaterial,
        name: "P602",
        severity: Severity::Warning,
        title: "a material that nobody explained",
        help: "say what it is: [poles.codes.material] with the code and wood or other",
        explanation: "Only wooden poles are planned for, and whether this code means wood is not known. The poles stay in the plan, since a wooden pole left out by mistake is never looked at again, and are planned for as if they were of wood. How many they are stands above everything else that `check` and `plan` say of the records, and schedule.csv flags each with material_unknown. Map the code before the numbers are relied on.",
    },
    CodeInfo {
        code: Code::UnreadColumn,
        name: "P603",
        severity: Severity::Warning,
        title: "a column that is called like a field and is not read",
        help: "name it in the columns of this file, with its unit below units if it has one; or leave it, if it is something else",
        explanation: "Columns are read when the programme names them or when they are called exactly like a field, in our unit; sound shells and pockets also with numbers (pocket_width_1, pocket_width_2). This one is called much like a field that nothing fills, and nobody said what it is: what stands in it is not used. In records of work, length, class, species and preservative may be the old pole's: those of the new pole are new_length, new_class, new_species and new_preservative. Last inspections on the rows of a pole list are read only by the columns that [poles.last_inspection] names.",
    },
    CodeInfo {
        code: Code::NoMethod,
        name: "P701",
        severity: Severity::Error,
        title: "an inspection without a method",
        help: "fill the cell, or set default_method for this file",
        explanation: "How much an inspection says depends on how it was done. Without a method it was set aside.",
    },
    CodeInfo {
        code: Code::NoInspectionDate,
        name: "P702",
        severity: Severity::Error,
        title: "an inspection without a usable date",
        help: "correct the date",
        explanation: "An inspection without a date cannot be put in the pole's history; it was set aside. The reason is given beside the value.",
    },
    CodeInfo {
        code: Code::NoVerdict,
        name: "P703",
        severity: Severity::Error,
        title: "an inspection without a verdict",
        help: "fill the cell; not_inspected says that the pole was not inspected",
        explanation: "Without a conclusion the inspection was set aside.",
    },
    CodeInfo {
        code: Code::FutureInspection,
        name: "P704",
        severity: Severity::Warning,
        title: "an inspection after the day of the plan",
        help: "is the year mistyped, or is plan_from too early?",
        explanation: "A plan reads nothing that is later than its own plan_from: the inspection was set aside. Plans made as of an earlier day do this on purpose.",
    },
    CodeInfo {
        code: Code::RepeatedInspection,
        name: "P705",
        severity: Severity::Warning,
        title: "the same inspection twice",
        help: "delete one of the rows",
        explanation: "Both rows say the same of the same pole, day and method: one counts and the other was set aside, since it is not a second look.",
    },
    CodeInfo {
        code: Code::ConflictingInspections,
        name: "P706",
        severity: Severity::Warning,
        title: "two verdicts of one pole, day and method",
        help: "correct the one that is wrong",
        explanation: "Both inspections are kept: nobody but the owner knows which is right, and a reject is never dropped without one.",
    },
    CodeInfo {
        code: Code::PocketMisfit,
        name: "P707",
        severity: Severity::Warning,
        title: "a pocket of decay that cannot be",
        help: "give width and depth, both above 0 and within the pole; the side as N, NE, E or degrees",
        explanation: "A pocket needs its width at the surface, at most the diameter, and its depth, at most half of it; several pockets of one visit need both in the same order. Four count, the widest. What does not fit is treated as unknown; the verdict of the inspection still counts.",
    },
    CodeInfo {
        code: Code::UnknownDefect,
        name: "P708",
        severity: Severity::Error,
        title: "a defect above the groundline that nobody explained",
        help: "add it to codes.above_ground_defect of this file",
        explanation: "Defects above the groundline act by the programme's rules alone. One that cannot be read acts not at all, so each is an error: look at the pole, or explain the code.",
    },
    CodeInfo {
        code: Code::DefectWithoutRule,
        name: "P709",
        severity: Severity::Warning,
        title: "a defect above the groundline that no rule covers",
        help: "add a [[above_ground]] that says what it calls for, and within how many days",
        explanation: "Only the groundline is modelled. Without a rule for it the defect changes neither the pole's place in the list nor any date.",
    },
    CodeInfo {
        code: Code::PocketElsewhere,
        name: "P710",
        severity: Severity::Note,
        title: "a pocket of decay away from the groundline",
        help: "record it as an above-ground defect where it matters",
        explanation: "A pocket more than half a metre above or below the groundline is not on the section that is modelled and does not count there.",
    },
    CodeInfo {
        code: Code::UnknownAgent,
        name: "P720",
        severity: Severity::Note,
        title: "a remedial treatment of which the agent is not known",
        help: "fill the field agent, or map its codes in codes.agent",
        explanation: "Agents reach decay from the outside or from the inside and last from a few years to ten. Without the agent nobody can say which decay was slowed and for how long: the inspection counts, the treatment is credited with nothing.",
    },
    CodeInfo {
        code: Code::AgentWithoutTreatment,
        name: "P721",
        severity: Severity::Warning,
        title: "an agent, but no treatment",
        help: "which of the two cells is wrong?",
        explanation: "The record names a remedial agent and says that no treatment was given. Nothing is credited, because a treatment that did not happen would hide decay.",
    },
    CodeInfo {
        code: Code::BraceWithoutDate,
        name: "P722",
        severity: Severity::Note,
        title: "a reinforcement without the day on which it was fitted",
        help: "fill the field reinforced_date",
        explanation: "A reinforcement is credited for its stated life from the day on which it was fitted. Without that day nobody knows how much of it is left: the pole is planned as if it had none.",
    },
    CodeInfo {
        code: Code::AgentOutOfPlace,
        name: "P723",
        severity: Severity::Warning,
        title: "a remedial agent in a place where it does nothing",
        help: "correct the agent or its place",
        explanation: "Fumigants and rods act inside the wood, pastes and bandages from the outside. Where the record says otherwise one of the two is wrong, and the treatment is credited with nothing.",
    },
    CodeInfo {
        code: Code::WorkOnUnknownPole,
        name: "P801",
        severity: Severity::Error,
        title: "work on a pole that is not in the list",
        help: "add the pole to the list, or correct the id",
        explanation: "The work cannot be tied to a pole; it was set aside. A replacement whose new pole is in the list is no such case, whether or not the old one still is.",
    },
    CodeInfo {
        code: Code::NoWorkDate,
        name: "P802",
        severity: Severity::Error,
        title: "work without a usable date",
        help: "correct the date",
        explanation: "Work without a date cannot be put in the pole's history; it was set aside. The reason is given beside the value.",
    },
    CodeInfo {
        code: Code::NoWork,
        name: "P803",
        severity: Severity::Error,
        title: "work of a kind that is not known",
        help: "add the code to the codes of this file: [work_done.codes.work]",
        explanation: "Without knowing what was done nothing can be changed; the row was set aside.",
    },
    CodeInfo {
        code: Code::FutureWork,
        name: "P804",
        severity: Severity::Warning,
        title: "work after the day of the plan",
        help: "is the year mistyped, or is plan_from too early?",
        explanation: "A plan reads nothing that is later than its own plan_from: the work was set aside.",
    },
    CodeInfo {
        code: Code::RepeatedWork,
        name: "P805",
        severity: Severity::Warning,
        title: "the same work twice",
        help: "delete one of the rows",
        explanation: "Both rows say the same of the same pole and day: one counts and the other was set aside.",
    },
    CodeInfo {
        code: Code::SeenAfterRemoval,
        name: "P806",
        severity: Severity::Warning,
        title: "a pole was inspected after it was taken away",
        help: "was the wrong pole entered, in one record or the other?",
        explanation: "A pole that was looked into stands. It stays in the plan with all its inspections; the record of its removal changes nothing. If a new pole stands there under the same id, record the work as replaced with no new id.",
    },
    CodeInfo {
        code: Code::NewPoleStoodBefore,
        name: "P807",
        severity: Severity::Error,
        title: "a new pole that had stood before the work",
        help: "is new_id mistyped? Enter the id of the pole that was set, or leave it empty where the id went on",
        explanation: "The list has the named pole with a set date more than a year before the old pole was replaced: it is a neighbour, not the new pole. The old pole ended all the same; a new one is taken to stand in its place under the old id, set on the day of the work, so that no pole is lost. The named pole stays as it is listed.",
    },
    CodeInfo {
        code: Code::NoFailureDate,
        name: "P811",
        severity: Severity::Error,
        title: "a failure without a usable date",
        help: "correct the date",
        explanation: "A failure without a date cannot be counted in a year; it was set aside. The reason is given beside the value.",
    },
    CodeInfo {
        code: Code::FutureFailure,
        name: "P812",
        severity: Severity::Warning,
        title: "a failure after the day of the plan",
        help: "is the year mistyped, or is plan_from too early?",
        explanation: "A plan reads nothing that is later than its own plan_from: the failure was set aside.",
    },
    CodeInfo {
        code: Code::RepeatedFailure,
        name: "P813",
        severity: Severity::Warning,
        title: "the same failure twice",
        help: "delete one of the rows",
        explanation: "Both rows are about the same pole and day: one counts and the other was set aside.",
    },
    CodeInfo {
        code: Code::FailureOfUnknownKind,
        name: "P814",
        severity: Severity::Warning,
        title: "a failure that is neither assisted nor unassisted",
        help: "fill the cell: assisted when a storm, a vehicle or a tree brought the pole down, unassisted otherwise",
        explanation: "Only unassisted failures can be held against the estimate of the wood. This one is counted apart from both.",
    },
    CodeInfo {
        code: Code::FailedStillListed,
        name: "P815",
        severity: Severity::Warning,
        title: "a pole that failed is still listed as it was",
        help: "enter the new pole, or add the replacement to the work done",
        explanation: "The list has the pole with a set date before its failure and nothing says that a new one stands there. The pole stays as it is listed; the failure is counted.",
    },
    CodeInfo {
        code: Code::DecisionOnUnknownPole,
        name: "P831",
        severity: Severity::Error,
        title: "a decision on a pole or line that is not in the list",
        help: "correct the id or the name of the line",
        explanation: "Nobody knows what the decision is about; it was set aside. Poles that the programme's scope leaves out are not meant here.",
    },
    CodeInfo {
        code: Code::UnknownPackage,
        name: "P832",
        severity: Severity::Error,
        title: "a decision on a package that no plan of these data has",
        help: "copy the name from packages.csv",
        explanation: "Packages are named after their line, the stretch of it, and the year. The name is looked for among the packages that this plan would have without decisions on packages, then, whatever its year, among the stretches of the lines. It was found in neither, so the decision does nothing.",
    },
    CodeInfo {
        code: Code::NoDecision,
        name: "P833",
        severity: Severity::Error,
        title: "a decision of a kind that is not known",
        help: "write pin, leave_out, method, action, defer, freeze or clear, or add the code to the codes of this file: [decisions.codes.decision]",
        explanation: "Without knowing what was decided nothing can be followed; the row was set aside.",
    },
    CodeInfo {
        code: Code::DecisionOnNothing,
        name: "P834",
        severity: Severity::Error,
        title: "a decision that is about nothing",
        help: "name a pole, a line or a package",
        explanation: "A decision is about one pole, about all poles of a line, or about a package. None is named; the row was set aside.",
    },
    CodeInfo {
        code: Code::NoDecisionYear,
        name: "P835",
        severity: Severity::Error,
        title: "a decision without the year that it needs",
        help: "write the year of the schedule: 2027",
        explanation: "To pin, to defer and to freeze need a year. The row was set aside.",
    },
    CodeInfo {
        code: Code::NoMethodOrAction,
        name: "P836",
        severity: Severity::Error,
        title: "a decision on a method or an action that names none",
        help: "fill the column method or action of this file",
        explanation: "A decision on a method needs the method, a decision on an action the action: inspect, reinforce, replace or make_safe. Remedial treatments are given at inspections, as the policy says. The row was set aside.",
    },
    CodeInfo {
        code: Code::IncompleteClearing,
        name: "P837",
        severity: Severity::Error,
        title: "a clearing without name, day or reason",
        help: "say who cleared the pole, on which day and why",
        explanation: "A recorded reject or danger keeps its action until a later inspection of an equal or better method, or a named engineer, clears it. A clearing that does not name one pole, its engineer, the day and the reason was set aside, and what was recorded stands.",
    },
    CodeInfo {
        code: Code::NoDecisionDate,
        name: "P838",
        severity: Severity::Warning,
        title: "a date of a decision that cannot be read",
        help: "write 2026-03-01, or set date_form for this file",
        explanation: "The date is treated as unknown. A decision that needs it is refused.",
    },
    CodeInfo {
        code: Code::FutureDecision,
        name: "P839",
        severity: Severity::Warning,
        title: "a decision after the day of the plan",
        help: "is the year mistyped, or is plan_from too early?",
        explanation: "A plan reads nothing that is later than its own plan_from: the decision was set aside.",
    },
    CodeInfo {
        code: Code::ContradictingDecisions,
        name: "P840",
        severity: Severity::Error,
        title: "two decisions that cannot both be followed",
        help: "delete the one that no longer holds, or date both",
        explanation: "Two decisions on the same pole, line or package say different things. The later one counts; of the same day, or where neither is dated, none does. A decision on a pole goes before one on its package, and that before one on its line: these are no contradictions.",
    },
    CodeInfo {
        code: Code::RepeatedDecision,
        name: "P841",
        severity: Severity::Warning,
        title: "the same decision twice",
        help: "delete one of the rows",
        explanation: "Both rows say the same: one counts and the other was set aside.",
    },
    CodeInfo {
        code: Code::YearOutsideSchedule,
        name: "P842",
        severity: Severity::Error,
        title: "a decision on a year that the schedule does not have",
        help: "is the year past? Give a year of the schedule, or raise schedule_years",
        explanation: "What is past cannot be planned, and what lies beyond the schedule is not: the decision was set aside. To keep a pole out of the schedule up to a later year, defer it.",
    },
    CodeInfo {
        code: Code::OutOfScopeDecision,
        name: "P843",
        severity: Severity::Note,
        title: "a decision on a pole that is not planned for",
        help: "nothing, if the pole's own row is right",
        explanation: "The pole is removed, or its material, owner or status is out of scope. The decision is out of scope too.",
    },
    CodeInfo {
        code: Code::DeferralIncomplete,
        name: "P844",
        severity: Severity::Error,
        title: "a must-do put off without name, interim control and review date",
        help: "fill by, interim_control and review_date, or let the pole be done in time",
        explanation: "What a recorded reject or danger, or a law, calls for by a day is put off only by somebody who signs for it, with what keeps people safe meanwhile and a day on which it is looked at again. A decision without these was refused for the pole, which stays as the records and rules want it.",
    },
    CodeInfo {
        code: Code::DeferralPastReview,
        name: "P845",
        severity: Severity::Error,
        title: "a deferral past its review date",
        help: "look at the pole and at its interim control, and decide again",
        explanation: "The interim control was good up to the review date, which lies before the plan. The deferral no longer holds: what it put off must be done again.",
    },
    CodeInfo {
        code: Code::LesserAction,
        name: "P846",
        severity: Severity::Error,
        title: "a lesser action than what was recorded calls for",
        help: "clear the verdict by a named engineer, or choose the action that it calls for",
        explanation: "A danger is made safe, whatever else is planned. A reject is reinforced only where the inspector judged that a brace restores it and none was fitted before, and is not merely inspected again. The decision was refused, and the pole keeps its action.",
    },
    CodeInfo {
        code: Code::WeakMethod,
        name: "P847",
        severity: Severity::Error,
        title: "a method that does not satisfy the rules that call for the pole",
        help: "choose a method that the rules accept, or change the rule's least_method",
        explanation: "An inspection by this method would leave the pole due. The decision was refused: the pole is inspected as the rules and the policy want.",
    },
    CodeInfo {
        code: Code::DecisionWithoutEffect,
        name: "P848",
        severity: Severity::Warning,
        title: "a decision that changes nothing",
        help: "is it the pole, line or package that is meant?",
        explanation: "Nothing that is recorded or planned is what the decision is about: no verdict up to the day of a clearing, no inspection for a method, or no pole on a line or in a package that may be visited. More special decisions may have left nothing to it: the problem then names them, and of two on the same the later one counts.",
    },
    CodeInfo {
        code: Code::DeferralBeyondReview,
        name: "P849",
        severity: Severity::Warning,
        title: "a deferral that reaches beyond its review date",
        help: "renew it by the review date, or give a review date in the year to which it puts off",
        explanation: "A deferral holds up to its review date: after that day nobody vouches for the interim control until it is looked at and decided again. What must be done is therefore put off to the year of the review only, or to the second year of the plan where the review is earlier, and is owed again then. An inspection that no law or verdict calls for in these years stays where the owner put it.",
    },
    CodeInfo {
        code: Code::ReviewTooEarly,
        name: "P850",
        severity: Severity::Error,
        title: "a deferral whose review does not reach past the day by which the pole must be done",
        help: "give a review date in a later year than that day, or let the pole be done in time",
        explanation: "The pole need not be done before the review, and after the review the deferral no longer holds: it puts off nothing. It was refused, and the pole stays as the records and rules want it.",
    },
];

#[cfg(test)]
mod tests {
    use super::{CODES, Code, Severity};

    #[test]
    fn rows_stand_in_the_order_of_variants_and_names() {
        for (place, info) in CODES.iter().enumerate() {
            assert_eq!(info.code as usize, place, "{}", info.name);
            assert_eq!(info.code.info().name, info.name);
            assert_eq!(Code::from_name(&info.name.to_lowercase()), Some(info.code));
        }
        assert!(CODES.is_sorted_by_key(|info| info.name));
    }

    #[test]
    fn every_text_is_there() {
        for info in CODES {
            assert!(info.title.len() > 5 && info.help.len() > 5, "{}", info.name);
            assert!(info.explanation.ends_with('.'), "{}", info.name);
            assert!(!info.help.ends_with('.'), "{}", info.name);
        }
        assert_eq!(Code::NoId.severity(), Severity::Error);
    }
}
