//! Budgets and backlog: what each year takes by account and kind of work, what the limits leave undone, what found no
//! crew-days.
//!
//! The figures are those of `budget.csv`; sums are taken from the trials, never from quantiles. Money only with currency
//! and price year.

use super::Report;
use super::charts::{BandPoint, band};
use super::html::{caution, owners, sentence, table, text};
use crate::programme::money::Account;
use crate::score::funding::{Funding, funding};
use crate::trial::{Band, Spending};
use crate::words::explain::sum;
use crate::words::overview::what_they_want;
use crate::words::quantities::{count, counted};
use crate::words::supply::in_a_cell;
use crate::words::{Caution, calendar_year, funding as words, years};
use std::fmt::Write;

/// What does not add up, said above the tables.
const NOT_ADDED: &str = "Mean, and in brackets the band in which 8 in 10 trials lie. Upper ends of kinds of work or years do not add up to those of accounts. Inspections are planned within the operating limit; otherwise a limit is held against the plan and changes no year of it.";

/// The section.
pub fn section(report: &Report<'_>) -> String {
    let fleet = report.fleet;
    let mut page = String::from(
        "<section id=\"money\" aria-labelledby=\"money-h\">\n<h2 id=\"money-h\">Budgets and backlog</h2>\n",
    );
    page.push_str(&caution(Caution::Estimate.text()));
    let _ = writeln!(
        page,
        "<p>Backlog: {} called for found {} in any year of the schedule.</p>",
        counted(report.overview.deferred, "visit", "visits"),
        what_they_want(report.overview)
    );
    for said in years::lines(&report.overview.years) {
        let _ = writeln!(page, "<p>{}</p>", sentence(said.trim()));
    }
    for said in words::lines(&report.overview.unfunded) {
        let _ = writeln!(page, "<p><strong>{}</strong></p>", sentence(said.trim()));
    }
    let Some((currency, price_year)) = &fleet.programme.costs.currency else {
        page.push_str("<p>The programme names no currency and price year, so no sum of money is printed; counts stand in budget.csv.</p>\n");
        return page + "</section>\n";
    };
    let told = funding(fleet.inventory, fleet.programme, &fleet.plan.schedule);
    let _ = writeln!(
        page,
        "<p>Sums in {} of {price_year}, at the programme's prices. {NOT_ADDED}</p>\n<div class=\"charts\">",
        owners(currency)
    );
    for account in Account::ALL {
        page.push_str(&chart(report, account));
    }
    page.push_str("</div>\n<details><summary>By year, account and kind of work</summary>\n");
    page.push_str(&by_year(report, &told));
    page + "</details>\n</section>\n"
}

fn totals<'a>(report: &Report<'a>, account: Account) -> impl Iterator<Item = &'a Spending> {
    let rows = report.fleet.plan.spending.iter();
    rows.filter(move |row| row.account == account && row.spent.is_none())
}

fn chart(report: &Report<'_>, account: Account) -> String {
    let points: Vec<BandPoint> = totals(report, account)
        .map(|row| BandPoint {
            label: calendar_year(report.fleet.programme, row.year).to_string(),
            low: row.cost.p10,
            middle: row.cost.mean,
            high: row.cost.p90,
        })
        .collect();
    let (name, title) = match account {
        Account::Operating => (
            "operating",
            "Operating: inspections, treatments, what failures cost beyond a planned replacement",
        ),
        Account::Capital => ("capital", "Capital: new poles and braces"),
    };
    format!(
        "<figure><figcaption>{}</figcaption>{}</figure>\n",
        text(title),
        band(
            name,
            title,
            "By year; the table below holds the same figures.",
            &points
        )
    )
}

fn by_year(report: &Report<'_>, told: &[Funding]) -> String {
    let programme = report.fleet.programme;
    let rows: Vec<Vec<String>> = report
        .fleet
        .plan
        .spending
        .iter()
        .map(|row| {
            let kind = row.spent.map_or_else(
                || "<strong>total</strong>".to_owned(),
                |spent| text(&spent.word().replace('_', " ")),
            );
            let limit = programme.budget.limit(row.account, row.year);
            let own = told
                .iter()
                .find(|own| (own.year, own.account) == (row.year, row.account));
            let total = row.spent.is_none();
            let backlog = own.filter(|_| total).map_or_else(String::new, |own| {
                text(&format!(
                    "{} ({})",
                    count(own.unfunded.len()),
                    sum(own.unfunded_cost)
                ))
            });
            vec![
                calendar_year(programme, row.year).to_string(),
                text(row.account.word()),
                kind,
                row.count.map_or_else(String::new, in_a_cell),
                cost(&row.cost),
                limit.filter(|_| total).map_or_else(String::new, sum),
                backlog,
            ]
        })
        .collect();
    table(
        "Cost by year, account and kind of work",
        &[
            ("Year", false),
            ("Account", false),
            ("Kind of work", false),
            ("How many", true),
            ("Cost", true),
            ("Limit", true),
            ("Must-dos it leaves unpaid", true),
        ],
        &rows,
    )
}

/// A sum and its band.
fn cost(band: &Band) -> String {
    text(&format!(
        "{} ({} to {})",
        sum(band.mean),
        sum(band.p10),
        sum(band.p90)
    ))
}

#[cfg(test)]
mod tests {
    use super::super::tests::of_sample;
    use super::section;
    use crate::programme::money::Limits;
    use crate::words::sample;

    #[test]
    fn money_stands_beside_its_limit_and_what_the_limit_leaves_unpaid() {
        let mut sample = sample::fleet();
        let said = of_sample(&sample, section);
        assert!(said.contains("names no currency and price year") && !said.contains("<table"));
        sample.programme.costs.currency = Some(("EUR<".to_owned(), 2026));
        sample.programme.budget.capital = Some(Limits::EveryYear(8_000.0));
        let said = of_sample(&sample, section);
        // The danger A-1 and the reject A-2 cost 8,000 each: one of them is beyond the limit.
        for words in [
            "EUR&lt;",
            "<td class=\"number\">8,000</td>",
            "1 (8,000)",
            "8 in 10 trials",
        ] {
            assert!(said.contains(words), "{words}: {said}");
        }
        assert!(said.contains("NOT COMPLIANT: in 2026 the capital limit of 8,000"));
    }
}
