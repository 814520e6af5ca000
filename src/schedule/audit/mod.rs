//! A second pair of eyes: re-derives every promise of the plan without the scheduler's code.
//!
//! Imports only the schedule's types, the inventory and the programme; must not know how a schedule is made. What a
//! schedule promises is in the lists `PROMISES` (counts, packages, crew-days: `books`; verdicts, rules, deadlines:
//! `duties`; the owner's decisions: `decisions`). No plan is written while one of them is broken.

mod books;
mod decisions;
mod duties;

use super::Schedule;
use crate::inventory::Inventory;
use crate::pole::PoleIndex;
use crate::programme::Programme;
use decisions::Orders;

/// A broken promise.
#[derive(Debug, Clone, PartialEq)]
pub struct Breach {
    /// The pole, when it is about one.
    pub pole: Option<PoleIndex>,
    /// What is broken.
    pub what: String,
}

/// What a check reads.
#[derive(Clone, Copy)]
struct Case<'a> {
    inventory: &'a Inventory,
    programme: &'a Programme,
    schedule: &'a Schedule,
    orders: &'a Orders,
}

impl Case<'_> {
    /// A breach about one pole, named by its id.
    fn breach(&self, pole: PoleIndex, what: &str) -> Breach {
        Breach {
            pole: Some(pole),
            what: format!("pole {}: {what}", self.inventory.id(pole)),
        }
    }

    /// Number of plan years; a schedule has at least one.
    fn years(&self) -> usize {
        usize::from(self.programme.schedule_years.max(1))
    }
}

/// A check: the breaches of one promise.
type Promise = fn(Case) -> Vec<Breach>;

/// Every promise, apart from the shape of the schedule, without which the others cannot be read.
const PROMISES: &[Promise] = &[
    books::the_most_urgent_come_first,
    books::planned_years_lie_in_the_schedule,
    books::packages_and_rows_agree,
    books::crew_days_add_up,
    books::crews_do_not_work_more_than_they_can,
    books::inspections_cost_no_more_than_there_is,
    books::nothing_waits_while_crews_have_room,
    duties::standing_verdicts_are_acted_upon,
    duties::nothing_is_replaced_without_a_verdict,
    duties::the_earliest_rule_binds,
    duties::whatever_is_due_is_accounted_for,
    duties::the_priority_says_what_is_owed,
    duties::overdue_days_are_right,
    duties::methods_satisfy_the_rules,
    duties::visits_follow_the_rows,
    duties::poles_that_are_gone_are_left_alone,
    decisions::decisions_are_answered,
    decisions::complete_decisions_are_honoured,
    decisions::nothing_is_put_off_without_a_decision,
];

/// Every promise that the schedule breaks.
pub fn audit(inventory: &Inventory, programme: &Programme, schedule: &Schedule) -> Vec<Breach> {
    let orders = Orders::read(inventory, programme, schedule);
    let case = Case {
        inventory,
        programme,
        schedule,
        orders: &orders,
    };
    let shape = books::every_pole_appears_once(case);
    if !shape.is_empty() {
        return shape;
    }
    PROMISES.iter().flat_map(|promise| promise(case)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{
        decision, inspected, inventory_of, no_values, pole_set, programme, rule, signed, with,
    };
    use crate::inventory::Decision;
    use crate::pole::{DecisionKind, Defect, Defects, Inspection, Method, Pole, Status, Verdict};
    use crate::programme::money::Limits;
    use crate::programme::{AboveGroundAction, AboveGroundRule, InspectionRule, RuleKind};
    use crate::schedule::{
        Action, Deferral, DueBecause, PackageIndex, Priority, Reason, Standing, schedule_with,
    };
    use crate::units::Date;
    use jiff::civil::date;

    const DANGER: usize = 0;
    const REJECT: usize = 1;
    const OVERDUE_BY_LAW: usize = 2;
    const DUE: usize = 3;
    const GONE: usize = 4;
    const YOUNG: usize = 5;
    const SPLIT: usize = 6;

    /// One pole of each kind. The law binds line K; the bulletin binds every pole.
    fn fleet() -> (Inventory, Programme) {
        let mut law = InspectionRule {
            kind: RuleKind::Law,
            ..rule("law", 12.0, 8.0)
        };
        law.applies.lines = vec!["K".to_owned()];
        let mut programme = programme();
        programme.inspections.push(law);
        let seen = |when: Date, verdict| vec![inspected(when, Method::PartialExcavation, verdict)];
        let gone = Pole {
            status: Status::Removed,
            ..pole_set(1970)
        };
        programme.above_ground = vec![AboveGroundRule {
            defects: vec![Defect::Split],
            action: AboveGroundAction::Replace,
            within_days: 90,
        }];
        let split = Inspection {
            above_ground: Some(Defects::default().with(Defect::Split)),
            ..inspected(date(2024, 12, 1), Method::Patrol, Verdict::Sound)
        };
        let dug = |when| seen(when, Verdict::Sound);
        let inventory = inventory_of(vec![
            (
                "P-0",
                "L",
                pole_set(1980),
                seen(date(2024, 12, 30), Verdict::Danger),
            ),
            (
                "P-1",
                "L",
                pole_set(1980),
                seen(date(2024, 6, 1), Verdict::RejectReplace),
            ),
            ("P-2", "K", pole_set(1980), dug(date(2010, 5, 1))),
            ("P-3", "L", pole_set(1980), dug(date(2018, 5, 1))),
            ("P-4", "L", gone, Vec::new()),
            ("P-5", "M", pole_set(2024), Vec::new()),
            ("P-6", "M", pole_set(2024), vec![split]),
        ]);
        (inventory, programme)
    }

    /// What the audit says after `spoil` has spoiled a good schedule.
    fn after(spoil: impl FnOnce(&mut Schedule)) -> Vec<String> {
        let (inventory, programme) = fleet();
        let values = no_values(&inventory, &programme);
        let mut schedule = schedule_with(&inventory, &programme, &values);
        assert_eq!(audit(&inventory, &programme, &schedule), Vec::new());
        spoil(&mut schedule);
        let breaches = audit(&inventory, &programme, &schedule);
        breaches.into_iter().map(|breach| breach.what).collect()
    }

    fn assert_fires(what: &str, spoil: impl FnOnce(&mut Schedule)) {
        let breaches = after(spoil);
        let fired = breaches.iter().any(|breach| breach.contains(what));
        assert!(fired, "`{what}` is not among {breaches:?}");
    }

    fn plan(schedule: &mut Schedule, place: usize, action: Action, year: u16) {
        schedule.rows[place].standing = Standing::Planned {
            action,
            year,
            package: None,
        };
    }

    #[test]
    fn a_missing_or_repeated_pole_is_found() {
        assert_fires("6 rows where 7 belong", |s| {
            s.rows.pop();
        });
        assert_fires("6 ranking where 7 belong", |s| {
            s.ranking.pop();
        });
        assert_fires("ranked twice", |s| s.ranking[0] = s.ranking[1]);
        assert_fires("about another pole", |s| s.rows.swap(0, 1));
        assert_fires("9 sums of crew-days where 10", |s| {
            s.crew_days.pop();
        });
    }

    #[test]
    fn a_ranking_out_of_order_is_found() {
        assert_fires("more urgent", |s| s.ranking.swap(0, 1));
        assert_fires("more urgent", |s| {
            let last = *s.ranking.last().expect("seven poles");
            s.rows[last.get()].value_of_visit = 1.0;
        });
    }

    #[test]
    fn a_year_outside_the_schedule_is_found() {
        assert_fires("outside the schedule", |s| {
            plan(s, DUE, Action::Inspect, 10);
        });
        assert_fires("outside the schedule", |s| s.packages[0].year = Some(10));
    }

    #[test]
    fn packages_that_disagree_with_rows_are_found() {
        assert_fires("its row says otherwise", |s| s.packages[0].year = Some(1));
        assert_fires("its row says otherwise", |s| {
            s.packages[0].method = Method::Patrol;
        });
        assert_fires("in 2 packages", |s| {
            let pole = s.packages[0].poles[0];
            s.packages[0].poles.push(pole);
        });
        assert_fires("in 0 packages", |s| s.packages[0].poles.clear());
        assert_fires("in 1 packages where 0", |s| {
            s.packages[0].poles.push(PoleIndex(YOUNG as u32));
        });
        assert_fires("its row says otherwise", |s| {
            s.rows[DUE].standing = Standing::Planned {
                action: Action::Inspect,
                year: 3,
                package: Some(PackageIndex(0)),
            };
        });
        assert_fires("unknown pole", |s| s.packages[0].poles.push(PoleIndex(99)));
    }

    #[test]
    fn crew_days_that_do_not_add_up_are_found() {
        assert_fires("crew-days, not", |s| s.packages[0].crew_days = 0.0);
        assert_fires("plan year 0 takes", |s| s.crew_days[0] = 0.5);
    }

    #[test]
    fn a_year_beyond_the_crews_is_found() {
        let (inventory, mut programme) = fleet();
        let schedule = schedule_with(&inventory, &programme, &no_values(&inventory, &programme));
        programme.crews.crew_days_per_year = 0.01;
        let breaches = audit(&inventory, &programme, &schedule);
        assert!(
            breaches
                .iter()
                .any(|breach| breach.what.contains("crew-days of 0.01"))
        );
    }

    #[test]
    fn a_year_beyond_its_money_is_found() {
        let (inventory, mut programme) = fleet();
        let schedule = schedule_with(&inventory, &programme, &no_values(&inventory, &programme));
        programme.budget.operating = Some(Limits::EveryYear(1.0));
        let breaches = audit(&inventory, &programme, &schedule);
        let over = |breach: &Breach| breach.what.contains("for inspections, of 1");
        assert!(breaches.iter().any(over), "{breaches:?}");
    }

    #[test]
    fn waiting_without_need_is_found() {
        assert_fires("waits although crews have room", |s| {
            s.rows[DUE].standing = Standing::Deferred {
                action: Action::Inspect,
                reason: Deferral::CrewDays,
            };
        });
        assert_fires("waits although crews have room", |s| {
            plan(s, OVERDUE_BY_LAW, Action::Inspect, 1);
        });
    }

    #[test]
    fn a_danger_or_reject_that_is_put_off_is_found() {
        let put_off = "not acted upon in time";
        for place in [DANGER, REJECT, SPLIT] {
            assert_fires(put_off, |s| s.rows[place].standing = Standing::NotDue);
            assert_fires(put_off, |s| plan(s, place, Action::Inspect, 0));
            assert_fires(put_off, |s| {
                s.rows[place].standing = Standing::Deferred {
                    action: Action::Replace,
                    reason: Deferral::CrewDays,
                };
            });
            assert_fires(put_off, |s| s.rows[place].reason = Reason::Nothing);
        }
        assert_fires(put_off, |s| plan(s, DANGER, Action::MakeSafe, 1));
        assert_fires(put_off, |s| plan(s, REJECT, Action::Replace, 1));
        assert_fires(put_off, |s| plan(s, SPLIT, Action::Replace, 1));
    }

    #[test]
    fn a_replacement_without_a_verdict_is_found() {
        assert_fires("without a verdict", |s| plan(s, DUE, Action::Replace, 0));
    }

    #[test]
    fn a_rule_that_does_not_bind_is_found() {
        let wrong = "not the one that binds";
        let spoil = |change: fn(&mut crate::schedule::Due)| {
            move |s: &mut Schedule| {
                if let Some(due) = &mut s.rows[OVERDUE_BY_LAW].due {
                    change(due);
                }
            }
        };
        assert_fires(wrong, spoil(|due| due.rule = 0));
        assert_fires(wrong, spoil(|due| due.rule = 9));
        assert_fires(wrong, spoil(|due| due.date = date(2018, 5, 2)));
        assert_fires(wrong, spoil(|due| due.because = DueBecause::FirstAge));
        assert_fires(wrong, |s| s.rows[DUE].due = None);
    }

    #[test]
    fn a_due_pole_left_out_is_found() {
        assert_fires("left out", |s| s.rows[DUE].standing = Standing::NotDue);
    }

    #[test]
    fn a_priority_that_is_not_owed_is_found() {
        let wrong = "priority that it is not owed";
        assert_fires(wrong, |s| s.rows[DANGER].priority = Priority::MustDo);
        assert_fires(wrong, |s| s.rows[REJECT].priority = Priority::Due);
        assert_fires(wrong, |s| s.rows[OVERDUE_BY_LAW].priority = Priority::Due);
        assert_fires(wrong, |s| s.rows[DUE].priority = Priority::Condition);
        assert_fires(wrong, |s| s.rows[YOUNG].priority = Priority::Due);
    }

    #[test]
    fn wrong_overdue_days_are_found() {
        for place in [DANGER, REJECT, OVERDUE_BY_LAW, DUE, SPLIT] {
            assert_fires("overdue days", |s| s.rows[place].overdue_days += 1);
        }
    }

    #[test]
    fn a_method_too_weak_for_the_rule_is_found() {
        for method in [None, Some(Method::SoundAndBore)] {
            assert_fires("does not satisfy", |s| s.rows[DUE].method = method);
        }
    }

    #[test]
    fn visits_that_differ_from_the_row_are_found() {
        let differ = "visits to come differ";
        assert_fires(differ, |s| s.visits[DUE].first = Some(9));
        assert_fires(differ, |s| s.visits[DUE].replace = Some(0));
        assert_fires(differ, |s| s.visits[REJECT].replace = None);
        assert_fires(differ, |s| s.visits[YOUNG].first = Some(0));
        assert_fires(differ, |s| s.visits[YOUNG].repeat_years = 0);
    }

    #[test]
    fn work_on_a_pole_that_is_gone_is_found() {
        assert_fires("is removed", |s| plan(s, GONE, Action::Inspect, 0));
    }

    /// What the audit says after `spoil` has spoiled a good schedule of poles about which the owner decided: a pinned
    /// pole that is due, a reject put off by name, a pole left out, a method, a young pole to be replaced.
    fn after_decisions(spoil: impl FnOnce(&mut Schedule)) -> Vec<String> {
        let (inventory, programme) = fleet();
        let decisions = vec![
            decision(DUE as u32, DecisionKind::Pin, Some(2027)),
            signed(REJECT as u32, DecisionKind::Defer, Some(2028)),
            Decision {
                action: Some(Action::Replace),
                ..decision(YOUNG as u32, DecisionKind::Action, Some(2026))
            },
            Decision {
                method: Some(Method::FullExcavation),
                ..decision(OVERDUE_BY_LAW as u32, DecisionKind::Method, None)
            },
        ];
        let inventory = with(inventory, decisions);
        let values = no_values(&inventory, &programme);
        let mut schedule = schedule_with(&inventory, &programme, &values);
        assert_eq!(audit(&inventory, &programme, &schedule), Vec::new());
        spoil(&mut schedule);
        let breaches = audit(&inventory, &programme, &schedule);
        breaches.into_iter().map(|breach| breach.what).collect()
    }

    #[test]
    fn a_decision_that_is_not_honoured_is_found() {
        let fires = |what: &str, spoil: &dyn Fn(&mut Schedule)| {
            let breaches = after_decisions(spoil);
            let fired = breaches.iter().any(|breach| breach.contains(what));
            assert!(fired, "`{what}` is not among {breaches:?}");
        };
        let ignored = "decision of the owner is not honoured";
        fires(ignored, &|s| plan(s, DUE, Action::Inspect, 1));
        fires(ignored, &|s| s.rows[DUE].standing = Standing::NotDue);
        fires(ignored, &|s| plan(s, REJECT, Action::Replace, 0));
        fires(ignored, &|s| plan(s, YOUNG, Action::Inspect, 1));
        fires(ignored, &|s| plan(s, YOUNG, Action::Replace, 2));
        fires(ignored, &|s| {
            s.rows[OVERDUE_BY_LAW].method = Some(Method::PartialExcavation);
        });
        fires("decisions are answered", &|s| {
            s.decisions.outcomes.pop();
        });
        let until = |action, until| Standing::Deferred {
            action,
            reason: Deferral::Decision { until },
        };
        fires("not acted upon in time", &|s| {
            s.rows[REJECT].standing = until(Action::Replace, 4);
        });
        fires("not acted upon in time", &|s| {
            s.rows[DANGER].standing = until(Action::MakeSafe, 3);
        });
        for place in [DANGER, OVERDUE_BY_LAW, DUE] {
            fires("put off without a complete decision", &|s| {
                s.rows[place].standing = until(Action::Inspect, 3);
            });
        }
        fires("visits to come differ", &|s| {
            s.visits[REJECT].replace = Some(0);
        });
    }
}
