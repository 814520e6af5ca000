//! Years filled at the prices of crew-days: every trip to the best place that has room for it, first those that would
//! lose most by going elsewhere.
//!
//! A start for [`exchange`](super::exchange). Knows nothing but the table of [`offers`](super::offers).

use super::crew_prices::CrewPrices;
use super::offers::{Offers, ROUNDING, Room, covers};

/// A place for every trip, within the crew-days and the money of each year. Lateness has its price but no limit here.
pub(super) fn fill_at_prices(offers: &Offers, room: &Room, prices: &CrewPrices) -> Vec<u16> {
    let places = vec![offers.years() as u16; offers.len()];
    fill_again(offers, room, prices, places, |_| true)
}

/// The same for those trips that are `free`, around the others where they are.
pub(super) fn fill_again(
    offers: &Offers,
    room: &Room,
    prices: &CrewPrices,
    mut places: Vec<u16>,
    free: impl Fn(usize) -> bool,
) -> Vec<u16> {
    let none = offers.years() as u16;
    let mut days_left = room.days.clone();
    let mut money_left = room.money.clone();
    for (trip, place) in places.iter_mut().enumerate() {
        if free(trip) {
            *place = none;
        } else if *place < none {
            let (year, offer) = (usize::from(*place), &offers.of(trip)[usize::from(*place)]);
            days_left[year] -= offer.days;
            money_left[year] -= offer.money;
        }
    }
    for (_, trip) in by_loss(offers, prices) {
        if !free(trip) {
            continue;
        }
        let row = offers.of(trip);
        let mut best = (f64::NEG_INFINITY, none);
        for (place, offer) in row.iter().enumerate() {
            let fits = days_left
                .get(place)
                .is_none_or(|left| offer.days <= left + ROUNDING)
                && (money_left.get(place)).is_none_or(|left| covers(*left, offer.money));
            let left = prices.left(offer, place);
            if offer.is_open() && fits && left > best.0 {
                best = (left, place as u16);
            }
        }
        if best.1 < none {
            let year = usize::from(best.1);
            days_left[year] -= row[year].days;
            money_left[year] -= row[year].money;
        }
        places[trip] = best.1;
    }
    places
}

/// The trips with what each would lose by its second best place, most first.
fn by_loss(offers: &Offers, prices: &CrewPrices) -> Vec<(f64, usize)> {
    let loss = |trip: usize| {
        let (mut first, mut second) = (f64::NEG_INFINITY, f64::NEG_INFINITY);
        for (place, offer) in offers.of(trip).iter().enumerate() {
            if offer.is_open() {
                let left = prices.left(offer, place);
                second = second.max(left.min(first));
                first = first.max(left);
            }
        }
        (first - second, trip)
    };
    let mut trips: Vec<(f64, usize)> = (0..offers.len()).map(loss).collect();
    trips.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    trips
}
