//! When every pole is visited: years in order, rules first, then whole lines, then what the estimated condition calls for.
//!
//! A first pass that never undoes a choice (`rounds`), then exchanges of years that make visits worth more and the plan
//! no later (`improve`), with a bound on what any such plan can be worth. Guaranteed: no year takes more crew-days than
//! there are; a pole waits past its due year, or is deferred, only while no year in between has room for it; and when
//! every visit takes the same time, money has no limit and all can be in time, all are (each year takes ahead exactly what the years after it
//! could not hold). In years that guidelines overfill, what is worth most goes first; no plan
//! promises the fewest late poles. Beliefs come in as values of a visit.

use super::best::{best_years, years_in_order};
use super::due::{Duty, duty};
use super::locks::{named_package, settle};
use super::packages::{Stretch, stretches};
use super::rows::write_schedule;
use super::waiting::VisitValues;
use super::work::{Choices, Work};
use super::worth::visit_values;
use super::{Decisions, Proof, Schedule};
use crate::belief::Beliefs;
use crate::inventory::{Inventory, Target};
use crate::models::Models;
use crate::parallel;
use crate::pole::PoleIndex;
use crate::programme::Programme;

/// The schedule that the rules, the beliefs and the crews give.
pub fn schedule(
    inventory: &Inventory,
    models: &Models,
    beliefs: &Beliefs,
    programme: &Programme,
) -> Schedule {
    let decisions = |duties: &[Duty]| {
        let values = || visit_values(inventory, models, beliefs, programme, duties);
        settled(inventory, programme, duties, (&values, best_years))
    };
    let (duties, decisions) = decided(inventory, programme, decisions);
    let values = visit_values(inventory, models, beliefs, programme, &duties);
    plan_visits(
        inventory, programme, &duties, &values, decisions, best_years,
    )
}

/// The schedule for given values of a visit, one entry a pole.
pub fn schedule_with(
    inventory: &Inventory,
    programme: &Programme,
    values: &[VisitValues],
) -> Schedule {
    schedule_by(inventory, programme, values, best_years)
}

/// The schedule of the first pass alone, for values that say whose turn comes first and are not what visits are worth:
/// years exchanged for their sake would keep no turn.
pub fn schedule_in_turn(
    inventory: &Inventory,
    programme: &Programme,
    turns: &[VisitValues],
) -> Schedule {
    schedule_by(inventory, programme, turns, |work| years_in_order(&work))
}

/// Chooses the years of the work.
type Choose = fn(Work<'_>) -> (Choices, Proof);

fn schedule_by(
    inventory: &Inventory,
    programme: &Programme,
    values: &[VisitValues],
    choose: Choose,
) -> Schedule {
    let decisions = |duties: &[Duty]| {
        let values = || values.to_vec();
        settled(inventory, programme, duties, (&values, choose))
    };
    let (duties, decisions) = decided(inventory, programme, decisions);
    plan_visits(inventory, programme, &duties, values, decisions, choose)
}

/// What the owner's decisions come to, as far as it can be said before the condition of any pole is estimated: packages
/// are those that the rules alone would make.
pub fn decide(inventory: &Inventory, programme: &Programme) -> Decisions {
    if inventory.decisions.is_empty() {
        return Decisions::default();
    }
    let nothing = || {
        let years = programme.schedule_years;
        vec![VisitValues::nothing(years.max(1), years); inventory.len()]
    };
    if has_packages(inventory) {
        let duties = duties(inventory, programme);
        return settled(inventory, programme, &duties, (&nothing, best_years));
    }
    settle(inventory, programme, None, &|_| None)
}

/// What is called for at each pole and what the owner's decisions come to, a decided method among the duties.
fn decided(
    inventory: &Inventory,
    programme: &Programme,
    decisions: impl Fn(&[Duty]) -> Decisions,
) -> (Vec<Duty>, Decisions) {
    let mut duties = duties(inventory, programme);
    if inventory.decisions.is_empty() {
        return (duties, Decisions::default());
    }
    let decisions = decisions(&duties);
    for (pole, decided) in &decisions.of_poles {
        if let Some((_, method)) = decided.method {
            duties[pole.get()].method = method;
        }
    }
    (duties, decisions)
}

fn has_packages(inventory: &Inventory) -> bool {
    let mut targets = inventory.decisions.iter().map(|decision| &decision.target);
    targets.any(|target| matches!(target, Target::Package(_)))
}

/// What the decisions come to. Packages have their names from the plan as it is without decisions on packages.
fn settled(
    inventory: &Inventory,
    programme: &Programme,
    duties: &[Duty],
    (values, choose): (&dyn Fn() -> Vec<VisitValues>, Choose),
) -> Decisions {
    let without = settle(inventory, programme, Some(duties), &|_| None);
    if !has_packages(inventory) {
        return without;
    }
    let stretches = stretches_of(inventory, programme, duties, &without);
    let before = plan_visits(inventory, programme, duties, &values(), without, choose);
    settle(inventory, programme, Some(duties), &|name| {
        named_package(name, &before.packages, &stretches)
    })
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
    decisions: Decisions,
    choose: Choose,
) -> Schedule {
    let stretches = stretches_of(inventory, programme, duties, &decisions);
    let work = Work::new(inventory, programme, duties, values, &stretches, &decisions);
    let (choices, proof) = choose(work);
    write_schedule(
        inventory,
        programme,
        duties,
        values,
        &stretches,
        (&choices, proof),
        decisions,
    )
}

/// The stretches of all poles that may be inspected: neither a verdict nor the owner calls for other work.
fn stretches_of(
    inventory: &Inventory,
    programme: &Programme,
    duties: &[Duty],
    decisions: &Decisions,
) -> Vec<Stretch> {
    let inspected: Vec<PoleIndex> = inventory
        .indices()
        .filter(|pole| {
            let duty = &duties[pole.get()];
            duty.stands && duty.verdict.is_none() && decisions.of(*pole).work().is_none()
        })
        .collect();
    stretches(inventory, programme, &inspected)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{
        inspected, inventory_of, no_values, pole_set, programme, rule, visits_a_year,
    };
    use crate::pole::{Inspection, Method, Verdict};
    use crate::programme::{InspectionRule, RuleKind};
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
        // Years of 6 crew-days: {3, 2} due in the second, {3, 2, 2} in the third. Their 12 days seem to fit those two
        // years, but each holds only 3 + 2; the last visit must find the empty first year.
        let mut programme = programme();
        programme.schedule_years = 3;
        programme.crews.crew_days_per_year = 6.0;
        programme.crews.poles_per_crew_day = [0.5; Method::ALL.len()];
        programme.crews.poles_per_crew_day[Method::FullExcavation.index()] = 1.0 / 3.0;
        let mut deep = InspectionRule {
            least_method: Method::FullExcavation,
            // Set in July 1980, never dug all round: from May 2027 on, the third year.
            ..rule("deep", 46.9, 10.0)
        };
        deep.applies.lines = vec!["P-0".to_owned(), "P-2".to_owned()];
        programme.inspections.push(deep);
        let schedule = solved(&due_in(&[1, 1, 2, 2, 2]), &programme);
        let years: Vec<Option<u16>> = (0..5).map(|pole| year_of(&schedule, pole)).collect();
        assert_eq!(years, [Some(1), Some(1), Some(2), Some(2), Some(0)]);
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
