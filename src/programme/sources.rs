//! Where the owner's files are and how they are read: columns theirs to ours, units, codes.

use crate::pole::{
    Agent, AgentPlace, BraceType, Consequence, Material, Method, Preservative, SeenMode, Species,
    Status, Verdict, Vocabulary,
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
}

/// One file and how it is read.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct TableSource {
    /// Path, as the programme writes it; relative to the programme's folder.
    pub file: String,
    /// Column of theirs (as it stands in the file) for each field of ours.
    pub columns: BTreeMap<Field, String>,
    /// Unit of each length field that is not in our default unit.
    pub units: BTreeMap<Field, LengthUnit>,
    /// Their codes for our words.
    pub codes: Codes,
    /// Form of dates (`strftime` letters); ISO 8601 and bare years are always understood.
    pub date_form: Option<String>,
    /// Method of rows that name none.
    pub default_method: Option<Method>,
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
    /// Remedial agents.
    pub agent: BTreeMap<String, Agent>,
    /// Places of remedial agents.
    pub agent_place: BTreeMap<String, AgentPlace>,
    /// Kinds of reinforcement.
    pub reinforced_type: BTreeMap<String, BraceType>,
}

/// The vocabularies that codes can be given for, in the order of [`Codes`].
pub const VOCABULARIES: [&str; 11] = [
    "species",
    "preservative",
    "material",
    "status",
    "consequence",
    "method",
    "verdict",
    "decay_mode",
    "agent",
    "agent_place",
    "reinforced_type",
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
        agent,
        agent_place,
        reinforced_type,
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
        table::<Agent>(agent),
        table::<AgentPlace>(agent_place),
        table::<BraceType>(reinforced_type),
    ]
    .join("\n")
}

/// Every field that a column can fill, as Markdown.
pub fn field_table() -> String {
    let head = String::from("| field | in | unit, if none is set | meaning |\n|---|---|---|---|\n");
    let rows = FIELDS.iter().map(|info| {
        let place = match (info.of_poles, info.of_inspections) {
            (true, true) => "poles, inspections",
            (true, false) => "poles",
            _ => "inspections",
        };
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
    ReinforcedType,
    Notes,
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
    Remarks,
}

/// What a field is: its name in programmes, its unit (of ours, where none is given) and its meaning.
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
    /// Default unit, for lengths.
    pub unit: Option<LengthUnit>,
    /// Meaning, in one line.
    pub meaning: &'static str,
}

const fn of_poles(field: Field, name: &'static str, meaning: &'static str) -> FieldInfo {
    FieldInfo {
        field,
        name,
        of_poles: true,
        of_inspections: false,
        unit: None,
        meaning,
    }
}

const fn of_inspections(field: Field, name: &'static str, meaning: &'static str) -> FieldInfo {
    FieldInfo {
        field,
        name,
        of_poles: false,
        of_inspections: true,
        unit: None,
        meaning,
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
        field: Field::Id,
        name: "id",
        of_poles: true,
        of_inspections: true,
        unit: None,
        meaning: "the pole's id: the only field that every row must have",
    },
    of_poles(Field::Line, "line", "line, feeder or street"),
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
    of_poles(
        Field::ReinforcedType,
        "reinforced_type",
        "kind of reinforcement",
    ),
    of_poles(Field::Notes, "notes", "notes"),
    of_inspections(Field::Date, "date", "day or year of the inspection"),
    of_inspections(Field::Method, "method", "method"),
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
    of_inspections(
        Field::Agent,
        "agent",
        "agent of the remedial treatment; without it the treatment is credited with nothing",
    ),
    of_inspections(
        Field::AgentPlace,
        "agent_place",
        "where the agent was put; where it usually goes, when not given",
    ),
    of_inspections(Field::Contractor, "contractor", "contractor or crew"),
    of_inspections(Field::Remarks, "remarks", "remarks"),
];

impl Field {
    /// What the field is.
    pub fn info(self) -> &'static FieldInfo {
        FIELDS
            .iter()
            .find(|info| info.field == self)
            .unwrap_or(&FIELDS[0])
    }

    /// The field with this name.
    pub fn from_name(name: &str) -> Option<Self> {
        FIELDS
            .iter()
            .find(|info| info.name == name)
            .map(|info| info.field)
    }
}
