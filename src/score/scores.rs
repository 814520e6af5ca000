//! Forecasts with what was found, the rivals that they are held to, and the scores of both.
//!
//! Knows chances and outcomes; how they came about is [`super::hindcast`]'s.

use super::bands::Coverage;
use super::baseline::{AgeCurve, Look};
use super::exact::{Interval, count_interval};
use super::forecast::Chances;
use super::metrics::{
    Bin, Catch, LEVEL, Measured, TOPS, brier_score, catch, log_score, mean_of, reliability,
};
use crate::pole::{Method, Verdict};
use crate::units::Date;

/// Standard errors by which a forecast must be ahead to be said to beat another: a one-sided test at 5 %.
const CLEARLY: f64 = 1.645;

/// One forecast with what was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// The owner's id.
    pub id: String,
    /// Year as of which it was forecast.
    pub as_of: i16,
    /// Line.
    pub line: Option<String>,
    /// Length in tenths of a millimetre, and class.
    pub size: (Option<i64>, Option<String>),
    /// Number of the line among the areas.
    pub area: usize,
    /// Number of the curve cell among those in use.
    pub slot: usize,
    /// Day of the look.
    pub date: Date,
    /// How it looked.
    pub method: Method,
    /// Age of the pole then, years: the mean where it is not recorded.
    pub age: f64,
    /// The look and those after it, as the age alone sees them.
    pub looks: Vec<Look>,
    /// The forecast.
    pub chances: Chances,
    /// The rivals' chances, in the order of [`Rival::ALL`].
    pub rivals: [RivalChance; Rival::ALL.len()],
    /// The verdict.
    pub verdict: Verdict,
    /// Whether it was found below the limit.
    pub rejected: bool,
}

/// What a rival says of one look.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct RivalChance {
    /// Chance of a reject among poles of which the list still tells.
    pub listed: f64,
    /// The same if no condemned pole ever left the list: what its ranking goes by.
    pub all: f64,
}

impl RivalChance {
    pub(super) fn of(curve: &AgeCurve, looks: &[Look]) -> Self {
        Self {
            listed: curve.chance_if_listed(looks),
            all: looks.first().map_or(0.0, |look| curve.chance(look)),
        }
    }
}

/// What a forecast is held to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Rival {
    /// An age curve fitted to what was known then.
    AgeKnown,
    /// A constant yearly rate fitted to what was known then.
    RateKnown,
    /// The age curve that fits the outcomes themselves best.
    AgeHindsight,
    /// The constant yearly rate that fits the outcomes best.
    RateHindsight,
}

impl Rival {
    /// All.
    pub const ALL: [Self; 4] = [
        Self::AgeKnown,
        Self::RateKnown,
        Self::AgeHindsight,
        Self::RateHindsight,
    ];

    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::AgeKnown => "age only, known then",
            Self::RateKnown => "constant rate, known then",
            Self::AgeHindsight => "age only, with hindsight",
            Self::RateHindsight => "constant rate, with hindsight",
        }
    }
}

/// How good the forecast was, and how much better than one rival.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Against {
    /// The rival.
    pub rival: Rival,
    /// Its Brier score.
    pub brier: Measured,
    /// Its log score.
    pub log: Measured,
    /// Its Brier score less the forecast's: above 0 the forecast is better.
    pub brier_gain: Measured,
    /// Its log score less the forecast's.
    pub log_gain: Measured,
    /// What the tops of its ranking caught.
    pub catches: [Catch; TOPS.len()],
}

/// All scores of some cases.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Scores {
    /// Number of cases.
    pub cases: usize,
    /// Rejects that were expected.
    pub expected: f64,
    /// Rejects that were found.
    pub found: usize,
    /// Exact 95 % interval of the number that this shows.
    pub found_interval: Interval,
    /// Brier score of the forecast.
    pub brier: Measured,
    /// Log score of the forecast.
    pub log: Measured,
    /// What the tops of its ranking caught.
    pub catches: [Catch; TOPS.len()],
    /// Its rivals.
    pub against: Vec<Against>,
    /// Reliability.
    pub bins: Vec<Bin>,
    /// How the bands on counts held.
    pub coverage: Vec<Coverage>,
}

/// How a forecast came off against a rival.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Standing {
    /// Better in the log score by more than chance gives.
    Beats,
    /// Better, and by no more than chance gives.
    Ahead,
    /// Not better.
    DoesNotBeat,
}

impl Against {
    /// How the forecast came off in the log score.
    pub fn standing(&self) -> Standing {
        let gain = self.log_gain;
        if gain.mean > CLEARLY * gain.standard_error {
            Standing::Beats
        } else if gain.mean > 0.0 {
            Standing::Ahead
        } else {
            Standing::DoesNotBeat
        }
    }
}

/// The scores of some cases; `None` when there are none.
pub(super) fn scores(cases: &[&Case], coverage: Vec<Coverage>) -> Option<Scores> {
    if cases.is_empty() {
        return None;
    }
    let mut lines: Vec<Option<&str>> = cases.iter().map(|case| case.line.as_deref()).collect();
    lines.sort_unstable();
    lines.dedup();
    let line_of = |case: &Case| lines.partition_point(|line| *line < case.line.as_deref()) as u32;
    let mean = |score: &dyn Fn(&Case) -> f64| {
        let values: Vec<(f64, u32)> = cases
            .iter()
            .map(|case| (score(case), line_of(case)))
            .collect();
        mean_of(&values)
    };
    let own = |case: &Case| case.chances.listed;
    let ranked = |chance: &dyn Fn(&Case) -> f64| {
        let pairs: Vec<(f64, bool)> = cases
            .iter()
            .map(|case| (chance(case), case.rejected))
            .collect();
        TOPS.map(|top| catch(&pairs, top))
    };
    let against = Rival::ALL.into_iter().enumerate().map(|(place, rival)| {
        let its = move |case: &Case| case.rivals[place].listed;
        Against {
            rival,
            brier: mean(&|case| brier_score(its(case), case.rejected)),
            log: mean(&|case| log_score(its(case), case.rejected)),
            brier_gain: mean(&|case| {
                brier_score(its(case), case.rejected) - brier_score(own(case), case.rejected)
            }),
            log_gain: mean(&|case| {
                log_score(its(case), case.rejected) - log_score(own(case), case.rejected)
            }),
            catches: ranked(&|case| case.rivals[place].all),
        }
    });
    let pairs: Vec<(f64, bool)> = cases
        .iter()
        .map(|case| (own(case), case.rejected))
        .collect();
    let found = cases.iter().filter(|case| case.rejected).count();
    Some(Scores {
        cases: cases.len(),
        expected: cases.iter().map(|case| own(case)).sum(),
        found,
        found_interval: count_interval(found as u64, LEVEL),
        brier: mean(&|case| brier_score(own(case), case.rejected)),
        log: mean(&|case| log_score(own(case), case.rejected)),
        catches: ranked(&|case| case.chances.all),
        against: against.collect(),
        bins: reliability(&pairs),
        coverage,
    })
}
