//! Draws of whole poles: from the posterior for what stands now, from the curve for what is put in its place.
//!
//! What one pole's trials share is worked out once: the running sums of the posterior at each node of the shift, and those
//! of the combinations in each cell of service life. Uniform numbers come for a block of trials at a time.

use crate::belief::calibrate::SOIL_SHARE;
use crate::belief::evidence::PoleGrid;
use crate::belief::grid::{SHIFT_NODES, protected_share, running_sums};
use crate::belief::{Beliefs, Scratch};
use crate::chance::{Key, Purpose, Slot, open_unit};
use crate::inventory::Inventory;
use crate::maths::{ln, normal_quantile};
use crate::pole::{Mode, PoleIndex};
use crate::units::Mm;
use crate::wood::{Aging, FailureHazard, Wood};
use std::ops::Range;

use super::life::Specimen;

/// Attempts at a strength ratio with which the pole would still be standing. A pole that needs more is so decayed that
/// it fails in the first year of any trial.
const STRENGTH_ATTEMPTS: u16 = 64;

/// Trials whose uniform numbers are drawn together.
pub const BLOCK: usize = 64;

/// Steps of the share of a posterior for which it is kept where in the running sums it lies; a power of two, so that no
/// share is rounded.
const SIGNPOSTS: usize = 128;

/// What every trial draws of the pole that stands now.
const OF_THE_FIRST: [Purpose; 7] = [
    Purpose::Life,
    Purpose::Kind,
    Purpose::Strength,
    Purpose::Stood,
    Purpose::Clock,
    Purpose::Hidden,
    Purpose::Other,
];

/// The uniform numbers of one trial for the pole that stands now.
#[derive(Debug, Clone, Copy)]
struct Uniforms {
    life: f64,
    kind: f64,
    strength: f64,
    stood: f64,
    clock: f64,
    hidden: f64,
    other: f64,
}

impl Uniforms {
    /// From 32 bits each, in the order of [`OF_THE_FIRST`].
    fn of(bits: [u32; OF_THE_FIRST.len()]) -> Self {
        let [life, kind, strength, stood, clock, hidden, other] = bits.map(open_unit);
        Self {
            life,
            kind,
            strength,
            stood,
            clock,
            hidden,
            other,
        }
    }
}

/// What a pole's grid says at one node of the shift of one curve.
#[derive(Debug, Clone, Default)]
struct AtNode {
    /// Running sums of the posterior over the cells of service life.
    running: Vec<f64>,
    /// The cell in which each step of the share begins.
    signposts: Vec<u16>,
    /// Scales of the grid's parts: 0 for those of other curves.
    scales: Vec<f64>,
}

/// One curve that the pole may follow.
struct Curve {
    slot: usize,
    /// By node; empty until it is asked for.
    by_node: Vec<AtNode>,
}

/// The combinations of a grid by part, with the running sums of what was found in each cell of service life.
struct Rows {
    /// By part.
    of_part: Vec<Vec<usize>>,
    cells: usize,
    /// By node of the uncertain figures, part and cell: where its running sums begin in `sums`, once they have been asked for.
    starts: Vec<Option<u32>>,
    sums: Vec<f64>,
}

impl Rows {
    fn new(grid: &PoleGrid, cells: usize) -> Self {
        let mut of_part = vec![Vec::new(); grid.parts()];
        for row in 0..grid.combinations.len() {
            of_part[grid.part_of(row)].push(row);
        }
        Self {
            cells,
            starts: vec![None; grid.nodes() * of_part.len() * cells],
            of_part,
            sums: Vec::new(),
        }
    }

    /// The combination that a uniform draw picks, given the node of the uncertain figures, the cell of service life and the
    /// parts' scales: first the part, then, by what is left of the draw, the combination within it.
    fn pick(
        &mut self,
        grid: &PoleGrid,
        (figures, cell): (usize, usize),
        scales: &[f64],
        uniform: f64,
    ) -> usize {
        let (part, uniform) = pick_part(grid, (figures, cell), scales, uniform);
        let rows = &self.of_part[part];
        let place = (figures * self.of_part.len() + part) * self.cells + cell;
        let start = if let Some(start) = self.starts[place] {
            start as usize
        } else {
            let start = self.sums.len();
            self.starts[place] = Some(start as u32);
            let mut sum = 0.0;
            self.sums.extend(rows.iter().map(|row| {
                sum += grid.row(figures, *row)[cell];
                sum
            }));
            start
        };
        let sums = &self.sums[start..start + rows.len()];
        let wanted = uniform * sums.last().copied().unwrap_or(0.0);
        let found = sums.iter().position(|sum| *sum > wanted);
        rows[found.unwrap_or(rows.len() - 1)]
    }
}

/// The part that a uniform draw picks, given the cell of service life, and what is left of the draw, uniform again.
fn pick_part(
    grid: &PoleGrid,
    (figures, cell): (usize, usize),
    scales: &[f64],
    uniform: f64,
) -> (usize, f64) {
    if scales.len() == 1 {
        return (0, uniform);
    }
    let mass = |(part, scale): (usize, &f64)| scale * grid.found_of_part(figures, part)[cell];
    pick_share(scales.iter().enumerate().map(mass), uniform)
}

/// The cell in which each step of the share begins.
fn signposts(running: &[f64]) -> Vec<u16> {
    let total = running.last().copied().unwrap_or(0.0);
    let mut cell = 0;
    (0..SIGNPOSTS)
        .map(|step| {
            let wanted = step as f64 / SIGNPOSTS as f64 * total;
            while cell + 1 < running.len() && running[cell] < wanted {
                cell += 1;
            }
            cell as u16
        })
        .collect()
}

/// The place of the mass that a uniform draw picks, and what is left of the draw, uniform again.
fn pick_share(masses: impl Iterator<Item = f64> + Clone, uniform: f64) -> (usize, f64) {
    let mut left = uniform * masses.clone().sum::<f64>();
    let mut last = 0;
    for (place, mass) in masses.enumerate() {
        if left < mass {
            return (place, left / mass);
        }
        if mass > 0.0 {
            last = place;
        }
        left -= mass;
    }
    (last, 1.0 - f64::EPSILON)
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
    rows: Rows,
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
            by_node: vec![AtNode::default(); beliefs.cells[slot].nodes()],
        };
        Self {
            beliefs,
            scratch,
            hazard: beliefs.hazard_of(pole),
            key: Key::of(seed, inventory.id(pole)),
            area: beliefs.area(pole),
            curves: beliefs.curves(pole).into_iter().map(curve).collect(),
            rows: Rows::new(&scratch.grid, beliefs.lives.len()),
            new_slot,
            other_demand,
        }
    }

    /// The pole that stands now, in one trial.
    pub fn first(&mut self, trial: u32) -> Specimen {
        let bits = OF_THE_FIRST.map(|purpose| self.key.bits(trial, Slot::new(purpose, 0, 0)));
        self.specimen(trial, Uniforms::of(bits))
    }

    /// [`PlaceDraws::first`] of up to [`BLOCK`] trials.
    pub fn firsts(&mut self, trials: Range<u32>, specimens: &mut Vec<Specimen>) {
        let many = trials.len();
        let mut bits = [[0; BLOCK]; OF_THE_FIRST.len()];
        for (draws, purpose) in bits.iter_mut().zip(OF_THE_FIRST) {
            self.key
                .bits_of_trials(trials.start, Slot::new(purpose, 0, 0), &mut draws[..many]);
        }
        specimens.clear();
        for (place, trial) in trials.enumerate() {
            let own = std::array::from_fn(|purpose: usize| bits[purpose][place]);
            let uniforms = Uniforms::of(own);
            specimens.push(self.specimen(trial, uniforms));
        }
    }

    fn specimen(&mut self, trial: u32, uniforms: Uniforms) -> Specimen {
        let grid = &self.scratch.grid;
        let (curve, node, of_life) = self.curve(trial, uniforms.life);
        let at_node = &self.curves[curve].by_node[node];
        let from = at_node.signposts[(of_life * SIGNPOSTS as f64) as usize];
        let lives = &self.beliefs.lives;
        let (life, cell) = lives.life_of_share_from(&at_node.running, of_life, usize::from(from));
        let figures = node / SHIFT_NODES;
        let row = self
            .rows
            .pick(grid, (figures, cell), &at_node.scales, uniforms.kind);
        let combination = grid.combinations[row];
        let pole = combination.aging(life, &grid.upkeep);
        Specimen {
            wood: pole.wood,
            age: pole.age,
            strength_ratio: self.strength_of_standing(trial, &pole, uniforms),
            // Of recorded treatments the records may say something; of others they cannot.
            clock_factor: if grid.upkeep.is_slowed(pole.wood.mode) {
                pole.factor
            } else {
                self.beliefs.clock_factor().at(uniforms.clock)
            },
            hidden: uniforms.hidden < grid.hidden_share(figures, row, cell),
            // Events are seen at the middles of years: half a year back makes the first year a whole one.
            other_end: combination.age - 0.5 + self.years_to_other_end(uniforms.other),
        }
    }

    /// The curve that the pole follows in one trial and the node of its shift, made ready, by a uniform draw and what the
    /// records say of each curve; and what is left of the draw, uniform again.
    fn curve(&mut self, trial: u32, uniform: f64) -> (usize, usize, f64) {
        if self.curves.len() == 1 {
            return (0, self.node(0, trial), uniform);
        }
        let nodes: Vec<usize> = (0..self.curves.len())
            .map(|curve| self.node(curve, trial))
            .collect();
        let total = |(curve, node): (&Curve, &usize)| {
            curve.by_node[*node].running.last().copied().unwrap_or(0.0)
        };
        let totals = self.curves.iter().zip(&nodes).map(total);
        let (curve, left) = pick_share(totals, uniform);
        (curve, nodes[curve], left)
    }

    /// The node of the shift of one curve in one trial, made ready.
    fn node(&mut self, number: usize, trial: u32) -> usize {
        let draws = &self.beliefs.calibration.draws;
        let curve = &mut self.curves[number];
        let area = draws.area[self.area][trial as usize];
        let steps = draws.theta[curve.slot][trial as usize] + area;
        let node = draws.node(trial as usize, steps);
        if curve.by_node[node].running.is_empty() {
            let grid = &self.scratch.grid;
            let prior = self.beliefs.cells[curve.slot].prior(node);
            let mut scales = vec![0.0; grid.parts()];
            let figures = node / SHIFT_NODES;
            let own = grid.scales(number, figures, prior);
            scales[grid.parts_of_curve(number)].copy_from_slice(&own);
            let mass: Vec<f64> = prior
                .iter()
                .zip(grid.found_by_life(figures, &scales))
                .map(|(mass, found)| mass * found)
                .collect();
            let running = running_sums(&mass);
            curve.by_node[node] = AtNode {
                signposts: signposts(&running),
                running,
                scales,
            };
        }
        node
    }

    /// The pole set as generation `generation`, `years` after the plan date, where one of `diameter` stood.
    pub fn next(&self, trial: u32, generation: u8, years: f64, diameter: Mm) -> Specimen {
        let draws = &self.beliefs.calibration.draws;
        let soil = (SOIL_SHARE * f64::from(draws.area[self.area][trial as usize])).round() as i32;
        let used = &self.beliefs.cells[self.new_slot];
        let node = draws.node(
            trial as usize,
            draws.theta[self.new_slot][trial as usize] + soil,
        );
        let figures = &self.beliefs.figures[node / SHIFT_NODES];
        let cell = figures.applied(&used.cell);
        let uniform = |purpose, number| {
            self.key
                .uniform(trial, Slot::new(purpose, generation, number))
        };
        let (life, _) = self
            .beliefs
            .lives
            .life_of_share(used.prior_sums(node), uniform(Purpose::Life, 0));
        let internal = uniform(Purpose::Kind, 1) < used.cell.internal_share;
        Specimen {
            wood: Wood {
                life,
                protected: protected_share(&cell, normal_quantile(uniform(Purpose::Kind, 0))),
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
            hidden: uniform(Purpose::Hidden, 0) < figures.detection.hidden_share,
            other_end: self.years_to_other_end(uniform(Purpose::Other, 0)),
            clock_factor: self.beliefs.clock_factor().at(uniform(Purpose::Clock, 0)),
        }
    }

    /// A strength ratio, given that the pole has stood to this age: drawn from all poles and kept with the probability
    /// of having stood.
    fn strength_of_standing(&self, trial: u32, pole: &Aging<'_>, first: Uniforms) -> f64 {
        let hazard = self.hazard;
        let (mut strength, mut keep) = (first.strength, first.stood);
        let mut attempt = 0;
        loop {
            let ratio = hazard.strength_ratio(strength);
            attempt += 1;
            if attempt == STRENGTH_ATTEMPTS
                || ln(keep) < -hazard.cumulative_through(pole, ratio, 0.0)
            {
                return ratio;
            }
            let uniform = |purpose| self.key.uniform(trial, Slot::new(purpose, 0, attempt));
            (strength, keep) = (uniform(Purpose::Strength), uniform(Purpose::Stood));
        }
    }

    fn years_to_other_end(&self, uniform: f64) -> f64 {
        if self.other_demand <= 0.0 {
            return f64::INFINITY;
        }
        -ln(uniform) / self.other_demand
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::belief::grid::LifeGrid;

    #[test]
    fn signposts_lead_to_the_life_that_a_search_finds() {
        let lives = LifeGrid::new(64);
        for nothing_every in [1, 2, 5] {
            // Cells without mass, many of them at both ends.
            let mass = |cell: i32| {
                f64::from(i32::from(cell % nothing_every == 0) * (32 - (cell - 30).abs()).max(0))
            };
            let running = running_sums(&(0..64).map(mass).collect::<Vec<_>>());
            let signposts = signposts(&running);
            for step in 0..5000 {
                let share = (f64::from(step) + 0.5) / 5000.0;
                let from = usize::from(signposts[(share * SIGNPOSTS as f64) as usize]);
                assert_eq!(
                    lives.life_of_share_from(&running, share, from),
                    lives.life_of_share(&running, share)
                );
            }
        }
    }

    #[test]
    fn a_share_of_several_masses_is_picked_and_the_rest_is_uniform_again() {
        let masses = [0.0, 2.0, 0.0, 6.0, 0.0];
        let pick = |uniform| pick_share(masses.into_iter(), uniform);
        assert_eq!(pick(0.125), (1, 0.5));
        assert_eq!(pick(0.25), (3, 0.0));
        assert_eq!(pick(0.625), (3, 0.5));
        // A draw that rounding takes beyond the end belongs to the last that has mass.
        assert_eq!(pick(1.0).0, 3);
    }
}
