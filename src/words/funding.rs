//! Money that does not suffice for what must be done, in words.
//!
//! Takes [`crate::score::funding`] and names years, sums and poles; decides nothing itself.

use super::calendar_year;
use super::quantities::{counted, money, whole};
use super::screen::on_one_line;
use crate::inventory::Inventory;
use crate::programme::Programme;
use crate::score::funding::Funding;
use serde::Serialize;

/// Poles named before the rest is only counted.
const NAMED: usize = 5;

/// Must-dos of a year that the limit of an account does not pay for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Unfunded {
    /// Year.
    pub year: i16,
    /// Operating or capital.
    pub account: &'static str,
    /// The limit.
    pub limit: f64,
    /// What they cost.
    pub cost: f64,
    /// Currency and price year.
    pub unit: String,
    /// The poles, most urgent first.
    pub poles: Vec<String>,
}

/// The years in which money does not suffice.
pub fn unfunded(inventory: &Inventory, programme: &Programme, told: &[Funding]) -> Vec<Unfunded> {
    let unit = (programme.costs.currency.as_ref()).map_or_else(String::new, |(currency, year)| {
        format!("{currency} of {year}")
    });
    let short = told.iter().filter(|own| !own.unfunded.is_empty());
    let said = short.map(|own| Unfunded {
        year: calendar_year(programme, own.year),
        account: own.account.word(),
        limit: own.limit,
        cost: own.unfunded_cost,
        unit: unit.clone(),
        poles: (own
            .unfunded
            .iter()
            .map(|pole| inventory.id(*pole).to_owned()))
        .collect(),
    });
    said.collect()
}

/// The lines of the page.
pub fn lines(unfunded: &[Unfunded]) -> Vec<String> {
    let said = unfunded.iter().map(|own| {
        let named: Vec<String> = own
            .poles
            .iter()
            .take(NAMED)
            .map(|id| on_one_line(id))
            .collect();
        let more = if own.poles.len() > NAMED {
            " and others"
        } else {
            ""
        };
        format!(
            "  NOT COMPLIANT: in {} the {} limit of {} leaves {} without money ({} {}): {}{more}",
            own.year,
            own.account,
            whole(own.limit),
            counted(own.poles.len(), "must-do", "must-dos"),
            whole(money(own.cost)),
            on_one_line(&own.unit),
            named.join(", ")
        )
    });
    said.collect()
}

#[cfg(test)]
mod tests {
    use super::{Unfunded, lines};

    #[test]
    fn what_lies_beyond_the_limit_is_named_with_its_sum() {
        let own = Unfunded {
            year: 2026,
            account: "capital",
            limit: 10_000.0,
            cost: 16_000.0,
            unit: "EUR of 2026".to_owned(),
            poles: vec!["A".to_owned(), "B".to_owned()],
        };
        assert_eq!(
            lines(&[own]),
            [
                "  NOT COMPLIANT: in 2026 the capital limit of 10,000 leaves 2 must-dos without money (16,000 EUR of 2026): A, B"
            ]
        );
    }
}
