//! Integer counts of what happened in the trials, and the bands that they give.

use crate::pole::{NameIndex, Preservative};
use crate::units::Mm;

/// Why a new pole is needed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Condemned at an inspection, replaced as planned.
    Planned,
    /// Failed in service.
    AfterFailure,
    /// Vehicles, road works, upgrades: demand that has nothing to do with decay.
    OtherDemand,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Self; 3] = [Self::Planned, Self::AfterFailure, Self::OtherDemand];

    /// The word in tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Planned => "planned",
            Self::AfterFailure => "after_failure",
            Self::OtherDemand => "other_demand",
        }
    }
}

/// A pole size.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Size {
    /// Length.
    pub length: Option<Mm>,
    /// Class, as the owner writes it.
    pub class: Option<NameIndex>,
}

/// Poles whose replacement needs the same thing: one kind of row of the quantities.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Group {
    /// Size that stands now.
    pub old: Size,
    /// Size to order.
    pub new: Size,
    /// Preservative to order; `None` when neither the policy nor the list says.
    pub preservative: Option<Preservative>,
}

/// A count over the trials: mean with its standard error, and quantiles.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Band {
    /// Mean.
    pub mean: f64,
    /// Standard error of the mean.
    pub standard_error: f64,
    /// 10 % quantile.
    pub p10: f64,
    /// Median.
    pub p50: f64,
    /// 90 % quantile.
    pub p90: f64,
}

/// What the trials say of one plan year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct YearForecast {
    /// Calendar label of the plan year.
    pub year: i16,
    /// Poles inspected.
    pub inspections: Band,
    /// Poles judged below the limit at inspections.
    pub rejects_found: Band,
    /// Poles that fail in service.
    pub failures: Band,
    /// New poles needed, of all kinds.
    pub replacements: Band,
    /// Poles standing below the limit at the end of the year.
    pub below_limit: Band,
}

/// Demand for new poles of one group, kind and year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Demand {
    /// Calendar label of the plan year; `None` for the whole horizon.
    pub year: Option<i16>,
    /// The group; `None` for all sizes together.
    pub group: Option<usize>,
    /// The kind; `None` for all kinds together.
    pub kind: Option<Kind>,
    /// How many.
    pub count: Band,
    /// Share of the mean that comes from poles of unknown size.
    pub share_from_unknown_size: f64,
}

/// The forecast of a fleet.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// Number of trials.
    pub trials: u32,
    /// Groups of the demand rows.
    pub groups: Vec<Group>,
    /// One entry a plan year.
    pub years: Vec<YearForecast>,
    /// Demand by year, group and kind, and the totals taken from the trials.
    pub demand: Vec<Demand>,
}

/// Integer counts by trial.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tally {}

impl Tally {
    /// Means and bands.
    pub fn forecast(&self) -> Forecast {
        unimplemented!()
    }
}
