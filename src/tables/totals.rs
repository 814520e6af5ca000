//! `totals.csv`: a plan's totals, for everybody.

use super::audience::for_everybody;
use super::{Holds, Sheet, Value, column};
use crate::trial::Kind;
use crate::words::overview::{Needed, Overview, ProblemCount, Spread};
use crate::words::quantities::to_decimals;

/// One row.
#[derive(Debug, Clone)]
pub struct Total {
    what: String,
    year: Option<i16>,
    count: f64,
    band: Option<Spread>,
}

impl Total {
    fn counted(what: &str, count: usize) -> Self {
        Self {
            what: what.to_owned(),
            year: None,
            count: count as f64,
            band: None,
        }
    }

    fn spread(what: &str, year: Option<i16>, band: Spread) -> Self {
        Self {
            what: what.to_owned(),
            year,
            count: band.mean,
            band: Some(band),
        }
    }

    fn quantile(&self, pick: fn(&Spread) -> f64) -> Value {
        self.band.as_ref().map_or(Value::Empty, |band| {
            Value::number(to_decimals(pick(band), 0))
        })
    }
}

/// The totals of a plan.
pub fn totals(overview: &Overview) -> Sheet<'static> {
    let rows = rows(overview);
    let columns = vec![
        column("what", Holds::Text, "what is counted", |total: &Total| {
            Value::text(total.what.as_str())
        }),
        column(
            "year",
            Holds::Whole,
            "plan year; empty at the plan date and for the whole forecast",
            |total| total.year.map_or(Value::Empty, Value::whole),
        ),
        column(
            "count",
            Holds::Number,
            "how many; a mean over the trials where a band stands beside it",
            |total| Value::number(to_decimals(total.count, 1)),
        ),
        column("p10", Holds::Number, "1 in 10 trials has fewer", |total| {
            total.quantile(|band| band.p10)
        }),
        column("p90", Holds::Number, "9 in 10 trials have fewer", |total| {
            total.quantile(|band| band.p90)
        }),
    ];
    Sheet::new("totals", for_everybody(columns), rows.len(), move |row| {
        rows[row].clone()
    })
}

fn rows(overview: &Overview) -> Vec<Total> {
    let round = &overview.next_round;
    let overdue = overview.overdue.iter().map(|rule| rule.poles).sum();
    let mut rows = vec![
        Total::counted("poles planned for", overview.poles),
        Total::counted("poles without coordinates", overview.unknowns.place),
        Total::counted("poles never inspected", overview.unknowns.never_inspected),
        Total::counted("poles judged dangerous", overview.danger.len()),
        Total::counted(
            "poles judged below the limit and still standing",
            overview.rejects_standing,
        ),
        Total::counted("inspections overdue", overdue),
        Total::counted(
            "poles with neither a set date nor an inspection on record",
            overview.nothing_recorded,
        ),
        Total::counted("called for and not planned", overview.deferred),
        Total {
            year: Some(round.year),
            ..Total::counted("inspections planned", round.inspections)
        },
    ];
    rows.extend(
        round
            .expected_rejects
            .map(|band| Total::spread("rejects expected", Some(round.year), band)),
    );
    let new_poles = |needed: &Needed, year: Option<i16>| {
        let what = if needed.kind == Kind::Reinforced.word() {
            "poles braced instead of replaced".to_owned()
        } else {
            format!("new poles needed, {}", needed.kind.replace('_', " "))
        };
        Total::spread(&what, year, needed.count)
    };
    let replacements = &overview.replacements;
    let first = Some(replacements.first_year);
    rows.extend(
        replacements
            .in_first_year
            .iter()
            .map(|needed| new_poles(needed, first)),
    );
    rows.extend(
        replacements
            .over_horizon
            .iter()
            .map(|needed| new_poles(needed, None)),
    );
    rows
}

/// Problems counted by their code: what everybody may see of `data_problems.csv`.
pub fn problem_counts(rows: &[ProblemCount]) -> Sheet<'_> {
    let columns = vec![
        column(
            "code",
            Holds::Text,
            "code of the kind of problem",
            |row: &&ProblemCount| Value::text(row.code),
        ),
        column("severity", Holds::Text, "note, warning or error", |row| {
            Value::text(row.severity)
        }),
        column("title", Holds::Text, "what kind of problem it is", |row| {
            Value::text(row.title)
        }),
        column("count", Holds::Whole, "how many", |row| {
            Value::whole(row.count)
        }),
    ];
    Sheet::new("data_problems", for_everybody(columns), rows.len(), |row| {
        &rows[row]
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::tests::{assert_typed, cell};
    use crate::words::sample;

    #[test]
    fn totals_have_bands_where_trials_made_them_and_name_nothing() {
        let sample = sample::fleet();
        let overview = sample.overview();
        let sheet = totals(&overview);
        assert_typed(&sheet);
        assert_eq!(cell(&sheet, 0, "count"), "5");
        for row in 0..sheet.len {
            let what = cell(&sheet, row, "what");
            let of_the_forecast = ["new poles", "poles braced", "rejects expected"];
            let forecast = of_the_forecast.iter().any(|start| what.starts_with(start));
            assert_eq!(cell(&sheet, row, "p90").is_empty(), !forecast, "{what}");
        }
    }
}
