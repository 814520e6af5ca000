//! Better years for a whole plan: trips change years until none of them gains.
//!
//! Lexicographic, rules first: no exchange makes the plan later by law, in pole-years, than the plan that it starts from,
//! or later by any rule than was [promised](Promise); within that, visits are to be worth as much as can be. Prices of
//! crew-days ([`crew_prices`](super::crew_prices)) give a bound on it for all plans that make the same trips, and a start
//! for [`exchange`](super::exchange). A pure function of the work and the first plan.

use super::crew_prices::{Bound, CrewPrices, least_bound};
use super::exchange::{Lateness, exchange};
use super::filling::{fill_again, fill_at_prices};
use super::offers::{Offers, Room, total};
use super::rounds::catch_up;
use super::trips::Trips;
use super::work::{Choices, Work};

/// Most times that trips are formed anew from a better plan.
const TURNS: usize = 3;

/// Share of the worth by which a plan must be better for its trips to be formed anew.
const WORTH_A_TURN: f64 = 1e-3;

/// How much dearer lateness is made, in turn, until a plan made by prices is no later than the one to be improved.
const DEARER: [f64; 7] = [1.0, 1.02, 1.05, 1.1, 1.3, 2.0, 8.0];

/// Trips up to which every start is tried; with more, the first good one comes near the bound.
const TRY_ALL: usize = 200;

/// Trips taken out and filled in again, of all turns together, about: fewer turns the more trips there are.
const STIRRED_TRIPS: usize = 2_000;

/// Most turns of it.
const MOST_STIRS: usize = 30;

/// Share of the bound within which nothing better is looked for.
const NEAR_ENOUGH: f64 = 1e-3;

/// A plan after all exchanges of years that make it better.
pub(super) fn exchanged(work: &Work<'_>, mut plan: Choices, promise: Promise) -> Choices {
    let mut reached = Reached::by(work, &plan);
    for _ in 0..TURNS {
        let trips = Trips::of(work, &plan, promise.to_spare(&reached));
        let Trips { offers, room, .. } = &trips;
        let bound = least_bound(offers, room);
        let places = better_places(offers, room, &bound, &trips.places);
        let next = catch_up(work, trips.moved(work, &plan, &places));
        let then = Reached::by(work, &next);
        let goes_on = then.is_better_than(&reached.and_more(), promise);
        if then.is_better_than(&reached, promise) {
            (plan, reached) = (next, then);
        }
        if !goes_on {
            break;
        }
    }
    plan
}

/// The best places found, from the plan's own and from years filled at the prices, until they are near enough to the
/// bound.
pub(super) fn better_places(offers: &Offers, room: &Room, bound: &Bound, own: &[u16]) -> Vec<u16> {
    let prices = &bound.prices;
    let held = |start| exchange(offers, room, prices, Lateness::Held, start);
    let is_near = |places: &[u16]| {
        total(offers, places).worth >= bound.worth - NEAR_ENOUGH * bound.worth.abs()
    };
    let mut best = own.to_vec();
    for times in DEARER {
        if is_near(&best) {
            return best;
        }
        let filled = held(by_prices(offers, room, prices, times));
        let is_good = keeps_time(offers, room, &filled);
        best = better(offers, room, best, filled);
        if is_good && offers.len() > TRY_ALL {
            break;
        }
    }
    if !is_near(&best) {
        best = better(offers, room, best, held(own.to_vec()));
    }
    let turns = (STIRRED_TRIPS / offers.len().max(1)).min(MOST_STIRS);
    for turn in 0..turns {
        if is_near(&best) {
            break;
        }
        let free = |trip: usize| is_stirred(trip, turn);
        let filled = fill_again(offers, room, prices, best.clone(), free);
        best = better(offers, room, best, held(filled));
    }
    best
}

/// The other places where they are worth more and no later than the room has it.
fn better(offers: &Offers, room: &Room, best: Vec<u16>, other: Vec<u16>) -> Vec<u16> {
    let worth = |places: &[u16]| total(offers, places).worth;
    if keeps_time(offers, room, &other) && worth(&other) > worth(&best) {
        other
    } else {
        best
    }
}

fn keeps_time(offers: &Offers, room: &Room, places: &[u16]) -> bool {
    let total = total(offers, places);
    total.law <= room.law && total.rule <= room.rule
}

/// Whether a trip is taken out in a turn: one in four, scattered the same way on every machine.
fn is_stirred(trip: usize, turn: usize) -> bool {
    // Weyl's sequences of the golden ratio and of the square root of two, 64 bits of each.
    let place = (trip as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    let mixed = place ^ (turn as u64 + 1).wrapping_mul(0x6A09_E667_F3BC_C909);
    let mixed = (mixed ^ (mixed >> 31)).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    (mixed >> 62) == 0
}

/// Places filled and exchanged at prices at which lateness is this many times dearer.
fn by_prices(offers: &Offers, room: &Room, prices: &CrewPrices, times: f64) -> Vec<u16> {
    let dearer = CrewPrices {
        law: prices.law * times,
        rule: prices.rule * times,
        ..prices.clone()
    };
    let filled = fill_at_prices(offers, room, &dearer);
    exchange(offers, room, &dearer, Lateness::Priced, filled)
}

/// How late a plan may be by any rule: it need not be less late than that, which would cost more than it is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Promise {
    /// Pole-years past the due year of any rule.
    pub(super) rule: u64,
}

impl Promise {
    /// Pole-years by which a plan may get later.
    pub(super) const fn to_spare(self, reached: &Reached) -> u64 {
        self.rule.saturating_sub(reached.rule)
    }
}

/// What a plan comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Reached {
    /// Pole-years past the day that a law wants.
    pub(super) law: u64,
    /// Pole-years past the due year of any rule.
    pub(super) rule: u64,
    /// What all visits are worth.
    pub(super) worth: f64,
    /// Pole-years that poles which are below the limit today wait for their visit, expected; to the end of the schedule
    /// where there is none.
    pub(super) waiting: f64,
    /// Poles that are due within the schedule and not planned.
    pub(super) not_planned: usize,
}

impl Reached {
    pub(super) fn by(work: &Work<'_>, choices: &Choices) -> Self {
        let mut sum = Self {
            law: 0,
            rule: 0,
            worth: 0.0,
            waiting: 0.0,
            not_planned: 0,
        };
        for call in &work.calls {
            let year = choices[call.pole.get()].map(|choice| choice.year);
            let until = year.unwrap_or(work.years());
            let late = |due: Option<u16>| due.map_or(0, |due| u64::from(until.saturating_sub(due)));
            sum.law += late(call.law_year);
            sum.rule += late(call.due_year);
            sum.not_planned += usize::from(year.is_none() && call.due_year.is_some());
            sum.worth += year.map_or(0.0, |year| work.worth(call, year));
            sum.waiting += work.below_now(call) * f64::from(until);
        }
        sum
    }

    /// Rules first: less late by law, then by any rule beyond what was promised, then worth more.
    pub(super) fn is_better_than(&self, other: &Self, promise: Promise) -> bool {
        let rules = self.lateness(promise).cmp(&other.lateness(promise));
        rules
            .then(self.worth.total_cmp(&other.worth).reverse())
            .is_lt()
    }

    /// Whether it is later by law, or by any rule beyond what was promised.
    pub(super) fn is_later_than(&self, other: &Self, promise: Promise) -> bool {
        self.lateness(promise) > other.lateness(promise)
    }

    const fn lateness(&self, promise: Promise) -> (u64, u64) {
        (self.law, self.rule.saturating_sub(promise.rule))
    }

    /// The same with as much more worth as it takes to go on.
    fn and_more(self) -> Self {
        Self {
            worth: self.worth + WORTH_A_TURN * self.worth.abs(),
            ..self
        }
    }
}
