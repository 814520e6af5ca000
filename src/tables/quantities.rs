//! `quantities.csv`: new poles needed by year, size, preservative and kind, and the totals taken from the trials.
//!
//! High quantiles of sizes do not add up to those of the total: all sizes are rarely high in the same trial. The totals
//! are therefore rows of their own, counted trial by trial, and every size row says so.

use super::audience::for_everybody;
use super::{Column, Holds, Sheet, Value, column, length_unit, measured};
use crate::pole::Vocabulary;
use crate::trial::{Demand, Group, Kind, Size};
use crate::units::LengthUnit;
use crate::words::Case;
use crate::words::quantities::{length, size_in_words, to_decimals, to_figures};

/// The word that stands where all sizes, preservatives or kinds are counted together.
const TOTAL: &str = "total";

/// One row.
pub struct Line<'a> {
    fleet: Case<'a>,
    demand: &'a Demand,
    unit: LengthUnit,
}

impl Line<'_> {
    fn group(&self) -> Option<&Group> {
        self.demand
            .group
            .and_then(|group| self.fleet.plan.forecast.groups.get(group))
    }

    fn size(&self, pick: fn(&Group) -> Size) -> Value {
        Value::text(self.group().map_or_else(
            || TOTAL.to_owned(),
            |group| size_in_words(pick(group), &self.fleet.inventory.names, self.unit),
        ))
    }

    /// What an order would say: nothing where a brace spares the pole.
    fn ordered(&self, value: Value) -> Value {
        if self.demand.kind == Some(Kind::Reinforced) {
            Value::Empty
        } else {
            value
        }
    }

    fn length(&self, pick: fn(&Group) -> Size) -> Value {
        self.group()
            .and_then(|group| pick(group).length)
            .map_or(Value::Empty, |mm| Value::number(length(mm, self.unit)))
    }

    fn class(&self, pick: fn(&Group) -> Size) -> Value {
        Value::maybe_text(
            self.group()
                .and_then(|group| pick(group).class)
                .map(|class| self.fleet.inventory.names.get(class)),
        )
    }
}

/// The quantities of a plan.
pub fn quantities(fleet: Case<'_>) -> Sheet<'_> {
    let unit = length_unit(&fleet.programme.sources);
    let demand = &fleet.plan.forecast.demand;
    let mut all = columns(unit);
    all.extend(counts());
    Sheet::new("quantities", for_everybody(all), demand.len(), move |row| {
        Line {
            fleet,
            demand: &demand[row],
            unit,
        }
    })
}

fn columns<'a>(unit: LengthUnit) -> Vec<Column<Line<'a>>> {
    vec![
        column(
            "year",
            Holds::Whole,
            "plan year; empty on the rows for the whole forecast",
            |line| line.demand.year.map_or(Value::Empty, Value::whole),
        ),
        column(
            "old_size",
            Holds::Text,
            "size of the pole that is replaced; unknown where the list gives none, total for all sizes",
            |line| line.size(|group| group.old),
        ),
        column(
            "new_size",
            Holds::Text,
            "size to order; total for all sizes; empty where a brace spares the pole",
            |line| line.ordered(line.size(|group| group.new)),
        ),
        column(
            "preservative",
            Holds::Text,
            "preservative to order; unknown where neither policy nor list says, total for all",
            |line| {
                line.ordered(Value::text(line.group().map_or(TOTAL, |group| {
                    group.preservative.map_or("unknown", Vocabulary::word)
                })))
            },
        ),
        column(
            "kind",
            Holds::Text,
            "planned, after_failure, other_demand; reinforced: a brace instead of a new pole; total for all kinds that need a new pole",
            |line| Value::text(line.demand.kind.map_or(TOTAL, Kind::word)),
        ),
        measured(
            unit.word(),
            "old_length",
            Holds::Number,
            "length that is replaced",
            |line| line.length(|group| group.old),
        ),
        column("old_class", Holds::Text, "class that is replaced", |line| {
            line.class(|group| group.old)
        }),
        measured(
            unit.word(),
            "new_length",
            Holds::Number,
            "length to order",
            |line| line.ordered(line.length(|group| group.new)),
        ),
        column("new_class", Holds::Text, "class to order", |line| {
            line.ordered(line.class(|group| group.new))
        }),
    ]
}

fn counts<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        measured(
            "poles",
            "mean",
            Holds::Number,
            "mean over the trials",
            |line| Value::number(to_decimals(line.demand.count.mean, 3)),
        ),
        measured(
            "poles",
            "standard_error",
            Holds::Number,
            "standard error of the mean: what another seed would change",
            |line| Value::number(to_figures(line.demand.count.standard_error, 2)),
        ),
        measured(
            "poles",
            "p10",
            Holds::Number,
            "1 in 10 trials needs fewer",
            |line| Value::number(to_decimals(line.demand.count.p10, 0)),
        ),
        measured(
            "poles",
            "p50",
            Holds::Number,
            "half of the trials need fewer",
            |line| Value::number(to_decimals(line.demand.count.p50, 0)),
        ),
        measured(
            "poles",
            "p90",
            Holds::Number,
            "9 in 10 trials need fewer; does not add up over sizes, kinds or years",
            |line| Value::number(to_decimals(line.demand.count.p90, 0)),
        ),
        measured(
            "share",
            "share_from_unknown_size",
            Holds::Number,
            "share of the mean that comes from poles whose size the list does not give",
            |line| Value::number(to_figures(line.demand.share_from_unknown_size, 2)),
        ),
        column("note", Holds::Text, "how to read the row", |line| {
            Value::text(note(line))
        }),
    ]
}

fn note(line: &Line<'_>) -> &'static str {
    if line.demand.year.is_none() {
        "whole forecast, counted trial by trial: not the sum of the years' P90s"
    } else if line.demand.group.is_none() || line.demand.kind.is_none() {
        "total counted trial by trial: not the sum of the sizes' P90s"
    } else {
        "P90s of sizes do not add up: take the total rows for totals"
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::PoleIndex;
    use crate::tables::tests::{assert_typed, cell};
    use crate::words::sample;

    #[test]
    fn sizes_and_totals_stand_in_rows_of_their_own() {
        let sample = sample::fleet();
        let sheet = quantities(sample.case(PoleIndex(0)));
        assert_typed(&sheet);
        let of = |row, column| cell(&sheet, row, column);
        assert_eq!(of(0, "old_size"), "40 ft class 4");
        assert_eq!(of(0, "new_length"), "40");
        assert_eq!(of(0, "mean"), "1.4");
        assert_eq!(of(1, "old_size"), "unknown");
        assert_eq!(
            (of(2, "new_size"), of(2, "kind")),
            ("total".into(), "planned".into())
        );
        assert_eq!(
            (of(4, "kind"), of(4, "preservative")),
            ("total".into(), "total".into())
        );
        assert_eq!(of(6, "year"), "");
        assert!(of(0, "note").contains("do not add up"));
        assert!(of(4, "note").contains("trial by trial"));
    }
}
