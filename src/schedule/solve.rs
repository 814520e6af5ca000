//! Beliefs to schedule.

use super::Schedule;
use crate::belief::Beliefs;
use crate::inventory::Inventory;
use crate::programme::Programme;

/// The schedule that the rules, the beliefs and the crews give.
pub fn schedule(_inventory: &Inventory, _beliefs: &Beliefs, _programme: &Programme) -> Schedule {
    unimplemented!()
}
