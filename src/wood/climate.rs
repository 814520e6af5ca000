//! Scheffer's climate index: how well a climate suits the decay of wood ABOVE ground.
//!
//! Source: T. C. Scheffer, "A climate index for estimating potential for decay in wood structures above ground", Forest
//! Products Journal 21(10), 1971; the formula is from memory, the borders of the classes are those in use with it. At
//! the groundline soil keeps wood wet, so the index is only a weak stand-in there: nothing of the model reads it, and a
//! decay zone is entered by the owner, never derived from it.

/// Temperature in degrees Fahrenheit at and below which nothing decays.
const COLDEST_F: f64 = 35.0;

/// Days with rain in a month up to which wood above ground stays too dry.
const DRIEST_DAYS: f64 = 3.0;

/// Brings the sum into the range of about 0 to 100 that the index was made for.
const SCALE: f64 = 30.0;

/// The least index that is moderate and the greatest.
const MODERATE: [f64; 2] = [35.0, 65.0];

/// An average calendar month at a weather station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Month {
    /// Mean temperature, degrees Celsius.
    pub mean_temperature_c: f64,
    /// Days with at least 0.25 mm (0.01 in) of rain.
    pub wet_days: f64,
}

/// Scheffer's index of a year, in its Fahrenheit form.
///
/// Each factor counts as nothing below its threshold, so that a cold dry month is not taken for a warm wet one.
pub fn scheffer_index(year: &[Month; 12]) -> f64 {
    let of_month = |month: &Month| {
        let warmth = (fahrenheit(month.mean_temperature_c) - COLDEST_F).max(0.0);
        let wetness = (month.wet_days - DRIEST_DAYS).max(0.0);
        warmth * wetness / SCALE
    };
    year.iter().map(of_month).sum()
}

fn fahrenheit(celsius: f64) -> f64 {
    celsius * 1.8 + 32.0
}

/// How fast wood above ground may decay.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ClimateClass {
    /// An index below 35.
    Low,
    /// From 35 to 65, both included.
    Moderate,
    /// Above 65.
    High,
}

impl ClimateClass {
    /// The class of an index.
    pub fn of(index: f64) -> Self {
        let [least, greatest] = MODERATE;
        if index < least {
            Self::Low
        } else if index <= greatest {
            Self::Moderate
        } else {
            Self::High
        }
    }

    /// The word for the class.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Low => "low",
            Self::Moderate => "moderate",
            Self::High => "high",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn index(mean_temperature_c: f64, wet_days: f64) -> f64 {
        let month = Month {
            mean_temperature_c,
            wet_days,
        };
        scheffer_index(&[month; 12])
    }

    #[test]
    fn the_index_is_reckoned_in_fahrenheit() {
        // 10 C is 50 F: 12 x (50 - 35) x (13 - 3) / 30 = 60.
        assert!((index(10.0, 13.0) - 60.0).abs() < 1e-9);
    }

    #[test]
    fn frost_and_drought_count_as_nothing() {
        // Without the clamps 12 x (14 - 35) x (0 - 3) / 30 would be 25.2.
        for (temperature, days) in [(-10.0, 0.0), (-10.0, 20.0), (30.0, 0.0), (30.0, 3.0)] {
            assert!(index(temperature, days).abs() < f64::EPSILON);
        }
    }
}
