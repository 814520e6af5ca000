//! What we believe about every pole: the estimated condition (model sections 2 to 4).
//!
//! One grid a pole ([`evidence`]) gives, without sampling noise, the probability of every state given its own records;
//! the calibration ([`calibrate`]) shifts the curves by what all inspections together show. Grids are made on demand:
//! stored ones would not fit a national fleet.

pub mod calibrate;
pub mod evidence;
pub mod grid;
mod grouping;
pub mod likelihood;
pub mod missing;
pub mod shifts;
mod summary;

pub use calibrate::{Calibration, CellLearning};
pub use summary::Summary;

use crate::inventory::Inventory;
use crate::models::{Cell, CellIndex, Models};
use crate::parallel;
use crate::pole::{NameIndex, PoleIndex, Status, Verdict};
use crate::programme::{Programme, RejectRule, Removals};
use crate::units::{Date, anniversary, date_after};
use crate::wood::strength::limit_progress;
use crate::wood::{Detection, FailureHazard, Wood};
use calibrate::{Answer, Question, answer, owners_median};
use evidence::{Ground, PoleGrid, mean};
use grid::{LIFE_CELLS, LifeGrid, SHIFT_NODES, running_sums, shift_at};
use likelihood::Terms;
use missing::Missing;
use shifts::{Pair, fixed_ln_z};

/// Cells of service life that one state of [`Beliefs::states`] stands for.
const CELLS_PER_STATE: usize = 10;
/// States with less probability than this are left out of [`Beliefs::states`].
const LEAST_STATE: f64 = 2e-5;

/// One state that a pole may be in, and how much is believed of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// Probability; the states of a pole sum to one.
    pub mass: f64,
    /// What decides how the wood decays.
    pub wood: Wood,
    /// Age at the plan date, years.
    pub age: f64,
    /// Progress at which the pole is below the limit, by the rules in force at the plan date.
    pub limit: f64,
    /// Probability that its decay is hidden from all methods but full excavation, given what the visits found.
    pub hidden: f64,
}

/// Poles of one line share a shift; those of no line share another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Area {
    /// The line; `None` for the poles of no line.
    pub line: Option<NameIndex>,
    /// The line's name.
    pub name: String,
}

/// A curve cell in use, with its prior on the grid at every node of the shift.
#[derive(Debug, Clone)]
pub struct UsedCell {
    /// The cell's index in the models.
    pub index: CellIndex,
    /// The cell.
    pub cell: Cell,
    /// Running sums of the prior mass over the cells of service life, by node of the shift.
    pub prior_sums: Vec<Vec<f64>>,
    prior: Vec<Vec<f64>>,
}

/// The beliefs about a fleet.
#[derive(Debug, Clone)]
pub struct Beliefs {
    /// One entry a pole.
    pub summaries: Vec<Summary>,
    /// What was learned.
    pub calibration: Calibration,
    /// The areas.
    pub areas: Vec<Area>,
    /// The curve cells in use, those of replacement poles included.
    pub cells: Vec<UsedCell>,
    /// The cells of service life.
    pub lives: LifeGrid,
    /// Failure in wind.
    pub hazard: FailureHazard,
    /// How inspections see.
    pub detection: Detection,
    rejects: Vec<RejectRule>,
    /// Whether a reject rule comes into force after the plan date.
    limits_change: bool,
    removals: Removals,
    plan_from: Date,
    known_until: Date,
    missing: Missing,
    area_of: Vec<u32>,
    slot_of: Vec<u16>,
    pair_of: Vec<u32>,
    shift: Vec<Vec<f64>>,
}

/// Room to make one pole's grid in; one for each worker.
#[derive(Debug, Clone, Default)]
pub struct Scratch {
    /// The pole's grid.
    pub grid: PoleGrid,
}

/// The beliefs about every pole of an inventory.
pub fn believe(inventory: &Inventory, models: &Models, programme: &Programme) -> Beliefs {
    believe_on(LifeGrid::new(LIFE_CELLS), inventory, models, programme)
}

/// [`believe`] on a grid of another fineness: what tests hold the usual one to.
pub fn believe_on(
    lives: LifeGrid,
    inventory: &Inventory,
    models: &Models,
    programme: &Programme,
) -> Beliefs {
    believe_until(programme.plan_from, lives, inventory, models, programme)
}

/// [`believe_on`] as if nothing that was found after `known_until` were known.
///
/// Later visits count as rounds whose outcome nobody knows: their pole is still listed on the plan date, nothing more.
/// [`Inventory::as_of`] and [`Inventory::without_findings`] give such visits.
pub fn believe_until(
    known_until: Date,
    lives: LifeGrid,
    inventory: &Inventory,
    models: &Models,
    programme: &Programme,
) -> Beliefs {
    let mut beliefs = Beliefs::prepare(lives, inventory, models, programme);
    beliefs.known_until = known_until;
    let pairs = beliefs.gather(inventory);
    let answer = beliefs.learn(&pairs, models, programme);
    beliefs.calibration.cells = beliefs.account(inventory, &answer);
    beliefs.calibration.draws = answer.draws;
    beliefs.shift = answer.shift;
    let years = usize::from(programme.horizon_years);
    beliefs.summaries = parallel::map_with(
        &inventory.indices().collect::<Vec<_>>(),
        Scratch::default,
        |scratch, pole| beliefs.summarise(inventory, *pole, years, scratch),
    );
    beliefs
}

impl Beliefs {
    fn prepare(
        lives: LifeGrid,
        inventory: &Inventory,
        models: &Models,
        programme: &Programme,
    ) -> Self {
        let mut lines: Vec<Option<NameIndex>> =
            inventory.poles().iter().map(|pole| pole.line).collect();
        lines.sort_unstable();
        lines.dedup();
        let cell_of = |pole: &crate::pole::Pole| {
            models.cell_for(
                pole.species,
                pole.preservative,
                pole.through_bored,
                pole.zone,
            )
        };
        let own: Vec<CellIndex> = inventory.poles().iter().map(cell_of).collect();
        let new = inventory
            .poles()
            .iter()
            .map(|pole| replacement_cell(models, programme, pole));
        let mut used: Vec<CellIndex> = own.iter().copied().chain(new).collect();
        used.sort_unstable();
        used.dedup();
        let slot_of: Vec<u16> = own
            .iter()
            .map(|cell| used.partition_point(|known| known < cell) as u16)
            .collect();
        let area_of: Vec<u32> = inventory
            .poles()
            .iter()
            .map(|pole| lines.partition_point(|known| *known < pole.line) as u32)
            .collect();
        let cells = used
            .into_iter()
            .map(|index| UsedCell::new(index, *models.cell(index), &lives))
            .collect();
        Self {
            summaries: Vec::new(),
            calibration: Calibration {
                cells: Vec::new(),
                draws: calibrate::Draws::default(),
            },
            areas: lines
                .into_iter()
                .map(|line| Area {
                    line,
                    name: line.map_or_else(
                        || "(no line)".to_owned(),
                        |index| inventory.names.get(index).to_owned(),
                    ),
                })
                .collect(),
            cells,
            lives,
            hazard: FailureHazard::new(
                programme.hazards.use_of_capacity,
                programme.hazards.strength_cov,
            ),
            detection: models.detection,
            limits_change: programme
                .rejects
                .iter()
                .any(|rule| !rule.in_force(programme.plan_from)),
            rejects: programme.rejects.clone(),
            removals: programme.removals,
            plan_from: programme.plan_from,
            known_until: programme.plan_from,
            missing: Missing::new(inventory, programme),
            area_of,
            slot_of,
            pair_of: Vec::new(),
            shift: Vec::new(),
        }
    }

    /// The evidence by (area, cell).
    fn gather(&mut self, inventory: &Inventory) -> Vec<Pair> {
        let key = |pole: PoleIndex| (self.area_of[pole.get()], self.slot_of[pole.get()]);
        let mut keys: Vec<(u32, u16)> = inventory.indices().map(key).collect();
        keys.sort_unstable();
        keys.dedup();
        self.pair_of = inventory
            .indices()
            .map(|pole| keys.partition_point(|known| *known < key(pole)) as u32)
            .collect();
        let mut pairs: Vec<Pair> = keys
            .iter()
            .map(|(area, slot)| Pair {
                area: *area as usize,
                slot: usize::from(*slot),
                ln_z: vec![0; SHIFT_NODES],
                poles: 0,
            })
            .collect();
        let inspected: Vec<PoleIndex> = inventory
            .indices()
            .filter(|pole| teaches(inventory, *pole))
            .collect();
        // In slices, so that the memory for single poles' evidence stays small whatever the fleet.
        for slice in inspected.chunks(8192) {
            let evidence = parallel::map_with(slice, Scratch::default, |scratch, pole| {
                self.ln_z(inventory, *pole, scratch)
            });
            for (pole, ln_z) in slice.iter().zip(evidence) {
                let pair = &mut pairs[self.pair_of[pole.get()] as usize];
                pair.poles += 1;
                pair.ln_z
                    .iter_mut()
                    .zip(ln_z)
                    .for_each(|(sum, part)| *sum += part);
            }
        }
        pairs
    }

    /// ln Z of one pole at every node of the shift: its findings, given that it is listed at all.
    fn ln_z(&self, inventory: &Inventory, pole: PoleIndex, scratch: &mut Scratch) -> Vec<i64> {
        let used = self.fill(inventory, pole, scratch);
        let (found, listed): (Vec<f64>, Vec<f64>) = used
            .prior
            .iter()
            .map(|prior| scratch.grid.found_and_listed(prior))
            .unzip();
        fixed_ln_z(&found, &listed)
    }

    fn learn(&self, pairs: &[Pair], models: &Models, programme: &Programme) -> Answer {
        let cells: Vec<(Cell, String)> = self
            .cells
            .iter()
            .map(|used| {
                (
                    used.cell,
                    format!("{} {}", models.kind(used.index).id, used.cell.zone),
                )
            })
            .collect();
        let areas: Vec<String> = self.areas.iter().map(|area| area.name.clone()).collect();
        answer(&Question {
            cells: &cells,
            areas: &areas,
            pairs,
            draws: programme.trials,
            seed: programme.seed,
        })
    }

    /// What was learned, cell by cell; cells that only replacement poles would have are left out.
    fn account(&self, inventory: &Inventory, answer: &Answer) -> Vec<CellLearning> {
        let mut cells: Vec<CellLearning> = self
            .cells
            .iter()
            .zip(&answer.theta)
            .map(|(used, theta)| {
                let (published, owners, pinned) = owners_median(&used.cell, theta);
                CellLearning {
                    cell: used.index,
                    poles: 0,
                    poles_with_findings: 0,
                    findings: 0,
                    published,
                    owners,
                    pinned,
                }
            })
            .collect();
        for pole in inventory.indices() {
            let cell = &mut cells[usize::from(self.slot_of[pole.get()])];
            let findings = inventory
                .inspections_of(pole)
                .iter()
                .filter(|visit| visit.verdict != Verdict::NotInspected)
                .count();
            cell.poles += 1;
            if teaches(inventory, pole) {
                cell.findings += findings;
                cell.poles_with_findings += 1;
            }
        }
        cells.retain(|cell| cell.poles > 0);
        cells
    }

    /// Makes the grid of one pole in `scratch`.
    pub fn fill_grid(&self, inventory: &Inventory, pole: PoleIndex, scratch: &mut Scratch) {
        self.fill(inventory, pole, scratch);
    }

    /// Makes the grid of one pole; returns its curve cell.
    fn fill(&self, inventory: &Inventory, pole: PoleIndex, scratch: &mut Scratch) -> &UsedCell {
        let ground = Ground {
            lives: &self.lives,
            hazard: &self.hazard,
            terms: Terms {
                detection: &self.detection,
                rejects: &self.rejects,
                removals: self.removals,
                plan_from: self.plan_from,
                known_until: self.known_until,
            },
            missing: &self.missing,
        };
        let used = &self.cells[usize::from(self.slot_of[pole.get()])];
        scratch.grid.fill(&ground, inventory, pole, &used.cell);
        used
    }

    /// Makes the grid of one pole and returns what multiplies its rows (cell by cell of service life) to give
    /// probabilities: the prior, mixed over the shift given everything that is recorded.
    ///
    /// `P(state | all) = sum over nodes of P(node | all) prior(node) found / Z(node)`: the pole's own findings are in
    /// `P(node | all)` and in `found / Z`, so they count once.
    ///
    /// One list for each age that the pole may have ([`PoleGrid::age_of`]).
    fn posterior(
        &self,
        inventory: &Inventory,
        pole: PoleIndex,
        scratch: &mut Scratch,
    ) -> Vec<Vec<f64>> {
        let used = self.fill(inventory, pole, scratch);
        let shift = &self.shift[self.pair_of[pole.get()] as usize];
        let grid = &scratch.grid;
        let mut factors = vec![vec![0.0; self.lives.len()]; grid.ages()];
        for (node, probability) in shift
            .iter()
            .enumerate()
            .filter(|(_, probability)| **probability > 1e-12)
        {
            let prior = &used.prior[node];
            let scales = grid.age_scales(prior);
            let z: f64 = scales
                .iter()
                .enumerate()
                .map(|(age, scale)| scale * mean(prior, grid.found_of_age(age)))
                .sum();
            if z > 0.0 {
                for (factor, scale) in factors.iter_mut().zip(&scales) {
                    let weight = scale * probability / z;
                    factor
                        .iter_mut()
                        .zip(prior)
                        .for_each(|(sum, mass)| *sum += weight * mass);
                }
            }
        }
        factors
    }

    /// The estimated condition of one pole.
    pub fn summary(&self, pole: PoleIndex) -> &Summary {
        &self.summaries[pole.get()]
    }

    /// What is believed of the shift of one pole's curve, given everything that is recorded: the probability of every
    /// node ([`grid::shift_at`]).
    pub fn shift_of(&self, pole: PoleIndex) -> &[f64] {
        &self.shift[self.pair_of[pole.get()] as usize]
    }

    /// The area of one pole.
    pub fn area(&self, pole: PoleIndex) -> usize {
        self.area_of[pole.get()] as usize
    }

    /// The slot of one pole's curve cell in [`Beliefs::cells`].
    pub fn slot(&self, pole: PoleIndex) -> usize {
        usize::from(self.slot_of[pole.get()])
    }

    /// The slot of a curve cell in [`Beliefs::cells`].
    pub fn slot_of_cell(&self, cell: CellIndex) -> usize {
        self.cells.partition_point(|used| used.index < cell)
    }

    /// Progress at which a pole of this diameter and mode is below the limit, `years` after the plan date.
    pub fn limit(&self, mode: crate::pole::Mode, diameter: crate::units::Mm, years: f64) -> f64 {
        let whole = years.floor();
        // Whole years are counted by the calendar, as plan years are; the rest of a year by its days.
        let date = date_after(anniversary(self.plan_from, whole as i32), years - whole);
        limit_progress(&self.rejects, date, mode, diameter)
    }

    /// A few hundred states that stand for everything believed of a pole, given all that is recorded: what the value
    /// of a visit is computed on.
    pub fn states(
        &self,
        inventory: &Inventory,
        pole: PoleIndex,
        scratch: &mut Scratch,
    ) -> Vec<State> {
        let factors = self.posterior(inventory, pole, scratch);
        let mut states = Vec::new();
        for (row, combination) in scratch.grid.combinations.iter().enumerate() {
            let limit = self.limit(combination.mode, combination.diameter, 0.0);
            let found = scratch.grid.row(row);
            let factor = &factors[scratch.grid.age_of(row)];
            for start in (0..found.len()).step_by(CELLS_PER_STATE) {
                let cells = start..(start + CELLS_PER_STATE).min(found.len());
                let (mut mass, mut place, mut hidden) = (0.0, 0.0, 0.0);
                for cell in cells {
                    let part = factor[cell] * found[cell];
                    mass += part;
                    hidden += part * scratch.grid.hidden_share(row, cell);
                    place += part * (cell as f64 + 0.5);
                }
                if mass > LEAST_STATE {
                    let wood = combination.wood(self.lives.life_at(place / mass));
                    states.push(State {
                        mass,
                        wood,
                        age: combination.age,
                        limit,
                        hidden: hidden / mass,
                    });
                }
            }
        }
        let total: f64 = states.iter().map(|state| state.mass).sum();
        for state in &mut states {
            state.mass /= total;
        }
        states
    }

    /// Probability that a pole in this state, standing at the plan date, still stands `years` after it when nothing is
    /// done.
    pub fn standing(&self, state: &State, years: f64) -> f64 {
        let wood = &state.wood;
        let to = |age: f64| {
            self.hazard
                .standing(wood.mode, age, wood.onset(), wood.years_to_reference())
        };
        let now = to(state.age);
        if now > 0.0 {
            to(state.age + years) / now
        } else {
            0.0
        }
    }
}

impl UsedCell {
    fn new(index: CellIndex, cell: Cell, lives: &LifeGrid) -> Self {
        let prior: Vec<Vec<f64>> = (0..SHIFT_NODES)
            .map(|node| lives.prior(&cell, shift_at(node)))
            .collect();
        let prior_sums = prior.iter().map(|mass| running_sums(mass)).collect();
        Self {
            index,
            cell,
            prior_sums,
            prior,
        }
    }

    /// The prior mass over the cells of service life at a node of the shift.
    pub fn prior(&self, node: usize) -> &[f64] {
        &self.prior[node]
    }
}

/// Whether a pole's findings say something of the shifts. Those of a pole that is listed although it is gone do not:
/// what is learned supposes that whoever was removed is not in the list.
fn teaches(inventory: &Inventory, pole: PoleIndex) -> bool {
    inventory.pole(pole).status != Status::Removed && inventory.last_inspection(pole).is_some()
}

/// The curve cell of the pole that would replace this one.
pub fn replacement_cell(
    models: &Models,
    programme: &Programme,
    pole: &crate::pole::Pole,
) -> CellIndex {
    models.cell_for(
        programme.policy.new_species.or(pole.species),
        programme.policy.new_preservative.or(pole.preservative),
        pole.through_bored,
        pole.zone,
    )
}
