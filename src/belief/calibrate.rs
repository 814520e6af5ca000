//! Learning from the owner's own inspections (model section 4).
//!
//! The shift of a pole's ln life is `theta_cell + b_area`. Every pole with findings gives ln Z at every node of the
//! shift; the sums by (area, cell) are integers, so that they do not depend on the order of the poles. Joint draws of
//! theta and b come from their exact one-dimensional conditionals in turn, and from that of what they trade with each
//! other: findings tell only their sums.

use super::areas::{AREA_REACH, AreaSpread};
use super::gone::RemovedRecords;
use super::grid::{SHIFT_NODES, SHIFT_STEP, node_at, node_of_steps, running_sums};
use super::grouping::Group;
use super::kinship::{Kin, Kinship};
use super::nuisances::Learned;
use super::shifts::{FIXED_POINT, Pair, normalised, pick};
use crate::chance::{Key, Purpose, Slot};
use crate::maths::{NINETY_PER_CENT, exp};
use crate::models::{Cell, CellIndex};

/// Part of an area's shift that is soil and climate and stays when a pole is replaced; the rest is the batch
/// (proposed).
pub const SOIL_SHARE: f64 = 0.5;

/// Steps of the shift on each side of 0 that theta may take (1.4: at least 2.5 standard deviations of any cell).
const THETA_REACH: i32 = 56;
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
    /// The same as narrow as it would be if the protected share, the spread of lives and how inspections see were known.
    pub owners_if_sure: [f64; 3],
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
    /// What was learned of the figures that findings are read with; empty where they are taken as certain.
    pub figures: Vec<Learned>,
}

/// Joint draws of the shifts, in steps of [`SHIFT_STEP`]: trial `k` uses draw `k`.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Draws {
    /// By cell slot and draw.
    pub theta: Vec<Vec<i32>>,
    /// By area and draw.
    pub area: Vec<Vec<i32>>,
    /// By draw: the node of the uncertain figures.
    pub figures: Vec<u8>,
}

impl Draws {
    /// The node of a draw's figures and shift, by which priors and posteriors are kept ([`node_at`]).
    pub fn node(&self, draw: usize, steps: i32) -> usize {
        let figures = self.figures.get(draw).copied().unwrap_or(0);
        node_at(usize::from(figures), node_of_steps(steps))
    }

    /// Draws of a mixture: each draw is the next of its node's own.
    pub(super) fn mixed(of_nodes: &[Self], figures: Vec<u8>) -> Self {
        let mut taken = vec![0; of_nodes.len()];
        let places: Vec<(usize, usize)> = figures
            .iter()
            .map(|node| {
                let node = usize::from(*node);
                taken[node] += 1;
                (node, taken[node] - 1)
            })
            .collect();
        let gather = |of: fn(&Self) -> &Vec<Vec<i32>>| -> Vec<Vec<i32>> {
            let count = of_nodes.first().map_or(0, |draws| of(draws).len());
            (0..count)
                .map(|own| {
                    let steps = places.iter();
                    steps
                        .map(|(node, at)| of(&of_nodes[*node])[own][*at])
                        .collect()
                })
                .collect()
        };
        Self {
            theta: gather(|draws| &draws.theta),
            area: gather(|draws| &draws.area),
            figures,
        }
    }
}

/// What the draws are made from.
#[derive(Debug)]
pub struct Question<'a> {
    /// The curves in use, by slot.
    pub curves: &'a [Kin<'a>],
    /// A name for each area.
    pub areas: &'a [String],
    /// Evidence, sorted by (area, slot); pairs without findings have zeros.
    pub pairs: &'a [Pair],
    /// Standard deviation of ln of the spread of areas around its table value; 0 where that is certain.
    pub area_spread_ln: f64,
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
    /// Probability of every spread of the areas.
    pub spread: Vec<f64>,
}

/// Draws from the joint distribution of all shifts given all findings, and its margins.
///
/// The margins are averages of the exact conditionals over all sweeps, so they carry far less noise than a histogram
/// of the draws would; where nothing was found anywhere they are computed without draws.
pub fn answer(question: &Question<'_>) -> Answer {
    let mut chain = Chain::new(question);
    let mut answer = Answer {
        draws: Draws {
            theta: vec![Vec::new(); question.curves.len()],
            area: vec![Vec::new(); question.areas.len()],
            figures: vec![0; question.draws as usize],
        },
        theta: vec![vec![0.0; nodes_of(THETA_REACH)]; question.curves.len()],
        shift: vec![vec![0.0; SHIFT_NODES]; question.pairs.len()],
        spread: vec![0.0; chain.spread.len()],
    };
    let kept = THINNING * question.draws;
    for sweep in 0..WARM_UP + kept {
        let margins = (sweep >= WARM_UP).then_some(&mut answer);
        chain.sweep(sweep, 1.0 / f64::from(kept), margins);
        if sweep >= WARM_UP && (sweep - WARM_UP).is_multiple_of(THINNING) {
            keep(&chain.theta, &mut answer.draws.theta);
            keep(&chain.area, &mut answer.draws.area);
        }
    }
    if question.pairs.iter().all(|pair| pair.poles == 0) {
        chain.settle_without_findings(&mut answer);
    }
    answer
}

fn keep(steps: &[i32], kept: &mut [Vec<i32>]) {
    steps
        .iter()
        .zip(kept)
        .for_each(|(steps, kept)| kept.push(*steps));
}

/// Nodes from `-reach` to `reach`.
fn nodes_of(reach: i32) -> usize {
    (2 * reach + 1) as usize
}

/// The chain of draws: exact conditionals of one direction after the other.
struct Chain<'a> {
    question: &'a Question<'a>,
    kinship: Kinship,
    /// What b may be, and the place in it of the spread that is drawn.
    spread: AreaSpread,
    at_spread: usize,
    /// Pairs with findings of every move of the kinship, and pairs of every area.
    of_move: Vec<Vec<usize>>,
    of_area: Vec<Vec<usize>>,
    groups: Vec<Group>,
    move_keys: Vec<Key>,
    area_keys: Vec<Key>,
    trade_key: Key,
    spread_key: Key,
    /// Areas in which anything was found.
    told: Vec<usize>,
    theta: Vec<i32>,
    area: Vec<i32>,
}

impl<'a> Chain<'a> {
    fn new(question: &'a Question<'a>) -> Self {
        let kinship = Kinship::new(question.curves);
        let mut of_area = vec![Vec::new(); question.areas.len()];
        for (index, pair) in question.pairs.iter().enumerate() {
            of_area[pair.area].push(index);
        }
        let of_move = |slots: &Vec<usize>| {
            let pairs = question.pairs.iter().enumerate();
            pairs
                .filter(|(_, pair)| pair.poles > 0 && slots.contains(&pair.slot))
                .map(|(index, _)| index)
                .collect()
        };
        let key = |what: &str| Key::of(question.seed, what);
        let move_key = |slots: &Vec<usize>| {
            let names = slots
                .iter()
                .map(|slot| question.curves[*slot].name.as_str());
            key(&format!(
                "theta of {}",
                names.collect::<Vec<_>>().join(", ")
            ))
        };
        let areas = question.areas.iter();
        let told = |pairs: &Vec<usize>| pairs.iter().any(|pair| question.pairs[*pair].poles > 0);
        let spread = AreaSpread::new(question.area_spread_ln);
        Self {
            at_spread: spread.middle(),
            spread,
            told: (0..question.areas.len())
                .filter(|area| told(&of_area[*area]))
                .collect(),
            of_move: kinship.moves().iter().map(of_move).collect(),
            of_area,
            groups: Group::all(question.pairs),
            move_keys: kinship.moves().iter().map(move_key).collect(),
            area_keys: areas
                .map(|name| key(&format!("shift of area {name}")))
                .collect(),
            trade_key: key("trade between cells and areas"),
            spread_key: key("spread of the areas"),
            theta: vec![0; question.curves.len()],
            area: vec![0; question.areas.len()],
            kinship,
            question,
        }
    }

    /// Draws every direction once; adds the conditionals to the margins.
    fn sweep(&mut self, sweep: u32, weight: f64, mut margins: Option<&mut Answer>) {
        let slot = Slot::new(Purpose::Calibrate, 0, 0);
        for number in 0..self.move_keys.len() {
            let (from, mass) = self.conditional_of_move(number);
            let steps = from + pick(&mass, self.move_keys[number].uniform(sweep, slot));
            let slots = &self.kinship.moves()[number];
            if let (Some(margins), [alone]) = (margins.as_deref_mut(), slots.as_slice()) {
                add(&mut margins.theta[*alone], &mass, weight);
            }
            for slot in slots {
                self.theta[*slot] += steps;
            }
        }
        self.draw_spread(self.spread_key.uniform(sweep, slot), weight, &mut margins);
        for index in 0..self.area.len() {
            let mass = self.conditional_of_area(index);
            self.area[index] = pick(&mass, self.area_keys[index].uniform(sweep, slot)) - AREA_REACH;
            if let Some(margins) = margins.as_deref_mut() {
                for pair in &self.of_area[index] {
                    let theta = self.theta[self.question.pairs[*pair].slot];
                    add(
                        &mut margins.shift[*pair][nodes_from(theta, AREA_REACH)],
                        &mass,
                        weight,
                    );
                }
            }
        }
        for (number, group) in (0..).zip(&self.groups) {
            let uniform = self
                .trade_key
                .uniform(sweep, Slot::new(Purpose::Calibrate, 0, number));
            group.trade(
                &self.kinship,
                THETA_REACH,
                &mut self.theta,
                &mut self.area,
                self.spread.ln_prior(self.at_spread),
                uniform,
            );
        }
    }

    /// Draws how far areas spread, given those in which anything was found: the others follow it.
    fn draw_spread(&mut self, uniform: f64, weight: f64, margins: &mut Option<&mut Answer>) {
        let shifts = self.told.iter().map(|area| self.area[*area]);
        let mass = self.spread.given(shifts);
        self.at_spread = pick(&mass, uniform) as usize;
        if let Some(margins) = margins.as_deref_mut() {
            add(&mut margins.spread, &mass, weight);
        }
    }

    /// The first step, and the probability of every step from there on, by which the curves of a move shift together, given
    /// everything else. A curve alone has one for every node that its shift may take.
    fn conditional_of_move(&self, number: usize) -> (i32, Vec<f64>) {
        let slots = &self.kinship.moves()[number];
        let shifts = || slots.iter().map(|slot| self.theta[*slot]);
        let from = -THETA_REACH - shifts().min().unwrap_or(0);
        let until = THETA_REACH - shifts().max().unwrap_or(0);
        let (slope, bend) = self.kinship.along(&self.theta, slots);
        let prior = (from..=until)
            .map(f64::from)
            .map(|steps| steps * (slope - 0.5 * bend * steps));
        let start = |pair: &Pair| self.theta[pair.slot] + self.area[pair.area] + from;
        (
            from,
            self.conditional(prior.collect(), &self.of_move[number], start),
        )
    }

    fn conditional_of_area(&self, index: usize) -> Vec<f64> {
        let start = |pair: &Pair| self.theta[pair.slot] - AREA_REACH;
        let prior = self.spread.ln_prior(self.at_spread).to_vec();
        self.conditional(prior, &self.of_area[index], start)
    }

    /// Probabilities from a prior and what the pairs say: of each, nodes in a row from the step where it starts.
    fn conditional(
        &self,
        mut ln_mass: Vec<f64>,
        pairs: &[usize],
        start: impl Fn(&Pair) -> i32,
    ) -> Vec<f64> {
        let mut sums = vec![0_i64; ln_mass.len()];
        let pairs = pairs.iter().map(|pair| &self.question.pairs[*pair]);
        for pair in pairs.filter(|pair| pair.poles > 0) {
            let first = node_of_steps(start(pair));
            let told = &pair.ln_z[first..first + sums.len()];
            sums.iter_mut()
                .zip(told)
                .for_each(|(sum, part)| *sum += part);
        }
        ln_mass
            .iter_mut()
            .zip(sums)
            .for_each(|(prior, sum)| *prior += sum as f64 / FIXED_POINT);
        normalised(&ln_mass)
    }

    /// Where nothing was found the margins are the priors: exactly, without draws.
    fn settle_without_findings(&self, answer: &mut Answer) {
        answer.spread = self.spread.given(std::iter::empty());
        let area = self.spread.mixed(&answer.spread);
        for (slot, theta) in answer.theta.iter_mut().enumerate() {
            *theta = normalised(&self.kinship.alone(slot, THETA_REACH));
        }
        for (pair, shift) in self.question.pairs.iter().zip(&mut answer.shift) {
            shift.fill(0.0);
            for (steps, mass) in (-THETA_REACH..).zip(&answer.theta[pair.slot]) {
                add(&mut shift[nodes_from(steps, AREA_REACH)], &area, *mass);
            }
        }
    }
}

/// The nodes of the total shift that lie within a reach of a number of steps. Both reaches together are that of the total.
fn nodes_from(steps: i32, reach: i32) -> std::ops::Range<usize> {
    let first = node_of_steps(steps - reach);
    first..first + nodes_of(reach)
}

/// A median's 90 % interval from the standard deviation of its shift, in steps.
pub(super) fn interval_of(median: f64, sd: f64) -> [f64; 3] {
    let spread = NINETY_PER_CENT * sd * SHIFT_STEP;
    [median * exp(-spread), median, median * exp(spread)]
}

/// What was learned about the median life of one cell.
pub fn owners_median(cell: &Cell, theta: &[f64]) -> ([f64; 3], [f64; 3], bool) {
    let median = cell.life.main.quantile(0.5);
    let published = interval_of(median, cell.between_fleets_ln_sd / SHIFT_STEP);
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

fn add(sum: &mut [f64], mass: &[f64], weight: f64) {
    sum.iter_mut()
        .zip(mass)
        .for_each(|(total, part)| *total += part * weight);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::belief::kinship::tests::curve;
    use crate::belief::shifts::fixed_ln_z;

    fn ask(ln_z: impl Fn(f64) -> f64, poles: usize) -> Answer {
        let ln_z = (0..SHIFT_NODES)
            .map(|node| (ln_z(crate::belief::grid::shift_at(node)) * FIXED_POINT).round() as i64)
            .collect();
        answer(&Question {
            curves: &[curve(0.25, 0, 3)],
            areas: &["north".to_owned()],
            pairs: &[Pair {
                area: 0,
                slot: 0,
                ln_z,
                poles,
            }],
            area_spread_ln: 0.0,
            draws: 2048,
            seed: 1,
        })
    }

    #[test]
    fn without_findings_the_published_curve_and_its_doubt_remain() {
        let answer = ask(|_| 0.0, 0);
        let (published, owners, pinned) = owners_median(&curve(0.25, 0, 3).cell, &answer.theta[0]);
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
        let (_, _, pinned) = owners_median(&curve(0.25, 0, 3).cell, &answer.theta[0]);
        assert!(pinned);
    }
}
