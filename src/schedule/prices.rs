//! The prices that the value of a visit is made of (model section 7), from the programme's costs.
//!
//! A replacement costs the chain of all poles that will ever stand in that place; the price of a year below the limit
//! makes acting on a known reject pay. Knows no pole and no year.

use crate::maths::pow;
use crate::programme::Costs;

/// Least discount rate: a perpetual chain of poles has no finite value at rate 0.
const LEAST_RATE: f64 = 0.001;

/// The prices that the value of a visit is made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prices {
    /// One inspection: `k`.
    pub inspection: f64,
    /// What a failure costs beyond a planned replacement: `K_failure - K_planned`.
    pub failure_excess: f64,
    /// Present value of a replacement now and of all that follow it in that place: `e / r`.
    pub chain: f64,
    /// One remedial treatment, beside its visit.
    pub treatment: f64,
    /// Present value of a reinforcement now and of the chain of poles when its life is over.
    pub braced: f64,
    /// One pole-year below the limit: `lambda`.
    pub below_limit_year: f64,
    /// Discount factor of one year: `d`.
    pub discount: f64,
}

/// What the value of a visit comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Failures that no longer happen, at what each costs beyond a planned replacement.
    Failures,
    /// Pole-years below the limit that no longer happen.
    BelowLimit,
    /// New poles, reinforcements and treatments that come sooner than otherwise: mostly a cost.
    Sooner,
    /// The share of the interval between visits that the early visit gives up: a cost.
    Visit,
}

impl Part {
    /// All parts.
    pub const ALL: [Self; 4] = [Self::Failures, Self::BelowLimit, Self::Sooner, Self::Visit];

    /// The word in tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Failures => "failures_spared",
            Self::BelowLimit => "time_below_limit_spared",
            Self::Sooner => "sooner",
            Self::Visit => "visit",
        }
    }
}

impl Prices {
    /// These prices, of which only those of one part are not zero. The value of a visit is linear in the prices, so its
    /// values at the prices of all parts add up to it.
    #[must_use]
    pub fn only(self, part: Part) -> Self {
        let nothing = Self {
            inspection: 0.0,
            failure_excess: 0.0,
            chain: 0.0,
            treatment: 0.0,
            braced: 0.0,
            below_limit_year: 0.0,
            discount: self.discount,
        };
        match part {
            Part::Failures => Self {
                failure_excess: self.failure_excess,
                ..nothing
            },
            Part::BelowLimit => Self {
                below_limit_year: self.below_limit_year,
                ..nothing
            },
            Part::Sooner => Self {
                chain: self.chain,
                treatment: self.treatment,
                braced: self.braced,
                ..nothing
            },
            Part::Visit => Self {
                inspection: self.inspection,
                ..nothing
            },
        }
    }

    /// Prices for poles that last `life` years in this place and fail at `hazard_at_limit` a year at the limit, where a
    /// reinforcement lasts `brace_life` years.
    pub fn new(
        costs: &Costs,
        inspection: f64,
        life: f64,
        hazard_at_limit: f64,
        brace_life: f64,
    ) -> Self {
        let rate = costs.discount_rate.max(LEAST_RATE);
        let yearly = yearly_cost(costs.replacement, rate, life);
        let failure_excess = costs.failure - costs.replacement;
        let break_even = yearly - hazard_at_limit * failure_excess;
        let chain = yearly / rate;
        Self {
            inspection,
            failure_excess,
            chain,
            treatment: costs.remedial_treatment,
            braced: costs.reinforcement + chain * pow(1.0 + rate, -brace_life),
            below_limit_year: costs
                .below_limit_year
                .unwrap_or((break_even + yearly).max(0.0)),
            discount: 1.0 / (1.0 + rate),
        }
    }
}

/// Equivalent annual cost of buying a pole every `life` years: `e = K r / (1 - (1 + r)^-life)`.
pub(super) fn yearly_cost(replacement: f64, rate: f64, life: f64) -> f64 {
    replacement * rate / (1.0 - pow(1.0 + rate, -life.max(1.0)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::programme;

    #[test]
    fn the_chain_is_what_buying_a_pole_again_and_again_costs() {
        // Sum of a geometric series, added up plainly: 8,000 now and every 45 years at 4 %, to 40 generations.
        let prices = Prices::new(&programme().costs, 0.0, 45.0, 0.0, 20.0);
        let plainly: f64 = (0..40)
            .map(|turn| 8_000.0 * pow(1.04, -45.0 * f64::from(turn)))
            .sum();
        assert!(
            (prices.chain - plainly).abs() < 1e-6 * plainly,
            "{}",
            prices.chain
        );
    }

    #[test]
    fn the_owner_sets_the_price_of_a_year_below_the_limit() {
        let mut costs = programme().costs;
        costs.below_limit_year = Some(123.0);
        let price = Prices::new(&costs, 0.0, 45.0, 1e-3, 20.0).below_limit_year;
        assert!((price - 123.0).abs() < 1e-12);
        // However dear a failure, the default is never below nothing.
        costs.below_limit_year = None;
        costs.failure = 1e9;
        assert!(Prices::new(&costs, 0.0, 45.0, 1e-3, 20.0).below_limit_year >= 0.0);
    }

    #[test]
    fn no_interest_is_taken_as_hardly_any() {
        let mut costs = programme().costs;
        costs.discount_rate = 0.0;
        assert!(Prices::new(&costs, 0.0, 45.0, 0.0, 20.0).chain.is_finite());
    }
}
