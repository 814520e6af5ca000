//! The whole job: records to beliefs to schedule to forecast to orders.

use crate::belief::{Beliefs, believe};
use crate::error::Error;
use crate::inventory::Inventory;
use crate::models::Models;
use crate::parallel::Watch;
use crate::programme::Programme;
use crate::schedule::{Schedule, audit, schedule};
use crate::supply::{Orders, orders};
use crate::trial::spending::{Spending, spending};
use crate::trial::{Forecast, trial_watched};

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
    /// What the work in it costs, by plan year.
    pub spending: Vec<Spending>,
}

/// Parts of a plan as a [`Watch`] counts them, with their shares of the time (measured on 2,000 poles).
pub const PARTS: [(&str, f64); 4] = [
    ("estimating", 0.38),
    ("scheduling", 0.22),
    ("trials", 0.38),
    ("orders", 0.02),
];

/// The plan for an inventory.
///
/// # Errors
/// When there is no pole to plan for, and when the plan's own audit finds a broken promise.
pub fn plan(inventory: &Inventory, models: &Models, programme: &Programme) -> Result<Plan, Error> {
    plan_watched(inventory, models, programme, &Watch::default())
}

/// The same, and `watch` knows how far it has come.
///
/// # Errors
/// As [`plan`].
pub fn plan_watched(
    inventory: &Inventory,
    models: &Models,
    programme: &Programme,
    watch: &Watch,
) -> Result<Plan, Error> {
    if let Some(error) = nothing_to_plan(inventory) {
        return Err(error);
    }
    watch.begin(0, 0);
    let beliefs = believe(inventory, models, programme);
    watch.begin(1, 0);
    let schedule = schedule(inventory, models, &beliefs, programme);
    refuse_breaches(inventory, programme, &schedule)?;
    watch.begin(2, inventory.len());
    let tally = trial_watched(inventory, models, &beliefs, &schedule, programme, watch);
    watch.begin(3, 0);
    let orders = orders(inventory, models, programme, &beliefs, &schedule, &tally);
    Ok(Plan {
        beliefs,
        schedule,
        forecast: tally.forecast(),
        orders,
        spending: spending(&tally, &programme.costs),
    })
}

/// Refuses a schedule that breaks a promise.
pub(crate) fn refuse_breaches(
    inventory: &Inventory,
    programme: &Programme,
    schedule: &Schedule,
) -> Result<(), Error> {
    let breaches = audit(inventory, programme, schedule);
    if breaches.is_empty() {
        return Ok(());
    }
    let found: Vec<String> = breaches
        .iter()
        .take(3)
        .map(|breach| breach.what.clone())
        .collect();
    Err(Error::Audit(found.join("; ")))
}

/// Why there is nothing to plan, where an inventory has no pole in scope: the words in which a plan is refused.
pub fn nothing_to_plan(inventory: &Inventory) -> Option<Error> {
    let rows = inventory.pole_rows;
    inventory.is_empty().then(|| Error::NothingToPlan {
        what: format!(
            "of {} rows, {} are out of scope and {} were set aside",
            rows.read, rows.out_of_scope, rows.set_aside
        ),
        help: "look at [scope] in the programme and at the problems that `polewright check` lists"
            .to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::plan;
    use crate::common::{inspected, inventory_of, pole_set, programme, signed, with};
    use crate::inventory::Inventory;
    use crate::models::text::built_in;
    use crate::pole::{DecisionKind, Method, Pole, Verdict};
    use crate::trial::{Demand, Forecast};
    use crate::units::{Date, Mm};
    use jiff::civil::date;

    /// A reject that is longer than the other poles, and old poles beside it.
    fn fleet() -> Inventory {
        let seen = |on: Date, verdict| vec![inspected(on, Method::PartialExcavation, verdict)];
        let long = Pole {
            length: Some(Mm(14_000.0)),
            ..pole_set(1975)
        };
        inventory_of(vec![
            (
                "P-0",
                "L",
                long,
                seen(date(2024, 6, 1), Verdict::RejectReplace),
            ),
            ("P-1", "L", pole_set(1955), Vec::new()),
            (
                "P-2",
                "L",
                pole_set(1960),
                seen(date(2016, 6, 1), Verdict::Sound),
            ),
            ("P-3", "M", pole_set(1965), Vec::new()),
        ])
    }

    /// The forecast for the size of the reject, and for all other sizes.
    fn apart(forecast: &Forecast) -> (Vec<Demand>, Vec<Demand>) {
        let of_group = |row: &&Demand| row.group.is_some();
        let rows = forecast.demand.iter().filter(of_group).copied();
        rows.partition(|row| {
            let group = row.group.map(|group| &forecast.groups[group]);
            group.is_some_and(|group| group.old.length.is_some())
        })
    }

    #[test]
    fn a_reject_that_is_put_off_stands_longer_and_no_other_pole_is_drawn_anew() {
        let models = built_in().expect("valid models");
        let programme = programme();
        let of = |inventory: &Inventory| {
            let plan = plan(inventory, &models, &programme).expect("a plan");
            plan.forecast
        };
        let at_once = of(&fleet());
        let wait = signed(0, DecisionKind::Defer, Some(2030));
        let later = of(&with(fleet(), vec![wait]));
        let (long, others) = apart(&at_once);
        let (long_later, others_later) = apart(&later);
        assert!(!others.is_empty() && others == others_later);
        assert_ne!(long, long_later);
        let below = |forecast: &Forecast| -> f64 {
            forecast.years[..5]
                .iter()
                .map(|year| year.below_limit.mean)
                .sum()
        };
        assert!(below(&later) > below(&at_once));
    }
}
