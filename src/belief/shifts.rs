//! What findings say of a shift at every node, as integers that add, and distributions over nodes.

use crate::maths::{exp, ln};

/// Steps of fixed-point ln Z: sums of a million poles stay exact and far from overflow.
pub(super) const FIXED_POINT: f64 = 16_777_216.0;

/// ln Z of the poles of one area and cell, summed, at every node of the shift.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pair {
    /// The area.
    pub area: usize,
    /// The cell's slot among the cells in use.
    pub slot: usize,
    /// Fixed-point sums of ln Z.
    pub ln_z: Vec<i64>,
    /// Poles with findings.
    pub poles: usize,
}

/// A pole's ln Z at every node, as integers that add.
///
/// At a shift so far out that no number tells whether the pole could be listed, or recorded as it is, the nearest node
/// speaks (of two, the one of shorter lives); 0 when there is none.
pub fn fixed_ln_z(found: &[f64], listed: &[f64]) -> Vec<i64> {
    let known: Vec<Option<i64>> = found
        .iter()
        .zip(listed)
        .map(|(up, down)| ln(up / down))
        .map(|value| {
            value
                .is_finite()
                .then(|| (value * FIXED_POINT).round() as i64)
        })
        .collect();
    let nearest = |node: usize| {
        let at = |place: Option<usize>| place.and_then(|place| known.get(place).copied().flatten());
        (0..known.len())
            .find_map(|far| at(node.checked_sub(far)).or_else(|| at(Some(node + far))))
            .unwrap_or(0)
    };
    (0..known.len()).map(nearest).collect()
}

/// Probabilities from their logarithms up to a constant.
pub(super) fn normalised(ln_mass: &[f64]) -> Vec<f64> {
    let top = ln_mass.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mass: Vec<f64> = ln_mass.iter().map(|value| exp(value - top)).collect();
    let total: f64 = mass.iter().sum();
    mass.into_iter().map(|part| part / total).collect()
}

/// The node that a uniform draw picks.
pub(super) fn pick(mass: &[f64], uniform: f64) -> i32 {
    let mut sum = 0.0;
    let found = mass.iter().position(|part| {
        sum += part;
        sum >= uniform
    });
    found.unwrap_or(mass.len() - 1) as i32
}
