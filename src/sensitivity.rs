//! Which assumptions matter: the few numbers that people act upon, again with each assumption at the ends of its range.
//!
//! Calls the steps of a plan on changed models or a changed programme, on the same draws; one assumption at a time, the
//! rest as they are. Ranges come from `models/` where those give one, with their mark; the others are proposed here, each
//! in the line where it stands. The spread between areas is a constant of the calibration and not among them.

mod assumptions;

pub use assumptions::{Assumption, assumptions};

use crate::belief::{Beliefs, believe};
use crate::error::Error;
use crate::inventory::Inventory;
use crate::models::Models;
use crate::plan::nothing_to_plan;
use crate::pole::PoleIndex;
use crate::programme::{Account, Programme};
use crate::schedule::{Action, Schedule, Standing, schedule};
use crate::trial::spending::amounts;
use crate::trial::tally::Work;
use crate::trial::{Band, Tally, trial};

/// Assumptions that are told, the most telling first.
pub const MOST_TOLD: usize = 10;

/// Trials beyond which a sensitivity gains nothing: its differences are between the same draws.
pub const MOST_TRIALS: u32 = 200;

/// The few numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Numbers {
    /// Poles whose inspection is planned in the first year, in order.
    pub visits: Vec<PoleIndex>,
    /// New poles over the horizon.
    pub replacements: Band,
    /// What everything costs over the horizon, cost units.
    pub cost: Band,
}

/// The numbers with one assumption at one end of its range.
#[derive(Debug, Clone, PartialEq)]
pub struct End {
    /// The assumption's value there.
    pub value: f64,
    /// The numbers.
    pub numbers: Numbers,
    /// Poles visited in the first year only then.
    pub added: usize,
    /// Poles visited in the first year only without it.
    pub dropped: usize,
}

/// One assumption and what it moves.
#[derive(Debug, Clone)]
pub struct Moved {
    /// The assumption.
    pub assumption: Assumption,
    /// At the low and at the high end.
    pub ends: [End; 2],
}

/// What moves the plan.
#[derive(Debug, Clone)]
pub struct Sensitivity {
    /// The numbers as they are.
    pub base: Numbers,
    /// The numbers with another seed.
    pub other_seed: End,
    /// The assumptions, the most telling first; the price of a failure always among them.
    pub moved: Vec<Moved>,
    /// Assumptions that were tried and move less.
    pub less_telling: Vec<Assumption>,
    /// Trials.
    pub trials: u32,
}

/// The numbers of an inventory under models and a programme.
pub fn numbers(inventory: &Inventory, models: &Models, programme: &Programme) -> Numbers {
    let beliefs = believe(inventory, models, programme);
    numbers_from(inventory, models, programme, &beliefs)
}

fn numbers_from(
    inventory: &Inventory,
    models: &Models,
    programme: &Programme,
    beliefs: &Beliefs,
) -> Numbers {
    let schedule = schedule(inventory, models, beliefs, programme);
    let tally = trial(inventory, models, beliefs, &schedule, programme);
    Numbers {
        visits: visits_of_the_first_year(&schedule),
        replacements: replacements(&tally),
        cost: cost(&tally, programme),
    }
}

fn visits_of_the_first_year(schedule: &Schedule) -> Vec<PoleIndex> {
    let is_visit = |standing| {
        matches!(
            standing,
            Standing::Planned {
                action: Action::Inspect,
                year: 0,
                ..
            }
        )
    };
    let rows = schedule.rows.iter();
    rows.filter(|row| is_visit(row.standing))
        .map(|row| row.pole)
        .collect()
}

fn replacements(tally: &Tally) -> Band {
    let mut sums = vec![0_u64; tally.trials() as usize];
    for year in 0..tally.years() {
        for work in [Work::Planned, Work::AfterFailure, Work::OtherDemand] {
            for (sum, count) in sums.iter_mut().zip(tally.work(year, work)) {
                *sum += count;
            }
        }
    }
    Band::of(sums.into_iter())
}

fn cost(tally: &Tally, programme: &Programme) -> Band {
    let mut sums = vec![0.0; tally.trials() as usize];
    for year in 0..tally.years() {
        for account in Account::ALL {
            let own = amounts(tally, &programme.costs, year, account);
            sums.iter_mut().zip(own).for_each(|(sum, own)| *sum += own);
        }
    }
    Band::of_amounts(sums.into_iter())
}

/// What moves the plan of an inventory.
///
/// # Errors
/// When there is no pole to plan for.
pub fn sensitivity(
    inventory: &Inventory,
    models: &Models,
    programme: &Programme,
) -> Result<Sensitivity, Error> {
    if let Some(refusal) = nothing_to_plan(inventory) {
        return Err(refusal);
    }
    let programme = &Programme {
        trials: programme.trials.min(MOST_TRIALS),
        ..programme.clone()
    };
    let beliefs = believe(inventory, models, programme);
    let base = numbers_from(inventory, models, programme, &beliefs);
    let end = |value: f64, numbers: Numbers| End {
        value,
        added: only_in(&numbers.visits, &base.visits),
        dropped: only_in(&base.visits, &numbers.visits),
        numbers,
    };
    let mut moved: Vec<Moved> = assumptions(inventory, models, programme)
        .into_iter()
        .map(|assumption| {
            let ends = assumption.range.map(|value| {
                let (models, programme) = assumption.at(value, models, programme);
                let numbers = if assumption.is_about_the_past {
                    numbers(inventory, &models, &programme)
                } else {
                    numbers_from(inventory, &models, &programme, &beliefs)
                };
                end(value, numbers)
            });
            Moved { assumption, ends }
        })
        .collect();
    moved.sort_by(|one, other| effect(other, &base).total_cmp(&effect(one, &base)));
    let seed = programme.seed.wrapping_add(1);
    let other = Programme {
        seed,
        ..programme.clone()
    };
    let other_seed = end(seed as f64, numbers(inventory, models, &other));
    let (moved, less_telling) = told(moved);
    Ok(Sensitivity {
        base,
        other_seed,
        moved,
        less_telling,
        trials: programme.trials,
    })
}

/// The assumptions that are told, and those that move less.
fn told(all: Vec<Moved>) -> (Vec<Moved>, Vec<Assumption>) {
    let mut moved = Vec::new();
    let mut less = Vec::new();
    for (place, own) in all.into_iter().enumerate() {
        if place < MOST_TOLD || own.assumption.is_price_of_failure() {
            moved.push(own);
        } else {
            less.push(own.assumption);
        }
    }
    (moved, less)
}

/// How much an assumption moves: the largest of its shares of the visits, new poles and costs, at either end.
fn effect(moved: &Moved, base: &Numbers) -> f64 {
    let share = |change: f64, of: f64| {
        if of > 0.0 {
            change.abs() / of
        } else {
            change.abs()
        }
    };
    moved
        .ends
        .iter()
        .flat_map(|end| {
            let numbers = &end.numbers;
            [
                share((end.added + end.dropped) as f64, base.visits.len() as f64),
                share(
                    numbers.replacements.mean - base.replacements.mean,
                    base.replacements.mean,
                ),
                share(numbers.cost.mean - base.cost.mean, base.cost.mean),
            ]
        })
        .fold(0.0, f64::max)
}

/// How many of some poles are not among others; both in order.
fn only_in(poles: &[PoleIndex], others: &[PoleIndex]) -> usize {
    let alone = |pole: &&PoleIndex| others.binary_search(pole).is_err();
    poles.iter().filter(alone).count()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inspected, inventory_of, pole_set, programme, visits_a_year};
    use crate::models::text::built_in;
    use crate::pole::{Method, Verdict};
    use jiff::civil::date;

    /// Forty poles of all ages on four lines, every second one inspected once.
    fn fleet() -> Inventory {
        let names: Vec<(String, String)> = (0..40)
            .map(|number| (format!("P-{number:02}"), format!("L-{}", number / 10)))
            .collect();
        let poles = names.iter().enumerate().map(|(number, (id, line))| {
            let verdict = if number % 6 == 0 {
                Verdict::DecayServiceable
            } else {
                Verdict::Sound
            };
            let on = date(2013 + number as i16 % 8, 6, 1);
            let seen = vec![inspected(on, Method::SoundAndBore, verdict)];
            let seen = if number % 2 == 0 { seen } else { Vec::new() };
            let year = 1950 + (number as i16 * 7) % 45;
            (id.as_str(), line.as_str(), pole_set(year), seen)
        });
        inventory_of(poles.collect())
    }

    #[test]
    fn another_seed_changes_no_visit_and_a_failure_twice_as_dear_costs_more() {
        let mut programme = programme();
        programme.trials = 60;
        programme.crews = visits_a_year(&programme, 6);
        let inventory = fleet();
        let models = built_in().expect("valid models");
        let all = sensitivity(&inventory, &models, &programme).expect("poles");
        assert!(!all.base.visits.is_empty());
        assert_eq!((all.other_seed.added, all.other_seed.dropped), (0, 0));
        assert_ne!(all.other_seed.numbers.cost, all.base.cost);
        assert!(all.moved.len() >= MOST_TOLD && all.moved.len() <= MOST_TOLD + 1);
        assert!(!all.less_telling.is_empty());
        let find = |key: &str| all.moved.iter().find(|own| own.assumption.key == key);
        let failure = find(assumptions::FAILURE).expect("always told");
        let ends = (failure.ends[0].value, failure.ends[1].value);
        let price = programme.costs.failure;
        assert_eq!(ends, (0.5 * price, 2.0 * price));
        assert!(failure.ends[1].numbers.cost.mean > all.base.cost.mean);
        assert!(failure.ends[0].numbers.cost.mean < all.base.cost.mean);
        // Lives as long as the longest of fleets need fewer new poles than as short as the shortest.
        let lives = find("life.median_years").expect("nothing moves a forecast more");
        let [short, long] = &lives.ends;
        assert!(long.numbers.replacements.mean < short.numbers.replacements.mean);
        let effects: Vec<f64> = all.moved.iter().map(|own| effect(own, &all.base)).collect();
        let most = &effects[..MOST_TOLD];
        assert!(most.is_sorted_by(|more, less| more >= less), "{effects:?}");
    }

    #[test]
    fn what_is_not_about_the_past_leaves_beliefs_as_they_are() {
        let mut programme = programme();
        programme.trials = 20;
        let inventory = fleet();
        let models = built_in().expect("valid models");
        let before = believe(&inventory, &models, &programme);
        for assumption in assumptions(&inventory, &models, &programme) {
            let [low, high] = assumption.range;
            assert!(
                low <= assumption.base && assumption.base <= high,
                "{assumption:?}"
            );
            assert!(low < high, "{assumption:?}");
            let (models, programme) = assumption.at(high, &models, &programme);
            let after = believe(&inventory, &models, &programme);
            let same = before.summaries == after.summaries;
            if !assumption.is_about_the_past {
                assert!(same, "{} changes beliefs", assumption.key);
            }
        }
    }

    #[test]
    fn poles_that_are_in_one_list_only_are_counted() {
        let list = |numbers: &[u32]| {
            numbers
                .iter()
                .map(|own| PoleIndex(*own))
                .collect::<Vec<_>>()
        };
        assert_eq!(only_in(&list(&[1, 3, 5]), &list(&[3, 4])), 2);
        assert_eq!(only_in(&list(&[]), &list(&[3])), 0);
    }
}
