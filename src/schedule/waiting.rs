//! The value of a visit: what going in an early year saves over waiting for the binding due year (model section 7).
//!
//! A visit happens in the due year `L` in any case; `C(y)` is the discounted cost of also going in `y < L`, and the
//! value of a visit in `y` is `J(L) - J(y)`, `J` the mean of `C` over the states that a pole may be in. Years are whole
//! plan years, a visit comes at the start of its year. Written against plain states and functions: must not know rules,
//! packages or crews. A condemned pole is taken as replaced or reinforced at once; what a remedial treatment slows is
//! counted on the clock of [`wood::clock`](crate::wood::clock), at its usual factor.

use super::prices::Prices;
use crate::belief::State;
use crate::maths::pow;
use crate::programme::{Policy, Response, Seen, respond};
use crate::wood::Upkeep;
use crate::wood::agents::Planned;

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
    /// Chance that the pole is below the limit at the plan date.
    pub below_now: f32,
}

impl VisitValues {
    /// No visit is worth anything before it is due.
    pub fn nothing(due_year: u16, years: u16) -> Self {
        Self {
            due_year,
            by_year: vec![0.0; usize::from(years)],
            below_now: 0.0,
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

/// Chances of what follows from a visit; nothing does with the rest.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Outcomes {
    /// The pole is replaced.
    pub replaced: f64,
    /// It is reinforced.
    pub reinforced: f64,
    /// It is given a remedial treatment.
    pub treated: f64,
}

/// What follows from a visit by the policy's answer to each of its outcomes, given the chances that the pole is called
/// decayed and that it is judged below the limit, and whether the pole was never reinforced.
pub fn outcomes(policy: &Policy, found: f64, rejected: f64, unbraced: bool) -> Outcomes {
    let fit = if unbraced {
        policy.reinforceable_share.get()
    } else {
        0.0
    };
    let mut all = Outcomes::default();
    for (seen, chance) in [
        (Seen::NoDecay, 1.0 - found),
        (Seen::Decay, found - rejected),
        (Seen::Reinforceable, rejected * fit),
        (Seen::BelowLimit, rejected * (1.0 - fit)),
    ] {
        match respond(policy, seen) {
            Response::Leave => {}
            Response::Treat => all.treated += chance,
            Response::Reinforce => all.reinforced += chance,
            Response::Replace => all.replaced += chance,
        }
    }
    all
}

/// What is believed of a pole and what a visit can do for it.
#[derive(Debug, Clone, Copy)]
pub struct Believed<'a> {
    /// The states that it may be in.
    pub states: &'a [State],
    /// What was done to keep it.
    pub upkeep: &'a Upkeep,
    /// What a remedial treatment at a visit reaches and for how long.
    pub treatment: &'a Planned,
    /// The usual clock factor of such a treatment.
    pub factor: f64,
    /// Whether the method is one that a state's decay may be hidden from: so far as it is, every visit is as on sound
    /// wood.
    pub blind: bool,
}

impl Believed<'_> {
    /// A state with a treatment given in a year: the state, its upkeep and the years in which the agent acts. `None`
    /// where it would slow nothing before the horizon.
    fn treated(
        &self,
        state: &State,
        upkeep: &Upkeep,
        year: usize,
        last: usize,
    ) -> Option<(State, Upkeep)> {
        let mode = state.wood.mode;
        let stretch = self.treatment[mode.index()]?.stretch(year as f64);
        let onset = state.aging(upkeep).onset();
        if stretch.until <= onset || onset >= last as f64 {
            return None;
        }
        let factor = if self.upkeep.is_slowed(mode) {
            state.factor
        } else {
            self.factor
        };
        let mut with = upkeep.clone();
        with.treat(mode, stretch);
        Some((State { factor, ..*state }, with))
    }
}

/// The value of a visit in each year to a pole.
///
/// `standing(state, upkeep, t)` is the chance that it stands `t` years after the plan date when nothing more is done, up to
/// a factor of the state: its value for 0 years is taken as one. `outcomes(s, limit)` is what follows from a visit at
/// progress `s`.
pub fn value_of_visits(
    pole: &Believed<'_>,
    standing: impl Fn(&State, &Upkeep, f64) -> f64,
    outcomes: impl Fn(f64, f64) -> Outcomes,
    prices: &Prices,
    timing: Timing,
) -> VisitValues {
    // J(L) - J(y) in closed form: both go the same way but for poles replaced, reinforced or treated in y, which then
    // cost what follows from that instead of waiting from y to L and the visit in L.
    let due = usize::from(timing.due_year).clamp(1, LONGEST_WAIT);
    let years = usize::from(timing.years);
    let ways = Ways {
        due,
        standing: &standing,
        outcomes: &outcomes,
        prices,
        discounts: powers(prices.discount),
    };
    let mut values = vec![0.0_f64; due.min(years)];
    for state in pole
        .states
        .iter()
        .filter(|state| state.mass > NEGLIGIBLE_MASS)
    {
        ways.add(pole, state, timing.interval, &mut values);
    }
    let mut by_year: Vec<f32> = values.into_iter().map(|value| value as f32).collect();
    by_year.resize(years, 0.0);
    VisitValues {
        due_year: timing.due_year,
        by_year,
        below_now: below_now(pole) as f32,
    }
}

/// Chance that a pole is below the limit at the plan date; a brace that holds its groundline has no limit.
fn below_now(pole: &Believed<'_>) -> f64 {
    if pole.upkeep.is_braced(0.0) {
        return 0.0;
    }
    let states = pole.states.iter();
    let below = states.filter(|state| state.aging(pole.upkeep).progress(0.0) >= state.limit);
    below.map(|state| state.mass).sum()
}

/// What is the same for all states of a pole.
struct Ways<'a, S, O> {
    due: usize,
    standing: &'a S,
    outcomes: &'a O,
    prices: &'a Prices,
    discounts: [f64; STEPS],
}

impl<S: Fn(&State, &Upkeep, f64) -> f64, O: Fn(f64, f64) -> Outcomes> Ways<'_, S, O> {
    /// Adds what a visit in each year is worth to one state, by its mass.
    fn add(&self, pole: &Believed<'_>, state: &State, interval: f64, values: &mut [f64]) {
        let (due, prices) = (self.due, self.prices);
        let path = Path::of(self, state, pole.upkeep);
        let hidden = if pole.blind { state.hidden } else { 0.0 };
        let after = self.after_treatment(pole, state, pole.upkeep, &path, due);
        let lanes = [(1.0 - hidden, false), (hidden, true)];
        let lanes = if hidden > 0.0 {
            &lanes[..]
        } else {
            &lanes[..1]
        };
        let rest = [false, true]
            .map(|blind| path.cost_from_due(self, self.found(&path, due, blind), after));
        for (year, value) in values.iter_mut().enumerate() {
            let now = self.discounts[year] * path.standing[year];
            let early = prices.inspection * (due - year) as f64 / interval.max(1.0);
            let treated = pole
                .treated(state, pole.upkeep, year, due + YEARS_AFTER_DUE)
                .filter(|_| self.found(&path, year, false).treated > 0.0)
                .map(|(state, upkeep)| {
                    let slow = path.clone().going_on(self, year, &state, &upkeep);
                    let after = self.after_treatment(pole, &state, &upkeep, &slow, due);
                    (slow, after)
                });
            for (&(share, blind), rest) in lanes.iter().zip(rest) {
                let found = self.found(&path, year, blind);
                let wait = path.cost[due] - path.cost[year] + rest;
                let wait_treated = treated.as_ref().map_or(wait, |(slow, after)| {
                    let rest = slow.cost_from_due(self, self.found(slow, due, blind), *after);
                    slow.cost[due] - slow.cost[year] + rest
                });
                let saved = found.replaced * (wait - now * prices.chain)
                    + found.reinforced * (wait - now * prices.braced)
                    + found.treated * (wait - wait_treated - now * prices.treatment);
                *value += state.mass * share * (saved - now * early);
            }
        }
    }

    /// What follows from a visit in a year; `blind`: to decay that the method cannot see.
    fn found(&self, path: &Path, year: usize, blind: bool) -> Outcomes {
        let progress = if blind { 0.0 } else { path.progress[year] };
        if progress > 0.0 {
            return (self.outcomes)(progress, path.limit[year]);
        }
        // Sound wood looks the same in every year, unless a brace is all that one sees.
        if path.limit[year].is_finite() {
            path.on_sound_wood
        } else {
            (self.outcomes)(0.0, path.limit[year])
        }
    }

    /// Cost after the due year of a state that is treated in it.
    fn after_treatment(
        &self,
        pole: &Believed<'_>,
        state: &State,
        upkeep: &Upkeep,
        path: &Path,
        due: usize,
    ) -> f64 {
        let treated = pole.treated(state, upkeep, due, due + YEARS_AFTER_DUE);
        treated.map_or_else(
            || path.after(due),
            |(state, upkeep)| path.clone().going_on(self, due, &state, &upkeep).after(due),
        )
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

/// One state through the years with nothing more done.
#[derive(Clone)]
struct Path {
    /// Progress at the start of each year.
    progress: [f64; STEPS],
    /// The limit for who looks in that year: none while a reinforcement holds the groundline.
    limit: [f64; STEPS],
    /// Chance of standing at the start of each year.
    standing: [f64; STEPS],
    /// Cost of failures and of years below the limit from the plan date to the start of each year.
    cost: [f64; STEPS],
    /// Value at the end of what still stands then, with its chance and discount.
    end: f64,
    /// What follows from a visit to sound wood that no brace holds.
    on_sound_wood: Outcomes,
    /// One over what `standing` says of the plan date; 0 where it says that the state does not stand.
    per_standing: f64,
}

impl Path {
    fn of<S: Fn(&State, &Upkeep, f64) -> f64, O: Fn(f64, f64) -> Outcomes>(
        ways: &Ways<'_, S, O>,
        state: &State,
        upkeep: &Upkeep,
    ) -> Self {
        let now = (ways.standing)(state, upkeep, 0.0);
        let nothing = Self {
            on_sound_wood: (ways.outcomes)(0.0, state.limit),
            per_standing: if now > 0.0 { 1.0 / now } else { 0.0 },
            progress: [0.0; STEPS],
            limit: [state.limit; STEPS],
            standing: [1.0; STEPS],
            cost: [0.0; STEPS],
            end: 0.0,
        };
        nothing.going_on(ways, 0, state, upkeep)
    }

    /// The path that goes on from a year with another upkeep.
    fn going_on<S: Fn(&State, &Upkeep, f64) -> f64, O>(
        self,
        ways: &Ways<'_, S, O>,
        start: usize,
        state: &State,
        upkeep: &Upkeep,
    ) -> Self {
        let last = ways.due + YEARS_AFTER_DUE;
        let prices = ways.prices;
        let mut path = self;
        let aging = state.aging(upkeep);
        for t in start..=last {
            path.progress[t] = aging.progress(t as f64);
            if upkeep.is_braced(t as f64) {
                path.limit[t] = f64::INFINITY;
            }
        }
        let per_standing = path.per_standing;
        path.stand(start, last, |years| {
            (ways.standing)(state, upkeep, years) * per_standing
        });
        for (t, discount) in ways.discounts.iter().enumerate().take(last).skip(start) {
            let stands = path.standing[t];
            let fails = (stands - path.standing[t + 1]).max(0.0);
            let below = if path.progress[t] >= path.limit[t] {
                prices.below_limit_year * stands
            } else {
                0.0
            };
            let year = fails * (prices.failure_excess + prices.chain) + below;
            path.cost[t + 1] = path.cost[t] + discount * year;
        }
        let held = upkeep.braced().map_or(0.0, |brace| brace.until);
        let left = (aging.years_at(state.limit).max(held) - last as f64).max(0.0);
        path.end =
            ways.discounts[last] * path.standing[last] * prices.chain * pow(prices.discount, left);
        path
    }

    /// Fills in the chance of standing after the first year. Sound wood has a constant hazard, so its years follow from
    /// one value.
    fn stand(&mut self, start: usize, last: usize, standing: impl Fn(f64) -> f64) {
        let sound = (start..=last)
            .rfind(|t| self.progress[*t] <= 0.0)
            .unwrap_or(start);
        if start == 0 && sound > 0 {
            let yearly = pow(standing(sound as f64), 1.0 / sound as f64);
            for t in 1..=sound {
                self.standing[t] = self.standing[t - 1] * yearly;
            }
        }
        // On a path that goes on from another the sound years are those of that path.
        for t in sound + 1..=last {
            self.standing[t] = standing(t as f64);
        }
    }

    /// Cost from a year on when nothing is done in it.
    fn after(&self, due: usize) -> f64 {
        self.cost[due + YEARS_AFTER_DUE] - self.cost[due] + self.end
    }

    /// Cost of everything from the visit in the due year on; `treated`: of a state treated in it, from then on.
    fn cost_from_due<S, O>(&self, ways: &Ways<'_, S, O>, found: Outcomes, treated: f64) -> f64 {
        let prices = ways.prices;
        let visit = prices.inspection
            + found.replaced * prices.chain
            + found.reinforced * prices.braced
            + found.treated * prices.treatment;
        let left = 1.0 - found.replaced - found.reinforced - found.treated;
        ways.discounts[ways.due] * self.standing[ways.due] * visit
            + left * self.after(ways.due)
            + found.treated * treated
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{policy, programme};
    use crate::maths::{exp, normal_cdf};
    use crate::pole::Mode;
    use crate::units::Mm;
    use crate::wood::agents::AgentYears;
    use crate::wood::{Stretch, Wood};

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
    fn standing(state: &State, upkeep: &Upkeep, years: f64) -> f64 {
        let months = (years * 12.0).round() as u32;
        let total: f64 = (0..months)
            .map(|month| (f64::from(month) + 0.5) / 12.0)
            .map(|at| {
                if upkeep.is_braced(at) {
                    hazard(0.0)
                } else {
                    hazard(state.aging(upkeep).progress(at))
                }
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
            factor: 1.0,
        }
    }

    /// Nothing done before.
    static NOTHING: std::sync::LazyLock<Upkeep> = std::sync::LazyLock::new(Upkeep::default);

    /// A policy that treats nothing.
    fn believed_as(states: &[State], blind: bool) -> Believed<'_> {
        Believed {
            states,
            upkeep: &NOTHING,
            treatment: &[None; 2],
            factor: 0.5,
            blind,
        }
    }

    /// Whatever is condemned is replaced.
    fn only_replaced(found: impl Fn(f64, f64) -> f64) -> impl Fn(f64, f64) -> Outcomes {
        move |progress, limit| Outcomes {
            replaced: found(progress, limit),
            ..Outcomes::default()
        }
    }

    /// Free inspections and the costs of the test programme.
    fn prices(inspection: f64) -> Prices {
        Prices::new(&programme().costs, inspection, 45.0, hazard(1.0), 20.0)
    }

    /// A method that sees like sound and bore or better: sensitivity `q`, verdicts `sd` wide, false finds `f`.
    fn method(q: f64, sd: f64, f: f64) -> impl Fn(f64, f64) -> f64 {
        move |progress, limit| {
            let seen = 1.0 - pow(1.0 - q, progress.max(0.0));
            f * 0.03 + (1.0 - f) * seen * normal_cdf((progress - limit) / sd)
        }
    }

    /// `C(y)` as model section 7 writes it, step by step: every branch of what the visits in `y` and in `due` lead to is
    /// followed by itself. `treatment` gives the stretch of a treatment in a year.
    fn cost(
        state: &State,
        upkeep: &Upkeep,
        (y, due): (usize, usize),
        prices: &Prices,
        found: &impl Fn(f64, f64) -> Outcomes,
        treatment: &impl Fn(usize) -> Option<Stretch>,
    ) -> f64 {
        branch(state, upkeep, 0, (y, due), prices, found, treatment)
    }

    /// The cost from the start of year `t` on, given that the pole stands then; the year's visit is yet to come.
    fn branch(
        state: &State,
        upkeep: &Upkeep,
        t: usize,
        (y, due): (usize, usize),
        prices: &Prices,
        found: &impl Fn(f64, f64) -> Outcomes,
        treatment: &impl Fn(usize) -> Option<Stretch>,
    ) -> f64 {
        let discount = pow(prices.discount, t as f64);
        let go_on = |upkeep: &Upkeep| year_on(state, upkeep, t, (y, due), prices, found, treatment);
        if t != y && t != due {
            return go_on(upkeep);
        }
        let k = if t == due {
            prices.inspection
        } else {
            prices.inspection * (due - y) as f64 / SHAPE.interval
        };
        let limit = if upkeep.is_braced(t as f64) {
            f64::INFINITY
        } else {
            state.limit
        };
        let seen = found(state.aging(upkeep).progress(t as f64).max(0.0), limit);
        let mut treated = upkeep.clone();
        if let Some(stretch) = treatment(t) {
            treated.treat(state.wood.mode, stretch);
        }
        let left = 1.0 - seen.replaced - seen.reinforced - seen.treated;
        discount
            * (k + seen.replaced * prices.chain
                + seen.reinforced * prices.braced
                + seen.treated * prices.treatment)
            + left * go_on(upkeep)
            + seen.treated * go_on(&treated)
    }

    /// The cost of the year `t` after its visit, and of what follows.
    fn year_on(
        state: &State,
        upkeep: &Upkeep,
        t: usize,
        visits: (usize, usize),
        prices: &Prices,
        found: &impl Fn(f64, f64) -> Outcomes,
        treatment: &impl Fn(usize) -> Option<Stretch>,
    ) -> f64 {
        let last = visits.1 + YEARS_AFTER_DUE;
        let discount = pow(prices.discount, t as f64);
        let pole = state.aging(upkeep);
        if t == last {
            let held = upkeep.braced().map_or(0.0, |brace| brace.until);
            let left = (pole.years_at(state.limit).max(held) - last as f64).max(0.0);
            return prices.chain * pow(prices.discount, last as f64 + left);
        }
        let at = |years: usize| standing(state, upkeep, years as f64);
        let h = 1.0 - at(t + 1) / at(t);
        let below = pole.progress(t as f64) >= state.limit && !upkeep.is_braced(t as f64);
        let mut total = discount * h * (prices.failure_excess + prices.chain);
        if below {
            total += discount * prices.below_limit_year;
        }
        total + (1.0 - h) * branch(state, upkeep, t + 1, visits, prices, found, treatment)
    }

    fn values(state: State, found: impl Fn(f64, f64) -> f64, prices: &Prices) -> VisitValues {
        value_of_visits(
            &believed_as(&[state], true),
            standing,
            only_replaced(found),
            prices,
            SHAPE,
        )
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
            let cost_of = |y| {
                let found = only_replaced(&found);
                cost(&state, &NOTHING, (y, 10), &prices, &found, &|_| None)
            };
            let waiting = cost_of(10);
            for y in 0..10 {
                let expected = waiting - cost_of(y);
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
    fn treatments_and_reinforcements_are_valued_as_the_costs_say() {
        // Values are kept as f32 beside chains of 10,000.
        const RELATIVE: f64 = 1e-5;
        let prices = Prices {
            treatment: 60.0,
            ..prices(40.0)
        };
        let planned = [
            Some(AgentYears {
                from: 1.0,
                until: 8.0,
            }),
            None,
        ];
        let mut earlier = Upkeep::default();
        let stretch = |from, until| Stretch { from, until };
        earlier.treat(Mode::External, stretch(-4.0, 2.0));
        let mut braced = Upkeep::default();
        braced.brace(stretch(-8.0, 6.0));
        let detect = method(0.8, 0.3, 0.03);
        let found = |progress: f64, limit: f64| {
            let rejected = detect(progress, limit);
            Outcomes {
                replaced: 0.7 * rejected,
                reinforced: 0.3 * rejected,
                treated: 0.5 * (1.0 - rejected) * progress.min(1.0) + 0.03,
            }
        };
        for upkeep in [&NOTHING, &earlier, &braced] {
            for life in [22.0, 30.0, 45.0, 60.0] {
                let state = State {
                    factor: 0.5,
                    ..state(life, 30.0)
                };
                let pole = Believed {
                    upkeep,
                    treatment: &planned,
                    ..believed_as(std::slice::from_ref(&state), false)
                };
                let values = value_of_visits(&pole, standing, found, &prices, SHAPE);
                let treatment = |year: usize| Some(stretch(year as f64 + 1.0, year as f64 + 8.0));
                let cost_of = |y| cost(&state, upkeep, (y, 10), &prices, &found, &treatment);
                let waiting = cost_of(10);
                for y in 0..10 {
                    let (got, expected) = (values.at(y as u16), waiting - cost_of(y));
                    let slack = RELATIVE * (1.0 + waiting.abs());
                    assert!(
                        (got - expected).abs() < slack,
                        "life {life} year {y}: {got} {expected}"
                    );
                }
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
        let h = 1.0 - standing(&known, &NOTHING, 1.0);
        costs.below_limit_year = Some((1.0 - h) * e / (1.0 + costs.discount_rate) - h * excess);
        let prices = Prices::new(&costs, 0.0, 45.0, h, 20.0);
        let timing = Timing {
            due_year: 1,
            ..SHAPE
        };
        let value = value_of_visits(
            &believed_as(&[known], false),
            standing,
            only_replaced(|_, _| 1.0),
            &prices,
            timing,
        )
        .at(0);
        // Kept as f32 next to a chain of about 10,000.
        assert!(value.abs() < 0.01, "{value}");
        // The default price is one e above the break-even of the model.
        let default = Prices::new(&programme().costs, 0.0, 45.0, h, 20.0).below_limit_year;
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
            value_of_visits(
                &believed_as(&[known], true),
                standing,
                only_replaced(found),
                &prices(0.0),
                SHAPE,
            )
            .at(0)
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
            let values = value_of_visits(
                &believed_as(&states, true),
                standing,
                only_replaced(found),
                &prices(40.0),
                SHAPE,
            );
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
                value_of_visits(
                    &believed_as(&states, true),
                    standing,
                    only_replaced(found),
                    &prices(40.0),
                    SHAPE,
                )
                .best_year()
            })
            .collect();
        let distinct: std::collections::BTreeSet<u16> = best.iter().flatten().copied().collect();
        assert!(best.contains(&None), "young poles can wait");
        assert!(distinct.len() >= 4, "{distinct:?}");
    }

    #[test]
    fn whatever_follows_from_a_visit_goes_through_the_policy() {
        // Found 0.7, of which 0.5 judged below the limit, 0.4 of those fit for a brace.
        let of = |remedial_treatment, reinforce, unbraced| {
            let policy = Policy {
                remedial_treatment,
                reinforce,
                reinforceable_share: crate::units::Fraction::clamped(0.4),
                ..policy()
            };
            let all = outcomes(&policy, 0.7, 0.5, unbraced);
            [all.replaced, all.reinforced, all.treated]
        };
        for (asked, expected) in [
            (of(false, false, true), [0.5, 0.0, 0.0]),
            (of(true, false, true), [0.5, 0.0, 0.2]),
            (of(true, true, true), [0.3, 0.2, 0.2]),
            (of(false, true, false), [0.5, 0.0, 0.0]),
        ] {
            for (one, other) in asked.into_iter().zip(expected) {
                assert!((one - other).abs() < 1e-12, "{asked:?} {expected:?}");
            }
        }
    }
}
