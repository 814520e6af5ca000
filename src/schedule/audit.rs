//! A second pair of eyes: re-derives every promise of the plan without the scheduler's code.

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

/// Every promise that the schedule breaks.
pub fn audit(_inventory: &Inventory, _programme: &Programme, _schedule: &Schedule) -> Vec<Breach> {
    unimplemented!()
}
