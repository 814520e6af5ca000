//! What we believe about every pole: the estimated condition (model sections 2 to 4).

pub mod calibrate;

pub use calibrate::{Calibration, CellLearning};

use crate::inventory::Inventory;
use crate::models::{CellIndex, Models};
use crate::pole::{NameIndex, PoleIndex};
use crate::programme::Programme;

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

/// One state that a pole may be in, and how much is believed of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// Probability; the states of a pole sum to one.
    pub mass: f64,
    /// What decides how the wood decays.
    pub wood: crate::wood::Wood,
    /// Age at the plan date, years.
    pub age: f64,
    /// Progress at which the pole is below the limit, by the rules in force at the plan date.
    pub limit: f64,
}

/// Room to make one pole's grid in; one for each worker.
#[derive(Debug, Clone, Default)]
pub struct Scratch {}

impl Beliefs {
    /// About 200 to 500 states that stand for everything believed of a pole, given all that is recorded: what the
    /// value of a visit is computed on. Made on demand: a stored grid would not fit a national fleet.
    pub fn states(
        &self,
        _inventory: &Inventory,
        _pole: PoleIndex,
        _scratch: &mut Scratch,
    ) -> Vec<State> {
        unimplemented!()
    }

    /// Probability that a pole in this state, standing at the plan date, still stands `years` after it when nothing
    /// is done.
    pub fn standing(&self, _state: &State, _years: f64) -> f64 {
        unimplemented!()
    }
}

/// The beliefs about every pole of an inventory.
pub fn believe(_inventory: &Inventory, _models: &Models, _programme: &Programme) -> Beliefs {
    unimplemented!()
}
