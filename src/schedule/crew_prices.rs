//! The price of a crew-day in each plan year, and the bound on what visits can save that follows from it.
//!
//! Lagrangian relaxation (Held and Karp 1971; Geoffrion 1974): every trip takes its best year at given prices of
//! crew-days and of lateness, and what it pays is handed back as the room that there is. Whatever the prices, no plan
//! within the room is worth more than that; the best prices give the least such bound, the value of the linear
//! relaxation. They are sought by subgradients with space dilated along their differences (Shor 1985, the r-algorithm).
//! Knows nothing but the table of [`offers`](super::offers). Sums are added in the order of the trips, whatever the
//! threads, and turns are counted, never timed.

use super::offers::{NO_LIMIT, Offers, Room};
use crate::parallel;

/// Trips weighed in one go: parts are the same for any number of threads, and so are their sums.
const PART: usize = 1_024;

/// Most evaluations of a bound: they come within a hundred-millionth of a linear programme of 150 trips and ten years.
const EVALUATIONS: usize = 400;

/// Evaluations within which the bound must fall by [`WORTH_GOING_ON`] of itself, or the search ends.
const PATIENCE: usize = 60;

/// Share of the bound below which its fall is not worth going on for.
const WORTH_GOING_ON: f64 = 1e-6;

/// How far space is dilated along the difference of two subgradients: 2 to 4 by Shor, 1985.
const DILATION: f64 = 3.0;

/// Growth of the step after each three that went on downhill, and what is left of it after one that did not.
const STEP: (f64, f64) = (1.2, 0.95);

/// What is paid for a crew-day and for a unit of money in each year, and for a pole-year late, in units of cost.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct CrewPrices {
    /// A crew-day in each plan year.
    pub(super) day: Vec<f64>,
    /// A unit of money in each plan year, beside itself.
    pub(super) money: Vec<f64>,
    /// A pole-year past the day that a law wants.
    pub(super) law: f64,
    /// A pole-year past the due year of any rule.
    pub(super) rule: f64,
}

impl CrewPrices {
    fn from_slice(prices: &[f64]) -> Self {
        let years = (prices.len() - 2) / 2;
        Self {
            day: prices[..years].to_vec(),
            money: prices[years..2 * years].to_vec(),
            law: prices[2 * years],
            rule: prices[2 * years + 1],
        }
    }

    /// What a place is worth to a trip after it has paid.
    pub(super) fn left(&self, offer: &super::offers::Offer, place: usize) -> f64 {
        let days = self.day.get(place).map_or(0.0, |price| price * offer.days);
        let money = (self.money.get(place)).map_or(0.0, |price| price * offer.money);
        let late = self.law * f64::from(offer.law) + self.rule * f64::from(offer.rule);
        offer.worth - days - money - late
    }
}

/// A bound and the prices that prove it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Bound {
    /// No choice of years within the room is worth more.
    pub(super) worth: f64,
    /// The prices.
    pub(super) prices: CrewPrices,
}

/// The least bound that is found on what the trips can be worth together within the room.
pub(super) fn least_bound(offers: &Offers, room: &Room) -> Bound {
    let mut search = Search::new(offers, room);
    search.descend();
    Bound {
        worth: search.best.0,
        prices: CrewPrices::from_slice(&search.best.1),
    }
}

/// The bound at some prices, and the room that is left of each year's crew-days and money and of both latenesses when every
/// trip takes its best place at them.
fn weigh(offers: &Offers, room: &Room, prices: &CrewPrices) -> (f64, Vec<f64>) {
    let years = offers.years();
    let parts = parallel::map_indices(offers.len().div_ceil(PART), |part| {
        let mut sum = 0.0;
        let mut used = vec![0.0; 2 * years + 2];
        for trip in part * PART..((part + 1) * PART).min(offers.len()) {
            let mut best = f64::NEG_INFINITY;
            let mut taken = years;
            let row = offers.of(trip);
            for (place, offer) in row.iter().enumerate() {
                let left = prices.left(offer, place);
                if offer.is_open() && left > best {
                    (best, taken) = (left, place);
                }
            }
            sum += best;
            if taken < years {
                used[taken] += row[taken].days;
                used[years + taken] += row[taken].money;
            }
            used[2 * years] += f64::from(row[taken].law);
            used[2 * years + 1] += f64::from(row[taken].rule);
        }
        (sum, used)
    });
    let mut bound = prices.law * room.law as f64 + prices.rule * room.rule as f64;
    let mut left: Vec<f64> = room.days.clone();
    left.extend(&room.money);
    left.extend([room.law as f64, room.rule as f64]);
    for (price, days) in prices.day.iter().zip(&room.days) {
        bound += price * days;
    }
    for (price, money) in prices.money.iter().zip(&room.money) {
        bound += price * money;
    }
    for (sum, used) in parts {
        bound += sum;
        for (left, used) in left.iter_mut().zip(used) {
            *left -= used;
        }
    }
    (bound, left)
}

/// The search for the prices of the least bound. Prices are absolute values of free variables, so that every point that is
/// weighed proves a bound.
struct Search<'a> {
    offers: &'a Offers,
    room: &'a Room,
    /// Price that one unit of each variable stands for.
    unit: Vec<f64>,
    best: (f64, Vec<f64>),
    evaluations: usize,
    /// The evaluation and the bound of the last fall that was worth going on for.
    last_fall: (usize, f64),
}

impl<'a> Search<'a> {
    fn new(offers: &'a Offers, room: &'a Room) -> Self {
        // What a crew-day and a pole visited are worth as a mean: prices come out around it.
        let (mut worth, mut days, mut money, mut late) = (0.0, 0.0, 0.0, 0.0);
        for trip in 0..offers.len() {
            let row = offers.of(trip);
            let open = row.iter().filter(|offer| offer.is_open());
            worth += open.clone().map(|o| o.worth.abs()).fold(0.0, f64::max);
            days += open.clone().map(|o| o.days).fold(0.0, f64::max);
            money += open.map(|o| o.money).fold(0.0, f64::max);
            late += row.last().map_or(0.0, |none| f64::from(none.rule));
        }
        let per = |what: f64| if what > 0.0 { worth / what } else { 0.0 };
        let mut unit = vec![per(days); offers.years()];
        // Money without a limit has no price.
        let priced = |limit: &f64| if *limit < NO_LIMIT { per(money) } else { 0.0 };
        unit.extend(room.money.iter().map(priced));
        unit.extend([per(late), per(late)]);
        let prices = vec![0.0; unit.len()];
        Self {
            offers,
            room,
            unit,
            best: (f64::INFINITY, prices),
            evaluations: 0,
            last_fall: (0, f64::INFINITY),
        }
    }

    /// A subgradient at a point.
    fn slope(&mut self, point: &[f64]) -> Vec<f64> {
        let prices: Vec<f64> = point
            .iter()
            .zip(&self.unit)
            .map(|(x, unit)| x.abs() * unit)
            .collect();
        let (bound, left) = weigh(self.offers, self.room, &CrewPrices::from_slice(&prices));
        self.evaluations += 1;
        if bound < self.best.0 {
            self.best = (bound, prices);
        }
        let (_, before) = self.last_fall;
        if before - bound > WORTH_GOING_ON * bound.abs() {
            self.last_fall = (self.evaluations, bound);
        }
        let signed = |((x, unit), left): ((&f64, &f64), f64)| {
            let side = if *x < 0.0 { -1.0 } else { 1.0 };
            side * unit * left
        };
        point.iter().zip(&self.unit).zip(left).map(signed).collect()
    }

    fn goes_on(&self) -> bool {
        self.evaluations < EVALUATIONS && self.evaluations - self.last_fall.0 < PATIENCE
    }

    fn descend(&mut self) {
        let size = self.unit.len();
        let mut point = vec![0.0; size];
        let mut slope = self.slope(&point);
        if slope.iter().all(|slope| *slope >= 0.0) {
            // There is room for every trip's best year: nothing has a price.
            return;
        }
        let mut space = Space::new(size);
        let mut step = 1.0;
        // The way down may first lead up from no prices at all: patience begins with the first step.
        self.last_fall = (self.evaluations, f64::INFINITY);
        while self.goes_on() {
            let Some(way) = space.way(&slope) else {
                return;
            };
            let mut steps = 0;
            let mut next;
            loop {
                for (x, along) in point.iter_mut().zip(&way) {
                    *x -= step * along;
                }
                next = self.slope(&point);
                steps += 1;
                if steps % 3 == 0 {
                    step *= STEP.0;
                }
                if dot(&next, &way) <= 0.0 || !self.goes_on() {
                    break;
                }
            }
            if steps == 1 {
                step *= STEP.1;
            }
            let change: Vec<f64> = next.iter().zip(&slope).map(|(a, b)| a - b).collect();
            space.dilate(&change);
            slope = next;
        }
    }
}

/// The dilated space of the r-algorithm: a matrix that steps are taken through.
struct Space {
    rows: Vec<Vec<f64>>,
}

impl Space {
    fn new(size: usize) -> Self {
        let row = |own: usize| {
            (0..size)
                .map(|other| f64::from(u8::from(own == other)))
                .collect()
        };
        Self {
            rows: (0..size).map(row).collect(),
        }
    }

    /// A vector seen from within the space, of length 1; nothing where it has no length.
    fn within(&self, vector: &[f64]) -> Option<Vec<f64>> {
        let mut seen = vec![0.0; vector.len()];
        for (row, value) in self.rows.iter().zip(vector) {
            for (seen, cell) in seen.iter_mut().zip(row) {
                *seen += cell * value;
            }
        }
        let length = dot(&seen, &seen).sqrt();
        (length > 0.0 && length.is_finite())
            .then(|| seen.into_iter().map(|value| value / length).collect())
    }

    /// The way up along a slope, as a step outside.
    fn way(&self, slope: &[f64]) -> Option<Vec<f64>> {
        let within = self.within(slope)?;
        Some(self.rows.iter().map(|row| dot(row, &within)).collect())
    }

    /// Shrinks the space along a change of the slope.
    fn dilate(&mut self, change: &[f64]) {
        let Some(along) = self.within(change) else {
            return;
        };
        for row in &mut self.rows {
            let own = dot(row, &along) * (1.0 / DILATION - 1.0);
            for (cell, along) in row.iter_mut().zip(&along) {
                *cell += own * along;
            }
        }
    }
}

fn dot(one: &[f64], other: &[f64]) -> f64 {
    one.iter().zip(other).map(|(a, b)| a * b).sum()
}
