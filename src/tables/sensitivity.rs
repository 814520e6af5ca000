//! `sensitivity.csv`: the assumptions that most move next year's visits, replacements and money over their ranges.

use super::{Column, Holds, Sheet, Value, column, measured};
use crate::programme::Programme;
use crate::sensitivity::{End, Moved, Sensitivity};
use crate::words::Caution;
use crate::words::quantities::{money, to_decimals, to_figures};

/// One row: one end of one assumption's range, or another seed.
pub struct Line<'a> {
    programme: &'a Programme,
    all: &'a Sensitivity,
    rank: usize,
    moved: Option<&'a Moved>,
    end: &'a End,
    name: &'static str,
}

/// What moves the plan, the most telling first; another seed last.
pub fn sensitivity<'a>(programme: &'a Programme, all: &'a Sensitivity) -> Sheet<'a> {
    let ends = ["low", "high"];
    let len = ends.len() * all.moved.len() + 1;
    let mut columns = assumed();
    columns.extend(visits());
    columns.extend(horizon(programme));
    Sheet::new("sensitivity", columns, len, move |row| {
        let (place, end) = (row / ends.len(), row % ends.len());
        let moved = all.moved.get(place);
        Line {
            programme,
            all,
            rank: place + 1,
            moved,
            end: moved.map_or(&all.other_seed, |own| &own.ends[end]),
            name: moved.map_or("other", |_| ends[end]),
        }
    })
}

fn assumed<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        column(
            "rank",
            Holds::Whole,
            "1: the assumption that moves visits, replacements or cost by the largest share; the price of a failure is told whatever it moves",
            |line| Value::whole(line.rank),
        ),
        column("assumption", Holds::Text, "what is assumed", |line| {
            Value::text(
                line.moved
                    .map_or("the seed of the trials", |own| own.assumption.name),
            )
        }),
        column(
            "key",
            Holds::Text,
            "its key in the programme, or its figure in models/",
            |line| Value::text(line.moved.map_or("seed", |own| own.assumption.key)),
        ),
        column("unit", Holds::Text, "unit of base and value", |line| {
            Value::maybe_text(line.moved.map(|own| own.assumption.unit))
        }),
        column("base", Holds::Number, "the figure in the plan", |line| {
            let seed = line.programme.seed as f64;
            Value::number(
                line.moved
                    .map_or(seed, |own| to_figures(own.assumption.base, 4)),
            )
        }),
        column(
            "range_end",
            Holds::Text,
            "low or high end of the range",
            |line| Value::text(line.name),
        ),
        column(
            "value",
            Holds::Number,
            "the figure at that end",
            |line| match line.moved {
                Some(_) => Value::number(to_figures(line.end.value, 4)),
                None => Value::number(line.end.value),
            },
        ),
        column(
            "range_mark",
            Holds::Text,
            "how far the range can be relied on: published, memory, common practice or proposed",
            |line| Value::maybe_text(line.moved.map(|own| own.assumption.mark.word())),
        ),
        column(
            "range_source",
            Holds::Text,
            "where the range comes from",
            |line| {
                Value::text(line.moved.map_or(
                    "no assumption: visits must not change, the rest shows the error of the trials",
                    |own| own.assumption.source,
                ))
            },
        ),
    ]
}

fn visits<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        measured(
            "poles",
            "visits_next_year",
            Holds::Whole,
            "inspections planned in the first plan year with the figure at that end",
            |line| Value::whole(line.end.numbers.visits.len()),
        ),
        measured(
            "poles",
            "visits_change",
            Holds::Whole,
            "of these more (or, below 0, fewer) than in the plan",
            |line| Value::Whole(line.end.added as i64 - line.end.dropped as i64),
        ),
        measured(
            "poles",
            "visits_added",
            Holds::Whole,
            "poles visited in the first year that the plan does not visit then",
            |line| Value::whole(line.end.added),
        ),
        measured(
            "poles",
            "visits_dropped",
            Holds::Whole,
            "poles that the plan visits in the first year and that are not visited then",
            |line| Value::whole(line.end.dropped),
        ),
    ]
}

fn horizon<'a>(programme: &Programme) -> Vec<Column<Line<'a>>> {
    let unit = (programme.costs.currency.as_ref()).map_or_else(String::new, |(currency, year)| {
        format!("{currency} of {year}")
    });
    vec![
        measured(
            "poles",
            "replacements",
            Holds::Number,
            "new poles over the horizon, mean over the trials",
            |line| Value::number(to_decimals(line.end.numbers.replacements.mean, 1)),
        ),
        measured(
            "poles",
            "replacements_standard_error",
            Holds::Number,
            "standard error of that mean; the change below is between the same draws and is known better",
            |line| Value::number(to_decimals(line.end.numbers.replacements.standard_error, 1)),
        ),
        measured(
            "poles",
            "replacements_change",
            Holds::Number,
            "less than or beyond the mean as it is",
            |line| {
                let base = line.all.base.replacements.mean;
                Value::number(to_decimals(line.end.numbers.replacements.mean - base, 1))
            },
        ),
        measured(
            unit.clone(),
            "cost",
            Holds::Number,
            "what everything costs over the horizon, not discounted, mean over the trials; empty until currency and price year are set",
            |line| in_money(line, line.end.numbers.cost.mean),
        ),
        measured(
            unit,
            "cost_change",
            Holds::Number,
            "less than or beyond the mean as it is",
            |line| in_money(line, line.end.numbers.cost.mean - line.all.base.cost.mean),
        ),
        measured(
            "trials",
            "trials",
            Holds::Whole,
            "trials of these numbers; all rows on the same draws but the last",
            |line| Value::whole(line.all.trials),
        ),
        column("caution", Holds::Text, "how not to read the row", |_| {
            Value::text(Caution::Estimate.text())
        }),
    ]
}

fn in_money(line: &Line<'_>, amount: f64) -> Value {
    match line.programme.costs.currency {
        Some(_) => Value::number(money(amount)),
        None => Value::Empty,
    }
}

#[cfg(test)]
mod tests {
    use super::sensitivity;
    use crate::common::{inventory_of, pole_set, programme};
    use crate::models::text::built_in;
    use crate::tables::audience::public_part;
    use crate::tables::tests::{assert_typed, cell};

    #[test]
    fn every_end_of_a_range_is_a_row_with_its_source_and_caution() {
        let mut programme = programme();
        programme.trials = 20;
        let inventory = inventory_of(vec![("A", "L", pole_set(1960), Vec::new())]);
        let models = built_in().expect("valid models");
        let all = crate::sensitivity::sensitivity(&inventory, &models, &programme).expect("a pole");
        let sheet = sensitivity(&programme, &all);
        assert_typed(&sheet);
        assert_eq!(sheet.len, 2 * all.moved.len() + 1);
        for row in 0..sheet.len {
            let text = |column| cell(&sheet, row, column);
            assert!(!text("range_source").is_empty() && !text("caution").is_empty());
            assert_eq!(text("cost"), "", "no sum without a currency");
        }
        let last = sheet.len - 1;
        assert_eq!(cell(&sheet, last, "key"), "seed");
        assert_eq!(cell(&sheet, last, "visits_added"), "0");
        drop(sheet);
        programme.costs.currency = Some(("EUR".to_owned(), 2026));
        let sheet = sensitivity(&programme, &all);
        assert_ne!(cell(&sheet, 0, "cost"), "");
        assert!(public_part(sheet).is_none());
    }
}
