//! The one table of problem codes: name, severity, title, help and long text of each kind of problem.
//!
//! Codes are grouped by hundreds: 1 rows, 2 numbers, 3 dates, 4 places, 5 identity, 6 codes of the owner, 7 inspections.
//! A code keeps its number for ever. To add one: a variant, a row in [`CODES`], a case in `tests/bad_inputs` and a line
//! in the README; tests ask for all four.

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
    NotADate,
    TwoDigitYear,
    DateTooEarly,
    DateInFuture,
    PlaceholderDate,
    AmbiguousDate,
    InspectedBeforeSet,
    RemovedBeforeSet,
    OutOfRange,
    NullPlace,
    SwappedPlace,
    ProjectedPlace,
    HalfPlace,
    WrongSign,
    SamePlace,
    NoId,
    RepeatedRow,
    RepeatedId,
    UnknownPole,
    UnknownCode,
    NoMethod,
    NoInspectionDate,
    NoVerdict,
    FutureInspection,
    RepeatedInspection,
    ConflictingInspections,
    UnknownAgent,
    AgentWithoutTreatment,
    BraceWithoutDate,
    AgentOutOfPlace,
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
        code: Code::NotANumber,
        name: "P201",
        severity: Severity::Warning,
        title: "a number was expected",
        help: "write a plain number, with a unit of ours if need be: 12.5, 40 ft",
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
        help: "write the year with four digits",
        explanation: "85 is 1885, 1985 or a typing error; poles stand long enough for all three. The date is treated as unknown.",
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
        help: "export the list with WGS 84 longitudes and latitudes",
        explanation: "Values far beyond 180 are coordinates of a map projection. They are not guessed at: the place is treated as unknown.",
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
        code: Code::UnknownCode,
        name: "P601",
        severity: Severity::Warning,
        title: "a code that the programme does not explain",
        help: "add it to the codes of this file in the programme",
        explanation: "Each code is listed once, with the number of rows that have it. It is treated as unknown: poles stay in the plan. Codes of verdicts and methods are different: a run stops at those, because it would misread what was found.",
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
