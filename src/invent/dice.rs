//! Draws for invented networks: a stream of the one generator behind the few verbs that inventing needs.
//!
//! The only file that names `rand_distr`. Knows nothing of poles.

use crate::chance::{Key, Purpose, Slot, Stream};
use rand::RngExt;
use rand_distr::{Distribution, Exp1, StandardNormal};

/// A stream of draws for one named thing.
pub(super) struct Dice(Stream);

impl Dice {
    /// The draws of whatever is named `what` under `seed`.
    pub(super) fn of(seed: u64, what: &str) -> Self {
        Self(Key::of(seed, what).stream(0, Slot::new(Purpose::Invent, 0, 0)))
    }

    /// A number in [0, 1).
    pub(super) fn unit(&mut self) -> f64 {
        self.0.random()
    }

    /// A number strictly inside (0, 1), for quantile functions.
    pub(super) fn open_unit(&mut self) -> f64 {
        crate::chance::open_unit(self.0.random())
    }

    /// Whether something of this probability happens.
    pub(super) fn chance(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    /// A number between two others.
    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A whole number from `low` to `high`, both included.
    pub(super) fn whole(&mut self, low: i32, high: i32) -> i32 {
        self.0.random_range(low..=high.max(low))
    }

    /// A draw of the normal distribution.
    pub(super) fn normal(&mut self, mean: f64, sd: f64) -> f64 {
        let z: f64 = StandardNormal.sample(&mut self.0);
        mean + sd * z
    }

    /// A draw of the normal distribution cut to `low..=high`, by trying again.
    pub(super) fn normal_within(&mut self, mean: f64, sd: f64, low: f64, high: f64) -> f64 {
        // A mean inside the limits is hit within a few tries; the bound only keeps odd models from a standstill.
        for _ in 0..1000 {
            let draw = self.normal(mean, sd);
            if (low..=high).contains(&draw) {
                return draw;
            }
        }
        mean.clamp(low, high)
    }

    /// A draw of the exponential distribution.
    pub(super) fn exponential(&mut self, mean: f64) -> f64 {
        let draw: f64 = Exp1.sample(&mut self.0);
        mean * draw
    }

    /// One of several things, each with its weight. `choices` is never empty.
    pub(super) fn pick<T: Copy>(&mut self, choices: &[(T, f64)]) -> T {
        let total: f64 = choices.iter().map(|(_, weight)| weight).sum();
        let mut left = self.unit() * total;
        for (choice, weight) in choices {
            left -= weight;
            if left < 0.0 {
                return *choice;
            }
        }
        choices[choices.len() - 1].0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Four standard errors: one chance in 16,000 that a right generator fails at a new seed.
    const STANDARD_ERRORS: f64 = 4.0;

    #[test]
    fn draws_have_the_moments_of_their_distributions() {
        let n = 20_000;
        let mut dice = Dice::of(1, "moments");
        let mean = |draws: Vec<f64>| draws.iter().sum::<f64>() / f64::from(n);
        let root = f64::sqrt(f64::from(n));
        let normal = mean((0..n).map(|_| dice.normal(3.0, 2.0)).collect());
        assert!((normal - 3.0).abs() < STANDARD_ERRORS * 2.0 / root);
        let wait = mean((0..n).map(|_| dice.exponential(5.0)).collect());
        assert!((wait - 5.0).abs() < STANDARD_ERRORS * 5.0 / root);
        let picks = mean(
            (0..n)
                .map(|_| dice.pick(&[(1.0, 3.0), (0.0, 1.0)]))
                .collect(),
        );
        assert!((picks - 0.75).abs() < STANDARD_ERRORS * 0.433 / root);
    }

    #[test]
    fn a_cut_normal_stays_within_its_limits() {
        let mut dice = Dice::of(2, "cut");
        for _ in 0..2000 {
            assert!((0.2..=0.5).contains(&dice.normal_within(0.3, 0.2, 0.2, 0.5)));
        }
        assert!((dice.normal_within(9.0, 1e-9, 0.0, 1.0) - 1.0).abs() < f64::EPSILON);
    }
}
