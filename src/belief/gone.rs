//! Removed poles as evidence (model section 4): whose records teach, and what their being listed changes for all others.
//!
//! An inventory lists what is still there; where the owner also lists the poles that went since a day, a pole is in the
//! data when it stood and was listed on that day, whatever became of it since. Knows which records can be used and how
//! far the lists can be believed to be whole; how a state is weighed is in [`super::evidence`].

use super::kinds::Kinds;
use crate::inventory::{Inventory, Removal};
use crate::models::{CellIndex, Models};
use crate::pole::{Inspection, Pole, RemovalCause, Status, Verdict};
use crate::programme::Programme;
use crate::units::{Date, years_between};

/// One pole with its records, whether it stands or is gone.
#[derive(Debug, Clone, Copy)]
pub struct Subject<'a> {
    /// Its facts.
    pub pole: &'a Pole,
    /// Its inspections, oldest first.
    pub inspections: &'a [Inspection],
    /// Its end, where it is gone.
    pub end: Option<End>,
}

/// The end of a pole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct End {
    /// Years after the plan date: negative.
    pub years: f64,
    /// Why.
    pub cause: RemovalCause,
}

/// How far the lists hold the poles that went.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Listing {
    /// The day since which they hold them, years after the plan date: negative.
    pub since: f64,
    /// Share of the removed poles that can be used, by [`RemovalCause::index`]; 0 for causes that are not listed.
    pub usable: [f64; RemovalCause::ALL.len()],
}

impl Listing {
    /// Chance that a pole is in the data: it is still listed (`now`), or it was `then` and its record can be used.
    ///
    /// Each pair is the chance of standing and of being listed. What was lost between the two days is shared between
    /// failures and removals as competing risks share it: each at the mean of the other's survival.
    pub fn chance(&self, now: (f64, f64), then: (f64, f64)) -> f64 {
        let of = |now: f64, then: f64| if then > 0.0 { now / then } else { 0.0 };
        let (standing, listed) = (of(now.0, then.0).min(1.0), of(now.1, then.1).min(1.0));
        let failed = 0.5 * (1.0 - standing) * (1.0 + listed);
        let condemned = 0.5 * (1.0 - listed) * (1.0 + standing);
        let usable = |cause: RemovalCause| self.usable[cause.index()];
        then.0
            * then.1
            * (standing * listed
                + usable(RemovalCause::Failed) * failed
                + usable(RemovalCause::Condemned) * condemned)
    }
}

/// What was made of the records of removed poles.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct RemovedRecords {
    /// Poles that are gone and have records.
    pub known: usize,
    /// Those that went within the time and for the causes that the programme says are listed.
    pub listed: usize,
    /// Those of them that teach: set year and kind are on record.
    pub used: usize,
    /// The day since which removed poles are listed, where the programme says so and some are.
    pub since: Option<Date>,
    /// The year of the first removal on record.
    pub first_year: Option<i16>,
}

/// The removed poles that teach.
#[derive(Debug, Clone, Default)]
pub(super) struct Gone {
    /// How far the lists hold them; `None` where they teach nothing.
    pub listing: Option<Listing>,
    /// Places in the inventory's list of removed poles, each with its curve.
    pub teach: Vec<(usize, CellIndex)>,
    /// What was made of them.
    pub records: RemovedRecords,
}

impl Gone {
    /// The removed poles of an inventory that teach. Of a day in the past nobody knows which poles went since: then lists
    /// hold survivors, as they do where no removed poles are listed.
    pub fn known_on(
        known_until: Date,
        inventory: &Inventory,
        models: &Models,
        programme: &Programme,
        kinds: &Kinds,
    ) -> Self {
        if known_until >= programme.plan_from {
            Self::new(inventory, models, programme, kinds)
        } else {
            Self::default()
        }
    }

    /// The removed poles of an inventory that teach, as known on the plan date.
    fn new(inventory: &Inventory, models: &Models, programme: &Programme, kinds: &Kinds) -> Self {
        let removed = &inventory.removed;
        let mut gone = Self {
            records: RemovedRecords {
                known: removed.len(),
                first_year: removed.iter().map(|one| one.ended.year()).min(),
                ..RemovedRecords::default()
            },
            ..Self::default()
        };
        let Some(listed) = programme.removals.listed else {
            return gone;
        };
        let curve = |pole: &Pole| {
            let curves = kinds.of(models, pole);
            (curves.len() == 1 && pole.installed.is_some()).then(|| curves[0].0)
        };
        let mut known = [0.0; RemovalCause::ALL.len()];
        let mut used = known;
        for (place, removal) in removed.iter().enumerate() {
            let within = (listed.since..programme.plan_from).contains(&removal.ended);
            if !within || !listed.causes[removal.cause.index()] {
                continue;
            }
            gone.records.listed += 1;
            known[removal.cause.index()] += 1.0;
            let set_before = removal
                .pole
                .installed
                .is_some_and(|set| set < removal.ended);
            if let Some(cell) = curve(&removal.pole).filter(|_| set_before) {
                used[removal.cause.index()] += 1.0;
                gone.teach.push((place, cell));
            }
        }
        gone.records.used = gone.teach.len();
        if gone.teach.is_empty() {
            return gone;
        }
        let standing = inventory
            .poles()
            .iter()
            .filter(|pole| pole.status != Status::Removed);
        let count = standing.clone().count() as f64;
        let told = standing.filter(|pole| curve(pole).is_some()).count() as f64;
        // Of the poles whose set year and kind are on record, those that went can be used as far as their records were
        // kept as well as those of the poles that stand.
        let usable = RemovalCause::ALL.map(|cause| {
            let of = cause.index();
            match (listed.causes[of], known[of] > 0.0) {
                (false, _) => 0.0,
                (true, false) => 1.0,
                (true, true) => (used[of] * count / (known[of] * told.max(1.0))).min(1.0),
            }
        });
        gone.records.since = Some(listed.since);
        gone.listing = Some(Listing {
            since: -years_between(listed.since, programme.plan_from),
            usable,
        });
        gone
    }
}

/// What a removed pole says: its inspections until its end. A pole removed because it was condemned was judged below the
/// limit, whether or not that verdict is among its inspections.
pub(super) fn inspections_to_the_end(removal: &Removal) -> Vec<Inspection> {
    let mut own: Vec<Inspection> = removal
        .inspections
        .iter()
        .filter(|look| look.date <= removal.ended)
        .copied()
        .collect();
    let judged = own.iter().any(|look| look.verdict.is_reject());
    if removal.cause == RemovalCause::Condemned && !judged {
        let method = own
            .last()
            .map_or(crate::pole::Method::SoundAndBore, |look| look.method);
        own.push(Inspection::unmeasured(
            removal.ended,
            method,
            Verdict::RejectReplace,
        ));
    }
    own
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_lists_ask_only_for_the_day_since_which_they_are_kept() {
        let listing = |condemned, failed| Listing {
            since: -10.0,
            usable: [condemned, failed, 1.0],
        };
        let (now, then) = ((0.90, 0.60), (0.96, 0.80));
        // 0.96 x 0.80: whoever stood then is in the data.
        assert!((listing(1.0, 1.0).chance(now, then) - 0.768).abs() < 1e-12);
        // No list of removed poles: 0.90 x 0.60.
        assert!((listing(0.0, 0.0).chance(now, then) - 0.54).abs() < 1e-12);
        // Half of the records kept: half way between the two.
        assert!((listing(0.5, 0.5).chance(now, then) - 0.654).abs() < 1e-12);
        // Failures alone: 0.768 of the poles lose 1/16 to failures, a quarter to verdicts: 0.54 + 0.768 x 0.5 x 0.0625 x
        // 1.75.
        assert!((listing(0.0, 1.0).chance(now, then) - 0.582).abs() < 1e-12);
    }
}
