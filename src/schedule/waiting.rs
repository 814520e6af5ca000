//! The value of a visit: what going in an early year saves over waiting for the binding due year (model section 7).
//!
//! A visit happens in the due year `L` in any case; `C(y)` is the discounted cost of also going in `y < L`, and the
//! value of a visit in `y` is `J(L) - J(y)`, `J` the mean of `C` over the states that a pole may be in. Years are whole
//! plan years, a visit comes at the start of its year. Written against plain states and functions: must not know rules,
//! packages or crews. Of what a visit finds, only a replacement changes the future here: what a remedial treatment slows
//! is not counted, nor its cost, and a condemned pole is taken as replaced at once.

use super::prices::Prices;
use crate::belief::State;
use crate::maths::pow;
use crate::programme::{Policy, Response, Seen, respond};

/// Plan years beyond which the due year is not followed: what is saved there is discounted to little.
const LONGEST_WAIT: usize = 40;

/// Years after the due year until what still stands is valued as it is: "a few" in the model; judgement.
const YEARS_AFTER_DUE: usize = 3;

/// States believed less than this are left out: even 500 of them change a value by less than 1e-5 of a failure's cost.
const NEGLIGIBLE_MASS: f64 = 1e-8;

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

    /// The most that a visit before the due year is worth.
    pub fn most(&self) -> f64 {
        self.best_year().map_or(0.0, |year| self.at(year))
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

/// Chance that a visit ends in replacement: by the policy's answer to each of its outcomes, given the chances that the
/// pole is called decayed and that it is judged below the limit.
pub fn replaced(policy: &Policy, found: f64, rejected: f64) -> f64 {
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
/// `replaced(s, limit)` the chance that a visit at progress `s` ends in replacement, and `blind` whether the method is
/// one that a state's decay may be hidden from: so far as it is, every visit is as on sound wood.
pub fn value_of_visits(
    states: &[State],
    standing: impl Fn(&State, f64) -> f64,
    replaced: impl Fn(f64, f64) -> f64,
    blind: bool,
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
        let hidden = if blind { state.hidden } else { 0.0 };
        for (share, is_hidden) in [(1.0 - hidden, false), (hidden, true)] {
            let found = |t: usize| if is_hidden { sound } else { shows(t) };
            let rest = path.cost_from_due(due, found(due), prices, &discounts);
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
        for (t, discount) in discounts.iter().enumerate().take(last) {
            let stands = path.standing[t];
            let fails = (stands - path.standing[t + 1]).max(0.0);
            let below = if path.progress[t] >= state.limit {
                prices.below_limit_year * stands
            } else {
                0.0
            };
            let year = fails * (prices.failure_excess + prices.chain) + below;
            path.cost[t + 1] = path.cost[t] + discount * year;
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
    fn cost_from_due(
        &self,
        due: usize,
        found: f64,
        prices: &Prices,
        discounts: &[f64; STEPS],
    ) -> f64 {
        let visit = prices.inspection + found * prices.chain;
        let after = self.cost[due + YEARS_AFTER_DUE] - self.cost[due] + self.end;
        discounts[due] * self.standing[due] * visit + (1.0 - found) * after
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{policy, programme};
    use crate::maths::{exp, normal_cdf};
    use crate::pole::Mode;
    use crate::units::Mm;
    use crate::wood::Wood;

    const SHAPE: Timing = Timing {
        due_year: 10,
        interval: 10.0,
        years: 10,
    };

    /// Yearly failures from about 3e-5 (sound) to 1e-3 (at the limit): the levels of model section 5, joined by an
    /// exponential for these tests.
    fn hazard(progress: f64) -> f64 {
        3e-5 * exp(3.5 * progress.clamp(0.0, 2.5))
    }

    /// Standing under [`hazard`], by monthly steps.
    fn standing(state: &State, years: f64) -> f64 {
        let months = (years * 12.0).round() as u32;
        let total: f64 = (0..months)
            .map(|month| {
                hazard(
                    state
                        .wood
                        .progress(state.age + (f64::from(month) + 0.5) / 12.0),
                )
            })
            .sum();
        exp(-total / 12.0)
    }

    fn state(life: f64, age: f64) -> State {
        State {
            mass: 1.0,
            wood: Wood {
                life,
                protected: 0.6,
                mode: Mode::External,
                diameter: Mm(300.0),
            },
            age,
            limit: 1.0,
            hidden: 0.0,
        }
    }

    /// Free inspections and the costs of the test programme.
    fn prices(inspection: f64) -> Prices {
        Prices::new(&programme().costs, inspection, 45.0, hazard(1.0))
    }

    /// A method that sees like sound and bore or better: sensitivity `q`, verdicts `sd` wide, false finds `f`.
    fn method(q: f64, sd: f64, f: f64) -> impl Fn(f64, f64) -> f64 {
        move |progress, limit| {
            let seen = 1.0 - pow(1.0 - q, progress.max(0.0));
            f * 0.03 + (1.0 - f) * seen * normal_cdf((progress - limit) / sd)
        }
    }

    /// `C(y)` as model section 7 writes it, step by step.
    fn cost(
        state: &State,
        y: usize,
        due: usize,
        prices: &Prices,
        found: impl Fn(f64, f64) -> f64,
    ) -> f64 {
        let last = due + YEARS_AFTER_DUE;
        let mut stands = 1.0;
        let mut total = 0.0;
        for t in 0..last {
            let discount = pow(prices.discount, t as f64);
            let progress = state.wood.progress(state.age + t as f64);
            if t == y || t == due {
                let k = if t == due {
                    prices.inspection
                } else {
                    prices.inspection * (due - y) as f64 / SHAPE.interval
                };
                let replaced = found(progress, state.limit);
                total += discount * stands * (k + replaced * prices.chain);
                stands *= 1.0 - replaced;
            }
            let h = 1.0 - standing(state, t as f64 + 1.0) / standing(state, t as f64);
            total += discount * stands * h * (prices.failure_excess + prices.chain);
            if progress >= state.limit {
                total += discount * stands * prices.below_limit_year;
            }
            stands *= 1.0 - h;
        }
        let left = (state.wood.age_at(state.limit) - state.age - last as f64).max(0.0);
        total + stands * prices.chain * pow(prices.discount, last as f64 + left)
    }

    fn values(state: State, found: impl Fn(f64, f64) -> f64, prices: &Prices) -> VisitValues {
        value_of_visits(&[state], standing, found, true, prices, SHAPE)
    }

    #[test]
    fn the_closed_form_is_the_difference_of_costs() {
        // Values are kept as f32 and the sound years' hazard is taken as constant (exact here but for rounding).
        const RELATIVE: f64 = 1e-5;
        let prices = prices(40.0);
        for life in [12.0, 30.0, 45.0, 60.0] {
            let state = state(life, 30.0);
            let found = method(0.8, 0.3, 0.03);
            let values = values(state, &found, &prices);
            let waiting = cost(&state, 10, 10, &prices, &found);
            for y in 0..10 {
                let expected = waiting - cost(&state, y, 10, &prices, &found);
                let got = values.at(y as u16);
                let slack = RELATIVE * (1.0 + waiting.abs());
                assert!(
                    (got - expected).abs() < slack,
                    "life {life} year {y}: {got} {expected}"
                );
            }
        }
    }

    #[test]
    fn acting_on_a_known_state_pays_at_the_limit_and_more_beyond() {
        // Acting: a visit that always ends in replacement, at no cost of its own.
        let mut before = 0.0;
        for step in 0..=10 {
            let progress = 1.0 + f64::from(step) / 10.0;
            let wood = state(40.0, 0.0).wood;
            let known = state(40.0, wood.age_at(progress));
            let value = values(known, |_, _| 1.0, &prices(0.0)).at(0);
            assert!(
                value > before,
                "progress {progress}: {value} after {before}"
            );
            before = value;
        }
    }

    #[test]
    fn acting_breaks_even_at_the_limit_at_the_price_of_the_model() {
        let mut costs = programme().costs;
        let e = crate::schedule::prices::yearly_cost(costs.replacement, costs.discount_rate, 45.0);
        let excess = costs.failure - costs.replacement;
        let known = state(40.0, 40.0);
        // Over one year from the limit; the hazard is that of the year, e falls due at its end unless the pole failed.
        let h = 1.0 - standing(&known, 1.0);
        costs.below_limit_year = Some((1.0 - h) * e / (1.0 + costs.discount_rate) - h * excess);
        let prices = Prices::new(&costs, 0.0, 45.0, h);
        let timing = Timing {
            due_year: 1,
            ..SHAPE
        };
        let value = value_of_visits(&[known], standing, |_, _| 1.0, false, &prices, timing).at(0);
        // Kept as f32 next to a chain of about 10,000.
        assert!(value.abs() < 0.01, "{value}");
        // The default price is one e above the break-even of the model.
        let default = Prices::new(&programme().costs, 0.0, 45.0, h).below_limit_year;
        assert!((default - (2.0 * e - h * excess)).abs() < 1e-9);
    }

    #[test]
    fn a_free_look_never_costs_but_for_its_false_finds() {
        // Verdicts sharp, so that nothing above the limit is condemned: what is left is misses.
        for life in 5..80 {
            let state = state(f64::from(life), 30.0);
            let without = values(state, method(0.6, 1e-6, 0.0), &prices(0.0));
            assert!((0..10).all(|year| without.at(year) >= 0.0), "life {life}");
        }
        let sound = values(state(300.0, 10.0), method(0.6, 1e-6, 0.05), &prices(0.0));
        assert!(sound.at(0) < 0.0, "a false find on sound wood costs a pole");
    }

    #[test]
    fn decay_that_no_visit_sees_makes_a_visit_worth_less() {
        let known = state(40.0, 44.0);
        let value = |hidden| {
            let found = method(0.8, 0.3, 0.0);
            let known = State { hidden, ..known };
            value_of_visits(&[known], standing, found, true, &prices(0.0), SHAPE).at(0)
        };
        assert!(value(0.0) > 0.0);
        assert!((value(0.15) - 0.85 * value(0.0)).abs() < 1e-4 * value(0.0));
        assert!(value(1.0).abs() < 1e-9);
    }

    /// A pole of this age on a lognormal life curve (median 45, ln sd 0.4), in equal parts of what is left of it.
    fn believed(age: f64) -> Vec<State> {
        let lives = (0..400).map(|part| {
            let u = (f64::from(part) + 0.5) / 400.0;
            45.0 * exp(0.4 * crate::maths::normal_quantile(u))
        });
        // Poles far below the limit have mostly been found and are gone.
        let left: Vec<f64> = lives.filter(|life| age < 1.3 * life).collect();
        let mass = 1.0 / left.len() as f64;
        left.into_iter()
            .map(|life| State {
                mass,
                hidden: 0.15,
                ..state(life, age)
            })
            .collect()
    }

    /// Places of values in their sorted order.
    fn places(values: &[f64]) -> Vec<f64> {
        let below = |value: f64| values.iter().filter(|other| **other < value).count() as f64;
        values.iter().map(|value| below(*value)).collect()
    }

    fn correlation(a: &[f64], b: &[f64]) -> f64 {
        let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
        let (mean_a, mean_b) = (mean(a), mean(b));
        let product = |x: &[f64], mx: f64, y: &[f64], my: f64| -> f64 {
            x.iter().zip(y).map(|(x, y)| (x - mx) * (y - my)).sum()
        };
        product(a, mean_a, b, mean_b)
            / libm::sqrt(product(a, mean_a, a, mean_a) * product(b, mean_b, b, mean_b))
    }

    #[test]
    fn the_value_ranks_poles_like_the_probability_below_the_limit() {
        // Source of the bound: model section 7, rank correlation 0.83 to 0.99.
        const LEAST: f64 = 0.83;
        let mut worth = Vec::new();
        let mut below = Vec::new();
        for age in 5..70 {
            let states = believed(f64::from(age));
            let found = method(0.8, 0.3, 0.02);
            let values = value_of_visits(&states, standing, found, true, &prices(40.0), SHAPE);
            worth.push(values.at(0));
            let mass = |state: &State| {
                f64::from(u8::from(state.wood.progress(state.age) >= state.limit)) * state.mass
            };
            below.push(states.iter().map(mass).sum());
        }
        let found = correlation(&places(&worth), &places(&below));
        assert!(found >= LEAST, "{found}");
    }

    #[test]
    fn the_best_year_is_neither_always_now_nor_always_late() {
        let best: Vec<Option<u16>> = (5..70)
            .map(|age| {
                let states = believed(f64::from(age));
                let found = method(0.8, 0.3, 0.02);
                value_of_visits(&states, standing, found, true, &prices(40.0), SHAPE).best_year()
            })
            .collect();
        let distinct: std::collections::BTreeSet<u16> = best.iter().flatten().copied().collect();
        assert!(best.contains(&None), "young poles can wait");
        assert!(distinct.len() >= 4, "{distinct:?}");
    }

    #[test]
    fn every_replacement_goes_through_the_policy() {
        // Found 0.7, of which 0.5 judged below the limit: the policy replaces only those, whatever is treated.
        for remedial_treatment in [false, true] {
            let policy = Policy {
                remedial_treatment,
                ..policy()
            };
            assert!((replaced(&policy, 0.7, 0.5) - 0.5).abs() < 1e-12);
        }
    }
}
