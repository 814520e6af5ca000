//! What became of an earlier plan's work: planned against done, poles expected below the limit against those found.
//!
//! Done is only what is on record since that plan. The interval of a share is that of Clopper and Pearson (1934).

use super::exact::share_interval;
use super::metrics::LEVEL;
use super::previous::{Previous, Row};
use crate::inventory::Inventory;
use crate::pole::{Inspection, Pole, Verdict};
use crate::programme::Programme;
use crate::units::Date;
use std::collections::BTreeMap;

/// The work of one year, action and method of the earlier plan.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Progress {
    /// Poles planned.
    pub planned: usize,
    /// Poles of which it is on record that it was done.
    pub done: usize,
    /// Poles that have gone or been replaced since, without a record that it was done before.
    pub gone: usize,
    /// Of the poles inspected: how many should be below the limit, by the chances that the earlier plan stated.
    pub expected: f64,
    /// Of the poles inspected: how many were judged below the limit.
    pub found: usize,
}

impl Progress {
    /// Poles that are still listed and of which nothing is on record.
    pub const fn not_done(&self) -> usize {
        self.planned - self.done - self.gone
    }

    /// How many finds like poles would give: the exact 95 % interval of what was found. Nothing where none was inspected.
    pub fn interval(&self) -> Option<[f64; 2]> {
        let of = self.done as f64;
        (self.done > 0).then(|| {
            let share = share_interval(self.found, self.done, LEVEL);
            [share.low * of, share.high * of]
        })
    }

    /// Both together.
    #[must_use]
    pub fn with(mut self, other: &Self) -> Self {
        self.planned += other.planned;
        self.done += other.done;
        self.gone += other.gone;
        self.expected += other.expected;
        self.found += other.found;
        self
    }
}

/// Year, action and method, as the earlier plan writes them.
pub type Key = (i16, String, String);

/// What became of the years of an earlier plan that are over; of its first year where none is.
pub fn progress(
    inventory: &Inventory,
    programme: &Programme,
    previous: &Previous,
) -> BTreeMap<Key, Progress> {
    let first = previous.plan_from.year();
    let years = first..programme.first_year().max(first.saturating_add(1));
    let mut all: BTreeMap<Key, Progress> = BTreeMap::new();
    for row in previous.rows.values() {
        let Some(year) = row.planned_year().filter(|year| years.contains(year)) else {
            continue;
        };
        let key = (year, row.action.clone(), row.method.clone());
        let own = all.entry(key).or_default();
        own.planned += 1;
        let since = Since {
            inventory,
            from: previous.plan_from,
            until: programme.plan_from,
        };
        since.follow(row, own);
    }
    all
}

/// The records from an earlier plan to this one.
struct Since<'a> {
    inventory: &'a Inventory,
    from: Date,
    until: Date,
}

impl Since<'_> {
    fn contains(&self, day: Date) -> bool {
        (self.from..=self.until).contains(&day)
    }

    /// Counts what became of one row.
    fn follow(&self, row: &Row, own: &mut Progress) {
        let done = match row.planned_method().filter(|_| row.action == "inspect") {
            Some(method) => {
                let mut looked = self
                    .inspections(&row.id)
                    .filter(|seen| seen.method.is_at_least(method))
                    .peekable();
                let done = looked.peek().is_some();
                if done {
                    own.expected += row.below_limit.unwrap_or(0.0);
                    own.found += usize::from(looked.any(|seen| seen.verdict.is_reject()));
                }
                done
            }
            None if row.action == "reinforce" => self.was_reinforced(&row.id),
            // What is made safe is not in the records of a pole; that it was replaced is.
            None => self.was_replaced(&row.id),
        };
        if done {
            own.done += 1;
        } else if self.is_gone(&row.id) {
            own.gone += 1;
        }
    }

    /// Inspections since, of the pole that is listed and of those that have stood there.
    fn inspections<'a>(&'a self, id: &'a str) -> impl Iterator<Item = &'a Inspection> {
        let listed = self.inventory.find(id).into_iter();
        let listed = listed.flat_map(|pole| self.inventory.inspections_of(pole));
        let gone = self.removals(id).flat_map(|gone| &gone.inspections);
        listed
            .chain(gone)
            .filter(|seen| seen.verdict != Verdict::NotInspected && self.contains(seen.date))
    }

    fn removals<'a>(&'a self, id: &'a str) -> impl Iterator<Item = &'a crate::inventory::Removal> {
        let removed = &self.inventory.removed;
        let start = removed.partition_point(|gone| gone.id.as_str() < id);
        removed[start..]
            .iter()
            .take_while(move |gone| gone.id == id)
    }

    fn listed(&self, id: &str) -> Option<&Pole> {
        self.inventory
            .find(id)
            .map(|pole| self.inventory.pole(pole))
    }

    fn was_reinforced(&self, id: &str) -> bool {
        let since = self.listed(id).and_then(|pole| pole.reinforced?.since);
        since.is_some_and(|day| self.contains(day))
    }

    /// Whether a new pole stands there, or the old one is on record as gone.
    fn was_replaced(&self, id: &str) -> bool {
        let new = self.listed(id).and_then(|pole| pole.installed);
        new.is_some_and(|day| self.contains(day))
            || self.removals(id).any(|gone| self.contains(gone.ended))
    }

    fn is_gone(&self, id: &str) -> bool {
        self.listed(id).is_none() || self.was_replaced(id)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inspected, inventory_of, pole_set, programme};
    use crate::pole::Method;
    use jiff::civil::date;

    fn row(id: &str, action: &str, method: &str, year: &str) -> (String, Row) {
        let row = Row::of(|name| {
            let cell = match name {
                "pole_id" => id,
                "status" => "planned",
                "action" => action,
                "method" => method,
                "year" => year,
                "p_below_limit_now" => "0.25",
                _ => "",
            };
            cell.to_owned()
        });
        (id.to_owned(), row)
    }

    #[test]
    fn done_is_what_is_on_record_since_by_a_method_as_good() {
        let seen = |on, method, verdict| vec![inspected(on, method, verdict)];
        let reject = Verdict::RejectReplace;
        let inventory = inventory_of(vec![
            (
                "A",
                "",
                pole_set(1980),
                seen(date(2024, 5, 1), Method::FullExcavation, reject),
            ),
            (
                "B",
                "",
                pole_set(1980),
                seen(date(2024, 5, 1), Method::SoundAndBore, Verdict::Sound),
            ),
            // Before the earlier plan; by a weaker method; replaced since.
            (
                "C",
                "",
                pole_set(1980),
                seen(date(2023, 12, 31), Method::SoundAndBore, Verdict::Sound),
            ),
            (
                "D",
                "",
                pole_set(1980),
                seen(date(2024, 5, 1), Method::Sound, Verdict::Sound),
            ),
            ("E", "", pole_set(2024), vec![]),
        ]);
        let bored = |id| row(id, "inspect", "sound_and_bore", "2024");
        let replace = |id| row(id, "replace", "", "2024");
        let previous = Previous {
            version: String::new(),
            plan_from: date(2024, 1, 1),
            rows: ["A", "B", "C", "D", "E", "F"]
                .into_iter()
                .map(bored)
                .chain([row("G", "inspect", "sound_and_bore", "2025")])
                .collect(),
        };
        // plan_from of the programme is 2025-01-01: 2024 alone is over.
        let all = progress(&inventory, &programme(), &previous);
        let key = (2024, "inspect".to_owned(), "sound_and_bore".to_owned());
        let own = all.get(&key).expect("inspections");
        assert_eq!(all.len(), 1);
        assert_eq!(
            (own.planned, own.done, own.gone, own.not_done()),
            (6, 2, 2, 2)
        );
        // A and B at 0.25 each; one of two found: 0.0126 to 0.9874 of two (Clopper and Pearson 1934: the lower limit is
        // 1 - sqrt(0.975)).
        assert!((own.expected - 0.5).abs() < 1e-12 && own.found == 1);
        let [low, high] = own.interval().expect("two inspected");
        let exact = 2.0 * (1.0 - 0.975_f64.sqrt());
        assert!((low - exact).abs() < 1e-6 && (high - (2.0 - exact)).abs() < 1e-6);
        let work = Previous {
            rows: [replace("A"), replace("E")].into_iter().collect(),
            ..previous
        };
        let all = progress(&inventory, &programme(), &work);
        let own = all.values().next().expect("replacements");
        assert_eq!((own.planned, own.done, own.not_done()), (2, 1, 1));
    }
}
