//! The texts of `models/` as serde sees them: nothing is checked here but the shape.
//!
//! Every struct refuses unknown keys. Values that [`text`](super::text) checks carry their span, so that a message can
//! name the line. Units are in the keys' names.

use serde::Deserialize;
use toml::Spanned;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KindText {
    pub id: Spanned<String>,
    pub title: String,
    pub applies: Option<Spanned<AppliesText>>,
    pub internal_share: Spanned<f64>,
    pub protected_share: Spanned<MeanText>,
    pub source: OriginText,
    pub zone: Spanned<Vec<Spanned<ZoneText>>>,
    #[serde(default)]
    pub check: Vec<Spanned<KindCheckText>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AppliesText {
    pub species: Vec<Spanned<String>>,
    pub preservative: Vec<Spanned<String>>,
    pub through_bored: Option<bool>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeanText {
    pub mean: f64,
    pub sd: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OriginText {
    pub mark: Spanned<String>,
    pub text: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ZoneText {
    pub name: String,
    pub life: LifeText,
    pub early_share: f64,
    pub between_fleets_ln_sd: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
pub enum LifeText {
    Lognormal { median_years: f64, ln_sd: f64 },
    Weibull { shape: f64, scale_years: f64 },
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KindCheckText {
    pub zone: String,
    pub expect: ExpectOfLifeText,
    pub why: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
pub enum ExpectOfLifeText {
    Survival {
        at_years: f64,
        share: f64,
        tolerance: f64,
    },
    SurvivalAtMost {
        at_years: f64,
        share: f64,
    },
    MedianBetweenYears([f64; 2]),
    EarlyShare {
        share: f64,
        tolerance: f64,
    },
    FleetRangeYears {
        low: f64,
        high: f64,
    },
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DetectionText {
    #[serde(rename = "title")]
    pub _title: String,
    pub source: OriginText,
    pub hidden: Spanned<HiddenText>,
    pub method: Spanned<Vec<Spanned<MethodText>>>,
    #[serde(default)]
    pub check: Vec<Spanned<MethodCheckText>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HiddenText {
    pub share: f64,
    pub mark: Spanned<String>,
    pub text: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MethodText {
    pub name: String,
    pub sensitivity: f64,
    pub sensitivity_range: [f64; 2],
    pub false_find: f64,
    pub wrongly_condemned: WronglyCondemnedText,
    pub measure_sd_mm: MeasureText,
    pub verdict_sd: f64,
    pub mark: Spanned<String>,
    pub text: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WronglyCondemnedText {
    pub share_of_condemned: f64,
    pub reject_rate: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeasureText {
    pub external: f64,
    pub internal: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MethodCheckText {
    pub method: String,
    pub expect: ExpectOfMethodText,
    pub why: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
pub enum ExpectOfMethodText {
    SensitivityBetween([f64; 2]),
    WronglyCondemned { chance: f64, tolerance: f64 },
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HazardText {
    #[serde(rename = "title")]
    pub _title: String,
    pub early_failures: Spanned<EarlyText>,
    pub use_of_capacity: Spanned<ValueText>,
    pub strength: Spanned<StrengthText>,
    #[serde(default)]
    pub check: Vec<HazardCheckText>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EarlyText {
    pub life: LifeText,
    pub mark: Spanned<String>,
    pub text: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ValueText {
    pub value: f64,
    pub mark: Spanned<String>,
    pub text: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StrengthText {
    pub cov: f64,
    pub mark: Spanned<String>,
    pub text: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HazardCheckText {
    pub remaining_strength: f64,
    pub yearly: f64,
    pub tolerance: f64,
    pub why: String,
}
