//! Simulation-based calibration (Talts, Betancourt, Simpson, Vehtari and Gelman, Validating Bayesian inference algorithms with
//! simulation-based calibration, 2018: memory): worlds are drawn from the model's own priors, fleets live in them, and what
//! is learned from their records must be as far from the truth as it says, no more and no less.
//!
//! A few fleets in the normal run; `cargo test --locked --test simulated -- --ignored --nocapture` takes two hundred, and the
//! same two hundred with the tables' figures taken as certain, to show what their doubt is good for.

#![expect(
    clippy::print_stdout,
    reason = "the run on demand prints what it measured"
)]

mod common;
#[path = "common/learned.rs"]
mod learned;

use learned::{BINS, bin_of, learned_shift, mean_of_inspected, programme};
use polewright::belief::areas::AREA_SD;
use polewright::belief::nuisances::{Figures, Nuisance, Point};
use polewright::belief::{Beliefs, believe};
use polewright::chance::{Key, Purpose, Slot, Stream};
use polewright::invent::{Invented, Recipe, invent};
use polewright::models::{Cell, Doubts};
use polewright::score::bands::GroupedBy;
use polewright::score::forecast::Holds;
use polewright::score::hindcast::{Question, hindcast};
use polewright::wood::LifeCurve;
use polewright::{Models, Programme};
use statrs::distribution::{ContinuousCDF, Normal};
use std::collections::BTreeMap;

/// Poles of a fleet: several lines, and of most kinds enough inspections that they tell something.
const POLES: usize = 700;
/// Findings with which a curve's interval is looked at.
const ENOUGH: usize = 30;
/// Fleets of the normal run, and of the one on demand.
const FEW: u64 = 5;
const MANY: u64 = 200;
/// The year to which fleets are looked back on: three years of rounds after it.
const LOOK_BACK_TO: i16 = 2023;
/// Joint draws.
const DRAWS: u32 = 256;

/// A world drawn from the priors: the models as they really are in it.
struct World {
    models: Models,
    point: Point,
    area_spread: f64,
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
        area_spread: AREA_SD * (tables.doubts.area_spread_ln * next()).exp(),
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

/// How often the truth lies below 5 %, 50 % and 95 % of what was learned, of how many.
#[derive(Debug, Clone, Copy, Default)]
struct Ranks([usize; 4]);

impl Ranks {
    fn add(&mut self, truth: f64, learned: [f64; 3]) {
        for (count, bound) in self.0.iter_mut().zip(learned) {
            *count += usize::from(truth < bound);
        }
        self.0[3] += 1;
    }

    fn within_ninety(&self) -> f64 {
        (self.0[2] - self.0[0]) as f64 / self.0[3].max(1) as f64
    }

    fn below_middle(&self) -> f64 {
        self.0[1] as f64 / self.0[3].max(1) as f64
    }

    /// Standard error of a share where `p` is right, of half as many truths as there are: curves of one fleet go together.
    fn standard_error(&self, p: f64) -> f64 {
        (p * (1.0 - p) / (self.0[3] as f64 / 2.0).max(1.0)).sqrt()
    }
}

/// One bin of probability over all fleets.
#[derive(Debug, Clone, Copy, Default)]
struct Bin {
    poles: usize,
    expected: f64,
    below: f64,
    /// Sum over the fleets of the squared difference: what fleets have in common makes it larger than binomial.
    square: f64,
}

/// What all fleets together say.
#[derive(Default)]
struct Outcome {
    curves: Ranks,
    /// By uncertain figure.
    figures: Vec<(Nuisance, Ranks)>,
    bins: [Bin; BINS.len() - 1],
    /// Bands of 90 % on what later rounds found, all poles of a fleet and line by line: those that hold, all, and how many
    /// of them should.
    bands: [(usize, usize, f64); 2],
}

impl Outcome {
    fn add(&mut self, world: &World, made: &Invented, beliefs: &Beliefs) {
        for cell in &beliefs.calibration.cells {
            if cell.poles_with_findings >= ENOUGH {
                // What all soils of a curve have in common is the curve's.
                let soils = mean_of_inspected(made, beliefs, cell.cell, |truth| truth.soil_shift);
                let truth = world.theta[cell.cell.get()] + soils;
                self.curves.add(truth, learned_shift(cell));
            }
        }
        for learned in &beliefs.calibration.figures {
            let truth = match learned.of {
                Nuisance::AreaSpread => world.area_spread,
                of => Figures::at(&world.point, &tables()).value(of),
            };
            let known = self.figures.iter().position(|(of, _)| *of == learned.of);
            let place = known.unwrap_or(self.figures.len());
            if known.is_none() {
                self.figures.push((learned.of, Ranks::default()));
            }
            self.figures[place].1.add(truth, learned.posterior);
        }
        let mut differences = [0.0; BINS.len() - 1];
        for (summary, truth) in beliefs.summaries.iter().zip(&made.truth) {
            let p = f64::from(summary.below_limit[0]);
            let place = bin_of(p);
            let is_below = f64::from(u8::from(truth.below_limit));
            let bin = &mut self.bins[place];
            bin.poles += 1;
            bin.expected += p;
            bin.below += is_below;
            differences[place] += is_below - p;
        }
        for (bin, difference) in self.bins.iter_mut().zip(differences) {
            bin.square += difference * difference;
        }
    }

    /// Looks back on the fleet: what was forecast from the records before a year, against what the rounds after it found.
    fn look_back(&mut self, made: &Invented, tables: &Models, programme: &Programme) {
        let question = Question {
            as_of: vec![LOOK_BACK_TO],
            window_years: None,
            holds: Holds::Survivors,
        };
        let seen = hindcast(&made.inventory, tables, programme, &question);
        for coverage in seen.scores.iter().flat_map(|scores| &scores.coverage) {
            let place = match coverage.grouped_by {
                GroupedBy::Everything => 0,
                GroupedBy::Line => 1,
                GroupedBy::Size => continue,
            };
            if (coverage.level - 0.9).abs() < 1e-9 {
                let (held, groups, expected) = &mut self.bands[place];
                *held += coverage.held;
                *groups += coverage.groups;
                *expected += coverage.expected * coverage.groups as f64;
            }
        }
    }

    fn print(&self, name: &str) {
        println!("{name}");
        let show = |name: &str, ranks: &Ranks| {
            let [low, middle, high, all] = ranks.0;
            println!(
                "{name}: {all}, below 5 %: {low}, below 50 %: {middle}, below 95 %: {high}; within 90 %: {:.3}",
                ranks.within_ninety()
            );
        };
        show("curves", &self.curves);
        for (of, ranks) in &self.figures {
            show(of.word(), ranks);
        }
        for (bin, upper) in self.bins.iter().zip(&BINS[1..]) {
            println!(
                "up to {upper}: {} poles, {:.1} expected below the limit, {} true, standard error {:.1}",
                bin.poles,
                bin.expected,
                bin.below,
                bin.square.sqrt()
            );
        }
        println!(
            "bands of 90 % on later finds, fleets and lines: {:?}",
            self.bands
        );
    }
}

fn tables() -> Models {
    polewright::models::text::built_in().expect("valid models")
}

fn recipe(number: u64, world: &World) -> Recipe {
    Recipe {
        poles: POLES,
        seed: 1000 + number,
        unknown_kind: 0.0,
        // Soils as the model takes them: every line its own, nothing besides.
        tau_area: world.area_spread,
        soil_range_metres: 1e-9,
        tau_batch: 0.0,
        ..Recipe::default()
    }
}

/// Fleets in worlds of their own, learned from with these tables.
fn fleets(count: u64, tables: &Models) -> Outcome {
    let mut outcome = Outcome::default();
    for number in 0..count {
        let world = world(&self::tables(), number);
        let recipe = recipe(number, &world);
        let made = invent(&recipe, &world.models);
        let programme = programme(&recipe, DRAWS);
        let beliefs = believe(&made.inventory, tables, &programme);
        outcome.add(&world, &made, &beliefs);
        outcome.look_back(&made, tables, &programme);
    }
    outcome
}

/// Standard errors by which a share may differ from what it should be: of some twenty shares one in twenty runs fails.
const STANDARD_ERRORS: f64 = 3.0;

fn assert_ranks(name: &str, ranks: &Ranks) {
    for (share, right) in [(ranks.within_ninety(), 0.9), (ranks.below_middle(), 0.5)] {
        assert!(
            (share - right).abs() <= STANDARD_ERRORS * ranks.standard_error(right),
            "{name}: {ranks:?}, {share:.3} instead of {right}"
        );
    }
}

#[test]
fn a_few_fleets_are_as_far_from_the_truth_as_they_say() {
    let outcome = fleets(FEW, &tables());
    assert_ranks("curves", &outcome.curves);
    let mut all = Ranks::default();
    for (_, ranks) in &outcome.figures {
        for (sum, own) in all.0.iter_mut().zip(ranks.0) {
            *sum += own;
        }
    }
    assert_ranks("figures", &all);
    assert!(outcome.bands[1].1 >= 8, "{:?}", outcome.bands);
    assert_bands(outcome.bands[1]);
}

/// Whole counts make a band hold at least its level, few of them a good deal more: what should hold is reckoned with that.
fn assert_bands((held, groups, expected): (usize, usize, f64)) {
    // Lines of one fleet go together: half as many count.
    let error = (expected / groups as f64 * (groups as f64 - expected) * 2.0).sqrt();
    assert!(
        (held as f64 - expected).abs() <= STANDARD_ERRORS * error,
        "{held} of {groups} hold, {expected:.1} should"
    );
}

#[test]
#[ignore = "an hour"]
fn two_hundred_fleets_are_as_far_from_the_truth_as_they_say() {
    let outcome = fleets(MANY, &tables());
    outcome.print("with doubt");
    let certain = Models {
        doubts: Doubts::NONE,
        ..tables()
    };
    fleets(MANY, &certain).print("with the tables' figures taken as certain");
    assert_ranks("curves", &outcome.curves);
    for (of, ranks) in &outcome.figures {
        assert_ranks(of.word(), ranks);
    }
    for (bin, upper) in outcome.bins.iter().zip(&BINS[1..]) {
        assert!(
            (bin.below - bin.expected).abs() <= STANDARD_ERRORS * bin.square.sqrt(),
            "up to {upper}: {bin:?}"
        );
    }
    outcome.bands.into_iter().for_each(assert_bands);
}
