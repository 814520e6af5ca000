//! The earlier plan in words: why a pole moved, and what became of last year's work.
//!
//! Takes [`crate::score::previous`] and [`crate::score::progress`]; decides nothing itself.

use super::quantities::{count, counted, to_decimals, whole};
use crate::score::previous::{Cause, Change, Previous};
use crate::score::progress::{Key, Progress};
use serde::Serialize;
use std::collections::BTreeMap;

/// What planned against done cannot prove.
pub const PROGRESS_CAUTION: &str = "Counts of records: what is done and not recorded is missing, methods overlook decay, and a pole that passed is not thereby clear for climbing, loading or work.";

/// Why a pole moved.
pub const fn why(cause: Cause) -> &'static str {
    match cause {
        Cause::Record => "the list or its inspections say something else than for the earlier plan",
        Cause::Rule => {
            "another rule binds, or it calls on another day, while the records are the same"
        }
        Cause::Decision => "the owner's decisions fixed it, now or in the earlier plan",
        Cause::ModelVersion => {
            "another version of the program made the earlier plan, and the records are the same"
        }
        Cause::NotDone => "its planned year is over and nothing is on record of it",
        Cause::Other => {
            "nothing of the pole itself: crew-days, its line's round, or what the fleet's inspections taught"
        }
    }
}

/// What became of the earlier plan, in one look.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SincePrevious {
    /// The day from which the earlier plan was made.
    pub plan_from: String,
    /// Things that moved.
    pub changes: usize,
    /// Years of the earlier plan that are told: the first and the last.
    pub years: Option<[i16; 2]>,
    /// Inspections planned in them.
    pub planned: usize,
    /// Inspections done.
    pub done: usize,
    /// Poles that have gone without one.
    pub gone: usize,
    /// Of the poles inspected: expected below the limit.
    pub expected: f64,
    /// Of the poles inspected: judged below it.
    pub found: usize,
    /// The exact 95 % interval of what was found.
    pub interval: Option<[f64; 2]>,
}

/// What became of the earlier plan.
pub fn since(
    previous: &Previous,
    changes: &[Change],
    progress: &BTreeMap<Key, Progress>,
) -> SincePrevious {
    let looks = progress.iter().filter(|(key, _)| key.1 == "inspect");
    let total = looks
        .clone()
        .fold(Progress::default(), |sum, (_, own)| sum.with(own));
    let mut years = looks.map(|(key, _)| key.0);
    let first = years.next();
    SincePrevious {
        plan_from: previous.plan_from.to_string(),
        changes: changes.len(),
        years: first.map(|first| [first, years.next_back().unwrap_or(first)]),
        planned: total.planned,
        done: total.done,
        gone: total.gone,
        expected: total.expected,
        found: total.found,
        interval: total.interval(),
    }
}

/// The lines of the page.
pub fn lines(since: &SincePrevious) -> Vec<String> {
    let mut lines = vec![format!(
        "Since the plan of {}: {} in changes.csv, each with its cause",
        since.plan_from,
        counted(since.changes, "change", "changes")
    )];
    let Some([first, last]) = since.years else {
        return lines;
    };
    let years = if first == last {
        first.to_string()
    } else {
        format!("{first} to {last}")
    };
    let gone = if since.gone > 0 {
        format!(", {} gone", count(since.gone))
    } else {
        String::new()
    };
    let found = since.interval.map_or_else(String::new, |[low, high]| {
        format!(
            "; below the limit: expected {} by its chances, found {} (exact 95 % interval {} to {})",
            to_decimals(since.expected, 1),
            count(since.found),
            whole(low),
            whole(high)
        )
    });
    lines.push(format!(
        "  of {} planned for {years}, {} done{gone}{found}",
        counted(since.planned, "inspection", "inspections"),
        count(since.done)
    ));
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn the_page_says_what_became_of_last_years_inspections() {
        let previous = Previous {
            version: String::new(),
            plan_from: date(2025, 1, 1),
            rows: BTreeMap::new(),
        };
        let own = Progress {
            planned: 450,
            done: 430,
            gone: 2,
            expected: 41.23,
            found: 38,
        };
        let key = |action: &str, method: &str| (2025, action.to_owned(), method.to_owned());
        let all = BTreeMap::from([
            (key("inspect", "sound_and_bore"), own.clone()),
            (key("replace", ""), own),
        ]);
        let said = lines(&since(&previous, &[], &all));
        // 38 of 430: Clopper and Pearson 1934, 0.0633 to 0.1193.
        assert_eq!(
            said,
            [
                "Since the plan of 2025-01-01: 0 changes in changes.csv, each with its cause",
                "  of 450 inspections planned for 2025, 430 done, 2 gone; below the limit: expected 41.2 by its chances, found 38 (exact 95 % interval 27 to 51)"
            ]
        );
    }
}
