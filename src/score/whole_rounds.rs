//! Whether rounds looked at whole lines (model section 4): the estimate takes it that a visit has nothing to do with the
//! wood it finds. Where few poles of a line were looked at, somebody may have picked them because they looked bad.
//!
//! Counts records and nothing more; whether the few were suspects, no record says.

use crate::inventory::Inventory;
use crate::maths::quantile_of_sorted;
use crate::pole::{NameIndex, PoleIndex, Status, Verdict};
use crate::programme::Programme;
use crate::units::{Date, years_between};
use std::collections::BTreeMap;

/// A round ends where nobody looks at the line for so many years (proposed: half a season and a winter).
const PAUSE_YEARS: f64 = 0.5;
/// A round that looked at less than this share of the poles it could have is no whole one (model section 4).
const WHOLE: f64 = 0.7;
/// Poles of a line below which a share says nothing (proposed).
const LEAST_POLES: usize = 10;
/// Rounds pass young poles by: poles count from the age that all but this share of the visited have (proposed).
const YOUNGEST: f64 = 0.05;
/// Share of inspections in parts of lines from which the estimate may be moved by them (proposed).
const MATTERS: f64 = 0.1;

/// Inspections by how much of their line was looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize)]
pub struct Rounds {
    /// Inspections in rounds of lines with poles enough to tell.
    pub inspections: usize,
    /// Those of them in rounds that looked at less than 70 % of the poles that were there and old enough.
    pub in_parts: usize,
}

impl Rounds {
    /// Whether so many inspections looked at parts of lines that it matters if those were suspects.
    pub fn matter(self) -> bool {
        self.in_parts as f64 > MATTERS * self.inspections as f64
    }
}

/// One visit to a dated pole that stands.
#[derive(Debug, Clone, Copy)]
struct Visit {
    date: Date,
    pole: PoleIndex,
    set: Date,
}

/// Counts the inspections of all lines, of poles that stand and whose set year is on record.
pub fn rounds(inventory: &Inventory, programme: &Programme) -> Rounds {
    let mut lines: BTreeMap<NameIndex, (Vec<PoleIndex>, Vec<Visit>)> = BTreeMap::new();
    for pole in inventory.indices() {
        let facts = inventory.pole(pole);
        let (Some(line), Some(set)) = (facts.line, facts.installed) else {
            continue;
        };
        if facts.status == Status::Removed {
            continue;
        }
        let (poles, visits) = lines.entry(line).or_default();
        poles.push(pole);
        let looks = inventory.inspections_of(pole).iter();
        let looked = looks.filter(|look| look.verdict != Verdict::NotInspected);
        visits.extend(looked.map(|look| Visit {
            date: look.date,
            pole,
            set,
        }));
    }
    let exempt = programme.policy.exempt_inspected_within_years;
    let mut counted = Rounds::default();
    for (poles, mut visits) in lines.into_values() {
        visits.sort_by_key(|visit| (visit.date, visit.pole));
        let same = |one: &Visit, next: &Visit| years_between(one.date, next.date) < PAUSE_YEARS;
        for round in visits.chunk_by(same) {
            if let Some(share) = share_of_line(inventory, &poles, round, exempt) {
                counted.inspections += round.len();
                if share < WHOLE {
                    counted.in_parts += round.len();
                }
            }
        }
    }
    counted
}

/// The share of the poles that a round could have looked at that it did; `None` where they are too few.
fn share_of_line(
    inventory: &Inventory,
    poles: &[PoleIndex],
    round: &[Visit],
    exempt: f64,
) -> Option<f64> {
    let (first, last) = (round.first()?.date, round.last()?.date);
    let mut ages: Vec<f64> = round
        .iter()
        .map(|visit| years_between(visit.set, first))
        .collect();
    ages.sort_by(f64::total_cmp);
    let youngest = quantile_of_sorted(&ages, YOUNGEST)?;
    let mut visited: Vec<PoleIndex> = round.iter().map(|visit| visit.pole).collect();
    visited.sort_unstable();
    visited.dedup();
    let is_spared = |pole: PoleIndex| {
        let set = inventory.pole(pole).installed;
        let is_young = set.is_none_or(|set| years_between(set, first) < youngest);
        let looks = inventory.inspections_of(pole).iter();
        let mut before = looks.filter(|look| look.date < first);
        is_young || before.any(|look| years_between(look.date, last) < exempt)
    };
    let others = poles
        .iter()
        .filter(|pole| visited.binary_search(pole).is_err() && !is_spared(**pole))
        .count();
    let all = visited.len() + others;
    (all >= LEAST_POLES).then(|| visited.len() as f64 / all as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inspected, inventory_of, pole_set, programme};
    use crate::pole::{Inspection, Method};
    use jiff::civil::date;

    /// A line of 20 poles of 1970 and 20 of 2015, of which a round of 2018 looked at those that a rule picks.
    fn line(picked: impl Fn(usize) -> bool) -> Rounds {
        let ids: Vec<String> = (0..40).map(|pole| format!("P-{pole:02}")).collect();
        let look = |pole: usize| -> Vec<Inspection> {
            let day = date(2018, 5, 1 + pole as i8 % 20);
            let seen = inspected(day, Method::SoundAndBore, Verdict::Sound);
            picked(pole).then_some(seen).into_iter().collect()
        };
        let set = |pole: usize| pole_set(if pole < 20 { 1970 } else { 2015 });
        let poles = (0..40).map(|pole| (ids[pole].as_str(), "L", set(pole), look(pole)));
        rounds(&inventory_of(poles.collect()), &programme())
    }

    #[test]
    fn a_round_that_passes_young_poles_by_is_whole_and_one_of_a_few_old_ones_is_not() {
        let of_old = line(|pole| pole < 19);
        assert_eq!((of_old.inspections, of_old.in_parts), (19, 0));
        assert!(!of_old.matter());
        let of_few = line(|pole| pole < 20 && pole % 3 == 0);
        assert_eq!((of_few.inspections, of_few.in_parts), (7, 7));
        assert!(of_few.matter());
    }
}
