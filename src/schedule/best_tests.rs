//! Bounds and exchanges held to what others find: a search of all plans where there are few, and a general solver of linear
//! and integer programmes on more.

use super::crew_prices::least_bound;
use super::improve::better_places;
use super::offers::{NO_LIMIT, Offer, Offers, ROUNDING, Room, Total, covers, total};
use crate::chance::{Key, Purpose, Slot, Stream};
use microlp::{ComparisonOp, OptimizationDirection, Problem, SolveOutcome};
use rand::RngExt;

/// What the r-algorithm leaves of the least bound on networks of this size, as a share.
const BOUND: f64 = 2e-4;

/// Most that a plan of this size may miss of what is possible: the issue of any plan.
const GAP: f64 = 0.01;

/// The same where every second year has a limit of money too: whole trips fill two limits at once less well.
const GAP_WITH_MONEY: f64 = 0.03;

/// Most that plans of this size may miss as a mean.
const MEAN_GAP: f64 = 0.005;

/// A limit of money in every second case.
fn money(number: u32) -> Option<f64> {
    (number % 2 == 1).then_some(0.8)
}

/// Trips with due years in and beyond the schedule; what a visit is worth falls to nothing by some year and is negative
/// for some trips.
fn random(chance: &mut Stream, trips: usize, years: usize, most_poles: u32) -> Offers {
    let mut rows = Vec::new();
    for trip in 0..trips {
        let poles = chance.random_range(1..=most_poles);
        let due = chance.random_range(0..2 * years);
        let worth = f64::from(poles) * chance.random_range(-20.0..30.0);
        let last = chance.random_range(0.5..1.5) * years as f64;
        let by_law = chance.random_bool(0.1);
        let a_visit = 20.0 + 40.0 * (0.618_034 * trip as f64).fract();
        let offer = |year: usize| {
            let late = year.saturating_sub(due) as u32 * poles;
            Offer {
                days: f64::from(poles) / 45.0,
                money: f64::from(poles) * a_visit,
                worth: worth * (1.0 - year as f64 / last).max(0.0),
                law: if by_law { late } else { 0 },
                rule: if due < years { late } else { 0 },
            }
        };
        rows.extend((0..years).map(offer));
        rows.push(Offer {
            days: 0.0,
            money: 0.0,
            worth: 0.0,
            ..offer(years)
        });
    }
    Offers::new(years, rows)
}

/// A plan that takes trips as they come, each in the last year in time that has room, else in the first; what of the
/// crew-days all trips together ask for there is in all years. Every second year may have money for a
/// share of that.
fn first_plan(offers: &Offers, share: f64, of_money: Option<f64>) -> (Vec<u16>, Room) {
    let years = offers.years();
    let asked: f64 = (0..offers.len()).map(|trip| offers.of(trip)[0].days).sum();
    let days = vec![share * asked / years as f64; years];
    let cost: f64 = (0..offers.len()).map(|trip| offers.of(trip)[0].money).sum();
    let of_year = |year: usize| match of_money {
        Some(of_money) if year % 2 == 1 => of_money * share * cost / years as f64,
        _ => NO_LIMIT,
    };
    let money: Vec<f64> = (0..years).map(of_year).collect();
    let mut left = days.clone();
    let mut money_left = money.clone();
    let mut places = vec![years as u16; offers.len()];
    for (trip, place) in places.iter_mut().enumerate() {
        let row = offers.of(trip);
        let late = |year: &usize| row[*year].rule;
        let mut order: Vec<usize> = (0..years).collect();
        order.sort_by_key(|year| (late(year), std::cmp::Reverse(*year)));
        let has_room = |year: &&usize| {
            let offer = row[**year];
            offer.days <= left[**year] + ROUNDING && covers(money_left[**year], offer.money)
        };
        if let Some(year) = order.iter().find(has_room) {
            left[*year] -= row[*year].days;
            money_left[*year] -= row[*year].money;
            *place = *year as u16;
        }
    }
    let Total { law, rule, .. } = total(offers, &places);
    let room = Room {
        days,
        money,
        law,
        rule,
    };
    (places, room)
}

fn keeps_within(room: &Room, plan: &Total) -> bool {
    let days = plan.days.iter().zip(&room.days);
    let mut money = plan.money.iter().zip(&room.money);
    let paid = money.all(|(used, room)| *used <= room * (1.0 + ROUNDING));
    let fits = days
        .into_iter()
        .all(|(used, room)| *used <= room + ROUNDING);
    fits && paid && plan.law <= room.law && plan.rule <= room.rule
}

/// The most that any plan within the room is worth, by a search of them all.
fn best_by_search(offers: &Offers, room: &Room) -> f64 {
    let width = offers.years() + 1;
    let mut best = f64::NEG_INFINITY;
    for code in 0..width.pow(offers.len() as u32) {
        let mut rest = code;
        let mut places = Vec::with_capacity(offers.len());
        for _ in 0..offers.len() {
            places.push((rest % width) as u16);
            rest /= width;
        }
        let plan = total(offers, &places);
        if keeps_within(room, &plan) {
            best = best.max(plan.worth);
        }
    }
    best
}

/// The same by a general solver; whole trips or, as its linear relaxation, parts of them.
fn best_by_solver(offers: &Offers, room: &Room, whole: bool) -> f64 {
    let mut problem = Problem::new(OptimizationDirection::Maximize);
    let years = offers.years();
    let mut used = vec![Vec::new(); 2 * years + 2];
    for trip in 0..offers.len() {
        let mut once = Vec::new();
        for (place, offer) in offers.of(trip).iter().enumerate() {
            let share = if whole {
                problem.add_binary_var(offer.worth)
            } else {
                problem.add_var(offer.worth, (0.0, 1.0))
            };
            once.push((share, 1.0));
            if place < years {
                used[place].push((share, offer.days));
                used[years + place].push((share, offer.money));
            }
            used[2 * years].push((share, f64::from(offer.law)));
            used[2 * years + 1].push((share, f64::from(offer.rule)));
        }
        problem.add_constraint(&once, ComparisonOp::Eq, 1.0);
    }
    let mut room_for = room.days.clone();
    room_for.extend(&room.money);
    room_for.extend([room.law as f64, room.rule as f64]);
    let bound = used.into_iter().zip(room_for);
    for (used, room) in bound.filter(|(_, room)| *room < NO_LIMIT) {
        problem.add_constraint(&used, ComparisonOp::Le, room);
    }
    match problem.solve() {
        Ok(SolveOutcome::Solution(plan)) => plan.objective(),
        other => panic!("no plan: {other:?}"),
    }
}

fn chance(number: u32) -> Stream {
    Key::of(11, "years").stream(number, Slot::new(Purpose::Invent, 0, 0))
}

#[test]
fn few_trips_come_near_the_best_of_all_plans_and_never_beyond_the_bound() {
    const CASES: u32 = 300;
    let (mut found, mut reached, mut possible) = (0, 0.0, 0.0);
    for number in 0..CASES {
        let mut chance = chance(number);
        let offers = random(&mut chance, 6, 3, 30);
        let (places, room) = first_plan(&offers, chance.random_range(0.3..1.2), money(number));
        let best = best_by_search(&offers, &room);
        let bound = least_bound(&offers, &room);
        assert!(bound.worth >= best - ROUNDING * best.abs(), "{number}");
        let plan = total(&offers, &better_places(&offers, &room, &bound, &places));
        assert!(keeps_within(&room, &plan), "{number}: {plan:?} of {room:?}");
        let start = total(&offers, &places).worth;
        assert!(
            plan.worth >= start - ROUNDING,
            "{number}: worse than its start"
        );
        let tied = plan.worth >= best - 1e-9 * best.abs();
        found += u32::from(tied);
        reached += plan.worth - start;
        possible += best - start;
    }
    assert!(
        found >= CASES * 9 / 10,
        "the best plan in {found} of {CASES}"
    );
    assert!(reached >= 0.98 * possible, "{reached} of {possible}");
}

#[test]
fn the_bound_is_the_value_of_the_linear_relaxation_by_a_general_solver() {
    for (number, share) in [(0, 0.5), (1, 0.7), (2, 0.9), (3, 1.1)] {
        let offers = random(&mut chance(1_000 + number), 150, 10, 200);
        let (_, room) = first_plan(&offers, share, money(number));
        let exact = best_by_solver(&offers, &room, false);
        let bound = least_bound(&offers, &room).worth;
        assert!(bound >= exact * (1.0 - 1e-9), "{bound} below {exact}");
        assert!(bound <= exact * (1.0 + BOUND), "{bound} above {exact}");
    }
}

#[test]
fn networks_of_middle_size_come_within_a_hundredth_of_a_general_integer_programme() {
    const CASES: u32 = 16;
    for (of_money, gap) in [(None, GAP), (Some(0.8), GAP_WITH_MONEY)] {
        let mut missed = 0.0;
        for number in 0..CASES {
            let mut chance = chance(5_000 + number);
            let offers = random(&mut chance, 30, 4, 40);
            let (places, room) = first_plan(&offers, chance.random_range(0.4..1.1), of_money);
            let best = best_by_solver(&offers, &room, true);
            let bound = least_bound(&offers, &room);
            let plan = total(&offers, &better_places(&offers, &room, &bound, &places));
            assert!(keeps_within(&room, &plan), "{number}");
            let own = plan.worth;
            assert!(own <= best * (1.0 + 1e-6), "{number}: {own} above {best}");
            assert!(own >= best * (1.0 - gap), "{number}: {own} of {best}");
            missed += 1.0 - own / best;
        }
        assert!(
            missed <= MEAN_GAP * f64::from(CASES),
            "{of_money:?}: {missed}"
        );
    }
}

#[test]
fn the_price_of_a_crew_day_is_what_more_of_it_is_worth() {
    // A hundredth of a crew-day is so little that no price changes within it, but for rounding by a general solver.
    const LITTLE: f64 = 0.01;
    const ROUNDED: f64 = 1e-3;
    let offers = random(&mut chance(3_000), 150, 10, 200);
    let (_, mut room) = first_plan(&offers, 0.7, None);
    let prices = least_bound(&offers, &room).prices;
    let before = best_by_solver(&offers, &room, false);
    let mut priced = 0;
    for year in 0..10 {
        room.days[year] += LITTLE;
        let gained = (best_by_solver(&offers, &room, false) - before) / LITTLE;
        room.days[year] -= LITTLE;
        let price = prices.day[year];
        assert!(
            (gained - price).abs() <= ROUNDED * price.max(1.0),
            "{year}: {gained} {price}"
        );
        priced += u32::from(price > 1.0);
    }
    assert!(priced >= 5, "{:?}", prices.day);
}

#[test]
fn the_price_of_money_lies_between_what_more_of_it_brings_and_less_of_it_takes() {
    // Where two limits meet a price is one of many: more brings at most as much, and less takes at least as much.
    const ROUNDED: f64 = 1e-3;
    let offers = random(&mut chance(3_000), 150, 10, 200);
    let (_, mut room) = first_plan(&offers, 0.7, Some(0.8));
    let prices = least_bound(&offers, &room).prices;
    let before = best_by_solver(&offers, &room, false);
    let mut priced = 0;
    for year in (1..10).step_by(2) {
        let mut with = |more: f64| {
            room.money[year] += more;
            let best = best_by_solver(&offers, &room, false);
            room.money[year] -= more;
            best - before
        };
        let (gained, lost) = (with(1.0), -with(-1.0));
        let price = prices.money[year];
        let said = format!("{year}: {gained} {price} {lost}");
        assert!(
            gained <= price + ROUNDED && price <= lost + ROUNDED,
            "{said}"
        );
        priced += u32::from(price > ROUNDED);
    }
    assert!(priced >= 3, "{:?}", prices.money);
}

#[test]
fn one_more_crew_week_is_worth_no_more_than_its_price() {
    for number in 0..100 {
        let mut chance = chance(4_000 + number);
        let offers = random(&mut chance, 5, 3, 400);
        let (_, room) = first_plan(&offers, chance.random_range(0.3..1.2), None);
        let bound = least_bound(&offers, &room);
        for year in 0..3 {
            let mut more = room.clone();
            more.days[year] += 5.0;
            let best = best_by_search(&offers, &more);
            let most = bound.worth + 5.0 * bound.prices.day[year];
            assert!(
                best <= most + 1e-9 * most.abs(),
                "{number}, {year}: {best} {most}"
            );
        }
    }
}
