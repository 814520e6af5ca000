//! The chance of being below the limit from part of the records: how record after record moved it.
//!
//! For whoever asks why; no plan uses it.

use super::{Beliefs, Scratch};
use crate::belief::grid::{SHIFT_REACH, node_at};
use crate::inventory::Inventory;
use crate::pole::PoleIndex;
use crate::units::Date;

impl Beliefs {
    /// Probability that a pole is below the limit at the plan date, as if of its own inspections only those up to
    /// `known_until` were known; of later ones only that they took place and that the pole is still listed.
    ///
    /// `fleet`: whether what all inspections together say of the curves is known, or only what is published of them.
    pub fn below_limit_knowing(
        &self,
        inventory: &Inventory,
        pole: PoleIndex,
        known_until: Date,
        fleet: bool,
        scratch: &mut Scratch,
    ) -> f64 {
        let nodes = self.figures.len();
        let mut no_shift = vec![0.0; self.nodes()];
        for node in 0..nodes {
            no_shift[node_at(node, SHIFT_REACH)] = 1.0 / nodes as f64;
        }
        self.fill_grid_until(known_until, inventory, pole, scratch);
        let factors = self.factors(pole, &scratch.grid, |slot| {
            if fleet {
                self.shift_of(pole, slot)
            } else {
                &no_shift
            }
        });
        let required = self.missing.required(inventory.pole(pole));
        let rows = self.rows(&scratch.grid, &factors, required);
        self.below_limit(&rows, &scratch.grid.upkeep, required, 0.0)
    }
}
