//! One pole's grid: how likely its records are in every state, and how likely it is to be listed at all.

use super::gone::{Listing, Subject};
use super::grid::{Combination, LifeGrid, normal_nodes, protected_share};
use super::kept::Keeping;
use super::likelihood::{Terms, Visit, prepare, weigh};
use super::missing::Missing;
use crate::maths::dot;
use crate::models::Cell;
use crate::pole::{Mode, RemovalCause};
use crate::wood::{Aging, FailureHazard, Upkeep};

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
    /// By combination: its place in [`Self::parts`].
    part_of: Vec<u16>,
    /// Cells of service life.
    cells: usize,
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
    /// Sum of [`PoleGrid::found`].
    found: Vec<f64>,
    /// Chance of being listed at all, weighted.
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
    /// How far the lists hold removed poles, for a pole that would be found among them.
    pub listing: Option<Listing>,
}

impl PoleGrid {
    /// Fills the grid for one pole, which follows one of these curves with these shares.
    pub fn fill(&mut self, ground: &Ground<'_>, subject: Subject<'_>, curves: &[(&Cell, f64)]) {
        let cells = ground.lives.len();
        let inspections = subject.inspections;
        self.cells = cells;
        self.upkeep = ground.keeping.recorded(subject.pole, inspections);
        self.combine(ground, subject, curves);
        self.found.clear();
        self.found.resize(self.combinations.len() * cells, 0.0);
        self.hidden.clear();
        self.hidden.resize(self.combinations.len() * cells, 0.0);
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
                found: vec![0.0; self.cells],
                listed: vec![0.0; self.cells],
            }));
        }
        self.combinations.clear();
        self.part_of.clear();
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
                            let nodes = normal_nodes().into_iter();
                            self.combinations
                                .extend(nodes.map(|(z, of_share)| Combination {
                                    weight: weight * of_share,
                                    age: *age,
                                    protected: protected_share(cell, z),
                                    mode,
                                    diameter,
                                    factor: *factor,
                                    curve,
                                }));
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
            .filter(|other| alike(&rows[*other]))
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
        let hidden_share = ground.terms.detection.hidden_share;
        let sound_from = lives.first_from(combination.age / combination.protected);
        let part = self.part_of(row);
        let mut shared = None;
        for index in (0..lives.len()).rev() {
            let (survived, listed, weight) = match shared {
                Some(known) if index >= sound_from => known,
                _ => {
                    let pole = combination.aging(lives.middles()[index], &self.upkeep);
                    let survival = Survival::of(&pole, ground, subject);
                    if survival.at_first() < GONE {
                        break;
                    }
                    let weight = weigh(visits, hidden_share, |years_ago| pole.progress(-years_ago));
                    let listed = match (ground.listing, survival.then) {
                        (Some(listing), Some(then)) => listing
                            .chance((survival.now, weight.listed), (then, weight.then_listed)),
                        _ => survival.now * weight.listed,
                    };
                    (survival.to_the_end, listed, weight)
                }
            };
            shared = (index >= sound_from).then_some((survived, listed, weight));
            let found = combination.weight * survived * (weight.open + weight.hidden);
            let listed = combination.weight * listed;
            self.found[row * lives.len() + index] = found;
            self.hidden[row * lives.len() + index] =
                (weight.hidden / (weight.open + weight.hidden)) as f32;
            self.parts[part].found[index] += found;
            self.parts[part].listed[index] += listed;
            for (other, ratio) in like {
                let (here, there) = (row * lives.len() + index, other * lives.len() + index);
                self.found[there] = found * ratio;
                self.hidden[there] = self.hidden[here];
                let part = self.part_of(*other);
                self.parts[part].found[index] += found * ratio;
                self.parts[part].listed[index] += listed * ratio;
            }
        }
    }

    /// Number of parts: a curve and an age each.
    pub fn parts(&self) -> usize {
        self.parts.len()
    }

    /// The parts of one curve.
    pub fn parts_of_curve(&self, curve: usize) -> std::ops::Range<usize> {
        curve * self.ages..(curve + 1) * self.ages
    }

    /// Which part a combination belongs to.
    pub fn part_of(&self, combination: usize) -> usize {
        usize::from(self.part_of[combination])
    }

    /// Sums of [`Self::found`] over the combinations of one part, by cell of service life.
    pub fn found_of_part(&self, part: usize) -> &[f64] {
        &self.parts[part].found
    }

    /// What multiplies the combinations of each part of a curve, under a prior of service life.
    ///
    /// Dated poles whose years stand in for a missing one are all still listed: of those set long ago most may be gone,
    /// and the chance of that must not count twice. Their share is that of the age *given* that the pole is listed. So
    /// it is with the recorded poles whose kinds stand in for an unrecorded one.
    pub fn scales(&self, curve: usize, prior: &[f64]) -> Vec<f64> {
        let parts = &self.parts[self.parts_of_curve(curve)];
        let mixed = self.parts.len() > self.ages;
        let of_listed = self.ages_are_of_listed_poles && self.ages > 1 || mixed && self.ages == 1;
        let over = |weight: f64, listed: f64| if listed > 0.0 { weight / listed } else { 0.0 };
        if of_listed {
            let one = |part: &Part| over(part.weight, mean(prior, &part.listed));
            return parts.iter().map(one).collect();
        }
        if !mixed {
            return vec![1.0; parts.len()];
        }
        // Years of setting that are only assumed: of whatever became of the poles, but the curve's share is of listed ones.
        let weight = parts.iter().map(|part| part.weight).sum();
        let listed = parts.iter().map(|part| mean(prior, &part.listed)).sum();
        vec![over(weight, listed); parts.len()]
    }

    /// Sums over all combinations of prior x likelihood of the records, and of prior x chance of being listed at all, of a
    /// pole that follows one curve.
    pub fn found_and_listed(&self, prior: &[f64]) -> (f64, f64) {
        let scales = self.scales(0, prior);
        let parts = self.parts.iter().zip(scales);
        parts.fold((0.0, 0.0), |(found, listed), (part, scale)| {
            (
                found + scale * mean(prior, &part.found),
                listed + scale * mean(prior, &part.listed),
            )
        })
    }

    /// Likelihood of the records by cell of service life, the parts scaled.
    pub fn found_by_life(&self, scales: &[f64]) -> Vec<f64> {
        let mut sum = vec![0.0; self.cells];
        for (part, scale) in self.parts.iter().zip(scales) {
            sum.iter_mut()
                .zip(&part.found)
                .for_each(|(total, found)| *total += scale * found);
        }
        sum
    }

    /// The row of one combination.
    pub fn row(&self, combination: usize) -> &[f64] {
        &self.found[combination * self.cells..(combination + 1) * self.cells]
    }

    /// The share of a state that comes from hidden decay.
    pub fn hidden_share(&self, combination: usize, cell: usize) -> f64 {
        f64::from(self.hidden[combination * self.cells + cell])
    }
}

/// How far one state survives wind.
#[derive(Debug, Clone, Copy)]
struct Survival {
    /// Chance of standing at the plan date.
    now: f64,
    /// Chance of standing on the day since which removed poles are listed.
    then: Option<f64>,
    /// Chance of what is recorded: standing today or when it was taken away, or failing about the day it failed.
    to_the_end: f64,
}

impl Survival {
    fn of(pole: &Aging<'_>, ground: &Ground<'_>, subject: Subject<'_>) -> Self {
        let standing = |years: f64| ground.hazard.standing_through(pole, years);
        let now = standing(0.0);
        let then = ground.listing.map(|listing| standing(listing.since));
        let to_the_end = match subject.end {
            None => now,
            // Failures are told by the year: what counts is how the chance differs between states.
            Some(end) if end.cause == RemovalCause::Failed => {
                standing(end.years - 0.5) - standing((end.years + 0.5).min(0.0))
            }
            Some(end) => standing(end.years),
        };
        Self {
            now,
            then,
            to_the_end,
        }
    }

    /// The greatest of the chances: below this all others lie.
    fn at_first(self) -> f64 {
        self.then.unwrap_or(0.0).max(self.now).max(self.to_the_end)
    }
}

/// Sum of prior x weight.
pub fn mean(prior: &[f64], weights: &[f64]) -> f64 {
    dot(prior, weights)
}
