//! Counts for a summary: what is overdue, and what a year's round holds line by line.

use super::{Action, DueBecause, Priority, Schedule, Standing};
use crate::pole::{NameIndex, PoleIndex};
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

    /// Crew-days of the fullest year over those of a mean year; 1 where all are alike, 0 where nothing is planned.
    pub fn fullest_year(&self) -> f64 {
        let sum: f64 = self.crew_days.iter().sum();
        let most = self.crew_days.iter().copied().fold(0.0, f64::max);
        if sum > 0.0 {
            most * self.crew_days.len() as f64 / sum
        } else {
            0.0
        }
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

    /// Must-do inspections that no year has room for, in the order of the ranking: while there is one, the plan does not
    /// comply.
    pub fn unmet_must_do(&self) -> Vec<PoleIndex> {
        let must = |pole: &&PoleIndex| {
            let row = self.row(**pole);
            let in_want =
                matches!(row.standing, Standing::Deferred { reason, .. } if reason.is_for_want());
            row.priority == Priority::MustDo && in_want
        };
        self.ranking.iter().filter(must).copied().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inspected, inventory_of, no_values, pole_set, programme, visits_a_year};
    use crate::inventory::Inventory;
    use crate::pole::{Method, Pole, Verdict};
    use crate::programme::{Programme, RuleKind};
    use crate::schedule::schedule_with;
    use jiff::civil::date;

    /// Two poles overdue on line K, one undated on no line, one reject, one young.
    fn fleet() -> Inventory {
        let seen = |year, verdict| {
            vec![inspected(
                date(year, 1, 1),
                Method::PartialExcavation,
                verdict,
            )]
        };
        let undated = Pole {
            installed: None,
            ..pole_set(1980)
        };
        inventory_of(vec![
            ("P-1", "K", pole_set(1980), seen(2013, Verdict::Sound)),
            ("P-2", "K", pole_set(1980), seen(2014, Verdict::Sound)),
            ("P-3", "", undated, Vec::new()),
            (
                "P-4",
                "K",
                pole_set(1980),
                seen(2010, Verdict::RejectReplace),
            ),
            ("P-5", "L", pole_set(2024), Vec::new()),
        ])
    }

    fn solved(programme: &Programme) -> Schedule {
        let inventory = fleet();
        schedule_with(&inventory, programme, &no_values(&inventory, programme))
    }

    #[test]
    fn overdue_inspections_are_counted_with_the_oldest_apart_from_what_nothing_proves() {
        // Inspected on 2013-01-01, due ten years of 365.2425 days later, on 2023-01-01: 731 days before 2025-01-01.
        let expected = Overdue {
            poles: 2,
            oldest_days: 731,
            nothing_recorded: 1,
        };
        assert_eq!(solved(&programme()).overdue(), expected);
    }

    #[test]
    fn the_round_of_a_year_goes_line_by_line() {
        let schedule = solved(&programme());
        let round = schedule.round(0);
        let poles: Vec<usize> = round.iter().map(|line| line.poles).collect();
        assert_eq!(poles, [1, 2]);
        assert_eq!(round[0].line, None);
        let days: f64 = round.iter().map(|line| line.crew_days).sum();
        assert!((days - schedule.crew_days[0]).abs() < 1e-12);
        assert!(schedule.round(3).is_empty());
        assert_eq!(schedule.count(Action::Replace).0[0], 1);
    }

    #[test]
    fn must_do_work_beyond_the_crews_is_named() {
        let mut programme = programme();
        programme.inspections[0].kind = RuleKind::Law;
        assert!(solved(&programme).unmet_must_do().is_empty());
        programme.crews = visits_a_year(&programme, 0);
        let schedule = solved(&programme);
        assert_eq!(schedule.unmet_must_do(), [PoleIndex(0), PoleIndex(1)]);
        assert_eq!(schedule.count(Action::Inspect).1, 3);
    }
}
