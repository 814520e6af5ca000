//! Learning from the owner's own inspections (model section 4).
//!
//! The shift of a pole's ln life is `theta_cell + b_area`. Every pole with findings gives ln Z at every node of the
//! shift; the sums by (area, cell) are integers, so that they do not depend on the order of the poles. Joint draws of
//! theta and b come from their exact one-dimensional conditionals in turn, and from that of what they trade with each
//! other: findings tell only their sums.

use super::gone::RemovedRecords;
use super::grid::{SHIFT_NODES, SHIFT_STEP, node_of_steps, running_sums};
use super::grouping::Group;
use super::shifts::{FIXED_POINT, Pair, normalised, pick};
use crate::chance::{Key, Purpose, Slot};
use crate::maths::exp;
use crate::models::{Cell, CellIndex};

/// Standard deviation of the shift between areas (proposed: soil and batch differ that much between lines).
pub const AREA_SD: f64 = 0.15;

/// Part of an area's shift that is soil and climate and stays when a pole is replaced; the rest is the batch
/// (proposed).
pub const SOIL_SHARE: f64 = 0.5;

/// Steps of the shift on each side of 0 that theta may take (1.4: at least 2.5 standard deviations of any cell).
const THETA_REACH: i32 = 56;
/// Steps on each side of 0 that b may take (0.6: four standard deviations).
const AREA_REACH: i32 = 24;

/// Least standard deviation of a shift: no doubt at all would leave 0 / 0 at no shift.
const LEAST_SD: f64 = 1e-6;

/// Sweeps before the first draw is kept.
const WARM_UP: u32 = 64;
/// Sweeps from one kept draw to the next.
const THINNING: u32 = 2;

/// Mass in the end nodes of theta above which the grid is too narrow for what was found.
const PINNED_MASS: f64 = 0.01;

/// What was learned about one curve cell.
#[derive(Debug, Clone, PartialEq)]
pub struct CellLearning {
    /// The cell.
    pub cell: CellIndex,
    /// Poles of this cell.
    pub poles: usize,
    /// Poles with at least one inspection that says something about the wood.
    pub poles_with_findings: usize,
    /// Inspections used, those of removed poles included.
    pub findings: usize,
    /// Removed poles whose records were used.
    pub removed: usize,
    /// Published median life with its 90 % interval between fleets, years (5 %, 50 %, 95 %).
    pub published: [f64; 3],
    /// The owner's median life with its 90 % interval, years (5 %, 50 %, 95 %).
    pub owners: [f64; 3],
    /// Whether more than 1 % of the mass lies in the ends of the grid: the findings contradict the curve or the
    /// programme's account of removals, and the interval cannot be trusted.
    pub pinned: bool,
}

/// What a run learned.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// One entry a cell that has poles.
    pub cells: Vec<CellLearning>,
    /// Joint draws.
    pub draws: Draws,
    /// What was made of the records of removed poles.
    pub removed: RemovedRecords,
}

/// Joint draws of the shifts, in steps of [`SHIFT_STEP`]: trial `k` uses draw `k`.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Draws {
    /// By cell slot and draw.
    pub theta: Vec<Vec<i32>>,
    /// By area and draw.
    pub area: Vec<Vec<i32>>,
}

/// What the draws are made from.
#[derive(Debug)]
pub struct Question<'a> {
    /// The cells in use and a name for each, by slot.
    pub cells: &'a [(Cell, String)],
    /// A name for each area.
    pub areas: &'a [String],
    /// Evidence, sorted by (area, slot); pairs without findings have zeros.
    pub pairs: &'a [Pair],
    /// Draws to keep.
    pub draws: u32,
    /// Seed.
    pub seed: u64,
}

/// What the findings say of the shifts.
#[derive(Debug)]
pub struct Answer {
    /// Joint draws.
    pub draws: Draws,
    /// Probability of every node of theta, by slot: entry `i` is `i - THETA_REACH` steps.
    pub theta: Vec<Vec<f64>>,
    /// Probability of every node of the total shift, by pair.
    pub shift: Vec<Vec<f64>>,
}

/// Draws from the joint distribution of all shifts given all findings, and its margins.
///
/// The margins are averages of the exact conditionals over all sweeps, so they carry far less noise than a histogram
/// of the draws would; where nothing was found they are computed without draws.
pub fn answer(question: &Question<'_>) -> Answer {
    let priors: Vec<Vec<f64>> = question
        .cells
        .iter()
        .map(|(cell, _)| ln_normal_prior(cell.between_fleets_ln_sd, THETA_REACH))
        .collect();
    let area_prior = ln_normal_prior(AREA_SD, AREA_REACH);
    let by_slot = pairs_by(question.pairs, question.cells.len(), |pair| pair.slot);
    let by_area = pairs_by(question.pairs, question.areas.len(), |pair| pair.area);
    let theta_keys: Vec<Key> = question
        .cells
        .iter()
        .map(|(_, name)| Key::of(question.seed, &format!("theta of {name}")))
        .collect();
    let area_keys: Vec<Key> = question
        .areas
        .iter()
        .map(|name| Key::of(question.seed, &format!("shift of area {name}")))
        .collect();
    let mut theta = vec![0_i32; priors.len()];
    let mut area = vec![0_i32; question.areas.len()];
    let mut answer = Answer {
        draws: Draws {
            theta: vec![Vec::new(); priors.len()],
            area: vec![Vec::new(); area.len()],
        },
        theta: vec![vec![0.0; priors.first().map_or(0, Vec::len)]; priors.len()],
        shift: vec![vec![0.0; SHIFT_NODES]; question.pairs.len()],
    };
    let sweeps = WARM_UP + THINNING * question.draws;
    let kept = f64::from(sweeps - WARM_UP);
    let groups = Group::all(question.pairs);
    let trade_key = Key::of(question.seed, "trade between cells and areas");
    for sweep in 0..sweeps {
        let slot = Slot::new(Purpose::Calibrate, 0, 0);
        for (index, prior) in priors.iter().enumerate() {
            let mass = conditional(
                question.pairs,
                &by_slot[index],
                prior,
                THETA_REACH,
                |pair| area[pair.area],
            );
            theta[index] = pick(&mass, theta_keys[index].uniform(sweep, slot)) - THETA_REACH;
            if sweep >= WARM_UP {
                add(&mut answer.theta[index], &mass, 1.0 / kept);
            }
        }
        for index in 0..area.len() {
            let mass = conditional(
                question.pairs,
                &by_area[index],
                &area_prior,
                AREA_REACH,
                |pair| theta[pair.slot],
            );
            area[index] = pick(&mass, area_keys[index].uniform(sweep, slot)) - AREA_REACH;
            if sweep >= WARM_UP {
                for pair in &by_area[index] {
                    let shift = &mut answer.shift[*pair];
                    for (steps, part) in (-AREA_REACH..).zip(&mass) {
                        shift[node_of_steps(theta[question.pairs[*pair].slot] + steps)] +=
                            part / kept;
                    }
                }
            }
        }
        for (number, group) in (0..).zip(&groups) {
            let uniform = trade_key.uniform(sweep, Slot::new(Purpose::Calibrate, 0, number));
            group.trade(&mut theta, &priors, &mut area, &area_prior, uniform);
        }
        if sweep >= WARM_UP && (sweep - WARM_UP).is_multiple_of(THINNING) {
            theta
                .iter()
                .zip(&mut answer.draws.theta)
                .for_each(|(steps, kept)| kept.push(*steps));
            area.iter()
                .zip(&mut answer.draws.area)
                .for_each(|(steps, kept)| kept.push(*steps));
        }
    }
    settle_without_findings(
        question,
        &by_slot,
        &by_area,
        &priors,
        &area_prior,
        &mut answer,
    );
    answer
}

/// Where neither a cell nor an area has findings the margins are the priors: exactly, without draws.
fn settle_without_findings(
    question: &Question<'_>,
    by_slot: &[Vec<usize>],
    by_area: &[Vec<usize>],
    priors: &[Vec<f64>],
    area_prior: &[f64],
    answer: &mut Answer,
) {
    let silent = |pairs: &[usize]| pairs.iter().all(|pair| question.pairs[*pair].poles == 0);
    for (slot, prior) in priors.iter().enumerate() {
        if silent(&by_slot[slot]) {
            answer.theta[slot] = normalised(prior);
        }
    }
    let area_mass = normalised(area_prior);
    for (index, pair) in question.pairs.iter().enumerate() {
        if silent(&by_slot[pair.slot]) && silent(&by_area[pair.area]) {
            let mut shift = vec![0.0; SHIFT_NODES];
            for (steps, mass) in (-THETA_REACH..).zip(&answer.theta[pair.slot]) {
                for (more, part) in (-AREA_REACH..).zip(&area_mass) {
                    shift[node_of_steps(steps + more)] += mass * part;
                }
            }
            answer.shift[index] = shift;
        }
    }
}

/// What was learned about the median life of one cell.
pub fn owners_median(cell: &Cell, theta: &[f64]) -> ([f64; 3], [f64; 3], bool) {
    let median = cell.life.main.quantile(0.5);
    let spread = 1.644_853_626_951_472_7 * cell.between_fleets_ln_sd;
    let published = [median * exp(-spread), median, median * exp(spread)];
    let sums = running_sums(theta);
    let at = |p: f64| {
        let node = sums.partition_point(|sum| *sum < p).min(sums.len() - 1);
        let before = if node == 0 { 0.0 } else { sums[node - 1] };
        // Mass is spread evenly over a node's own step, as everywhere on the grid.
        let within = ((p - before) / (sums[node] - before).max(1e-300)).clamp(0.0, 1.0) - 0.5;
        median * exp((node as f64 - f64::from(THETA_REACH) + within) * SHIFT_STEP)
    };
    let ends = theta.first().copied().unwrap_or(0.0) + theta.last().copied().unwrap_or(0.0);
    (published, [at(0.05), at(0.5), at(0.95)], ends > PINNED_MASS)
}

/// ln density of a normal at steps `-reach..=reach` of the shift, up to a constant.
fn ln_normal_prior(sd: f64, reach: i32) -> Vec<f64> {
    let sd = sd.max(LEAST_SD);
    (-reach..=reach)
        .map(|steps| f64::from(steps) * SHIFT_STEP / sd)
        .map(|z| -0.5 * z * z)
        .collect()
}

fn pairs_by(pairs: &[Pair], count: usize, key: impl Fn(&Pair) -> usize) -> Vec<Vec<usize>> {
    let mut lists = vec![Vec::new(); count];
    for (index, pair) in pairs.iter().enumerate() {
        lists[key(pair)].push(index);
    }
    lists
}

/// Probability of every node of one shift, given the others.
fn conditional(
    pairs: &[Pair],
    own: &[usize],
    ln_prior: &[f64],
    reach: i32,
    other: impl Fn(&Pair) -> i32,
) -> Vec<f64> {
    let ln_mass: Vec<f64> = (-reach..)
        .zip(ln_prior)
        .map(|(steps, prior)| {
            let sum: i64 = own
                .iter()
                .map(|index| &pairs[*index])
                .filter(|pair| pair.poles > 0)
                .map(|pair| pair.ln_z[node_of_steps(steps + other(pair))])
                .sum();
            prior + sum as f64 / FIXED_POINT
        })
        .collect();
    normalised(&ln_mass)
}

fn add(sum: &mut [f64], mass: &[f64], weight: f64) {
    sum.iter_mut()
        .zip(mass)
        .for_each(|(total, part)| *total += part * weight);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::belief::shifts::fixed_ln_z;
    use crate::units::Zone;
    use crate::wood::{LifeCurve, ServiceLife};

    fn cell() -> Cell {
        let curve = LifeCurve::Lognormal {
            median_years: 50.0,
            ln_sd: 0.5,
        };
        Cell {
            kind: 0,
            zone: Zone::new(3).expect("zone 3"),
            life: ServiceLife {
                main: curve,
                early_share: 0.0,
                early: curve,
            },
            between_fleets_ln_sd: 0.25,
            protected_mean: 0.6,
            protected_sd: 0.12,
            internal_share: 0.25,
        }
    }

    fn ask(ln_z: impl Fn(f64) -> f64, poles: usize) -> Answer {
        let ln_z = (0..SHIFT_NODES)
            .map(|node| (ln_z(crate::belief::grid::shift_at(node)) * FIXED_POINT).round() as i64)
            .collect();
        answer(&Question {
            cells: &[(cell(), "pine 3".to_owned())],
            areas: &["north".to_owned()],
            pairs: &[Pair {
                area: 0,
                slot: 0,
                ln_z,
                poles,
            }],
            draws: 2048,
            seed: 1,
        })
    }

    #[test]
    fn without_findings_the_published_curve_and_its_doubt_remain() {
        let answer = ask(|_| 0.0, 0);
        let (published, owners, pinned) = owners_median(&cell(), &answer.theta[0]);
        for (there, here) in published.iter().zip(owners) {
            // The grid's step is 2.5 %; mass is spread within it, so quantiles agree far better than that.
            assert!((here / there - 1.0).abs() < 0.002, "{here} {there}");
        }
        assert!(!pinned);
        assert!((answer.shift[0].iter().sum::<f64>() - 1.0).abs() < 1e-9);
    }

    #[test]
    fn two_normals_and_a_normal_finding_give_the_textbook_answer() {
        // theta ~ N(0, 0.25), b ~ N(0, 0.15), found theta + b = -0.3 +- 0.1. Normal conjugacy: the posterior mean of
        // theta is -0.3 x 0.0625 / (0.0625 + 0.0225 + 0.01) = -0.1974, of the sum -0.3 x 0.085 / 0.095 = -0.2684.
        let answer = ask(|x| -0.5 * ((x + 0.3) / 0.1) * ((x + 0.3) / 0.1), 40);
        let theta: f64 = (-THETA_REACH..)
            .zip(&answer.theta[0])
            .map(|(steps, mass)| f64::from(steps) * SHIFT_STEP * mass)
            .sum();
        let sum: f64 = answer.shift[0]
            .iter()
            .enumerate()
            .map(|(node, mass)| crate::belief::grid::shift_at(node) * mass)
            .sum();
        // The sweeps are a Markov chain of 4,096: the error of its means is below 0.006 (three standard errors).
        assert!((theta + 0.1974).abs() < 0.02, "{theta}");
        assert!((sum + 0.2684).abs() < 0.01, "{sum}");
    }

    #[test]
    fn one_area_however_many_findings_cannot_tell_soil_from_curve() {
        // theta ~ N(0, 0.25), b ~ N(0, 0.15), their sum known to be -0.3: the mean of theta is
        // -0.3 x 0.0625 / 0.085 = -0.2206, its standard deviation 0.25 x 0.15 / sqrt(0.085) = 0.1286.
        let answer = ask(|x| -0.5 * ((x + 0.3) / 0.004) * ((x + 0.3) / 0.004), 50_000);
        let moment = |power: i32| -> f64 {
            (-THETA_REACH..)
                .zip(&answer.theta[0])
                .map(|(steps, mass)| (f64::from(steps) * SHIFT_STEP).powi(power) * mass)
                .sum()
        };
        let (mean, sd) = (moment(1), (moment(2) - moment(1) * moment(1)).sqrt());
        // 4,096 draws that do not depend on each other: standard errors 0.0020 and 0.0014, three of each.
        assert!((mean + 0.2206).abs() < 0.006, "{mean}");
        assert!((sd - 0.1286).abs() < 0.0043, "{sd}");
        let drawn = answer.draws.theta[0].iter().zip(&answer.draws.area[0]);
        assert!(drawn.clone().all(|(theta, area)| theta + area == -12));
    }

    #[test]
    fn no_doubt_between_fleets_holds_against_any_findings() {
        // With a standard deviation of 0.01 the first step of 0.025 is 2.5 of them: a slope of 40 a unit, 1 a step,
        // cannot move theta by two steps, where the prior is 12.5 down.
        let sure = Cell {
            between_fleets_ln_sd: 0.01,
            ..cell()
        };
        let prior = ln_normal_prior(sure.between_fleets_ln_sd, THETA_REACH);
        let middle = THETA_REACH as usize;
        assert!((prior[middle] - prior[middle + 1] - 3.125).abs() < 1e-9);
        // 1.4 is 140 standard deviations: 9,800 down.
        assert!((prior[middle] - prior[0] - 9_800.0).abs() < 1e-6);
    }

    #[test]
    fn a_shift_at_which_no_pole_could_be_listed_says_nothing_of_its_own() {
        // Node 0: nothing could be listed; node 3: the records are beyond all numbers.
        let fixed = fixed_ln_z(&[0.0, 0.1, 0.2, 0.0], &[0.0, 0.4, 0.4, 0.4]);
        assert_eq!(fixed[0], fixed[1]);
        assert_eq!(fixed[3], fixed[2]);
        assert!(fixed[1] < fixed[2]);
        assert_eq!(fixed_ln_z(&[0.0; 3], &[0.0; 3]), vec![0; 3]);
    }

    #[test]
    fn evidence_beyond_the_grid_is_called_out() {
        let answer = ask(|x| -4000.0 * (x + 2.0), 5000);
        let (_, _, pinned) = owners_median(&cell(), &answer.theta[0]);
        assert!(pinned);
    }
}
