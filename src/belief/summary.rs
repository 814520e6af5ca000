//! What a list shows of one pole: probabilities and years, read off its grid without sampling.

use super::evidence::PoleGrid;
use super::grid::{Combination, running_sums};
use super::{Beliefs, Scratch, missing};
use crate::inventory::Inventory;
use crate::maths::{exp, ln};
use crate::models::CellIndex;
use crate::pole::PoleIndex;
use crate::wood::Upkeep;
use crate::wood::strength::Required;

/// Years beyond which "years to the limit" is not told apart.
const FARTHEST: f64 = 200.0;
/// Bisections that find a quantile of the years to the limit, to better than a thousandth of a year.
const BISECTIONS: u32 = 20;

/// The estimated condition of one pole, given everything that is recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Summary {
    /// The curve cell; of a mixture the one with the largest share.
    pub cell: CellIndex,
    /// Curves that the pole may follow: more than one where its species or preservative is not known.
    pub curves: u8,
    /// Probability that the wood is below the limit at the plan date and at the end of each year after it, supposing that
    /// the pole stands and nothing is done; a reinforcement is not counted, the years of recorded treatments are. Entry `y` is `y` years after the plan date, up to the horizon.
    pub below_limit: Vec<f32>,
    /// Probability of failing in service within a year of the plan date when nothing is done.
    pub failure_within_a_year: f32,
    /// Years from the plan date until the pole is below the limit: 10, 50 and 90 % quantiles (0 when below now,
    /// infinite beyond two centuries).
    pub years_to_limit: [f32; 3],
    /// Age at the plan date, years: the mean where it is not recorded.
    pub age: f32,
    /// Whether the set date is recorded; otherwise the age is a distribution over the line's and the inventory's years.
    pub age_is_recorded: bool,
}

/// One combination's probabilities, ready to be asked.
pub(super) struct Row {
    combination: Combination,
    /// Progress at the limit on the plan date.
    limit: f64,
    running: Vec<f64>,
}

impl Beliefs {
    /// The summary of one pole.
    pub(super) fn summarise(
        &self,
        inventory: &Inventory,
        pole: PoleIndex,
        years: usize,
        scratch: &mut Scratch,
    ) -> Summary {
        let factors = self.posterior(inventory, pole, scratch);
        let required = self.missing.required(inventory.pole(pole));
        let rows = self.rows(&scratch.grid, &factors, required);
        let upkeep = &scratch.grid.upkeep;
        let below = |years: f64| self.below_limit(&rows, upkeep, required, years);
        let age: f64 = rows
            .iter()
            .map(|row| row.combination.age * row.running.last().copied().unwrap_or(0.0))
            .sum();
        Summary {
            cell: self.cells[self.slot(pole)].index,
            curves: self.curves(pole).len() as u8,
            below_limit: (0..=years).map(|year| below(year as f64) as f32).collect(),
            failure_within_a_year: self.failure(pole, &rows, upkeep) as f32,
            years_to_limit: [0.1, 0.5, 0.9].map(|p| years_until(p, below) as f32),
            age: age as f32,
            age_is_recorded: missing::age_is_recorded(inventory, pole),
        }
    }

    /// The combinations that have any probability, with what multiplies each part of the grid.
    pub(super) fn rows(
        &self,
        grid: &PoleGrid,
        factors: &[Vec<Vec<f64>>],
        required: Option<Required>,
    ) -> Vec<Row> {
        let all = grid.combinations.iter().enumerate();
        all.map(|(row, combination)| Row {
            combination: *combination,
            limit: self.limit(combination.mode, combination.diameter, required, 0.0),
            running: running_sums(&grid.mixed(row, factors).0),
        })
        .filter(|row| row.running.last().is_some_and(|sum| *sum > 0.0))
        .collect()
    }

    /// Probability of being below the limit so many years after the plan date.
    pub(super) fn below_limit(
        &self,
        rows: &[Row],
        upkeep: &Upkeep,
        required: Option<Required>,
        years: f64,
    ) -> f64 {
        let sum: f64 = rows
            .iter()
            .map(|row| {
                let limit = if self.limits_change {
                    self.limit(
                        row.combination.mode,
                        row.combination.diameter,
                        required,
                        years,
                    )
                } else {
                    row.limit
                };
                if limit.is_infinite() {
                    return 0.0;
                }
                let life = row.combination.aging(1.0, upkeep).life_with(limit, years);
                self.lives.mass_below(&row.running, life)
            })
            .sum();
        sum.clamp(0.0, 1.0)
    }

    /// By cell of service life: what of a grid's findings at one node belongs to states that are below the limit so many years
    /// after the plan date.
    pub(super) fn below_by_life(
        &self,
        grid: &PoleGrid,
        node: usize,
        required: Option<Required>,
        years: f64,
    ) -> Vec<f64> {
        let mut below = vec![0.0; self.lives.len()];
        for (row, combination) in grid.combinations.iter().enumerate() {
            let limit = self.limit(combination.mode, combination.diameter, required, years);
            if limit.is_finite() {
                let life = combination.aging(1.0, &grid.upkeep).life_with(limit, years);
                let upto = self.lives.first_from(life);
                let found = grid.row(node, row).iter().take(upto);
                below
                    .iter_mut()
                    .zip(found)
                    .for_each(|(sum, part)| *sum += part);
            }
        }
        below
    }

    /// Probability of failing within a year of the plan date.
    fn failure(&self, pole: PoleIndex, rows: &[Row], upkeep: &Upkeep) -> f64 {
        let hazard = self.hazard_of(pole);
        let mut sum = 0.0;
        for row in rows {
            let mut before = 0.0;
            let age = row.combination.age;
            let sound_from = self
                .lives
                .first_from((age + 1.0) / row.combination.protected);
            let fails = |cell: usize| {
                let pole = row.combination.aging(self.lives.middles()[cell], upkeep);
                let standing = |years: f64| hazard.standing_through(&pole, years);
                1.0 - standing(1.0) / standing(0.0).max(1e-300)
            };
            for (cell, upto) in row.running.iter().enumerate().take(sound_from) {
                if *upto - before > 1e-9 {
                    sum += (upto - before) * fails(cell);
                }
                before = *upto;
            }
            let rest = row.running.last().copied().unwrap_or(0.0) - before;
            if rest > 0.0 && sound_from < row.running.len() {
                sum += rest * fails(sound_from);
            }
        }
        sum.clamp(0.0, 1.0)
    }
}

/// Years until the probability of being below the limit reaches `p`.
fn years_until(p: f64, below: impl Fn(f64) -> f64) -> f64 {
    if below(0.0) >= p {
        return 0.0;
    }
    if below(FARTHEST) < p {
        return f64::INFINITY;
    }
    // Bisection on ln(1 + years): near years matter most.
    let (mut low, mut high) = (0.0, ln(1.0 + FARTHEST));
    for _ in 0..BISECTIONS {
        let middle = 0.5 * (low + high);
        if below(exp(middle) - 1.0) < p {
            low = middle;
        } else {
            high = middle;
        }
    }
    exp(high) - 1.0
}
