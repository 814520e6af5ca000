//! Two decay models from memory, unverified: what others have published of decay in the ground and of fleets that age.
//!
//! Their formulas and figures were not read in their sources, so nothing that plans may use them; they serve to hold the
//! service-life curves against. Decay depth in the ground: Wang, Leicester and Nguyen, Manual No. 3: decay in ground
//! contact, 2008. Fleet: Shafieezadeh et al., age-dependent fragility models of utility wood poles, 2014, after Li et al.,
//! 2005. Knows round sections and nothing of poles, programmes or the models of `models/`.

use super::progress::REFERENCE_DIAMETER;
use super::section::{Section, progress_of_strength, reference_loss};
use crate::maths::{exp, pow};
use crate::pole::Mode;
use crate::units::Mm;

/// What must be printed beside every figure of this file.
pub const MARK: &str = "from memory, unverified";

/// In-ground decay parameter of outer heartwood by durability class, and of the sapwood of softwoods (memory).
pub const WOOD: [(&str, f64); 5] = [
    ("heartwood of durability class 1", 0.23),
    ("heartwood of durability class 2", 0.48),
    ("heartwood of durability class 3", 0.76),
    ("heartwood of durability class 4", 1.36),
    ("untreated sapwood of softwoods", 5.44),
];

/// Climate indices for which lives are printed: a dry or cold place, a temperate one, a warm and wet one (proposed;
/// [`ground_climate`] computes the index of any place).
pub const CLIMATES: [f64; 3] = [0.5, 1.5, 2.5];

/// Depth up to which decay starts slowly, mm (memory).
const SLOW_DEPTH: f64 = 5.0;

/// Terms of the ground climate index.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroundClimate {
    /// Term of the rain.
    pub rain: f64,
    /// Term of the temperature.
    pub warmth: f64,
    /// The index.
    pub index: f64,
}

/// The ground climate index of a place without dry months, from a year's rain in millimetres and its mean temperature in
/// degrees Celsius: `f = 10 (1 - exp(-0.001 (R - 250)))` above 250 mm, `g = 0.2 T - 1` from 5 to 20 degrees and
/// `1.4 T - 25` above, `index = f^0.3 g^0.2`.
pub fn ground_climate(rain_mm: f64, mean_temperature_c: f64) -> GroundClimate {
    let rain = 10.0 * (1.0 - exp(-0.001 * (rain_mm - 250.0).max(0.0)));
    let warmth = if mean_temperature_c > 20.0 {
        1.4 * mean_temperature_c - 25.0
    } else {
        (0.2 * mean_temperature_c - 1.0).max(0.0)
    };
    let index = if rain > 0.0 && warmth > 0.0 {
        pow(rain, 0.3) * pow(warmth, 0.2)
    } else {
        0.0
    };
    GroundClimate {
        rain,
        warmth,
        index,
    }
}

/// Decay from the outside in the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroundDecay {
    /// Rate after the slow start, mm a year.
    pub rate: f64,
    /// Years before which the straight part of the depth would start.
    pub lag: f64,
}

impl GroundDecay {
    /// The decay of a wood in a climate: `rate = k_wood k_climate`, `lag = 5.5 rate^-0.95`.
    pub fn new(wood: f64, climate: f64) -> Self {
        let rate = wood * climate;
        Self {
            rate,
            lag: 5.5 * pow(rate, -0.95),
        }
    }

    /// Years until the slow start is over.
    pub fn slow_years(&self) -> f64 {
        self.lag + SLOW_DEPTH / self.rate
    }

    /// Depth at an age: a parabola through the slow start, then straight.
    pub fn depth(&self, years: f64) -> Mm {
        let start = self.slow_years();
        Mm(if years <= start {
            let part = years.max(0.0) / start;
            SLOW_DEPTH * part * part
        } else {
            (years - self.lag) * self.rate
        })
    }

    /// Remaining strength at an age: `(1 - 2 depth / diameter)^3`.
    pub fn remaining_strength(&self, diameter: Mm, years: f64) -> f64 {
        Section::measured(diameter, self.depth(years), None).remaining_strength()
    }

    /// Years until two thirds of the strength are left of a pole of the reference diameter.
    pub fn median_life(&self) -> f64 {
        let depth = progress_of_strength(Mode::External, 2.0 / 3.0)
            * reference_loss(Mode::External, REFERENCE_DIAMETER).0;
        self.lag + depth / self.rate
    }
}

/// A fleet at an age: the share of its poles that is decayed, what those have lost, and what the fleet has left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AgedFleet {
    /// Share of decayed poles: `0.00013 t^1.846`.
    pub decayed: f64,
    /// Share of strength that these have lost: `0.014418 t - 0.10683`.
    pub lost: f64,
    /// Mean share of strength left.
    pub left: f64,
}

impl AgedFleet {
    /// The fleet at an age of so many years.
    pub fn at(years: f64) -> Self {
        let decayed = (0.000_13 * pow(years.max(0.0), 1.846)).min(1.0);
        let lost = (0.014_418 * years - 0.106_83).clamp(0.0, 1.0);
        Self {
            decayed,
            lost,
            left: 1.0 - decayed * lost,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn depth_and_life_fit_together() {
        for (_, wood) in WOOD {
            for climate in CLIMATES {
                let decay = GroundDecay::new(wood, climate);
                let left = decay.remaining_strength(REFERENCE_DIAMETER, decay.median_life());
                assert!((left - 2.0 / 3.0).abs() < 1e-9, "{wood} {climate}");
                let start = decay.slow_years();
                assert!((decay.depth(start).0 - SLOW_DEPTH).abs() < 1e-9);
                assert!((decay.depth(start + 1e-9).0 - SLOW_DEPTH).abs() < 1e-6);
            }
        }
        assert!(GroundDecay::new(0.48, 1.5).depth(-1.0).0.abs() < 1e-12);
    }

    #[test]
    fn nothing_rots_where_it_is_dry_or_cold() {
        assert!(ground_climate(250.0, 15.0).index.abs() < 1e-12);
        assert!(ground_climate(800.0, 5.0).index.abs() < 1e-12);
    }
}
