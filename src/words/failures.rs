//! Recorded failures beside what the forecast expects: two accounts of the same poles that nobody made to agree.
//!
//! Counts and compares; the estimate does not read these records. The band is the exact one of a Poisson count (Garwood,
//! "Fiducial limits for the Poisson distribution", Biometrika 28, 1936).

use super::overview::Spread;
use super::quantities::{count, counted};
use crate::inventory::Inventory;
use crate::maths::poisson_interval;
use crate::plan::Plan;
use crate::pole::Assistance;
use crate::programme::Programme;
use serde::Serialize;

/// Older years say little of the poles of today (judgement).
const MOST_YEARS: i32 = 10;
/// Probability below the band, and above it.
const TAIL: f64 = 0.05;

/// Failures on record, by the year.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RecordedFailures {
    /// Years before the plan that were looked at: since the first failure on record, ten at most.
    pub years: usize,
    /// Unassisted failures in them.
    pub unassisted: usize,
    /// Assisted failures in them.
    pub assisted: usize,
    /// Failures of which nobody says whether they were assisted.
    pub unknown: usize,
    /// Unassisted failures a year: the exact 90 % interval of the mean.
    pub a_year: [f64; 2],
    /// Failures that the forecast expects in the first plan year.
    pub expected: Option<Spread>,
}

/// What is on record; `None` when nothing is.
pub fn recorded(
    inventory: &Inventory,
    programme: &Programme,
    plan: &Plan,
) -> Option<RecordedFailures> {
    let first = inventory.failures.first()?;
    let years = (-programme.year_of(first.date)).clamp(1, MOST_YEARS);
    let from = programme.year_start(-years);
    let of = |assisted: Option<Assistance>| {
        let counted = inventory.failures.iter().filter(|failure| {
            failure.assisted == assisted && (from..programme.plan_from).contains(&failure.date)
        });
        counted.count()
    };
    let unassisted = of(Some(Assistance::Unassisted));
    let (low, high) = poisson_interval(unassisted as u64, TAIL);
    Some(RecordedFailures {
        years: years as usize,
        unassisted,
        assisted: of(Some(Assistance::Assisted)),
        unknown: of(None),
        a_year: [low / f64::from(years), high / f64::from(years)],
        expected: plan.forecast.years.first().map(|year| year.failures.into()),
    })
}

/// The lines of the page.
pub(super) fn lines(failures: &RecordedFailures) -> Vec<String> {
    let [low, high] = failures.a_year;
    let mut lines = vec![format!(
        "Failures on record: {} unassisted in {}, {low:.2} to {high:.2} a year (exact 90 % interval)",
        count(failures.unassisted),
        counted(failures.years, "year", "years")
    )];
    if let Some(expected) = failures.expected {
        lines.push(format!(
            "  the forecast expects {:.2} +- {:.2} in its first year; it does not read these records, so each checks the other",
            expected.mean, expected.standard_error
        ));
    }
    if failures.assisted + failures.unknown > 0 {
        lines.push(format!(
            "  not held against it: {} assisted, {} of which nobody says",
            count(failures.assisted),
            count(failures.unknown)
        ));
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::{RecordedFailures, lines};
    use crate::trial::Band;

    #[test]
    fn the_page_says_what_is_on_record_and_what_is_expected() {
        let failures = RecordedFailures {
            years: 8,
            unassisted: 12,
            assisted: 3,
            unknown: 0,
            a_year: [0.866, 2.43],
            expected: Some(
                Band {
                    mean: 1.318,
                    standard_error: 0.042,
                    p10: 0.0,
                    p50: 1.0,
                    p90: 3.0,
                }
                .into(),
            ),
        };
        assert_eq!(
            lines(&failures).join("\n"),
            "Failures on record: 12 unassisted in 8 years, 0.87 to 2.43 a year (exact 90 % interval)\n  \
             the forecast expects 1.32 +- 0.04 in its first year; it does not read these records, so each checks the other\n  \
             not held against it: 3 assisted, 0 of which nobody says"
        );
    }
}
