//! Text cells to an inventory and a list of problems; opens no files.
//!
//! Nothing is dropped silently: every row that was read is used, out of scope or set aside, every bad cell is a coded
//! problem with the owner's column and the raw value, and what is wrong is treated as unknown. The result does not
//! depend on the order of the rows, but for the row numbers in it.

mod cells;
mod dates;
mod identity;
mod inspections;
mod places;
mod poles;
mod remedies;
mod sizes;
mod stations;
mod table;
mod words;

pub use cells::{RISKY, read_back};
pub use stations::{Station, stations};
pub use table::{Noticed, Table};

use crate::Error;
use crate::inventory::{Inventory, Names};
use crate::problem::{Problems, Severity};
use crate::programme::Programme;
use crate::programme::sources::{Field, TableSource};
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
    let sources = &programme.sources;
    let pole_tables = bind(poles, &sources.poles, 0, true)?;
    let inspection_tables = bind(inspections, &sources.inspections, poles.len(), false)?;
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
    let mut lists = poles::read_poles(&pole_tables, programme, &mut names, &mut unmapped, list);
    let (found, inspection_rows) = inspections::read_inspections(
        &inspection_tables,
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
    let all = lists.poles.iter().zip(found).map(|(listed, own)| {
        let mut pole = listed.pole;
        pole.has_problems |= flagged.contains(listed.id);
        (listed.id.to_owned(), pole, own)
    });
    let mut inventory = Inventory::new(&names, all.collect());
    inventory.pole_rows = lists.rows;
    inventory.inspection_rows = inspection_rows;
    Ok((inventory, problems))
}

fn bind<'a>(
    tables: &'a [Table],
    sources: &'a [TableSource],
    before: usize,
    of_poles: bool,
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
        let bound = Bound::new(table, source, (before + place) as u16, of_poles)?;
        bound.needs(Field::Id)?;
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
