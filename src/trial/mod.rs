//! The future: every trial lives through the schedule, pole by pole (model section 5).

pub mod tally;

pub use tally::{Band, Demand, Forecast, Group, Kind, Size, Tally, YearForecast};

use crate::belief::Beliefs;
use crate::inventory::Inventory;
use crate::models::Models;
use crate::programme::Programme;
use crate::schedule::Schedule;

/// The tally of all trials of the programme.
pub fn trial(
    _inventory: &Inventory,
    _models: &Models,
    _beliefs: &Beliefs,
    _schedule: &Schedule,
    _programme: &Programme,
) -> Tally {
    unimplemented!()
}
