//! What late inspections found on the poles of a line: why an estimate lies above or below that of like poles elsewhere.
//!
//! Counts only; what the counts do to the estimate is the calibration's, which learns a shift for every line.

use super::{Area, Beliefs};
use crate::inventory::Inventory;
use crate::pole::{NameIndex, PoleIndex, Status, Verdict};
use crate::units::{Date, anniversary};

/// Years over which inspections of the neighbours are counted.
pub const NEIGHBOUR_YEARS: i32 = 5;

/// What was found on poles of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LineFindings {
    /// Standing poles.
    pub poles: usize,
    /// Of these inspected in the last [`NEIGHBOUR_YEARS`] by a method that looks into the wood.
    pub inspected: usize,
    /// Of these the ones whose last such inspection judged them below the limit.
    pub below_limit: usize,
}

/// What was found on the other poles of a pole's line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Neighbours {
    /// The line.
    pub line: NameIndex,
    /// Inspections from this day on are counted.
    pub since: Date,
    /// What they found.
    pub found: LineFindings,
}

/// What one standing pole adds to its line's counts; nothing where it does not stand.
fn own(inventory: &Inventory, pole: PoleIndex, day: Date) -> LineFindings {
    if inventory.pole(pole).status == Status::Removed {
        return LineFindings::default();
    }
    let since = anniversary(day, -NEIGHBOUR_YEARS);
    let seen = inventory.inspections_of(pole).iter();
    let last = seen
        .filter(|seen| seen.date >= since && seen.date <= day)
        .rfind(|seen| seen.method.is_intrusive() && seen.verdict != Verdict::NotInspected);
    LineFindings {
        poles: 1,
        inspected: usize::from(last.is_some()),
        below_limit: usize::from(last.is_some_and(|last| last.verdict.is_reject())),
    }
}

/// Counts what was found on every line.
pub(super) fn count(areas: &mut [Area], area_of: &[u32], inventory: &Inventory, day: Date) {
    for pole in inventory.indices() {
        let own = own(inventory, pole, day);
        let sum = &mut areas[area_of[pole.get()] as usize].findings;
        sum.poles += own.poles;
        sum.inspected += own.inspected;
        sum.below_limit += own.below_limit;
    }
}

impl Beliefs {
    /// What was found on the other poles of a pole's line; `None` without a line.
    pub fn neighbours(&self, inventory: &Inventory, pole: PoleIndex) -> Option<Neighbours> {
        let area = &self.areas[self.area(pole)];
        let own = own(inventory, pole, self.known_until);
        Some(Neighbours {
            line: area.line?,
            since: anniversary(self.known_until, -NEIGHBOUR_YEARS),
            found: LineFindings {
                poles: area.findings.poles - own.poles,
                inspected: area.findings.inspected - own.inspected,
                below_limit: area.findings.below_limit - own.below_limit,
            },
        })
    }
}
