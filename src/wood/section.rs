//! The groundline section: outside decay, a hollow, or both, put on ONE section (model section 1).

use crate::pole::Mode;
use crate::units::Mm;

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
    pub fn at_progress(_diameter: Mm, _mode: Mode, _progress: f64) -> Self {
        unimplemented!()
    }

    /// Remaining section modulus as a share of the original, 0 to 1.
    pub fn remaining_strength(&self) -> f64 {
        unimplemented!()
    }
}

/// Progress in `mode` at which the remaining strength is `share`.
pub fn progress_of_strength(_mode: Mode, _share: f64) -> f64 {
    unimplemented!()
}

/// Change of progress for one millimetre of wood lost in `mode` (outside depth or hollow radius), at this diameter.
pub fn progress_per_mm(_mode: Mode, _diameter: Mm) -> f64 {
    unimplemented!()
}
