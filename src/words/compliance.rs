//! Compliance in words: how much of each rule's cycle is done, and how to read the counts.
//!
//! Takes the counts of [`crate::score::compliance`]; decides nothing itself.

use super::quantities::{count, to_figures};
use crate::programme::Programme;
use crate::score::compliance::{Account, Line, Where};
use serde::Serialize;

/// What every row of the counts carries.
pub const CAUTION: &str = "Counts of records and dates: a pole inspected in time is not thereby sound, and a duty that is met never clears a pole for climbing, loading or work.";

/// District of poles of which none is known.
pub const NO_DISTRICT: &str = "(no district)";
/// Districts taken together.
pub const ALL_DISTRICTS: &str = "(all)";
/// What stands for a rule where rows are about all poles.
pub const ANY_RULE: &str = "(all poles)";

/// How far one rule's cycle is at the plan date.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CycleDone {
    /// The rule.
    pub rule: String,
    /// Poles that it has called for or that were inspected as it asks.
    pub poles: usize,
    /// Of these, inspected within its interval.
    pub inspected: usize,
}

/// The cycles of all rules at the plan date, for all districts together.
pub fn cycles(programme: &Programme, lines: &[Line]) -> Vec<CycleDone> {
    let at_plan_date = lines
        .iter()
        .filter(|line| line.place == Where::Everywhere && line.year == -1);
    let cycle = |line: &Line| match &line.account {
        Account::Rule { rule, counts } => Some(CycleDone {
            rule: programme.inspections.get(*rule)?.name.clone(),
            poles: counts.called,
            inspected: counts.in_cycle,
        }),
        Account::All(_) => None,
    };
    at_plan_date.filter_map(cycle).collect()
}

/// The lines of the page.
pub(super) fn lines(cycles: &[CycleDone]) -> Vec<String> {
    let called = cycles.iter().filter(|cycle| cycle.poles > 0);
    let said = called.map(|cycle| {
        format!(
            "  cycle done by '{}': {} % ({} of {} poles)",
            cycle.rule,
            to_figures(100.0 * cycle.inspected as f64 / cycle.poles as f64, 2),
            count(cycle.inspected),
            count(cycle.poles)
        )
    });
    said.collect()
}

#[cfg(test)]
mod tests {
    use super::{CycleDone, lines};

    #[test]
    fn a_cycle_is_told_with_its_counts_and_only_where_it_has_begun() {
        let cycle = |rule: &str, inspected, poles| CycleDone {
            rule: rule.to_owned(),
            poles,
            inspected,
        };
        // 4,150 of 5,000 are 83 %.
        assert_eq!(
            lines(&[cycle("round", 4_150, 5_000), cycle("young", 0, 0)]),
            ["  cycle done by 'round': 83 % (4,150 of 5,000 poles)"]
        );
    }
}
