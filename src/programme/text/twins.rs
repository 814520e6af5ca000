//! The programme as it is written: one struct a TOML table, every key optional, unknown keys refused.
//!
//! Only shapes stand here. Defaults, limits and their messages are in the files beside; nothing else in the crate sees
//! these types.

use serde::Deserialize;
use std::collections::BTreeMap;
use toml::Value;

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct Written {
    pub title: Option<String>,
    pub plan_from: Option<Value>,
    pub schedule_years: Option<i64>,
    pub horizon_years: Option<i64>,
    pub trials: Option<i64>,
    pub seed: Option<i64>,
    pub decay_zone: Option<i64>,
    pub assumed_install_years: Option<[i64; 2]>,
    pub reject: Vec<WrittenReject>,
    pub rule: Vec<WrittenRule>,
    pub above_ground: Vec<WrittenAboveGround>,
    pub policy: WrittenPolicy,
    pub crews: WrittenCrews,
    pub costs: WrittenCosts,
    pub budget: WrittenBudget,
    pub removals: WrittenRemovals,
    pub hazards: WrittenHazards,
    pub scope: WrittenScope,
    pub poles: Vec<WrittenTable>,
    pub inspections: Vec<WrittenTable>,
    pub work_done: Vec<WrittenTable>,
    pub failures: Vec<WrittenTable>,
    pub decisions: Vec<WrittenTable>,
    pub supply: WrittenSupply,
    pub substitution: Vec<WrittenSubstitution>,
    pub stock: Vec<WrittenStock>,
    pub other_demand: Vec<WrittenGivenDemand>,
    pub put_back: Vec<WrittenPutBack>,
    pub yard: Option<WrittenYard>,
    pub previous: WrittenPrevious,
    pub alternatives: Vec<WrittenAlternative>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenReject {
    pub least_strength: Option<f64>,
    pub least_required_strength: Option<f64>,
    pub least_sound_shell_mm: Option<f64>,
    pub least_circumference_share: Option<f64>,
    pub from: Option<Value>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenRule {
    pub name: Option<String>,
    pub zones: Vec<i64>,
    pub lines: Vec<String>,
    pub districts: Vec<String>,
    pub high_consequence_only: bool,
    pub reinforced_only: bool,
    pub first_age_years: Option<f64>,
    pub repeat_years: Option<f64>,
    pub after_decay_years: Option<f64>,
    pub grace_days: Option<i64>,
    pub least_method: Option<String>,
    pub kind: Option<String>,
    pub source: Option<String>,
    pub effective: Option<Value>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenAboveGround {
    pub defects: Vec<String>,
    pub action: Option<String>,
    pub within_days: Option<i64>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenPolicy {
    pub method: Option<String>,
    pub replace_within_years: Option<f64>,
    pub make_safe_within_days: Option<i64>,
    pub remedial_treatment: Option<bool>,
    pub remedial_agent: Option<String>,
    pub treatment_years: Option<f64>,
    pub reinforce: Option<bool>,
    pub reinforcement_life_years: Option<f64>,
    pub reinforceable_share: Option<f64>,
    pub exempt_inspected_within_years: Option<f64>,
    pub round: Option<String>,
    pub worst_first_within: Option<f64>,
    pub new_species: Option<String>,
    pub new_preservative: Option<String>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenCrews {
    pub crew_days_per_year: Option<f64>,
    pub poles_per_crew_day: ByMethod,
}

/// One figure a method.
#[derive(Debug, Default, Clone, Copy, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct ByMethod {
    pub patrol: Option<f64>,
    pub sound: Option<f64>,
    pub sound_and_bore: Option<f64>,
    pub partial_excavation: Option<f64>,
    pub full_excavation: Option<f64>,
    pub instrument: Option<f64>,
}

impl ByMethod {
    /// In the order of [`crate::pole::Method::ALL`].
    pub(super) fn in_order(self) -> [Option<f64>; 6] {
        [
            self.patrol,
            self.sound,
            self.sound_and_bore,
            self.partial_excavation,
            self.full_excavation,
            self.instrument,
        ]
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenCosts {
    pub currency: Option<String>,
    pub price_year: Option<i64>,
    pub inspection: ByMethod,
    pub replacement: Option<f64>,
    pub reinforcement: Option<f64>,
    pub remedial_treatment: Option<f64>,
    pub failure: Option<f64>,
    pub discount_rate: Option<f64>,
    pub below_limit_year: Option<f64>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenBudget {
    pub operating: Option<Value>,
    pub capital: Option<Value>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenRemovals {
    pub reinforced_share: Option<f64>,
    pub mean_years_to_removal: Option<f64>,
    pub listed_since: Option<i64>,
    pub listed_causes: Option<Vec<String>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenHazards {
    pub use_of_capacity: Option<f64>,
    pub strength_cov: Option<f64>,
    pub other_demand: Option<f64>,
    pub load_factor: Option<f64>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenScope {
    pub owners: Vec<String>,
    pub statuses: Option<Vec<String>>,
    pub drop_if_notes_say_gone: Option<bool>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenPrevious {
    pub folder: Option<String>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenTable {
    pub file: Option<String>,
    pub columns: BTreeMap<String, Value>,
    pub units: BTreeMap<String, String>,
    pub codes: BTreeMap<String, BTreeMap<String, String>>,
    pub date_form: Option<String>,
    pub default_method: Option<String>,
    pub epsg: Option<i64>,
    pub sheet: Option<String>,
    pub header_row: Option<i64>,
    pub join: Option<String>,
    pub contractor: Option<String>,
    pub last_inspection: Option<WrittenLastInspection>,
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenLastInspection {
    pub columns: BTreeMap<String, Value>,
    pub units: BTreeMap<String, String>,
    pub codes: BTreeMap<String, BTreeMap<String, String>>,
    pub date_form: Option<String>,
    pub default_method: Option<String>,
    pub contractor: Option<String>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenSupply {
    pub chance_of_not_running_short: Option<f64>,
    pub review_months: Option<f64>,
    pub air_drying_weeks: Option<f64>,
    pub kiln_drying_weeks: Option<f64>,
    pub treating_weeks: Option<f64>,
    pub transport_weeks: Option<f64>,
    pub long_poles_from_m: Option<f64>,
    pub lot_size: Option<i64>,
    pub truck_load: Option<f64>,
    pub density_kg_per_m3: Option<f64>,
    pub storm_reserve: Option<f64>,
    pub use_class: Option<String>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenSubstitution {
    pub from: Option<String>,
    pub to: Option<String>,
    pub decided_by: Option<String>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenStock {
    pub size: Option<String>,
    pub species: Option<String>,
    pub preservative: Option<String>,
    pub on_hand: Option<i64>,
    pub on_order: Option<i64>,
    pub arrives: Option<Value>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenGivenDemand {
    pub year: Option<i64>,
    pub size: Option<String>,
    pub species: Option<String>,
    pub preservative: Option<String>,
    pub count: Option<i64>,
    pub what_for: Option<String>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenPutBack {
    pub species: Option<String>,
    pub preservative: Option<String>,
    pub replacement: Option<f64>,
    pub allowed_by: Option<String>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenYard {
    pub stack_width_m: Option<f64>,
    pub stack_height_m: Option<f64>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct WrittenAlternative {
    pub name: Option<String>,
    pub cycle_factor: Option<f64>,
    pub repeat_years: Option<f64>,
    pub method: Option<String>,
    pub remedial_treatment: Option<bool>,
    pub reinforce: Option<bool>,
    pub inspect: Option<bool>,
    pub replace_at_age_years: Option<i64>,
    pub crew_factor: Option<f64>,
    pub budget_factor: Option<f64>,
    pub visit_first: Option<String>,
}
