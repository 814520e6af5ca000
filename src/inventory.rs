//! The sorted inventory: every pole in scope with its inspections, and the counts of what was left out.
//!
//! Poles are sorted by id and inspections by (pole, date, content), never by file row, so that shuffled files give the
//! same inventory. Ids and names live in one store; poles are small and copied.

mod decisions;

pub use decisions::{Decision, Target};

use crate::parallel::change;
use crate::pole::{
    Assistance, DecisionKind, Inspection, NameIndex, Pole, PoleIndex, RemovalCause, Status, Verdict,
};
use crate::units::Date;
use std::collections::BTreeMap;
use std::ops::Range;

/// A store of texts, each kept once.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Names {
    texts: Vec<String>,
    by_text: BTreeMap<String, NameIndex>,
}

impl Names {
    /// The index of `text`, which is stored if it is new.
    pub fn keep(&mut self, text: &str) -> NameIndex {
        if let Some(known) = self.by_text.get(text) {
            return *known;
        }
        let index = NameIndex::new(self.texts.len() as u32);
        self.texts.push(text.to_owned());
        self.by_text.insert(text.to_owned(), index);
        index
    }

    /// Keeps the texts of another store; where each of its indices is here.
    pub fn add(&mut self, other: &Self) -> Vec<NameIndex> {
        other.texts.iter().map(|text| self.keep(text)).collect()
    }

    /// The text at `index`; empty for an index of another store.
    pub fn get(&self, index: NameIndex) -> &str {
        self.texts.get(index.get()).map_or("", String::as_str)
    }

    /// The same texts in alphabetical order, and where each old index went.
    fn sorted(&self) -> (Self, Vec<NameIndex>) {
        let mut sorted = Self::default();
        let mut moved = vec![NameIndex::new(0); self.texts.len()];
        for (text, old) in &self.by_text {
            moved[old.get()] = sorted.keep(text);
        }
        (sorted, moved)
    }
}

/// Rows read, and where each went: rows read = used + out of scope + set aside, for every file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct RowCount {
    /// Data rows in the files.
    pub read: usize,
    /// Rows that became a pole or an inspection here, or changed one; an inspection of a pole that is gone is one.
    pub used: usize,
    /// Rows about poles outside the programme's scope (owner, material, status).
    pub out_of_scope: usize,
    /// Rows that could not be used: no id, unreadable, repeated.
    pub set_aside: usize,
}

impl RowCount {
    /// Adds the counts of other rows.
    pub fn add(&mut self, other: Self) {
        self.read += other.read;
        self.used += other.used;
        self.out_of_scope += other.out_of_scope;
        self.set_aside += other.set_aside;
    }
}

/// Rows of pole lists that give a count, and the poles that were made of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct CountedRows {
    /// Rows, all of them among the used rows of the pole files.
    pub rows: usize,
    /// Poles that they stand for.
    pub poles: usize,
}

/// How a pole's time ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ended {
    /// A new pole took its place.
    Replaced,
    /// It was taken away.
    Removed,
    /// The list gives a set date after its last record; no work done says that a new pole took its place.
    SetSince,
}

/// A pole that is gone, with what was recorded of it. It is not planned for, and what was found in it says nothing of
/// the pole that may stand in its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Removal {
    /// The id it had, which a new pole may have today.
    pub id: String,
    /// Its facts, as far as they are known.
    pub pole: Pole,
    /// When it went.
    pub ended: Date,
    /// How.
    pub because: Ended,
    /// Why: as recorded, else a failure on record, else a reject as the last word of its inspections, else other.
    pub cause: RemovalCause,
    /// Its inspections, oldest first; their own `pole` means nothing.
    pub inspections: Vec<Inspection>,
}

/// A pole that failed, whether or not it is still listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Failure {
    /// When; the middle of the year where only that is known.
    pub date: Date,
    /// Whether something else brought it down, where that is known.
    pub assisted: Option<Assistance>,
    /// District of the pole, where the list or the record of a pole that is gone gives one.
    pub district: Option<NameIndex>,
}

/// Every pole in scope and what is recorded of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Inventory {
    ids: Vec<String>,
    poles: Vec<Pole>,
    inspections: Vec<Inspection>,
    starts: Vec<u32>,
    /// Poles that are gone and have records, in the order of ids and ends.
    pub removed: Vec<Removal>,
    /// Failures, oldest first.
    pub failures: Vec<Failure>,
    /// The owner's decisions, by what they are about and by content.
    pub decisions: Vec<Decision>,
    /// Last day up to which a named engineer cleared what was recorded, by pole.
    cleared: BTreeMap<PoleIndex, Date>,
    /// Poles that only a record of work knows: `pole_rows.used` and these are all poles.
    pub begun_by_work: usize,
    /// Lines, districts, classes and contractors by name.
    pub names: Names,
    /// Rows of the pole files.
    pub pole_rows: RowCount,
    /// Rows of the inspection files.
    pub inspection_rows: RowCount,
    /// Records of last inspections that stand on rows of the pole files: they are not rows of their own.
    pub last_inspections: RowCount,
    /// Rows that give a count, each of which is one row used and several poles.
    pub counted: CountedRows,
    /// Rows of the files of work.
    pub work_rows: RowCount,
    /// Rows of the files of failures.
    pub failure_rows: RowCount,
    /// Rows of the files of decisions.
    pub decision_rows: RowCount,
}

impl Inventory {
    /// An inventory of `poles`, each with its id and its inspections (whose own `pole` is filled in here).
    ///
    /// Poles are put in the order of their ids, inspections in the order of their dates and contents. Ids must be
    /// unique: a later pole of the same id is dropped, so callers report repeats first.
    pub fn new(names: &Names, poles: Vec<(String, Pole, Vec<Inspection>)>) -> Self {
        let mut sorted = poles;
        sorted.sort_by(|a, b| a.0.cmp(&b.0));
        sorted.dedup_by(|later, earlier| later.0 == earlier.0);
        let (names, moved) = names.sorted();
        let new_name = |old: NameIndex| moved[old.get()];
        let mut inventory = Self {
            names,
            starts: vec![0],
            ..Self::default()
        };
        for (id, mut pole, mut own) in sorted {
            let index = PoleIndex(inventory.poles.len() as u32);
            own.sort_by(Self::earlier);
            for inspection in &mut own {
                inspection.pole = index;
                inspection.rename(new_name);
            }
            inventory.inspections.extend(own);
            inventory.starts.push(inventory.inspections.len() as u32);
            inventory.ids.push(id);
            pole.rename(new_name);
            inventory.poles.push(pole);
        }
        inventory
    }

    /// As [`Inventory::new`], of poles in the order of their ids: so many inspections of each stand in `inspections`, one
    /// pole's after the other's, each in the order of [`Inventory::earlier`].
    pub(crate) fn of_sorted(
        names: &Names,
        ids: Vec<String>,
        mut poles: Vec<Pole>,
        counts: &[u32],
        mut inspections: Vec<Inspection>,
    ) -> Self {
        let (names, moved) = names.sorted();
        let new_name = |old: NameIndex| moved[old.get()];
        let mut starts = vec![0];
        starts.extend(counts.iter().scan(0, |end, count| {
            *end += count;
            Some(*end)
        }));
        change(&mut poles, |_, poles| {
            for pole in poles {
                pole.rename(new_name);
            }
        });
        change(&mut inspections, |first, inspections| {
            let mut pole = starts.partition_point(|start| *start <= first as u32) - 1;
            for (place, inspection) in (first as u32..).zip(inspections) {
                while starts[pole + 1] <= place {
                    pole += 1;
                }
                inspection.pole = PoleIndex(pole as u32);
                inspection.rename(new_name);
            }
        });
        Self {
            ids,
            poles,
            inspections,
            starts,
            names,
            ..Self::default()
        }
    }

    /// [`Inventory::inspection_order`] of two inspections; most are told apart by their days.
    pub(crate) fn earlier(one: &Inspection, other: &Inspection) -> std::cmp::Ordering {
        let days = one.date.cmp(&other.date);
        days.then_with(|| Self::inspection_order(one).cmp(&Self::inspection_order(other)))
    }

    /// The same inventory with poles that are gone; `names` are those that [`Inventory::new`] was given.
    pub fn with_removed(self, names: &Names, removed: Vec<Removal>) -> Self {
        let (_, moved) = names.sorted();
        let new_name = |old: NameIndex| moved[old.get()];
        let mut removed: Vec<Removal> = removed
            .into_iter()
            .map(|mut gone| {
                gone.pole.rename(new_name);
                for inspection in &mut gone.inspections {
                    inspection.rename(new_name);
                }
                gone.inspections.sort_by_key(Self::inspection_order);
                gone
            })
            .collect();
        removed.sort_by(|a, b| (&a.id, a.ended, a.because).cmp(&(&b.id, b.ended, b.because)));
        Self { removed, ..self }
    }

    /// The same inventory with the owner's decisions, whose lines are those of `names`, which [`Inventory::new`] was given.
    pub fn with_decisions(self, names: &Names, mut decisions: Vec<Decision>) -> Self {
        let (_, moved) = names.sorted();
        for decision in &mut decisions {
            if let Target::Line(line) = &mut decision.target {
                *line = moved[line.get()];
            }
        }
        decisions.sort();
        let mut cleared: BTreeMap<PoleIndex, Date> = BTreeMap::new();
        for decision in &decisions {
            let of_pole = match (decision.kind, &decision.target) {
                (DecisionKind::Clear, Target::Pole(pole)) => Some(*pole),
                _ => None,
            };
            if let Some((pole, date)) = of_pole.zip(decision.date) {
                let last = cleared.entry(pole).or_insert(date);
                *last = date.max(*last);
            }
        }
        Self {
            decisions,
            cleared,
            ..self
        }
    }

    /// The decisions on one pole itself, each with its place among all decisions.
    pub fn decisions_on(&self, index: PoleIndex) -> impl Iterator<Item = (usize, &Decision)> {
        let target = Target::Pole(index);
        let start = self.decisions.partition_point(|own| own.target < target);
        let own = self.decisions[start..].iter();
        (start..).zip(own.take_while(move |own| own.target == target))
    }

    /// The last day up to which a named engineer cleared what was recorded of a pole.
    pub fn cleared_until(&self, index: PoleIndex) -> Option<Date> {
        self.cleared.get(&index).copied()
    }

    /// The same inventory with failures, each with the id of its pole, oldest first. Their districts are filled in here.
    pub fn with_failures(self, failures: &[(String, Failure)]) -> Self {
        let district_of = |id: &str| {
            let listed = self.find(id).map(|pole| self.pole(pole));
            let gone = || self.removed.iter().find(|gone| gone.id == id);
            listed.or_else(|| gone().map(|gone| &gone.pole))?.district
        };
        let failures = failures.iter().map(|(id, failure)| Failure {
            district: district_of(id),
            ..*failure
        });
        Self {
            failures: failures.collect(),
            ..self
        }
    }

    /// The order of one pole's inspections: date, then content; the file row decides nothing.
    fn inspection_order(inspection: &Inspection) -> impl Ord + use<> {
        let bits = |length: Option<crate::units::Mm>| length.map(|mm| mm.0.to_bits());
        (
            inspection.date,
            inspection.method,
            inspection.verdict,
            bits(inspection.remaining_circumference),
            bits(inspection.original_circumference),
            bits(inspection.outside_decay_depth),
            (
                bits(inspection.sound_shell),
                bits(inspection.least_sound_shell),
                inspection.seen_mode,
            ),
            (inspection.treated, inspection.agent, inspection.agent_place),
            (inspection.pockets.key(), inspection.above_ground),
        )
    }

    /// Number of poles.
    pub fn len(&self) -> usize {
        self.poles.len()
    }

    /// Whether there is no pole at all.
    pub fn is_empty(&self) -> bool {
        self.poles.is_empty()
    }

    /// All places in the inventory, in the order of ids.
    pub fn indices(&self) -> impl Iterator<Item = PoleIndex> + use<> {
        (0..self.poles.len() as u32).map(PoleIndex)
    }

    /// The facts of one pole.
    pub fn pole(&self, index: PoleIndex) -> &Pole {
        &self.poles[index.get()]
    }

    /// All poles, in the order of ids.
    pub fn poles(&self) -> &[Pole] {
        &self.poles
    }

    /// The owner's id of one pole.
    pub fn id(&self, index: PoleIndex) -> &str {
        &self.ids[index.get()]
    }

    /// The pole with this id.
    pub fn find(&self, id: &str) -> Option<PoleIndex> {
        self.ids
            .binary_search_by(|known| known.as_str().cmp(id))
            .ok()
            .map(|place| PoleIndex(place as u32))
    }

    /// All inspections, by pole, date and content.
    pub fn inspections(&self) -> &[Inspection] {
        &self.inspections
    }

    /// The inspections of one pole, oldest first.
    pub fn inspections_of(&self, index: PoleIndex) -> &[Inspection] {
        let range: Range<usize> =
            self.starts[index.get()] as usize..self.starts[index.get() + 1] as usize;
        &self.inspections[range]
    }

    /// The name of a pole's line; `None` where the list has none.
    pub fn line_of(&self, index: PoleIndex) -> Option<&str> {
        self.pole(index).line.map(|line| self.names.get(line))
    }

    /// The latest inspection of a pole that says something about its wood.
    pub fn last_inspection(&self, index: PoleIndex) -> Option<&Inspection> {
        self.inspections_of(index)
            .iter()
            .rev()
            .find(|i| i.verdict != crate::pole::Verdict::NotInspected)
    }

    /// What of this inventory was known on `date`, as far as its records tell.
    ///
    /// Poles set later are left out, and so are undated poles of which no record proves that they stood by then, and
    /// poles that had been removed. A pole removed later was still in service, reinforcement fitted later is not yet
    /// there. Of a later visit that looked, only the day, the method and who went is kept, with the verdict
    /// [`Verdict::NotInspected`]: what it found says nothing any more. All other facts of the list carry no date and stay.
    ///
    /// The owner's decisions stay behind: they fix a schedule, and who looks back makes none.
    ///
    /// A pole that has been replaced since and is no longer listed cannot come back: whoever reads the result must
    /// reckon that it holds only what is listed today.
    pub fn as_of(&self, date: Date) -> Self {
        self.rebuilt(|pole, own| {
            let gone = pole.status == Status::Removed && pole.removed.is_none_or(|day| day <= date);
            let stood = match pole.installed {
                Some(set) => set <= date,
                None => own.iter().any(|look| look.date <= date),
            };
            if gone || !stood {
                return None;
            }
            let in_service_then = pole.status == Status::Removed;
            let then = Pole {
                status: if in_service_then {
                    Status::InService
                } else {
                    pole.status
                },
                removed: None,
                reinforced: pole
                    .reinforced
                    .filter(|brace| brace.since.is_none_or(|since| since <= date)),
                ..*pole
            };
            Some((then, with_findings_until(own, date)))
        })
    }

    /// The same poles and visits without anything that a visit found: only when, how and by whom each pole was looked
    /// at. For a forecast from published figures alone.
    pub fn without_findings(&self) -> Self {
        self.rebuilt(|pole, own| Some((*pole, with_findings_until(own, Date::MIN))))
    }

    /// The poles that are not listed as removed.
    pub fn without_removed(&self) -> Self {
        self.rebuilt(|pole, own| (pole.status != Status::Removed).then(|| (*pole, own.to_vec())))
    }

    /// The inventory of those poles that `keep` keeps, as it gives them.
    fn rebuilt(
        &self,
        keep: impl Fn(&Pole, &[Inspection]) -> Option<(Pole, Vec<Inspection>)>,
    ) -> Self {
        let kept = self.indices().filter_map(|index| {
            let (pole, own) = keep(self.pole(index), self.inspections_of(index))?;
            Some((self.id(index).to_owned(), pole, own))
        });
        Self {
            pole_rows: self.pole_rows,
            inspection_rows: self.inspection_rows,
            ..Self::new(&self.names, kept.collect())
        }
    }
}

/// Inspections as known on `date`: of later ones that looked only that they took place.
fn with_findings_until(own: &[Inspection], date: Date) -> Vec<Inspection> {
    let known = |look: &Inspection| {
        if look.date <= date {
            return Some(*look);
        }
        (look.verdict != Verdict::NotInspected).then(|| Inspection {
            pole: look.pole,
            contractor: look.contractor,
            inspector: look.inspector,
            source: look.source,
            ..Inspection::unmeasured(look.date, look.method, Verdict::NotInspected)
        })
    };
    own.iter().filter_map(known).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inspected, inventory_of, pole_set, signed, with};
    use crate::pole::{Method, Reinforcement};
    use crate::units::Mm;
    use jiff::civil::date;

    #[test]
    fn what_was_known_then_holds_no_later_fact() {
        let look = |year, verdict| inspected(date(year, 5, 1), Method::PartialExcavation, verdict);
        let measured = Inspection {
            remaining_circumference: Some(Mm(800.0)),
            ..look(2018, Verdict::RejectReplace)
        };
        let undated = Pole {
            installed: None,
            ..pole_set(1980)
        };
        let removed = |day| Pole {
            status: Status::Removed,
            removed: day,
            ..pole_set(1980)
        };
        let braced = Pole {
            reinforced: Some(Reinforcement {
                since: Some(date(2016, 1, 1)),
                kind: None,
            }),
            ..pole_set(1980)
        };
        let inventory = inventory_of(vec![
            (
                "known",
                "K",
                braced,
                vec![
                    look(2010, Verdict::Sound),
                    measured,
                    look(2019, Verdict::NotInspected),
                ],
            ),
            ("set later", "K", pole_set(2016), vec![]),
            (
                "undated, seen later",
                "K",
                undated,
                vec![look(2016, Verdict::Sound)],
            ),
            (
                "undated, seen before",
                "K",
                undated,
                vec![look(2012, Verdict::NotInspected)],
            ),
            (
                "removed before",
                "K",
                removed(Some(date(2014, 1, 1))),
                vec![],
            ),
            (
                "removed later",
                "K",
                removed(Some(date(2018, 9, 1))),
                vec![],
            ),
            ("removed some day", "K", removed(None), vec![]),
        ]);
        let clear = signed(0, DecisionKind::Clear, None);
        let inventory = with(inventory, vec![clear]);
        assert_eq!(
            inventory.cleared_until(PoleIndex(0)),
            Some(date(2024, 11, 1))
        );
        let then = inventory.as_of(date(2015, 1, 1));
        assert_eq!(
            (then.decisions.len(), then.cleared_until(PoleIndex(0))),
            (0, None)
        );
        let ids: Vec<&str> = then.indices().map(|pole| then.id(pole)).collect();
        assert_eq!(ids, ["known", "removed later", "undated, seen before"]);
        let known = then.find("known").expect("a pole");
        assert_eq!(then.pole(known).reinforced, None);
        assert_eq!(then.pole(PoleIndex(1)).status, Status::InService);
        let looks = then.inspections_of(known);
        assert_eq!(looks.len(), 2);
        assert_eq!(looks[0].verdict, Verdict::Sound);
        assert_eq!(
            (looks[1].date, looks[1].verdict),
            (date(2018, 5, 1), Verdict::NotInspected)
        );
        assert_eq!(looks[1].remaining_circumference, None);
        assert_eq!(inventory.without_removed().len(), 4);
        let bare = inventory.without_findings();
        assert_eq!(bare.len(), inventory.len());
        assert!(
            bare.indices()
                .all(|pole| bare.last_inspection(pole).is_none())
        );
    }
}
