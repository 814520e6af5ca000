//! The chance that one later look finds a pole below the limit, from what was known before it.
//!
//! Summed over the pole's grid ([`crate::belief::evidence::PoleGrid`]) with the curves of model section 2. A list of
//! survivors shows a reject only while the pole still stands in it: for every state the chance of *condemned here and
//! still listed* is divided by that of *listed after all its later looks*, the same reckoning as in the denominator of
//! the calibration (model section 4).

use crate::belief::evidence::mean;
use crate::belief::grid::{Combination, SHIFT_NODES};
use crate::belief::{Beliefs, Scratch};
use crate::inventory::Inventory;
use crate::pole::{Inspection, Method, PoleIndex};
use crate::programme::Programme;
use crate::units::years_between;
use crate::wood::strength::limit_progress;
use crate::wood::{Detection, FailureHazard, Wood};

/// Nodes of the shift with less probability than this change nothing.
const LEAST_NODE: f64 = 1e-9;

/// Which poles a list holds, as far as looks later than what was known are concerned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Holds {
    /// Those still in service: of the poles condemned since, most have left it.
    Survivors,
    /// Also every pole removed since.
    Removed,
}

/// The forecast of one look.
#[derive(Debug, Clone, PartialEq)]
pub struct Chances {
    /// Chance that it finds the pole below the limit, among poles of which the list still tells.
    pub listed: f64,
    /// The same as it would be if no condemned pole ever left the list: what a ranking goes by.
    pub all: f64,
    /// [`Self::listed`] at every node of the shift.
    pub by_node: Vec<f32>,
}

/// One later look, made ready for one section.
struct Later {
    years_ago: f64,
    method: Method,
    sees_hidden: bool,
    limit: f64,
    still_listed: f64,
}

impl Later {
    fn new(look: &Inspection, programme: &Programme, holds: Holds, row: &Combination) -> Self {
        let years_ago = years_between(look.date, programme.plan_from);
        Self {
            years_ago,
            method: look.method,
            sees_hidden: !Detection::hides_from(look.method),
            limit: limit_progress(&programme.rejects, look.date, row.mode, row.diameter),
            still_listed: match holds {
                Holds::Survivors => programme.removals.still_listed(years_ago),
                Holds::Removed => 1.0,
            },
        }
    }

    /// Chance that it condemns a pole of this wood, whose decay may be hidden, where inspections see so.
    fn condemns(&self, sees: &Detection, wood: &Wood, age: f64, hidden: bool) -> f64 {
        let progress = if hidden && !self.sees_hidden {
            0.0
        } else {
            wood.progress(age - self.years_ago)
        };
        sees.of(self.method).rejected(progress, self.limit)
    }
}

/// What the looks make of one state: chance of being condemned at the target; of that and still listed; of being listed.
struct Fate {
    condemned: f64,
    condemned_and_listed: f64,
    listed: f64,
}

fn fate(looks: &[Later], target: usize, condemns: impl Fn(&Later) -> f64) -> Fate {
    let (mut passed, mut listed) = (1.0, 0.0);
    let mut at_target = (0.0, 0.0);
    for (place, look) in looks.iter().enumerate() {
        let chance = condemns(look);
        if place == target {
            at_target = (chance, passed * chance * look.still_listed);
        }
        listed += passed * chance * look.still_listed;
        passed *= 1.0 - chance;
    }
    Fate {
        condemned: at_target.0,
        condemned_and_listed: at_target.1,
        listed: listed + passed,
    }
}

/// Sums over the states of one curve and age, by cell of service life.
#[derive(Clone)]
struct Sums {
    all: Vec<f64>,
    found: Vec<f64>,
    /// Without what being listed after the later looks says.
    bare: Vec<f64>,
    bare_found: Vec<f64>,
}

/// The forecast of the look `later[target]` at a pole of `known`, of which `beliefs` hold what was known before;
/// `later` are the looks after that, in order.
pub fn chances(
    beliefs: &Beliefs,
    (known, pole): (&Inventory, PoleIndex),
    programme: &Programme,
    holds: Holds,
    (later, target): (&[Inspection], usize),
    scratch: &mut Scratch,
) -> Chances {
    beliefs.fill_grid(known, pole, scratch);
    let hazard = beliefs.hazard_of(pole);
    let sums = sums(beliefs, hazard, programme, holds, (later, target), scratch);
    let curves = beliefs.curves(pole);
    let mixed = curves.len() > 1;
    let mut chances = Chances {
        listed: 0.0,
        all: 0.0,
        by_node: vec![0.0; beliefs.nodes()],
    };
    // Of the looks that find and of all looks: among the listed, and among all.
    let mut totals = [(0.0, 0.0); 2];
    for (curve, (slot, _)) in curves.into_iter().enumerate() {
        for (node, weight) in beliefs.shift_of(pole, slot).iter().enumerate() {
            if *weight < LEAST_NODE {
                continue;
            }
            let prior = beliefs.cells[slot].prior(node);
            let figures = node / SHIFT_NODES;
            let scales = scratch.grid.scales(curve, figures, prior);
            let parts = &sums[figures][scratch.grid.parts_of_curve(curve)];
            let sum = |of: fn(&Sums) -> &Vec<f64>| -> f64 {
                let parts = parts.iter().zip(&scales);
                parts.map(|(own, scale)| scale * mean(prior, of(own))).sum()
            };
            let listed = (sum(|own| &own.found), sum(|own| &own.all));
            let bare = (sum(|own| &own.bare_found), sum(|own| &own.bare));
            // The shifts of a mixture have not learned from its own records, those of a pole of known kind have.
            let own = |whole: f64| match mixed {
                true => *weight,
                false if whole > 0.0 => weight / whole,
                false => 0.0,
            };
            chances.by_node[node] = share(listed) as f32;
            for (total, part) in totals.iter_mut().zip([listed, bare]) {
                total.0 += own(part.1) * part.0;
                total.1 += own(part.1) * part.1;
            }
        }
    }
    [chances.listed, chances.all] = totals.map(share);
    // Where no draw should go the mean stands in; so it does for a mixture, whose curves have a node each.
    for (node, weight) in beliefs
        .shift_of(pole, beliefs.slot(pole))
        .iter()
        .enumerate()
    {
        if mixed || *weight < LEAST_NODE {
            chances.by_node[node] = chances.listed as f32;
        }
    }
    chances
}

/// A part of a whole; nothing of nothing.
fn share((part, whole): (f64, f64)) -> f64 {
    if whole > 0.0 { part / whole } else { 0.0 }
}

fn sums(
    beliefs: &Beliefs,
    hazard: &FailureHazard,
    programme: &Programme,
    holds: Holds,
    (later, target): (&[Inspection], usize),
    scratch: &Scratch,
) -> Vec<Vec<Sums>> {
    let grid = &scratch.grid;
    let cells = beliefs.lives.len();
    let empty = Sums {
        all: vec![0.0; cells],
        found: vec![0.0; cells],
        bare: vec![0.0; cells],
        bare_found: vec![0.0; cells],
    };
    let mut by_part = vec![vec![empty; grid.parts()]; grid.nodes()];
    for (number, row) in grid.combinations.iter().enumerate() {
        let looks: Vec<Later> = later
            .iter()
            .map(|look| Later::new(look, programme, holds, row))
            .collect();
        let part = grid.part_of(number);
        for cell in 0..cells {
            if (0..grid.nodes()).all(|node| grid.row(node, number)[cell] <= 0.0) {
                continue;
            }
            let wood = row.wood(beliefs.lives.middles()[cell]);
            let stands = still_stands(hazard, holds, &wood, row.age, -looks[target].years_ago);
            for (node, by_part) in by_part.iter_mut().enumerate() {
                let sees = &beliefs.figures[node].detection;
                let fates = [false, true].map(|is_hidden| {
                    fate(&looks, target, |look| {
                        look.condemns(sees, &wood, row.age, is_hidden)
                    })
                });
                let mass = grid.row(node, number)[cell] * stands;
                let hidden = grid.hidden_share(node, number, cell);
                let own = &mut by_part[part];
                for (share, fate) in [1.0 - hidden, hidden].into_iter().zip(&fates) {
                    let part = share * mass;
                    let bare = part / fate.listed;
                    own.all[cell] += part;
                    own.found[cell] += bare * fate.condemned_and_listed;
                    own.bare[cell] += bare;
                    own.bare_found[cell] += bare * fate.condemned;
                }
            }
        }
    }
    by_part
}

/// Chance that a pole of this wood stands until the look. Survivors stand today, long after it, and the grid knows that.
fn still_stands(hazard: &FailureHazard, holds: Holds, wood: &Wood, age: f64, years: f64) -> f64 {
    if holds == Holds::Survivors {
        return 1.0;
    }
    let to = |age: f64| hazard.standing(wood.mode, age, wood.onset(), wood.years_to_reference());
    let now = to(age);
    if now > 0.0 {
        to(age + years) / now
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wood::MethodDetection;

    fn look(still_listed: f64) -> Later {
        Later {
            years_ago: 0.0,
            method: Method::SoundAndBore,
            sees_hidden: false,
            limit: 1.0,
            still_listed,
        }
    }

    #[test]
    fn a_condemned_pole_is_seen_only_while_it_is_listed() {
        // Each look condemns with 0.2; of those of the second, the target, a quarter are still listed, of those of the
        // first a tenth, of the third a half: 0.8 x 0.2 x 0.25 = 0.04 of
        // 0.02 + 0.04 + 0.64 x 0.2 x 0.5 + 0.64 x 0.8 = 0.636.
        let looks = [look(0.1), look(0.25), look(0.5)];
        let fate = fate(&looks, 1, |_| 0.2);
        assert!((fate.condemned_and_listed - 0.04).abs() < 1e-12);
        assert!((fate.listed - 0.636).abs() < 1e-12);
        assert!((fate.condemned - 0.2).abs() < 1e-12);
    }

    #[test]
    fn hidden_decay_is_not_condemned() {
        let wood = Wood {
            life: 50.0,
            protected: 0.5,
            mode: crate::pole::Mode::External,
            diameter: crate::units::Mm(300.0),
        };
        let sees = Detection {
            methods: [MethodDetection {
                sensitivity: 0.5,
                false_find: 0.0,
                false_reject: 0.0,
                measure_sd_mm: [2.8, 7.0],
                verdict_sd: 0.3,
            }; Method::ALL.len()],
            hidden_share: 0.0,
        };
        let condemns = |hidden| look(1.0).condemns(&sees, &wood, 50.0, hidden);
        // At its service life progress is 1: half is seen, half of that judged below the limit.
        assert!((condemns(false) - 0.25).abs() < 1e-9);
        assert!(condemns(true).abs() < 1e-12);
    }
}
