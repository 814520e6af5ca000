//! Reject rules and readings, turned into decay progress.

use crate::pole::{Inspection, Mode};
use crate::programme::RejectRule;
use crate::units::{Date, Mm};

/// Progress at which a pole of this diameter and mode falls below the strictest of the rules in force on `date`.
/// Infinite when no rule is in force.
pub fn limit_progress(_rules: &[RejectRule], _date: Date, _mode: Mode, _diameter: Mm) -> f64 {
    unimplemented!()
}

/// The share of the original strength that an inspection's readings leave, all put on one section of this original
/// diameter; `None` when nothing was measured that says so.
pub fn measured_strength(_inspection: &Inspection, _diameter: Mm) -> Option<f64> {
    unimplemented!()
}
