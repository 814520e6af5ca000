//! What the work of the trials costs by year: counts of each trial times the programme's prices, and their bands.
//!
//! Money comes after the merge: trials hold integers, and every sum of money is made trial by trial before a quantile is
//! taken, because quantiles of parts do not add up.

use super::tally::{Band, Tally, Work};
use crate::pole::Method;
use crate::programme::Costs;
use crate::programme::money::Account;

/// What money is spent on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Spent {
    /// Inspections.
    Inspect,
    /// Remedial treatments at inspections.
    RemedialTreatment,
    /// What failures cost beyond planned replacements: urgency, and what they cause (operating, because it buys no pole).
    FailureExcess,
    /// New poles for condemned ones.
    Replace,
    /// New poles for failed ones, at the price of a planned replacement.
    ReplaceAfterFailure,
    /// New poles for reasons that have nothing to do with decay.
    OtherDemand,
    /// Braces.
    Reinforce,
}

impl Spent {
    /// All, operating first.
    pub const ALL: [Self; 7] = [
        Self::Inspect,
        Self::RemedialTreatment,
        Self::FailureExcess,
        Self::Replace,
        Self::ReplaceAfterFailure,
        Self::OtherDemand,
        Self::Reinforce,
    ];

    /// The account that bears it. Owners may book otherwise; the split follows what leaves an asset behind (choice).
    pub const fn account(self) -> Account {
        match self {
            Self::Inspect | Self::RemedialTreatment | Self::FailureExcess => Account::Operating,
            Self::Replace | Self::ReplaceAfterFailure | Self::OtherDemand | Self::Reinforce => {
                Account::Capital
            }
        }
    }

    /// The word in tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Inspect => "inspect",
            Self::RemedialTreatment => "remedial_treatment",
            Self::FailureExcess => "failure_excess",
            Self::Replace => "replace",
            Self::ReplaceAfterFailure => "replace_after_failure",
            Self::OtherDemand => "replace_other_demand",
            Self::Reinforce => "reinforce",
        }
    }

    /// The work that it pays for, each with its price.
    fn prices(self, costs: &Costs) -> Vec<(Work, f64)> {
        match self {
            Self::Inspect => Method::ALL
                .map(|method| (Work::Inspection(method), costs.inspection[method.index()]))
                .to_vec(),
            Self::RemedialTreatment => vec![(Work::Treatment, costs.remedial_treatment)],
            Self::FailureExcess => {
                vec![(Work::AfterFailure, costs.failure - costs.replacement)]
            }
            Self::Replace => vec![(Work::Planned, costs.replacement)],
            Self::ReplaceAfterFailure => vec![(Work::AfterFailure, costs.replacement)],
            Self::OtherDemand => vec![(Work::OtherDemand, costs.replacement)],
            Self::Reinforce => vec![(Work::Reinforcement, costs.reinforcement)],
        }
    }
}

/// What one account, or one kind of work in it, takes in one plan year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spending {
    /// Plan year, counted from 0.
    pub year: u16,
    /// The account.
    pub account: Account,
    /// The work; `None` for the whole account.
    pub spent: Option<Spent>,
    /// How many; `None` for the whole account, whose work is of many kinds.
    pub count: Option<Band>,
    /// What it costs, in cost units of the programme.
    pub cost: Band,
}

/// What an account takes in a plan year, in every trial.
pub fn amounts(tally: &Tally, costs: &Costs, year: u16, account: Account) -> Vec<f64> {
    let mut whole = vec![0.0; tally.trials() as usize];
    let own = Spent::ALL
        .into_iter()
        .filter(|spent| spent.account() == account);
    for (work, price) in own.flat_map(|spent| spent.prices(costs)) {
        for (sum, number) in whole.iter_mut().zip(tally.work(year, work)) {
            *sum += number as f64 * price;
        }
    }
    whole
}

/// What every plan year takes: each kind of work, then the account.
pub fn spending(tally: &Tally, costs: &Costs) -> Vec<Spending> {
    let mut rows = Vec::new();
    for year in 0..tally.years() {
        for account in Account::ALL {
            let own = Spent::ALL
                .into_iter()
                .filter(|spent| spent.account() == account);
            let mut whole = vec![0.0; tally.trials() as usize];
            for spent in own {
                let mut counts = vec![0_u64; whole.len()];
                let mut amounts = vec![0.0; whole.len()];
                for (work, price) in spent.prices(costs) {
                    let by_trial = tally.work(year, work);
                    for (trial, number) in by_trial.into_iter().enumerate() {
                        counts[trial] += number;
                        amounts[trial] += number as f64 * price;
                    }
                }
                whole
                    .iter_mut()
                    .zip(&amounts)
                    .for_each(|(sum, own)| *sum += own);
                rows.push(Spending {
                    year,
                    account,
                    spent: Some(spent),
                    count: Some(Band::of(counts.into_iter())),
                    cost: Band::of_amounts(amounts.into_iter()),
                });
            }
            rows.push(Spending {
                year,
                account,
                spent: None,
                count: None,
                cost: Band::of_amounts(whole.into_iter()),
            });
        }
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::Group;
    use crate::trial::life::{Event, Kind};

    #[test]
    fn money_is_summed_trial_by_trial_before_any_quantile() {
        let mut programme = crate::common::programme();
        (programme.trials, programme.horizon_years) = (2, 1);
        let group = Group {
            old: crate::trial::Size::default(),
            new: crate::programme::supply::SizeName::default(),
            species: None,
            preservative: None,
        };
        let mut tally = Tally::new(&programme, vec![group]);
        // Trial 0: two dug inspections, one treatment, one planned pole. Trial 1: a failure and its new pole.
        for _ in 0..2 {
            tally.count(0, 0, Event::Inspected, 0);
            tally.count_inspection(0, 0, Method::FullExcavation);
        }
        tally.count(0, 0, Event::Treated, 0);
        tally.count(0, 0, Event::Replaced(Kind::Planned), 0);
        tally.count(1, 0, Event::Failed, 0);
        tally.count(1, 0, Event::Replaced(Kind::AfterFailure), 0);
        let rows = spending(&tally, &programme.costs);
        let cost = |account, spent| {
            let row = rows
                .iter()
                .find(|row| row.account == account && row.spent == spent);
            row.map(|row| (row.cost.mean, row.cost.p10, row.cost.p90))
        };
        // Prices: 80 a full excavation, 40 a treatment, 8,000 a pole, 50,000 a failure all told. Operating: 200 and
        // 42,000, mean 21,100; capital 8,000 in either trial, though each of its two kinds is 0 or 8,000.
        let (mean, low, high) = cost(Account::Operating, None).expect("a row");
        assert!((mean - 21_100.0).abs() < 1e-9 && low < mean && high > mean);
        let (mean, low, high) = cost(Account::Capital, None).expect("a row");
        assert_eq!((mean, low, high), (8_000.0, 8_000.0, 8_000.0));
        let (mean, _, high) = cost(Account::Capital, Some(Spent::Replace)).expect("a row");
        assert!((mean - 4_000.0).abs() < 1e-9 && high > mean);
        let looked = rows.iter().find(|row| row.spent == Some(Spent::Inspect));
        assert_eq!(
            looked.and_then(|row| row.count).map(|own| own.mean),
            Some(1.0)
        );
        assert_eq!(rows.len(), Spent::ALL.len() + Account::ALL.len());
    }
}
