//! Work that was done since the lists were made: a reinforcement, a treatment, a new pole in an old one's place.
//!
//! Work is applied in the order of its dates. A pole that was taken away ends on that day; the pole that took its place
//! begins on it, under its own id or the old one. What was found in the old pole stays with the old pole, among the
//! records of poles that are gone. Owns these rules; opens no file and knows nothing of wood.

use super::classes::{ClassText, read_class};
use super::dates::{Day, Fault, read_day};
use super::departed::likely_cause;
use super::inspections::predecessor_of;
use super::poles::{Listed, PoleLists};
use super::sizes::{Bounds, POLE_LENGTH, read_length};
use super::table::{Bound, Row};
use super::words::{Coded, Unmapped, read_code};
use crate::Error;
use crate::inventory::{Ended, Names, RowCount};
use crate::pole::{
    Assistance, Inspection, Pole, PoleClass, Preservative, Reinforcement, RemovalCause, SetFrom,
    Species, Status, WorkKind,
};
use crate::problem::{Code, Problem};
use crate::programme::Programme;
use crate::programme::sources::Field;
use crate::units::{Date, LengthUnit, Mm, days_after};
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

/// A new pole may be set so many days before the old one is taken away and written down (judgement: a budget year).
const SET_EARLY_DAYS: i32 = 366;

/// The end of a pole, with what the list knew of it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ending<'a> {
    /// The record of the work.
    pub row: Row<'a>,
    pub day: Day,
    pub because: Ended,
    /// The pole that ended.
    pub pole: Pole,
    /// Why, where a list says so.
    pub cause: Option<RemovalCause>,
}

/// What the records of work say.
#[derive(Default)]
pub(super) struct History<'a> {
    /// Poles whose place a new one took under the same id.
    pub predecessors: BTreeMap<&'a str, Vec<Ending<'a>>>,
    /// Poles that are gone for good, or stand under a new id.
    pub ended: BTreeMap<&'a str, Ending<'a>>,
    /// Days of remedial treatments.
    pub treated: BTreeMap<&'a str, Vec<(Row<'a>, Day)>>,
    /// Poles that only these records know.
    pub begun: BTreeSet<&'a str>,
    /// Poles that a list holds as removed.
    pub departed: BTreeSet<&'a str>,
    /// Failures on record.
    pub failed: BTreeMap<&'a str, Vec<(Date, Option<Assistance>)>>,
    pub rows: RowCount,
}

impl History<'_> {
    /// Why a pole is gone.
    pub fn cause(&self, id: &str, ending: &Ending<'_>, inspections: &[Inspection]) -> RemovalCause {
        let failures = self.failed.get(id).map_or(&[][..], Vec::as_slice);
        ending
            .cause
            .unwrap_or_else(|| likely_cause(failures, ending.day.date, inspections))
    }
}

/// One record of work.
#[derive(Debug, Clone, Copy)]
struct Work<'a> {
    row: Row<'a>,
    id: &'a str,
    new_id: Option<&'a str>,
    day: Day,
    kind: WorkKind,
}

/// Reads all records of work and applies them to the poles; what concerns inspections is in the answer.
///
/// # Errors
/// When a file has no date or no work.
pub(super) fn read_work<'a>(
    bounds: &'a [Bound<'a>],
    programme: &Programme,
    lists: &mut PoleLists<'a>,
    names: &mut Names,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> Result<History<'a>, Error> {
    let mut history = History::default();
    let mut works = Vec::new();
    for bound in bounds {
        bound.needs(Field::Date)?;
        bound.needs(Field::Work)?;
        problems.extend(bound.problems());
        for row in bound.rows() {
            history.rows.read += 1;
            match read_one(row, programme, unmapped, problems) {
                Some(work) => works.push(work),
                None => history.rows.set_aside += 1,
            }
        }
    }
    works.sort_by_cached_key(|work| {
        let place = (work.id, work.day.date, work.kind);
        (place, work.row.content(), work.row.source())
    });
    let before = works.len();
    works.dedup_by(|later, earlier| {
        let same = (later.id, later.day, later.kind, later.new_id)
            == (earlier.id, earlier.day, earlier.kind, earlier.new_id);
        if same {
            let what = format!(
                "the work stands in {} row {} already",
                earlier.row.bound.table.file, earlier.row.line
            );
            let problem = (Code::RepeatedWork, Field::Date);
            problems.push(
                later
                    .row
                    .problem(problem.0, problem.1, later.id, what, "set aside"),
            );
        }
        same
    });
    history.rows.set_aside += before - works.len();
    // Ids that begin with a work may have work of their own: in the order of the dates.
    works.sort_by_key(|work| work.day.date);
    for work in works {
        match apply(work, lists, names, unmapped, &mut history, problems) {
            Applied::Used => history.rows.used += 1,
            Applied::OutOfScope => history.rows.out_of_scope += 1,
            Applied::Unknown => {
                history.rows.set_aside += 1;
                let what = format!("{} is not in the list", work.id);
                let (code, field) = (Code::WorkOnUnknownPole, Field::Id);
                problems.push(work.row.problem(code, field, work.id, what, "set aside"));
            }
        }
    }
    Ok(history)
}

fn read_one<'a>(
    row: Row<'a>,
    programme: &Programme,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> Option<Work<'a>> {
    let id = row.filled(Field::Id).unwrap_or("");
    let mut refuse = |code, field, what: String| {
        problems.push(row.problem(code, field, id, what, "set aside"));
    };
    if id.is_empty() {
        refuse(Code::NoId, Field::Id, "there is no id".to_owned());
        return None;
    }
    let kind = match read_code(row, Field::Work, &row.bound.source.codes.work) {
        Coded::Known(kind) => kind,
        Coded::Blank => {
            refuse(Code::NoWork, Field::Work, "no work is named".to_owned());
            return None;
        }
        Coded::Unmapped => {
            unmapped.count(row, Field::Work);
            let what = format!("\"{}\" is no word of ours", row.raw(Field::Work).trim());
            refuse(Code::NoWork, Field::Work, what);
            return None;
        }
    };
    let text = row.text(Field::Date).unwrap_or("");
    let form = row.bound.source.date_form.as_deref();
    match read_day(text, form, programme.plan_from) {
        Ok(day) => Some(Work {
            row,
            id,
            new_id: row.filled(Field::NewId).filter(|new| *new != id),
            day,
            kind,
        }),
        Err(fault) => {
            let code = if fault == Fault::Future {
                Code::FutureWork
            } else {
                Code::NoWorkDate
            };
            let what = if text.is_empty() {
                "no date".to_owned()
            } else {
                fault.sentence(text, programme.plan_from)
            };
            refuse(code, Field::Date, what);
            None
        }
    }
}

/// What became of a record.
enum Applied {
    Used,
    OutOfScope,
    Unknown,
}

fn apply<'a>(
    work: Work<'a>,
    lists: &mut PoleLists<'a>,
    names: &mut Names,
    unmapped: &mut Unmapped,
    history: &mut History<'a>,
    problems: &mut Vec<Problem>,
) -> Applied {
    let known = |id: &str| {
        lists
            .poles
            .binary_search_by(|listed| listed.id.as_ref().cmp(id))
    };
    let old = known(work.id);
    let new = work.new_id.map(known);
    let Ok(place) = old else {
        // The old pole has left the list, and the new one is in it: then the list is ahead of the records.
        return match new {
            Some(Ok(new)) => {
                begin_at_the_latest(&mut lists.poles[new], work.day);
                Applied::Used
            }
            _ if lists.out_of_scope.contains(work.id) => Applied::OutOfScope,
            _ => Applied::Unknown,
        };
    };
    let day = work.day;
    match work.kind {
        WorkKind::Reinforced => {
            lists.poles[place].pole.reinforced = Some(Reinforcement {
                since: Some(day.date),
                kind: None,
            });
        }
        WorkKind::RemedialTreatment => {
            history
                .treated
                .entry(work.id)
                .or_default()
                .push((work.row, day));
        }
        // The verdict stands until an inspection lifts it or a new pole stands there.
        WorkKind::MadeSafe => {}
        WorkKind::Removed => end(work, place, Ended::Removed, lists, history),
        WorkKind::Replaced => {
            let read = |unmapped: &mut Unmapped, names: &mut Names, problems: &mut Vec<Problem>| {
                new_facts(work, names, unmapped, problems)
            };
            let stood = new
                .and_then(Result::ok)
                .filter(|new| stood_before(&lists.poles[*new], day));
            if let Some(stood) = stood {
                problems.push(no_new_pole(&work, &lists.poles[stood]));
            }
            let named = if stood.is_some() {
                (None, None)
            } else {
                (work.new_id, new)
            };
            match named {
                (Some(_), Some(Ok(new))) => {
                    begin_at_the_latest(&mut lists.poles[new], day);
                    end(work, place, Ended::Replaced, lists, history);
                }
                (Some(new_id), _) => {
                    let facts = read(unmapped, names, problems);
                    let pole = begun(&lists.poles[place].pole, &facts, day);
                    end(work, place, Ended::Replaced, lists, history);
                    let at = lists
                        .poles
                        .partition_point(|listed| listed.id.as_ref() < new_id);
                    lists.poles.insert(
                        at,
                        Listed {
                            id: Cow::Borrowed(new_id),
                            row: work.row,
                            pole: Pole {
                                source: work.row.source(),
                                ..pole
                            },
                            set: Some(day),
                        },
                    );
                    history.begun.insert(new_id);
                }
                (None, _) => {
                    let facts = read(unmapped, names, problems);
                    replace_in_place(work, &mut lists.poles[place], &facts, history);
                }
            }
        }
    }
    Applied::Used
}

/// Whether a pole that is said to have taken another's place stood before: its set date is older than the work by more
/// than [`SET_EARLY_DAYS`].
fn stood_before(listed: &Listed<'_>, work: Day) -> bool {
    let recorded = listed.pole.set_from == SetFrom::Record;
    let set = listed.set.filter(|_| recorded);
    set.is_some_and(|set| days_after(set.latest, SET_EARLY_DAYS) < work.earliest)
}

/// The problem of a new pole that had stood before the work.
fn no_new_pole(work: &Work<'_>, stood: &Listed<'_>) -> Problem {
    let set = stood
        .set
        .map_or_else(String::new, |day| day.date.to_string());
    work.row.problem(
        Code::NewPoleStoodBefore,
        Field::NewId,
        work.id,
        format!("{} was set on {set}, before the work", stood.id),
        "the new pole is taken to stand under the old id",
    )
}

/// A pole in the list that took another's place was set by that day; the list's own date counts where it has one.
fn begin_at_the_latest(listed: &mut Listed<'_>, day: Day) {
    if listed.set.is_none() || listed.pole.set_from == SetFrom::Brand {
        listed.set = Some(day);
        listed.pole.installed = Some(day.date);
        listed.pole.set_from = SetFrom::Record;
    }
}

fn end<'a>(
    work: Work<'a>,
    place: usize,
    because: Ended,
    lists: &mut PoleLists<'a>,
    history: &mut History<'a>,
) {
    let listed = &mut lists.poles[place];
    listed.pole.status = Status::Removed;
    listed.pole.removed = Some(work.day.date);
    history.ended.insert(
        work.id,
        Ending {
            row: work.row,
            day: work.day,
            because,
            pole: listed.pole,
            cause: None,
        },
    );
}

/// What a record says of a new pole.
struct NewFacts {
    length: Option<Mm>,
    class: Option<crate::pole::NameIndex>,
    /// The class, where it is one of the American tables: the list's lengths are in feet.
    size_class: Option<PoleClass>,
    species: Option<Species>,
    preservative: Option<Preservative>,
}

fn new_facts(
    work: Work<'_>,
    names: &mut Names,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> NewFacts {
    let row = work.row;
    let codes = &row.bound.source.codes;
    let length = Bounds {
        range: POLE_LENGTH,
        code: Code::PoleLength,
        name: "length of a pole",
    };
    let species = read_code(row, Field::NewSpecies, &codes.species);
    if species == Coded::Unmapped {
        unmapped.count(row, Field::NewSpecies);
    }
    let preservative = read_code(row, Field::NewPreservative, &codes.preservative);
    if preservative == Coded::Unmapped {
        unmapped.count(row, Field::NewPreservative);
    }
    NewFacts {
        length: read_length(row, Field::NewLength, &length, work.id, problems),
        class: row.text(Field::NewClass).map(|text| names.keep(text)),
        size_class: row.text(Field::NewClass).and_then(|text| {
            let in_feet = row.bound.source.units.get(&Field::NewLength) == Some(&LengthUnit::Foot);
            match read_class(text) {
                ClassText::Known(class) if in_feet => Some(class),
                _ => None,
            }
        }),
        species: species.known(),
        preservative: preservative.known(),
    }
}

/// A new pole in the place of an old one: it stands where that stood, and of the rest only what the record says.
fn begun(old: &Pole, facts: &NewFacts, day: Day) -> Pole {
    Pole {
        length: facts.length,
        class: facts.class,
        size_class: facts.size_class,
        top_diameter: None,
        diameter: None,
        species: facts.species,
        preservative: facts.preservative,
        through_bored: None,
        installed: Some(day.date),
        set_from: SetFrom::Record,
        reinforced: None,
        status: Status::InService,
        removed: None,
        ..*old
    }
}

/// A new pole under the old one's id. Where the list has a set date on or after that day it describes the new pole
/// already, and where it has none it may: then only what the record says is put over it.
fn replace_in_place<'a>(
    work: Work<'a>,
    listed: &mut Listed<'a>,
    facts: &NewFacts,
    history: &mut History<'a>,
) {
    let day = work.day;
    let is_old = listed.set.is_some_and(|set| set.latest < day.earliest);
    let pole = if is_old {
        listed.pole
    } else {
        predecessor_of(&listed.pole, day.date)
    };
    let ending = Ending {
        row: work.row,
        day,
        because: Ended::Replaced,
        pole: Pole {
            status: Status::Removed,
            removed: Some(day.date),
            ..pole
        },
        cause: None,
    };
    history
        .predecessors
        .entry(work.id)
        .or_default()
        .push(ending);
    if is_old {
        listed.pole = begun(&listed.pole, facts, day);
        listed.set = Some(day);
        return;
    }
    begin_at_the_latest(listed, day);
    let brace_is_older = |brace: &Reinforcement| brace.since.is_some_and(|since| since < day.date);
    listed.pole = Pole {
        length: facts.length.or(listed.pole.length),
        class: facts.class.or(listed.pole.class),
        size_class: match facts.class {
            Some(_) => facts.size_class,
            None => listed.pole.size_class,
        },
        species: facts.species.or(listed.pole.species),
        preservative: facts.preservative.or(listed.pole.preservative),
        reinforced: listed
            .pole
            .reinforced
            .filter(|brace| !brace_is_older(brace)),
        ..listed.pole
    };
}

#[cfg(test)]
mod tests {
    use crate::intake::tests::table;
    use crate::intake::{Table, Tables, take_in_all};
    use crate::inventory::{Ended, Inventory};
    use crate::pole::{Pole, PoleClass, Species, Status};
    use crate::programme::text::read;
    use jiff::civil::date;
    use std::path::Path;

    const POLES: &str = "id,line,set_date,length,species
        A1,North,1970,12,pine
        A2,North,1970,12,pine
        A3,North,2019,14,spruce
        A4,North,1970,12,pine";

    const INSPECTIONS: &str = "id,date,method,verdict
        A1,2010-05-01,full_excavation,sound
        A1,2022-05-01,full_excavation,decay_serviceable
        A2,2018-05-01,full_excavation,reject_reinforceable
        A3,2017-05-01,full_excavation,sound
        A4,2018-05-01,full_excavation,reject_replace";

    fn taken(work: &Table) -> Inventory {
        let text = "plan_from = 2026-01-01\n[[poles]]\nfile = \"p\"\n[[inspections]]\nfile = \"i\"\n[[work_done]]\nfile = \"w\"";
        let programme = read(text, Path::new("p.toml")).expect("a programme");
        let tables = Tables {
            poles: &[table("p", POLES)],
            inspections: &[table("i", INSPECTIONS)],
            work_done: std::slice::from_ref(work),
            ..Tables::default()
        };
        take_in_all(&tables, &programme).expect("tables").0
    }

    fn pole<'a>(inventory: &'a Inventory, id: &str) -> &'a Pole {
        inventory.pole(inventory.find(id).expect(id))
    }

    fn work() -> Table {
        table(
            "w",
            "id,date,work,new_id,new_length,new_species
            A1,2020-06-01,replaced,,14,spruce
            A2,2019-06-01,reinforced,,,
            A3,2019-06-01,replaced,,,
            A4,2019-06-01,replaced,B4,11,
            B4,2021-06-01,remedial_treatment,,,",
        )
    }

    #[test]
    fn a_new_pole_begins_under_the_old_id_with_its_own_facts_and_without_the_old_ones_records() {
        let inventory = taken(&work());
        let new = pole(&inventory, "A1");
        assert_eq!(new.installed, Some(date(2020, 6, 1)));
        assert_eq!(new.length.map(|mm| mm.0), Some(14_000.0));
        assert_eq!(new.species, Some(Species::Spruce));
        let index = inventory.find("A1").expect("A1");
        let dates: Vec<_> = inventory
            .inspections_of(index)
            .iter()
            .map(|i| i.date)
            .collect();
        assert_eq!(dates, [date(2022, 5, 1)]);
        let old = &inventory.removed[0];
        assert_eq!((old.id.as_str(), old.ended), ("A1", date(2020, 6, 1)));
        assert_eq!(old.pole.species, Some(Species::Pine));
        assert_eq!(old.pole.installed, Some(date(1970, 7, 1)));
        assert_eq!((old.inspections.len(), old.because), (1, Ended::Replaced));
        assert_eq!(inventory.names.get(old.pole.line.expect("a line")), "North");
    }

    #[test]
    fn a_list_that_has_the_new_pole_already_keeps_its_facts() {
        let inventory = taken(&work());
        let new = pole(&inventory, "A3");
        assert_eq!(new.installed, Some(date(2019, 7, 1)));
        assert_eq!(new.species, Some(Species::Spruce));
        assert!(
            inventory
                .inspections_of(inventory.find("A3").expect("A3"))
                .is_empty()
        );
        let old = inventory
            .removed
            .iter()
            .find(|gone| gone.id == "A3")
            .expect("its predecessor");
        assert_eq!((old.pole.species, old.inspections.len()), (None, 1));
    }

    #[test]
    fn the_size_of_one_pole_never_passes_to_the_other_in_its_place() {
        let text = "plan_from = 2026-01-01\n[[poles]]\nfile = \"p\"\nunits = { length = \"ft\" }\n[[inspections]]\nfile = \"i\"\n\
            [[work_done]]\nfile = \"w\"\nunits = { new_length = \"ft\" }";
        let programme = read(text, Path::new("p.toml")).expect("a programme");
        let poles = "id,set_date,length,class,top_diameter\nA1,1970,40,4,200\nA2,2019,40,4,200";
        let inspections =
            "id,date,method,verdict\nA1,2010-05-01,patrol,sound\nA2,2010-05-01,patrol,sound";
        let work = "id,date,work,new_length,new_class\nA1,2020-06-01,replaced,45,2\nA2,2019-06-01,replaced,,";
        let tables = Tables {
            poles: &[table("p", poles)],
            inspections: &[table("i", inspections)],
            work_done: &[table("w", work)],
            ..Tables::default()
        };
        let inventory = take_in_all(&tables, &programme).expect("tables").0;
        // The list describes the old A1: the new one has what the record gives, and no top that anybody measured.
        let new = pole(&inventory, "A1");
        assert_eq!(
            (new.size_class, new.top_diameter),
            (PoleClass::from_word("2"), None)
        );
        // The list describes the new A2: of the old one no size is known.
        let old = inventory
            .removed
            .iter()
            .find(|gone| gone.id == "A2")
            .expect("A2");
        assert_eq!((old.pole.size_class, old.pole.top_diameter), (None, None));
        assert!(pole(&inventory, "A2").size_class.is_some());
    }

    #[test]
    fn a_new_id_ends_one_pole_and_begins_another_in_its_place() {
        let inventory = taken(&work());
        assert_eq!(inventory.find("A4"), None);
        let new = pole(&inventory, "B4");
        assert_eq!(
            (new.installed, new.status),
            (Some(date(2019, 6, 1)), Status::InService)
        );
        assert_eq!(new.length.map(|mm| mm.0), Some(11_000.0));
        // Of the old pole only the place is known to be the new one's.
        assert_eq!(new.species, None);
        assert_eq!(inventory.names.get(new.line.expect("a line")), "North");
        let treated = inventory.inspections_of(inventory.find("B4").expect("B4"));
        assert!(treated.len() == 1 && treated[0].treated);
        // Four rows, of which one ended; one pole that only the work knows.
        let rows = inventory.pole_rows;
        assert_eq!((rows.read, rows.used, rows.out_of_scope), (4, 3, 1));
        assert_eq!((inventory.len(), inventory.begun_by_work), (4, 1));
        assert_eq!(inventory.inspection_rows.used, 5);
        assert_eq!(inventory.work_rows.used, 5);
    }

    #[test]
    fn a_brace_stands_from_its_day() {
        let inventory = taken(&work());
        let since = pole(&inventory, "A2")
            .reinforced
            .and_then(|brace| brace.since);
        assert_eq!(since, Some(date(2019, 6, 1)));
    }

    #[test]
    fn the_order_of_the_rows_decides_nothing() {
        let straight = taken(&work());
        let mut turned = work();
        turned.rows.change(|rows| rows.reverse());
        let turned = taken(&turned);
        let facts = |inventory: &Inventory| {
            inventory
                .indices()
                .map(|index| {
                    let pole = inventory.pole(index);
                    (
                        inventory.id(index).to_owned(),
                        pole.installed,
                        pole.length,
                        pole.status,
                    )
                })
                .collect::<Vec<_>>()
        };
        assert_eq!(facts(&turned), facts(&straight));
        let gone = |inventory: &Inventory| {
            inventory
                .removed
                .iter()
                .map(|gone| (gone.id.clone(), gone.ended, gone.inspections.len()))
                .collect::<Vec<_>>()
        };
        assert_eq!(gone(&turned), gone(&straight));
    }
}
