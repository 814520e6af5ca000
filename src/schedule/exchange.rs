//! Better years for trips: moves, swaps and chains of trips between years until none of them gains.
//!
//! Starts from a plan that keeps within the room and never leaves it. Prices of crew-days say which trips are worth
//! trying first; what is gained is counted in the worth of visits alone. Knows nothing but the table of
//! [`offers`](super::offers).

use super::crew_prices::CrewPrices;
use super::offers::{Offers, ROUNDING, Room, covers, total};

/// Trips remembered for each pair of years: those that lose least by going from one to the other at the prices.
const CANDIDATES: usize = 16;

/// Most rounds of exchanges; each ends with years filled anew, and few networks need more than ten.
const ROUNDS: usize = 12;

/// Most trips that make way for one.
const MAKING_WAY: usize = 6;

/// Trips of each pair of years for which others are asked to make way.
const ARRIVING: usize = 8;

/// Trips of a year that are asked.
const LEAVING: usize = 48;

/// Share of the worth of all trips that an exchange must gain: below it is rounding.
const LEAST_GAIN: f64 = 1e-12;

/// How lateness counts while years are exchanged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Lateness {
    /// A plan that is later than its room has it gets less late first, whatever it costs; then none gets later than that.
    Held,
    /// Lateness costs its price, and has no limit.
    Priced,
}

/// The places of the trips after all exchanges that gain.
pub(super) fn exchange(
    offers: &Offers,
    room: &Room,
    prices: &CrewPrices,
    lateness: Lateness,
    start: Vec<u16>,
) -> Vec<u16> {
    let mut years = Filled::new(offers, room, start);
    if lateness == Lateness::Priced {
        years.late_price = Some([prices.law, prices.rule]);
    }
    for _ in 0..ROUNDS {
        let before = years.places.clone();
        years.move_alone();
        years.change_places(prices);
        years.count();
        if years.places == before {
            break;
        }
    }
    years.places
}

/// A trip and the place that it would go to.
type Move = (usize, u16);

/// A move and what it leaves at the prices, compared with staying.
#[derive(Debug, Clone, Copy)]
struct Candidate {
    trip: usize,
    left: f64,
}

/// Years with trips in them.
struct Filled<'a> {
    offers: &'a Offers,
    room: &'a Room,
    places: Vec<u16>,
    days_left: Vec<f64>,
    money_left: Vec<f64>,
    law_left: i64,
    rule_left: i64,
    /// Price of a pole-year late, by law and by any rule; held to the room where there is none.
    late_price: Option<[f64; 2]>,
    least_gain: f64,
    /// More than all trips are worth together: what a pole-year counts by which the plan is later than its room has it.
    much: f64,
}

/// Pole-years beyond what there is room for.
fn excess(law_left: i64, rule_left: i64) -> i64 {
    (-law_left).max(0) + (-rule_left).max(0)
}

impl<'a> Filled<'a> {
    fn new(offers: &'a Offers, room: &'a Room, places: Vec<u16>) -> Self {
        let worth: f64 = (0..offers.len())
            .map(|trip| {
                let open = offers.of(trip).iter().filter(|offer| offer.is_open());
                open.map(|offer| offer.worth.abs()).fold(0.0, f64::max)
            })
            .sum();
        let mut filled = Self {
            offers,
            room,
            places,
            days_left: Vec::new(),
            money_left: Vec::new(),
            law_left: 0,
            rule_left: 0,
            late_price: None,
            least_gain: LEAST_GAIN * worth,
            much: 2.0 * worth,
        };
        filled.count();
        filled
    }

    /// Counts what is left of the room, so that roundings of many exchanges do not add up.
    fn count(&mut self) {
        let total = total(self.offers, &self.places);
        self.days_left = (self.room.days.iter().zip(total.days))
            .map(|(room, used)| room - used)
            .collect();
        self.money_left = (self.room.money.iter().zip(total.money))
            .map(|(room, used)| room - used)
            .collect();
        self.law_left = self.room.law as i64 - total.law as i64;
        self.rule_left = self.room.rule as i64 - total.rule as i64;
    }

    /// What moves gain together, where they keep within the room.
    fn gain(&self, moves: &[Move]) -> Option<f64> {
        let (mut gain, mut law, mut rule) = (0.0, 0, 0);
        for (trip, to) in moves {
            let row = self.offers.of(*trip);
            let (from, to) = (row[usize::from(self.places[*trip])], row[usize::from(*to)]);
            if !to.is_open() {
                return None;
            }
            gain += to.worth - from.worth;
            law += i64::from(to.law) - i64::from(from.law);
            rule += i64::from(to.rule) - i64::from(from.rule);
        }
        let mut late = false;
        if let Some([by_law, by_rule]) = self.late_price {
            gain -= by_law * law as f64 + by_rule * rule as f64;
        } else {
            let before = excess(self.law_left, self.rule_left);
            let after = excess(self.law_left - law, self.rule_left - rule);
            gain += self.much * (before - after) as f64;
            late = after > before;
        }
        let fits = moves.iter().all(|(_, to)| self.has_room_after(moves, *to));
        (!late && fits).then_some(gain)
    }

    /// Whether a place has crew-days and money for what is in it after moves.
    fn has_room_after(&self, moves: &[Move], place: u16) -> bool {
        let year = usize::from(place);
        let (Some(days), Some(money)) = (self.days_left.get(year), self.money_left.get(year))
        else {
            return true;
        };
        let (mut days, mut money, mut more) = (*days, *money, 0.0);
        for (trip, to) in moves {
            let offer = self.offers.of(*trip)[year];
            if *to == place {
                days -= offer.days;
                more += offer.money;
            }
            if self.places[*trip] == place {
                days += offer.days;
                money += offer.money;
            }
        }
        days >= -ROUNDING && covers(money, more)
    }

    fn apply(&mut self, moves: &[Move]) {
        for (trip, to) in moves {
            let row = self.offers.of(*trip);
            let from = self.places[*trip];
            let (old, new) = (row[usize::from(from)], row[usize::from(*to)]);
            self.take(from, old.days, old.money, 1.0);
            self.take(*to, new.days, new.money, -1.0);
            self.law_left -= i64::from(new.law) - i64::from(old.law);
            self.rule_left -= i64::from(new.rule) - i64::from(old.rule);
            self.places[*trip] = *to;
        }
    }

    /// Gives crew-days and money back to a place, or with -1 takes them from it.
    fn take(&mut self, place: u16, days: f64, money: f64, times: f64) {
        let year = usize::from(place);
        if let (Some(days_left), Some(money_left)) =
            (self.days_left.get_mut(year), self.money_left.get_mut(year))
        {
            *days_left += times * days;
            *money_left += times * money;
        }
    }

    /// Every trip to the best place that has room for it.
    fn move_alone(&mut self) {
        for trip in 0..self.offers.len() {
            let mut best = (self.least_gain, None);
            for place in 0..=self.offers.years() as u16 {
                if place == self.places[trip] {
                    continue;
                }
                if let Some(gain) = self.gain(&[(trip, place)])
                    && gain > best.0
                {
                    best = (gain, Some(place));
                }
            }
            if let Some(place) = best.1 {
                self.apply(&[(trip, place)]);
            }
        }
    }

    /// For each pair of places the trips that lose least by going from the first to the second, in the order of `from` and
    /// then of `to`.
    fn candidates(&self, prices: &CrewPrices) -> Vec<Vec<Candidate>> {
        let width = self.offers.years() + 1;
        let mut lists: Vec<Vec<Candidate>> = vec![Vec::new(); width * width];
        for trip in 0..self.offers.len() {
            let from = usize::from(self.places[trip]);
            let row = self.offers.of(trip);
            let stays = prices.left(&row[from], from);
            for (to, offer) in row.iter().enumerate() {
                if to == from || !offer.is_open() {
                    continue;
                }
                let left = prices.left(offer, to) - stays;
                let list = &mut lists[from * width + to];
                if list.len() == CANDIDATES && list[CANDIDATES - 1].left >= left {
                    continue;
                }
                let place = list.partition_point(|other| other.left >= left);
                list.insert(place, Candidate { trip, left });
                list.truncate(CANDIDATES);
            }
        }
        lists
    }

    /// Two trips at a time, the second out of the place that the first goes to; then one for which several make way.
    fn change_places(&mut self, prices: &CrewPrices) {
        let width = self.offers.years() + 1;
        let lists = self.candidates(prices);
        for from in 0..width {
            for by in (0..width).filter(|by| *by != from) {
                for to in (0..width).filter(|to| *to != by) {
                    let most = self.room_left_is_worth(prices, [by, to]);
                    let lists = [&lists[from * width + by][..], &lists[by * width + to][..]];
                    self.pair(lists, [from as u16, by as u16, to as u16], most);
                }
            }
        }
        for year in 0..width - 1 {
            let leaving = leaving(&lists, year, width);
            let most = (0..width - 1)
                .map(|place| self.room_left_is_worth(prices, [place, width]))
                .fold(0.0, f64::max);
            // Nobody who leaves brings more than the one that leaves the most at the prices.
            let most =
                MAKING_WAY as f64 * (most + leaving.first().map_or(0.0, |own| own.0.left.max(0.0)));
            for from in (0..width).filter(|from| *from != year) {
                for arriving in lists[from * width + year].iter().take(ARRIVING) {
                    if arriving.left + most <= 0.0 {
                        break;
                    }
                    if self.places[arriving.trip] == from as u16 {
                        self.make_way((arriving.trip, year as u16), &leaving);
                    }
                }
            }
        }
    }

    /// What the room that is left in two places, and of both latenesses, costs at the prices: no exchange that fills them
    /// gains more than that beside what it leaves at the prices.
    fn room_left_is_worth(&self, prices: &CrewPrices, places: [usize; 2]) -> f64 {
        let left_of = |prices: &[f64], left: &[f64], place: usize| {
            let priced = prices.get(place).zip(left.get(place));
            priced.map_or(0.0, |(price, left)| price * left.max(0.0))
        };
        let of_place = |place: usize| {
            left_of(&prices.day, &self.days_left, place)
                + left_of(&prices.money, &self.money_left, place)
        };
        let late = if self.late_price.is_some() {
            0.0
        } else if excess(self.law_left, self.rule_left) > 0 {
            f64::INFINITY
        } else {
            prices.law * self.law_left as f64 + prices.rule * self.rule_left as f64
        };
        places.into_iter().map(of_place).sum::<f64>() + late
    }

    /// The best of all pairs of two lists, applied where it gains; `most` is what any pair gains at most beside what it
    /// leaves at the prices.
    fn pair(&mut self, [first, second]: [&[Candidate]; 2], [from, by, to]: [u16; 3], most: f64) {
        let mut best = (self.least_gain, None);
        if let ([one, ..], [other, ..]) = (first, second)
            && one.left + other.left + most <= best.0
        {
            return;
        }
        for one in first.iter().filter(|one| self.places[one.trip] == from) {
            for other in second.iter().filter(|other| self.places[other.trip] == by) {
                // What is left falls along both lists.
                if one.left + other.left + most <= best.0 {
                    break;
                }
                let moves = [(one.trip, by), (other.trip, to)];
                if let Some(gain) = self.gain(&moves)
                    && gain > best.0
                {
                    best = (gain, Some(moves));
                }
            }
        }
        if let Some(moves) = best.1 {
            self.apply(&moves);
        }
    }

    /// A trip to a year in which others make way for it, those first that lose least.
    fn make_way(&mut self, arriving: Move, leaving: &[(Candidate, u16)]) {
        let (trip, year) = arriving;
        let mut moves = vec![arriving];
        for &(own, to) in leaving {
            if moves.len() > MAKING_WAY {
                return;
            }
            if own.trip == trip || self.places[own.trip] != year {
                continue;
            }
            if moves.iter().any(|(other, _)| *other == own.trip) {
                continue;
            }
            moves.push((own.trip, to));
            if !self.has_room_after(&moves, to) {
                moves.pop();
                continue;
            }
            if let Some(gain) = self.gain(&moves)
                && gain > self.least_gain
            {
                self.apply(&moves);
                return;
            }
        }
    }
}

/// Who would leave a year, and for where: those first that lose least at the prices.
fn leaving(lists: &[Vec<Candidate>], year: usize, width: usize) -> Vec<(Candidate, u16)> {
    let mut leaving: Vec<(Candidate, u16)> = (0..width)
        .flat_map(|to| {
            let list = lists[year * width + to].iter();
            list.map(move |own| (*own, to as u16))
        })
        .collect();
    leaving.sort_by(|(a, a_to), (b, b_to)| {
        (b.left.total_cmp(&a.left)).then((a.trip, a_to).cmp(&(b.trip, b_to)))
    });
    leaving.truncate(LEAVING);
    leaving
}
