//! `packages.csv`: every planned round of inspections as a crew takes it, with its way, its poles and what it will find.

use super::{Column, Holds, Sheet, Value, column, measured};
use crate::pole::{Place, PoleIndex, Vocabulary};
use crate::schedule::{Package, Priority};
use crate::score::exact::{count_quantile, counts_of};
use crate::space::distance;
use crate::words::quantities::to_decimals;
use crate::words::{Case, caution_of_round};

/// One package.
pub struct Line<'a> {
    fleet: Case<'a>,
    number: usize,
    package: &'a Package,
}

impl<'a> Line<'a> {
    fn cases(&self) -> impl Iterator<Item = Case<'a>> {
        let fleet = self.fleet;
        self.package.poles.iter().map(move |pole| Case {
            pole: *pole,
            ..fleet
        })
    }

    /// Probability of each pole of being below the limit when the crew comes: in the middle of the plan year.
    fn below_limit(&self) -> impl Iterator<Item = f64> {
        let year = usize::from(self.package.year.unwrap_or(0));
        self.cases().map(move |case| {
            let yearly = &case.condition().below_limit;
            let at = |year: usize| {
                yearly
                    .get(year)
                    .or(yearly.last())
                    .map_or(0.0, |p| f64::from(*p))
            };
            f64::midpoint(at(year), at(year + 1))
        })
    }

    fn below_limit_quantile(&self, level: f64) -> Value {
        Value::whole(count_quantile(&counts_of(self.below_limit()), level))
    }
}

/// The packages of a plan, in the order of years and places.
pub fn packages(fleet: Case<'_>) -> Sheet<'_> {
    let all: Vec<Line<'_>> = lines(fleet).collect();
    Sheet::new("packages", columns(), all.len(), move |row| Line {
        fleet,
        number: all[row].number,
        package: all[row].package,
    })
}

fn lines(fleet: Case<'_>) -> impl Iterator<Item = Line<'_>> {
    let planned = fleet
        .plan
        .schedule
        .packages
        .iter()
        .filter(|package| package.year.is_some());
    planned.enumerate().map(move |(number, package)| Line {
        fleet,
        number: number + 1,
        package,
    })
}

/// Every planned package with its number, in the order of the rows.
pub fn planned(fleet: Case<'_>) -> impl Iterator<Item = (usize, &Package)> {
    lines(fleet).map(|line| (line.number, line.package))
}

/// The packages of the first plan year, each with its number, for the sheets that go to the field.
pub fn of_the_first_year(fleet: Case<'_>) -> impl Iterator<Item = (usize, &Package)> {
    lines(fleet)
        .filter(|line| line.package.year == Some(0))
        .map(|line| (line.number, line.package))
}

/// Metres from pole to pole in the order of the package, poles without coordinates left out.
fn way(fleet: Case<'_>, poles: &[PoleIndex]) -> Option<f64> {
    let places: Vec<Place> = poles
        .iter()
        .filter_map(|pole| fleet.inventory.pole(*pole).place)
        .collect();
    (places.len() > 1).then(|| {
        places
            .windows(2)
            .map(|pair| distance(pair[0], pair[1]))
            .sum()
    })
}

fn columns<'a>() -> Vec<Column<Line<'a>>> {
    let mut columns = what();
    columns.extend(finds());
    columns
}

fn what<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        column(
            "number",
            Holds::Whole,
            "number of the package; field sheets bear it",
            |line| Value::whole(line.number),
        ),
        column(
            "package",
            Holds::Text,
            "name: line and stretch, year",
            |line| Value::text(line.package.name.as_str()),
        ),
        column("kind", Holds::Text, "kind of work", |_| {
            Value::text("inspection")
        }),
        column("line", Holds::Text, "line", |line| {
            Value::maybe_text(
                line.package
                    .line
                    .map(|name| line.fleet.inventory.names.get(name)),
            )
        }),
        column(
            "year",
            Holds::Whole,
            "year in which the plan year begins",
            |line| {
                line.package.year.map_or(Value::Empty, |year| {
                    Value::whole(line.fleet.calendar_year(year))
                })
            },
        ),
        column("method", Holds::Text, "method of inspection", |line| {
            Value::text(line.package.method.word())
        }),
        column("poles", Holds::Whole, "poles to inspect", |line| {
            Value::whole(line.package.poles.len())
        }),
        measured(
            "crew-days",
            "crew_days",
            Holds::Number,
            "crew-days that it takes",
            |line| Value::number(to_decimals(line.package.crew_days, 2)),
        ),
        measured(
            "km",
            "distance",
            Holds::Number,
            "way from pole to pole, in the order of the sheet; empty without coordinates",
            |line| {
                way(line.fleet, &line.package.poles).map_or(Value::Empty, |metres| {
                    Value::number(to_decimals(metres / 1000.0, 2))
                })
            },
        ),
    ]
}

fn finds<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        column(
            "must_do",
            Holds::Whole,
            "poles that a law or a verdict makes due and that are late",
            |line| {
                let must = |case: &Case<'_>| case.row().priority == Priority::MustDo;
                Value::whole(line.cases().filter(must).count())
            },
        ),
        column(
            "overdue",
            Holds::Whole,
            "poles whose inspection is overdue at the plan date",
            |line| {
                Value::whole(
                    line.cases()
                        .filter(|case| case.row().overdue_days > 0)
                        .count(),
                )
            },
        ),
        column(
            "below_limit_expected",
            Holds::Number,
            "poles expected to be below the limit when the crew comes: the sum of their probabilities; an inspection finds fewer",
            |line| Value::number(to_decimals(line.below_limit().sum(), 1)),
        ),
        column(
            "below_limit_chance_of_one",
            Holds::Number,
            "probability that at least one pole is below the limit, poles taken apart",
            |line| {
                Value::number(to_decimals(
                    1.0 - line.below_limit().map(|p| 1.0 - p).product::<f64>(),
                    2,
                ))
            },
        ),
        column(
            "below_limit_p10",
            Holds::Whole,
            "1 in 10 such rounds meets as few below the limit or fewer, poles taken apart: where a whole line decays faster or slower than thought, the band is wider",
            |line| line.below_limit_quantile(0.1),
        ),
        column(
            "below_limit_p90",
            Holds::Whole,
            "9 in 10 such rounds meet as many below the limit or fewer, poles taken apart",
            |line| line.below_limit_quantile(0.9),
        ),
        column(
            "never_inspected",
            Holds::Whole,
            "poles without any inspection on record",
            |line| Value::whole(line.cases().filter(|case| case.last().is_none()).count()),
        ),
        column(
            "caution",
            Holds::Text,
            "what to beware of at any of its poles; never empty",
            |line| Value::text(caution_of_round(line.cases())),
        ),
    ]
}

#[cfg(test)]
mod tests {
    use super::packages;
    use crate::tables::tests::{assert_typed, cell};
    use crate::words::sample;

    #[test]
    fn each_planned_package_is_a_row_with_its_caution() {
        let sample = sample::fleet();
        let sheet = packages(sample.case(crate::pole::PoleIndex(0)));
        assert_typed(&sheet);
        let poles: usize = (0..sheet.len)
            .map(|row| {
                cell(&sheet, row, "poles")
                    .parse::<usize>()
                    .expect("a count")
            })
            .sum();
        let planned = sample
            .plan
            .schedule
            .packages
            .iter()
            .filter(|package| package.year.is_some());
        assert_eq!(
            poles,
            planned.map(|package| package.poles.len()).sum::<usize>()
        );
        for row in 0..sheet.len {
            assert!(cell(&sheet, row, "caution").contains("never clears a pole"));
        }
    }
}
