//! The value of a visit: what going in an early year saves over waiting for the binding due year (model section 7).
//!
//! A visit happens in the due year `L` in any case; `C(y)` is the discounted cost of also going in `y < L`, and the
//! value of a visit in `y` is `J(L) - J(y)`, `J` the mean of `C` over the states that a pole may be in. Years are whole
//! plan years, a visit comes at the start of its year. Written against plain states and functions: must not know rules,
//! packages or crews. Of what a visit finds, only a replacement changes the future here: what a remedial treatment slows
//! is not counted, nor its cost, and a condemned pole is taken as replaced at once.

use crate::belief::State;
use crate::maths::pow;
use crate::programme::{Costs, Policy, Response, Seen, respond};
use crate::wood::MethodDetection;

/// Plan years beyond which the due year is not followed: what is saved there is discounted to little.
const LONGEST_WAIT: usize = 40;

/// Years after the due year until what still stands is valued as it is: "a few" in the model; judgement.
const YEARS_AFTER_DUE: usize = 3;

/// States believed less than this are left out: even 500 of them change a value by less than 1e-5 of a failure's cost.
const NEGLIGIBLE_MASS: f64 = 1e-8;

/// Least discount rate: a perpetual chain of poles has no finite value at rate 0.
const LEAST_RATE: f64 = 0.001;

/// The value of a visit in each plan year.
#[derive(Debug, Clone, PartialEq)]
pub struct VisitValues {
    /// The year `L` in which a visit happens in any case.
    pub due_year: u16,
    /// Value of a visit in each plan year before it; 0 from that year on.
    pub by_year: Vec<f32>,
}

impl VisitValues {
    /// No visit is worth anything before it is due.
    pub fn nothing(due_year: u16, years: u16) -> Self {
        Self {
            due_year,
            by_year: vec![0.0; usize::from(years)],
        }
    }

    /// The value of a visit in a plan year.
    pub fn at(&self, year: u16) -> f64 {
        self.by_year
            .get(usize::from(year))
            .map_or(0.0, |value| f64::from(*value))
    }

    /// The year in which a visit is worth most, the earliest of equals; `None` when no visit is worth anything.
    pub fn best_year(&self) -> Option<u16> {
        let mut best = None;
        let mut most = 0.0_f32;
        for (year, value) in self.by_year.iter().enumerate() {
            if *value > most {
                most = *value;
                best = Some(year as u16);
            }
        }
        best
    }
}

/// The prices that the value of a visit is made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prices {
    /// One inspection: `k`.
    pub inspection: f64,
    /// What a failure costs beyond a planned replacement: `K_failure - K_planned`.
    pub failure_excess: f64,
    /// Present value of a replacement now and of all that follow it in that place: `e / r`.
    pub chain: f64,
    /// One pole-year below the limit: `lambda`.
    pub below_limit_year: f64,
    /// Discount factor of one year: `d`.
    pub discount: f64,
}

impl Prices {
    /// Prices for poles that last `life` years in this place and fail at `hazard_at_limit` a year at the limit.
    pub fn new(costs: &Costs, inspection: f64, life: f64, hazard_at_limit: f64) -> Self {
        let rate = costs.discount_rate.max(LEAST_RATE);
        let yearly = yearly_cost(costs.replacement, rate, life);
        let failure_excess = costs.failure - costs.replacement;
        let break_even = yearly - hazard_at_limit * failure_excess;
        Self {
            inspection,
            failure_excess,
            chain: yearly / rate,
            below_limit_year: costs
                .below_limit_year
                .unwrap_or((break_even + yearly).max(0.0)),
            discount: 1.0 / (1.0 + rate),
        }
    }
}

/// Equivalent annual cost of buying a pole every `life` years: `e = K r / (1 - (1 + r)^-life)`.
fn yearly_cost(replacement: f64, rate: f64, life: f64) -> f64 {
    replacement * rate / (1.0 - pow(1.0 + rate, -life.max(1.0)))
}

/// When the visit happens in any case, and over what years others are weighed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Timing {
    /// The year `L`, at least 1.
    pub due_year: u16,
    /// Years between visits: an early visit costs the share of it that is given up.
    pub interval: f64,
    /// Plan years for which the value is wanted.
    pub years: u16,
}

/// Chance that a visit ends in replacement, by the policy's answer to each of its outcomes.
pub fn replaced(detection: &MethodDetection, policy: &Policy, progress: f64, limit: f64) -> f64 {
    let found = detection.found(progress);
    let rejected = detection.rejected(progress, limit);
    [
        (Seen::NoDecay, 1.0 - found),
        (Seen::Decay, found - rejected),
        (Seen::BelowLimit, rejected),
    ]
    .into_iter()
    .filter(|(seen, _)| respond(policy, *seen) == Response::Replace)
    .map(|(_, chance)| chance)
    .sum()
}

/// The value of a visit in each year to a pole that may be in any of `states`.
///
/// `standing(state, t)` is the chance that it stands `t` years after the plan date when nothing is done,
/// `replaced(s, limit)` the chance that a visit at progress `s` ends in replacement, and `hidden` the share of poles
/// whose decay no visit by the method sees: for those every visit is as on sound wood.
pub fn value_of_visits(
    states: &[State],
    standing: impl Fn(&State, f64) -> f64,
    replaced: impl Fn(f64, f64) -> f64,
    hidden: f64,
    prices: &Prices,
    timing: Timing,
) -> VisitValues {
    // J(L) - J(y) in closed form: both go the same way but for poles replaced in y, which then cost a chain from y on
    // instead of waiting from y to L and the visit in L.
    let due = usize::from(timing.due_year).clamp(1, LONGEST_WAIT);
    let years = usize::from(timing.years);
    let asked = due.min(years);
    let discounts = powers(prices.discount);
    let mut values = vec![0.0_f64; asked];
    for state in states.iter().filter(|state| state.mass > NEGLIGIBLE_MASS) {
        let path = Path::of(state, due, &standing, prices, &discounts);
        let sound = replaced(0.0, state.limit);
        let shows = |t: usize| match path.progress[t] {
            progress if progress > 0.0 => replaced(progress, state.limit),
            _ => sound,
        };
        for (share, is_hidden) in [(1.0 - hidden, false), (hidden, true)] {
            let found = |t: usize| if is_hidden { sound } else { shows(t) };
            let rest = path.from_due(due, found(due), prices, &discounts);
            for (year, value) in values.iter_mut().enumerate() {
                let now = discounts[year] * path.standing[year];
                let early = prices.inspection * (due - year) as f64 / timing.interval.max(1.0);
                let wait = path.cost[due] - path.cost[year] + rest;
                let saved = found(year) * (wait - now * prices.chain);
                *value += state.mass * share * (saved - now * early);
            }
        }
    }
    let mut by_year: Vec<f32> = values.into_iter().map(|value| value as f32).collect();
    by_year.resize(years, 0.0);
    VisitValues {
        due_year: timing.due_year,
        by_year,
    }
}

const STEPS: usize = LONGEST_WAIT + YEARS_AFTER_DUE + 1;

/// Discount factors of whole years.
fn powers(discount: f64) -> [f64; STEPS] {
    let mut all = [1.0; STEPS];
    for year in 1..STEPS {
        all[year] = all[year - 1] * discount;
    }
    all
}

/// One state through the years with nothing done.
struct Path {
    /// Progress at the start of each year.
    progress: [f64; STEPS],
    /// Chance of standing at the start of each year.
    standing: [f64; STEPS],
    /// Cost of failures and of years below the limit from the plan date to the start of each year.
    cost: [f64; STEPS],
    /// Value at the end of what still stands then, with its chance and discount.
    end: f64,
}

impl Path {
    fn of(
        state: &State,
        due: usize,
        standing: &impl Fn(&State, f64) -> f64,
        prices: &Prices,
        discounts: &[f64; STEPS],
    ) -> Self {
        let last = due + YEARS_AFTER_DUE;
        let mut path = Self {
            progress: [0.0; STEPS],
            standing: [1.0; STEPS],
            cost: [0.0; STEPS],
            end: 0.0,
        };
        for t in 0..=last {
            path.progress[t] = state.wood.progress(state.age + t as f64);
        }
        path.stand(state, last, standing);
        for t in 0..last {
            let stands = path.standing[t];
            let fails = (stands - path.standing[t + 1]).max(0.0);
            let below = if path.progress[t] >= state.limit {
                prices.below_limit_year * stands
            } else {
                0.0
            };
            let year = fails * (prices.failure_excess + prices.chain) + below;
            path.cost[t + 1] = path.cost[t] + discounts[t] * year;
        }
        let left = (state.wood.age_at(state.limit) - state.age - last as f64).max(0.0);
        path.end =
            discounts[last] * path.standing[last] * prices.chain * pow(prices.discount, left);
        path
    }

    /// Fills in the chance of standing. Sound wood has a constant hazard, so its years follow from one value.
    fn stand(&mut self, state: &State, last: usize, standing: &impl Fn(&State, f64) -> f64) {
        let sound = (0..=last).rfind(|t| self.progress[*t] <= 0.0).unwrap_or(0);
        if sound > 0 {
            let yearly = pow(standing(state, sound as f64), 1.0 / sound as f64);
            for t in 1..=sound {
                self.standing[t] = self.standing[t - 1] * yearly;
            }
        }
        for t in sound + 1..=last {
            self.standing[t] = standing(state, t as f64);
        }
    }

    /// Cost of everything from the visit in the due year on, when it ends in replacement with chance `found`.
    fn from_due(&self, due: usize, found: f64, prices: &Prices, discounts: &[f64; STEPS]) -> f64 {
        let visit = prices.inspection + found * prices.chain;
        let after = self.cost[due + YEARS_AFTER_DUE] - self.cost[due] + self.end;
        discounts[due] * self.standing[due] * visit + (1.0 - found) * after
    }
}
