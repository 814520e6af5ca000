//! When every pole is visited: years in order, rules first, then whole lines, then what the estimated condition calls for.
//!
//! A plain greedy pass that never undoes a choice. Guaranteed: no year takes more crew-days than there are; a pole waits
//! past its due year, or is deferred, only while no year in between has room for it; and when every visit takes the same
//! time and all can be in time, all are (each year takes ahead exactly what the years after it could not hold). Among
//! overfull years it does not promise the fewest late poles: the longest overdue go first. Must not know beliefs:
//! values come in as numbers.

use super::Schedule;
use super::due::{Duty, duty};
use super::packages::{Stretch, days_for_one, is_exempt, stretches};
use super::rows::{Choice, Why, write_schedule};
use super::waiting::VisitValues;
use super::worth::visit_values;
use crate::belief::Beliefs;
use crate::inventory::Inventory;
use crate::models::Models;
use crate::parallel;
use crate::pole::PoleIndex;
use crate::programme::{Programme, RuleKind};
use crate::units::{Date, days_after};
use std::collections::BTreeMap;

/// Least share of a stretch's visit that must be due before the rest goes along: below it a few poles that are due by
/// themselves would drag whole lines out of their turn. Judgement.
const LEAST_DUE_SHARE_OF_A_ROUND: f64 = 0.25;

/// Rounding of a year's sum of crew-days; far below one pole's part of a day.
const ROUNDING: f64 = 1e-9;

/// The schedule that the rules, the beliefs and the crews give.
pub fn schedule(
    inventory: &Inventory,
    models: &Models,
    beliefs: &Beliefs,
    programme: &Programme,
) -> Schedule {
    let duties = duties(inventory, programme);
    let values = visit_values(inventory, models, beliefs, programme, &duties);
    plan_visits(inventory, programme, &duties, &values)
}

/// The schedule for given values of a visit, one entry a pole.
pub fn schedule_with(
    inventory: &Inventory,
    programme: &Programme,
    values: &[VisitValues],
) -> Schedule {
    plan_visits(inventory, programme, &duties(inventory, programme), values)
}

fn duties(inventory: &Inventory, programme: &Programme) -> Vec<Duty> {
    parallel::map_indices(inventory.len(), |place| {
        duty(inventory, programme, PoleIndex(place as u32))
    })
}

fn plan_visits(
    inventory: &Inventory,
    programme: &Programme,
    duties: &[Duty],
    values: &[VisitValues],
) -> Schedule {
    let inspected: Vec<PoleIndex> = inventory
        .indices()
        .filter(|pole| {
            let duty = &duties[pole.get()];
            duty.stands && duty.verdict.is_none()
        })
        .collect();
    let stretches = stretches(inventory, programme, &inspected);
    let mut rounds = Rounds {
        inventory,
        programme,
        duties,
        values,
        calls: calls(programme, duties, &stretches),
        choices: vec![None; inventory.len()],
        room: vec![
            programme.crews.crew_days_per_year;
            usize::from(programme.schedule_years.max(1))
        ],
    };
    for year in 0..programme.schedule_years.max(1) {
        rounds.visit_what_is_due(year);
        rounds.take_ahead_what_later_years_cannot_hold(year);
        rounds.complete_lines(year);
        rounds.visit_for_condition(year);
    }
    rounds.fill_gaps();
    write_schedule(
        inventory,
        programme,
        duties,
        values,
        &stretches,
        &rounds.choices,
    )
}

/// What decides a pole's turn.
#[derive(Debug, Clone, Copy)]
struct Call {
    pole: PoleIndex,
    /// Plan year in which its binding rule calls for it, when that lies within the schedule.
    due_year: Option<u16>,
    kind: RuleKind,
    /// Last day on which a visit is in time.
    in_time_until: Date,
    stretch: usize,
    crew_days: f64,
}

/// One entry for each pole that may be inspected, stretch by stretch in walking order.
fn calls(programme: &Programme, duties: &[Duty], stretches: &[Stretch]) -> Vec<Call> {
    let years = i32::from(programme.schedule_years.max(1));
    let call = |stretch: usize, pole: PoleIndex| {
        let duty = &duties[pole.get()];
        let due = duty.due.map(|due| (due, &programme.inspections[due.rule]));
        Call {
            pole,
            due_year: due
                .map(|(due, _)| programme.year_of(due.date).max(0))
                .filter(|year| *year < years)
                .map(|year| year as u16),
            kind: due.map_or(RuleKind::Guideline, |(_, rule)| rule.kind),
            in_time_until: due.map_or(Date::MAX, |(due, rule)| {
                days_after(due.date, rule.grace_days)
            }),
            stretch,
            crew_days: days_for_one(programme, duty.method),
        }
    };
    stretches
        .iter()
        .enumerate()
        .flat_map(|(place, stretch)| stretch.poles.iter().map(move |pole| call(place, *pole)))
        .collect()
}

/// Calls sorted by `rank`, then by the earliest date of their stretch within it, then in walking order.
fn in_order<K: Ord + Copy>(mut calls: Vec<Call>, rank: impl Fn(&Call) -> K) -> Vec<Call> {
    let mut earliest: BTreeMap<(K, usize), Date> = BTreeMap::new();
    for call in &calls {
        let first = earliest
            .entry((rank(call), call.stretch))
            .or_insert(call.in_time_until);
        *first = call.in_time_until.min(*first);
    }
    calls.sort_by_cached_key(|call| {
        let rank = rank(call);
        (rank, earliest[&(rank, call.stretch)], call.stretch)
    });
    calls
}

/// The rounds while they are being filled.
struct Rounds<'a> {
    inventory: &'a Inventory,
    programme: &'a Programme,
    duties: &'a [Duty],
    values: &'a [VisitValues],
    calls: Vec<Call>,
    choices: Vec<Option<Choice>>,
    /// Crew-days left in each year.
    room: Vec<f64>,
}

impl Rounds<'_> {
    /// Calls that have no year yet.
    fn open(&self) -> impl Iterator<Item = &Call> {
        self.calls
            .iter()
            .filter(|call| self.choices[call.pole.get()].is_none())
    }

    /// Plans a visit if the year has room for it.
    fn take(&mut self, call: &Call, year: u16, why: Why) -> bool {
        let room = &mut self.room[usize::from(year)];
        let fits = call.crew_days <= *room + ROUNDING;
        if fits {
            *room -= call.crew_days;
            self.choices[call.pole.get()] = Some(Choice { year, why });
        }
        fits
    }

    /// What rules call for by the end of the year: law first, then the stretch with the earliest date, so that stretches
    /// stay together.
    fn visit_what_is_due(&mut self, year: u16) {
        let due: Vec<Call> = self
            .open()
            .filter(|call| call.due_year.is_some_and(|due| due <= year))
            .copied()
            .collect();
        for call in in_order(due, |call| call.kind) {
            self.take(&call, year, Why::Rule);
        }
    }

    /// As much of the work due in later years as those years cannot hold, the earliest due first.
    fn take_ahead_what_later_years_cannot_hold(&mut self, year: u16) {
        let limit = self.programme.crews.crew_days_per_year;
        let mut demand = vec![0.0; usize::from(self.programme.schedule_years.max(1))];
        let mut later = Vec::new();
        for call in self.open().filter(|call| call.crew_days.is_finite()) {
            if let Some(due) = call.due_year.filter(|due| *due > year) {
                demand[usize::from(due)] += call.crew_days;
                later.push(*call);
            }
        }
        // A year holds whole visits only.
        let longest = later.iter().map(|call| call.crew_days).fold(0.0, f64::max);
        let holds = ((limit + ROUNDING) / longest).floor() * longest;
        let mut sum = 0.0;
        let mut excess = 0.0_f64;
        for days in demand.iter().skip(usize::from(year) + 1) {
            sum += days - holds;
            excess = excess.max(sum);
        }
        for call in in_order(later, |call| (call.due_year, call.kind)) {
            if excess <= ROUNDING {
                break;
            }
            if self.take(&call, year, Why::Rule) {
                excess -= call.crew_days;
            }
        }
    }

    /// What found no room from its due year on goes into whatever earlier year has some: visits of unequal length can
    /// leave gaps that [`Self::take_ahead_what_later_years_cannot_hold`] did not count on.
    fn fill_gaps(&mut self) {
        let left: Vec<Call> = self
            .open()
            .filter(|call| call.due_year.is_some())
            .copied()
            .collect();
        for call in in_order(left, |call| call.kind) {
            for year in 0..self.programme.schedule_years.max(1) {
                if self.take(&call, year, Why::Rule) {
                    break;
                }
            }
        }
    }

    /// The rest of each stretch of which enough is visited by rule this year: all of its poles that are not exempt, or,
    /// where there is no room for all, none.
    fn complete_lines(&mut self, year: u16) {
        let mut stretches: Vec<(Date, usize)> = Vec::new();
        for call in &self.calls {
            if self.choices[call.pole.get()].is_some_and(|choice| choice.year == year) {
                match stretches.last_mut() {
                    Some((first, stretch)) if *stretch == call.stretch => {
                        *first = call.in_time_until.min(*first);
                    }
                    _ => stretches.push((call.in_time_until, call.stretch)),
                }
            }
        }
        stretches.sort_unstable();
        for (_, stretch) in stretches {
            self.complete_line(stretch, year);
        }
    }

    fn complete_line(&mut self, stretch: usize, year: u16) {
        let start = self.calls.partition_point(|call| call.stretch < stretch);
        let end = self.calls.partition_point(|call| call.stretch <= stretch);
        let mut visited = 0;
        let mut others = Vec::new();
        for call in &self.calls[start..end] {
            let duty = &self.duties[call.pole.get()];
            match self.choices[call.pole.get()] {
                Some(choice) => visited += usize::from(choice.year == year),
                None if is_exempt(self.inventory, self.programme, call.pole, duty, year) => {}
                None => others.push(*call),
            }
        }
        let share = visited as f64 / (visited + others.len()) as f64;
        let days: f64 = others.iter().map(|call| call.crew_days).sum();
        if share >= LEAST_DUE_SHARE_OF_A_ROUND && days <= self.room[usize::from(year)] {
            for call in others {
                self.take(&call, year, Why::WithItsLine);
            }
        }
    }

    /// Visits that pay for themselves and gain nothing by waiting, stretch by stretch, the most worth a crew-day first.
    fn visit_for_condition(&mut self, year: u16) {
        let values = self.values;
        let worth = |call: &Call| values[call.pole.get()].at(year);
        let mut groups: Vec<(f64, f64, Vec<Call>)> = Vec::new();
        for call in self.open() {
            let best = values[call.pole.get()].best_year();
            let ripe = best.is_some_and(|best| best <= year) && worth(call) > 0.0;
            if !ripe || !call.crew_days.is_finite() {
                continue;
            }
            match groups.last_mut() {
                Some((value, days, calls)) if calls[0].stretch == call.stretch => {
                    *value += worth(call);
                    *days += call.crew_days;
                    calls.push(*call);
                }
                _ => groups.push((worth(call), call.crew_days, vec![*call])),
            }
        }
        for (_, _, calls) in &mut groups {
            calls.sort_by(|a, b| worth(b).total_cmp(&worth(a)).then(a.pole.cmp(&b.pole)));
        }
        groups.sort_by(|a, b| {
            let density = (b.0 / b.1).total_cmp(&(a.0 / a.1));
            density.then(a.2[0].stretch.cmp(&b.2[0].stretch))
        });
        for call in groups.into_iter().flat_map(|(_, _, calls)| calls) {
            self.take(&call, year, Why::Condition);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{
        inspected, inventory_of, no_values, pole_set, programme, rule, visits_a_year,
    };
    use crate::pole::{Inspection, Method, Verdict};
    use crate::programme::InspectionRule;
    use crate::schedule::{Action, Deferral, Priority, Reason, Standing, audit};
    use jiff::civil::date;

    /// A pole inspected in this year, so that the guideline calls for it ten years later.
    fn seen(year: i16) -> Vec<Inspection> {
        vec![inspected(
            date(year, 5, 1),
            Method::PartialExcavation,
            Verdict::Sound,
        )]
    }

    /// Poles on lines of their own, each due in this plan year (0: 2025).
    fn due_in(years: &[i16]) -> Inventory {
        let names: Vec<String> = (0..years.len())
            .map(|number| format!("P-{number}"))
            .collect();
        let poles = names.iter().zip(years).map(|(name, year)| {
            (
                name.as_str(),
                name.as_str(),
                pole_set(1980),
                seen(2015 + year),
            )
        });
        inventory_of(poles.collect())
    }

    fn solved(inventory: &Inventory, programme: &Programme) -> Schedule {
        let schedule = schedule_with(inventory, programme, &no_values(inventory, programme));
        assert_eq!(audit(inventory, programme, &schedule), Vec::new());
        schedule
    }

    fn year_of(schedule: &Schedule, pole: u32) -> Option<u16> {
        match schedule.row(PoleIndex(pole)).standing {
            Standing::Planned { year, .. } => Some(year),
            _ => None,
        }
    }

    /// Poles in time in the best of all assignments of years (or none) within the crews.
    fn best_by_search(due: &[i16], years: usize, visits: usize) -> usize {
        let mut best = 0;
        for code in 0..(years + 1).pow(due.len() as u32) {
            let mut used = vec![0; years + 1];
            let mut rest = code;
            let mut late = 0;
            for due in due {
                let year = rest % (years + 1);
                rest /= years + 1;
                used[year] += 1;
                late += usize::from(year as i16 > *due);
            }
            if used[..years].iter().all(|count| *count <= visits) {
                best = best.max(due.len() - late);
            }
        }
        best
    }

    #[test]
    fn six_poles_are_all_in_time_whenever_any_schedule_has_them_so_and_as_many_planned() {
        // Every way in which six poles can fall due in three years, against a search of all 4,096 schedules of each.
        let mut programme = programme();
        programme.schedule_years = 3;
        for code in 0..3_i16.pow(6) {
            let due: Vec<i16> = (0..6).map(|place| code / 3_i16.pow(place) % 3).collect();
            let inventory = due_in(&due);
            for visits in 1..=3 {
                programme.crews = visits_a_year(&programme, visits);
                let schedule = solved(&inventory, &programme);
                let years: Vec<Option<u16>> = (0..6).map(|pole| year_of(&schedule, pole)).collect();
                let in_time = years
                    .iter()
                    .zip(&due)
                    .filter(|(year, due)| year.is_some_and(|year| year as i16 <= **due));
                let in_time = in_time.count();
                let best_in_time = best_by_search(&due, 3, usize::from(visits));
                // Nobody plans more than the crews can do.
                let most = 6.min(3 * usize::from(visits));
                assert_eq!(years.iter().flatten().count(), most, "{due:?}, {visits}");
                if best_in_time == 6 {
                    assert_eq!(in_time, 6, "{due:?} with {visits} visits a year: {years:?}");
                }
            }
        }
    }

    #[test]
    fn a_hump_is_taken_ahead_and_no_earlier_than_needed() {
        let mut programme = programme();
        programme.crews = visits_a_year(&programme, 2);
        let schedule = solved(&due_in(&[4, 4, 4, 4, 4]), &programme);
        assert_eq!(schedule.crew_days[..6], [0.0, 0.0, 1.0, 2.0, 2.0, 0.0]);
    }

    #[test]
    fn what_no_year_has_room_for_is_deferred_with_its_reason() {
        let mut programme = programme();
        programme.schedule_years = 2;
        programme.crews = visits_a_year(&programme, 1);
        let schedule = solved(&due_in(&[-3, -2, -1]), &programme);
        assert_eq!(year_of(&schedule, 0), Some(0));
        assert_eq!(year_of(&schedule, 1), Some(1));
        let last = schedule.row(PoleIndex(2));
        let deferred = Standing::Deferred {
            action: Action::Inspect,
            reason: Deferral::CrewDays,
        };
        assert_eq!(last.standing, deferred);
        assert_eq!(last.priority, Priority::Due);
        assert!(matches!(last.reason, Reason::Rule { overdue_days } if overdue_days > 0));
    }

    #[test]
    fn the_law_goes_before_an_older_guideline() {
        let mut programme = programme();
        programme.crews = visits_a_year(&programme, 1);
        let mut law = InspectionRule {
            kind: RuleKind::Law,
            ..rule("law", 12.0, 10.0)
        };
        law.applies.lines = vec!["P-1".to_owned()];
        programme.inspections.push(law);
        let schedule = solved(&due_in(&[-5, -1]), &programme);
        assert_eq!(year_of(&schedule, 1), Some(0));
        assert_eq!(schedule.row(PoleIndex(1)).priority, Priority::MustDo);
        assert_eq!(schedule.ranking[0], PoleIndex(1));
    }

    #[test]
    fn days_of_grace_let_others_go_first() {
        let mut programme = programme();
        programme.crews = visits_a_year(&programme, 1);
        programme.inspections[0].applies.lines = vec!["P-0".to_owned()];
        programme.inspections[0].grace_days = 365;
        programme
            .inspections
            .push(rule("without grace", 12.0, 10.0));
        let schedule = solved(&due_in(&[0, 0]), &programme);
        assert_eq!(year_of(&schedule, 0), Some(1));
        assert_eq!(year_of(&schedule, 1), Some(0));
    }

    #[test]
    fn danger_and_rejects_wait_for_no_crew() {
        let mut programme = programme();
        programme.crews.crew_days_per_year = 0.0;
        programme.policy.replace_within_years = 2.0;
        let judged = |verdict| {
            vec![inspected(
                date(2024, 6, 1),
                Method::PartialExcavation,
                verdict,
            )]
        };
        let inventory = inventory_of(vec![
            ("P-1", "L", pole_set(1980), judged(Verdict::RejectReplace)),
            ("P-2", "L", pole_set(1980), judged(Verdict::Danger)),
            ("P-3", "L", pole_set(1980), Vec::new()),
        ]);
        let schedule = solved(&inventory, &programme);
        // Judged in June 2024, to be replaced by June 2026: plan year 1.
        assert_eq!(year_of(&schedule, 0), Some(1));
        assert_eq!(schedule.visits[0].replace, Some(1));
        assert_eq!(year_of(&schedule, 1), Some(0));
        assert_eq!(schedule.ranking[0], PoleIndex(1));
        assert_eq!(schedule.row(PoleIndex(0)).overdue_days, 0);
        assert_eq!(year_of(&schedule, 2), None);
    }

    #[test]
    fn a_round_takes_the_line_along_but_not_for_one_pole_in_ten() {
        let line = |due: usize| {
            let names: Vec<String> = (0..10).map(|number| format!("P-{number}")).collect();
            let poles = names.iter().enumerate().map(|(number, name)| {
                let last = if number < due { 2014 } else { 2019 };
                (name.as_str(), "L", pole_set(1980), seen(last))
            });
            inventory_of(poles.collect())
        };
        let whole = solved(&line(3), &programme());
        assert_eq!(whole.packages.len(), 1);
        assert_eq!(whole.packages[0].poles.len(), 10);
        assert_eq!(whole.row(PoleIndex(9)).reason, Reason::WithItsLine);
        let alone = solved(&line(1), &programme());
        assert_eq!(alone.packages[0].poles.len(), 1);
        assert_eq!(year_of(&alone, 9), Some(4));
    }

    #[test]
    fn whoever_was_just_inspected_stays_out_of_the_round() {
        let names: Vec<String> = (0..10).map(|number| format!("P-{number}")).collect();
        let poles = names.iter().enumerate().map(|(number, name)| {
            let last = if number < 9 { 2014 } else { 2023 };
            (name.as_str(), "L", pole_set(1980), seen(last))
        });
        let schedule = solved(&inventory_of(poles.collect()), &programme());
        assert_eq!(schedule.packages[0].poles.len(), 9);
        // Inspected in May 2023: due in May 2033, plan year 8.
        assert_eq!(year_of(&schedule, 9), Some(8));
    }

    #[test]
    fn visits_of_unequal_length_leave_no_gap_while_a_pole_is_deferred() {
        // Two years of 5 crew-days, visits of 1.5 and 2 days, all due in the second year. A year holds 4 days of whole
        // 2-day visits, but one of each leaves 1.5 days; the rest must still find the first year.
        let mut programme = programme();
        programme.schedule_years = 2;
        programme.crews.crew_days_per_year = 5.0;
        programme.crews.poles_per_crew_day = [1.0 / 1.5; Method::ALL.len()];
        programme.crews.poles_per_crew_day[Method::FullExcavation.index()] = 0.5;
        let mut deep = InspectionRule {
            least_method: Method::FullExcavation,
            ..rule("deep", 46.0, 10.0)
        };
        for count in 1..=5 {
            deep.applies.lines = (0..count).map(|number| format!("P-{number}")).collect();
            programme.inspections.truncate(1);
            programme.inspections.push(deep.clone());
            solved(&due_in(&[1, 1, 1, 1, 1, 1]), &programme);
        }
    }

    #[test]
    fn the_estimated_condition_fills_what_rules_leave_in_the_best_year() {
        let mut programme = programme();
        programme.crews = visits_a_year(&programme, 1);
        programme.schedule_years = 9;
        let inventory = due_in(&[8, 8, 9]);
        let mut values = no_values(&inventory, &programme);
        values[0].by_year = vec![1.0, 2.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0];
        values[1].by_year = vec![1.0, 3.0, 2.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0];
        values[2].by_year = vec![5.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0];
        let schedule = schedule_with(&inventory, &programme, &values);
        assert_eq!(audit(&inventory, &programme, &schedule), Vec::new());
        assert_eq!(year_of(&schedule, 2), Some(0));
        assert_eq!(year_of(&schedule, 1), Some(1));
        assert_eq!(year_of(&schedule, 0), Some(2));
        assert_eq!(schedule.row(PoleIndex(2)).priority, Priority::Condition);
        assert_eq!(schedule.row(PoleIndex(2)).reason, Reason::Condition);
    }
}
