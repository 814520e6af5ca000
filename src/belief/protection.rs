//! The protected share of one pole as nodes with weights, for all nodes of its uncertain mean at once.
//!
//! One set of shares serves every mean, only the weights differ: what a pole's records say of a share is weighed once. Where
//! poles hardly differ each mean has a set of its own.

use super::grid::{normal_nodes, protected_share};
use super::nuisances::{ByNode, Figures, MOST_NODES};
use crate::maths::normal_pdf;
use crate::models::Cell;
use crate::wood::progress::PROTECTED_RANGE;

/// Distance between shares, in standard deviations between poles, and how far they reach beyond the outermost means: as
/// [`normal_nodes`].
const STEP: f64 = 0.8;
const REACH: f64 = 3.2;
/// Standard deviation between poles from which one set serves every mean: of narrower ones it would take too many shares.
const ONE_SET_FROM: f64 = 0.02;

/// Shares with their weights at every node; at each node the weights sum to one.
pub(super) fn shares(cell: &Cell, nodes: &[Figures]) -> Vec<(f64, ByNode)> {
    let shifts = || nodes.iter().map(|figures| figures.protected_shift);
    let mean =
        |shift: f64| (cell.protected_mean + shift).clamp(PROTECTED_RANGE.0, PROTECTED_RANGE.1);
    let lowest = shifts().map(mean).fold(f64::INFINITY, f64::min);
    let highest = shifts().map(mean).fold(f64::NEG_INFINITY, f64::max);
    if lowest >= highest {
        let shift = nodes.first().map_or(0.0, |figures| figures.protected_shift);
        return of_mean(cell, shift)
            .map(|(share, weight)| (share, [weight; MOST_NODES]))
            .collect();
    }
    if cell.protected_sd < ONE_SET_FROM {
        let of_node = |(node, shift): (usize, f64)| {
            of_mean(cell, shift).map(move |(share, weight)| {
                let mut weights = [0.0; MOST_NODES];
                weights[node] = weight;
                (share, weights)
            })
        };
        return shifts().enumerate().flat_map(of_node).collect();
    }
    let reach = REACH * cell.protected_sd;
    let from = (lowest - reach).max(PROTECTED_RANGE.0);
    let until = (highest + reach).min(PROTECTED_RANGE.1);
    let count = ((until - from) / (STEP * cell.protected_sd))
        .ceil()
        .max(1.0);
    let width = (until - from) / count;
    let mut all: Vec<(f64, ByNode)> = (0..count as usize)
        .map(|place| {
            let share = from + (place as f64 + 0.5) * width;
            let mut weights = [0.0; MOST_NODES];
            for (weight, figures) in weights.iter_mut().zip(nodes) {
                let away = share - mean(figures.protected_shift);
                *weight = normal_pdf(away / cell.protected_sd);
            }
            (share, weights)
        })
        .collect();
    for node in 0..nodes.len() {
        let total: f64 = all.iter().map(|(_, weights)| weights[node]).sum();
        for (_, weights) in &mut all {
            weights[node] /= total;
        }
    }
    all
}

/// Shares around one mean.
fn of_mean(cell: &Cell, shift: f64) -> impl Iterator<Item = (f64, f64)> + use<> {
    let moved = Cell {
        protected_mean: cell.protected_mean + shift,
        ..*cell
    };
    let all = normal_nodes().into_iter();
    all.map(move |(z, weight)| (protected_share(&moved, z), weight))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::belief::nuisances::COORDINATES;
    use crate::models::text::built_in;

    #[test]
    fn narrow_shares_at_the_ends_of_their_range_have_weights_at_every_node() {
        let models = built_in().expect("valid models");
        let nodes = [-1.7, 0.0, 1.7].map(|z| Figures::at(&[z, 0.0, 0.0, 0.0, 0.0], &models));
        for (mean, sd) in [(0.95, 0.002), (0.0, 0.05), (0.02, 0.0), (0.5, 1e-9)] {
            let cell = Cell {
                protected_mean: mean,
                protected_sd: sd,
                ..models.cells[0]
            };
            let shares = shares(&cell, &nodes);
            assert!(shares.len() < 100, "{} shares of {mean} {sd}", shares.len());
            let within = PROTECTED_RANGE.0..=PROTECTED_RANGE.1;
            assert!(shares.iter().all(|(share, _)| within.contains(share)));
            for node in 0..nodes.len() {
                let total: f64 = shares.iter().map(|(_, weights)| weights[node]).sum();
                assert!((total - 1.0).abs() < 1e-12, "{mean} {sd}: {total}");
            }
        }
    }

    #[test]
    fn shares_have_the_mean_of_their_node() {
        let models = built_in().expect("valid models");
        let at = |z: f64| Figures::at(&[z, 0.0, 0.0, 0.0, 0.0], &models);
        assert_eq!(COORDINATES, 5);
        let nodes = [at(-1.5), at(0.0), at(1.0)];
        let cell = Cell {
            protected_mean: 0.5,
            protected_sd: 0.1,
            ..models.cells[0]
        };
        let shares = shares(&cell, &nodes);
        for (node, figures) in nodes.iter().enumerate() {
            let total: f64 = shares.iter().map(|(_, weights)| weights[node]).sum();
            let mean: f64 = shares
                .iter()
                .map(|(share, weights)| share * weights[node])
                .sum();
            assert!((total - 1.0).abs() < 1e-12);
            // The range of shares cuts off less than 0.1 % of these: 0.95 is 3.7 standard deviations above the highest mean.
            let expected = 0.5 + figures.protected_shift;
            assert!((mean - expected).abs() < 5e-4, "{mean} {expected}");
        }
    }
}
