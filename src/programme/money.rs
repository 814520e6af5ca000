//! What things cost: the weights of the value of a visit, and money where the owner gave a currency; limits of it by year.

use crate::pole::Method;

/// Costs of work and failure.
#[derive(Debug, Clone, PartialEq)]
pub struct Costs {
    /// Currency and price year, when the owner gave both: only then are sums of money printed.
    pub currency: Option<(String, i16)>,
    /// One inspection, by [`Method::index`].
    pub inspection: [f64; Method::ALL.len()],
    /// One planned replacement.
    pub replacement: f64,
    /// One reinforcement.
    pub reinforcement: f64,
    /// One remedial treatment, beside the visit at which it is given.
    pub remedial_treatment: f64,
    /// One failure in service, all told: the emergency replacement and what the failure causes.
    pub failure: f64,
    /// Discount rate, a year.
    pub discount_rate: f64,
    /// Price of one pole-year below the limit. `None`: the default of model section 7.
    pub below_limit_year: Option<f64>,
}

/// Whose money it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Account {
    /// What keeps poles: inspections, treatments, the consequences of failures.
    Operating,
    /// What leaves a pole or a brace behind.
    Capital,
}

impl Account {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Operating, Self::Capital];

    /// The word in tables and programmes.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Operating => "operating",
            Self::Capital => "capital",
        }
    }
}

/// Limits of money, in the currency of the costs. Inspections are planned within the operating one; what verdicts call for is
/// held to the limits and moved by none.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Budget {
    /// Of the operating account.
    pub operating: Option<Limits>,
    /// Of the capital account.
    pub capital: Option<Limits>,
}

/// Limits of one account.
#[derive(Debug, Clone, PartialEq)]
pub enum Limits {
    /// The same in every year.
    EveryYear(f64),
    /// Of the first plan years, one by one; later years have none.
    ByYear(Vec<f64>),
}

impl Budget {
    /// The limit of an account in a plan year, counted from 0; nothing where there is none.
    pub fn limit(&self, account: Account, year: u16) -> Option<f64> {
        let limits = match account {
            Account::Operating => self.operating.as_ref()?,
            Account::Capital => self.capital.as_ref()?,
        };
        match limits {
            Limits::EveryYear(limit) => Some(*limit),
            Limits::ByYear(limits) => limits.get(usize::from(year)).copied(),
        }
    }
}
