//! What we believe about every pole: the estimated condition (model sections 2 to 4).

pub mod calibrate;

pub use calibrate::{Calibration, CellLearning};

use crate::models::CellIndex;
use crate::pole::{NameIndex, PoleIndex};

/// The estimated condition of one pole, given everything that is recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Summary {
    /// The curve cell.
    pub cell: CellIndex,
    /// The area whose shift the pole shares.
    pub area: usize,
    /// Probability of being below the limit at the plan date and at the end of each year after it, supposing that the
    /// pole stands and nothing is done: entry `y` is `y` years after the plan date, up to the horizon.
    pub below_limit: Vec<f32>,
    /// Probability of failing in service within year `y` after the plan date (from `y` to `y + 1`), standing at its
    /// start and nothing done.
    pub failure: Vec<f32>,
    /// Years from the plan date until the pole is below the limit: 10, 50 and 90 % quantiles (0 when below now;
    /// infinite when beyond the grid).
    pub years_to_limit: [f32; 3],
    /// Age at the plan date, years: median and whether it was recorded.
    pub age: f32,
    /// Whether the set date is recorded; otherwise it is a distribution over the line's and the inventory's years.
    pub age_is_recorded: bool,
}

/// The beliefs about a fleet.
#[derive(Debug, Clone)]
pub struct Beliefs {
    /// One entry a pole.
    pub summaries: Vec<Summary>,
    /// What was learned.
    pub calibration: Calibration,
}

impl Beliefs {
    /// The estimated condition of one pole.
    pub fn summary(&self, pole: PoleIndex) -> &Summary {
        &self.summaries[pole.get()]
    }
}

/// Areas: the lines, and one for the poles of no line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Area {
    /// The line; `None` for poles without one.
    pub line: Option<NameIndex>,
}
