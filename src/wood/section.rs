//! The groundline section: outside decay, a hollow, or both, put on ONE section (model section 1).
//!
//! Owns the geometry and its inverses, and knows nothing of rules or inspections. The section modulus of a round
//! section of outer diameter `d_o` with a centred hollow of diameter `d_h` is `pi (d_o^4 - d_h^4) / (32 d_o)`, so that
//! outside decay and a hollow on one section leave `(d_o^4 - d_h^4) / (d_o D^3)` of the new pole's modulus. They are
//! never multiplied as if each stood on a section of its own.

use crate::maths::{cbrt, pow};
use crate::pole::Mode;
use crate::units::Mm;

/// Remaining strength at the reference limit, on which service lives are stated.
pub const REFERENCE_STRENGTH: f64 = 2.0 / 3.0;

/// Outside depth at the reference limit over the radius when new: `1 - (2/3)^(1/3)`.
const EXTERNAL_LOSS: f64 = 0.126_419_535_263_701_14;

/// Hollow radius at the reference limit over the radius when new: `(1/3)^(1/4)`.
const INTERNAL_LOSS: f64 = 0.759_835_685_651_592_5;

/// A round groundline section with decay from the outside and a centred hollow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Diameter when new.
    pub diameter: Mm,
    /// Depth of outside decay, all round.
    pub outside_depth: Mm,
    /// Radius of the centred hollow.
    pub hollow_radius: Mm,
}

impl Section {
    /// The section of a pole decayed in one mode to a progress (negative: sound).
    pub fn at_progress(diameter: Mm, mode: Mode, progress: f64) -> Self {
        let lost = Mm(progress.max(0.0) * reference_loss(mode, diameter).0);
        let none = Mm(0.0);
        let (outside_depth, hollow_radius) = match mode {
            Mode::External => (lost, none),
            Mode::Internal => (none, lost),
        };
        Self {
            diameter,
            outside_depth,
            hollow_radius,
        }
    }

    /// The section that readings describe: a depth of outside decay and the sound shell around a hollow, measured on
    /// what the outside decay left (`None`: no hollow). A shell of at least the radius left means that there is none.
    pub fn measured(diameter: Mm, outside_depth: Mm, sound_shell: Option<Mm>) -> Self {
        let outside_depth = Mm(outside_depth.0.max(0.0));
        let left = diameter.0 / 2.0 - outside_depth.0;
        Self {
            diameter,
            outside_depth,
            hollow_radius: Mm(sound_shell.map_or(0.0, |shell| (left - shell.0.max(0.0)).max(0.0))),
        }
    }

    /// Outer diameter of what the outside decay left; 0 when it left nothing.
    pub fn outer_diameter(&self) -> Mm {
        Mm((self.diameter.0 - 2.0 * self.outside_depth.0).max(0.0))
    }

    /// Thickness of the sound wood between the outside decay and the hollow; 0 when there is none.
    pub fn sound_shell(&self) -> Mm {
        Mm((self.outer_diameter().0 / 2.0 - self.hollow_radius.0).max(0.0))
    }

    /// Remaining section modulus as a share of the original, 0 to 1.
    pub fn remaining_strength(&self) -> f64 {
        let outer = self.outer_diameter().0 / self.diameter.0;
        let hollow = 2.0 * self.hollow_radius.0 / self.diameter.0;
        if outer.is_nan() || outer <= hollow {
            return 0.0;
        }
        let inside = hollow / outer;
        (cube(outer) * (1.0 - square(square(inside)))).clamp(0.0, 1.0)
    }

    /// Circumference of the solid round section with the same section modulus.
    pub fn equivalent_circumference(&self) -> Mm {
        reduced_circumference(
            self.diameter.circumference_of_diameter(),
            self.remaining_strength(),
        )
    }
}

/// Circumference of the solid section that has `share` of the modulus of a solid section of circumference `original`:
/// the cube law.
pub fn reduced_circumference(original: Mm, share: f64) -> Mm {
    Mm(original.0 * cbrt(share.clamp(0.0, 1.0)))
}

/// Share of the section modulus left in a mode at a progress, whatever the diameter: 1 before onset, 0 from
/// [`progress_of_nothing_left`] on.
#[inline]
pub fn remaining_strength_at(mode: Mode, progress: f64) -> f64 {
    let progress = progress.max(0.0);
    match mode {
        Mode::External => cube((1.0 - EXTERNAL_LOSS * progress).max(0.0)),
        Mode::Internal => (1.0 - square(square(INTERNAL_LOSS * progress))).max(0.0),
    }
}

/// Progress in `mode` at which the remaining strength is `share`.
pub fn progress_of_strength(mode: Mode, share: f64) -> f64 {
    let share = share.clamp(0.0, 1.0);
    match mode {
        Mode::External => (1.0 - cbrt(share)) / EXTERNAL_LOSS,
        Mode::Internal => pow(1.0 - share, 0.25) / INTERNAL_LOSS,
    }
}

/// Progress in `mode` at which nothing is left: 7.91 from the outside, but 1.32 inside.
#[inline]
pub const fn progress_of_nothing_left(mode: Mode) -> f64 {
    match mode {
        Mode::External => 1.0 / EXTERNAL_LOSS,
        Mode::Internal => 1.0 / INTERNAL_LOSS,
    }
}

/// Progress at which a hollow leaves a sound shell of `shell`. Outside decay leaves no shell: infinite. A shell that
/// the sound pole itself does not have is lost with the first decay: 0.
pub fn progress_of_shell(mode: Mode, diameter: Mm, shell: Mm) -> f64 {
    match mode {
        Mode::External => f64::INFINITY,
        Mode::Internal => (diameter.0 / 2.0 - shell.0).max(0.0) / reference_loss(mode, diameter).0,
    }
}

/// Progress at which the circumference is `share` of the original. A hollow does not change it: infinite.
pub fn progress_of_circumference(mode: Mode, share: f64) -> f64 {
    match mode {
        Mode::External => (1.0 - share.clamp(0.0, 1.0)) / EXTERNAL_LOSS,
        Mode::Internal => f64::INFINITY,
    }
}

/// Wood lost in `mode` at the reference limit: outside depth `x_ref` or hollow radius `h_ref`.
pub fn reference_loss(mode: Mode, diameter: Mm) -> Mm {
    let share = match mode {
        Mode::External => EXTERNAL_LOSS,
        Mode::Internal => INTERNAL_LOSS,
    };
    Mm(diameter.0 / 2.0 * share)
}

/// Change of progress for one millimetre of wood lost in `mode` (outside depth or hollow radius), at this diameter.
pub fn progress_per_mm(mode: Mode, diameter: Mm) -> f64 {
    1.0 / reference_loss(mode, diameter).0
}

#[inline]
fn square(x: f64) -> f64 {
    x * x
}

#[inline]
fn cube(x: f64) -> f64 {
    x * x * x
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Everything here is a few multiplications and a root: only rounding may differ.
    const ROUNDING: f64 = 1e-12;
    const POLE: Mm = Mm(300.0);

    #[test]
    fn the_constants_are_the_formulas_of_the_reference_limit() {
        assert!((EXTERNAL_LOSS - (1.0 - cbrt(REFERENCE_STRENGTH))).abs() < 1e-15);
        assert!((INTERNAL_LOSS - pow(1.0 - REFERENCE_STRENGTH, 0.25)).abs() < 1e-15);
    }

    #[test]
    fn progress_one_leaves_two_thirds_in_either_mode() {
        for mode in Mode::ALL {
            let section = Section::at_progress(POLE, mode, 1.0);
            assert!((section.remaining_strength() - REFERENCE_STRENGTH).abs() < ROUNDING);
        }
        // 150 - 150 (1/3)^(1/4) = 36.02 mm of shell; 150 (1 - (2/3)^(1/3)) = 18.96 mm of depth.
        let hollow = Section::at_progress(POLE, Mode::Internal, 1.0);
        assert!((hollow.sound_shell().0 - 36.02).abs() < 0.01);
        let worn = Section::at_progress(POLE, Mode::External, 1.0);
        assert!((worn.outside_depth.0 - 18.96).abs() < 0.01);
    }

    #[test]
    fn the_short_form_is_the_sections() {
        for mode in Mode::ALL {
            for step in -4..=90 {
                let progress = f64::from(step) / 10.0;
                let long = Section::at_progress(Mm(271.0), mode, progress).remaining_strength();
                let short = remaining_strength_at(mode, progress);
                assert!((long - short).abs() < ROUNDING, "{mode:?} {progress}");
            }
        }
    }

    #[test]
    fn progress_undoes_strength() {
        for mode in Mode::ALL {
            for step in 0..=20 {
                let share = f64::from(step) / 20.0;
                let progress = progress_of_strength(mode, share);
                assert!((remaining_strength_at(mode, progress) - share).abs() < ROUNDING);
            }
        }
        // 3^(1/4) = 1.316 and 1 / (1 - (2/3)^(1/3)) = 7.910.
        assert!((progress_of_nothing_left(Mode::Internal) - 1.316).abs() < 5e-4);
        assert!((progress_of_nothing_left(Mode::External) - 7.910).abs() < 5e-4);
    }

    #[test]
    fn outside_decay_and_a_hollow_stand_on_one_section() {
        // D 300, 20 mm from the outside leave 260; a shell of 50 on that leaves a hollow of 160 across:
        // (260^4 - 160^4) / (260 * 300^3) = 0.55761.
        let section = Section::measured(POLE, Mm(20.0), Some(Mm(50.0)));
        assert!((section.hollow_radius.0 - 80.0).abs() < ROUNDING);
        assert!((section.sound_shell().0 - 50.0).abs() < ROUNDING);
        assert!((section.remaining_strength() - 0.557_607).abs() < 1e-6);
        // Two factors, as if the hollow stood on the new section, would say (260/300)^3 * (1 - (160/300)^4) = 0.598.
        assert!(section.remaining_strength() < 0.598);
    }

    #[test]
    fn nothing_left_is_nothing_left() {
        assert!(Section::measured(POLE, Mm(150.0), None).remaining_strength() < ROUNDING);
        assert!(Section::measured(POLE, Mm(200.0), Some(Mm(10.0))).remaining_strength() < ROUNDING);
        assert!(Section::measured(POLE, Mm(0.0), Some(Mm(0.0))).remaining_strength() < ROUNDING);
        assert!(Section::measured(Mm(0.0), Mm(0.0), None).remaining_strength() < ROUNDING);
    }

    #[test]
    fn a_shell_of_the_whole_radius_is_no_hollow() {
        let section = Section::measured(POLE, Mm(0.0), Some(Mm(170.0)));
        assert!((section.remaining_strength() - 1.0).abs() < ROUNDING);
        let whole = section.equivalent_circumference();
        assert!((whole.0 - POLE.circumference_of_diameter().0).abs() < 1e-9);
    }
}
