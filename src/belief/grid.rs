//! The grid on which a pole's unknowns are weighed: service life x (install year, protected share, mode, diameter).
//!
//! Lives lie in cells that are equally wide in ln T. Likelihoods are evaluated at the middle of a cell, mass is spread
//! uniformly in ln T within it, and probabilities interpolate (model section 3).

use crate::maths::{exp, ln, normal_pdf};
use crate::models::Cell;
use crate::pole::Mode;
use crate::units::Mm;
use crate::wood::progress::PROTECTED_RANGE;
use crate::wood::{Aging, Upkeep, Wood};

/// Shortest life of the grid, years; what lies below belongs to the first cell.
const SHORTEST_LIFE: f64 = 1.0;
/// Longest life of the grid, years; what lies beyond belongs to the last cell.
const LONGEST_LIFE: f64 = 700.0;
/// Cells of service life. Halving their width moves no probability by more than 0.005 (tested).
pub const LIFE_CELLS: usize = 320;

/// Distance between nodes of the shift of ln life.
pub const SHIFT_STEP: f64 = 0.025;
/// Nodes on each side of no shift.
pub const SHIFT_REACH: usize = 80;
/// All nodes of the shift.
pub const SHIFT_NODES: usize = 2 * SHIFT_REACH + 1;

/// The shift at a node.
pub fn shift_at(node: usize) -> f64 {
    (node as f64 - SHIFT_REACH as f64) * SHIFT_STEP
}

/// The place of a node of the uncertain figures and a node of the shift among all their combinations.
pub fn node_at(figures: usize, shift: usize) -> usize {
    figures * SHIFT_NODES + shift
}

/// The node nearest to a shift given in steps.
pub fn node_of_steps(steps: i32) -> usize {
    (steps + SHIFT_REACH as i32).clamp(0, SHIFT_NODES as i32 - 1) as usize
}

/// Nodes that stand for a normally distributed unknown.
pub const NORMAL_NODES: usize = 9;
/// Distance between those nodes, standard deviations.
const NORMAL_STEP: f64 = 0.8;

/// Nodes (in standard deviations) and weights that stand for a normally distributed unknown: the trapezoidal rule from
/// -3.2 to 3.2.
///
/// Evenly spaced nodes, because the curves of inspection have a kink at the onset of decay: seven Gauss-Hermite nodes,
/// exact for polynomials, were off by 0.01 in the probability of a pole whose decay was seen early; these are not.
pub fn normal_nodes() -> [(f64, f64); NORMAL_NODES] {
    let node = |index: usize| (index as f64 - (NORMAL_NODES / 2) as f64) * NORMAL_STEP;
    let total: f64 = (0..NORMAL_NODES).map(|index| normal_pdf(node(index))).sum();
    std::array::from_fn(|index| (node(index), normal_pdf(node(index)) / total))
}

/// The protected share `z` standard deviations from its cell's mean.
pub fn protected_share(cell: &Cell, z: f64) -> f64 {
    (cell.protected_mean + cell.protected_sd * z).clamp(PROTECTED_RANGE.0, PROTECTED_RANGE.1)
}

/// Cells of service life, equally wide in ln T.
#[derive(Debug, Clone, PartialEq)]
pub struct LifeGrid {
    start: f64,
    width: f64,
    middles: Vec<f64>,
}

impl LifeGrid {
    /// A grid of `cells` cells from the shortest to the longest life.
    pub fn new(cells: usize) -> Self {
        let start = ln(SHORTEST_LIFE);
        let width = (ln(LONGEST_LIFE) - start) / cells as f64;
        let middles = (0..cells)
            .map(|cell| exp(start + width * (cell as f64 + 0.5)))
            .collect();
        Self {
            start,
            width,
            middles,
        }
    }

    /// Number of cells.
    pub fn len(&self) -> usize {
        self.middles.len()
    }

    /// A grid always has cells.
    pub fn is_empty(&self) -> bool {
        self.middles.is_empty()
    }

    /// The lives at the middles of the cells, years.
    pub fn middles(&self) -> &[f64] {
        &self.middles
    }

    /// The life at a place of the grid: `2.5` is the middle of the third cell.
    pub fn life_at(&self, place: f64) -> f64 {
        exp(self.start + self.width * place)
    }

    /// Number of the first cell whose middle is at least `life`.
    pub fn first_from(&self, life: f64) -> usize {
        self.middles.partition_point(|middle| *middle < life)
    }

    /// Prior mass of every cell, for the poles of a curve cell at a shift.
    pub fn prior(&self, cell: &Cell, shift: f64) -> Vec<f64> {
        let last = self.len() - 1;
        let mut below = 0.0;
        (0..self.len())
            .map(|index| {
                let upto = if index == last {
                    1.0
                } else {
                    cell.life.cdf(self.life_at(index as f64 + 1.0), shift)
                };
                let mass = (upto - below).max(0.0);
                below = upto;
                mass
            })
            .collect()
    }

    /// Mass of lives of at most `life`, from running sums over the cells (`running[i]`: mass below cell `i`'s upper
    /// edge), spread uniformly in ln T within a cell.
    pub fn mass_below(&self, running: &[f64], life: f64) -> f64 {
        let place = (ln(life.max(1e-9)) - self.start) / self.width;
        if place <= 0.0 {
            return 0.0;
        }
        let cell = place as usize;
        if cell >= running.len() {
            return running.last().copied().unwrap_or(0.0);
        }
        let before = if cell == 0 { 0.0 } else { running[cell - 1] };
        before + (running[cell] - before) * (place - cell as f64)
    }

    /// The life below which the share `p` of the mass lies, and the number of its cell.
    pub fn life_of_share(&self, running: &[f64], p: f64) -> (f64, usize) {
        let wanted = p * running.last().copied().unwrap_or(0.0);
        let cell = running.partition_point(|sum| *sum < wanted);
        self.life_within(running, cell, wanted)
    }

    /// [`Self::life_of_share`] where it is known that the cell is `from` or one soon after it.
    #[inline]
    pub fn life_of_share_from(&self, running: &[f64], p: f64, from: usize) -> (f64, usize) {
        let wanted = p * running.last().copied().unwrap_or(0.0);
        let ahead = running[from..].iter().position(|sum| *sum >= wanted);
        self.life_within(
            running,
            ahead.map_or(running.len(), |far| from + far),
            wanted,
        )
    }

    /// The life below which `wanted` of the mass lies, in this cell.
    #[inline]
    fn life_within(&self, running: &[f64], cell: usize, wanted: f64) -> (f64, usize) {
        let cell = cell.min(running.len() - 1);
        let before = if cell == 0 { 0.0 } else { running[cell - 1] };
        let inside = running[cell] - before;
        let within = if inside > 0.0 {
            ((wanted - before) / inside).clamp(0.0, 1.0)
        } else {
            0.5
        };
        (self.life_at(cell as f64 + within), cell)
    }
}

/// Running sums.
pub fn running_sums(mass: &[f64]) -> Vec<f64> {
    mass.iter()
        .scan(0.0, |sum, part| {
            *sum += part;
            Some(*sum)
        })
        .collect()
}

/// Everything about a pole that is unknown beside its service life: one node of each, with its prior weight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Combination {
    /// Prior weight; the combinations of a pole sum to one.
    pub weight: f64,
    /// Age at the plan date, years.
    pub age: f64,
    /// Protected share.
    pub protected: f64,
    /// Decay mode.
    pub mode: Mode,
    /// Groundline diameter when new.
    pub diameter: Mm,
    /// Clock factor of the remedial treatments that reach the mode.
    pub factor: f64,
    /// Which of the curves that the pole may follow.
    pub curve: u8,
}

impl Combination {
    /// The wood of this combination with a service life.
    pub fn wood(&self, life: f64) -> Wood {
        Wood {
            life,
            protected: self.protected,
            mode: self.mode,
            diameter: self.diameter,
        }
    }

    /// The state of a pole with this combination, a service life and what is done to keep it.
    pub fn aging<'u>(&self, life: f64, upkeep: &'u Upkeep) -> Aging<'u> {
        Aging {
            wood: self.wood(life),
            age: self.age,
            upkeep,
            factor: self.factor,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nodes_have_the_moments_of_a_normal() {
        // Mean 0, variance 1, fourth moment 3; cutting the tails at 3.6 takes 0.0034 and 0.06 away.
        for (power, moment, cut) in [
            (0, 1.0, 1e-12),
            (1, 0.0, 1e-12),
            (2, 1.0, 0.0035),
            (4, 3.0, 0.06),
        ] {
            let sum: f64 = normal_nodes().iter().map(|(z, w)| w * z.powi(power)).sum();
            assert!((sum - moment).abs() <= cut, "moment {power}: {sum}");
        }
    }

    #[test]
    fn a_share_of_the_mass_is_found_where_it_was_put() {
        let grid = LifeGrid::new(64);
        let mass: Vec<f64> = (0..64).map(|cell| f64::from(cell % 5)).collect();
        let running = running_sums(&mass);
        let total = running[63];
        for p in [0.01, 0.3, 0.77, 0.999] {
            let (life, _) = grid.life_of_share(&running, p);
            assert!(
                (grid.mass_below(&running, life) / total - p).abs() < 1e-9,
                "{p}"
            );
            for from in [0, 1] {
                assert_eq!(
                    grid.life_of_share_from(&running, p, from),
                    grid.life_of_share(&running, p)
                );
            }
        }
    }
}
