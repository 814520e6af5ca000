//! Draws of whole poles: from the posterior for what stands now, from the curve for what is put in its place.

use crate::belief::calibrate::SOIL_SHARE;
use crate::belief::grid::{node_of_steps, protected_share, running_sums};
use crate::belief::{Beliefs, Scratch};
use crate::chance::{Key, Purpose, Slot};
use crate::inventory::Inventory;
use crate::maths::{ln, normal_quantile};
use crate::pole::{Mode, PoleIndex};
use crate::units::Mm;
use crate::wood::{Aging, FailureHazard, Wood};

use super::life::Specimen;

/// Attempts at a strength ratio with which the pole would still be standing. A pole that needs more is so decayed that
/// it fails in the first year of any trial.
const STRENGTH_ATTEMPTS: u16 = 64;

/// What a pole's grid says at one node of the shift of one curve.
#[derive(Debug, Clone, Default)]
struct AtNode {
    /// Running sums of the posterior over the cells of service life.
    running: Vec<f64>,
    /// Scales of the grid's parts: 0 for those of other curves.
    scales: Vec<f64>,
}

/// One curve that the pole may follow.
struct Curve {
    slot: usize,
    /// By node; empty until it is asked for.
    by_node: Vec<AtNode>,
}

/// Everything that is drawn for one place in the line.
pub struct PlaceDraws<'a> {
    beliefs: &'a Beliefs,
    scratch: &'a Scratch,
    /// Failure in wind of what stands here.
    hazard: &'a FailureHazard,
    /// The place's own draws.
    pub key: Key,
    area: usize,
    curves: Vec<Curve>,
    new_slot: usize,
    other_demand: f64,
}

impl<'a> PlaceDraws<'a> {
    /// Draws for `pole`, whose grid is in `scratch`; replacements are of the cell in slot `new_slot`.
    pub fn new(
        beliefs: &'a Beliefs,
        inventory: &Inventory,
        pole: PoleIndex,
        scratch: &'a Scratch,
        seed: u64,
        new_slot: usize,
        other_demand: f64,
    ) -> Self {
        let curve = |(slot, _): (usize, f64)| Curve {
            slot,
            by_node: vec![AtNode::default(); beliefs.cells[slot].prior_sums.len()],
        };
        Self {
            beliefs,
            scratch,
            hazard: beliefs.hazard_of(pole),
            key: Key::of(seed, inventory.id(pole)),
            area: beliefs.area(pole),
            curves: beliefs.curves(pole).into_iter().map(curve).collect(),
            new_slot,
            other_demand,
        }
    }

    /// The pole that stands now, in one trial.
    pub fn first(&mut self, trial: u32) -> Specimen {
        let grid = &self.scratch.grid;
        let nodes = self.nodes(trial);
        let uniform = |purpose| self.key.uniform(trial, Slot::new(purpose, 0, 0));
        let (curve, of_life) = self.pick_curve(&nodes, uniform(Purpose::Life));
        let at_node = &self.curves[curve].by_node[nodes[curve]];
        let (life, cell) = self.beliefs.lives.life_of_share(&at_node.running, of_life);
        let row = grid.pick(cell, &at_node.scales, uniform(Purpose::Kind));
        let combination = grid.combinations[row];
        let pole = combination.aging(life, &grid.upkeep);
        let factors = &self.beliefs.clock_factor();
        Specimen {
            wood: pole.wood,
            age: pole.age,
            strength_ratio: self.strength_of_standing(trial, &pole),
            // Of recorded treatments the records may say something; of others they cannot.
            clock_factor: if grid.upkeep.is_slowed(pole.wood.mode) {
                pole.factor
            } else {
                factors.at(uniform(Purpose::Clock))
            },
            hidden: uniform(Purpose::Hidden) < grid.hidden_share(row, cell),
            // Events are seen at the middles of years: half a year back makes the first year a whole one.
            other_end: combination.age - 0.5 + self.years_to_other_end(trial, 0),
        }
    }

    /// The node of the shift of every curve in one trial, made ready.
    fn nodes(&mut self, trial: u32) -> Vec<usize> {
        let draws = &self.beliefs.calibration.draws;
        let area = draws.area[self.area][trial as usize];
        let grid = &self.scratch.grid;
        let mut nodes = Vec::with_capacity(self.curves.len());
        for (number, curve) in self.curves.iter_mut().enumerate() {
            let node = node_of_steps(draws.theta[curve.slot][trial as usize] + area);
            let prior = self.beliefs.cells[curve.slot].prior(node);
            if curve.by_node[node].running.is_empty() {
                let mut scales = vec![0.0; grid.parts()];
                scales[grid.parts_of_curve(number)].copy_from_slice(&grid.scales(number, prior));
                let mass: Vec<f64> = prior
                    .iter()
                    .zip(grid.found_by_life(&scales))
                    .map(|(mass, found)| mass * found)
                    .collect();
                curve.by_node[node] = AtNode {
                    running: running_sums(&mass),
                    scales,
                };
            }
            nodes.push(node);
        }
        nodes
    }

    /// The curve that a uniform draw picks by what the records say of each, and what is left of the draw, uniform again.
    fn pick_curve(&self, nodes: &[usize], uniform: f64) -> (usize, f64) {
        if self.curves.len() == 1 {
            return (0, uniform);
        }
        let total = |(curve, node): (&Curve, &usize)| {
            curve.by_node[*node].running.last().copied().unwrap_or(0.0)
        };
        let totals: Vec<f64> = self.curves.iter().zip(nodes).map(total).collect();
        let mut left = uniform * totals.iter().sum::<f64>();
        for (curve, total) in totals.iter().enumerate() {
            if left < *total {
                return (curve, left / total);
            }
            left -= total;
        }
        (totals.len() - 1, 1.0 - f64::EPSILON)
    }

    /// The pole set as generation `generation`, `years` after the plan date, where one of `diameter` stood.
    pub fn next(&self, trial: u32, generation: u8, years: f64, diameter: Mm) -> Specimen {
        let draws = &self.beliefs.calibration.draws;
        let soil = (SOIL_SHARE * f64::from(draws.area[self.area][trial as usize])).round() as i32;
        let used = &self.beliefs.cells[self.new_slot];
        let node = node_of_steps(draws.theta[self.new_slot][trial as usize] + soil);
        let uniform = |purpose, number| {
            self.key
                .uniform(trial, Slot::new(purpose, generation, number))
        };
        let (life, _) = self
            .beliefs
            .lives
            .life_of_share(&used.prior_sums[node], uniform(Purpose::Life, 0));
        let internal = uniform(Purpose::Kind, 1) < used.cell.internal_share;
        Specimen {
            wood: Wood {
                life,
                protected: protected_share(&used.cell, normal_quantile(uniform(Purpose::Kind, 0))),
                mode: if internal {
                    Mode::Internal
                } else {
                    Mode::External
                },
                diameter,
            },
            age: -years,
            strength_ratio: self
                .beliefs
                .hazard
                .strength_ratio(uniform(Purpose::Strength, 0)),
            hidden: uniform(Purpose::Hidden, 0) < self.beliefs.detection.hidden_share,
            other_end: self.years_to_other_end(trial, generation),
            clock_factor: self.beliefs.clock_factor().at(uniform(Purpose::Clock, 0)),
        }
    }

    /// A strength ratio, given that the pole has stood to this age: drawn from all poles and kept with the probability
    /// of having stood.
    fn strength_of_standing(&self, trial: u32, pole: &Aging<'_>) -> f64 {
        let hazard = self.hazard;
        let mut ratio = 1.0;
        for attempt in 0..STRENGTH_ATTEMPTS {
            ratio = hazard.strength_ratio(
                self.key
                    .uniform(trial, Slot::new(Purpose::Strength, 0, attempt)),
            );
            let keep = self
                .key
                .uniform(trial, Slot::new(Purpose::Stood, 0, attempt));
            let stood = -hazard.cumulative_through(pole, ratio, 0.0);
            if ln(keep) < stood {
                break;
            }
        }
        ratio
    }

    fn years_to_other_end(&self, trial: u32, generation: u8) -> f64 {
        if self.other_demand <= 0.0 {
            return f64::INFINITY;
        }
        -ln(self
            .key
            .uniform(trial, Slot::new(Purpose::Other, generation, 0)))
            / self.other_demand
    }
}
