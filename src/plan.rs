//! The whole job: records to beliefs to schedule to forecast to orders.

use crate::belief::{Beliefs, believe};
use crate::error::Error;
use crate::inventory::Inventory;
use crate::models::Models;
use crate::programme::Programme;
use crate::schedule::{Schedule, audit, schedule};
use crate::supply::{Orders, orders};
use crate::trial::{Forecast, trial};

/// What a plan consists of.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The estimated condition of every pole.
    pub beliefs: Beliefs,
    /// What to do when.
    pub schedule: Schedule,
    /// What will probably happen under it.
    pub forecast: Forecast,
    /// What to order, and what to put back.
    pub orders: Orders,
}

/// The plan for an inventory.
///
/// # Errors
/// When there is no pole to plan for, and when the plan's own audit finds a broken promise.
pub fn plan(inventory: &Inventory, models: &Models, programme: &Programme) -> Result<Plan, Error> {
    if inventory.is_empty() {
        return Err(nothing_to_plan(inventory));
    }
    let beliefs = believe(inventory, models, programme);
    let schedule = schedule(inventory, models, &beliefs, programme);
    let breaches = audit(inventory, programme, &schedule);
    if !breaches.is_empty() {
        let found: Vec<String> = breaches
            .iter()
            .take(3)
            .map(|breach| breach.what.clone())
            .collect();
        return Err(Error::Audit(found.join("; ")));
    }
    let tally = trial(inventory, models, &beliefs, &schedule, programme);
    let orders = orders(inventory, models, programme, &beliefs, &schedule, &tally);
    Ok(Plan {
        beliefs,
        schedule,
        forecast: tally.forecast(),
        orders,
    })
}

fn nothing_to_plan(inventory: &Inventory) -> Error {
    let rows = inventory.pole_rows;
    Error::NothingToPlan {
        what: format!(
            "of {} rows, {} are out of scope and {} were set aside",
            rows.read, rows.out_of_scope, rows.set_aside
        ),
        help: "look at [scope] in the programme and at the problems that `polewright check` lists"
            .to_owned(),
    }
}
