//! How often looks should find decay and condemn, by the owner's curves and the methods' sensitivity, whatever was found.
//!
//! One table a curve cell, method and limits over age / service life, and sums over the cells of life: fast enough for
//! every look of a fleet. Uses what was learned of each curve cell and nothing of a line's own shift or a pole's own
//! findings, so that records which are too good do not lower what is expected of whoever wrote them. For the same reason
//! how well methods see is the table's, not what the finds say of it: with that, finds that are too few would be expected.
//! Failure in wind is left out: it takes few poles beside the rounds.

use crate::belief::Beliefs;
use crate::belief::areas::AREA_SD;
use crate::belief::grid::{SHIFT_STEP, normal_nodes, protected_share};
use crate::inventory::Inventory;
use crate::maths::{exp, ln, normal_pdf, quantile_of_sorted};
use crate::models::Cell;
use crate::pole::{Inspection, Method, Mode, PoleIndex, Verdict};
use crate::programme::Programme;
use crate::units::{Mm, years_between};
use crate::wood::progress::{REFERENCE_DIAMETER, Wood};
use crate::wood::strength::limit_progress;
use crate::wood::{Detection, MethodDetection};
use std::collections::BTreeMap;

/// Range of ln (age / service life) that matters: earlier nothing is seen, later everything.
const LOWEST: f64 = -3.0;
const HIGHEST: f64 = 3.0;
/// Steps of the table; between them it is straight. Finer than the cells of life.
const STEPS: usize = 600;

/// Steps of a line's shift that matter: four standard deviations.
const AREA_STEPS: i32 = 24;

/// What a look at a pole should find: chances of a reject and of any decay, rejects included.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Chance {
    /// Judged below the limit.
    pub rejected: f64,
    /// Decay found.
    pub decayed: f64,
}

/// One look with what it should have found, given that its pole is still listed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected<'a> {
    /// The look.
    pub look: &'a Inspection,
    /// What it should find.
    pub chance: Chance,
}

/// Chances by ln (age / service life).
type Table = Vec<Chance>;

/// What the looks of a fleet should find.
#[derive(Debug)]
pub struct Expectation<'a> {
    inventory: &'a Inventory,
    programme: &'a Programme,
    beliefs: &'a Beliefs,
    diameter: Mm,
    ln_lives: Vec<f64>,
    /// By slot of the curve cell: prior mass over the cells of service life, as the owner's findings made it.
    lives: Vec<Vec<f64>>,
    tables: BTreeMap<(usize, Method, [u64; 2]), Table>,
}

impl<'a> Expectation<'a> {
    /// For the poles and looks of an inventory.
    pub fn new(inventory: &'a Inventory, programme: &'a Programme, beliefs: &'a Beliefs) -> Self {
        let mut measured: Vec<f64> = inventory
            .poles()
            .iter()
            .filter_map(|pole| pole.diameter)
            .map(|mm| mm.0)
            .collect();
        measured.sort_by(f64::total_cmp);
        Self {
            inventory,
            programme,
            beliefs,
            diameter: quantile_of_sorted(&measured, 0.5).map_or(REFERENCE_DIAMETER, Mm),
            ln_lives: beliefs
                .lives
                .middles()
                .iter()
                .map(|life| ln(*life))
                .collect(),
            lives: (0..beliefs.cells.len())
                .map(|slot| lives(beliefs, slot))
                .collect(),
            tables: BTreeMap::new(),
        }
    }

    /// Years that a pole of a curve cell stands on average when it is replaced at the end of its service life, and
    /// before that at a yearly rate for reasons that have nothing to do with decay.
    pub fn mean_life(&self, pole: PoleIndex, other_demand: f64) -> f64 {
        let lives = self.beliefs.lives.middles();
        let stands = |life: f64| {
            if other_demand > 0.0 {
                (1.0 - exp(-other_demand * life)) / other_demand
            } else {
                life
            }
        };
        let parts = self.lives[self.beliefs.slot(pole)].iter().zip(lives);
        parts.map(|(mass, life)| mass * stands(*life)).sum()
    }

    /// The looks at one pole that said something, up to the first that condemned it, with what each should find.
    ///
    /// A pole passes its rounds in turn, so each look sees only who has passed those before; and those who are
    /// condemned, here or later, mostly leave the list (model section 4).
    pub fn of_pole(&mut self, pole: PoleIndex) -> Vec<Expected<'a>> {
        let looks = looks(self.inventory, pole);
        let slot = self.beliefs.slot(pole);
        let seen: Vec<Vec<Chance>> = looks
            .iter()
            .map(|look| self.by_life(pole, slot, look))
            .collect();
        let kept: Vec<f64> = looks
            .iter()
            .map(|look| {
                let lag = years_between(look.date, self.programme.plan_from);
                self.programme.removals.still_listed(lag)
            })
            .collect();
        // From the last look backwards: chance of being listed for who has passed all looks before.
        let mut listed = vec![vec![1.0; self.ln_lives.len()]; looks.len() + 1];
        for place in (0..looks.len()).rev() {
            for cell in 0..self.ln_lives.len() {
                let rejected = seen[place][cell].rejected;
                listed[place][cell] =
                    rejected * kept[place] + (1.0 - rejected) * listed[place + 1][cell];
            }
        }
        let mut mass = self.lives[slot].clone();
        let mut expected = Vec::new();
        for (place, look) in looks.iter().enumerate() {
            let (mut rejected, mut decayed, mut all) = (0.0, 0.0, 0.0);
            for (cell, own) in mass.iter_mut().enumerate() {
                let chance = seen[place][cell];
                let after = listed[place + 1][cell];
                rejected += *own * chance.rejected * kept[place];
                decayed += *own * (chance.decayed - chance.rejected) * after;
                all += *own * listed[place][cell];
                *own *= 1.0 - chance.rejected;
            }
            expected.push(Expected {
                look,
                chance: Chance {
                    rejected: rejected / all,
                    decayed: (rejected + decayed) / all,
                },
            });
        }
        expected
    }

    /// What a look finds, by cell of service life.
    fn by_life(&mut self, pole: PoleIndex, slot: usize, look: &Inspection) -> Vec<Chance> {
        let limits = Mode::ALL
            .map(|mode| limit_progress(&self.programme.rejects, look.date, mode, self.diameter));
        let age = self.age_at(pole, look);
        let key = (slot, look.method, limits.map(f64::to_bits));
        if !self.tables.contains_key(&key) {
            let table = table(
                &self.beliefs.cells[slot].cell,
                &self.beliefs.detection,
                look.method,
                limits,
                self.diameter,
            );
            self.tables.insert(key, table);
        }
        let table = &self.tables[&key];
        self.ln_lives
            .iter()
            .map(|life| at(table, ln(age) - life))
            .collect()
    }

    fn age_at(&self, pole: PoleIndex, look: &Inspection) -> f64 {
        let age = match self.inventory.pole(pole).installed {
            Some(set) => years_between(set, look.date),
            None => {
                f64::from(self.beliefs.summary(pole).age)
                    - years_between(look.date, self.programme.plan_from)
            }
        };
        age.max(0.01)
    }
}

/// The looks that said something, up to the first that condemned the pole.
fn looks(inventory: &Inventory, pole: PoleIndex) -> Vec<&Inspection> {
    let mut looks = Vec::new();
    for look in inventory.inspections_of(pole) {
        if look.verdict != Verdict::NotInspected {
            looks.push(look);
            if look.verdict.is_reject() {
                break;
            }
        }
    }
    looks
}

/// Mass over the cells of service life: what was learned of the curve cell, and the doubt between lines.
fn lives(beliefs: &Beliefs, slot: usize) -> Vec<f64> {
    let all_draws = &beliefs.calibration.draws;
    let draws = &all_draws.theta[slot];
    let lines: Vec<(i32, f64)> = (-AREA_STEPS..=AREA_STEPS)
        .map(|steps| (steps, normal_pdf(f64::from(steps) * SHIFT_STEP / AREA_SD)))
        .collect();
    let all: f64 = lines.iter().map(|(_, weight)| weight).sum::<f64>() * draws.len().max(1) as f64;
    let mut nodes = vec![0.0; beliefs.nodes()];
    for (draw, theta) in draws.iter().enumerate() {
        for (steps, weight) in &lines {
            nodes[all_draws.node(draw, theta + steps)] += weight / all;
        }
    }
    let mut mass = vec![0.0; beliefs.lives.len()];
    for (node, weight) in nodes
        .iter()
        .enumerate()
        .filter(|(_, weight)| **weight > 0.0)
    {
        let prior = beliefs.cells[slot].prior(node);
        mass.iter_mut()
            .zip(prior)
            .for_each(|(sum, part)| *sum += weight * part);
    }
    mass
}

fn table(
    cell: &Cell,
    detection: &Detection,
    method: Method,
    limits: [f64; 2],
    diameter: Mm,
) -> Table {
    let sees = detection.of(method);
    let hidden = if Detection::hides_from(method) {
        detection.hidden_share
    } else {
        0.0
    };
    (0..=STEPS)
        .map(|step| {
            let age = exp(LOWEST + (HIGHEST - LOWEST) * step as f64 / STEPS as f64);
            let mut sum = Chance::default();
            for mode in Mode::ALL {
                let of_mode = match mode {
                    Mode::Internal => cell.internal_share,
                    Mode::External => 1.0 - cell.internal_share,
                };
                for (z, weight) in normal_nodes() {
                    let wood = Wood {
                        life: 1.0,
                        protected: protected_share(cell, z),
                        mode,
                        diameter,
                    };
                    let limit = limits[mode.index()];
                    let weight = of_mode * weight;
                    add(
                        &mut sum,
                        (1.0 - hidden) * weight,
                        sees,
                        wood.progress(age),
                        limit,
                    );
                    add(&mut sum, hidden * weight, sees, 0.0, limit);
                }
            }
            sum
        })
        .collect()
}

fn add(sum: &mut Chance, weight: f64, sees: &MethodDetection, progress: f64, limit: f64) {
    sum.rejected += weight * sees.rejected(progress, limit);
    sum.decayed += weight * sees.found(progress);
}

fn at(table: &Table, ln_age: f64) -> Chance {
    let place = (ln_age.clamp(LOWEST, HIGHEST) - LOWEST) / (HIGHEST - LOWEST) * STEPS as f64;
    let below = (place as usize).min(STEPS - 1);
    let within = place - below as f64;
    let between = |low: f64, high: f64| low + (high - low) * within;
    let (low, high) = (table[below], table[below + 1]);
    Chance {
        rejected: between(low.rejected, high.rejected),
        decayed: between(low.decayed, high.decayed),
    }
}
