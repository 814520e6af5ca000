//! Counts for a summary: what is overdue, and what a year's round holds line by line.

use super::{Action, DueBecause, Schedule, Standing};
use crate::pole::NameIndex;
use std::collections::BTreeMap;

/// Inspections that are overdue at the plan date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Overdue {
    /// Poles whose binding rule called for an inspection before the plan date.
    pub poles: usize,
    /// Days by which the oldest of them is overdue.
    pub oldest_days: i32,
    /// Poles of which nothing is recorded that proves that they are not overdue; not among the above.
    pub nothing_recorded: usize,
}

/// Inspections of one line in one plan year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineRound {
    /// The line; `None` for poles of no line.
    pub line: Option<NameIndex>,
    /// Poles to inspect.
    pub poles: usize,
    /// Packages.
    pub packages: usize,
    /// Crew-days.
    pub crew_days: f64,
}

impl Schedule {
    /// What is overdue at the plan date. Recorded rejects are not inspections and not counted here.
    pub fn overdue(&self) -> Overdue {
        let mut overdue = Overdue::default();
        for row in &self.rows {
            let Some(due) = row.due else {
                continue;
            };
            if due.because == DueBecause::NothingRecorded {
                overdue.nothing_recorded += 1;
            } else if row.overdue_days > 0 {
                overdue.poles += 1;
                overdue.oldest_days = overdue.oldest_days.max(row.overdue_days);
            }
        }
        overdue
    }

    /// The round of a plan year, line by line in the order of their names, poles of no line first.
    pub fn round(&self, year: u16) -> Vec<LineRound> {
        let mut lines: BTreeMap<Option<NameIndex>, LineRound> = BTreeMap::new();
        for package in self.packages.iter().filter(|p| p.year == Some(year)) {
            let round = lines.entry(package.line).or_insert(LineRound {
                line: package.line,
                poles: 0,
                packages: 0,
                crew_days: 0.0,
            });
            round.poles += package.poles.len();
            round.packages += 1;
            round.crew_days += package.crew_days;
        }
        lines.into_values().collect()
    }

    /// Poles planned or deferred for an action: (planned in each year, deferred).
    pub fn count(&self, action: Action) -> (Vec<usize>, usize) {
        let mut planned = vec![0; self.crew_days.len()];
        let mut deferred = 0;
        for row in &self.rows {
            match row.standing {
                Standing::Planned {
                    action: own, year, ..
                } if own == action => {
                    if let Some(count) = planned.get_mut(usize::from(year)) {
                        *count += 1;
                    }
                }
                Standing::Deferred { action: own, .. } if own == action => deferred += 1,
                _ => {}
            }
        }
        (planned, deferred)
    }
}
