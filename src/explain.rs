//! Why one pole stands where it stands in a plan: everything that the plan used of it, gathered in one place.
//!
//! Computes nothing that the plan does not compute: rules come from the schedule, chances from the beliefs, the value of
//! a visit from its formula, at one price at a time. Must not know words, tables or files.

use crate::belief::neighbours::Neighbours;
use crate::belief::{CellLearning, Scratch};
use crate::inventory::Inventory;
use crate::models::{CellIndex, Models};
use crate::plan::Plan;
use crate::pole::{PoleIndex, Verdict};
use crate::programme::Programme;
use crate::schedule::due::dues;
use crate::schedule::prices::Part;
use crate::schedule::worth::{timing, value_by_part};
use crate::schedule::{Due, VisitValues, due};
use crate::units::Date;

/// Everything that a plan used of one pole, beside its records, its row and its estimated condition.
#[derive(Debug, Clone, PartialEq)]
pub struct Explanation {
    /// The pole.
    pub pole: PoleIndex,
    /// Every rule that binds it, in the order of the programme, and when it calls for the pole.
    pub dues: Vec<Due>,
    /// The plan year in which the pole is visited in any case: the value of a visit is held against that.
    pub due_year: u16,
    /// The value of a visit by what it comes from, in units of cost; the parts add up to the whole.
    pub value: Vec<(Part, VisitValues)>,
    /// The service-life curves that it may follow.
    pub curves: Vec<Curve>,
    /// What was found on the poles of its line.
    pub neighbours: Option<Neighbours>,
    /// The chance of being below the limit at the plan date, as record after record becomes known.
    pub steps: Vec<Step>,
}

/// One service-life curve that a pole may follow.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// The curve cell.
    pub cell: CellIndex,
    /// The chance that the pole follows it: 1 where its kind is recorded.
    pub share: f64,
    /// What the owner's findings say of it; `None` where no pole is known to follow it.
    pub learned: Option<CellLearning>,
}

/// The chance of being below the limit at the plan date, from part of the records.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// What was taken as known.
    pub known: Known,
    /// The chance.
    pub below_limit: f64,
}

/// Which records a step takes as known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Known {
    /// The published curve, the pole's age and that it is still listed after its rounds.
    Published,
    /// What all inspections of the fleet say of the curve, too.
    Fleet,
    /// The pole's own inspections up to this day, too.
    Until(Date),
}

/// Gathers what a plan used of one pole.
pub fn explain(
    inventory: &Inventory,
    models: &Models,
    programme: &Programme,
    plan: &Plan,
    pole: PoleIndex,
) -> Explanation {
    let beliefs = &plan.beliefs;
    let duty = due::duty(inventory, programme, pole);
    let curves = beliefs.curves(pole).into_iter().map(|(slot, share)| {
        let cell = beliefs.cells[slot].index;
        let learned = beliefs.calibration.cells.iter();
        Curve {
            cell,
            share,
            learned: learned.clone().find(|known| known.cell == cell).cloned(),
        }
    });
    Explanation {
        pole,
        dues: dues(inventory, programme, pole).collect(),
        due_year: timing(programme, &duty).due_year,
        value: value_by_part(inventory, models, beliefs, programme, pole),
        curves: curves.collect(),
        neighbours: beliefs.neighbours(inventory, pole),
        steps: steps(inventory, plan, pole),
    }
}

/// How the chance of being below the limit moved, from the published curve to everything that is recorded.
fn steps(inventory: &Inventory, plan: &Plan, pole: PoleIndex) -> Vec<Step> {
    let mut scratch = Scratch::default();
    let mut chance = |until, fleet| {
        plan.beliefs
            .below_limit_knowing(inventory, pole, until, fleet, &mut scratch)
    };
    let nothing = [(Known::Published, false), (Known::Fleet, true)];
    let nothing = nothing.map(|(known, fleet)| (known, Date::MIN, fleet));
    let seen = inventory.inspections_of(pole).iter();
    let seen = seen.filter(|seen| seen.verdict != Verdict::NotInspected);
    let seen = seen.map(|seen| (Known::Until(seen.date), seen.date, true));
    let mut steps: Vec<Step> = Vec::new();
    for (known, until, fleet) in nothing.into_iter().chain(seen) {
        if steps.last().is_none_or(|step| step.known != known) {
            steps.push(Step {
                known,
                below_limit: chance(until, fleet),
            });
        }
    }
    steps
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inspected, inventory_of, pole_set, programme};
    use crate::pole::Method;
    use jiff::civil::date;

    fn three() -> Inventory {
        let look = |year, verdict| inspected(date(year, 5, 1), Method::SoundAndBore, verdict);
        inventory_of(vec![
            (
                "P-1",
                "L",
                pole_set(1975),
                vec![
                    look(2013, Verdict::Sound),
                    look(2022, Verdict::DecayServiceable),
                ],
            ),
            (
                "P-2",
                "L",
                pole_set(1975),
                vec![look(2023, Verdict::RejectReplace)],
            ),
            (
                "P-3",
                "L",
                pole_set(1990),
                vec![look(2001, Verdict::RejectReplace)],
            ),
            (
                "P-4",
                "M",
                pole_set(1990),
                vec![look(2024, Verdict::RejectReplace)],
            ),
        ])
    }

    #[test]
    fn the_last_step_is_the_plans_own_estimate() {
        let (inventory, programme) = (three(), programme());
        let models = crate::models::text::built_in().expect("built-in models");
        let plan = crate::plan(&inventory, &models, &programme).expect("a plan");
        let found = explain(&inventory, &models, &programme, &plan, PoleIndex(0));
        let known: Vec<Known> = found.steps.iter().map(|step| step.known).collect();
        let until = |year| Known::Until(date(year, 5, 1));
        assert_eq!(
            known,
            [Known::Published, Known::Fleet, until(2013), until(2022)]
        );
        let last = found.steps.last().expect("steps").below_limit;
        let own = f64::from(plan.beliefs.summary(PoleIndex(0)).below_limit[0]);
        // The plan keeps it as f32.
        assert!((last - own).abs() < 1e-6, "{last} {own}");
        // No decay found makes it less likely, a reject verdict far more.
        assert!(
            found.steps[2].below_limit < found.steps[1].below_limit,
            "{:?}",
            found.steps
        );
        let found = explain(&inventory, &models, &programme, &plan, PoleIndex(1));
        let [fleet, rejected] = [1, 2].map(|step: usize| found.steps[step].below_limit);
        assert!(rejected > fleet, "{:?}", found.steps);
    }

    #[test]
    fn neighbours_are_the_other_poles_of_the_line_and_only_late_inspections_count() {
        let (inventory, programme) = (three(), programme());
        let models = crate::models::text::built_in().expect("built-in models");
        let beliefs = crate::belief::believe(&inventory, &models, &programme);
        let neighbours = beliefs.neighbours(&inventory, PoleIndex(0));
        let found = neighbours.expect("a line").found;
        assert_eq!((found.poles, found.inspected, found.below_limit), (2, 1, 1));
    }
}
