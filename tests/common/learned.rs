//! What was learned of invented networks, held against their truth: shared by the tests of calibration.

#![allow(
    dead_code,
    reason = "every test binary uses its own part of these helpers"
)]

use crate::common;
use polewright::Programme;
use polewright::belief::{Beliefs, CellLearning};
use polewright::invent::{Invented, Recipe, Truth};
use polewright::models::CellIndex;

/// Bounds of the bins of probability, in which the forecast must be right one by one.
pub const BINS: [f64; 8] = [0.0, 0.01, 0.02, 0.05, 0.10, 0.20, 0.50, 1.0];

/// Findings with which a cell can tell anything.
const ENOUGH: usize = 50;

/// The programme that tells no more and no less than what is so in a network: limits, removals, hazards.
pub fn programme(recipe: &Recipe, trials: u32) -> Programme {
    let mut programme = common::programme();
    programme.plan_from = recipe.today;
    programme.trials = trials;
    programme.rejects.clone_from(&recipe.rejects);
    programme.removals.mean_years_to_removal = recipe.mean_years_to_removal;
    programme.hazards.use_of_capacity = recipe.use_of_capacity;
    programme.hazards.strength_cov = recipe.strength_cov;
    programme
}

/// The mean of what is true of the inspected poles of a curve.
pub fn mean_of_inspected(
    made: &Invented,
    beliefs: &Beliefs,
    curve: CellIndex,
    of: impl Fn(&Truth) -> f64,
) -> f64 {
    let own: Vec<f64> = made
        .inventory
        .indices()
        .filter(|pole| beliefs.summary(*pole).cell == curve)
        .filter(|pole| made.inventory.last_inspection(*pole).is_some())
        .map(|pole| of(&made.truth[pole.get()]))
        .collect();
    own.iter().sum::<f64>() / own.len() as f64
}

/// The owner's shift of ln life of a curve: 5 %, 50 % and 95 %.
pub fn learned_shift(curve: &CellLearning) -> [f64; 3] {
    curve.owners.map(|years| (years / curve.published[1]).ln())
}

/// The bin of a probability.
pub fn bin_of(probability: f64) -> usize {
    let bin = BINS[1..].partition_point(|upper| *upper < probability);
    bin.min(BINS.len() - 2)
}

/// What was learned of some networks.
pub struct Outcome {
    /// Cells whose 90 % interval holds the true shift, and cells with enough findings to tell.
    pub held: usize,
    /// Cells with enough findings to tell.
    pub cells: usize,
    /// Per bin: poles, expected and true numbers below the limit.
    pub bins: Vec<(usize, f64, usize)>,
}

impl Outcome {
    /// Nothing yet.
    pub fn new() -> Self {
        Self {
            held: 0,
            cells: 0,
            bins: vec![(0, 0.0, 0); BINS.len() - 1],
        }
    }

    /// One more network.
    pub fn add(&mut self, made: &Invented, beliefs: &Beliefs) {
        self.count_cells(made, beliefs);
        self.count_bins(made, beliefs);
    }

    /// Compares what was learned of each cell with the true mean shift of its inspected poles: soils are alike over whole
    /// districts, and what all areas of a cell have in common is the cell's.
    fn count_cells(&mut self, made: &Invented, beliefs: &Beliefs) {
        for cell in &beliefs.calibration.cells {
            if cell.poles_with_findings >= ENOUGH {
                let shift = |truth: &Truth| truth.shift + truth.soil_shift + truth.batch_shift;
                let truth = mean_of_inspected(made, beliefs, cell.cell, shift);
                let learned = learned_shift(cell);
                self.cells += 1;
                self.held += usize::from(learned[0] <= truth && truth <= learned[2]);
            }
        }
    }

    fn count_bins(&mut self, made: &Invented, beliefs: &Beliefs) {
        for (summary, truth) in beliefs.summaries.iter().zip(&made.truth) {
            let p = f64::from(summary.below_limit[0]);
            let (poles, expected, below) = &mut self.bins[bin_of(p)];
            *poles += 1;
            *expected += p;
            *below += usize::from(truth.below_limit);
        }
    }

    /// Deviations of the bins, in standard errors of independent poles.
    pub fn deviations(&self) -> Vec<f64> {
        let deviation = |(poles, expected, below): &(usize, f64, usize)| {
            let variance = expected * (1.0 - expected / *poles as f64);
            (*below as f64 - expected) / variance.max(1.0).sqrt()
        };
        self.bins.iter().map(deviation).collect()
    }

    /// Expected and true numbers below the limit.
    pub fn numbers(&self) -> (f64, f64) {
        let bins = self.bins.iter();
        bins.fold((0.0, 0.0), |(expected, truth), bin| {
            (expected + bin.1, truth + bin.2 as f64)
        })
    }

    /// Expected over true number below the limit.
    pub fn ratio(&self) -> f64 {
        let (expected, truth) = self.numbers();
        expected / truth
    }

    /// The worst deviation of a bin, in standard errors, either way.
    pub fn worst(&self) -> f64 {
        let deviations = self.deviations().into_iter();
        deviations.map(f64::abs).fold(0.0, f64::max)
    }

    /// Share of the cells whose 90 % interval holds the truth.
    pub fn coverage(&self) -> f64 {
        self.held as f64 / self.cells as f64
    }
}
