//! Text cells to an inventory and a list of problems; opens no files.
//!
//! Nothing is dropped silently: every row that was read is used, out of scope or set aside, every bad cell is a coded
//! problem with the owner's column and the raw value, and what is wrong is treated as unknown. The result does not
//! depend on the order of the rows, but for the row numbers in it.

mod carried;
mod cells;
mod classes;
mod compound;
mod counts;
mod dates;
mod decisions;
mod departed;
mod failures;
mod findings;
mod gone;
mod guess;
mod history;
mod identity;
mod inspections;
mod leave;
mod lines;
mod loading;
mod material;
mod places;
mod poles;
mod practice;
mod projected;
mod ranges;
mod remedies;
mod rows;
mod sizes;
mod stations;
mod table;
mod unread;
mod words;
mod years;

pub use cells::{RISKY, read_back};
pub use guess::{CodeGuess, ColumnGuess, DayForm, Guess, ListKind, Reading, Sureness, guess};
pub use loading::{read_length_text, read_moment};
pub use rows::{Cells, Part, Rows};
pub use stations::{COLUMNS as STATION_COLUMNS, Station, stations};
pub use table::{Noticed, Table};

use crate::Error;
use crate::inventory::{Inventory, Names};
use crate::problem::{Problems, Severity};
use crate::programme::sources::{Field, SourceKind, TableSource};
use crate::programme::{Programme, Sources};
use poles::Listed;
use std::collections::BTreeSet;
use std::path::PathBuf;
use table::Bound;
use words::Unmapped;

/// The inventory that the tables hold, read as the programme says: `poles` and `inspections` in the order of the
/// programme's sources.
///
/// # Errors
/// On a column that is mapped but not there, a column that is needed, and on codes of verdicts or methods that are not
/// mapped.
pub fn take_in(
    poles: &[Table],
    inspections: &[Table],
    programme: &Programme,
) -> Result<(Inventory, Problems), Error> {
    take_in_all(
        &Tables {
            poles,
            inspections,
            ..Tables::default()
        },
        programme,
    )
}

/// The tables of a programme's sources, each kind in the programme's order.
#[derive(Debug, Clone, Copy, Default)]
pub struct Tables<'a> {
    /// Pole lists.
    pub poles: &'a [Table],
    /// Inspection records.
    pub inspections: &'a [Table],
    /// Work that was done.
    pub work_done: &'a [Table],
    /// Poles that failed.
    pub failures: &'a [Table],
    /// The owner's decisions.
    pub decisions: &'a [Table],
}

/// The inventory that all tables of a programme hold: as [`take_in`], with what was done since, what failed and what the
/// owner decided.
///
/// # Errors
/// As [`take_in`].
pub fn take_in_all(
    tables: &Tables<'_>,
    programme: &Programme,
) -> Result<(Inventory, Problems), Error> {
    let bound = tables.bound(&programme.sources)?;
    let mut problems = Problems {
        files: tables.files(),
        list: Vec::new(),
    };
    let list = &mut problems.list;
    let (mut names, mut unmapped) = (Names::default(), Unmapped::default());
    let mut lists = poles::read_poles(&bound.poles, programme, &mut names, &mut unmapped, list)?;
    let mut history = history::read_work(
        &bound.work_done,
        programme,
        &mut lists,
        &mut names,
        &mut unmapped,
        list,
    )?;
    departed::add_departed(
        &mut lists,
        &mut history,
        programme,
        &mut names,
        &mut unmapped,
        list,
    );
    let (failures, failure_rows) =
        failures::read_failures(&bound.failures, programme, &lists, &mut unmapped, list)?;
    for (id, failure) in &failures {
        let known = history.failed.entry(id).or_default();
        known.push((failure.date, failure.assisted));
    }
    let mut found = inspections::read_inspections(
        &bound.inspections,
        programme,
        &mut lists,
        &history,
        &mut names,
        &mut unmapped,
        list,
    )?;
    leave::take_out(&mut lists, &mut found, &history, programme, list);
    let known = decisions::Known {
        lists: &lists,
        history: &history,
        names: &names,
        removed: &found.predecessors,
    };
    let (decisions, decision_rows) =
        decisions::read_decisions(&bound.decisions, programme, &known, &mut unmapped, list)?;
    list.extend(unmapped.problems());
    problems.sort();
    flag(&mut lists.poles, &problems);
    let ids = lists.poles.iter_mut();
    let ids = ids.map(|listed| std::mem::take(&mut listed.id).into_owned());
    let ids: Vec<String> = ids.collect();
    // Collected where the list itself stands: nothing is held twice.
    let poles = lists.poles.into_iter().map(|listed| listed.pole).collect();
    let mut inventory = Inventory::of_sorted(&names, ids, poles, &found.counts, found.inspections)
        .with_removed(&names, found.predecessors)
        .with_decisions(&names, decisions)
        .with_failures(&failures);
    inventory.pole_rows = lists.rows;
    inventory.inspection_rows = found.rows;
    inventory.last_inspections = found.last_inspections;
    inventory.counted = lists.counted;
    inventory.work_rows = history.rows;
    inventory.failure_rows = failure_rows;
    inventory.decision_rows = decision_rows;
    let listed = inventory.pole_rows.used - lists.counted.rows + lists.counted.poles;
    inventory.begun_by_work = inventory.len() - listed;
    Ok((inventory, problems))
}

/// Marks the poles of which more than a note was told.
fn flag(poles: &mut [Listed<'_>], problems: &Problems) {
    let told = problems.list.iter();
    let told = told.filter(|problem| problem.code.severity() > Severity::Note);
    let ids: BTreeSet<&str> = told.filter_map(|problem| problem.pole.as_deref()).collect();
    // Both stand in the order of the ids.
    let mut ids = ids.into_iter().peekable();
    for listed in poles {
        let id = listed.id.as_ref();
        while ids.next_if(|other| *other < id).is_some() {}
        listed.pole.has_problems |= ids.peek() == Some(&id);
    }
}

/// All tables, each bound to what the programme says of it.
struct AllBound<'a> {
    poles: Vec<Bound<'a>>,
    inspections: Vec<Bound<'a>>,
    work_done: Vec<Bound<'a>>,
    failures: Vec<Bound<'a>>,
    decisions: Vec<Bound<'a>>,
}

impl<'a> Tables<'a> {
    /// The tables in the order in which problems number their files.
    fn in_order(&self) -> [&'a [Table]; 5] {
        [
            self.poles,
            self.inspections,
            self.work_done,
            self.failures,
            self.decisions,
        ]
    }

    fn files(&self) -> Vec<String> {
        let all = self.in_order().into_iter().flatten();
        all.map(|table| table.file.clone()).collect()
    }

    fn bound(&self, sources: &'a Sources) -> Result<AllBound<'a>, Error> {
        let mut before = 0;
        let mut next = |tables: &'a [Table], sources: &'a [TableSource], kind| {
            let bound = bind(tables, sources, before, kind);
            before += tables.len();
            bound
        };
        let poles = next(self.poles, &sources.poles, SourceKind::Poles)?;
        let mut inspections = next(
            self.inspections,
            &sources.inspections,
            SourceKind::Inspections,
        )?;
        for last in poles.iter().filter_map(Bound::last_inspections) {
            inspections.push(last?);
        }
        Ok(AllBound {
            poles,
            inspections,
            work_done: next(self.work_done, &sources.work_done, SourceKind::WorkDone)?,
            failures: next(self.failures, &sources.failures, SourceKind::Failures)?,
            decisions: next(self.decisions, &sources.decisions, SourceKind::Decisions)?,
        })
    }
}

fn bind<'a>(
    tables: &'a [Table],
    sources: &'a [TableSource],
    before: usize,
    kind: SourceKind,
) -> Result<Vec<Bound<'a>>, Error> {
    if tables.len() != sources.len() {
        return Err(Error::Programme {
            path: PathBuf::from("programme"),
            what: format!(
                "{} were read for {} sources",
                counted(tables.len(), "table"),
                sources.len()
            ),
            help: "give one table for each source of the programme, in the same order".to_owned(),
        });
    }
    let bound = |(place, (table, source))| {
        let bound = Bound::new(table, source, (before + place) as u16, kind)?;
        if kind == SourceKind::Decisions {
            // They may be about lines or packages.
        } else if !bound.has(Field::Count) {
            bound.needs(Field::Id)?;
        } else if source.last_inspection.is_some() {
            return Err(Error::Programme {
                path: PathBuf::from(&source.file),
                what: "a list with counts has no last inspection of a pole".to_owned(),
                help: "take [poles.last_inspection] out, or the column of counts".to_owned(),
            });
        }
        Ok(bound)
    };
    tables.iter().zip(sources).enumerate().map(bound).collect()
}

/// `1 row`, `2 rows`.
fn counted(count: usize, noun: &str) -> String {
    if count == 1 {
        format!("1 {noun}")
    } else {
        format!("{count} {noun}s")
    }
}

#[cfg(test)]
mod tests;
