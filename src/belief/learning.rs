//! The course of learning: where the nodes of the uncertain figures lie, and the joint draws of figures, theta and b (model
//! section 4).
//!
//! A sample of whole areas places the nodes; at each node the whole fleet tells theta and b. Owns the order of the steps; the
//! arithmetic is in [`super::nuisances`], [`super::laplace`] and [`super::calibrate`].

use super::areas::{AREA_SD, AreaSpread};
use super::calibrate::{Answer, Draws, Question, answer};
use super::grid::{LifeGrid, SHIFT_NODES, SHIFT_STEP, running_sums, shift_at};
use super::kinship::{Kin, Kinship};
use super::laplace::{Mode, Tables, mode};
use super::nuisances::{COORDINATES, Figures, Fit, Learned, MOST_NODES, Point, learned, ln_prior};
use super::shifts::{FIXED_POINT, Pair};
use super::{Beliefs, Scratch, Witness};
use crate::chance::{Key, Purpose, Slot};
use crate::inventory::Inventory;
use crate::models::{Cell, Doubts, Models};
use crate::parallel;
use crate::programme::Programme;
use crate::wood::Detection;

/// Poles of the samples that place the nodes, one sample a mend: few to find the region, since the tables' doubts are far
/// wider than what an owner's inspections leave and a quadratic holds only near its middle; then enough to tell where in it
/// the figures lie. A national fleet takes no longer than a small one, and its nodes err to the wide side.
const SAMPLES: [usize; 3] = [300, 600, 1000];
/// A sample of whole areas is at most so many times the poles that it is to have.
const LARGEST_AREA: usize = 4;
/// Nodes of the shift from one to the next that the design is weighed at.
const COARSE: usize = 4;
/// Cells of service life of the fleet's grid to one of the design's.
const COARSE_LIVES: usize = 2;
/// Years from the plan date at which the second answer is asked for: the horizon of most orders.
const LATER_YEARS: f64 = 10.0;
/// Least draws that a node's margins are made of.
const LEAST_DRAWS: u32 = 64;

type Witnesses = [(Witness, (u32, u16))];

/// What was learned.
pub(super) struct Learning {
    /// Joint draws.
    pub draws: Draws,
    /// Probability of every node of theta, by slot.
    pub theta: Vec<Vec<f64>>,
    /// Standard deviation of theta in steps with the figures as sure as any one node takes them, by slot.
    pub theta_sd_of_nodes: Vec<f64>,
    /// Probability of every node, by pair.
    pub shift: Vec<Vec<f64>>,
    /// The uncertain figures.
    pub figures: Vec<Learned>,
    /// How inspections see at the middle of what is believed of them.
    pub sees: Detection,
}

/// What the design is asked for at one of its points.
struct Answers {
    ln_posterior: f64,
    /// Poles below the limit now and later, and the mean shift.
    moved: [f64; 3],
}

impl Beliefs {
    /// Learns from all records; leaves the nodes of the uncertain figures in place.
    pub(super) fn learn(
        &mut self,
        inventory: &Inventory,
        models: &Models,
        programme: &Programme,
    ) -> Learning {
        let witnesses = self.witnesses(inventory);
        self.pair_keys = self.keys(inventory, &witnesses);
        let is_sure = models.doubts == Doubts::NONE;
        let fit = if is_sure || witnesses.is_empty() {
            Fit::prior()
        } else {
            self.place_nodes(inventory, &witnesses, models, programme.seed)
        };
        let points = if is_sure {
            vec![[0.0; COORDINATES]]
        } else {
            fit.nodes()
        };
        self.set_figures(&points, models, 1);
        let pairs = self.gather(inventory, &witnesses);
        let mut learning = self.mixed(&pairs, models, programme);
        learning.sees = Figures::at(&fit.middle, models).detection;
        if is_sure {
            learning.figures.clear();
        } else {
            learning.figures.splice(0..0, learned(&fit, models));
        }
        learning
    }

    /// The joint draws and margins of all nodes, which are equally likely.
    fn mixed(&self, pairs: &[Vec<Pair>], models: &Models, programme: &Programme) -> Learning {
        let count = pairs.len() as u32;
        let of_draws: Vec<u8> = (0..programme.trials)
            .map(|draw| (draw % count) as u8)
            .collect();
        let draws = programme.trials.div_ceil(count).max(LEAST_DRAWS);
        let answers: Vec<Answer> = parallel::map_with(
            pairs,
            || (),
            |(), pairs| self.answer(pairs, models, programme, draws),
        );
        let weight = 1.0 / f64::from(count);
        let mut theta = vec![Vec::new(); self.cells.len()];
        let mut variance = vec![0.0; self.cells.len()];
        let spread = AreaSpread::new(models.doubts.area_spread_ln);
        let mut spread_mass = vec![0.0; spread.len()];
        let mut shift = vec![Vec::with_capacity(self.nodes()); self.pair_keys.len()];
        for answer in &answers {
            for ((sum, of_nodes), own) in theta.iter_mut().zip(&mut variance).zip(&answer.theta) {
                sum.resize(own.len(), 0.0);
                let parts = sum.iter_mut().zip(own);
                parts.for_each(|(sum, part)| *sum += weight * part);
                *of_nodes += weight * variance_of(own);
            }
            let parts = spread_mass.iter_mut().zip(&answer.spread);
            parts.for_each(|(sum, part)| *sum += weight * part);
            for (all, own) in shift.iter_mut().zip(&answer.shift) {
                all.extend(own.iter().map(|part| weight * part));
            }
        }
        let draws: Vec<Draws> = answers.into_iter().map(|answer| answer.draws).collect();
        Learning {
            draws: Draws::mixed(&draws, of_draws),
            theta,
            theta_sd_of_nodes: variance.into_iter().map(f64::sqrt).collect(),
            shift,
            figures: vec![Learned::of_areas(
                models.doubts.area_spread_ln,
                spread.ln_factor(&spread_mass),
            )],
            sees: models.detection,
        }
    }

    /// The normal distribution of the uncertain figures that samples of whole areas give.
    fn place_nodes(
        &mut self,
        inventory: &Inventory,
        witnesses: &Witnesses,
        models: &Models,
        seed: u64,
    ) -> Fit {
        let coarse = LifeGrid::new((self.lives.len() / COARSE_LIVES).max(1));
        let fine = std::mem::replace(&mut self.lives, coarse);
        let kinship = Kinship::new(&self.kin(models));
        let mut fit = Fit::prior();
        let whole = SAMPLES.partition_point(|poles| *poles < witnesses.len());
        // All poles there are, once more: a third time tells nothing new.
        let rounds = SAMPLES.len().min(whole + 2);
        for (round, poles) in (1..=rounds).zip(SAMPLES) {
            let sample = self.sample(inventory, witnesses, poles, seed);
            let points = if round < rounds {
                fit.cross()
            } else {
                fit.design()
            };
            let answers = self.ask(inventory, &sample, &points, models, &kinship);
            let ln_posterior: Vec<f64> = answers.iter().map(|one| one.ln_posterior).collect();
            let moved: Vec<Vec<f64>> = (0..3)
                .map(|which| answers.iter().map(|one| one.moved[which]).collect())
                .collect();
            fit = fit.mended(&ln_posterior, &moved);
        }
        self.lives = fine;
        fit
    }

    /// What a sample says at these points.
    fn ask(
        &mut self,
        inventory: &Inventory,
        sample: &Witnesses,
        points: &[Point],
        models: &Models,
        kinship: &Kinship,
    ) -> Vec<Answers> {
        let mut answers = Vec::new();
        for points in points.chunks(MOST_NODES) {
            self.set_figures(points, models, COARSE);
            let pairs = self.gather(inventory, sample);
            let below = self.below_at_nodes(inventory, sample);
            for (node, (point, pairs)) in points.iter().zip(&pairs).enumerate() {
                let mode = mode(&Tables {
                    pairs,
                    step: SHIFT_STEP * COARSE as f64,
                    stride: 1,
                    kinship,
                    area_sd: AREA_SD,
                    areas: self.areas.len(),
                });
                answers.push(Answers {
                    ln_posterior: ln_prior(point) + mode.ln_evidence,
                    moved: moved(pairs, &mode, &below[node]),
                });
            }
        }
        answers
    }

    /// Poles of the sample below the limit now and later, by node of the figures, pair and node of the shift, as integers
    /// that add.
    fn below_at_nodes(&self, inventory: &Inventory, sample: &Witnesses) -> Vec<[Vec<Vec<i64>>; 2]> {
        let shifts = SHIFT_NODES.div_ceil(COARSE);
        let blank = vec![vec![0_i64; shifts]; self.pair_keys.len()];
        let mut sums = vec![[blank.clone(), blank]; self.figures.len()];
        let standing: Vec<_> = sample
            .iter()
            .filter_map(|(witness, key)| match witness {
                Witness::Standing(pole) => Some((*pole, *key)),
                Witness::Gone(_) => None,
            })
            .collect();
        let below =
            parallel::map_with(&standing, Scratch::default, |scratch, (pole, (_, slot))| {
                self.fill_grid(inventory, *pole, scratch);
                let required = self.missing.required(inventory.pole(*pole));
                let priors = self.cells[usize::from(*slot)].prior.chunks(shifts);
                let of_node = |(node, priors): (usize, &[Vec<f64>])| {
                    [0.0, LATER_YEARS].map(|years| {
                        let lives = self.below_by_life(&scratch.grid, node, required, years);
                        let chance = |prior: &Vec<f64>| {
                            let (found, _) = scratch.grid.found_and_listed(node, prior);
                            let below = super::mean(prior, &lives);
                            if found > 0.0 { below / found } else { 0.0 }
                        };
                        let fixed = |prior| (chance(prior) * FIXED_POINT).round() as i64;
                        priors.iter().map(fixed).collect::<Vec<i64>>()
                    })
                };
                priors.enumerate().map(of_node).collect::<Vec<_>>()
            });
        for ((_, key), of_pole) in standing.iter().zip(below) {
            let place = self.pair_keys.partition_point(|known| known < key);
            for (sums, own) in sums.iter_mut().zip(of_pole) {
                for (sums, own) in sums.iter_mut().zip(own) {
                    let parts = sums[place].iter_mut().zip(own);
                    parts.for_each(|(sum, part)| *sum += part);
                }
            }
        }
        sums
    }

    /// Poles of whole areas, in an order of areas that only their names and the seed decide, until there are enough.
    fn sample(
        &self,
        inventory: &Inventory,
        witnesses: &Witnesses,
        enough: usize,
        seed: u64,
    ) -> Vec<(Witness, (u32, u16))> {
        let mut by_area = vec![0_usize; self.areas.len()];
        for (_, (area, _)) in witnesses {
            by_area[*area as usize] += 1;
        }
        let mut areas: Vec<usize> = (0..by_area.len())
            .filter(|area| by_area[*area] > 0)
            .collect();
        areas.sort_by_cached_key(|area| {
            Key::of(seed, &format!("sample of area {}", self.areas[*area].name))
                .bits(0, Slot::new(Purpose::Calibrate, 0, 0))
        });
        let mut taken = vec![false; by_area.len()];
        let mut poles = 0;
        for area in areas {
            if poles >= enough {
                break;
            }
            taken[area] = true;
            poles += by_area[area];
        }
        let mut sample: Vec<_> = witnesses
            .iter()
            .filter(|(_, (area, _))| taken[*area as usize])
            .copied()
            .collect();
        if sample.len() > LARGEST_AREA * enough {
            // One huge line, or no lines at all.
            sample.sort_by_cached_key(|(witness, _)| place_in_sample(inventory, *witness, seed));
            sample.truncate(LARGEST_AREA * enough);
            sample.sort_unstable_by_key(|(witness, _)| *witness);
        }
        sample
    }

    /// Makes the priors at these points, at every `coarse`-th node of the shift.
    fn set_figures(&mut self, points: &[Point], models: &Models, coarse: usize) {
        self.figures = points
            .iter()
            .map(|point| Figures::at(point, models))
            .collect();
        let (figures, lives) = (&self.figures, &self.lives);
        let priors = parallel::map_with(
            &self.cells,
            || (),
            |(), used| {
                let of_node = |own: &Figures| {
                    let cell: Cell = own.applied(&used.cell);
                    let shifts = (0..SHIFT_NODES).step_by(coarse);
                    shifts
                        .map(|shift| lives.prior(&cell, shift_at(shift)))
                        .collect::<Vec<_>>()
                };
                figures.iter().flat_map(of_node).collect::<Vec<_>>()
            },
        );
        for (used, prior) in self.cells.iter_mut().zip(priors) {
            used.prior = prior;
            if used.is_put_in && coarse == 1 {
                used.prior_sums = used.prior.iter().map(|mass| running_sums(mass)).collect();
            }
        }
    }

    fn kin<'m>(&self, models: &'m Models) -> Vec<Kin<'m>> {
        self.cells
            .iter()
            .map(|used| Kin {
                cell: used.cell,
                name: format!("{} {}", models.kind(used.index).id, used.cell.zone),
                preservatives: &models.kind(used.index).preservatives,
            })
            .collect()
    }

    fn answer(&self, pairs: &[Pair], models: &Models, programme: &Programme, draws: u32) -> Answer {
        let areas: Vec<String> = self.areas.iter().map(|area| area.name.clone()).collect();
        answer(&Question {
            curves: &self.kin(models),
            areas: &areas,
            pairs,
            area_spread_ln: models.doubts.area_spread_ln,
            draws,
            seed: programme.seed,
        })
    }
}

/// Where a pole stands in an order that only its id and the seed decide.
fn place_in_sample(inventory: &Inventory, witness: Witness, seed: u64) -> (u32, Witness) {
    let id = match witness {
        Witness::Standing(pole) => inventory.id(pole),
        Witness::Gone(place) => &inventory.removed[place].id,
    };
    let slot = Slot::new(Purpose::Calibrate, 1, 0);
    (Key::of(seed, id).bits(0, slot), witness)
}

/// What moves at the most likely shifts: poles below the limit now and later, and the mean shift of all poles.
fn moved(pairs: &[Pair], mode: &Mode, below: &[Vec<Vec<i64>>; 2]) -> [f64; 3] {
    let mut moved = [0.0; 3];
    let mut poles = 0.0;
    for (place, pair) in pairs.iter().enumerate().filter(|(_, pair)| pair.poles > 0) {
        let shift = mode.theta[pair.slot] + mode.area[pair.area];
        for (sum, tables) in moved.iter_mut().zip(below) {
            *sum += between(&tables[place], shift / (SHIFT_STEP * COARSE as f64)) / FIXED_POINT;
        }
        moved[2] += pair.poles as f64 * shift;
        poles += pair.poles as f64;
    }
    moved[2] /= f64::max(poles, 1.0);
    // The mean shift first after what stands below the limit today.
    [moved[0], moved[2], moved[1]]
}

/// A table's value at a place (in nodes from its middle), straight between nodes.
fn between(table: &[i64], place: f64) -> f64 {
    let last = table.len() - 1;
    let place = (place + (table.len() / 2) as f64).clamp(0.0, last as f64);
    let below = (place as usize).min(last.saturating_sub(1));
    let (low, high) = (table[below] as f64, table[(below + 1).min(last)] as f64);
    low + (high - low) * (place - below as f64)
}

fn variance_of(mass: &[f64]) -> f64 {
    let moment = |power: i32| -> f64 {
        let nodes = mass.iter().enumerate();
        nodes.map(|(at, part)| part * (at as f64).powi(power)).sum()
    };
    (moment(2) - moment(1) * moment(1)).max(0.0)
}
