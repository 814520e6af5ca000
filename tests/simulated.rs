//! Simulation-based calibration (Talts, Betancourt, Simpson, Vehtari and Gelman, Validating Bayesian inference algorithms with
//! simulation-based calibration, 2018: memory): worlds are drawn from the model's own priors, fleets live in them, and what
//! is learned from their records must be as far from the truth as it says, no more and no less.
//!
//! A few fleets in the normal run; `cargo test --locked --test simulated -- --ignored --nocapture` takes two hundred.

mod common;

use polewright::belief::nuisances::{COORDINATES, Figures, Nuisance, Point};
use polewright::belief::{Beliefs, believe};
use polewright::chance::{Key, Purpose, Slot, Stream};
use polewright::invent::{Invented, Recipe, invent};
use polewright::models::{Cell, Doubts};
use polewright::wood::LifeCurve;
use polewright::{Models, Programme};
use statrs::distribution::{ContinuousCDF, Normal};
use std::collections::BTreeMap;

/// Poles of a fleet: several lines, and of most kinds enough inspections that they tell something.
const POLES: usize = 700;
/// Findings with which a curve's interval is looked at.
const ENOUGH: usize = 30;
/// Bounds of the bins of probability.
const BINS: [f64; 8] = [0.0, 0.01, 0.02, 0.05, 0.10, 0.20, 0.50, 1.0];

/// A world drawn from the priors: the models as they really are in it.
struct World {
    models: Models,
    point: Point,
    /// Shift of ln life of every cell of the models.
    theta: Vec<f64>,
}

fn standard_normal(stream: &mut Stream) -> f64 {
    Normal::standard().inverse_cdf(stream.uniform())
}

fn world(tables: &Models, number: u64) -> World {
    let mut stream =
        Key::of(number, "a world of its own").stream(0, Slot::new(Purpose::Invent, 0, 0));
    let mut next = || standard_normal(&mut stream);
    let point: Point = std::array::from_fn(|_| next());
    let figures = Figures::at(&point, tables);
    // As src/belief/kinship.rs shares out the variance between fleets: 0.4 of an owner, 0.2 of a preservative, 0.15 of a zone.
    let general = next();
    let (mut of_preservative, mut of_zone) = (BTreeMap::new(), BTreeMap::new());
    for cell in &tables.cells {
        of_zone.entry(cell.zone).or_insert_with(&mut next);
        for one in &tables.kinds[cell.kind].preservatives {
            of_preservative.entry(*one).or_insert_with(&mut next);
        }
    }
    let theta: Vec<f64> = tables
        .cells
        .iter()
        .map(|cell| {
            let preservatives = &tables.kinds[cell.kind].preservatives;
            let sum: f64 = preservatives.iter().map(|one| of_preservative[one]).sum();
            let parts = [
                (0.4, general),
                (0.2, sum / (preservatives.len().max(1) as f64).sqrt()),
                (0.15, of_zone[&cell.zone]),
                (0.25, next()),
            ];
            let z: f64 = parts.iter().map(|(share, z)| f64::sqrt(*share) * z).sum();
            cell.between_fleets_ln_sd * z
        })
        .collect();
    let mut models = tables.clone();
    models.detection = figures.detection;
    for (cell, shift) in models.cells.iter_mut().zip(&theta) {
        *cell = longer(&figures.applied(cell), *shift);
    }
    World {
        models,
        point,
        theta,
    }
}

/// A curve whose lives are `exp(shift)` times as long.
fn longer(cell: &Cell, shift: f64) -> Cell {
    let factor = shift.exp();
    let mut cell = *cell;
    match &mut cell.life.main {
        LifeCurve::Lognormal { median_years, .. } => *median_years *= factor,
        LifeCurve::Weibull { scale_years, .. } => *scale_years *= factor,
    }
    cell
}

/// What all fleets together say.
#[derive(Default)]
struct Outcome {
    /// Curves whose truth lies below the 5 %, 50 % and 95 % of what was learned, and all.
    curves: [usize; 4],
    /// The same by uncertain figure.
    figures: [[usize; 4]; COORDINATES],
    /// Per bin: poles, expected and true numbers below the limit, the variance of the truth around it in fleets.
    bins: Vec<(usize, f64, usize, f64)>,
    /// ln of the true over the expected number below the limit, by fleet.
    ratios: Vec<(f64, f64)>,
}

impl Outcome {
    fn add(&mut self, world: &World, made: &Invented, beliefs: &Beliefs) {
        for cell in &beliefs.calibration.cells {
            if cell.poles_with_findings < ENOUGH {
                continue;
            }
            let own: Vec<f64> = made
                .inventory
                .indices()
                .filter(|pole| beliefs.summary(*pole).cell == cell.cell)
                .filter(|pole| made.inventory.last_inspection(*pole).is_some())
                .map(|pole| made.truth[pole.get()])
                .map(|truth| truth.soil_shift + truth.batch_shift)
                .collect();
            let truth =
                world.theta[cell.cell.get()] + own.iter().sum::<f64>() / own.len().max(1) as f64;
            let learned = cell.owners.map(|years| (years / cell.published[1]).ln());
            count(&mut self.curves, truth, learned);
        }
        for learned in &beliefs.calibration.figures {
            let place = Nuisance::ALL.iter().position(|one| *one == learned.of);
            let place = place.expect("a figure of the list");
            let mut point = [0.0; COORDINATES];
            point[place] = world.point[place];
            let truth = Figures::at(&point, &tables()).value(learned.of);
            count(&mut self.figures[place], truth, learned.posterior);
        }
        self.bins.resize(BINS.len() - 1, (0, 0.0, 0, 0.0));
        let (mut all, mut true_all) = (0.0, 0.0);
        let mut of_fleet = vec![(0.0, 0.0); BINS.len() - 1];
        for (summary, truth) in beliefs.summaries.iter().zip(&made.truth) {
            let p = f64::from(summary.below_limit[0]);
            let bin = BINS[1..]
                .partition_point(|upper| *upper < p)
                .min(BINS.len() - 2);
            let (poles, expected, below, _) = &mut self.bins[bin];
            *poles += 1;
            *expected += p;
            *below += usize::from(truth.below_limit);
            let is_below = f64::from(u8::from(truth.below_limit));
            of_fleet[bin].0 += p;
            of_fleet[bin].1 += is_below;
            all += p;
            true_all += is_below;
        }
        for (bin, (expected, truth)) in self.bins.iter_mut().zip(of_fleet) {
            bin.3 += (truth - expected) * (truth - expected);
        }
        self.ratios.push((all, true_all));
    }

    fn print(&self) {
        let show = |name: &str, [low, middle, high, all]: [usize; 4]| {
            println!(
                "{name}: {all}, below 5 %: {low}, below 50 %: {middle}, below 95 %: {high}; within 90 %: {:.2}",
                (high - low) as f64 / all.max(1) as f64
            );
        };
        show("curves", self.curves);
        for (of, counts) in Nuisance::ALL.iter().zip(self.figures) {
            show(of.word(), counts);
        }
        for ((poles, expected, below, square), upper) in self.bins.iter().zip(&BINS[1..]) {
            println!(
                "up to {upper}: {poles} poles, {expected:.1} expected, {below} true, fleets' standard error {:.1}",
                square.sqrt()
            );
        }
        let (expected, truth) = self
            .ratios
            .iter()
            .fold((0.0, 0.0), |sum, one| (sum.0 + one.0, sum.1 + one.1));
        println!("below the limit: {expected:.1} expected, {truth} true");
        println!("by fleet: {:.0?}", self.ratios);
    }
}

fn count(counts: &mut [usize; 4], truth: f64, learned: [f64; 3]) {
    for (count, bound) in counts.iter_mut().zip(learned) {
        *count += usize::from(truth < bound);
    }
    counts[3] += 1;
}

fn tables() -> Models {
    polewright::models::text::built_in().expect("valid models")
}

fn recipe(number: u64) -> Recipe {
    Recipe {
        poles: POLES,
        seed: 1000 + number,
        unknown_kind: 0.0,
        // Soils as the model takes them: every line its own.
        soil_range_metres: 1e-9,
        ..Recipe::default()
    }
}

fn programme(recipe: &Recipe) -> Programme {
    let mut programme = common::programme();
    programme.plan_from = recipe.today;
    programme.trials = 256;
    programme.rejects.clone_from(&recipe.rejects);
    programme.removals.mean_years_to_removal = recipe.mean_years_to_removal;
    programme.hazards.use_of_capacity = recipe.use_of_capacity;
    programme.hazards.strength_cov = recipe.strength_cov;
    programme
}

fn fleets(numbers: std::ops::Range<u64>) -> Outcome {
    let mut tables = tables();
    if std::env::var("SURE").is_ok() {
        tables.doubts = Doubts::NONE;
    }
    let mut outcome = Outcome::default();
    for number in numbers {
        let world = world(&tables, number);
        let recipe = recipe(number);
        let made = invent(&recipe, &world.models);
        let beliefs = believe(&made.inventory, &tables, &programme(&recipe));
        outcome.add(&world, &made, &beliefs);
    }
    outcome
}

#[test]
#[ignore = "minutes"]
fn two_hundred_fleets_are_as_far_from_the_truth_as_they_say() {
    let count = std::env::var("FLEETS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(200);
    let outcome = fleets(0..count);
    outcome.print();
}
