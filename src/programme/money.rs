//! What things cost: the weights of the value of a visit, and money where the owner gave a currency.

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
