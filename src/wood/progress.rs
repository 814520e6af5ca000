//! Decay progress: 0 at its onset, 1 at the reference limit (model section 1).

use crate::pole::Mode;
use crate::units::Mm;

/// Diameter for which service lives are stated.
pub const REFERENCE_DIAMETER: Mm = Mm(300.0);

/// Least and greatest protected share: a preservative that never holds or always holds is not in the model.
pub const PROTECTED_RANGE: (f64, f64) = (0.02, 0.95);

/// What decides how one pole's wood decays.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wood {
    /// Service life for the reference diameter, years.
    pub life: f64,
    /// Share of the service life for which the preservative holds.
    pub protected: f64,
    /// Where it decays.
    pub mode: Mode,
    /// Groundline diameter when new.
    pub diameter: Mm,
}

impl Wood {
    /// Age at the onset of decay, years.
    #[inline]
    pub fn onset(&self) -> f64 {
        self.life * self.protected
    }

    /// Years of decay from onset to the reference limit: a thicker pole has more to lose.
    #[inline]
    pub fn years_to_reference(&self) -> f64 {
        self.life * (1.0 - self.protected) * self.diameter.0 / REFERENCE_DIAMETER.0
    }

    /// Progress at an age; negative while the preservative holds.
    #[inline]
    pub fn progress(&self, age: f64) -> f64 {
        (age - self.onset()) / self.years_to_reference()
    }

    /// Age at which the pole reaches a progress.
    #[inline]
    pub fn age_at(&self, progress: f64) -> f64 {
        self.onset() + self.years_to_reference() * progress
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pole_of_the_reference_diameter_reaches_the_limit_at_its_service_life() {
        let mut wood = Wood {
            life: 50.0,
            protected: 0.6,
            mode: Mode::External,
            diameter: REFERENCE_DIAMETER,
        };
        assert!((wood.age_at(1.0) - 50.0).abs() < 1e-12);
        assert!((wood.onset() - 30.0).abs() < 1e-12);
        assert!(wood.progress(29.0) < 0.0);
        // Half as thick: 30 + 20 * 150 / 300 = 40 years.
        wood.diameter = Mm(150.0);
        assert!((wood.age_at(1.0) - 40.0).abs() < 1e-12);
        assert!((wood.progress(wood.age_at(0.37)) - 0.37).abs() < 1e-12);
    }
}
