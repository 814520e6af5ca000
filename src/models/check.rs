//! What a model must give back: the numbers that its sources print, or that its derivation promises.
//!
//! Every file of `models/` carries at least one. Tests run them on the files that are compiled in; a run does not.

use super::{CellIndex, Models};
use crate::maths::ln;
use crate::pole::{Method, PoleClass, Species};
use crate::units::{Mm, Zone};
use crate::wood::{FailureHazard, LifeCurve};

/// One number that a model must give back, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// What is expected.
    pub expect: Expect,
    /// Where the number comes from and what its tolerance means.
    pub why: String,
}

/// What is expected of a model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Expect {
    /// About one cell of the kind that the check stands with.
    OfZone(Zone, ExpectOfLife),
    /// About one method.
    OfMethod(Method, ExpectOfMethod),
    /// Mean yearly hazard of failure in wind, over strengths.
    Hazard {
        /// Remaining strength.
        remaining_strength: f64,
        /// Hazard a year.
        yearly: f64,
        /// Tolerance.
        tolerance: f64,
    },
    /// Least circumference of a class 6 ft from the butt.
    Size {
        /// Species group.
        species: Species,
        /// Class.
        class: PoleClass,
        /// Length of the pole.
        length: Mm,
        /// Circumference.
        circumference: Mm,
        /// Tolerance.
        tolerance: Mm,
    },
    /// The usual clock factor of remedial agents lies between these.
    ClockFactorBetween([f64; 2]),
}

/// What is expected of a service life.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ExpectOfLife {
    /// Share of poles not yet at the reference limit at an age.
    Survival {
        /// Age.
        at_years: f64,
        /// Share.
        share: f64,
        /// Tolerance.
        tolerance: f64,
    },
    /// At most this share of poles not yet at the reference limit at an age.
    SurvivalAtMost {
        /// Age.
        at_years: f64,
        /// Share.
        share: f64,
    },
    /// The main curve's median lies between these ages.
    MedianBetweenYears([f64; 2]),
    /// The share of early failures.
    EarlyShare {
        /// Share.
        share: f64,
        /// Tolerance.
        tolerance: f64,
    },
    /// The 90 % interval of the median between fleets is as wide as this range, and the median lies inside.
    FleetRangeYears {
        /// Low end.
        low: f64,
        /// High end.
        high: f64,
    },
}

/// What is expected of a method.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ExpectOfMethod {
    /// The sensitivity lies between these.
    SensitivityBetween([f64; 2]),
    /// Chance that a pole that is not below the limit is condemned.
    WronglyCondemned {
        /// Chance.
        chance: f64,
        /// Tolerance.
        tolerance: f64,
    },
}

/// Standard deviations from the 5 % to the 95 % point of a normal: 2 x 1.6449.
const NINETY_PERCENT: f64 = 3.289_707_253_902_945;

/// Standard deviations between fleets are written with two decimals.
const HALF_A_HUNDREDTH: f64 = 0.005;

/// Bounds are printed numbers that a model may reach exactly.
const ROUNDING: f64 = 1e-9;

impl Check {
    /// What fails, in one sentence; `None` when the models give the number back. `kind` is the place in
    /// [`Models::kinds`] of the kind that the check stands with.
    pub fn failure(&self, models: &Models, kind: usize) -> Option<String> {
        let (found, low, high) = match self.expect {
            Expect::OfZone(zone, expect) => {
                let cell = models.cell(CellIndex((kind * Zone::COUNT + zone.index()) as u16));
                let median = median(cell.life.main);
                match expect {
                    ExpectOfLife::Survival {
                        at_years,
                        share,
                        tolerance,
                    } => around(1.0 - cell.life.cdf(at_years, 0.0), share, tolerance),
                    ExpectOfLife::SurvivalAtMost { at_years, share } => {
                        (1.0 - cell.life.cdf(at_years, 0.0), 0.0, share)
                    }
                    ExpectOfLife::MedianBetweenYears([low, high]) => (median, low, high),
                    ExpectOfLife::EarlyShare { share, tolerance } => {
                        around(cell.life.early_share, share, tolerance)
                    }
                    ExpectOfLife::FleetRangeYears { low, high }
                        if median < low || median > high =>
                    {
                        (median, low, high)
                    }
                    ExpectOfLife::FleetRangeYears { low, high } => around(
                        cell.between_fleets_ln_sd,
                        ln(high / low) / NINETY_PERCENT,
                        HALF_A_HUNDREDTH,
                    ),
                }
            }
            Expect::OfMethod(method, expect) => {
                let detection = models.detection.of(method);
                match expect {
                    ExpectOfMethod::SensitivityBetween([low, high]) => {
                        (detection.sensitivity, low, high)
                    }
                    ExpectOfMethod::WronglyCondemned { chance, tolerance } => {
                        around(detection.rejected(-1.0, 1.0), chance, tolerance)
                    }
                }
            }
            Expect::Hazard {
                remaining_strength,
                yearly,
                tolerance,
            } => {
                let figures = &models.hazard;
                let hazard = FailureHazard::new(figures.use_of_capacity, figures.strength_cov);
                around(hazard.mean_yearly(remaining_strength), yearly, tolerance)
            }
            Expect::Size {
                species,
                class,
                length,
                circumference,
                tolerance,
            } => {
                let least = models.sizes.least_circumference(species, class, length);
                around(
                    least.map_or(f64::NAN, |least| least.0),
                    circumference.0,
                    tolerance.0,
                )
            }
            Expect::ClockFactorBetween([low, high]) => {
                (models.remedies.agents.factor.usual, low, high)
            }
        };
        let inside = found >= low - ROUNDING && found <= high + ROUNDING;
        (!inside).then(|| format!("{found} is not within {low} to {high}: {}", self.why))
    }
}

fn around(found: f64, expected: f64, tolerance: f64) -> (f64, f64, f64) {
    (found, expected - tolerance, expected + tolerance)
}

/// Median of a curve.
pub(super) fn median(curve: LifeCurve) -> f64 {
    curve.quantile(0.5)
}
