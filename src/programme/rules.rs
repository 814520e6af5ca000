//! Reject limits and inspection rules: what must be done, when, and on whose authority.

use crate::pole::{Defect, Method};
use crate::units::{Date, Fraction, Mm, Zone};

/// A limit below which a groundline section is rejected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Limit {
    /// Least remaining strength, as a share of the original section modulus.
    Strength(Fraction),
    /// Least sound shell around a hollow.
    SoundShell(Mm),
    /// Least remaining circumference, as a share of the original.
    Circumference(Fraction),
    /// Least remaining strength, as a share of the strength required when new; of the original strength for a pole of
    /// which nothing is known that it must bear.
    RequiredStrength(Fraction),
}

/// A reject rule with the day from which it is in force.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RejectRule {
    /// The limit.
    pub limit: Limit,
    /// In force from this day; always, when not given.
    pub from: Option<Date>,
}

impl RejectRule {
    /// Whether the rule was in force on `date`.
    pub fn in_force(&self, date: Date) -> bool {
        self.from.is_none_or(|from| from <= date)
    }
}

/// What a defect above the groundline calls for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AboveGroundAction {
    /// Make it safe.
    MakeSafe,
    /// Replace it.
    Replace,
}

impl AboveGroundAction {
    /// The word in programmes.
    pub const fn word(self) -> &'static str {
        match self {
            Self::MakeSafe => "make_safe",
            Self::Replace => "replace",
        }
    }
}

/// A rule for defects above the groundline.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AboveGroundRule {
    /// The defects.
    pub defects: Vec<Defect>,
    /// What they call for.
    pub action: AboveGroundAction,
    /// Days from the record within which it is done.
    pub within_days: i32,
}

/// Law or guideline.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum RuleKind {
    /// A law or a regulator's order.
    Law,
    /// A guideline or the owner's own standard.
    Guideline,
}

impl RuleKind {
    /// The word in programmes and tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Law => "law",
            Self::Guideline => "guideline",
        }
    }
}

/// The poles that a rule binds. Every part that is given must fit; a part that is not given fits all.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct AppliesTo {
    /// Decay zones.
    pub zones: Vec<Zone>,
    /// Lines by name.
    pub lines: Vec<String>,
    /// Districts by name.
    pub districts: Vec<String>,
    /// Only poles of high consequence.
    pub high_consequence_only: bool,
    /// Only poles that stand reinforced; their first inspection is counted from the day of the reinforcement.
    pub reinforced_only: bool,
}

/// When poles are to be inspected.
#[derive(Debug, Clone, PartialEq)]
pub struct InspectionRule {
    /// Name, as it stands in the schedule.
    pub name: String,
    /// Poles that it binds.
    pub applies: AppliesTo,
    /// Age at the first inspection, years; of a rule for reinforced poles only, years after the reinforcement.
    pub first_age_years: f64,
    /// Years from one inspection to the next.
    pub repeat_years: f64,
    /// Years to the next inspection after decay was found, where the rule says so.
    pub after_decay_years: Option<f64>,
    /// Days after the due date within which an inspection still counts as in time.
    pub grace_days: i32,
    /// Weakest method that satisfies the rule.
    pub least_method: Method,
    /// Law or guideline.
    pub kind: RuleKind,
    /// Where the rule stands.
    pub source: String,
    /// In force from this day; always, when not given.
    pub effective: Option<Date>,
}
