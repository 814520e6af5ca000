//! `progress.csv`: of the work that the earlier plan had for the years since, what was done, and what was found.

use super::{Column, Holds, Sheet, Value, column, measured};
use crate::score::progress::{Key, Progress};
use crate::words::previous::PROGRESS_CAUTION;
use crate::words::quantities::to_decimals;
use std::collections::BTreeMap;

/// One row.
pub type Line<'a> = (&'a Key, &'a Progress);

/// What became of the earlier plan.
pub fn progress(all: &BTreeMap<Key, Progress>) -> Sheet<'_> {
    let rows: Vec<Line<'_>> = all.iter().collect();
    let mut columns = work();
    columns.extend(finds());
    Sheet::new("progress", columns, rows.len(), move |row| rows[row])
}

fn work<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        column(
            "year",
            Holds::Whole,
            "year of the earlier plan",
            |(key, _)| Value::whole(key.0),
        ),
        column("action", Holds::Text, "what it planned", |(key, _)| {
            Value::text(key.1.as_str())
        }),
        column(
            "method",
            Holds::Text,
            "method of inspections",
            |(key, _)| Value::text(key.2.as_str()),
        ),
        measured(
            "poles",
            "planned",
            Holds::Whole,
            "poles planned",
            |(_, own)| Value::whole(own.planned),
        ),
        measured(
            "poles",
            "done",
            Holds::Whole,
            "poles with a record since then that it was done: an inspection by a method at least as good, a brace, a new pole",
            |(_, own)| Value::whole(own.done),
        ),
        measured(
            "poles",
            "not_done",
            Holds::Whole,
            "poles still listed without such a record",
            |(_, own)| Value::whole(own.not_done()),
        ),
        measured(
            "poles",
            "gone",
            Holds::Whole,
            "poles no longer listed, or replaced, without such a record",
            |(_, own)| Value::whole(own.gone),
        ),
    ]
}

fn finds<'a>() -> Vec<Column<Line<'a>>> {
    fn inspected(line: &Line<'_>, value: impl Fn(&Progress) -> Value) -> Value {
        let (key, own) = line;
        if key.1 == "inspect" && own.done > 0 {
            value(own)
        } else {
            Value::Empty
        }
    }
    vec![
        measured(
            "poles",
            "below_limit_expected",
            Holds::Number,
            "of the poles inspected: sum of the chances of being below the limit that the earlier plan stated; what a method misses is not taken off",
            |line| inspected(line, |own| Value::number(to_decimals(own.expected, 1))),
        ),
        measured(
            "poles",
            "rejects_found",
            Holds::Whole,
            "of the poles inspected: judged below the limit",
            |line| inspected(line, |own| Value::whole(own.found)),
        ),
        measured(
            "poles",
            "rejects_found_low",
            Holds::Number,
            "lower end of its exact 95 % interval, of a share of the poles inspected",
            |line| inspected(line, |own| end(own, 0)),
        ),
        measured(
            "poles",
            "rejects_found_high",
            Holds::Number,
            "upper end",
            |line| inspected(line, |own| end(own, 1)),
        ),
        column("caution", Holds::Text, "how not to read the row", |_| {
            Value::text(PROGRESS_CAUTION)
        }),
    ]
}

fn end(own: &Progress, which: usize) -> Value {
    let interval = own.interval();
    interval.map_or(Value::Empty, |ends| {
        Value::number(to_decimals(ends[which], 1))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::tests::{assert_typed, cell};

    #[test]
    fn finds_stand_only_where_somebody_looked() {
        let own = Progress {
            planned: 10,
            done: 4,
            gone: 1,
            expected: 0.7,
            found: 0,
        };
        let key = |action: &str| (2025, action.to_owned(), String::new());
        let all = BTreeMap::from([(key("inspect"), own.clone()), (key("replace"), own)]);
        let sheet = progress(&all);
        assert_typed(&sheet);
        assert_eq!(
            (
                cell(&sheet, 0, "not_done"),
                cell(&sheet, 0, "below_limit_expected")
            ),
            ("5".into(), "0.7".into())
        );
        // None of 4: up to 1 - 0.025^(1/4) = 0.6024 of them.
        assert_eq!(
            (
                cell(&sheet, 0, "rejects_found_low"),
                cell(&sheet, 0, "rejects_found_high")
            ),
            ("0".into(), "2.4".into())
        );
        assert_eq!(cell(&sheet, 1, "rejects_found"), "");
    }
}
