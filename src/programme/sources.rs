//! Where the owner's files are and how they are read: columns theirs to ours, units, codes.

use crate::pole::{
    Action, Agent, AgentPlace, Assistance, BraceType, Consequence, DecisionKind, Defect, Material,
    Method, Preservative, RemovalCause, SeenMode, SeenPockets, Species, Status, Verdict,
    Vocabulary, WorkKind,
};
use crate::units::LengthUnit;
use std::collections::BTreeMap;

/// The files of a programme.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sources {
    /// Pole lists.
    pub poles: Vec<TableSource>,
    /// Inspection records.
    pub inspections: Vec<TableSource>,
    /// Work that was done.
    pub work_done: Vec<TableSource>,
    /// Poles that failed.
    pub failures: Vec<TableSource>,
    /// The owner's decisions.
    pub decisions: Vec<TableSource>,
    /// Folder of an earlier plan that this one is compared with, as the programme writes it.
    pub previous: Option<String>,
}

/// What the rows of a file are about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SourceKind {
    /// Poles.
    Poles,
    /// Inspections.
    Inspections,
    /// The last inspections on the rows of a pole list.
    LastInspections,
    /// Work done.
    WorkDone,
    /// Failures.
    Failures,
    /// The owner's decisions.
    Decisions,
}

impl SourceKind {
    /// All kinds that have files of their own, in the order in which files are read and problems are listed.
    pub const ALL: [Self; 5] = [
        Self::Poles,
        Self::Inspections,
        Self::WorkDone,
        Self::Failures,
        Self::Decisions,
    ];

    /// The key of such files in a programme.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Poles => "poles",
            Self::Inspections => "inspections",
            Self::LastInspections => "poles.last_inspection",
            Self::WorkDone => "work_done",
            Self::Failures => "failures",
            Self::Decisions => "decisions",
        }
    }

    /// What its rows are called.
    pub const fn rows(self) -> &'static str {
        match self {
            Self::LastInspections => "inspections",
            other => other.key(),
        }
    }

    /// Whether rows of this kind have the field.
    pub const fn has(self, info: &FieldInfo) -> bool {
        match self {
            Self::Poles => info.of_poles,
            Self::Inspections | Self::LastInspections => info.of_inspections,
            Self::WorkDone => info.of_work,
            Self::Failures => info.of_failures,
            Self::Decisions => info.of_decisions,
        }
    }
}

/// One file and how it is read.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct TableSource {
    /// Path, as the programme writes it; relative to the programme's folder.
    pub file: String,
    /// Columns of theirs (as they stand in the file) for each field of ours: one, or several that are joined.
    pub columns: BTreeMap<Field, Vec<String>>,
    /// Unit of each length field that is not in our default unit.
    pub units: BTreeMap<Field, LengthUnit>,
    /// Their codes for our words.
    pub codes: Codes,
    /// Form of dates (`strftime` letters); ISO 8601 and bare years are always understood.
    pub date_form: Option<String>,
    /// Method of rows that name none.
    pub default_method: Option<Method>,
    /// Who made the inspections of rows that name nobody.
    pub contractor: Option<String>,
    /// The sheet of a workbook; the first one with a table where none is named.
    pub sheet: Option<String>,
    /// The row of the header, counted from 1, where it is not the first.
    pub header_row: Option<u32>,
    /// What stands between the cells of several columns that make up an id or a line; `-` where nothing is said.
    pub join: Option<String>,
    /// EPSG code of coordinates that are not degrees of WGS 84; for pole lists.
    pub epsg: Option<u32>,
    /// How the last inspection on each row of a pole list is read; its file is the pole list's.
    pub last_inspection: Option<Box<TableSource>>,
}

impl TableSource {
    /// What is put between the cells of several columns of one field: `join` for ids and lines, which must come out the
    /// same in every file; a semicolon for lengths and pockets, which are several readings; a blank for anything else.
    pub fn between(&self, field: Field) -> &str {
        match field {
            Field::Id | Field::Line => self.join.as_deref().unwrap_or("-"),
            _ if field.info().unit.is_some() || field.is_of_pockets() => "; ",
            _ => " ",
        }
    }
}

/// Their codes, each mapped to a word of ours, vocabulary by vocabulary. Codes match without regard to case.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Codes {
    /// Species.
    pub species: BTreeMap<String, Species>,
    /// Preservatives.
    pub preservative: BTreeMap<String, Preservative>,
    /// Materials.
    pub material: BTreeMap<String, Material>,
    /// Statuses.
    pub status: BTreeMap<String, Status>,
    /// Consequences.
    pub consequence: BTreeMap<String, Consequence>,
    /// Methods.
    pub method: BTreeMap<String, Method>,
    /// Verdicts.
    pub verdict: BTreeMap<String, Verdict>,
    /// Decay modes.
    pub decay_mode: BTreeMap<String, SeenMode>,
    /// Defects above the groundline.
    pub above_ground_defect: BTreeMap<String, Defect>,
    /// Kinds of work.
    pub work: BTreeMap<String, WorkKind>,
    /// Whether something else brought a pole down.
    pub assisted: BTreeMap<String, Assistance>,
    /// Remedial agents.
    pub agent: BTreeMap<String, Agent>,
    /// Places of remedial agents.
    pub agent_place: BTreeMap<String, AgentPlace>,
    /// Kinds of reinforcement.
    pub reinforced_type: BTreeMap<String, BraceType>,
    /// Kinds of decisions.
    pub decision: BTreeMap<String, DecisionKind>,
    /// Actions.
    pub action: BTreeMap<String, Action>,
    /// Why poles are gone.
    pub removed_cause: BTreeMap<String, RemovalCause>,
}

/// The vocabularies that codes can be given for, in the order of [`Codes`].
pub const VOCABULARIES: [&str; 17] = [
    "species",
    "preservative",
    "material",
    "status",
    "consequence",
    "method",
    "verdict",
    "decay_mode",
    "above_ground_defect",
    "work",
    "assisted",
    "agent",
    "agent_place",
    "reinforced_type",
    "decision",
    "action",
    "removed_cause",
];

/// Every vocabulary with its words and their meanings, as Markdown: a heading and a table each.
pub fn vocabulary_tables() -> String {
    fn table<V: Vocabulary>(name: &str) -> String {
        let rows = V::WORDS
            .iter()
            .map(|(_, word, meaning)| format!("| `{word}` | {meaning} |\n"));
        let head = format!("**{name}**\n\n| word | meaning |\n|---|---|\n");
        std::iter::once(head).chain(rows).collect()
    }
    let [
        species,
        preservative,
        material,
        status,
        consequence,
        method,
        verdict,
        mode,
        defect,
        work,
        assisted,
        agent,
        agent_place,
        reinforced_type,
        decision,
        action,
        removed_cause,
    ] = VOCABULARIES;
    [
        table::<Species>(species),
        table::<Preservative>(preservative),
        table::<Material>(material),
        table::<Status>(status),
        table::<Consequence>(consequence),
        table::<Method>(method),
        table::<Verdict>(verdict),
        table::<SeenMode>(mode),
        table::<Defect>(defect),
        table::<WorkKind>(work),
        table::<Assistance>(assisted),
        table::<Agent>(agent),
        table::<AgentPlace>(agent_place),
        table::<BraceType>(reinforced_type),
        table::<DecisionKind>(decision),
        table::<Action>(action),
        table::<RemovalCause>(removed_cause),
    ]
    .join("\n")
}

/// Every field that a column can fill, as Markdown.
pub fn field_table() -> String {
    let head = String::from("| field | in | unit, if none is set | meaning |\n|---|---|---|---|\n");
    let rows = FIELDS.iter().map(|info| {
        let place: Vec<&str> = SourceKind::ALL
            .into_iter()
            .filter(|kind| kind.has(info))
            .map(SourceKind::key)
            .collect();
        let place = place.join(", ");
        let unit = info.unit.map_or("", LengthUnit::word);
        format!(
            "| `{}` | {place} | {unit} | {} |\n",
            info.name, info.meaning
        )
    });
    std::iter::once(head).chain(rows).collect()
}

/// A field of ours that a column of theirs can fill.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[expect(
    missing_docs,
    reason = "every field's meaning and unit stand in FIELDS, which is printed for users"
)]
pub enum Field {
    Id,
    Line,
    Sequence,
    District,
    Longitude,
    Latitude,
    Zone,
    Owner,
    Material,
    Status,
    RemovedDate,
    Length,
    Class,
    GroundlineDiameter,
    GroundlineCircumference,
    Species,
    Preservative,
    ThroughBored,
    SetDate,
    Consequence,
    ReinforcedDate,
    Size,
    TopDiameter,
    RequiredMoment,
    UseOfCapacity,
    ReinforcedType,
    Notes,
    X,
    Y,
    BrandYear,
    Date,
    Method,
    Verdict,
    RemainingCircumference,
    OriginalCircumference,
    OutsideDecayDepth,
    SoundShell,
    DecayMode,
    Treated,
    Agent,
    AgentPlace,
    Contractor,
    PocketWidth,
    PocketDepth,
    PocketSide,
    PocketHeight,
    AboveGroundDefect,
    Remarks,
    Count,
    Work,
    NewId,
    NewLength,
    NewClass,
    NewSpecies,
    NewPreservative,
    Cost,
    Cause,
    Assisted,
    Package,
    Decision,
    Year,
    Action,
    By,
    Reason,
    InterimControl,
    ReviewDate,
    RemovedCause,
    MaintainedBy,
    Retention,
    Charge,
    Equipment,
    Voltage,
    Guyed,
    Span,
    SettingDepth,
    Place,
    SiteRestriction,
    Access,
    Priority,
    Crew,
    WorkOrder,
    Inspector,
}

/// What a field is: its name in programmes, its unit (of ours, where none is given) and its meaning.
#[expect(
    clippy::struct_excessive_bools,
    reason = "one for each kind of file, and a field may be in any of them"
)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FieldInfo {
    /// The field.
    pub field: Field,
    /// Name in programmes.
    pub name: &'static str,
    /// Whether poles have it.
    pub of_poles: bool,
    /// Whether inspections have it.
    pub of_inspections: bool,
    /// Whether records of work have it.
    pub of_work: bool,
    /// Whether records of failures have it.
    pub of_failures: bool,
    /// Whether decisions have it.
    pub of_decisions: bool,
    /// Whether it is only kept and shown.
    pub is_carried: bool,
    /// Default unit, for lengths.
    pub unit: Option<LengthUnit>,
    /// Meaning, in one line.
    pub meaning: &'static str,
}

const fn of_none(field: Field, name: &'static str, meaning: &'static str) -> FieldInfo {
    FieldInfo {
        field,
        name,
        of_poles: false,
        of_inspections: false,
        of_work: false,
        of_failures: false,
        of_decisions: false,
        is_carried: false,
        unit: None,
        meaning,
    }
}

const fn of_poles(field: Field, name: &'static str, meaning: &'static str) -> FieldInfo {
    FieldInfo {
        of_poles: true,
        ..of_none(field, name, meaning)
    }
}

const fn of_inspections(field: Field, name: &'static str, meaning: &'static str) -> FieldInfo {
    FieldInfo {
        of_inspections: true,
        ..of_none(field, name, meaning)
    }
}

const fn of_work(field: Field, name: &'static str, meaning: &'static str) -> FieldInfo {
    FieldInfo {
        of_work: true,
        ..of_none(field, name, meaning)
    }
}

const fn of_failures(field: Field, name: &'static str, meaning: &'static str) -> FieldInfo {
    FieldInfo {
        of_failures: true,
        ..of_none(field, name, meaning)
    }
}

const fn of_decisions(field: Field, name: &'static str, meaning: &'static str) -> FieldInfo {
    FieldInfo {
        of_decisions: true,
        ..of_none(field, name, meaning)
    }
}

const fn carried(info: FieldInfo) -> FieldInfo {
    FieldInfo {
        is_carried: true,
        ..info
    }
}

const fn length(info: FieldInfo, unit: LengthUnit) -> FieldInfo {
    FieldInfo {
        unit: Some(unit),
        ..info
    }
}

/// Every field, in the order in which help texts list them.
pub const FIELDS: &[FieldInfo] = &[
    FieldInfo {
        of_inspections: true,
        of_work: true,
        of_failures: true,
        of_decisions: true,
        ..of_poles(
            Field::Id,
            "id",
            "the pole's id: the only field that every row must have",
        )
    },
    FieldInfo {
        of_decisions: true,
        ..of_poles(Field::Line, "line", "line, feeder or street")
    },
    of_poles(Field::Sequence, "sequence", "place in the line"),
    of_poles(Field::District, "district", "district or region"),
    of_poles(Field::Longitude, "longitude", "degrees east, WGS 84"),
    of_poles(Field::Latitude, "latitude", "degrees north, WGS 84"),
    of_poles(Field::Zone, "zone", "decay zone, 1 to 5"),
    of_poles(Field::Owner, "owner", "owner of the pole"),
    of_poles(Field::Material, "material", "material"),
    of_poles(Field::Status, "status", "in service or not"),
    of_poles(
        Field::RemovedDate,
        "removed_date",
        "day on which the pole was removed",
    ),
    length(
        of_poles(Field::Length, "length", "length"),
        LengthUnit::Metre,
    ),
    of_poles(Field::Class, "class", "pole class, as written"),
    length(
        of_poles(
            Field::GroundlineDiameter,
            "groundline_diameter",
            "groundline diameter when new",
        ),
        LengthUnit::Millimetre,
    ),
    length(
        of_poles(
            Field::GroundlineCircumference,
            "groundline_circumference",
            "groundline circumference when new",
        ),
        LengthUnit::Millimetre,
    ),
    of_poles(Field::Species, "species", "species group"),
    of_poles(Field::Preservative, "preservative", "preservative"),
    of_poles(
        Field::ThroughBored,
        "through_bored",
        "through-bored before treatment: yes or no",
    ),
    of_poles(
        Field::SetDate,
        "set_date",
        "day or year in which the pole was set",
    ),
    of_poles(
        Field::Consequence,
        "consequence",
        "what a failure would endanger",
    ),
    of_poles(
        Field::ReinforcedDate,
        "reinforced_date",
        "day on which a reinforcement was fitted",
    ),
    length(
        of_poles(
            Field::Size,
            "size",
            "length with class or top diameter, and species, in one cell: `40-4 Southern Pine`, `45/4`, `12m/180`; the \
             unit is that of its length",
        ),
        LengthUnit::Foot,
    ),
    length(
        of_poles(Field::TopDiameter, "top_diameter", "diameter of the top"),
        LengthUnit::Millimetre,
    ),
    of_poles(
        Field::RequiredMoment,
        "required_moment",
        "bending moment at the groundline required of the pole when new: kNm, or with its unit, kNm, Nm or ft-lb",
    ),
    of_poles(
        Field::UseOfCapacity,
        "use_of_capacity",
        "the same as a share of what the pole could bear when new: 0.65 or 65 %",
    ),
    of_poles(
        Field::Notes,
        "notes",
        "notes; read only for words that say the pole is gone",
    ),
    of_poles(
        Field::X,
        "x",
        "easting, in the projection that `epsg` names (degrees without it)",
    ),
    of_poles(Field::Y, "y", "northing, as `x`"),
    of_poles(
        Field::BrandYear,
        "brand_year",
        "year in the maker's brand; taken where no set date is known",
    ),
    FieldInfo {
        of_work: true,
        of_failures: true,
        of_decisions: true,
        ..of_inspections(
            Field::Date,
            "date",
            "day or year of the inspection, the work, the failure or the decision",
        )
    },
    of_poles(
        Field::ReinforcedType,
        "reinforced_type",
        "kind of reinforcement",
    ),
    FieldInfo {
        of_decisions: true,
        ..of_inspections(Field::Method, "method", "method")
    },
    of_inspections(Field::Verdict, "verdict", "verdict"),
    length(
        of_inspections(
            Field::RemainingCircumference,
            "remaining_circumference",
            "circumference of what is left at the groundline",
        ),
        LengthUnit::Millimetre,
    ),
    length(
        of_inspections(
            Field::OriginalCircumference,
            "original_circumference",
            "circumference when new, measured where the wood is sound",
        ),
        LengthUnit::Millimetre,
    ),
    length(
        of_inspections(
            Field::OutsideDecayDepth,
            "outside_decay_depth",
            "depth of decay from the outside, all round",
        ),
        LengthUnit::Millimetre,
    ),
    length(
        of_inspections(
            Field::SoundShell,
            "sound_shell",
            "sound wood around a hollow",
        ),
        LengthUnit::Millimetre,
    ),
    of_inspections(Field::DecayMode, "decay_mode", "where decay was seen"),
    of_inspections(
        Field::Treated,
        "treated",
        "remedial treatment given: yes or no",
    ),
    FieldInfo {
        of_work: true,
        ..of_inspections(
            Field::Agent,
            "agent",
            "agent of the remedial treatment; without it the treatment is credited with nothing",
        )
    },
    FieldInfo {
        of_work: true,
        ..of_inspections(
            Field::AgentPlace,
            "agent_place",
            "where the agent was put; where it usually goes, when not given",
        )
    },
    of_inspections(Field::Contractor, "contractor", "contractor"),
    length(
        of_inspections(
            Field::PocketWidth,
            "pocket_width",
            "width of a pocket of decay at the surface; several pockets parted by ;, or a column for each",
        ),
        LengthUnit::Millimetre,
    ),
    length(
        of_inspections(Field::PocketDepth, "pocket_depth", "its depth"),
        LengthUnit::Millimetre,
    ),
    of_inspections(
        Field::PocketSide,
        "pocket_side",
        "its side: N, NE, E and so on, or degrees from north",
    ),
    length(
        of_inspections(
            Field::PocketHeight,
            "pocket_height",
            "height of its middle above the groundline, negative below",
        ),
        LengthUnit::Millimetre,
    ),
    of_inspections(
        Field::AboveGroundDefect,
        "above_ground_defect",
        "defects above the groundline, several separated by ; or /; none where the pole was looked at and had none",
    ),
    of_inspections(Field::Remarks, "remarks", "remarks"),
    of_poles(
        Field::Count,
        "count",
        "how many poles the row stands for: a list with counts, which needs no id",
    ),
    of_work(Field::Work, "work", "what was done"),
    of_work(
        Field::NewId,
        "new_id",
        "id of the pole that took its place; the same id where empty",
    ),
    length(
        of_work(Field::NewLength, "new_length", "length of the new pole"),
        LengthUnit::Metre,
    ),
    of_work(
        Field::NewClass,
        "new_class",
        "class of the new pole, as written",
    ),
    of_work(
        Field::NewSpecies,
        "new_species",
        "species group of the new pole; codes of `species`",
    ),
    of_work(
        Field::NewPreservative,
        "new_preservative",
        "preservative of the new pole; codes of `preservative`",
    ),
    of_work(Field::Cost, "cost", "what it cost; not used yet"),
    of_failures(
        Field::Cause,
        "cause",
        "cause, as written; decides nothing by itself",
    ),
    of_failures(
        Field::Assisted,
        "assisted",
        "whether a storm, a vehicle or a tree brought it down",
    ),
    of_decisions(
        Field::Package,
        "package",
        "name of a package, as packages.csv of this plan or an earlier one writes it",
    ),
    of_decisions(Field::Decision, "decision", "what was decided"),
    of_decisions(
        Field::Year,
        "year",
        "the year of the schedule that it is about",
    ),
    of_decisions(
        Field::Action,
        "action",
        "the action, where the decision is on an action",
    ),
    of_decisions(Field::By, "by", "who decided"),
    of_decisions(Field::Reason, "reason", "why"),
    of_decisions(
        Field::InterimControl,
        "interim_control",
        "what keeps people safe until then",
    ),
    of_decisions(
        Field::ReviewDate,
        "review_date",
        "last day on which the decision holds without being looked at again",
    ),
    of_poles(
        Field::RemovedCause,
        "removed_cause",
        "why the pole was removed; by its last verdict and the failures on record where empty",
    ),
    carried(of_poles(
        Field::MaintainedBy,
        "maintained_by",
        "who maintains the pole; kept and shown with the pole; nothing is computed from it",
    )),
    carried(of_poles(
        Field::Retention,
        "retention",
        "preservative retention when treated; kept and shown with the pole; nothing is computed from it",
    )),
    carried(of_poles(
        Field::Charge,
        "charge",
        "treating charge or plant; kept and shown with the pole; nothing is computed from it",
    )),
    carried(of_poles(
        Field::Equipment,
        "equipment",
        "equipment on the pole; kept and shown with the pole; nothing is computed from it",
    )),
    carried(of_poles(
        Field::Voltage,
        "voltage",
        "voltage of the line; kept and shown with the pole; nothing is computed from it",
    )),
    carried(of_poles(
        Field::Guyed,
        "guyed",
        "guys, or angle of the line; kept and shown with the pole; nothing is computed from it",
    )),
    carried(of_poles(
        Field::Span,
        "span",
        "span; kept and shown with the pole; nothing is computed from it",
    )),
    carried(of_poles(
        Field::SettingDepth,
        "setting_depth",
        "setting depth; kept and shown with the pole; nothing is computed from it",
    )),
    carried(of_poles(
        Field::Place,
        "place",
        "school, road, rail, water, fire zone; kept and shown with the pole; nothing is computed from it",
    )),
    carried(of_poles(
        Field::SiteRestriction,
        "site_restriction",
        "site restriction: well, wetland; kept and shown with the pole; nothing is computed from it",
    )),
    carried(of_poles(
        Field::Access,
        "access",
        "access; kept and shown with the pole; nothing is computed from it",
    )),
    carried(of_inspections(
        Field::Priority,
        "priority",
        "priority or deadline that the inspection gave; kept and shown with the inspection; nothing is computed from it",
    )),
    carried(of_inspections(
        Field::Crew,
        "crew",
        "crew; kept and shown with the inspection; nothing is computed from it",
    )),
    carried(of_inspections(
        Field::WorkOrder,
        "work_order",
        "work order; kept and shown with the inspection; nothing is computed from it",
    )),
    of_inspections(
        Field::Inspector,
        "inspector",
        "code or name of the inspector: `practice.csv` tells inspectors apart",
    ),
];

/// Where in [`FIELDS`] each field stands, in the order of [`Field`]: millions of cells ask for it.
const PLACES: [u8; FIELDS.len()] = {
    let mut places = [0; FIELDS.len()];
    let mut place = 0;
    while place < FIELDS.len() {
        places[FIELDS[place].field as usize] = place as u8;
        place += 1;
    }
    places
};

impl Field {
    /// What the field is.
    pub fn info(self) -> &'static FieldInfo {
        &FIELDS[usize::from(PLACES[self as usize])]
    }

    /// How many columns can fill the field: texts, ids, dates and codes are joined from any number, and of the lengths only
    /// the sound shell and pockets are measured several times.
    pub fn most_columns(self) -> usize {
        const NUMBERS: [Field; 6] = [
            Field::Sequence,
            Field::Longitude,
            Field::Latitude,
            Field::Zone,
            Field::Count,
            Field::Year,
        ];
        if self.is_of_pockets() {
            return SeenPockets::MOST;
        }
        let one_length = self.info().unit.is_some() && self != Self::SoundShell;
        if one_length || NUMBERS.contains(&self) {
            1
        } else {
            usize::MAX
        }
    }

    /// Whether the field is measured at a visit that may take several readings of it.
    pub fn is_measured(self) -> bool {
        self == Self::SoundShell || self.is_of_pockets()
    }

    /// Whether the field tells of a pocket of decay, of which one visit may find several.
    pub const fn is_of_pockets(self) -> bool {
        matches!(
            self,
            Self::PocketWidth | Self::PocketDepth | Self::PocketSide | Self::PocketHeight
        )
    }

    /// The field with this name.
    pub fn from_name(name: &str) -> Option<Self> {
        FIELDS
            .iter()
            .find(|info| info.name == name)
            .map(|info| info.field)
    }
}

#[cfg(test)]
mod tests {
    use super::FIELDS;
    use std::collections::BTreeSet;

    #[test]
    fn no_field_is_listed_twice() {
        let names: BTreeSet<&str> = FIELDS.iter().map(|info| info.name).collect();
        let fields: BTreeSet<_> = FIELDS.iter().map(|info| info.field).collect();
        assert_eq!((names.len(), fields.len()), (FIELDS.len(), FIELDS.len()));
    }
}
