//! Sentences in the owner's words: why a pole stands where it stands, what to beware of, how numbers are said.
//!
//! Takes plain values and gives text; knows no table, file or terminal. Thresholds of wording are choices of this
//! module; every number comes from the plan.

pub mod cautions;
pub mod checks;
pub mod compare;
pub mod compliance;
pub mod decisions;
pub mod estimate;
pub mod explain;
pub mod failures;
pub mod field;
pub mod funding;
pub mod hindcast;
pub mod hindcast_charts;
pub mod method;
pub mod orders;
pub mod overview;
pub mod previous;
pub mod quantities;
pub mod reasons;
pub mod records;
pub mod removed;
pub mod replacing;
#[cfg(test)]
pub(crate) mod sample;
pub mod screen;
pub mod sensitivity;
pub mod sheets;
pub mod starter;
pub mod story;
pub mod supply;
pub mod uncertain;
pub mod years;

pub use cautions::{Caution, caution_of, caution_of_round};
pub use checks::Checks;
pub use field::look_for;
pub use overview::{Overview, overview};
pub use quantities::Estimate;
pub use reasons::reason_of;

use crate::belief;
use crate::inventory::Inventory;
use crate::models::Models;
use crate::plan::Plan;
use crate::pole::{Inspection, Pole, PoleIndex};
use crate::programme::{InspectionRule, Programme};
use crate::schedule::Row;

/// One pole of a plan, with everything that words and tables say of it.
#[derive(Debug, Clone, Copy)]
pub struct Case<'a> {
    /// What is recorded of the fleet.
    pub inventory: &'a Inventory,
    /// The curves that it was judged by.
    pub models: &'a Models,
    /// The owner's decisions.
    pub programme: &'a Programme,
    /// The plan.
    pub plan: &'a Plan,
    /// The pole.
    pub pole: PoleIndex,
}

impl<'a> Case<'a> {
    /// The owner's id.
    pub fn id(&self) -> &'a str {
        self.inventory.id(self.pole)
    }

    /// The recorded facts.
    pub fn facts(&self) -> &'a Pole {
        self.inventory.pole(self.pole)
    }

    /// The row of the schedule.
    pub fn row(&self) -> &'a Row {
        self.plan.schedule.row(self.pole)
    }

    /// The estimated condition.
    pub fn condition(&self) -> &'a belief::Summary {
        self.plan.beliefs.summary(self.pole)
    }

    /// The latest inspection that says something about the wood.
    pub fn last(&self) -> Option<&'a Inspection> {
        self.inventory.last_inspection(self.pole)
    }

    /// The rule that binds.
    pub fn rule(&self) -> Option<&'a InspectionRule> {
        self.row()
            .due
            .and_then(|due| self.programme.inspections.get(due.rule))
    }

    /// Whether a method that looks into the wood was ever used.
    pub fn was_bored(&self) -> bool {
        self.inventory
            .inspections_of(self.pole)
            .iter()
            .any(|inspection| inspection.method.is_intrusive())
    }

    /// Calendar label of a plan year.
    pub fn calendar_year(&self, plan_year: u16) -> i16 {
        calendar_year(self.programme, plan_year)
    }
}

/// Calendar label of a plan year, counted from 0.
pub fn calendar_year(programme: &Programme, plan_year: u16) -> i16 {
    programme
        .first_year()
        .saturating_add(i16::try_from(plan_year).unwrap_or(i16::MAX))
}
