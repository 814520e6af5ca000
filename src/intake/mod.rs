//! Text cells to an inventory and a list of problems; opens no files.
//!
//! Nothing is dropped silently: every row that was read is used, out of scope or set aside, every bad cell is a coded
//! problem with the owner's column and the raw value, and what is wrong is treated as unknown. The result does not
//! depend on the order of the rows, but for the row numbers in it.

mod cells;
mod classes;
mod compound;
mod counts;
mod dates;
mod findings;
mod guess;
mod identity;
mod inspections;
mod loading;
mod places;
mod poles;
mod ranges;
mod sizes;
mod stations;
mod table;
mod words;

pub use cells::{RISKY, read_back};
pub use guess::{CodeGuess, ColumnGuess, DayForm, Guess, ListKind, Sureness, guess};
pub use loading::{read_length_text, read_moment};
pub use stations::{Station, stations};
pub use table::{Noticed, Table};

use crate::Error;
use crate::inventory::{Inventory, Names};
use crate::problem::{Problems, Severity};
use crate::programme::Programme;
use crate::programme::sources::{Field, TableSource};
use std::collections::BTreeSet;
use std::path::PathBuf;
use table::{Bound, Kind};
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
    let sources = &programme.sources;
    let pole_tables = bind(poles, &sources.poles, 0, Kind::Poles)?;
    let inspection_tables = bind(
        inspections,
        &sources.inspections,
        poles.len(),
        Kind::Inspections,
    )?;
    let last_inspections = pole_tables
        .iter()
        .filter_map(Bound::last_inspections)
        .collect::<Result<Vec<_>, _>>()?;
    let mut problems = Problems {
        files: poles
            .iter()
            .chain(inspections)
            .map(|table| table.file.clone())
            .collect(),
        list: Vec::new(),
    };
    let list = &mut problems.list;
    let (mut names, mut unmapped) = (Names::default(), Unmapped::default());
    let mut lists = poles::read_poles(&pole_tables, programme, &mut names, &mut unmapped, list)?;
    let recorded = inspections::read_inspections(
        &inspection_tables,
        &last_inspections,
        programme,
        &mut lists,
        &mut names,
        &mut unmapped,
        list,
    )?;
    list.extend(unmapped.problems());
    problems.sort();
    let flagged: BTreeSet<&str> = problems
        .list
        .iter()
        .filter(|problem| problem.code.severity() > Severity::Note)
        .filter_map(|problem| problem.pole.as_deref())
        .collect();
    let all = lists.poles.into_iter().zip(recorded.inspections);
    let all = all.map(|(listed, own)| {
        let mut pole = listed.pole;
        pole.has_problems |= flagged.contains(listed.id.as_ref());
        (listed.id.into_owned(), pole, own)
    });
    let mut inventory = Inventory::new(&names, all.collect());
    inventory.pole_rows = lists.rows;
    inventory.inspection_rows = recorded.rows;
    inventory.last_inspections = recorded.last_inspections;
    inventory.counted = lists.counted;
    Ok((inventory, problems))
}

fn bind<'a>(
    tables: &'a [Table],
    sources: &'a [TableSource],
    before: usize,
    kind: Kind,
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
        if !bound.has(Field::Count) {
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
