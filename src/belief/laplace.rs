//! The evidence of all findings together at one node of the uncertain figures: what is left when theta and b are summed
//! over, by Laplace's approximation around their joint mode (Tierney and Kadane, Journal of the American Statistical
//! Association 81, 1986: memory).
//!
//! Only differences between nodes are used, in which most of the approximation's error cancels. Knows tables of ln Z and
//! priors, nothing of poles.

use super::covariance::{Matrix, Root};
use super::kinship::Kinship;
use super::shifts::{FIXED_POINT, Pair};
use crate::maths::ln;

/// Steps of Newton's method; each at most [`LONGEST`] long.
const ROUNDS: u32 = 30;
const LONGEST: f64 = 0.15;
/// Below this step the mode is found.
const CLOSE: f64 = 1e-7;

/// Tables of ln Z: value at the middle node is that of no shift.
#[derive(Debug, Clone, Copy)]
pub(super) struct Tables<'a> {
    /// By area and cell.
    pub pairs: &'a [Pair],
    /// Distance between nodes of the shift.
    pub step: f64,
    /// Nodes to each side over which a table is bent by a parabola.
    pub stride: usize,
    /// The joint prior of theta.
    pub kinship: &'a Kinship,
    /// Standard deviation of b, and the number of areas.
    pub area_sd: f64,
    pub areas: usize,
}

/// What findings say at one node.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Mode {
    /// ln of the evidence, up to a constant that is the same for all tables of the same pairs and priors.
    pub ln_evidence: f64,
    /// Most likely shifts of the curves, by slot.
    pub theta: Vec<f64>,
    /// Most likely shifts of the areas.
    pub area: Vec<f64>,
}

/// The joint mode and the evidence around it.
pub(super) fn mode(tables: &Tables<'_>) -> Mode {
    let mut theta = vec![0.0; tables.kinship.len()];
    let mut area = vec![0.0; tables.areas];
    let mut found = Newton::at(tables, &theta, &area);
    for _ in 0..ROUNDS {
        let (of_theta, of_area) = found.step();
        let longest = of_theta
            .iter()
            .chain(&of_area)
            .fold(0.0_f64, |most, part| most.max(part.abs()));
        let scale = (LONGEST / longest.max(LONGEST)).min(1.0);
        for (value, part) in theta.iter_mut().zip(&of_theta) {
            *value += scale * part;
        }
        for (value, part) in area.iter_mut().zip(&of_area) {
            *value += scale * part;
        }
        found = Newton::at(tables, &theta, &area);
        if longest < CLOSE {
            break;
        }
    }
    Mode {
        ln_evidence: found.value - 0.5 * found.ln_determinant,
        theta,
        area,
    }
}

/// Value, slopes and bends of the joint ln density at one place.
struct Newton {
    value: f64,
    slope_theta: Vec<f64>,
    slope_area: Vec<f64>,
    /// Bends of areas, and of cells with areas by (slot, area, bend).
    area: Vec<f64>,
    joint: Vec<(usize, usize, f64)>,
    /// Root of the bends of cells when areas are summed over.
    cells: Option<Root>,
    ln_determinant: f64,
}

impl Newton {
    fn at(tables: &Tables<'_>, theta: &[f64], area: &[f64]) -> Self {
        let mut value = 0.0;
        let precision = |sd: f64| 1.0 / (sd * sd).max(1e-6);
        let of_area = precision(tables.area_sd);
        let mut cells: Matrix = tables.kinship.precision_of_shifts();
        let mut slope_theta: Vec<f64> = cells
            .iter()
            .map(|row| {
                -row.iter()
                    .zip(theta)
                    .map(|(own, shift)| own * shift)
                    .sum::<f64>()
            })
            .collect();
        value += 0.5
            * slope_theta
                .iter()
                .zip(theta)
                .map(|(pull, shift)| pull * shift)
                .sum::<f64>();
        let mut slope_area: Vec<f64> = area.iter().map(|shift| -of_area * shift).collect();
        let mut bends = vec![of_area; area.len()];
        value -= 0.5 * of_area * area.iter().map(|shift| shift * shift).sum::<f64>();
        let mut joint = Vec::new();
        for pair in tables.pairs.iter().filter(|pair| pair.poles > 0) {
            let at = theta[pair.slot] + area[pair.area];
            let (height, slope, bend) = parabola(&pair.ln_z, at / tables.step, tables.stride);
            let (slope, bend) = (slope / tables.step, bend / (tables.step * tables.step));
            // Where a table bends upwards the priors alone hold it.
            let bend = (-bend).max(0.0);
            value += height;
            slope_theta[pair.slot] += slope;
            slope_area[pair.area] += slope;
            cells[pair.slot][pair.slot] += bend;
            bends[pair.area] += bend;
            joint.push((pair.slot, pair.area, bend));
        }
        joint.sort_unstable_by_key(|(slot, area, _)| (*area, *slot));
        for of_one in joint.chunk_by(|one, other| one.1 == other.1) {
            for (slot, at, bend) in of_one {
                for (other, _, with) in of_one {
                    cells[*slot][*other] -= bend * with / bends[*at];
                }
            }
        }
        let cells = Root::of(&cells, 0.0);
        let ln_cells = cells.as_ref().map_or(0.0, Root::ln_determinant);
        let ln_areas: f64 = bends.iter().map(|bend| ln(*bend)).sum();
        Self {
            value,
            slope_theta,
            slope_area,
            area: bends,
            joint,
            cells,
            ln_determinant: ln_cells + ln_areas,
        }
    }

    /// Newton's step for theta and b.
    fn step(&self) -> (Vec<f64>, Vec<f64>) {
        let mut theta = self.slope_theta.clone();
        for (slot, area, bend) in &self.joint {
            theta[*slot] -= bend * self.slope_area[*area] / self.area[*area];
        }
        // Without a root, which priors forbid, theta stays.
        let theta = self
            .cells
            .as_ref()
            .map_or_else(|| vec![0.0; theta.len()], |root| root.solve(&theta));
        let mut area = self.slope_area.clone();
        for (slot, at, bend) in &self.joint {
            area[*at] -= bend * theta[*slot];
        }
        for (part, bend) in area.iter_mut().zip(&self.area) {
            *part /= bend;
        }
        (theta, area)
    }
}

/// Height, slope and bend a node of the parabola through a table's node nearest to a place (in nodes from the middle) and
/// those `stride` nodes to each side.
fn parabola(table: &[i64], place: f64, stride: usize) -> (f64, f64, f64) {
    let middle = (table.len() / 2) as f64;
    let last = table.len() - 1 - stride;
    let centre = ((place + middle).round().max(0.0) as usize).clamp(stride, last);
    let at = |node: usize| table[node] as f64 / FIXED_POINT;
    let width = stride as f64;
    let (before, here, after) = (at(centre - stride), at(centre), at(centre + stride));
    let slope = (after - before) / (2.0 * width);
    let bend = (after + before - 2.0 * here) / (width * width);
    let off = place + middle - centre as f64;
    (
        here + off * (slope + 0.5 * off * bend),
        slope + off * bend,
        bend,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::belief::kinship::tests::curve;

    const STEP: f64 = 0.05;

    fn pair(area: usize, slot: usize, found: f64, sd: f64) -> Pair {
        let ln_z = (-40..=40)
            .map(|node| {
                let z = (f64::from(node) * STEP - found) / sd;
                (-0.5 * z * z * FIXED_POINT).round() as i64
            })
            .collect();
        Pair {
            area,
            slot,
            ln_z,
            poles: 1,
        }
    }

    /// Density of a normal sum at what was found, up to a constant: theta and b of one pair.
    fn expected(found: f64, sd: f64) -> f64 {
        let variance = 0.25 * 0.25 + 0.15 * 0.15 + sd * sd;
        // The likelihood carries no constant of its own: sd / root of the variance.
        -0.5 * found * found / variance - 0.5 * (variance / (sd * sd)).ln()
    }

    #[test]
    fn normal_findings_have_the_evidence_of_the_textbook() {
        let of = |found: f64, sd: f64| {
            mode(&Tables {
                pairs: &[pair(0, 0, found, sd)],
                step: STEP,
                stride: 1,
                kinship: &Kinship::new(&[curve(0.25, 0, 1)]),
                area_sd: 0.15,
                areas: 1,
            })
            .ln_evidence
        };
        let base = of(0.0, 0.1) - expected(0.0, 0.1);
        for (found, sd) in [(-0.4, 0.1), (0.3, 0.3), (0.6, 0.2)] {
            let error = of(found, sd) - expected(found, sd) - base;
            // Tables are rounded to 2^-24.
            assert!(error.abs() < 1e-4, "{found} {sd}: {error}");
        }
    }

    #[test]
    fn cells_and_areas_that_share_findings_are_summed_over_together() {
        // Two cells in two areas: as dense algebra gives it. Sums x = theta + b have the covariance C, findings R = 0.01 I:
        // ln evidence = -0.5 m' (C + R)^-1 m - 0.5 ln det (C + R) + 0.5 ln det R, with m = (-0.3, 0.1, -0.2) for the pairs
        // (cell 0, area 0), (cell 0, area 1), (cell 1, area 1). Of two curves of other preservatives and zones the shifts
        // have 0.4 of their variance in common, 0.025: C = [[.085, .0625, .025], [.0625, .085, .0475],
        // [.025, .0475, .085]].
        let tables = |found: [f64; 3]| {
            let pairs = [
                pair(0, 0, found[0], 0.1),
                pair(1, 0, found[1], 0.1),
                pair(1, 1, found[2], 0.1),
            ];
            mode(&Tables {
                pairs: &pairs,
                step: STEP,
                stride: 1,
                kinship: &Kinship::new(&[curve(0.25, 0, 1), curve(0.25, 1, 2)]),
                area_sd: 0.15,
                areas: 2,
            })
            .ln_evidence
        };
        let quadratic = |m: [f64; 3]| {
            let c = [
                [0.095, 0.0625, 0.025],
                [0.0625, 0.095, 0.0475],
                [0.025, 0.0475, 0.095],
            ];
            let minor =
                |a: usize, b: usize, d: usize, e: usize| c[a][d] * c[b][e] - c[a][e] * c[b][d];
            let det = c[0][0] * minor(1, 2, 1, 2) - c[0][1] * minor(1, 2, 0, 2)
                + c[0][2] * minor(1, 2, 0, 1);
            let inverse = [
                [minor(1, 2, 1, 2), -minor(0, 2, 1, 2), minor(0, 1, 1, 2)],
                [-minor(1, 2, 0, 2), minor(0, 2, 0, 2), -minor(0, 1, 0, 2)],
                [minor(1, 2, 0, 1), -minor(0, 2, 0, 1), minor(0, 1, 0, 1)],
            ];
            let mut sum = 0.0;
            for (row, left) in inverse.iter().zip(m) {
                for (value, right) in row.iter().zip(m) {
                    sum += left * value / det * right;
                }
            }
            -0.5 * sum
        };
        let found = [-0.3, 0.1, -0.2];
        let difference = tables(found) - tables([0.0; 3]);
        assert!(
            (difference - quadratic(found)).abs() < 1e-4,
            "{difference} {}",
            quadratic(found)
        );
    }
}
