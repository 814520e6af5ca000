//! What we believe about every pole: the estimated condition (model sections 2 to 4).
//!
//! One grid a pole ([`evidence`]) gives, without sampling noise, the probability of every state given its own records;
//! the calibration ([`calibrate`]) shifts the curves by what all inspections together show. Grids are made on demand:
//! stored ones would not fit a national fleet.

pub mod areas;
pub mod calibrate;
mod covariance;
pub mod evidence;
pub mod gone;
pub mod grid;
mod grouping;
pub mod kept;
pub mod kinds;
pub mod kinship;
mod laplace;
mod learning;
pub mod likelihood;
mod loaded;
pub mod missing;
pub mod neighbours;
pub mod nuisances;
mod protection;
mod reinforced;
pub mod shifts;
mod steps;
mod summary;

pub use calibrate::{Calibration, CellLearning};
pub use summary::Summary;

use crate::inventory::Inventory;
use crate::models::{Cell, CellIndex, Models};
use crate::parallel;
use crate::pole::{NameIndex, Pole, PoleIndex, Status, Verdict};
use crate::programme::{Programme, RejectRule, Removals};
use crate::units::{Date, anniversary, date_after, years_between};
use crate::wood::agents::ClockFactor;
use crate::wood::strength::{Required, limit_progress_bearing};
use crate::wood::{Aging, Detection, FailureHazard, Upkeep, Wood};
use calibrate::{interval_of, owners_median};
use evidence::{Ground, PoleGrid, mean};
use gone::{End, Gone, Listing, Subject, inspections_to_the_end};
use grid::{LIFE_CELLS, LifeGrid, SHIFT_NODES};
use kept::Keeping;
use kinds::Kinds;
use learning::Learning;
use likelihood::Terms;
use loaded::Loaded;
use missing::Missing;
use neighbours::LineFindings;
use nuisances::Figures;
use shifts::{Pair, fixed_ln_z};
use std::collections::{BTreeMap, BTreeSet};

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
    /// Clock factor of recorded treatments that reach its decay; 1 where there is none.
    pub factor: f64,
}

impl State {
    /// The state through calendar time.
    pub fn aging<'u>(&self, upkeep: &'u Upkeep) -> Aging<'u> {
        Aging {
            wood: self.wood,
            age: self.age,
            upkeep,
            factor: self.factor,
        }
    }
}

/// Poles of one line share a shift; those of no line share another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Area {
    /// The line; `None` for the poles of no line.
    pub line: Option<NameIndex>,
    /// The line's name.
    pub name: String,
    /// What late inspections found on its poles.
    pub findings: LineFindings,
}

impl Area {
    /// A line of which nothing has been found yet.
    fn of(line: Option<NameIndex>, inventory: &Inventory) -> Self {
        let name = line.map_or("(no line)", |index| inventory.names.get(index));
        Self {
            line,
            name: name.to_owned(),
            findings: LineFindings::default(),
        }
    }
}

/// A curve cell in use, with its prior on the grid at every node.
#[derive(Debug, Clone)]
pub struct UsedCell {
    /// The cell's index in the models.
    pub index: CellIndex,
    /// The cell.
    pub cell: Cell,
    /// By node ([`grid::node_at`]).
    prior: Vec<Vec<f64>>,
    /// Running sums of the prior, for the cells of poles that are put in; empty for others.
    prior_sums: Vec<Vec<f64>>,
    /// Whether poles that are put in are of this cell.
    is_put_in: bool,
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
    /// Failure in wind of poles whose own use of capacity is not known ([`Beliefs::hazard_of`] has every pole's).
    pub hazard: FailureHazard,
    loaded: Loaded,
    /// How inspections see by the tables.
    pub detection: Detection,
    /// How they see by what the findings say of it, at the middle of the doubt that is left ([`Beliefs::figures`]).
    pub sees: Detection,
    rejects: Vec<RejectRule>,
    /// Whether a reject rule comes into force after the plan date.
    pub limits_change: bool,
    removals: Removals,
    plan_from: Date,
    keeping: Keeping,
    known_until: Date,
    /// The uncertain figures, node by node.
    pub figures: Vec<Figures>,
    missing: Missing,
    area_of: Vec<u32>,
    slot_of: Vec<u16>,
    /// Slots and shares of the curves of poles that may follow several.
    mixtures: BTreeMap<PoleIndex, Vec<(u16, f64)>>,
    /// Removed poles that teach.
    gone: Gone,
    /// Area and slot of every pair, in order.
    pair_keys: Vec<(u32, u16)>,
    shift: Vec<Vec<f64>>,
}

/// A pole whose records teach.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Witness {
    /// It stands.
    Standing(PoleIndex),
    /// It is gone: its place in the inventory's list of removed poles.
    Gone(usize),
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
    let mut beliefs = Beliefs::prepare(known_until, lives, inventory, models, programme);
    neighbours::count(&mut beliefs.areas, &beliefs.area_of, inventory, known_until);
    let learned = beliefs.learn(inventory, models, programme);
    beliefs.calibration.cells = beliefs.account(inventory, &learned);
    beliefs.calibration.draws = learned.draws;
    beliefs.calibration.figures = learned.figures;
    beliefs.sees = learned.sees;
    beliefs.shift = learned.shift;
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
        known_until: Date,
        lives: LifeGrid,
        inventory: &Inventory,
        models: &Models,
        programme: &Programme,
    ) -> Self {
        let kinds = Kinds::new(inventory);
        let gone = Gone::known_on(known_until, inventory, models, programme, &kinds);
        let lines = lines(inventory, &gone);
        let own: Vec<Vec<(CellIndex, f64)>> = inventory
            .poles()
            .iter()
            .map(|pole| kinds.of(models, pole))
            .collect();
        let put_in: BTreeSet<CellIndex> = inventory
            .poles()
            .iter()
            .map(|pole| replacement_cell(models, programme, pole))
            .collect();
        let mut used: Vec<CellIndex> = own
            .iter()
            .flatten()
            .map(|(cell, _)| *cell)
            .chain(put_in.iter().copied())
            .chain(gone.teach.iter().map(|(_, cell)| *cell))
            .collect();
        used.sort_unstable();
        used.dedup();
        let slot = |cell: &CellIndex| used.partition_point(|known| known < cell) as u16;
        let slot_of: Vec<u16> = own
            .iter()
            .map(|curves| likeliest(curves).map_or(0, |cell| slot(&cell)))
            .collect();
        let mixtures = inventory
            .indices()
            .zip(&own)
            .filter(|(_, curves)| curves.len() > 1)
            .map(|(pole, curves)| {
                let slots = curves.iter().map(|(cell, share)| (slot(cell), *share));
                (pole, slots.collect())
            })
            .collect();
        let area_of: Vec<u32> = inventory
            .poles()
            .iter()
            .map(|pole| lines.partition_point(|known| *known < pole.line) as u32)
            .collect();
        let cells = used
            .into_iter()
            .map(|index| UsedCell {
                index,
                cell: *models.cell(index),
                prior: Vec::new(),
                prior_sums: Vec::new(),
                is_put_in: put_in.contains(&index),
            })
            .collect();
        let missing = Missing::new(inventory, programme, &models.sizes);
        Self {
            summaries: Vec::new(),
            calibration: Calibration {
                cells: Vec::new(),
                draws: calibrate::Draws::default(),
                removed: gone.records,
                figures: Vec::new(),
            },
            areas: lines
                .into_iter()
                .map(|line| Area::of(line, inventory))
                .collect(),
            cells,
            lives,
            hazard: FailureHazard::new(
                programme.hazards.use_of_capacity,
                programme.hazards.strength_cov,
            ),
            detection: models.detection,
            sees: models.detection,
            limits_change: programme
                .rejects
                .iter()
                .any(|rule| !rule.in_force(programme.plan_from)),
            rejects: programme.rejects.clone(),
            removals: programme.removals,
            plan_from: programme.plan_from,
            known_until,
            figures: Vec::new(),
            gone,
            keeping: Keeping {
                agents: models.remedies.agents,
                brace_years: programme.policy.reinforcement_life_years,
                plan_from: programme.plan_from,
            },
            loaded: Loaded::new(inventory, programme, &missing),
            missing,
            area_of,
            slot_of,
            mixtures,
            pair_keys: Vec::new(),
            shift: Vec::new(),
        }
    }

    /// The poles whose records teach, each with its area and slot.
    fn witnesses(&self, inventory: &Inventory) -> Vec<(Witness, (u32, u16))> {
        let gone = self.gone.teach.iter().map(|(place, cell)| {
            let line = inventory.removed[*place].pole.line;
            let area = self.areas.partition_point(|area| area.line < line) as u32;
            (
                Witness::Gone(*place),
                (area, self.slot_of_cell(*cell) as u16),
            )
        });
        inventory
            .indices()
            .filter(|pole| self.teaches(inventory, *pole))
            .map(|pole| {
                let key = (self.area_of[pole.get()], self.slot_of[pole.get()]);
                (Witness::Standing(pole), key)
            })
            .chain(gone)
            .collect()
    }

    /// Areas and slots of all poles that follow a curve or teach of one, in order.
    fn keys(&self, inventory: &Inventory, witnesses: &[(Witness, (u32, u16))]) -> Vec<(u32, u16)> {
        let keys_of = |pole: PoleIndex| {
            let area = self.area_of[pole.get()];
            let curves = self.curves(pole).into_iter();
            curves.map(move |(slot, _)| (area, slot as u16))
        };
        let mut keys: Vec<(u32, u16)> = inventory
            .indices()
            .flat_map(keys_of)
            .chain(witnesses.iter().map(|(_, key)| *key))
            .collect();
        keys.sort_unstable();
        keys.dedup();
        keys
    }

    /// The evidence of these poles by (area, cell), node by node of the uncertain figures, at every node of the shift that
    /// the cells' priors are kept for.
    fn gather(&self, inventory: &Inventory, witnesses: &[(Witness, (u32, u16))]) -> Vec<Vec<Pair>> {
        let shifts =
            self.cells.first().map_or(0, |used| used.prior.len()) / self.figures.len().max(1);
        let blank: Vec<Pair> = self
            .pair_keys
            .iter()
            .map(|(area, slot)| Pair {
                area: *area as usize,
                slot: usize::from(*slot),
                ln_z: vec![0; shifts],
                poles: 0,
            })
            .collect();
        let mut pairs = vec![blank; self.figures.len()];
        // In slices, so that the memory for single poles' evidence stays small whatever the fleet.
        for slice in witnesses.chunks(2048) {
            let evidence = parallel::map_with(slice, Scratch::default, |scratch, witness| {
                self.ln_z(inventory, *witness, shifts, scratch)
            });
            for ((_, key), ln_z) in slice.iter().zip(evidence) {
                let place = self.pair_keys.partition_point(|known| known < key);
                for (pairs, ln_z) in pairs.iter_mut().zip(ln_z.chunks(shifts)) {
                    let pair = &mut pairs[place];
                    pair.poles += 1;
                    pair.ln_z
                        .iter_mut()
                        .zip(ln_z)
                        .for_each(|(sum, part)| *sum += part);
                }
            }
        }
        pairs
    }

    /// ln Z of one pole at every node: what is recorded of it, given that it is in the data at all.
    fn ln_z(
        &self,
        inventory: &Inventory,
        (witness, (_, slot)): (Witness, (u32, u16)),
        shifts: usize,
        scratch: &mut Scratch,
    ) -> Vec<i64> {
        match witness {
            Witness::Standing(pole) => self.fill_grid(inventory, pole, scratch),
            Witness::Gone(place) => {
                let removal = &inventory.removed[place];
                let subject = Subject {
                    pole: &removal.pole,
                    inspections: &inspections_to_the_end(removal),
                    end: Some(End {
                        years: -years_between(removal.ended, self.plan_from),
                        cause: removal.cause,
                    }),
                };
                let curve = [(&self.cells[usize::from(slot)].cell, 1.0)];
                scratch
                    .grid
                    .fill(&self.ground(subject.pole, true), subject, &curve);
            }
        }
        let priors = self.cells[usize::from(slot)].prior.chunks(shifts);
        priors
            .enumerate()
            .flat_map(|(node, priors)| {
                let (found, listed): (Vec<f64>, Vec<f64>) = priors
                    .iter()
                    .map(|prior| scratch.grid.found_and_listed(node, prior))
                    .unzip();
                fixed_ln_z(&found, &listed)
            })
            .collect()
    }

    /// What was learned, cell by cell; cells that only replacement poles would have are left out.
    fn account(&self, inventory: &Inventory, learned: &Learning) -> Vec<CellLearning> {
        let mut cells: Vec<CellLearning> = self
            .cells
            .iter()
            .zip(&learned.theta)
            .zip(&learned.theta_sd_of_nodes)
            .map(|((used, theta), sd_of_nodes)| {
                let (published, owners, pinned) = owners_median(&used.cell, theta);
                CellLearning {
                    cell: used.index,
                    poles: 0,
                    poles_with_findings: 0,
                    findings: 0,
                    removed: 0,
                    published,
                    owners,
                    owners_if_sure: interval_of(owners[1], *sd_of_nodes),
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
            if self.teaches(inventory, pole) {
                cell.findings += findings;
                cell.poles_with_findings += usize::from(findings > 0);
            }
        }
        for (place, cell) in &self.gone.teach {
            let cell = &mut cells[self.slot_of_cell(*cell)];
            let removal = &inventory.removed[*place];
            let looks = removal.inspections.iter();
            cell.removed += 1;
            cell.findings += looks
                .filter(|visit| {
                    visit.verdict != Verdict::NotInspected && visit.date <= removal.ended
                })
                .count();
        }
        cells.retain(|cell| cell.poles > 0);
        cells
    }

    /// Makes the grid of one pole in `scratch`.
    pub fn fill_grid(&self, inventory: &Inventory, pole: PoleIndex, scratch: &mut Scratch) {
        self.fill_grid_until(self.known_until, inventory, pole, scratch);
    }

    /// Makes the grid of one pole in `scratch`, as if nothing that was found after `known_until` were known.
    fn fill_grid_until(
        &self,
        known_until: Date,
        inventory: &Inventory,
        pole: PoleIndex,
        scratch: &mut Scratch,
    ) {
        let facts = inventory.pole(pole);
        let curves: Vec<(&Cell, f64)> = self
            .curves(pole)
            .into_iter()
            .map(|(slot, share)| (&self.cells[slot].cell, share))
            .collect();
        let subject = Subject {
            pole: facts,
            inspections: inventory.inspections_of(pole),
            end: None,
        };
        let is_told = facts.installed.is_some() && curves.len() == 1;
        let mut ground = self.ground(facts, is_told);
        ground.hazard = self.hazard_of(pole);
        ground.terms.known_until = known_until;
        scratch.grid.fill(&ground, subject, &curves);
    }

    /// What a pole's grid is made with. A pole whose set year or kind is not on record would not be found among the removed
    /// poles that teach: it is in the data only while it stands.
    fn ground(&self, pole: &Pole, is_told: bool) -> Ground<'_> {
        let listing = self.listing().filter(|_| is_told);
        Ground {
            lives: &self.lives,
            hazard: &self.hazard,
            terms: Terms {
                detection: &self.detection,
                rejects: &self.rejects,
                removals: self.removals,
                plan_from: self.plan_from,
                required: self.missing.required(pole),
                known_until: self.known_until,
                listing,
                brace_years: self.keeping.brace_years,
            },
            missing: &self.missing,
            keeping: self.keeping,
            nodes: &self.figures,
        }
    }

    /// How far the lists hold removed poles; `None` where such poles teach nothing.
    pub fn listing(&self) -> Option<Listing> {
        self.gone.listing
    }

    /// Makes the grid of one pole and returns what multiplies its rows (cell by cell of service life) to give
    /// probabilities: the prior, mixed over the shift given everything that is recorded.
    ///
    /// `P(state | all) = sum over nodes of P(node | all) prior(node) found / Z(node)`: the pole's own findings are in
    /// `P(node | all)` and in `found / Z`, so they count once.
    ///
    /// A pole that may follow several curves teaches none, so its findings are not in `P(node | all)` and its `Z(node)`
    /// stays: the curves' shares move by it.
    ///
    /// One list for each node of the uncertain figures and each part of the grid ([`PoleGrid::part_of`]).
    fn posterior(
        &self,
        inventory: &Inventory,
        pole: PoleIndex,
        scratch: &mut Scratch,
    ) -> Vec<Vec<Vec<f64>>> {
        self.fill_grid(inventory, pole, scratch);
        let grid = &scratch.grid;
        self.factors(pole, grid, |slot| self.shift_of(pole, slot))
    }

    /// What multiplies the rows of a pole's grid, with what is believed of the shift of each of its curves.
    fn factors<'s>(
        &self,
        pole: PoleIndex,
        grid: &PoleGrid,
        shift_of: impl Fn(usize) -> &'s [f64],
    ) -> Vec<Vec<Vec<f64>>> {
        let first = grid.first();
        let mut factors = vec![vec![vec![0.0; self.lives.len()]; grid.parts()]; grid.nodes()];
        let curves = self.curves(pole);
        let mixed = curves.len() > 1;
        for (curve, (slot, _)) in curves.into_iter().enumerate() {
            let parts = grid.parts_of_curve(curve);
            let shift = shift_of(slot).iter().enumerate();
            for (node, probability) in shift.filter(|(_, probability)| **probability > 1e-12) {
                let prior = &self.cells[slot].prior[node];
                let figures = node / SHIFT_NODES;
                let scales = grid.scales(curve, figures, prior);
                let z: f64 = if mixed {
                    1.0
                } else {
                    let sums = parts.clone().zip(&scales);
                    sums.map(|(part, scale)| {
                        scale * mean(&prior[first..], &grid.found_of_part(figures, part)[first..])
                    })
                    .sum()
                };
                if z > 0.0 {
                    let own = factors[figures][parts.clone()].iter_mut();
                    for (factor, scale) in own.zip(&scales) {
                        let weight = scale * probability / z;
                        factor[first..]
                            .iter_mut()
                            .zip(&prior[first..])
                            .for_each(|(sum, mass)| *sum += weight * mass);
                    }
                }
            }
        }
        if mixed {
            let mut total = 0.0;
            for (figures, parts) in factors.iter().enumerate() {
                for (part, factor) in parts.iter().enumerate() {
                    total += mean(factor, grid.found_of_part(figures, part));
                }
            }
            let each = factors.iter_mut().flatten().flatten();
            each.for_each(|factor| *factor /= total.max(f64::MIN_POSITIVE));
        }
        factors
    }

    /// The slots of the curves that a pole may follow, with their shares.
    pub fn curves(&self, pole: PoleIndex) -> Vec<(usize, f64)> {
        self.mixtures.get(&pole).map_or_else(
            || vec![(self.slot(pole), 1.0)],
            |curves| {
                let curves = curves.iter();
                curves
                    .map(|(slot, share)| (usize::from(*slot), *share))
                    .collect()
            },
        )
    }

    /// The pair of a pole's area and a slot.
    fn pair(&self, pole: PoleIndex, slot: usize) -> usize {
        let key = (self.area_of[pole.get()], slot as u16);
        self.pair_keys.partition_point(|known| *known < key)
    }

    /// Whether a pole's findings say something of the shifts. Those of a pole that is listed although it is gone do not:
    /// what is learned supposes that whoever was removed is not in the list. Nor do those of a mixture ([`kinds`]).
    ///
    /// Where removed poles are listed, every dated pole tells something: that it still stands.
    fn teaches(&self, inventory: &Inventory, pole: PoleIndex) -> bool {
        let facts = inventory.pole(pole);
        let tells = inventory.last_inspection(pole).is_some()
            || self.gone.listing.is_some() && facts.installed.is_some();
        facts.status != Status::Removed && tells && !self.mixtures.contains_key(&pole)
    }

    /// The estimated condition of one pole.
    pub fn summary(&self, pole: PoleIndex) -> &Summary {
        &self.summaries[pole.get()]
    }

    /// What stands in for the facts that the list does not give.
    pub fn missing(&self) -> &Missing {
        &self.missing
    }

    /// What is believed of the shift of one of a pole's curves ([`Beliefs::curves`]), given everything that is recorded:
    /// the probability of every node ([`grid::shift_at`]).
    pub fn shift_of(&self, pole: PoleIndex, slot: usize) -> &[f64] {
        &self.shift[self.pair(pole, slot)]
    }

    /// The area of one pole.
    pub fn area(&self, pole: PoleIndex) -> usize {
        self.area_of[pole.get()] as usize
    }

    /// The slot of one pole's curve cell in [`Beliefs::cells`]; of a mixture that of the largest share.
    pub fn slot(&self, pole: PoleIndex) -> usize {
        usize::from(self.slot_of[pole.get()])
    }

    /// The slot of a curve cell in [`Beliefs::cells`].
    pub fn slot_of_cell(&self, cell: CellIndex) -> usize {
        self.cells.partition_point(|used| used.index < cell)
    }

    /// Progress at which a pole of this diameter, mode and required strength is below the limit, `years` after the plan
    /// date.
    pub fn limit(
        &self,
        mode: crate::pole::Mode,
        diameter: crate::units::Mm,
        required: Option<Required>,
        years: f64,
    ) -> f64 {
        let whole = years.floor();
        // Whole years are counted by the calendar, as plan years are; the rest of a year by its days.
        let date = date_after(anniversary(self.plan_from, whole as i32), years - whole);
        limit_progress_bearing(&self.rejects, date, mode, diameter, required)
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
        let required = self.missing.required(inventory.pole(pole));
        let mut states = Vec::new();
        for (row, combination) in scratch.grid.combinations.iter().enumerate() {
            let limit = self.limit(combination.mode, combination.diameter, required, 0.0);
            let (masses, unseen) = scratch.grid.mixed(row, &factors);
            for start in (0..masses.len()).step_by(CELLS_PER_STATE) {
                let cells = start..(start + CELLS_PER_STATE).min(masses.len());
                let (mut mass, mut place, mut hidden) = (0.0, 0.0, 0.0);
                for cell in cells {
                    mass += masses[cell];
                    hidden += unseen[cell];
                    place += masses[cell] * (cell as f64 + 0.5);
                }
                if mass > LEAST_STATE {
                    let wood = combination.wood(self.lives.life_at(place / mass));
                    states.push(State {
                        mass,
                        wood,
                        age: combination.age,
                        limit,
                        hidden: hidden / mass,
                        factor: combination.factor,
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

    /// How inspections see in one joint draw.
    pub fn detection_of_draw(&self, draw: u32) -> &Detection {
        let figures = &self.calibration.draws.figures;
        let node = figures.get(draw as usize).copied().unwrap_or(0);
        &self.figures[usize::from(node)].detection
    }

    /// All combinations of nodes of the uncertain figures and of the shift.
    pub fn nodes(&self) -> usize {
        self.figures.len() * SHIFT_NODES
    }

    /// How much remedial treatments slow decay.
    pub fn clock_factor(&self) -> ClockFactor {
        self.keeping.agents.factor
    }

    /// Failure in wind of one pole: by its own use of capacity where loading and size are known.
    pub fn hazard_of(&self, pole: PoleIndex) -> &FailureHazard {
        self.loaded.of(pole).unwrap_or(&self.hazard)
    }

    /// Probability that a pole in this state stands from its setting to `years` after the plan date with this upkeep and
    /// nothing more. Over its value for 0 years it is that of a pole that stands at the plan date.
    pub fn standing(&self, pole: PoleIndex, state: &State, upkeep: &Upkeep, years: f64) -> f64 {
        self.hazard_of(pole)
            .standing_through(&state.aging(upkeep), years)
    }
}

impl UsedCell {
    /// The prior mass over the cells of service life at a node ([`grid::node_at`]).
    pub fn prior(&self, node: usize) -> &[f64] {
        &self.prior[node]
    }

    /// Running sums of [`UsedCell::prior`], for the cell of a pole that is put in.
    pub fn prior_sums(&self, node: usize) -> &[f64] {
        &self.prior_sums[node]
    }

    /// Number of nodes.
    pub fn nodes(&self) -> usize {
        self.prior.len()
    }
}

/// The curve that a pole most likely follows: of equal shares the first.
fn likeliest(curves: &[(CellIndex, f64)]) -> Option<CellIndex> {
    let most = curves
        .iter()
        .map(|(_, share)| *share)
        .fold(0.0_f64, f64::max);
    let main = curves.iter().find(|(_, share)| *share >= most);
    main.map(|(cell, _)| *cell)
}

/// The lines of the poles that stand or teach, in order.
fn lines(inventory: &Inventory, gone: &Gone) -> Vec<Option<NameIndex>> {
    let gone = gone
        .teach
        .iter()
        .map(|(place, _)| inventory.removed[*place].pole.line);
    let standing = inventory.poles().iter().map(|pole| pole.line);
    let mut lines: Vec<Option<NameIndex>> = standing.chain(gone).collect();
    lines.sort_unstable();
    lines.dedup();
    lines
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
