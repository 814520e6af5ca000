//! `compare.csv` and `compare_totals.csv`: policies side by side, year by year and over the horizon.
//!
//! Money only where the programme names a currency and price year, counts always. Differences are those of the same trial.

use super::{Column, Holds, Sheet, Value, column, measured};
use crate::compare::{Compared, Comparison, Difference, Measure, Span, Unit};
use crate::programme::Programme;
use crate::trial::Band;
use crate::words::Caution;
use crate::words::quantities::{money, to_decimals, to_figures};

/// One row: a measure of a policy in a year or over the horizon.
pub struct Line<'a> {
    programme: &'a Programme,
    all: &'a Comparison,
    own: &'a Compared,
    measure: Measure,
    span: Span,
    /// The policy's own value.
    band: Band,
    /// Over the horizon: against the programme's own.
    difference: Option<Difference>,
}

/// What every policy takes year by year.
pub fn by_year<'a>(programme: &'a Programme, all: &'a Comparison) -> Sheet<'a> {
    let rows: Vec<(usize, u16, Measure)> = all
        .policies
        .iter()
        .enumerate()
        .flat_map(|(place, own)| {
            let years = 0..own.course.years();
            years.flat_map(move |year| {
                let measures = Measure::OF_YEARS.into_iter();
                measures.map(move |measure| (place, year, measure))
            })
        })
        .filter(|(place, year, measure)| {
            let own = &all.policies[*place].course;
            is_told(programme, *measure, Span::Year(*year))
                && own.trials(*measure, Span::Year(*year)).is_some()
        })
        .collect();
    Sheet::new("compare", year_columns(), rows.len(), move |number| {
        let (place, year, measure) = rows[number];
        let own = &all.policies[place];
        let band = own.course.band(measure, Span::Year(year));
        Line {
            programme,
            all,
            own,
            measure,
            span: Span::Year(year),
            band: band.unwrap_or_default(),
            difference: None,
        }
    })
}

/// Sums of money are told only with their currency and price year.
fn is_told(programme: &Programme, measure: Measure, span: Span) -> bool {
    measure.unit(span) != Unit::Money || programme.costs.currency.is_some()
}

fn unit_in_words(programme: &Programme, measure: Measure, span: Span) -> String {
    match measure.unit(span) {
        Unit::Money => (programme.costs.currency.as_ref())
            .map_or_else(String::new, |(currency, year)| {
                format!("{currency} of {year}")
            }),
        Unit::Poles => "poles".to_owned(),
        Unit::PoleYears => "pole-years".to_owned(),
        Unit::CrewDays => "crew-days".to_owned(),
    }
}

/// Money to three figures; means to three decimals; quantiles of counts as they are, to a tenth.
fn shown(measure: Measure, span: Span, value: f64, is_mean: bool) -> Value {
    Value::number(match measure.unit(span) {
        Unit::Money => money(value),
        _ if is_mean => to_decimals(value, 3),
        _ => to_decimals(value, 1),
    })
}

impl Line<'_> {
    fn value(&self, value: f64, is_mean: bool) -> Value {
        shown(self.measure, self.span, value, is_mean)
    }

    /// A number of the difference, as the measure's own are shown.
    fn than_programme(&self, of: fn(&Band) -> f64, is_mean: bool) -> Value {
        self.difference.map_or(Value::Empty, |own| {
            self.value(of(&own.than_programme), is_mean)
        })
    }

    fn share(&self, of: fn(&Difference) -> f64) -> Value {
        self.difference
            .map_or(Value::Empty, |own| Value::number(to_figures(of(&own), 2)))
    }
}

/// Which policy a row is of.
fn policy<'a>() -> Column<Line<'a>> {
    column(
        "policy",
        Holds::Text,
        "the policy's name; the programme's own comes first",
        |line| Value::text(line.own.course.alternative.name.as_str()),
    )
}

/// The unit of a row and the policy's own numbers.
fn numbers<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        column(
            "unit",
            Holds::Text,
            "unit of the numbers of the row",
            |line| Value::text(unit_in_words(line.programme, line.measure, line.span)),
        ),
        column("mean", Holds::Number, "mean over the trials", |line| {
            line.value(line.band.mean, true)
        }),
        column(
            "standard_error",
            Holds::Number,
            "standard error of the mean: what another seed would change",
            |line| line.value(line.band.standard_error, true),
        ),
        column("p10", Holds::Number, "1 in 10 trials has less", |line| {
            line.value(line.band.p10, false)
        }),
        column(
            "p50",
            Holds::Number,
            "half of the trials have less",
            |line| line.value(line.band.p50, false),
        ),
        column(
            "p90",
            Holds::Number,
            "9 in 10 trials have less; does not add up over kinds or years",
            |line| line.value(line.band.p90, false),
        ),
    ]
}

fn caution<'a>() -> Column<Line<'a>> {
    column("caution", Holds::Text, "how not to read the row", |_| {
        Value::text(Caution::Estimate.text())
    })
}

const MEASURES: &str = "cost_operating, cost_capital, failures, replacements (new poles of all kinds), reinforcements, visits, remedial_treatments, rejects_found (judged below the limit at visits), below_limit (poles that stand below it at the end of the year), backlog_visits (called for by a rule and without a crew by the end of the year), backlog_crew_days (visits of the trials beyond the crews, carried on), backlog_must_do (not paid for by the limits of money)";

fn year_columns<'a>() -> Vec<Column<Line<'a>>> {
    let mut columns = vec![
        policy(),
        column("year", Holds::Whole, "plan year", |line| match line.span {
            Span::Year(year) => {
                Value::whole(i32::from(line.own.course.first_year) + i32::from(year))
            }
            Span::Horizon => Value::Empty,
        }),
        column("kind", Holds::Text, MEASURES, |line| {
            Value::text(line.measure.word())
        }),
    ];
    columns.extend(numbers());
    columns.push(caution());
    columns
}

/// Every policy over the horizon, and against the programme's own.
pub fn totals<'a>(programme: &'a Programme, all: &'a Comparison) -> Sheet<'a> {
    let rows: Vec<(usize, Difference)> = all
        .policies
        .iter()
        .enumerate()
        .flat_map(|(place, own)| own.differences.iter().map(move |own| (place, *own)))
        .filter(|(_, own)| is_told(programme, own.measure, Span::Horizon))
        .collect();
    let mut columns = total_columns();
    columns.extend(difference_columns());
    columns.extend(policy_columns());
    Sheet::new("compare_totals", columns, rows.len(), move |number| {
        let (place, difference) = rows[number];
        Line {
            programme,
            all,
            own: &all.policies[place],
            measure: difference.measure,
            span: Span::Horizon,
            band: difference.own,
            difference: Some(difference),
        }
    })
}

fn total_columns<'a>() -> Vec<Column<Line<'a>>> {
    let mut columns = vec![
        policy(),
        column(
            "kind",
            Holds::Text,
            "as in compare.csv, over the horizon; besides cost (both accounts), cost_present_value (discounted to the plan date), cost_net (that less what is left of the new poles at the end of the horizon: compare policies by it), rejects_found_in_5_years, below_limit in pole-years, and below_limit_at_end; a backlog is that of the last year told",
            |line| Value::text(line.measure.word()),
        ),
    ];
    columns.extend(numbers());
    columns
}

fn difference_columns<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        column(
            "difference_mean",
            Holds::Number,
            "this policy less the programme's own on the same draws, mean over the trials",
            |line| line.than_programme(|band| band.mean, true),
        ),
        column(
            "difference_standard_error",
            Holds::Number,
            "its paired standard error: a mean within two of them may be none",
            |line| line.than_programme(|band| band.standard_error, true),
        ),
        column(
            "difference_p10",
            Holds::Number,
            "1 in 10 trials differs by less",
            |line| line.than_programme(|band| band.p10, false),
        ),
        column(
            "difference_p50",
            Holds::Number,
            "half of the trials differ by less",
            |line| line.than_programme(|band| band.p50, false),
        ),
        column(
            "difference_p90",
            Holds::Number,
            "9 in 10 trials differ by less",
            |line| line.than_programme(|band| band.p90, false),
        ),
        column(
            "chance_lower",
            Holds::Number,
            "share of the trials in which it is lower than the programme's own: of costs the chance that the policy is cheaper, of failures that it has fewer",
            |line| line.share(|own| own.lower),
        ),
        column(
            "chance_higher",
            Holds::Number,
            "share of the trials in which it is higher; the rest are equal",
            |line| line.share(|own| own.higher),
        ),
    ]
}

fn policy_columns<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        measured(
            "poles",
            "visits_moved",
            Holds::Whole,
            "poles whose planned inspection is in another year than in the programme's plan, or in one of the two only",
            |line| Value::whole(line.own.visits_moved),
        ),
        column(
            "total_j_difference",
            Holds::Number,
            "where only crews, money and turns differ: the schedule's total J less that of the programme's own, by the value of a visit, in the programme's currency",
            |line| match (line.own.value_gained, &line.programme.costs.currency) {
                (Some(gained), Some(_)) => Value::number(money(0.0 - gained)),
                _ => Value::Empty,
            },
        ),
        column(
            "dominated_by",
            Holds::Text,
            "a policy that costs less (cost_net at the programme's prices) and fails less in expectation, both by more than two paired standard errors",
            |line| {
                let by = line.own.dominated.map(|own| own.by);
                let name = by.map(|by| &line.all.policies[by].course.alternative.name);
                Value::maybe_text(name.map(String::as_str))
            },
        ),
        column(
            "dominated_in_trials",
            Holds::Number,
            "share of the trials in which this policy both costs more and fails more than that one",
            |line| {
                let share = line.own.dominated.map(|own| own.share);
                share.map_or(Value::Empty, |share| Value::number(to_figures(share, 2)))
            },
        ),
        column(
            "laws_not_kept",
            Holds::Text,
            "rules of the programme that are law and that this policy stretches or drops: it is no choice, only a comparison",
            |line| Value::text(line.own.course.laws_not_kept.join("; ")),
        ),
        caution(),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inventory_of, pole_set, programme};
    use crate::compare::{Setting, compared};
    use crate::models::text::built_in;
    use crate::programme::Alternative;
    use crate::tables::audience::public_part;
    use crate::tables::tests::{assert_typed, cell};

    fn comparison(programme: &Programme) -> Comparison {
        let poles = [1955, 1960, 1965].map(|year| ("L", pole_set(year)));
        let ids = ["A", "B", "C"].into_iter().zip(poles);
        let inventory = inventory_of(
            ids.map(|(id, (line, pole))| (id, line, pole, Vec::new()))
                .collect(),
        );
        let models = built_in().expect("valid models");
        let setting = Setting::new(&inventory, &models, programme).expect("poles");
        let none = Alternative {
            inspect: false,
            ..Alternative::unchanged("=none")
        };
        let policies = [Alternative::unchanged("own"), none];
        let courses = policies.map(|own| setting.course(&own).expect("a sound schedule"));
        compared(courses.into(), programme.trials)
    }

    #[test]
    fn money_stands_only_with_its_currency_and_every_row_has_its_caution() {
        let mut programme = programme();
        programme.trials = 50;
        let all = comparison(&programme);
        let kinds = |sheet: &Sheet<'_>| -> Vec<String> {
            (0..sheet.len).map(|row| cell(sheet, row, "kind")).collect()
        };
        let money = |kinds: &[String]| kinds.iter().filter(|kind| kind.starts_with("cost")).count();
        let sheets = [by_year(&programme, &all), totals(&programme, &all)];
        for sheet in &sheets {
            assert_typed(sheet);
            assert_eq!(money(&kinds(sheet)), 0);
            assert!((0..sheet.len).all(|row| cell(sheet, row, "caution").contains("never clears")));
        }
        drop(sheets);
        programme.costs.currency = Some(("EUR".to_owned(), 2026));
        let years = by_year(&programme, &all);
        // Two accounts in each of twenty years of two policies.
        assert_eq!(money(&kinds(&years)), 2 * 20 * 2);
        assert_eq!(cell(&years, 0, "unit"), "EUR of 2026");
        assert_eq!(cell(&years, 0, "year"), "2025");
        let sheet = totals(&programme, &all);
        assert_typed(&sheet);
        assert_eq!(money(&kinds(&sheet)), 5 * 2);
        assert_eq!(cell(&sheet, 0, "policy"), "own");
        // A name that a spreadsheet could take for a formula is made harmless.
        assert_eq!(cell(&sheet, sheet.len - 1, "policy"), "'=none");
        assert_eq!(cell(&sheet, 0, "difference_mean"), "0");
    }

    #[test]
    fn nothing_of_a_comparison_is_for_everybody() {
        let mut programme = programme();
        programme.trials = 20;
        let all = comparison(&programme);
        assert!(public_part(by_year(&programme, &all)).is_none());
        assert!(public_part(totals(&programme, &all)).is_none());
    }
}
