//! `orders.csv`: what to order now by size, all together, at later reviews, braces, the reserve for storms.
//!
//! Every row says in its note how it is to be read: sizes carry a reserve each, and their sum is more than what is enough
//! for all together. What cannot be known from the list is an empty cell.

use super::{Column, Holds, Sheet, Value, column, length_unit, measured};
use crate::pole::Vocabulary;
use crate::supply::{Freight, Order, OrderKind, Route};
use crate::units::LengthUnit;
use crate::words::orders::{note, size_to_order};
use crate::words::quantities::{length, to_decimals, to_figures};
use crate::words::{Case, Caution};

/// One row.
pub struct Line<'a> {
    fleet: Case<'a>,
    order: &'a Order,
    unit: LengthUnit,
}

impl Line<'_> {
    /// The word of what may be unknown; nothing where the row is about no one kind.
    fn word(&self, word: Option<&'static str>) -> Value {
        match self.order.kind {
            OrderKind::Total | OrderKind::Brace => Value::Empty,
            _ => Value::text(word.unwrap_or("unknown")),
        }
    }

    fn length(&self) -> Value {
        let long = self.order.size.as_ref().and_then(|size| size.length);
        long.map_or(Value::Empty, |mm| Value::number(length(mm, self.unit)))
    }

    fn class(&self) -> Value {
        let size = self.order.size.as_ref();
        Value::maybe_text(size.and_then(|size| size.class.as_deref()))
    }

    /// What is needed; nothing of a reserve, which answers to no need that is counted.
    fn need(&self, value: Value) -> Value {
        match self.order.kind {
            OrderKind::StormReserve => Value::Empty,
            _ => value,
        }
    }

    fn measure(&self, pick: fn(&Freight) -> Option<f64>) -> Value {
        pick(&self.order.freight).map_or(Value::Empty, |value| Value::number(to_figures(value, 3)))
    }
}

/// The orders of a plan.
pub fn orders(fleet: Case<'_>) -> Sheet<'_> {
    let unit = length_unit(&fleet.programme.sources);
    let rows = &fleet.plan.orders.rows;
    let mut all = which(unit);
    all.extend(days());
    all.extend(counts());
    all.extend(freight(fleet.programme.supply.yard.is_some()));
    all.push(column("note", Holds::Text, "how to read the row", |line| {
        Value::text(note(line.order, line.fleet.programme))
    }));
    all.push(column(
        "caution",
        Holds::Text,
        "what an estimate can never do",
        |_| Value::text(Caution::Estimate.text()),
    ));
    Sheet::new("orders", all, rows.len(), move |row| Line {
        fleet,
        order: &rows[row],
        unit,
    })
}

fn which<'a>(unit: LengthUnit) -> Vec<Column<Line<'a>>> {
    vec![
        column(
            "row",
            Holds::Text,
            "now: to order on the first day of the plan; later: what to expect at a later review; total: all sizes on the first day; brace; storm_reserve",
            |line| Value::text(line.order.kind.word()),
        ),
        column(
            "size",
            Holds::Text,
            "size to order, by [[substitution]] where one fits; of a brace the size of the pole that it goes on",
            |line| Value::text(size_to_order(line.order, line.unit)),
        ),
        measured(unit.word(), "length", Holds::Number, "length", Line::length),
        column("class", Holds::Text, "class", Line::class),
        column(
            "species",
            Holds::Text,
            "species; unknown where neither policy nor list says",
            |line| line.word(line.order.species.map(Vocabulary::word)),
        ),
        column(
            "preservative",
            Holds::Text,
            "preservative; unknown where neither policy nor list says",
            |line| line.word(line.order.preservative.map(Vocabulary::word)),
        ),
        column(
            "drying",
            Holds::Text,
            "air: what can wait; kiln: what cannot, and long poles",
            |line| Value::maybe_text(line.order.route.map(Route::word)),
        ),
    ]
}

fn days<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        column(
            "need_by",
            Holds::Day,
            "when the first of them is needed",
            |line| line.order.need_by.map_or(Value::Empty, Value::Day),
        ),
        column(
            "order_by",
            Holds::Day,
            "when to order: need_by less drying, treating and transport, but never before the plan",
            |line| line.order.order_by.map_or(Value::Empty, Value::Day),
        ),
        column(
            "arrives",
            Holds::Day,
            "when what is ordered on that day can be there",
            |line| line.order.arrives.map_or(Value::Empty, Value::Day),
        ),
    ]
}

fn counts<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        measured(
            "poles",
            "known",
            Holds::Whole,
            "already judged below the limit and needed until the next order can arrive",
            |line| line.need(Value::whole(line.order.need.known)),
        ),
        measured(
            "poles",
            "other_demand",
            Holds::Whole,
            "given by number in [[other_demand]] for the same time",
            |line| line.need(Value::whole(line.order.need.given)),
        ),
        measured(
            "poles",
            "likely_mean",
            Holds::Number,
            "needed besides in the same time: mean over the trials",
            |line| line.need(Value::number(to_decimals(line.order.need.rest.mean, 3))),
        ),
        measured(
            "poles",
            "likely_standard_error",
            Holds::Number,
            "standard error of that mean: what another seed would change",
            |line| {
                line.need(Value::number(to_figures(
                    line.order.need.rest.standard_error,
                    2,
                )))
            },
        ),
        measured(
            "poles",
            "likely_p10",
            Holds::Number,
            "1 in 10 trials needs fewer besides",
            |line| line.need(Value::number(to_decimals(line.order.need.rest.p10, 0))),
        ),
        measured(
            "poles",
            "likely_p90",
            Holds::Number,
            "9 in 10 trials need fewer besides; does not add up over sizes",
            |line| line.need(Value::number(to_decimals(line.order.need.rest.p90, 0))),
        ),
        measured(
            "poles",
            "enough",
            Holds::Whole,
            "known, other demand, and as many more as suffice at supply.chance_of_not_running_short",
            |line| line.need(Value::whole(line.order.need.enough)),
        ),
        measured(
            "poles",
            "on_hand",
            Holds::Whole,
            "in the yard by [[stock]]",
            |line| line.order.on_hand.map_or(Value::Empty, Value::whole),
        ),
        measured(
            "poles",
            "on_order",
            Holds::Whole,
            "on order by [[stock]] and there in time",
            |line| line.order.on_order.map_or(Value::Empty, Value::whole),
        ),
        measured(
            "poles",
            "quantity",
            Holds::Whole,
            "how many to order: enough, less what is on hand, on order and in the row before of the same size",
            |line| Value::whole(line.order.quantity),
        ),
    ]
}

fn freight<'a>(yard: bool) -> Vec<Column<Line<'a>>> {
    let mut all: Vec<Column<Line<'a>>> = vec![
        column(
            "lots",
            Holds::Whole,
            "lots of supply.lot_size; empty where that is not set",
            |line| line.order.freight.lots.map_or(Value::Empty, Value::whole),
        ),
        measured(
            "truck loads",
            "trucks",
            Holds::Number,
            "by volume where it is known, else by number; a load takes supply.truck_load poles of 12 m and class 4",
            |line| line.measure(|freight| freight.trucks),
        ),
        measured(
            "m3",
            "volume",
            Holds::Number,
            "as a truncated cone by the class tables; empty for a size without such a class",
            |line| line.measure(|freight| freight.volume),
        ),
        measured(
            "t",
            "mass",
            Holds::Number,
            "by supply.density_kg_per_m3; empty where that is not set",
            |line| line.measure(|freight| freight.mass),
        ),
    ];
    if yard {
        all.push(column(
            "stacks",
            Holds::Whole,
            "stacks of one size by [yard], clear of the ground and no higher than it says",
            |line| line.order.freight.stacks.map_or(Value::Empty, Value::whole),
        ));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::PoleIndex;
    use crate::tables::tests::{assert_typed, cell};
    use crate::words::sample;

    #[test]
    fn a_row_says_what_to_order_and_how_to_read_it() {
        let mut sample = sample::fleet();
        let sheet = orders(sample.case(PoleIndex(0)));
        assert_typed(&sheet);
        let of = |row, column| cell(&sheet, row, column);
        assert_eq!(
            (of(0, "row"), of(0, "size"), of(0, "length")),
            ("now".into(), "40 ft class 4".into(), "40".into())
        );
        assert_eq!(
            (of(0, "drying"), of(0, "quantity"), of(0, "on_hand")),
            ("kiln".into(), "3".into(), "1".into())
        );
        assert_eq!(
            (of(0, "volume"), of(0, "mass")),
            ("2.5".into(), String::new())
        );
        assert!(of(1, "size").contains("measure before ordering"));
        assert_eq!(
            (of(1, "lots"), of(1, "volume")),
            (String::new(), String::new())
        );
        assert_eq!(
            (of(2, "row"), of(2, "size"), of(2, "species")),
            ("total".into(), "total".into(), String::new())
        );
        assert!(of(2, "note").contains("trial by trial"));
        assert!(of(4, "note").contains("no pole"));
        for row in 0..sheet.len {
            assert!(!of(row, "caution").is_empty() && !of(row, "note").is_empty());
        }
        assert!(sheet.place("stacks").is_none());
        drop(sheet);
        sample.programme.supply.yard = Some(crate::programme::supply::Yard {
            stack_width: crate::units::Mm(3_000.0),
            stack_height: crate::units::Mm(3_000.0),
        });
        assert!(orders(sample.case(PoleIndex(0))).place("stacks").is_some());
    }
}
