//! `budget.csv`: what each plan year takes, by account and kind of work, and what the limits leave undone.
//!
//! Counts always; money only where the programme names a currency and price year. Sums are taken from the trials, never
//! from quantiles.

use super::{Column, Holds, Sheet, Value, column, measured};
use crate::programme::money::Account;
use crate::score::funding::Funding;
use crate::trial::{Band, Spending};
use crate::words::quantities::{money, to_decimals};
use crate::words::{Case, Caution};

/// The word for a whole account.
const TOTAL: &str = "total";

/// One row.
pub struct Line<'a> {
    fleet: Case<'a>,
    spending: &'a Spending,
    funding: Option<&'a Funding>,
}

impl Line<'_> {
    fn count(&self, pick: fn(&Band) -> f64, decimals: usize) -> Value {
        let count = self.spending.count.as_ref();
        count.map_or(Value::Empty, |band| {
            Value::number(to_decimals(pick(band), decimals))
        })
    }

    /// A sum of money: nothing without currency and price year.
    fn cost(&self, pick: fn(&Band) -> f64) -> Value {
        match self.fleet.programme.costs.currency {
            Some(_) => Value::number(money(pick(&self.spending.cost))),
            None => Value::Empty,
        }
    }

    fn funded(&self, value: fn(&Funding) -> Value) -> Value {
        self.funding.map_or(Value::Empty, value)
    }
}

/// What the years take; `funding` is what limits leave undone.
pub fn budget<'a>(fleet: Case<'a>, funding: &'a [Funding]) -> Sheet<'a> {
    let unit = (fleet.programme.costs.currency.as_ref())
        .map_or_else(String::new, |(currency, year)| {
            format!("{currency} of {year}")
        });
    let rows = &fleet.plan.spending;
    let mut all = counts();
    all.extend(costs(&unit));
    all.extend(limits(&unit));
    Sheet::new("budget", all, rows.len(), move |row| {
        let spending = &rows[row];
        let funding = funding.iter().find(|own| {
            let same = (own.year, own.account) == (spending.year, spending.account);
            same && spending.spent.is_none()
        });
        Line {
            fleet,
            spending,
            funding,
        }
    })
}

fn counts<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        column("year", Holds::Whole, "plan year", |line| {
            Value::whole(line.fleet.calendar_year(line.spending.year))
        }),
        column(
            "account",
            Holds::Text,
            "operating: inspections, treatments, and what failures cost beyond a planned replacement; capital: new poles and braces",
            |line| Value::text(line.spending.account.word()),
        ),
        column(
            "action",
            Holds::Text,
            "inspect, remedial_treatment, failure_excess, replace, replace_after_failure, replace_other_demand, reinforce; total for the account, counted trial by trial",
            |line| Value::text(line.spending.spent.map_or(TOTAL, crate::trial::Spent::word)),
        ),
        measured(
            "poles",
            "count_mean",
            Holds::Number,
            "how many, mean over the trials; empty on total rows, whose work is of many kinds",
            |line| line.count(|band| band.mean, 3),
        ),
        measured(
            "poles",
            "count_p10",
            Holds::Number,
            "1 in 10 trials has fewer",
            |line| line.count(|band| band.p10, 0),
        ),
        measured(
            "poles",
            "count_p50",
            Holds::Number,
            "half of the trials have fewer",
            |line| line.count(|band| band.p50, 0),
        ),
        measured(
            "poles",
            "count_p90",
            Holds::Number,
            "9 in 10 trials have fewer",
            |line| line.count(|band| band.p90, 0),
        ),
    ]
}

fn costs<'a>(unit: &str) -> Vec<Column<Line<'a>>> {
    vec![
        measured(
            unit,
            "cost_mean",
            Holds::Number,
            "what it costs at the programme's prices, mean over the trials; all sums are empty until currency and price year are set",
            |line| line.cost(|band| band.mean),
        ),
        measured(
            unit,
            "cost_standard_error",
            Holds::Number,
            "standard error of the mean: what another seed would change",
            |line| line.cost(|band| band.standard_error),
        ),
        measured(
            unit,
            "cost_p10",
            Holds::Number,
            "1 in 10 trials costs less",
            |line| line.cost(|band| band.p10),
        ),
        measured(
            unit,
            "cost_p50",
            Holds::Number,
            "half of the trials cost less",
            |line| line.cost(|band| band.p50),
        ),
        measured(
            unit,
            "cost_p90",
            Holds::Number,
            "9 in 10 trials cost less; does not add up over actions or years",
            |line| line.cost(|band| band.p90),
        ),
    ]
}

fn limits<'a>(unit: &str) -> Vec<Column<Line<'a>>> {
    vec![
        measured(
            unit,
            "limit",
            Holds::Number,
            "the programme's limit of the account in the year, on total rows; the schedule is held to it and not made by it",
            |line| {
                let own = line.spending;
                let limit = line.fleet.programme.budget.limit(own.account, own.year);
                let limit = limit.filter(|_| own.spent.is_none());
                limit.map_or(Value::Empty, Value::number)
            },
        ),
        measured(
            "poles",
            "must_do",
            Holds::Whole,
            "recorded rejects and dangers to be acted upon in the year, and inspections overdue by law, where there is a limit",
            |line| line.funded(|own| Value::whole(own.must_do)),
        ),
        measured(
            unit,
            "must_do_cost",
            Holds::Number,
            "what they cost",
            |line| line.funded(|own| Value::number(money(own.cost))),
        ),
        measured(
            "poles",
            "backlog",
            Holds::Whole,
            "must-dos of this and earlier years that the limits do not pay for, the most urgent paid first",
            |line| line.funded(|own| Value::whole(own.unfunded.len())),
        ),
        measured(
            unit,
            "backlog_cost",
            Holds::Number,
            "what they cost",
            |line| line.funded(|own| Value::number(money(own.unfunded_cost))),
        ),
        column(
            "unfunded_poles",
            Holds::Text,
            "their ids, most urgent first: not compliant until somebody pays or signs",
            |line| {
                let Some(own) = line.funding else {
                    return Value::Empty;
                };
                let ids = own
                    .unfunded
                    .iter()
                    .map(|pole| line.fleet.inventory.id(*pole));
                Value::text(ids.collect::<Vec<_>>().join("; "))
            },
        ),
        measured(
            unit,
            "crew_week_saves_at_most",
            Holds::Number,
            "what the visits would save more with one more crew-week of inspections in the year, at most; on total rows of the operating account",
            |line| {
                let own = line.spending;
                let week = line
                    .fleet
                    .plan
                    .schedule
                    .proof
                    .crew_week
                    .get(usize::from(own.year));
                let inspects = own.account == Account::Operating && own.spent.is_none();
                let priced = line.fleet.programme.costs.currency.is_some();
                week.filter(|_| inspects && priced)
                    .map_or(Value::Empty, |saves| Value::number(money(*saves)))
            },
        ),
        column("caution", Holds::Text, "how not to read the row", |_| {
            Value::text(Caution::Estimate.text())
        }),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::PoleIndex;
    use crate::programme::money::Limits;
    use crate::score::funding::funding;
    use crate::tables::tests::{assert_typed, cell};
    use crate::words::sample;

    #[test]
    fn money_is_written_only_with_its_currency_and_price_year() {
        let mut sample = sample::fleet();
        let sheet = budget(sample.case(PoleIndex(0)), &[]);
        assert_typed(&sheet);
        assert_eq!(cell(&sheet, 0, "count_mean"), "1");
        assert_eq!(
            (cell(&sheet, 0, "cost_mean"), cell(&sheet, 3, "limit")),
            (String::new(), String::new())
        );
        drop(sheet);
        sample.programme.costs.currency = Some(("EUR".to_owned(), 2026));
        sample.programme.budget.capital = Some(Limits::EveryYear(8_000.0));
        // The danger A-1 and the reject A-2 are both replaced in 2026, at 8,000 each.
        let told = funding(&sample.inventory, &sample.programme, &sample.plan.schedule);
        let sheet = budget(sample.case(PoleIndex(0)), &told);
        assert_typed(&sheet);
        assert_eq!(
            (cell(&sheet, 3, "action"), cell(&sheet, 3, "count_mean")),
            ("total".into(), String::new())
        );
        assert_eq!(
            (cell(&sheet, 3, "cost_mean"), cell(&sheet, 3, "limit")),
            ("1600".into(), "8000".into())
        );
        assert_eq!(
            (cell(&sheet, 3, "must_do"), cell(&sheet, 3, "backlog")),
            ("2".into(), "1".into())
        );
        assert_eq!(cell(&sheet, 3, "unfunded_poles"), "A-2");
        assert_eq!(cell(&sheet, 2, "limit"), "");
        drop(sheet);
        sample.programme.budget.capital = Some(Limits::EveryYear(16_000.0));
        let told = funding(&sample.inventory, &sample.programme, &sample.plan.schedule);
        let sheet = budget(sample.case(PoleIndex(0)), &told);
        assert_eq!(cell(&sheet, 3, "backlog_cost"), "0");
    }
}
