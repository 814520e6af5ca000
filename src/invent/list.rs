//! An invented network as an owner would keep it: two lists in the owner's own columns and codes, the programme that
//! reads them, and the truth beside.
//!
//! Text only; writing files is the caller's. Columns and codes are an invented owner's on purpose: the programme
//! must map them, as it must for a real one.

use super::{Recipe, Truth};
use crate::inventory::Inventory;
use crate::models::Models;
use crate::pole::{
    Consequence, Inspection, Method, Mode, Pole, Preservative, RemovalCause, SeenMode, Species,
    Verdict,
};
use crate::units::{Date, Mm};

/// The files of an invented network.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Files {
    /// The pole list, CSV.
    pub poles: String,
    /// The inspection records, CSV.
    pub inspections: String,
    /// What is true of every pole of the list and nobody knows, CSV.
    pub truth: String,
    /// A commented programme that reads the two lists, TOML.
    pub programme: String,
}

impl Files {
    /// File names and contents, in the order in which they are written.
    pub fn all(&self) -> [(&'static str, &str); 4] {
        [
            ("poles.csv", &self.poles),
            ("inspections.csv", &self.inspections),
            ("programme.toml", &self.programme),
            ("truth.csv", &self.truth),
        ]
    }
}

/// The cells of one row; none for a blank line.
pub(super) type Row = Vec<String>;

const POLE_COLUMNS: [&str; 16] = [
    "pole_no",
    "feeder",
    "seq",
    "district",
    "lon",
    "lat",
    "zone",
    "length_m",
    "class",
    "gl_dia_mm",
    "timber",
    "treatment",
    "bored",
    "year_set",
    "below",
    "braced",
];

/// Places of pole columns that dirt touches.
pub(super) mod column {
    pub(in crate::invent) const LONGITUDE: usize = 4;
    pub(in crate::invent) const LATITUDE: usize = 5;
    pub(in crate::invent) const LENGTH: usize = 7;
    pub(in crate::invent) const DIAMETER: usize = 9;
    pub(in crate::invent) const SPECIES: usize = 10;
    pub(in crate::invent) const PRESERVATIVE: usize = 11;
    pub(in crate::invent) const YEAR_SET: usize = 13;
    pub(in crate::invent) const DATE: usize = 1;
    pub(in crate::invent) const METHOD: usize = 2;
    pub(in crate::invent) const VERDICT: usize = 3;
    pub(in crate::invent) const REMARKS: usize = 10;
}

/// Further columns of a list that holds removed poles.
const REMOVED_COLUMNS: [&str; 2] = ["gone", "why"];

const INSPECTION_COLUMNS: [&str; 11] = [
    "pole_no",
    "date",
    "method",
    "result",
    "shell_mm",
    "depth_mm",
    "girth_now_mm",
    "girth_new_mm",
    "decay_at",
    "crew",
    "remarks",
];

/// The programme, with places for what depends on the network.
const PROGRAMME: &str = include_str!("programme.toml");

/// The rows of a clean list of poles, and of their inspections.
pub(super) fn rows(inventory: &Inventory) -> (Vec<Row>, Vec<Row>) {
    let poles = inventory
        .indices()
        .map(|index| pole_row(inventory, inventory.id(index), inventory.pole(index)));
    let removed = inventory.removed.iter().map(|gone| {
        let mut row = pole_row(inventory, &gone.id, &gone.pole);
        row.extend([gone.ended.to_string(), cause_code(gone.cause).to_owned()]);
        row
    });
    let inspections = inventory.inspections().iter();
    let of_removed = inventory.removed.iter().flat_map(|gone| {
        let own = gone.inspections.iter();
        own.map(|inspection| inspection_row(inventory, &gone.id, inspection))
    });
    (
        poles.chain(removed).collect(),
        inspections
            .map(|inspection| inspection_row(inventory, inventory.id(inspection.pole), inspection))
            .chain(of_removed)
            .collect(),
    )
}

/// The files of an invented network, whose poles and inspections stand in `rows`.
pub(super) fn files(
    recipe: &Recipe,
    (poles, inspections): (Vec<Row>, Vec<Row>),
    inventory: &Inventory,
    truth: &[Truth],
    models: &Models,
) -> Files {
    let truth = inventory
        .indices()
        .zip(truth)
        .map(|(index, truth)| truth_row(inventory.id(index), truth, models));
    let mut columns = POLE_COLUMNS.to_vec();
    if recipe.removed_listed_since.is_some() {
        columns.extend(REMOVED_COLUMNS);
    }
    Files {
        poles: written(&columns, poles),
        inspections: written(&INSPECTION_COLUMNS, inspections),
        truth: written(&TRUTH_COLUMNS, truth),
        programme: programme(recipe),
    }
}

/// Poles for each crew-day a year of the invented owner. A cycle of ten years at 45 poles a day needs one for 450: the
/// owner has too few on purpose, so that a plan has something to decide.
const POLES_PER_CREW_DAY_OF_BUDGET: usize = 570;

fn programme(recipe: &Recipe) -> String {
    let crew_days = (recipe.poles / POLES_PER_CREW_DAY_OF_BUDGET).max(2);
    PROGRAMME
        .replace("{poles}", &recipe.poles.to_string())
        .replace("{seed}", &recipe.seed.to_string())
        .replace("{today}", &recipe.today.to_string())
        .replace("{price_year}", &(recipe.today.year() - 1).to_string())
        .replace("{crew_days}", &crew_days.to_string())
        .replace("{removal}", &recipe.mean_years_to_removal.to_string())
        .replace("{reinforced}", &recipe.reinforced_share.to_string())
        .replace("{brace_years}", &recipe.reinforcement_years.to_string())
        .replace("{other}", &recipe.other_removals_per_year.to_string())
        .replace("{capacity}", &recipe.use_of_capacity.to_string())
        .replace("{cov}", &recipe.strength_cov.to_string())
        .replace("{listed_since}", &listed_since(recipe))
        .replace("{removed_columns}", &with_removed(recipe, REMOVED_MAPPED))
        .replace("{removed_codes}", &with_removed(recipe, REMOVED_CODES))
}

/// How removed poles' columns and codes are read.
const REMOVED_MAPPED: &str = "\nremoved_date = \"gone\"\nremoved_cause = \"why\"";
const REMOVED_CODES: &str =
    "\n\n[poles.codes.removed_cause]\nREJ = \"condemned\"\nFAIL = \"failed\"\nWORKS = \"other\"";

fn listed_since(recipe: &Recipe) -> String {
    recipe.removed_listed_since.map_or_else(String::new, |year| {
        format!(
            "\nlisted_since = {year}         # the list also holds every pole that went since this year, with its records"
        )
    })
}

fn with_removed(recipe: &Recipe, text: &str) -> String {
    let listed = recipe.removed_listed_since.map(|_| text.to_owned());
    listed.unwrap_or_default()
}

/// A table as comma-separated text; cells that need quotes get them.
fn written(columns: &[&str], rows: impl IntoIterator<Item = Row>) -> String {
    let mut text = columns.join(",");
    text.push('\n');
    for row in rows {
        let cells: Vec<String> = row.into_iter().map(quoted).collect();
        text.push_str(&cells.join(","));
        text.push('\n');
    }
    text
}

fn quoted(cell: String) -> String {
    if cell.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell
    }
}

fn pole_row(inventory: &Inventory, id: &str, pole: &Pole) -> Row {
    let name = |name: Option<crate::pole::NameIndex>| {
        name.map_or_else(String::new, |name| inventory.names.get(name).to_owned())
    };
    let degrees = |degrees: Option<f64>| degrees.map_or_else(String::new, |d| format!("{d:.6}"));
    vec![
        id.to_owned(),
        name(pole.line),
        text_of(pole.sequence),
        name(pole.district),
        degrees(pole.place.map(|place| place.longitude)),
        degrees(pole.place.map(|place| place.latitude)),
        pole.zone.to_string(),
        text_of(pole.length.map(|length| length.0 / 1000.0)),
        name(pole.class),
        millimetres(pole.diameter),
        code_of(pole.species, species_code),
        code_of(pole.preservative, preservative_code),
        code_of(pole.through_bored, |bored| if bored { "yes" } else { "no" }),
        text_of(pole.installed.map(Date::year)),
        code_of(pole.consequence, consequence_code),
        text_of(pole.reinforced.and_then(|reinforced| reinforced.since)),
    ]
}

fn inspection_row(inventory: &Inventory, id: &str, inspection: &Inspection) -> Row {
    let missed = inspection.verdict == Verdict::NotInspected;
    let crew = inspection.contractor.map(|crew| inventory.names.get(crew));
    vec![
        id.to_owned(),
        inspection.date.to_string(),
        method_code(inspection.method).to_owned(),
        verdict_code(inspection.verdict).to_owned(),
        millimetres(inspection.sound_shell),
        millimetres(inspection.outside_decay_depth),
        millimetres(inspection.remaining_circumference),
        millimetres(inspection.original_circumference),
        code_of(inspection.seen_mode, seen_code),
        crew.unwrap_or_default().to_owned(),
        if missed { "no access" } else { "" }.to_owned(),
    ]
}

const TRUTH_COLUMNS: [&str; 17] = [
    "pole_no",
    "kind",
    "zone",
    "installed",
    "life_years",
    "protected_share",
    "mode",
    "diameter_mm",
    "strength_ratio",
    "early_failure",
    "hidden",
    "kind_shift",
    "soil_shift",
    "batch_shift",
    "progress",
    "limit",
    "below_limit",
];

fn truth_row(id: &str, truth: &Truth, models: &Models) -> Row {
    let mode = match truth.wood.mode {
        Mode::External => "external",
        Mode::Internal => "internal",
    };
    vec![
        id.to_owned(),
        models.kind(truth.cell).id.clone(),
        models.cell(truth.cell).zone.to_string(),
        truth.installed.to_string(),
        format!("{:.2}", truth.wood.life),
        format!("{:.4}", truth.wood.protected),
        mode.to_owned(),
        format!("{:.1}", truth.wood.diameter.0),
        format!("{:.4}", truth.strength_ratio),
        truth.early.to_string(),
        truth.hidden.to_string(),
        format!("{:.4}", truth.shift),
        format!("{:.4}", truth.soil_shift),
        format!("{:.4}", truth.batch_shift),
        format!("{:.4}", truth.progress),
        format!("{:.4}", truth.limit),
        truth.below_limit.to_string(),
    ]
}

fn text_of<T: ToString>(value: Option<T>) -> String {
    value.map_or_else(String::new, |value| value.to_string())
}

fn millimetres(length: Option<Mm>) -> String {
    length.map_or_else(String::new, |length| format!("{:.0}", length.0))
}

fn code_of<T>(value: Option<T>, code: impl Fn(T) -> &'static str) -> String {
    value.map_or_else(String::new, |value| code(value).to_owned())
}

const fn species_code(species: Species) -> &'static str {
    match species {
        Species::Pine => "PI",
        Species::DouglasFir => "DF",
        Species::WesternRedcedar => "RC",
        Species::Spruce => "SP",
        Species::Eucalypt => "EU",
        Species::HardwoodClass1 => "H1",
        Species::HardwoodClass2 => "H2",
        Species::HardwoodClass3 => "H3",
    }
}

const fn preservative_code(preservative: Preservative) -> &'static str {
    match preservative {
        Preservative::Creosote => "CR",
        Preservative::Pentachlorophenol => "PN",
        Preservative::Cca => "CCA",
        Preservative::Acza => "ACZA",
        Preservative::CopperNaphthenate => "CUN",
        Preservative::Dcoit => "DC",
        Preservative::ButtTreated => "BUTT",
        Preservative::Untreated => "NIL",
    }
}

const fn cause_code(cause: RemovalCause) -> &'static str {
    match cause {
        RemovalCause::Condemned => "REJ",
        RemovalCause::Failed => "FAIL",
        RemovalCause::Other => "WORKS",
    }
}

const fn consequence_code(consequence: Consequence) -> &'static str {
    match consequence {
        Consequence::Ordinary => "O",
        Consequence::High => "H",
    }
}

const fn method_code(method: Method) -> &'static str {
    match method {
        Method::Patrol => "EYE",
        Method::Sound => "HAM",
        Method::SoundAndBore => "BORE",
        Method::PartialExcavation => "DIG1",
        Method::FullExcavation => "DIG4",
        Method::Instrument => "INST",
    }
}

const fn verdict_code(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Sound => "OK",
        Verdict::DecayServiceable => "DECAY",
        Verdict::RejectReinforceable => "BRACE",
        Verdict::RejectReplace => "REPLACE",
        Verdict::Danger => "DANGER",
        Verdict::NotInspected => "MISSED",
    }
}

const fn seen_code(seen: SeenMode) -> &'static str {
    match seen {
        SeenMode::External => "outside",
        SeenMode::Internal => "inside",
        SeenMode::Both => "both",
    }
}
