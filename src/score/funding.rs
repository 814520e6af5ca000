//! Whether the money suffices for what must be done: recorded rejects and dangers, and inspections overdue by law, in the
//! year in which the schedule has them, held to the programme's limits.
//!
//! A limit is held against the plan, whose inspections were chosen within the operating one: what lies beyond it is listed,
//! most urgent last to be left. What inspections are yet to find is not in it; [`crate::trial::spending`] has that.

use crate::inventory::Inventory;
use crate::pole::PoleIndex;
use crate::programme::Programme;
use crate::programme::money::Account;
use crate::schedule::{Action, Deferral, Priority, Row, Schedule, Standing};

/// What must be done in one plan year from one account that has a limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Funding {
    /// Plan year, counted from 0.
    pub year: u16,
    /// The account.
    pub account: Account,
    /// The limit.
    pub limit: f64,
    /// Must-dos of the year.
    pub must_do: usize,
    /// What they cost.
    pub cost: f64,
    /// Must-dos of this year and earlier ones that the limits so far do not pay for, most urgent first.
    pub unfunded: Vec<PoleIndex>,
    /// What those cost.
    pub unfunded_cost: f64,
}

/// Every year of the schedule and account that has a limit, in the order of years.
///
/// Money goes to the most urgent first. What it does not pay for waits for the next year, before that year's own.
pub fn funding(inventory: &Inventory, programme: &Programme, schedule: &Schedule) -> Vec<Funding> {
    let years = programme.schedule_years.max(1);
    let mut told = Vec::new();
    let due: Vec<(u16, Account, PoleIndex, f64)> = schedule
        .ranking
        .iter()
        .filter(|pole| pole.get() < inventory.len())
        .filter_map(|&pole| must_do(programme, schedule.row(pole)))
        .collect();
    for account in Account::ALL {
        let mut waiting: Vec<(PoleIndex, f64)> = Vec::new();
        for year in 0..years {
            let own: Vec<(PoleIndex, f64)> = due
                .iter()
                .filter(|(in_year, of, _, _)| (*in_year, *of) == (year, account))
                .map(|(_, _, pole, cost)| (*pole, *cost))
                .collect();
            let (must_do, cost) = (own.len(), total(&own));
            waiting.extend(own);
            let Some(limit) = programme.budget.limit(account, year) else {
                waiting.clear();
                continue;
            };
            let mut left = limit;
            waiting.retain(|(_, cost)| {
                let paid = *cost <= left;
                if paid {
                    left -= cost;
                }
                !paid
            });
            told.push(Funding {
                year,
                account,
                limit,
                must_do,
                cost,
                unfunded: waiting.iter().map(|(pole, _)| *pole).collect(),
                unfunded_cost: total(&waiting),
            });
        }
    }
    told.sort_by_key(|own| (own.year, own.account));
    told
}

/// What poles cost together. A sum of nothing is a zero without a minus.
fn total(poles: &[(PoleIndex, f64)]) -> f64 {
    poles.iter().fold(0.0, |sum, (_, cost)| sum + cost)
}

/// The year, account and price of what must be done at a pole; nothing where nothing must, or not in the schedule.
fn must_do(programme: &Programme, row: &Row) -> Option<(u16, Account, PoleIndex, f64)> {
    if !matches!(row.priority, Priority::Danger | Priority::MustDo) {
        return None;
    }
    let (action, year) = match row.standing {
        Standing::Planned { action, year, .. } => (action, year),
        Standing::Deferred {
            action,
            reason: Deferral::Decision { until },
        } => (action, until),
        // The first year's money was asked for it already.
        Standing::Deferred {
            action,
            reason: Deferral::Money,
        } => (action, 0),
        // Crews are short of it, whatever the money.
        Standing::Deferred {
            reason: Deferral::CrewDays,
            ..
        }
        | Standing::NotDue => return None,
    };
    let costs = &programme.costs;
    let (account, cost) = match action {
        Action::Inspect => {
            let method = row.method.unwrap_or(programme.policy.method);
            (Account::Operating, costs.inspection[method.index()])
        }
        Action::Reinforce => (Account::Capital, costs.reinforcement),
        // What is made safe today is replaced after it, as the trials have it.
        Action::Replace | Action::MakeSafe => (Account::Capital, costs.replacement),
    };
    Some((year, account, row.pole, cost))
}

#[cfg(test)]
mod tests {
    use super::funding;
    use crate::common::{inspected, inventory_of, no_values, pole_set, programme};
    use crate::pole::{Method, PoleIndex, Verdict};
    use crate::programme::money::{Account, Limits};
    use crate::schedule::schedule_with;
    use jiff::civil::date;

    #[test]
    fn must_dos_beyond_the_limit_wait_for_the_next_year_and_are_named() {
        let mut programme = programme();
        let rejected = |id| {
            let seen = inspected(
                date(2024, 6, 1),
                Method::FullExcavation,
                Verdict::RejectReplace,
            );
            (id, "L", pole_set(1980), vec![seen])
        };
        let inventory = inventory_of(vec![rejected("A"), rejected("B"), rejected("C")]);
        let schedule = schedule_with(&inventory, &programme, &no_values(&inventory, &programme));
        assert!(funding(&inventory, &programme, &schedule).is_empty());
        // Three poles at 8,000 are due in 2025; 10,000 a year pays for one of them in each year.
        programme.budget.capital = Some(Limits::EveryYear(10_000.0));
        let told = funding(&inventory, &programme, &schedule);
        let capital: Vec<_> = told
            .iter()
            .filter(|own| own.account == Account::Capital)
            .map(|own| (own.must_do, own.cost, own.unfunded.len(), own.unfunded_cost))
            .take(3)
            .collect();
        assert_eq!(
            capital,
            [
                (3, 24_000.0, 2, 16_000.0),
                (0, 0.0, 1, 8_000.0),
                (0, 0.0, 0, 0.0)
            ]
        );
        assert_eq!(told[0].unfunded, [PoleIndex(1), PoleIndex(2)]);
        // A limit of the first year alone says nothing of the second.
        programme.budget.capital = Some(Limits::ByYear(vec![24_000.0]));
        let told = funding(&inventory, &programme, &schedule);
        assert_eq!(told.len(), 1);
        assert!(told[0].unfunded.is_empty());
    }
}
