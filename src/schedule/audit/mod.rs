//! A second pair of eyes: re-derives every promise of the plan without the scheduler's code.
//!
//! Imports only the schedule's types, the inventory and the programme; must not know how a schedule is made. What a
//! schedule promises is in the lists [`PROMISES`] (counts, packages, crew-days: [`books`]; verdicts, rules, deadlines:
//! [`duties`]). No plan is written while one of them is broken.

mod books;
mod duties;

use super::Schedule;
use crate::inventory::Inventory;
use crate::pole::PoleIndex;
use crate::programme::Programme;

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
];

/// Every promise that the schedule breaks.
pub fn audit(inventory: &Inventory, programme: &Programme, schedule: &Schedule) -> Vec<Breach> {
    let case = Case {
        inventory,
        programme,
        schedule,
    };
    let shape = books::every_pole_appears_once(case);
    if !shape.is_empty() {
        return shape;
    }
    PROMISES.iter().flat_map(|promise| promise(case)).collect()
}
