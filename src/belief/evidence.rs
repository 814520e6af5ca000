//! One pole's grid: how likely its records are in every state, and how likely it is to be listed at all.

use super::grid::{Combination, LifeGrid, normal_nodes, protected_share};
use super::kept::Keeping;
use super::likelihood::{Terms, Visit, prepare, weigh};
use super::missing::Missing;
use crate::inventory::Inventory;
use crate::models::Cell;
use crate::pole::{Mode, PoleIndex};
use crate::wood::{FailureHazard, Upkeep};

/// Below this chance of standing a state cannot matter: the pole is long gone.
const GONE: f64 = 1e-12;

/// One pole's grid. Rows are combinations, columns cells of service life.
#[derive(Debug, Clone, Default)]
pub struct PoleGrid {
    /// The combinations.
    pub combinations: Vec<Combination>,
    /// Prior weight of the combination x likelihood of the records x chance of standing today.
    pub found: Vec<f64>,
    /// Share of `found` that comes from decay hidden from all methods but full excavation.
    pub hidden: Vec<f32>,
    /// By combination: its place in [`Self::ages`].
    age_of: Vec<u16>,
    /// Cells of service life.
    cells: usize,
    /// The ages that the pole may have.
    ages: Vec<OfAge>,
    /// Whether the weights of the ages are those of listed poles, which have already stood and passed their rounds.
    ages_are_of_listed_poles: bool,
    /// Whether any inspection says something about the wood.
    pub has_findings: bool,
    /// What the records say was done to keep the pole.
    pub upkeep: Upkeep,
}

/// The part of a grid that supposes one age: sums over its combinations, by cell of service life.
#[derive(Debug, Clone, Default)]
struct OfAge {
    /// Weight of the age.
    weight: f64,
    /// Sum of [`PoleGrid::found`].
    found: Vec<f64>,
    /// Chance of being listed at all, weighted.
    listed: Vec<f64>,
}

/// What is the same for every pole of a fleet.
#[derive(Debug)]
pub struct Ground<'a> {
    /// The cells of service life.
    pub lives: &'a LifeGrid,
    /// Failure in wind.
    pub hazard: &'a FailureHazard,
    /// How inspections see and judge.
    pub terms: Terms<'a>,
    /// What stands in for missing facts.
    pub missing: &'a Missing,
    /// What treatments and reinforcements are credited with.
    pub keeping: Keeping,
}

impl PoleGrid {
    /// Fills the grid for one pole.
    pub fn fill(
        &mut self,
        ground: &Ground<'_>,
        inventory: &Inventory,
        pole: PoleIndex,
        cell: &Cell,
    ) {
        let cells = ground.lives.len();
        let inspections = inventory.inspections_of(pole);
        self.cells = cells;
        self.upkeep = ground.keeping.recorded(inventory.pole(pole), inspections);
        self.combine(ground, inventory, pole, cell);
        self.found.clear();
        self.found.resize(self.combinations.len() * cells, 0.0);
        self.hidden.clear();
        self.hidden.resize(self.combinations.len() * cells, 0.0);
        let mut visits: Vec<Visit> = Vec::new();
        let mut ready = None;
        for row in 0..self.combinations.len() {
            let combination = self.combinations[row];
            let wanted = (combination.mode, combination.diameter.0.to_bits());
            if ready != Some(wanted) {
                visits = prepare(
                    inspections,
                    &ground.terms,
                    &self.upkeep,
                    combination.mode,
                    combination.diameter,
                );
                ready = Some(wanted);
            }
            self.fill_row(row, &combination, &visits, ground);
        }
        self.has_findings = !visits.is_empty();
    }

    /// The combinations: diameters and modes outermost, so that visits are prepared once for each.
    fn combine(
        &mut self,
        ground: &Ground<'_>,
        inventory: &Inventory,
        pole: PoleIndex,
        cell: &Cell,
    ) {
        let facts = inventory.pole(pole);
        let inspections = inventory.inspections_of(pole);
        let ages = ground.missing.ages(facts, inspections);
        self.ages_are_of_listed_poles = ground.missing.ages_are_of_listed_poles();
        self.ages.clear();
        self.ages.extend(ages.iter().map(|(_, weight)| OfAge {
            weight: *weight,
            found: vec![0.0; self.cells],
            listed: vec![0.0; self.cells],
        }));
        self.combinations.clear();
        self.age_of.clear();
        for (diameter, of_diameter) in ground.missing.diameters(facts, inspections) {
            for mode in Mode::ALL {
                let of_mode = match mode {
                    Mode::Internal => cell.internal_share,
                    Mode::External => 1.0 - cell.internal_share,
                };
                let factors = &self.factors(ground, mode);
                let of_factor = 1.0 / factors.len() as f64;
                for (place, (age, of_age)) in (0..).zip(&ages) {
                    for factor in factors {
                        let weight = of_diameter * of_mode * of_age * of_factor;
                        let nodes = normal_nodes().into_iter();
                        self.combinations
                            .extend(nodes.map(|(z, of_share)| Combination {
                                weight: weight * of_share,
                                age: *age,
                                protected: protected_share(cell, z),
                                mode,
                                diameter,
                                factor: *factor,
                            }));
                    }
                    self.age_of.resize(self.combinations.len(), place);
                }
            }
        }
    }

    /// Equally likely clock factors: one where no treatment reaches the mode.
    fn factors(&self, ground: &Ground<'_>, mode: Mode) -> Vec<f64> {
        if self.upkeep.is_slowed(mode) {
            ground.keeping.agents.factor.nodes().to_vec()
        } else {
            vec![1.0]
        }
    }

    /// One combination, from the longest life down: states that are sound throughout share one value, and once a state
    /// is long gone all shorter lives are.
    fn fill_row(
        &mut self,
        row: usize,
        combination: &Combination,
        visits: &[Visit],
        ground: &Ground<'_>,
    ) {
        let lives = ground.lives;
        let hidden_share = ground.terms.detection.hidden_share;
        let sound_from = lives.first_from(combination.age / combination.protected);
        let age = self.age_of(row);
        let mut shared = None;
        for index in (0..lives.len()).rev() {
            let (standing, weight) = match shared {
                Some(known) if index >= sound_from => known,
                _ => {
                    let pole = combination.aging(lives.middles()[index], &self.upkeep);
                    let standing = ground.hazard.standing_through(&pole, 0.0);
                    if standing < GONE {
                        break;
                    }
                    let weight = weigh(visits, hidden_share, |years_ago| pole.progress(-years_ago));
                    (standing, weight)
                }
            };
            shared = (index >= sound_from).then_some((standing, weight));
            let mass = combination.weight * standing;
            let found = mass * (weight.open + weight.hidden);
            self.found[row * lives.len() + index] = found;
            self.hidden[row * lives.len() + index] =
                (weight.hidden / (weight.open + weight.hidden)) as f32;
            self.ages[age].found[index] += found;
            self.ages[age].listed[index] += mass * weight.listed;
        }
    }

    /// Number of ages that the pole may have.
    pub fn ages(&self) -> usize {
        self.ages.len()
    }

    /// Which of the ages a combination supposes.
    pub fn age_of(&self, combination: usize) -> usize {
        usize::from(self.age_of[combination])
    }

    /// Sums of [`Self::found`] over the combinations of one age, by cell of service life.
    pub fn found_of_age(&self, age: usize) -> &[f64] {
        &self.ages[age].found
    }

    /// What multiplies the combinations of each age, under a prior of service life.
    ///
    /// Dated poles whose years stand in for a missing one are all still listed: of those set long ago most may be gone,
    /// and the chance of that must not count twice. Their share is that of the age *given* that the pole is listed.
    pub fn age_scales(&self, prior: &[f64]) -> Vec<f64> {
        if self.ages.len() == 1 || !self.ages_are_of_listed_poles {
            return vec![1.0; self.ages.len()];
        }
        let scale = |age: &OfAge| {
            let listed = mean(prior, &age.listed);
            if listed > 0.0 {
                age.weight / listed
            } else {
                0.0
            }
        };
        self.ages.iter().map(scale).collect()
    }

    /// Sums over all combinations of prior x likelihood of the records, and of prior x chance of being listed at all.
    pub fn found_and_listed(&self, prior: &[f64]) -> (f64, f64) {
        let scales = self.age_scales(prior);
        let parts = self.ages.iter().zip(scales);
        parts.fold((0.0, 0.0), |(found, listed), (age, scale)| {
            (
                found + scale * mean(prior, &age.found),
                listed + scale * mean(prior, &age.listed),
            )
        })
    }

    /// Likelihood of the records by cell of service life, the ages scaled.
    pub fn found_by_life(&self, scales: &[f64]) -> Vec<f64> {
        let mut sum = vec![0.0; self.cells];
        for (age, scale) in self.ages.iter().zip(scales) {
            sum.iter_mut()
                .zip(&age.found)
                .for_each(|(total, found)| *total += scale * found);
        }
        sum
    }

    /// The row of one combination.
    pub fn row(&self, combination: usize) -> &[f64] {
        &self.found[combination * self.cells..(combination + 1) * self.cells]
    }

    /// The combination that a uniform draw picks, given the cell of service life and the ages' scales.
    pub fn pick(&self, cell: usize, scales: &[f64], uniform: f64) -> usize {
        let rows = 0..self.combinations.len();
        let part = |row: usize| scales[self.age_of(row)] * self.found[row * self.cells + cell];
        let wanted = uniform * rows.clone().map(part).sum::<f64>();
        let mut sum = 0.0;
        let found = rows.clone().find(|row| {
            sum += part(*row);
            sum > wanted
        });
        found.unwrap_or_else(|| rows.end.saturating_sub(1))
    }

    /// The share of a state that comes from hidden decay.
    pub fn hidden_share(&self, combination: usize, cell: usize) -> f64 {
        f64::from(self.hidden[combination * self.cells + cell])
    }
}

/// Sum of prior x weight.
pub fn mean(prior: &[f64], weights: &[f64]) -> f64 {
    let parts = prior.iter().zip(weights);
    parts.map(|(mass, weight)| mass * weight).sum()
}
