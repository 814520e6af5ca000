//! Who may see a column: the one place that decides what a public folder holds.
//!
//! A column is the owner's alone unless it says otherwise, so that a new one cannot leak by being forgotten. A table's rows
//! are for everybody only where each is a total or an area: columns of rows that stand for a pole, a line, a package, an
//! inspection or a contractor are never marked.

use super::{Column, Sheet};

/// Who may see a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Audience {
    /// The owner and whoever works for him.
    Owner,
    /// Everybody.
    Public,
}

/// These columns, open to everybody.
pub fn for_everybody<R>(columns: Vec<Column<R>>) -> Vec<Column<R>> {
    let open = |mut column: Column<R>| {
        column.info.audience = Audience::Public;
        column
    };
    columns.into_iter().map(open).collect()
}

/// What everybody may see of a table; `None` where that is nothing.
pub fn public_part(sheet: Sheet<'_>) -> Option<Sheet<'_>> {
    let open: Vec<usize> = sheet
        .columns
        .iter()
        .enumerate()
        .filter(|(_, column)| column.audience == Audience::Public)
        .map(|(place, _)| place)
        .collect();
    (!open.is_empty()).then(|| sheet.with_columns(open))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::PoleIndex;
    use crate::tables::{
        Holds, Value, areas, calibration, column, field, packages, quantities, schedule, totals,
    };
    use crate::words::sample;

    #[test]
    fn a_column_is_the_owners_alone_unless_it_says_otherwise() {
        let columns = || {
            vec![
                column("a", Holds::Whole, "a number", |(): &()| Value::Whole(1)),
                column("b", Holds::Whole, "another", |()| Value::Whole(2)),
            ]
        };
        assert!(public_part(Sheet::new("t", columns(), 1, |_| ())).is_none());
        let mut some = columns();
        some[1].info.audience = Audience::Public;
        let open = public_part(Sheet::new("t", some, 1, |_| ())).expect("a column");
        assert_eq!(open.columns.len(), 1);
        assert_eq!(open.row(0), [Value::Whole(2)]);
        let all = Sheet::new("t", for_everybody(columns()), 1, |_| ());
        assert_eq!(public_part(all).expect("both").columns.len(), 2);
    }

    #[test]
    fn nothing_of_poles_packages_and_practice_is_for_everybody() {
        let sample = sample::fleet();
        let fleet = sample.case(PoleIndex(0));
        let package = &sample.plan.schedule.packages[0];
        let nothing_done = std::collections::BTreeMap::new();
        let kept = [
            schedule::schedule(fleet),
            packages::packages(fleet),
            field::field(fleet, package),
            crate::tables::practice::practice(&sample.inventory, &[]),
            crate::tables::problems::problems(&sample.problems),
            crate::tables::compliance::compliance(fleet, &[]),
            crate::tables::budget::budget(fleet, &[]),
            crate::tables::changes::changes(&[]),
            crate::tables::progress::progress(&nothing_done),
        ];
        for sheet in kept {
            let name = sheet.name;
            assert!(public_part(sheet).is_none(), "{name}");
        }
        let overview = sample.overview();
        let open = [
            quantities::quantities(fleet),
            calibration::calibration(fleet),
            areas::areas(fleet),
            totals::totals(&overview),
        ];
        for sheet in open {
            let (name, columns) = (sheet.name, sheet.columns.len());
            let part = public_part(sheet).map(|part| part.columns.len());
            assert_eq!(part, Some(columns), "{name}");
        }
    }
}
