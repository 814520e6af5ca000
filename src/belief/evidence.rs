//! One pole's grid: how likely its records are in every state, and how likely it is to be listed at all.

use super::grid::{Combination, LifeGrid, normal_nodes, protected_share};
use super::likelihood::{Terms, Visit, prepare, weigh};
use super::missing::Missing;
use crate::inventory::Inventory;
use crate::models::Cell;
use crate::pole::{Mode, PoleIndex};
use crate::wood::FailureHazard;

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
    /// `found`, summed over the combinations.
    pub found_by_life: Vec<f64>,
    /// Chance of being listed at all, weighted and summed over the combinations.
    pub listed_by_life: Vec<f64>,
    /// Whether any inspection says something about the wood.
    pub has_findings: bool,
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
        self.combine(ground, inventory, pole, cell);
        self.found.clear();
        self.found.resize(self.combinations.len() * cells, 0.0);
        self.hidden.clear();
        self.hidden.resize(self.combinations.len() * cells, 0.0);
        self.found_by_life.clear();
        self.found_by_life.resize(cells, 0.0);
        self.listed_by_life.clear();
        self.listed_by_life.resize(cells, 0.0);
        let mut visits: Vec<Visit> = Vec::new();
        let mut ready = None;
        for row in 0..self.combinations.len() {
            let combination = self.combinations[row];
            let wanted = (combination.mode, combination.diameter.0.to_bits());
            if ready != Some(wanted) {
                visits = prepare(
                    inspections,
                    &ground.terms,
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
        self.combinations.clear();
        for (diameter, of_diameter) in ground.missing.diameters(facts, inspections) {
            for mode in Mode::ALL {
                let of_mode = match mode {
                    Mode::Internal => cell.internal_share,
                    Mode::External => 1.0 - cell.internal_share,
                };
                for (age, of_age) in &ages {
                    self.combinations
                        .extend(normal_nodes().into_iter().map(|(z, of_share)| Combination {
                            weight: of_diameter * of_mode * of_age * of_share,
                            age: *age,
                            protected: protected_share(cell, z),
                            mode,
                            diameter,
                        }));
                }
            }
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
        let mut shared = None;
        for index in (0..lives.len()).rev() {
            let (standing, weight) = match shared {
                Some(known) if index >= sound_from => known,
                _ => {
                    let wood = combination.wood(lives.middles()[index]);
                    let standing = ground.hazard.standing(
                        wood.mode,
                        combination.age,
                        wood.onset(),
                        wood.years_to_reference(),
                    );
                    if standing < GONE {
                        break;
                    }
                    let weight = weigh(visits, hidden_share, |years_ago| {
                        wood.progress(combination.age - years_ago)
                    });
                    (standing, weight)
                }
            };
            shared = (index >= sound_from).then_some((standing, weight));
            let mass = combination.weight * standing;
            let found = mass * (weight.open + weight.hidden);
            self.found[row * lives.len() + index] = found;
            self.hidden[row * lives.len() + index] =
                (weight.hidden / (weight.open + weight.hidden)) as f32;
            self.found_by_life[index] += found;
            self.listed_by_life[index] += mass * weight.listed;
        }
    }

    /// The row of one combination.
    pub fn row(&self, combination: usize) -> &[f64] {
        let cells = self.found_by_life.len();
        &self.found[combination * cells..(combination + 1) * cells]
    }

    /// The combination that a uniform draw picks, given the cell of service life.
    pub fn pick(&self, cell: usize, uniform: f64) -> usize {
        let cells = self.found_by_life.len();
        let wanted = uniform * self.found_by_life[cell];
        let mut sum = 0.0;
        let found = (0..self.combinations.len()).find(|row| {
            sum += self.found[row * cells + cell];
            sum > wanted
        });
        found.unwrap_or_else(|| self.combinations.len().saturating_sub(1))
    }

    /// The share of a state that comes from hidden decay.
    pub fn hidden_share(&self, combination: usize, cell: usize) -> f64 {
        f64::from(self.hidden[combination * self.found_by_life.len() + cell])
    }
}
