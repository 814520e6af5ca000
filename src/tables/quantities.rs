//! `quantities.csv`: new poles needed by year, size, preservative and kind, and the totals taken from the trials.
//!
//! High quantiles of sizes do not add up to those of the total: all sizes are rarely high in the same trial. The totals
//! are therefore rows of their own, counted trial by trial, and every size row says so.

use super::audience::for_everybody;
use super::{Column, Holds, Sheet, Value, column, length_unit, measured};
use crate::pole::Vocabulary;
use crate::programme::supply::{GivenDemand, SizeName};
use crate::trial::{Band, Demand, Group, Kind};
use crate::units::{LengthUnit, Mm};
use crate::words::Case;
use crate::words::quantities::{length, new_size_in_words, size_in_words, to_decimals, to_figures};

/// The word that stands where all sizes, preservatives or kinds are counted together.
const TOTAL: &str = "total";

/// One row.
pub struct Line<'a> {
    fleet: Case<'a>,
    demand: Demand,
    /// What the owner needs by number, where the row is about that.
    given: Option<&'a GivenDemand>,
    unit: LengthUnit,
}

/// The kind of what the owner gives by number: no trial counts it.
const GIVEN: &str = "other_demand_given";

/// What the owner gives, as a count that is the same in every trial.
fn certain(given: &GivenDemand) -> Demand {
    Demand {
        year: Some(given.year),
        group: None,
        kind: Some(Kind::OtherDemand),
        count: Band::of(std::iter::once(u64::from(given.count))),
        share_from_unknown_size: 0.0,
    }
}

impl Line<'_> {
    fn group(&self) -> Option<&Group> {
        self.demand
            .group
            .and_then(|group| self.fleet.plan.forecast.groups.get(group))
    }

    fn size(&self, say: impl Fn(&Group) -> String) -> Value {
        Value::text(self.group().map_or_else(|| TOTAL.to_owned(), say))
    }

    fn old_size(&self) -> Value {
        if self.given.is_some() {
            return Value::Empty;
        }
        self.size(|group| size_in_words(group.old, &self.fleet.inventory.names, self.unit))
    }

    fn new_size(&self) -> Value {
        if let Some(given) = self.given {
            return Value::text(new_size_in_words(&given.size, self.unit));
        }
        self.size(|group| new_size_in_words(&group.new, self.unit))
    }

    /// A word of what is ordered.
    fn word(
        &self,
        pick: impl Fn(&Group) -> Option<&'static str>,
        given: impl Fn(&GivenDemand) -> Option<&'static str>,
    ) -> Value {
        if let Some(own) = self.given {
            return Value::text(given(own).unwrap_or("unknown"));
        }
        self.ordered(Value::text(
            self.group()
                .map_or(TOTAL, |group| pick(group).unwrap_or("unknown")),
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

    fn length(&self, pick: fn(&Group) -> Option<Mm>) -> Value {
        self.group()
            .and_then(pick)
            .map_or(Value::Empty, |mm| Value::number(length(mm, self.unit)))
    }

    fn old_class(&self) -> Value {
        let class = self.group().and_then(|group| group.old.class);
        Value::maybe_text(class.map(|class| self.fleet.inventory.names.get(class)))
    }

    /// The size to order.
    fn to_order(&self) -> Option<&SizeName> {
        let given = self.given.map(|given| &given.size);
        given.or_else(|| self.group().map(|group| &group.new))
    }

    fn new_length(&self) -> Value {
        let long = self.to_order().and_then(|size| size.length);
        long.map_or(Value::Empty, |mm| Value::number(length(mm, self.unit)))
    }

    fn new_class(&self) -> Value {
        Value::maybe_text(self.to_order().and_then(|size| size.class.as_deref()))
    }
}

/// The quantities of a plan.
pub fn quantities(fleet: Case<'_>) -> Sheet<'_> {
    let unit = length_unit(&fleet.programme.sources);
    let demand = &fleet.plan.forecast.demand;
    let given = &fleet.programme.supply.other_demand;
    let mut all = columns(unit);
    all.extend(counts());
    let rows = demand.len() + given.len();
    Sheet::new("quantities", for_everybody(all), rows, move |row| {
        let own = row.checked_sub(demand.len()).map(|place| &given[place]);
        Line {
            fleet,
            demand: own.map_or_else(|| demand[row], certain),
            given: own,
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
            Line::old_size,
        ),
        column(
            "new_size",
            Holds::Text,
            "size to order; total for all sizes; empty where a brace spares the pole",
            |line| line.ordered(line.new_size()),
        ),
        column(
            "preservative",
            Holds::Text,
            "preservative to order; unknown where neither policy nor list says, total for all",
            |line| {
                line.word(
                    |group| group.preservative.map(Vocabulary::word),
                    |own| own.preservative.map(Vocabulary::word),
                )
            },
        ),
        column(
            "species",
            Holds::Text,
            "species to order; unknown where neither policy nor list says, total for all",
            |line| {
                line.word(
                    |group| group.species.map(Vocabulary::word),
                    |own| own.species.map(Vocabulary::word),
                )
            },
        ),
        column(
            "kind",
            Holds::Text,
            "planned, after_failure, other_demand (by the yearly rate); other_demand_given: by number in [[other_demand]]; reinforced: a brace instead of a new pole; total for all kinds that the trials count and that need a new pole",
            |line| {
                let counted = line.demand.kind.map_or(TOTAL, Kind::word);
                Value::text(if line.given.is_some() { GIVEN } else { counted })
            },
        ),
        measured(
            unit.word(),
            "old_length",
            Holds::Number,
            "length that is replaced",
            |line| line.length(|group| group.old.length),
        ),
        column("old_class", Holds::Text, "class that is replaced", |line| {
            line.old_class()
        }),
        measured(
            unit.word(),
            "new_length",
            Holds::Number,
            "length to order",
            |line| line.ordered(line.new_length()),
        ),
        column("new_class", Holds::Text, "class to order", |line| {
            line.ordered(line.new_class())
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
    if line.given.is_some() {
        "given by number, for what the programme says; in no total row, but in orders.csv"
    } else if line.demand.year.is_none() {
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
        let mut sample = sample::fleet();
        sample.programme.supply.other_demand = vec![GivenDemand {
            year: 2027,
            size: SizeName::parse("45 ft class 3").expect("a size"),
            species: None,
            preservative: None,
            count: 25,
            what_for: "a road".to_owned(),
        }];
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
        assert_eq!(
            (
                of(7, "kind"),
                of(7, "new_size"),
                of(7, "old_size"),
                of(7, "p90")
            ),
            (
                "other_demand_given".into(),
                "45 ft class 3".into(),
                String::new(),
                "25".into()
            )
        );
        assert!(of(0, "note").contains("do not add up"));
        assert!(of(4, "note").contains("trial by trial"));
    }
}
