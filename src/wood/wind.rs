//! Failure in wind: a pole fails in the year whose strongest wind exceeds what its wood still bears (model section 5).

use crate::pole::Mode;

/// Yearly failure hazards and their integrals over decay progress, tabulated.
#[derive(Debug, Clone, PartialEq)]
pub struct FailureHazard {
    /// Design wind moment over the mean capacity of a new pole.
    pub use_of_capacity: f64,
    /// Coefficient of variation of strength between poles.
    pub strength_cov: f64,
}

impl FailureHazard {
    /// The tables for a design use of capacity and a strength scatter.
    pub fn new(_use_of_capacity: f64, _strength_cov: f64) -> Self {
        unimplemented!()
    }

    /// Yearly hazard of a pole whose strength is `ratio` times the mean and whose remaining strength is `remaining`.
    pub fn yearly(&self, _ratio: f64, _remaining: f64) -> f64 {
        unimplemented!()
    }

    /// Cumulative hazard to an age for a pole of strength ratio `ratio`: `onset` years sound, then decay to `progress`
    /// at `years_to_reference` years a unit of progress.
    pub fn cumulative(
        &self,
        _mode: Mode,
        _ratio: f64,
        _age: f64,
        _onset: f64,
        _years_to_reference: f64,
    ) -> f64 {
        unimplemented!()
    }

    /// Probability that a pole of unknown strength ratio stands to an age.
    pub fn standing(&self, _mode: Mode, _age: f64, _onset: f64, _years_to_reference: f64) -> f64 {
        unimplemented!()
    }

    /// Strongest wind pressure of a year (1: the 50-year value) from a uniform draw.
    pub fn strongest_wind(&self, _uniform: f64) -> f64 {
        unimplemented!()
    }

    /// Whether a pole fails in a year of this wind pressure.
    pub fn fails(&self, _wind: f64, _ratio: f64, _remaining: f64) -> bool {
        unimplemented!()
    }

    /// The strength ratio of a pole from a uniform draw.
    pub fn strength_ratio(&self, _uniform: f64) -> f64 {
        unimplemented!()
    }
}
