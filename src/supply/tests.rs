//! Orders on demand of known distribution, and what stock, substitutions and lead times make of them.

use super::demand::tests::{poisson, quantile, schedule_of};
use super::{Freight, Order, OrderKind, Orders, Route, WEEKS_PER_YEAR, orders};
use crate::common::{inventory_of, pole_set, programme};
use crate::inventory::Inventory;
use crate::pole::Pole;
use crate::programme::Programme;
use crate::programme::supply::{GivenDemand, SizeName, Stock, Substitution};
use crate::schedule::Schedule;
use crate::trial::life::Event;
use crate::trial::{Tally, tally};
use crate::units::LengthUnit;
use jiff::civil::date;

fn made(
    programme: &Programme,
    inventory: &Inventory,
    schedule: &Schedule,
    tally: &Tally,
) -> Orders {
    let models = crate::models::text::built_in().expect("valid models");
    let beliefs = crate::belief::believe(inventory, &models, programme);
    orders(inventory, &models, programme, &beliefs, schedule, tally)
}

fn now(orders: &Orders) -> Vec<(Option<Route>, u32)> {
    let rows = orders.of(OrderKind::Now);
    rows.map(|row| (row.route, row.quantity)).collect()
}

#[test]
fn an_order_is_the_newsvendors_on_poisson_demand() {
    // No kiln is faster than the air: one order covers lead and review, a quarter and a half of a year at 40 a year, so
    // demand until the next arrival is Poisson(30).
    let (inventory, mut programme, tally) = poisson(8_192, 40.0);
    let supply = &mut programme.supply;
    (supply.air_drying_weeks, supply.kiln_drying_weeks) =
        (WEEKS_PER_YEAR / 4.0, WEEKS_PER_YEAR / 4.0);
    (
        supply.treating_weeks,
        supply.transport_weeks,
        supply.review_months,
    ) = (0.0, 0.0, 6.0);
    for chance in [0.7, 0.9, 0.95] {
        programme.supply.chance_of_not_running_short = chance;
        let orders = made(
            &programme,
            &inventory,
            &schedule_of(&inventory, None),
            &tally,
        );
        let [(route, found)] = now(&orders)[..] else {
            panic!("one row")
        };
        assert_eq!(route, Some(Route::Kiln));
        // 8,192 trials tell a chance to 3.3 standard errors.
        let error = 3.3 * (chance * (1.0 - chance) / 8_192.0_f64).sqrt();
        let (low, high) = (
            quantile(30.0, chance - error),
            quantile(30.0, chance + error),
        );
        assert!(
            (low..=high).contains(&found),
            "{chance}: {found}, {low} to {high}"
        );
        assert_eq!(
            orders.of(OrderKind::Total).next().map(|row| row.quantity),
            Some(found)
        );
        // The order of the next review brings the same stretch, shifted by half a year, up to enough again: as many as
        // half a year probably takes.
        let next = orders.of(OrderKind::Later).next().expect("a later order");
        assert!((18..=22).contains(&next.quantity), "{}", next.quantity);
        assert_eq!(next.order_by, Some(date(2025, 7, 3)));
    }
}

#[test]
fn what_air_cannot_bring_in_time_comes_from_a_kiln_and_long_poles_too() {
    let (_, mut programme, _) = poisson(1, 0.0);
    programme.trials = 256;
    let pole = |metres: f64| Pole {
        length: Some(LengthUnit::Metre.read(metres)),
        ..pole_set(1990)
    };
    let inventory = inventory_of(vec![
        ("A", "L", pole(12.0), vec![]),
        ("B", "L", pole(18.0), vec![]),
    ]);
    let (groups, _) = tally::groups(&inventory, &programme);
    let mut tally = Tally::new(&programme, groups);
    for trial in 0..256 {
        for year in 0..2 {
            for group in [0, 1] {
                for _ in 0..30 {
                    tally.count(
                        trial,
                        year,
                        Event::Replaced(crate::trial::Kind::Planned),
                        group,
                    );
                }
            }
        }
    }
    let orders = made(
        &programme,
        &inventory,
        &schedule_of(&inventory, None),
        &tally,
    );
    let rows: Vec<&Order> = orders.of(OrderKind::Now).collect();
    assert_eq!(
        rows.iter().map(|row| row.route).collect::<Vec<_>>(),
        [Some(Route::Kiln), Some(Route::Air), Some(Route::Kiln)]
    );
    // Ten weeks of drying, treating and transport: 70 days after 2025-01-01; five weeks by kiln.
    assert_eq!(rows[0].need_by, Some(date(2025, 1, 1)));
    assert_eq!(rows[0].arrives, Some(date(2025, 2, 5)));
    assert_eq!(
        (rows[1].need_by, rows[1].order_by),
        (Some(date(2025, 3, 12)), Some(date(2025, 1, 1)))
    );
    // Both rows of one line together are enough for the whole interval.
    assert_eq!(rows[0].quantity + rows[1].quantity, rows[1].need.enough);
    // Thirty a year: a year and five weeks later between 30 and 33 are enough with some reserve.
    assert!(
        (31..=40).contains(&rows[2].need.enough),
        "{:?}",
        rows[2].need
    );
    // Class and bulk are not known: no lots, no loads.
    assert!(rows[0].is_of_unknown_size() && rows[0].freight == Freight::default());
    let total = orders.of(OrderKind::Total).next().expect("a total");
    assert!(total.quantity <= rows.iter().map(|row| row.quantity).sum());
}

#[test]
fn stock_condemned_poles_and_other_demand_are_counted_once() {
    let (inventory, mut programme, mut tally) = poisson(64, 0.0);
    for trial in 0..64 {
        tally.count(trial, 0, Event::Replaced(crate::trial::Kind::Planned), 0);
    }
    let size = SizeName::default();
    programme.supply.other_demand = vec![GivenDemand {
        year: 2025,
        size: size.clone(),
        species: None,
        preservative: None,
        count: 10,
        what_for: "a road".to_owned(),
    }];
    let schedule = schedule_of(&inventory, Some(0));
    let with = |programme: &Programme| made(programme, &inventory, &schedule, &tally);
    let orders = with(&programme);
    assert_eq!(now(&orders), [(Some(Route::Kiln), 11)]);
    let need = orders.rows[0].need;
    assert_eq!((need.known, need.given, need.enough), (1, 10, 11));
    assert!(need.rest.mean.abs() < 1e-12);
    // Four there, five coming in time, and five that come after the next order.
    let mut stock = Stock {
        size,
        species: None,
        preservative: None,
        on_hand: 4,
        on_order: 5,
        arrives: Some(date(2025, 2, 1)),
    };
    programme.supply.stock = vec![stock.clone()];
    (stock.on_hand, stock.arrives) = (0, Some(date(2026, 12, 1)));
    programme.supply.stock.push(stock);
    let orders = with(&programme);
    assert_eq!(now(&orders), [(Some(Route::Kiln), 2)]);
    assert_eq!(
        (orders.rows[0].on_hand, orders.rows[0].on_order),
        (Some(4), Some(5))
    );
    programme.supply.stock[0].on_hand = 100;
    assert_eq!(now(&with(&programme)), [(Some(Route::Air), 0)]);
}

#[test]
fn what_goes_in_is_what_the_substitution_says() {
    let sized = |class| {
        let mut names = crate::inventory::Names::default();
        let class = names.keep(class);
        let pole = Pole {
            length: Some(LengthUnit::Foot.read(40.0)),
            class: Some(class),
            size_class: Some(crate::pole::PoleClass::from_word("5").expect("a class")),
            ..pole_set(1990)
        };
        Inventory::new(&names, vec![("A".to_owned(), pole, Vec::new())])
    };
    let inventory = sized("5");
    let mut programme = programme();
    (programme.trials, programme.horizon_years) = (8, 2);
    let size = |text| SizeName::parse(text).expect("a size");
    programme.supply.substitutions = vec![Substitution {
        from: size("40 ft class 5"),
        to: size("40 ft class 4"),
        decided_by: None,
    }];
    programme.supply.lot_size = Some(4);
    programme.supply.density = Some(700.0);
    programme.supply.storm_reserve = Some(0.02);
    programme.supply.yard = Some(crate::programme::supply::Yard {
        stack_width: crate::units::Mm(3_000.0),
        stack_height: crate::units::Mm(3_000.0),
    });
    let (groups, _) = tally::groups(&inventory, &programme);
    let mut tally = Tally::new(&programme, groups);
    for trial in 0..8 {
        for _ in 0..9 {
            tally.count(
                trial,
                0,
                Event::Replaced(crate::trial::Kind::AfterFailure),
                0,
            );
        }
        tally.count(trial, 0, Event::Reinforced, 0);
    }
    let orders = made(
        &programme,
        &inventory,
        &schedule_of(&inventory, None),
        &tally,
    );
    let all: u32 = orders.of(OrderKind::Now).map(|row| row.quantity).sum();
    let row = orders.of(OrderKind::Now).last().expect("a row");
    assert!(
        row.size
            .as_ref()
            .is_some_and(|own| own.is(&size("40 ft class 4")))
    );
    assert_eq!((all, row.need.enough), (9, 9));
    let freight = row.freight;
    assert_eq!(freight.lots, Some(row.quantity.div_ceil(4)));
    // Class 4 of unknown species: about 0.58 m3 a pole; 700 kg in each.
    let volume = freight.volume.expect("a volume");
    assert!(
        (0.5..0.65).contains(&(volume / f64::from(row.quantity))),
        "{volume}"
    );
    assert!(
        freight
            .mass
            .is_some_and(|mass| (mass - 0.7 * volume).abs() < 1e-12)
    );
    assert_eq!(freight.stacks, Some(1));
    // A brace goes on the pole that stands, and a storm's reserve is beside everything: 2 % of one pole is one.
    let brace = orders.of(OrderKind::Brace).next().expect("a brace");
    assert!(
        brace
            .size
            .as_ref()
            .is_some_and(|own| own.is(&size("40 ft class 5")))
    );
    assert_eq!(brace.quantity, 1);
    assert_eq!(
        orders
            .of(OrderKind::StormReserve)
            .next()
            .map(|row| row.quantity),
        Some(1)
    );
}
