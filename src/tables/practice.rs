//! `practice.csv`: what inspections found by method and contractor, against what like poles should show.

use super::{Column, Holds, Sheet, Value, column, measured};
use crate::inventory::Inventory;
use crate::pole::Vocabulary;
use crate::score::practice::Row;
use crate::words::checks::{PRACTICE_CAUTION, stands_out};
use crate::words::quantities::{chance, to_decimals, to_figures};

/// One row.
pub struct Line<'a> {
    inventory: &'a Inventory,
    row: &'a Row,
}

/// What inspections found.
pub fn practice<'a>(inventory: &'a Inventory, rows: &'a [Row]) -> Sheet<'a> {
    let mut all = whose();
    all.extend(decay());
    all.extend(below_limit());
    all.extend(judged());
    Sheet::new("practice", all, rows.len(), move |number| Line {
        inventory,
        row: &rows[number],
    })
}

fn whose<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        column("method", Holds::Text, "how they looked", |line| {
            Value::text(line.row.method.word())
        }),
        column(
            "contractor",
            Holds::Text,
            "who looked; empty where nobody is recorded",
            |line| {
                Value::maybe_text(
                    line.row
                        .contractor
                        .map(|name| line.inventory.names.get(name)),
                )
            },
        ),
        column(
            "inspector",
            Holds::Text,
            "one of the contractor's inspectors; empty in the row of all of them",
            |line| {
                Value::maybe_text(
                    line.row
                        .inspector
                        .map(|name| line.inventory.names.get(name)),
                )
            },
        ),
        measured(
            "inspections",
            "inspections",
            Holds::Whole,
            "inspections with a verdict, of poles that are still listed, up to the first that condemned the pole",
            |line| Value::whole(line.row.own.inspections),
        ),
    ]
}

fn decay<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        measured(
            "inspections",
            "decay_found",
            Holds::Whole,
            "of these found decay, poles below the limit included",
            |line| Value::whole(line.row.own.decayed.found),
        ),
        measured(
            "inspections",
            "decay_expected",
            Holds::Number,
            "how many should have, by ages, the owner's curves, the method's sensitivity and who has left the list",
            |line| Value::number(to_decimals(line.row.own.decayed.expected, 1)),
        ),
        column(
            "decay_share",
            Holds::Number,
            "share that found decay",
            |line| share(line.row.own.decayed.found, line),
        ),
        column(
            "decay_share_low",
            Holds::Number,
            "lower end of its exact 95 % interval",
            |line| figure(line.row.own.decayed.interval(line.row.own.inspections).low),
        ),
        column("decay_share_high", Holds::Number, "upper end", |line| {
            figure(line.row.own.decayed.interval(line.row.own.inspections).high)
        }),
        column(
            "decay_share_expected",
            Holds::Number,
            "share that should have",
            |line| {
                Value::number(to_decimals(
                    line.row.own.decayed.expected / line.row.own.inspections as f64,
                    5,
                ))
            },
        ),
    ]
}

fn below_limit<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        measured(
            "inspections",
            "below_limit_found",
            Holds::Whole,
            "inspections that judged the pole below the limit",
            |line| Value::whole(line.row.own.rejected.found),
        ),
        measured(
            "inspections",
            "below_limit_expected",
            Holds::Number,
            "how many should have: few, because most poles below the limit have left the list",
            |line| Value::number(to_decimals(line.row.own.rejected.expected, 1)),
        ),
        column(
            "below_limit_share",
            Holds::Number,
            "share that did",
            |line| share(line.row.own.rejected.found, line),
        ),
        column(
            "below_limit_share_low",
            Holds::Number,
            "lower end of its exact 95 % interval",
            |line| figure(line.row.own.rejected.interval(line.row.own.inspections).low),
        ),
        column(
            "below_limit_share_high",
            Holds::Number,
            "upper end",
            |line| {
                figure(
                    line.row
                        .own
                        .rejected
                        .interval(line.row.own.inspections)
                        .high,
                )
            },
        ),
        column(
            "below_limit_share_expected",
            Holds::Number,
            "share that should have",
            |line| {
                Value::number(to_decimals(
                    line.row.own.rejected.expected / line.row.own.inspections as f64,
                    5,
                ))
            },
        ),
    ]
}

fn judged<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        column(
            "decay_found_over_expected",
            Holds::Number,
            "found over expected decay",
            |line| line.row.own.decayed.ratio().map_or(Value::Empty, figure),
        ),
        column(
            "others_found_over_expected",
            Holds::Number,
            "the same for all other contractors",
            |line| line.row.others.decayed.ratio().map_or(Value::Empty, figure),
        ),
        column(
            "chance_of_so_little",
            Holds::Number,
            "chance that so little decay is found on like poles by equal work (exact); lines differ, so small chances alone prove nothing",
            |line| {
                line.row
                    .chance_of_so_little
                    .map_or(Value::Empty, |value| Value::number(chance(value, LEAST)))
            },
        ),
        column(
            "note",
            Holds::Text,
            "why this row stands out; empty when it does not",
            |line| Value::text(line.row.stands_out.map_or("", stands_out)),
        ),
        column(
            "caution",
            Holds::Text,
            "what this comparison cannot prove",
            |_| Value::text(PRACTICE_CAUTION),
        ),
    ]
}

/// Shares and chances below this are only said to be below it.
const LEAST: f64 = 0.000_01;

fn share(found: usize, line: &Line<'_>) -> Value {
    figure(found as f64 / line.row.own.inspections as f64)
}

fn figure(value: f64) -> Value {
    Value::number(to_figures(value, 3))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::score::practice::practice as compare;
    use crate::tables::tests::{assert_typed, cell};
    use crate::words::sample;

    #[test]
    fn a_contractor_nobody_recorded_has_an_empty_name_and_a_caution() {
        let sample = sample::fleet();
        let rows = compare(&sample.inventory, &sample.programme, &sample.plan.beliefs);
        let sheet = practice(&sample.inventory, &rows);
        assert_typed(&sheet);
        assert_eq!(cell(&sheet, 0, "method"), "sound_and_bore");
        assert_eq!(cell(&sheet, 0, "contractor"), "");
        assert_eq!(cell(&sheet, 0, "inspections"), "3");
        assert_eq!(cell(&sheet, 0, "decay_found"), "2");
        assert_eq!(cell(&sheet, 0, "caution"), PRACTICE_CAUTION);
    }
}
