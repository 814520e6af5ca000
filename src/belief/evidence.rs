//! One pole's grid: how likely its records are in every state, and how likely it is to be listed at all.

use super::gone::Subject;
use super::grid::{Combination, LifeGrid};
use super::kept::Keeping;
use super::likelihood::{Terms, Visit, Weight, prepare, weigh};
use super::missing::Missing;
use super::nuisances::{ByNode, Figures, MOST_NODES};
use super::protection::shares;
use super::reinforced::InData;
use crate::maths::dot;
use crate::models::Cell;
use crate::pole::{Mode, RemovalCause};
use crate::wood::{Aging, FailureHazard, Upkeep};
use std::ops::Range;

/// Below this chance of standing a state cannot matter: the pole is long gone.
const GONE: f64 = 1e-12;

/// One pole's grid at every node of the uncertain figures. Rows are combinations, columns cells of service life.
#[derive(Debug, Clone, Default)]
pub struct PoleGrid {
    /// The combinations.
    pub combinations: Vec<Combination>,
    /// Nodes of the uncertain figures.
    nodes: usize,
    /// Prior weight of the combination x likelihood of the records x chance of standing today: by node, combination, cell.
    found: Vec<f64>,
    /// Share of `found` that comes from decay hidden from all methods but full excavation.
    hidden: Vec<f32>,
    /// By combination: weights of its protected share at the nodes.
    shares: Vec<ByNode>,
    /// By combination: its place in [`Self::parts`].
    part_of: Vec<u16>,
    /// Cells of service life.
    cells: usize,
    /// The first cell in which anything was found: shorter lives are long gone.
    first: usize,
    /// The curves that the pole may follow, each with all the ages that it may have.
    parts: Vec<Part>,
    /// Ages of each curve.
    ages: usize,
    /// Whether the weights of the ages are those of listed poles, which have already stood and passed their rounds.
    ages_are_of_listed_poles: bool,
    /// Whether any inspection says something about the wood.
    pub has_findings: bool,
    /// What the records say was done to keep the pole.
    pub upkeep: Upkeep,
}

/// The part of a grid that supposes one curve and one age: sums over its combinations, by cell of service life.
#[derive(Debug, Clone, Default)]
struct Part {
    /// Weight of the curve and the age.
    weight: f64,
    /// Sum of [`PoleGrid::found`], by node and cell.
    found: Vec<f64>,
    /// Chance of being listed at all, weighted, by node and cell.
    listed: Vec<f64>,
}

/// What a pole's grid is made with.
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
    /// The uncertain figures, node by node.
    pub nodes: &'a [Figures],
}

impl PoleGrid {
    /// Fills the grid for one pole, which follows one of these curves with these shares.
    pub fn fill(&mut self, ground: &Ground<'_>, subject: Subject<'_>, curves: &[(&Cell, f64)]) {
        let cells = ground.lives.len();
        let inspections = subject.inspections;
        self.cells = cells;
        self.nodes = ground.nodes.len();
        self.first = cells;
        self.upkeep = ground.keeping.recorded(subject.pole, inspections);
        self.combine(ground, subject, curves);
        let size = self.nodes * self.combinations.len() * cells;
        self.found.clear();
        self.found.resize(size, 0.0);
        self.hidden.clear();
        self.hidden.resize(size, 0.0);
        let mut visits: Vec<Visit> = Vec::new();
        let mut ready = None;
        let mut done = vec![false; self.combinations.len()];
        for row in 0..self.combinations.len() {
            if done[row] {
                continue;
            }
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
            let like = self.rows_like(row, curves.len());
            for (other, _) in &like {
                done[*other] = true;
            }
            self.fill_row(row, &like, &visits, ground, subject);
        }
        self.has_findings = !visits.is_empty();
    }

    /// The combinations: diameters and modes outermost, so that visits are prepared once for each.
    fn combine(&mut self, ground: &Ground<'_>, subject: Subject<'_>, curves: &[(&Cell, f64)]) {
        let facts = subject.pole;
        let inspections = subject.inspections;
        let ages = ground.missing.ages(facts, inspections);
        self.ages_are_of_listed_poles = ground.missing.ages_are_of_listed_poles();
        self.ages = ages.len();
        self.parts.clear();
        for (_, share) in curves {
            self.parts.extend(ages.iter().map(|(_, of_age)| Part {
                weight: share * of_age,
                found: vec![0.0; self.nodes * self.cells],
                listed: vec![0.0; self.nodes * self.cells],
            }));
        }
        self.combinations.clear();
        self.part_of.clear();
        self.shares.clear();
        let protected: Vec<Vec<(f64, ByNode)>> = curves
            .iter()
            .map(|(cell, _)| shares(cell, ground.nodes))
            .collect();
        for (diameter, of_diameter) in ground.missing.diameters(facts, inspections) {
            for mode in Mode::ALL {
                let factors = &self.factors(ground, mode);
                let of_factor = 1.0 / factors.len() as f64;
                for (curve, (cell, share)) in (0..).zip(curves) {
                    let of_mode = share
                        * match mode {
                            Mode::Internal => cell.internal_share,
                            Mode::External => 1.0 - cell.internal_share,
                        };
                    for (place, (age, of_age)) in ages.iter().enumerate() {
                        for factor in factors {
                            let weight = of_diameter * of_mode * of_age * of_factor;
                            for (protected, of_share) in &protected[usize::from(curve)] {
                                self.combinations.push(Combination {
                                    weight,
                                    age: *age,
                                    protected: *protected,
                                    mode,
                                    diameter,
                                    factor: *factor,
                                    curve,
                                });
                                self.shares.push(*of_share);
                            }
                        }
                        let part = usize::from(curve) * self.ages + place;
                        self.part_of.resize(self.combinations.len(), part as u16);
                    }
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

    /// The later rows of other curves that differ from a row in nothing but their weight, each with its weight over the
    /// row's: what is found and listed differs by that alone, and most curves share their distribution of the protected
    /// share.
    fn rows_like(&self, row: usize, curves: usize) -> Vec<(usize, f64)> {
        let own = self.combinations[row];
        let later = curves - 1 - usize::from(own.curve);
        if later == 0 || own.weight <= 0.0 {
            return Vec::new();
        }
        let rows = &self.combinations;
        let of_curve = rows[row..]
            .iter()
            .position(|other| other.curve != own.curve)
            .map_or(0, |rest| rest + row);
        let start = rows[..row]
            .iter()
            .rposition(|other| (other.curve, other.mode) != (own.curve, own.mode))
            .map_or(0, |before| before + 1);
        let block = of_curve - start;
        let alike = |other: &Combination| {
            Combination {
                weight: own.weight,
                curve: own.curve,
                ..*other
            } == own
        };
        (1..=later)
            .map(|turn| row + turn * block)
            .filter(|other| rows.get(*other).is_some_and(alike))
            .filter(|other| same(&self.shares[*other], &self.shares[row]))
            .map(|other| (other, rows[other].weight / own.weight))
            .collect()
    }

    /// One combination, from the longest life down: states that are sound throughout share one value, and once a state
    /// is long gone all shorter lives are.
    fn fill_row(
        &mut self,
        row: usize,
        like: &[(usize, f64)],
        visits: &[Visit],
        ground: &Ground<'_>,
        subject: Subject<'_>,
    ) {
        let combination = self.combinations[row];
        let lives = ground.lives;
        let shares = self.shares[row].map(|share| share * combination.weight);
        let unbraced = self.upkeep.unbraced();
        let sound_from = lives.first_from(combination.age / combination.protected);
        // States that are sound throughout share one value: it is weighed at the longest life.
        let mut upto = lives.len();
        while upto > 0 {
            let index = upto - 1;
            let pole = combination.aging(lives.middles()[index], &self.upkeep);
            let plain = combination.aging(lives.middles()[index], &unbraced);
            let mut survival = Survival::of(&pole, &plain, ground, subject);
            if let Some(first) = visits.first().filter(|visit| visit.reinforces()) {
                survival.at_first_visit = ground.hazard.standing_through(&plain, -first.years_ago);
            }
            if survival.at_first() < GONE {
                break;
            }
            let weight = weigh(
                visits,
                ground.nodes,
                |years| pole.progress(-years),
                |years| survival.in_data(&plain, -years, ground),
            );
            let seen = Seen::new(&survival, &weight, ground);
            let start = if index >= sound_from {
                sound_from
            } else {
                index
            };
            self.enter(row, start..upto, like, &seen, &shares);
            upto = start;
        }
        self.first = self.first.min(upto);
    }

    /// Enters what was found of states that are alike in their row, its part and the rows that differ in weight alone.
    fn enter(
        &mut self,
        row: usize,
        alike: Range<usize>,
        like: &[(usize, f64)],
        seen: &Seen,
        shares: &ByNode,
    ) {
        let (cells, rows) = (self.cells, self.combinations.len());
        let within = |start: usize| start + alike.start..start + alike.end;
        for (node, share) in shares.iter().enumerate().take(self.nodes) {
            let hidden = seen.hidden[node] as f32;
            for (row, ratio) in std::iter::once((row, 1.0)).chain(like.iter().copied()) {
                let found = share * seen.found[node] * ratio;
                let listed = share * seen.listed[node] * ratio;
                let here = within((node * rows + row) * cells);
                self.found[here.clone()].fill(found);
                self.hidden[here].fill(hidden);
                let part = &mut self.parts[usize::from(self.part_of[row])];
                let here = within(node * cells);
                for sum in &mut part.found[here.clone()] {
                    *sum += found;
                }
                for sum in &mut part.listed[here] {
                    *sum += listed;
                }
            }
        }
    }

    /// Nodes of the uncertain figures.
    pub fn nodes(&self) -> usize {
        self.nodes
    }

    /// The first cell of service life in which anything was found.
    pub fn first(&self) -> usize {
        self.first
    }

    /// The cells of service life of one node in what is kept by node and cell.
    fn of_node(&self, node: usize) -> Range<usize> {
        node * self.cells..(node + 1) * self.cells
    }

    /// Number of parts: a curve and an age each.
    pub fn parts(&self) -> usize {
        self.parts.len()
    }

    /// The parts of one curve.
    pub fn parts_of_curve(&self, curve: usize) -> Range<usize> {
        curve * self.ages..(curve + 1) * self.ages
    }

    /// Which part a combination belongs to.
    pub fn part_of(&self, combination: usize) -> usize {
        usize::from(self.part_of[combination])
    }

    /// Sums over the combinations of one part of weight x likelihood x survival at a node, by cell of service life.
    pub fn found_of_part(&self, node: usize, part: usize) -> &[f64] {
        &self.parts[part].found[self.of_node(node)]
    }

    /// [`mean`] over the cells in which anything was found.
    fn mean(&self, prior: &[f64], weights: &[f64]) -> f64 {
        // From a multiple of eight on, so that the order of the sum does not hang on where it begins.
        let from = self.first / 8 * 8;
        mean(&prior[from..], &weights[from..])
    }

    fn listed_of_part(&self, node: usize, part: usize) -> &[f64] {
        &self.parts[part].listed[self.of_node(node)]
    }

    /// What multiplies the combinations of each part of a curve at a node, under a prior of service life.
    ///
    /// Dated poles whose years stand in for a missing one are all still listed: of those set long ago most may be gone,
    /// and the chance of that must not count twice. Their share is that of the age *given* that the pole is listed. So
    /// it is with the recorded poles whose kinds stand in for an unrecorded one.
    pub fn scales(&self, curve: usize, node: usize, prior: &[f64]) -> Vec<f64> {
        let parts = self.parts_of_curve(curve);
        let mixed = self.parts.len() > self.ages;
        let of_listed = self.ages_are_of_listed_poles && self.ages > 1 || mixed && self.ages == 1;
        let over = |weight: f64, listed: f64| if listed > 0.0 { weight / listed } else { 0.0 };
        let listed = |part: usize| self.mean(prior, self.listed_of_part(node, part));
        if of_listed {
            return parts
                .map(|part| over(self.parts[part].weight, listed(part)))
                .collect();
        }
        if !mixed {
            return vec![1.0; parts.len()];
        }
        // Years of setting that are only assumed: of whatever became of the poles, but the curve's share is of listed ones.
        let weight = parts.clone().map(|part| self.parts[part].weight).sum();
        let all = parts.clone().map(listed).sum();
        vec![over(weight, all); parts.len()]
    }

    /// Sums over all combinations at a node of prior x likelihood of the records, and of prior x chance of being listed at
    /// all, of a pole that follows one curve.
    pub fn found_and_listed(&self, node: usize, prior: &[f64]) -> (f64, f64) {
        let scales = self.scales(0, node, prior);
        let parts = scales.into_iter().enumerate();
        parts.fold((0.0, 0.0), |(found, listed), (part, scale)| {
            (
                found + scale * self.mean(prior, self.found_of_part(node, part)),
                listed + scale * self.mean(prior, self.listed_of_part(node, part)),
            )
        })
    }

    /// Likelihood of the records at a node by cell of service life, the parts scaled.
    pub fn found_by_life(&self, node: usize, scales: &[f64]) -> Vec<f64> {
        let mut sum = vec![0.0; self.cells];
        for (part, scale) in scales.iter().enumerate() {
            sum.iter_mut()
                .zip(self.found_of_part(node, part))
                .for_each(|(total, found)| *total += scale * found);
        }
        sum
    }

    /// The row of one combination at a node.
    pub fn row(&self, node: usize, combination: usize) -> &[f64] {
        let start = (node * self.combinations.len() + combination) * self.cells;
        &self.found[start..start + self.cells]
    }

    /// The combination that a uniform draw picks at a node, given the cell of service life and the parts' scales.
    pub fn pick(&self, node: usize, cell: usize, scales: &[f64], uniform: f64) -> usize {
        let rows = 0..self.combinations.len();
        let part = |row: usize| scales[self.part_of(row)] * self.row(node, row)[cell];
        let wanted = uniform * rows.clone().map(part).sum::<f64>();
        let mut sum = 0.0;
        let found = rows.clone().find(|row| {
            sum += part(*row);
            sum > wanted
        });
        found.unwrap_or_else(|| rows.end.saturating_sub(1))
    }

    /// The share of a state that comes from hidden decay at a node.
    pub fn hidden_share(&self, node: usize, combination: usize, cell: usize) -> f64 {
        let row = node * self.combinations.len() + combination;
        f64::from(self.hidden[row * self.cells + cell])
    }

    /// One row mixed over all nodes by what multiplies each node's parts (by node, part and cell): mass, and the part of it
    /// that comes from hidden decay.
    pub fn mixed(&self, combination: usize, factors: &[Vec<Vec<f64>>]) -> (Vec<f64>, Vec<f64>) {
        let (mut mass, mut hidden) = (vec![0.0; self.cells], vec![0.0; self.cells]);
        let part = self.part_of(combination);
        for (node, factors) in factors.iter().enumerate() {
            let start = (node * self.combinations.len() + combination) * self.cells;
            let found = &self.found[start + self.first..start + self.cells];
            let unseen = &self.hidden[start + self.first..start + self.cells];
            let sums = mass[self.first..].iter_mut().zip(&mut hidden[self.first..]);
            let factors = &factors[part][self.first..];
            for (((sum, of_hidden), factor), (found, unseen)) in
                sums.zip(factors).zip(found.iter().zip(unseen))
            {
                let one = factor * found;
                *sum += one;
                *of_hidden += one * f64::from(*unseen);
            }
        }
        (mass, hidden)
    }
}

/// Whether weights are the same to the last bit.
fn same(one: &ByNode, other: &ByNode) -> bool {
    let mut both = one.iter().zip(other);
    both.all(|(one, other)| one.to_bits() == other.to_bits())
}

/// What is found of one state at every node, its combination's weight apart.
#[derive(Debug, Clone, Copy)]
struct Seen {
    found: ByNode,
    listed: ByNode,
    hidden: ByNode,
}

impl Seen {
    fn new(survival: &Survival, weight: &Weight, ground: &Ground<'_>) -> Self {
        let mut seen = Self {
            found: [0.0; MOST_NODES],
            listed: [0.0; MOST_NODES],
            hidden: [0.0; MOST_NODES],
        };
        for node in 0..ground.nodes.len() {
            let both = weight.open[node] + weight.hidden[node];
            seen.found[node] = survival.to_the_end * both;
            // Findings that contradict each other dozens of times over leave nothing.
            seen.hidden[node] = if both > 0.0 {
                weight.hidden[node] / both
            } else {
                0.0
            };
            let now = (survival.now, weight.listed[node]);
            seen.listed[node] = match (ground.terms.listing, survival.then) {
                (Some(listing), Some(then)) => {
                    listing.chance(now, (then, weight.then_listed[node]))
                }
                _ => now.0 * now.1,
            } + weight.reinforced[node];
        }
        seen
    }
}

/// How far one state survives wind. Who is listed at all is asked of poles that nobody knows to be reinforced.
#[derive(Debug, Clone, Copy)]
struct Survival {
    /// Chance of standing at the plan date without a reinforcement.
    now: f64,
    /// Chance of standing on the day since which removed poles are listed, without one.
    then: Option<f64>,
    /// Chance of standing at the first visit, where rejects are reinforced from then on; 0 where none is.
    at_first_visit: f64,
    /// Chance of what is recorded: standing today or when it was taken away, or failing about the day it failed.
    to_the_end: f64,
}

impl Survival {
    fn of(pole: &Aging<'_>, plain: &Aging<'_>, ground: &Ground<'_>, subject: Subject<'_>) -> Self {
        let standing = |years: f64| ground.hazard.standing_through(pole, years);
        let unbraced = |years: f64| ground.hazard.standing_through(plain, years);
        let now = unbraced(0.0);
        let then = ground.terms.listing.map(|listing| unbraced(listing.since));
        let to_the_end = match subject.end {
            None if pole.upkeep.braced().is_none() => now,
            None => standing(0.0),
            // Failures are told by the year: what counts is how the chance differs between states.
            Some(end) if end.cause == RemovalCause::Failed => {
                standing(end.years - 0.5) - standing((end.years + 0.5).min(0.0))
            }
            Some(end) => standing(end.years),
        };
        Self {
            now,
            then,
            at_first_visit: 0.0,
            to_the_end,
        }
    }

    /// How likely a pole reinforced at a moment is to be in the data: it stood until then, and stands again in wind once
    /// the reinforcement has come to its end. Failures that are listed are in the data too.
    fn in_data(self, plain: &Aging<'_>, years: f64, ground: &Ground<'_>) -> InData {
        let unbraced = |years: f64| ground.hazard.standing_through(plain, years);
        let (before, end) = (unbraced(years), years + ground.keeping.brace_years);
        let over = |now: f64, then: f64| if then > 0.0 { now / then } else { 0.0 };
        let braced = |at: f64, standing: f64| {
            if at < years {
                standing
            } else if at < end {
                before
            } else {
                before * over(standing, unbraced(end))
            }
        };
        let (now, then, failed) = match (ground.terms.listing, self.then) {
            (Some(listing), Some(then)) => {
                let usable = listing.usable[RemovalCause::Failed.index()];
                // Those that failed before the moment were never reinforced.
                (
                    braced(0.0, self.now),
                    braced(listing.since, then).min(before),
                    usable,
                )
            }
            _ => (braced(0.0, self.now), 0.0, 0.0),
        };
        InData {
            reinforced: now + failed * (then - now).max(0.0),
            plain: self.now + failed * (self.then.unwrap_or(0.0) - self.now).max(0.0),
        }
    }

    /// The greatest of the chances: below this all others lie.
    fn at_first(self) -> f64 {
        let listed = self.then.unwrap_or(0.0).max(self.at_first_visit);
        listed.max(self.now).max(self.to_the_end)
    }
}

/// Sum of prior x weight, in a fixed order of eight interleaved sums, which processors add side by side.
pub fn mean(prior: &[f64], weights: &[f64]) -> f64 {
    dot(prior, weights)
}
