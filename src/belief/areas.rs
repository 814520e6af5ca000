//! How far soil and batch differ between areas (model section 4): the prior of an area's shift b, and what the areas that
//! were inspected say of its spread.
//!
//! The spread is one of a few values; given the areas' shifts its distribution is exact. Knows no poles and no curves.

use super::grid::SHIFT_STEP;
use super::shifts::normalised;
use crate::maths::{exp, ln};

/// Standard deviation of the shift between areas (proposed: soil and batch differ that much between lines).
pub const AREA_SD: f64 = 0.15;

/// Steps on each side of 0 that b may take (0.6: four standard deviations of the table; of the widest spread, which few
/// fleets ask for, not quite two).
pub(super) const AREA_REACH: i32 = 24;

/// Spreads on each side of the table's, and the standard deviations of its logarithm from one to the next: beyond two of
/// them lie 5 %.
const SIDE: i32 = 4;
const APART: f64 = 0.5;

/// Spreads that are possible, and the prior of b with each.
#[derive(Debug, Clone)]
pub(super) struct AreaSpread {
    /// ln of the factor on [`AREA_SD`] and of its prior probability.
    ln_factors: Vec<(f64, f64)>,
    /// ln probability of b at every step that it may take, by spread.
    ln_priors: Vec<Vec<f64>>,
}

impl AreaSpread {
    /// With this standard deviation of ln spread around the table's; 0 for no doubt.
    pub(super) fn new(doubt: f64) -> Self {
        let side = if doubt > 0.0 { SIDE } else { 0 };
        let ln_factors: Vec<(f64, f64)> = (-side..=side)
            .map(|place| f64::from(place) * APART)
            .map(|z| (doubt * z, -0.5 * z * z))
            .collect();
        let ln_priors = ln_factors.iter().map(|(ln_factor, _)| {
            let sd = AREA_SD * exp(*ln_factor);
            let densities: Vec<f64> = (-AREA_REACH..=AREA_REACH)
                .map(|steps| f64::from(steps) * SHIFT_STEP / sd)
                .map(|z| -0.5 * z * z)
                .collect();
            // The step in the middle has probability: no logarithm of nothing.
            let sum: f64 = densities.iter().map(|density| exp(*density)).sum();
            densities.iter().map(|density| density - ln(sum)).collect()
        });
        Self {
            ln_priors: ln_priors.collect(),
            ln_factors,
        }
    }

    /// Number of spreads.
    pub(super) fn len(&self) -> usize {
        self.ln_factors.len()
    }

    /// The table's spread.
    pub(super) fn middle(&self) -> usize {
        self.len() / 2
    }

    /// ln probability of b at every step from `-AREA_REACH` on, with one of the spreads.
    pub(super) fn ln_prior(&self, spread: usize) -> &[f64] {
        &self.ln_priors[spread]
    }

    /// Probability of every spread, given the shifts of some areas in steps.
    pub(super) fn given(&self, shifts: impl Iterator<Item = i32>) -> Vec<f64> {
        let mut ln_mass: Vec<f64> = self.ln_factors.iter().map(|(_, prior)| *prior).collect();
        for steps in shifts {
            let node = (steps + AREA_REACH) as usize;
            for (mass, prior) in ln_mass.iter_mut().zip(&self.ln_priors) {
                *mass += prior[node];
            }
        }
        normalised(&ln_mass)
    }

    /// Probability of b at every step where the spread has these probabilities.
    pub(super) fn mixed(&self, mass: &[f64]) -> Vec<f64> {
        let mut mixed = vec![0.0; self.ln_priors[0].len()];
        for (weight, prior) in mass.iter().zip(&self.ln_priors) {
            let parts = mixed.iter_mut().zip(prior);
            parts.for_each(|(sum, ln)| *sum += weight * exp(*ln));
        }
        mixed
    }

    /// Mean and standard deviation of ln of the spread as a factor on the table's, where it has these probabilities.
    pub(super) fn ln_factor(&self, mass: &[f64]) -> (f64, f64) {
        let moment = |power: i32| -> f64 {
            let parts = self.ln_factors.iter().zip(mass);
            parts
                .map(|((ln_factor, _), weight)| weight * ln_factor.powi(power))
                .sum()
        };
        let mean = moment(1);
        (mean, (moment(2) - mean * mean).max(0.0).sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn areas_that_lie_close_together_narrow_their_spread_and_distant_ones_widen_it() {
        let spread = AreaSpread::new(0.4);
        // Twenty areas at -2, -1, 0, 1, 2 steps: standard deviation 1.41 steps, 0.035, far below 0.15.
        let close = (0..20).map(|area| area % 5 - 2);
        let (narrow, _) = spread.ln_factor(&spread.given(close));
        // At -12, -6, 0, 6, 12: 8.5 steps, 0.21, 1.41 times 0.15: with twenty areas most of ln 1.41 = 0.35 is believed.
        let far = (0..20).map(|area| (area % 5 - 2) * 6);
        let (wide, sd) = spread.ln_factor(&spread.given(far));
        assert!(
            narrow < -0.6 && (0.2..0.35).contains(&wide),
            "{narrow} {wide}"
        );
        // Of ln of a variance of twenty squares the variance is trigamma(10) = 0.105, of ln sd a quarter of it; with the
        // prior's 0.16 that is 0.0226, a standard deviation of 0.150. Skew and the ends of the grid add a little.
        assert!((sd - 0.150).abs() < 0.01, "{sd}");
    }

    #[test]
    fn without_doubt_there_is_one_spread() {
        let spread = AreaSpread::new(0.0);
        assert_eq!(spread.given([3, -4].into_iter()), [1.0]);
        let total: f64 = spread.mixed(&[1.0]).iter().sum();
        assert!((total - 1.0).abs() < 1e-12);
    }
}
