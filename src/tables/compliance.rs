//! `compliance.csv`: what each rule called for and what was done, by district and year; failures of all poles.
//!
//! Past years are counted from the records, the schedule's years from the schedule; a cell that belongs to the other kind
//! of year stays empty.

use super::{Column, Holds, Sheet, Value, column, measured};
use crate::programme::InspectionRule;
use crate::score::compliance::{Account, Counts, Line as Told, Where};
use crate::score::failing::{AllPoles, FailureRate};
use crate::words::Case;
use crate::words::compliance::{ALL_DISTRICTS, ANY_RULE, CAUTION, NO_DISTRICT};
use crate::words::quantities::to_figures;
use std::collections::BTreeSet;

/// One row.
pub struct Line<'a> {
    fleet: Case<'a>,
    told: &'a Told,
}

impl<'a> Line<'a> {
    fn rule(&self) -> Option<&'a InspectionRule> {
        match &self.told.account {
            Account::Rule { rule, .. } => self.fleet.programme.inspections.get(*rule),
            Account::All(_) => None,
        }
    }

    fn is_past(&self) -> bool {
        self.told.year < 0
    }

    fn counts(&self, value: fn(&Counts) -> Value) -> Value {
        match &self.told.account {
            Account::Rule { counts, .. } => value(counts),
            Account::All(_) => Value::Empty,
        }
    }

    /// A count that only past years have, or only those of the schedule.
    fn counts_if(&self, past: bool, value: fn(&Counts) -> Value) -> Value {
        if self.is_past() == past {
            self.counts(value)
        } else {
            Value::Empty
        }
    }

    fn all(&self, value: fn(&AllPoles) -> Value) -> Value {
        match &self.told.account {
            Account::All(all) => value(all),
            Account::Rule { .. } => Value::Empty,
        }
    }

    fn failures(&self, value: fn(&FailureRate) -> Value) -> Value {
        match &self.told.account {
            Account::All(all) => all.failures.as_ref().map_or(Value::Empty, value),
            Account::Rule { .. } => Value::Empty,
        }
    }
}

/// What rules called for and what was done.
pub fn compliance<'a>(fleet: Case<'a>, told: &'a [Told]) -> Sheet<'a> {
    let mut all = whose();
    all.extend(duties());
    all.extend(failures());
    Sheet::new("compliance", all, told.len(), move |row| Line {
        fleet,
        told: &told[row],
    })
}

fn whose<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        column(
            "rule",
            Holds::Text,
            "name of the rule; (all poles) on the rows of failures and of all rejects found, whatever the rules",
            |line| Value::text(line.rule().map_or(ANY_RULE, |rule| rule.name.as_str())),
        ),
        column("rule_kind", Holds::Text, "law or guideline", |line| {
            Value::maybe_text(line.rule().map(|rule| rule.kind.word()))
        }),
        column(
            "district",
            Holds::Text,
            "district; (no district) where the list gives none; (all) counts all districts together and is not to be added to them",
            |line| {
                Value::text(match line.told.place {
                    Where::District(name) => line.fleet.inventory.names.get(name),
                    Where::NoDistrict => NO_DISTRICT,
                    Where::Everywhere => ALL_DISTRICTS,
                })
            },
        ),
        column(
            "year",
            Holds::Whole,
            "plan year, by the calendar year in which it begins",
            |line| Value::whole(i32::from(line.fleet.programme.first_year()) + line.told.year),
        ),
        column(
            "basis",
            Holds::Text,
            "records: a past year, of poles that are listed today; schedule: a year that is planned, each pole's next visit only",
            |line| {
                Value::text(if line.is_past() {
                    "records"
                } else {
                    "schedule"
                })
            },
        ),
    ]
}

fn duties<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        measured(
            "poles",
            "due",
            Holds::Whole,
            "poles that the rule wanted inspected by the end of the year and that were not inspected before it; without those whose verdict calls for work, in past years without those of which nothing is recorded",
            |line| line.counts(|counts| Value::whole(counts.due)),
        ),
        measured(
            "poles",
            "done",
            Holds::Whole,
            "of these inspected in the year by a method that the rule counts; past years only",
            |line| line.counts_if(true, |counts| Value::whole(counts.done)),
        ),
        measured(
            "poles",
            "planned",
            Holds::Whole,
            "of these planned for the year by such a method; the schedule's years only",
            |line| line.counts_if(false, |counts| Value::whole(counts.done)),
        ),
        measured(
            "poles",
            "overdue",
            Holds::Whole,
            "poles past their due date at the end of the year; days of grace are not taken off",
            |line| line.counts(|counts| Value::whole(counts.overdue)),
        ),
        column(
            "oldest_overdue",
            Holds::Day,
            "the earliest of their due dates",
            |line| line.counts(|counts| counts.oldest_overdue.map_or(Value::Empty, Value::Day)),
        ),
        measured(
            "poles",
            "deferred",
            Holds::Whole,
            "poles due by the end of the year that decisions or a want of crew-days or money leave for later; the schedule's years only",
            |line| line.counts_if(false, |counts| Value::whole(counts.deferred)),
        ),
        column(
            "approved_by",
            Holds::Text,
            "who signed the decisions by which they are left; empty where nobody did",
            approved_by,
        ),
        measured(
            "inspections",
            "rejects_found",
            Holds::Whole,
            "inspections of the year that the rule counts and that judged the pole below the limit; on the rows of all poles every such inspection that looked into the wood, of gone poles with records too; past years only",
            |line| match line.told.account {
                Account::Rule { .. } => line.counts_if(true, |counts| Value::whole(counts.rejects)),
                Account::All(all) => Value::whole(all.rejects),
            },
        ),
        measured(
            "share",
            "share_of_cycle_done",
            Holds::Number,
            "of the poles that the rule has called for by the end of the year or that were inspected as it asks: share whose last such inspection lies within its repeat_years",
            |line| {
                line.counts(|counts| {
                    let share = counts.share_of_cycle();
                    share.map_or(Value::Empty, |share| Value::number(to_figures(share, 3)))
                })
            },
        ),
    ]
}

/// Who signed, each once.
fn approved_by(line: &Line<'_>) -> Value {
    let Account::Rule { counts, .. } = &line.told.account else {
        return Value::Empty;
    };
    let decisions = &line.fleet.inventory.decisions;
    let signed = counts.decisions.iter();
    let names: BTreeSet<&str> = signed
        .filter_map(|decision| decisions.get(*decision)?.by.as_deref())
        .collect();
    Value::text(names.into_iter().collect::<Vec<_>>().join("; "))
}

fn failures<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        measured(
            "poles",
            "standing",
            Holds::Whole,
            "poles standing in the middle of the year, by the list and the records of gone poles; on the rows of all poles only, as the columns that follow",
            |line| line.all(|all| Value::whole(all.standing)),
        ),
        measured(
            "poles",
            "unassisted_failures",
            Holds::Whole,
            "failures on record that nothing else brought about; empty before the first year with any failure on record",
            |line| line.failures(|own| Value::whole(own.unassisted)),
        ),
        measured(
            "poles",
            "failures_of_unknown_kind",
            Holds::Whole,
            "failures of which nobody says whether something else brought them about: in no rate",
            |line| line.failures(|own| Value::whole(own.unknown)),
        ),
        measured(
            "failures in 10,000 poles",
            "failures_per_10000",
            Holds::Number,
            "unassisted failures among 10,000 poles in the year",
            |line| line.failures(|own| own.per_10_000.map_or(Value::Empty, figure)),
        ),
        measured(
            "failures in 10,000 poles",
            "failures_per_10000_low",
            Holds::Number,
            "lower end of its exact 95 % interval, of a Poisson count",
            |line| line.failures(|own| own.interval.map_or(Value::Empty, |own| figure(own.low))),
        ),
        measured(
            "failures in 10,000 poles",
            "failures_per_10000_high",
            Holds::Number,
            "upper end",
            |line| line.failures(|own| own.interval.map_or(Value::Empty, |own| figure(own.high))),
        ),
        measured(
            "failures in 10,000 poles",
            "failures_per_10000_3y",
            Holds::Number,
            "the same over this year and the two before together; empty where records do not reach back so far",
            |line| line.failures(|own| own.mean.map_or(Value::Empty, figure)),
        ),
        column("caution", Holds::Text, "how not to read the row", |_| {
            Value::text(CAUTION)
        }),
    ]
}

fn figure(rate: f64) -> Value {
    Value::number(to_figures(rate, 3))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::PoleIndex;
    use crate::score::compliance::compliance as told;
    use crate::tables::tests::{assert_typed, cell};
    use crate::words::sample;

    #[test]
    fn past_years_are_told_from_records_and_those_to_come_from_the_schedule() {
        let sample = sample::fleet();
        let lines = told(&sample.inventory, &sample.programme, &sample.plan.schedule);
        let sheet = compliance(sample.case(PoleIndex(0)), &lines);
        assert_typed(&sheet);
        // One rule, no district: 5 past and 5 planned years of (no district), the same of (all), then failures.
        assert_eq!(sheet.len, 2 * (5 + 5) + 2 * 5);
        assert_eq!(cell(&sheet, 0, "district"), NO_DISTRICT);
        assert_eq!(cell(&sheet, 0, "year"), "2021");
        assert_eq!(cell(&sheet, 0, "planned"), "");
        assert_eq!(cell(&sheet, 10, "district"), ALL_DISTRICTS);
        // A-3 is due since 2023-06-30 and planned for 2026; B-1 was never planned by this rule.
        assert_eq!(cell(&sheet, 5, "year"), "2026");
        assert_eq!(cell(&sheet, 5, "done"), "");
        assert_eq!(cell(&sheet, 20, "rule"), ANY_RULE);
        assert_eq!(cell(&sheet, 20, "failures_per_10000"), "");
        assert_eq!(cell(&sheet, 20, "caution"), CAUTION);
    }
}
