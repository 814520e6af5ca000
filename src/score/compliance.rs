//! What rules called for and what was done about it, by rule, district and year: the last years from the records, the
//! schedule's years from the schedule. Failures by district and year are [`super::failing`]'s.
//!
//! Counts what others decided: due dates are those of [`crate::schedule::due`], asked once for each day on which a year
//! began, so that nothing found later is used. Knows poles that are listed today. Changes no plan.

use super::failing::{AllPoles, Failures, Fleet};
use crate::inventory::Inventory;
use crate::parallel;
use crate::pole::{Method, NameIndex, PoleIndex, Status};
use crate::programme::{InspectionRule, Programme};
use crate::schedule::due::{counts_for, dues, standing_verdict};
use crate::schedule::{
    Action, DecisionIndex, Deferral, Due, DueBecause, Row, Schedule, Standing, When,
};
use crate::units::{Date, date_after, days_after};
use std::collections::{BTreeMap, BTreeSet};

/// Past years that are told: half of a usual cycle (choice).
pub const PAST_YEARS: u16 = 5;

/// Which poles a row counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Where {
    /// Those of a district.
    District(NameIndex),
    /// Those of which no district is known.
    NoDistrict,
    /// All.
    Everywhere,
}

impl Where {
    pub(super) fn of(district: Option<NameIndex>) -> Self {
        district.map_or(Self::NoDistrict, Self::District)
    }
}

/// What one rule called for in one year, and what was done or is planned.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Counts {
    /// Poles that the rule had called for by the end of the year, or that were inspected as it asks.
    pub called: usize,
    /// Of these, inspected as it asks within the rule's interval before the end of the year.
    pub in_cycle: usize,
    /// Poles due in the year or before, and not inspected before it.
    pub due: usize,
    /// Of these, inspected in the year by an inspection that counts, or planned to be.
    pub done: usize,
    /// Poles past their due date at the end of the year.
    pub overdue: usize,
    /// The earliest of those dates.
    pub oldest_overdue: Option<Date>,
    /// Poles due by the end of the year that decisions or a want of crew-days or money leave for later.
    pub deferred: usize,
    /// The decisions by which it does.
    pub decisions: BTreeSet<DecisionIndex>,
    /// Inspections in the year that count and judged the pole below the limit.
    pub rejects: usize,
}

impl Counts {
    fn add(&mut self, other: &Self) {
        self.called += other.called;
        self.in_cycle += other.in_cycle;
        self.due += other.due;
        self.done += other.done;
        self.overdue += other.overdue;
        self.oldest_overdue = self
            .oldest_overdue
            .into_iter()
            .chain(other.oldest_overdue)
            .min();
        self.deferred += other.deferred;
        self.decisions.extend(&other.decisions);
        self.rejects += other.rejects;
    }

    fn late(&mut self, since: Date) {
        self.overdue += 1;
        self.oldest_overdue = Some(self.oldest_overdue.map_or(since, |own| own.min(since)));
    }

    /// Share of the cycle that is done; nothing where the rule has called for no pole yet.
    pub fn share_of_cycle(&self) -> Option<f64> {
        (self.called > 0).then(|| self.in_cycle as f64 / self.called as f64)
    }
}

/// What a row tells.
#[derive(Debug, Clone, PartialEq)]
pub enum Account {
    /// By one rule of the programme.
    Rule {
        /// Its place there.
        rule: usize,
        /// What it called for and what was done.
        counts: Counts,
    },
    /// Whatever rules say.
    All(AllPoles),
}

/// One row.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Whose.
    pub account: Account,
    /// Which poles.
    pub place: Where,
    /// Plan year; past ones are negative.
    pub year: i32,
}

/// Rule by rule, district by district, year by year; then the same for all poles whatever the rules.
pub fn compliance(inventory: &Inventory, programme: &Programme, schedule: &Schedule) -> Vec<Line> {
    let view = View::new(inventory, programme, schedule);
    let mut lines = Vec::new();
    let by_place = view.by_place();
    for rule in 0..programme.inspections.len() {
        for (place, rows) in &by_place {
            for (slot, counts) in view.of_rule(rows, rule).iter().enumerate() {
                lines.push(Line {
                    account: Account::Rule {
                        rule,
                        counts: counts.clone(),
                    },
                    place: *place,
                    year: slot as i32 - i32::from(PAST_YEARS),
                });
            }
        }
    }
    let failed = inventory.failures.iter().map(|failure| failure.district);
    let gone = inventory.removed.iter().map(|gone| gone.pole.district);
    let places: BTreeSet<Where> = (by_place.keys().copied())
        .chain(failed.chain(gone).map(Where::of))
        .collect();
    let fleet = Fleet::new(inventory, programme);
    let failures = Failures::new(inventory, programme);
    for place in places {
        for year in -i32::from(PAST_YEARS)..0 {
            lines.push(Line {
                account: Account::All(fleet.all_poles(&failures, place, year)),
                place,
                year,
            });
        }
    }
    lines
}

/// The records as they were known on the days on which years began, and the schedule.
struct View<'a> {
    inventory: &'a Inventory,
    programme: &'a Programme,
    schedule: &'a Schedule,
    /// The programme as of the last day before each past year, and as it is.
    as_of: Vec<Programme>,
    /// Years told of each rule.
    years: usize,
}

impl<'a> View<'a> {
    fn new(inventory: &'a Inventory, programme: &'a Programme, schedule: &'a Schedule) -> Self {
        let before = |year: i32| Programme {
            plan_from: days_after(programme.year_start(year), -1),
            ..programme.clone()
        };
        let past = -i32::from(PAST_YEARS)..0;
        Self {
            inventory,
            programme,
            schedule,
            as_of: past.map(before).chain([programme.clone()]).collect(),
            years: usize::from(PAST_YEARS) + usize::from(programme.schedule_years.max(1)),
        }
    }

    fn of_rule<'r>(&self, rows: &'r [Counts], rule: usize) -> &'r [Counts] {
        &rows[rule * self.years..(rule + 1) * self.years]
    }

    fn empty(&self) -> Vec<Counts> {
        vec![Counts::default(); self.programme.inspections.len() * self.years]
    }

    /// The counts of every district, rule by rule and year by year, and of all together.
    fn by_place(&self) -> BTreeMap<Where, Vec<Counts>> {
        let stands = |pole: &PoleIndex| self.inventory.pole(*pole).status != Status::Removed;
        let poles: Vec<PoleIndex> = self.inventory.indices().filter(stands).collect();
        let mut by_place = parallel::total(
            &poles,
            BTreeMap::new,
            |sums: &mut BTreeMap<Where, Vec<Counts>>, pole| {
                let place = Where::of(self.inventory.pole(*pole).district);
                self.count(*pole, sums.entry(place).or_insert_with(|| self.empty()));
            },
            |mut one, other| {
                for (place, rows) in other {
                    let own = one.entry(place).or_insert_with(|| self.empty());
                    own.iter_mut()
                        .zip(&rows)
                        .for_each(|(sum, part)| sum.add(part));
                }
                one
            },
        );
        let mut all = self.empty();
        for rows in by_place.values() {
            all.iter_mut()
                .zip(rows)
                .for_each(|(sum, part)| sum.add(part));
        }
        by_place.insert(Where::Everywhere, all);
        by_place
    }

    fn count(&self, pole: PoleIndex, rows: &mut [Counts]) {
        let known: Vec<Known> = self
            .as_of
            .iter()
            .map(|programme| Known {
                dues: dues(self.inventory, programme, pole).collect(),
                condemned: standing_verdict(self.inventory, programme, pole).is_some(),
            })
            .collect();
        let now = known.last().map_or(&[][..], |known| &known.dues);
        for due in now {
            let years = &mut rows[due.rule * self.years..(due.rule + 1) * self.years];
            let (past, to_come) = years.split_at_mut(usize::from(PAST_YEARS));
            for (year, counts) in past.iter_mut().enumerate() {
                self.count_past(pole, due.rule, year, &known[year..], counts);
            }
            let row = self.schedule.row(pole);
            for (year, counts) in (0..).zip(to_come) {
                self.count_planned(row, due, year, counts);
            }
        }
    }

    /// A past year: what was due by what was known when it began, what its inspections did, what was left at its end.
    fn count_past(
        &self,
        pole: PoleIndex,
        rule: usize,
        year: usize,
        known: &[Known],
        counts: &mut Counts,
    ) {
        let [began, ended, ..] = known else { return };
        let end = self
            .programme
            .year_start(year as i32 + 1 - i32::from(PAST_YEARS));
        let interval = &self.programme.inspections[rule];
        let (from, until) = (self.as_of[year].plan_from, self.as_of[year + 1].plan_from);
        let inspections = self.inventory.inspections_of(pole).iter();
        let mut seen = inspections
            .filter(|own| counts_for(own, interval.least_method))
            .filter(|own| own.date > from && own.date <= until)
            .peekable();
        let done = seen.peek().is_some();
        counts.rejects += seen.filter(|own| own.verdict.is_reject()).count();
        if began.date(rule).is_some_and(|date| date < end) && !began.condemned {
            counts.due += 1;
            counts.done += usize::from(done);
        }
        if ended.condemned {
            return;
        }
        let date = ended.date(rule);
        let last = self.last(pole, interval.least_method, until);
        if let Some(date) = date.filter(|date| *date < end) {
            counts.late(date);
        }
        in_cycle(counts, interval, end, date, last);
    }

    /// A year of the schedule. Of each pole only the next visit is planned; what a rule calls for after it is not counted.
    fn count_planned(&self, row: &Row, due: &Due, year: u16, counts: &mut Counts) {
        let (planned, deferred_until) = match row.standing {
            Standing::Planned {
                action: Action::Inspect,
                year,
                ..
            } => (Some(year), None),
            Standing::Deferred {
                action: Action::Inspect,
                reason,
            } => match reason {
                Deferral::CrewDays | Deferral::Money => (None, Some(u16::MAX)),
                Deferral::Decision { until } => (Some(until), Some(until)),
            },
            Standing::NotDue => (None, None),
            // Its verdict calls for work, not for another inspection.
            Standing::Planned { .. } | Standing::Deferred { .. } => return,
        };
        let rule = &self.programme.inspections[due.rule];
        let end = self.programme.year_start(i32::from(year) + 1);
        let satisfies =
            |method: Method| method.is_intrusive() && method.is_at_least(rule.least_method);
        let visit = planned.filter(|_| row.method.is_some_and(satisfies));
        let called = due.date < end;
        if called && visit.is_none_or(|visit| visit >= year) {
            counts.due += 1;
            counts.done += usize::from(visit == Some(year));
            if visit != Some(year) {
                counts.late(due.date);
            }
        }
        let decided = self.schedule.decisions.of(row.pole).when;
        let by_decision = decided.and_then(|(_, when)| match when {
            When::In(until) | When::NotBefore(until) | When::PutOff(until) => Some(until),
            When::Out => None,
        });
        if called
            && deferred_until
                .or(by_decision)
                .is_some_and(|until| year < until)
        {
            counts.deferred += 1;
            counts
                .decisions
                .extend(decided.map(|(decision, _)| decision));
        }
        let visited = visit.filter(|visit| *visit <= year);
        let middle = |visit| date_after(self.programme.year_start(i32::from(visit)), 0.5);
        let recorded = || self.last(row.pole, rule.least_method, self.programme.plan_from);
        let last = visited.map(middle).or_else(recorded);
        in_cycle(counts, rule, end, Some(due.date), last);
    }

    /// The last inspection until a day that counts for a rule.
    fn last(&self, pole: PoleIndex, least: Method, until: Date) -> Option<Date> {
        let inspections = self.inventory.inspections_of(pole).iter();
        let mut known = inspections.rev().skip_while(|own| own.date > until);
        known.find(|own| counts_for(own, least)).map(|own| own.date)
    }
}

/// What was known of one pole on a day.
struct Known {
    dues: Vec<Due>,
    /// Whether a verdict called for work.
    condemned: bool,
}

impl Known {
    /// The due date of a rule; nothing where neither an inspection nor the set date was known.
    fn date(&self, rule: usize) -> Option<Date> {
        let due = self.dues.iter().find(|due| due.rule == rule)?;
        (due.because != DueBecause::NothingRecorded).then_some(due.date)
    }
}

/// Counts a pole to the cycle: whom a rule has called for, or who was inspected as it asks.
fn in_cycle(
    counts: &mut Counts,
    rule: &InspectionRule,
    end: Date,
    due: Option<Date>,
    last: Option<Date>,
) {
    if last.is_some() || due.is_some_and(|due| due < end) {
        counts.called += 1;
        let within = last.is_some_and(|last| date_after(last, rule.repeat_years) >= end);
        counts.in_cycle += usize::from(within);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inspected, inventory_of, no_values, pole_set, programme, signed, with};
    use crate::pole::{DecisionKind, Verdict};
    use crate::schedule::schedule_with;
    use jiff::civil::date;

    const DUG: Method = Method::PartialExcavation;

    fn lines(inventory: &Inventory, programme: &Programme) -> Vec<Line> {
        let values = no_values(inventory, programme);
        let schedule = schedule_with(inventory, programme, &values);
        compliance(inventory, programme, &schedule)
    }

    fn of_year(lines: &[Line], place: Where, calendar: i32) -> Counts {
        let line = lines.iter().find(|line| {
            let by_rule = matches!(line.account, Account::Rule { rule: 0, .. });
            by_rule && line.place == place && line.year == calendar - 2025
        });
        match line.map(|line| &line.account) {
            Some(Account::Rule { counts, .. }) => counts.clone(),
            _ => Counts::default(),
        }
    }

    /// Four poles under a rule of ten years that counts partial excavation, planned from 2025.
    fn fleet() -> Inventory {
        let seen = |year, verdict| inspected(date(year, 3, 1), DUG, verdict);
        let hammered = inspected(date(2023, 3, 1), Method::Sound, Verdict::Sound);
        let sound = |year| seen(year, Verdict::Sound);
        inventory_of(vec![
            ("A", "L", pole_set(1990), vec![sound(2010), sound(2022)]),
            ("B", "L", pole_set(1990), vec![sound(2013), hammered]),
            ("C", "L", pole_set(2000), vec![]),
            (
                "D",
                "L",
                pole_set(1990),
                vec![sound(2012), seen(2022, Verdict::RejectReplace)],
            ),
        ])
    }

    #[test]
    fn a_past_year_is_told_by_what_was_known_when_it_began() {
        let lines = lines(&fleet(), &programme());
        let of = |year| of_year(&lines, Where::NoDistrict, year);
        // A is due from March 2020 to its visit in 2022, B from March 2023, for a hammer does not count, C since it was
        // twelve in the summer of 2012, D in March 2022, when it was looked at and judged: no inspection is due after that.
        let told = [2020, 2021, 2022, 2023, 2024].map(|year| {
            let own = of(year);
            (own.due, own.done, own.overdue, own.rejects)
        });
        assert_eq!(
            told,
            [
                (2, 0, 2, 0),
                (2, 0, 2, 0),
                (3, 2, 1, 1),
                (2, 0, 2, 0),
                (2, 0, 2, 0)
            ]
        );
        let oldest = of(2023).oldest_overdue.expect("a date");
        assert_eq!(
            (oldest.year(), of(2023).oldest_overdue),
            (2012, of(2020).oldest_overdue)
        );
        // At the end of 2024 A was seen within ten years, B in 2013, C never; D waits for its new pole.
        assert_eq!((of(2024).in_cycle, of(2024).called), (1, 3));
        assert_eq!(of(2024), of_year(&lines, Where::Everywhere, 2024));
    }

    #[test]
    fn years_to_come_are_told_by_the_schedule_and_who_signed_for_what_waits() {
        let put_off = signed(1, DecisionKind::Defer, Some(2027));
        let inventory = with(fleet(), vec![put_off]);
        let lines = lines(&inventory, &programme());
        let of = |year| of_year(&lines, Where::NoDistrict, year);
        // C is done at once, B in 2027 by decision; A is due ten years after March 2022; D needs no inspection.
        let told = [2025, 2026, 2027, 2028].map(|year| {
            let own = of(year);
            (own.due, own.done, own.overdue, own.deferred)
        });
        assert_eq!(told[0], (2, 1, 1, 1));
        assert_eq!(told[1], (1, 0, 1, 1));
        assert_eq!(told[2], (1, 1, 0, 0));
        assert_eq!(told[3], (0, 0, 0, 0));
        assert_eq!(of(2025).decisions, BTreeSet::from([0]));
        assert_eq!(of(2025).oldest_overdue.map(Date::year), Some(2023));
        // A, B and C are called for or have been seen; at the end of 2027 all were seen within ten years.
        assert_eq!((of(2025).in_cycle, of(2025).called), (2, 3));
        assert_eq!(of(2027).share_of_cycle(), Some(1.0));
    }
}
