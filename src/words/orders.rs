//! What a buyer reads: what to order by when, what stands behind it, and what to put back by its cost a year.
//!
//! Sentences from the orders of a plan; computes nothing but sums. Standards are named by number and title and say what a
//! class is; which of them holds, and what is allowed, is for the owner to say. No maker and no brand is named.

use super::Case;
use super::quantities::{count, counted, new_size_in_words, to_figures};
use super::supply::in_a_cell;
use crate::pole::Vocabulary;
use crate::programme::Programme;
use crate::supply::{Choice, Order, OrderKind, Route, ZoneAdvice};
use crate::units::LengthUnit;
use serde::Serialize;

/// What stands in place of a size that the list does not give.
pub const MEASURE: &str = "measure before ordering";

/// Trials that quantiles beyond 95 % need (model section 8).
const TRIALS_BEYOND_P95: u32 = 2_000;

/// Months that cross-stacked poles may lie in one position (common practice).
const MONTHS_IN_ONE_POSITION: f64 = 6.0;

/// What a class of hazard or use is ordered by, where the programme names none.
pub const BY_THE_STANDARD: &str = "Order by the class for wood in the ground of the standard that is adopted where you are: use category UC4 of AWPA Standard U1 (Use Category System: User Specification for Treated Wood), use class 4 of EN 335 (Durability of wood and wood-based products. Use classes: definitions, application to solid wood and wood-based products), or the hazard class of AS 1604.1 (Specification for preservative treatment. Sawn and round timber). Set supply.use_class to name yours.";

/// What advice on wood never touches.
pub const NEVER_SMALLER: &str = "Never a smaller class than came out: the owner's engineer decides the class by load. Classes of hazard called H1 to H6 are not the size classes H1 to H6. Which preservatives are allowed where is local law.";

/// What to order in one look.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Buying {
    /// Poles to order on the first day, of sizes that are known.
    pub now: u32,
    /// In so many sizes and kinds.
    pub sizes: usize,
    /// Of these to be dried in a kiln.
    pub by_kiln: u32,
    /// Poles whose size must be measured first.
    pub to_measure: u32,
    /// The day.
    pub order_by: String,
    /// Chance, for each size, of not running short.
    pub chance_of_not_running_short: f64,
    /// What would be enough for all sizes together.
    pub enough_together: u32,
    /// In the yard.
    pub on_hand: u32,
    /// On order.
    pub on_order: u32,
    /// Braces until the next review.
    pub braces: u32,
    /// Kept for storms, apart.
    pub storm_reserve: u32,
    /// Poles that the owner needs besides, by number, in all years.
    pub other_demand: u32,
    /// Share of the poles a year that stands in for other demand.
    pub other_demand_rate: f64,
}

/// What a plan orders in one look.
pub fn buying(case: &Case<'_>) -> Buying {
    let (orders, supply) = (&case.plan.orders, &case.programme.supply);
    let now = || orders.of(OrderKind::Now);
    let known = || now().filter(|row| !row.is_of_unknown_size() && row.quantity > 0);
    let sum = |rows: &mut dyn Iterator<Item = &Order>| rows.map(|row| row.quantity).sum();
    let mut kinds: Vec<_> = Vec::new();
    for row in known() {
        let kind = (&row.size, row.species, row.preservative);
        if !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    let total = orders.of(OrderKind::Total).next();
    Buying {
        now: sum(&mut known()),
        sizes: kinds.len(),
        by_kiln: sum(&mut known().filter(|row| row.route == Some(Route::Kiln))),
        to_measure: sum(&mut now().filter(|row| row.is_of_unknown_size())),
        order_by: case.programme.plan_from.to_string(),
        chance_of_not_running_short: supply.chance_of_not_running_short,
        enough_together: total.map_or(0, |row| row.need.enough),
        on_hand: total.and_then(|row| row.on_hand).unwrap_or(0),
        on_order: total.and_then(|row| row.on_order).unwrap_or(0),
        braces: sum(&mut orders.of(OrderKind::Brace)),
        storm_reserve: sum(&mut orders.of(OrderKind::StormReserve)),
        other_demand: supply.other_demand.iter().map(|own| own.count).sum(),
        other_demand_rate: case.programme.hazards.other_demand,
    }
}

/// The two lines of the page.
pub fn lines(buying: &Buying) -> Vec<String> {
    let kiln = match buying.by_kiln {
        0 => String::new(),
        poles => format!(", {} of them kiln-dried", count(poles as usize)),
    };
    let measure = match buying.to_measure {
        0 => String::new(),
        poles => format!(
            "; {} more of unknown size: {MEASURE}",
            count(poles as usize)
        ),
    };
    let first = format!(
        "Order by {}: {} in {}{kiln}{measure} ({} % sure for each, orders.csv)",
        buying.order_by,
        counted(buying.now as usize, "pole", "poles"),
        counted(buying.sizes, "kind and size", "kinds and sizes"),
        percent(buying.chance_of_not_running_short),
    );
    vec![first, format!("  {}", other_demand(buying))]
}

fn other_demand(buying: &Buying) -> String {
    let rate = percent(buying.other_demand_rate);
    if buying.other_demand == 0 {
        return format!(
            "NO OTHER DEMAND was given ([[other_demand]]): road works, upgrades and new lines are in only as a rate of {rate} % of the poles a year"
        );
    }
    format!(
        "other demand: {} given by number, besides a rate of {rate} % of the poles a year",
        counted(buying.other_demand as usize, "pole", "poles")
    )
}

fn percent(share: f64) -> String {
    to_figures(100.0 * share, 3).to_string()
}

/// A size to order; of what is not known it says so.
pub fn size_to_order(order: &Order, unit: LengthUnit) -> String {
    let Some(size) = &order.size else {
        return "total".to_owned();
    };
    if size.is_whole() {
        return new_size_in_words(size, unit);
    }
    match (size.length, &size.class) {
        (None, None) => format!("size unknown: {MEASURE}"),
        (Some(_), _) => format!(
            "{}, class unknown: {MEASURE}",
            new_size_in_words(size, unit)
        ),
        (None, Some(_)) => format!(
            "{}, length unknown: {MEASURE}",
            new_size_in_words(size, unit)
        ),
    }
}

/// How a row is to be read.
pub fn note(order: &Order, programme: &Programme) -> String {
    let arrives = order.arrives.map(|day| day.to_string()).unwrap_or_default();
    let long = order
        .size
        .as_ref()
        .and_then(|size| size.length)
        .is_some_and(|length| length >= programme.supply.long_from);
    let text = match (order.kind, order.route) {
        (OrderKind::Total, _) => {
            "all sizes together, counted trial by trial: mostly less than the sum of the sizes, since all are rarely short in the same trial; stock of one size stands in for no other"
        }
        (OrderKind::Brace, _) => {
            "a brace and no pole; the size is that of the pole that it goes on"
        }
        (OrderKind::StormReserve, _) => {
            "kept apart for storms, beside everything else and in no total"
        }
        (OrderKind::Later, _) => {
            "what to expect at that review: the stock of that day decides, plan again before ordering"
        }
        (OrderKind::Now, _) if order.quantity == 0 => "what is on hand and on order is enough",
        (OrderKind::Now, Some(Route::Kiln)) if long => {
            return format!("long poles are dried in a kiln; there on {arrives} at the earliest");
        }
        (OrderKind::Now, Some(Route::Kiln)) => {
            return format!(
                "needed before an air-dried pole could come: kiln-dried, there on {arrives} at the earliest; if stock is not there until then, work waits"
            );
        }
        (OrderKind::Now, _) => {
            return format!(
                "air-dried, there on {arrives}; enough until the next order can arrive"
            );
        }
    };
    text.to_owned()
}

/// The buyer's summary, a paragraph each.
pub fn summary(case: &Case<'_>) -> Vec<String> {
    let seen = buying(case);
    let supply = &case.programme.supply;
    let mut said = vec![
        lines(&seen).remove(0) + ".",
        format!(
            "All sizes together {} would be enough at the same chance: sizes carry a reserve each, because a pole of one size does not stand in for another. Already counted off: {} on hand and {} on order.",
            counted(seen.enough_together as usize, "pole", "poles"),
            count(seen.on_hand as usize),
            count(seen.on_order as usize)
        ),
        format!(
            "Air-dried poles take {} weeks from order to arrival, kiln-dried ones {} (drying, treating, transport); the next order is {} months later. What is needed before that is in the numbers.",
            weeks(Route::Air, case.programme),
            weeks(Route::Kiln, case.programme),
            to_figures(supply.review_months, 2)
        ),
    ];
    if seen.braces > 0 {
        said.push(format!(
            "Besides, {}: they are no poles and stand in rows of their own.",
            counted(seen.braces as usize, "brace", "braces")
        ));
    }
    said.push(match supply.storm_reserve {
        Some(share) => format!(
            "Apart from all this, {} kept for storms ({} % of the listed poles).",
            counted(seen.storm_reserve as usize, "pole is", "poles are"),
            percent(share)
        ),
        None => "No reserve for storms is set (supply.storm_reserve): none is in these numbers."
            .to_owned(),
    });
    if supply.chance_of_not_running_short > 0.95 && case.plan.orders.trials < TRIALS_BEYOND_P95 {
        said.push(format!(
            "A chance beyond 95 % wants {} trials or more; this plan has {}.",
            count(TRIALS_BEYOND_P95 as usize),
            count(case.plan.orders.trials as usize)
        ));
    }
    if supply.review_months > MONTHS_IN_ONE_POSITION {
        said.push("Poles may lie longer than six months until the next order: turn cross-stacked ones in time.".to_owned());
    }
    said
}

/// The one thing that must stand in bold in every view of a buyer.
pub fn other_demand_in_words(case: &Case<'_>) -> String {
    other_demand(&buying(case)) + "."
}

fn weeks(route: Route, programme: &Programme) -> f64 {
    let supply = &programme.supply;
    let drying = match route {
        Route::Air => supply.air_drying_weeks,
        Route::Kiln => supply.kiln_drying_weeks,
    };
    to_figures(drying + supply.treating_weeks + supply.transport_weeks, 3)
}

/// What else the owner needs, one by one.
pub fn given_demand(case: &Case<'_>, unit: LengthUnit) -> Vec<String> {
    let own = case.programme.supply.other_demand.iter();
    own.map(|own| {
        format!(
            "{}: {} of {} for {}",
            own.year,
            count(own.count as usize),
            new_size_in_words(&own.size, unit),
            own.what_for
        )
    })
    .collect()
}

/// A kind of pole in words.
pub fn kind_in_words(choice: &Choice) -> String {
    format!("{}, {}", choice.species.word(), choice.preservative.word()).replace('_', " ")
}

/// What to put back in one zone, in a sentence.
pub fn advice_in_words(advice: &ZoneAdvice) -> String {
    let Some(best) = advice.choices.first() else {
        return String::new();
    };
    let close = if advice.choices.len() == 1 {
        "it is the only kind to compare"
    } else if advice.is_clear() {
        "clearly the cheapest a year"
    } else {
        "the cheapest a year, but the next lies within what is known of their lives"
    };
    format!(
        "Zone {} ({}): {}, {close}.",
        advice.zone,
        counted(advice.poles, "pole", "poles"),
        kind_in_words(best)
    )
}

/// What the comparison of kinds stands on.
pub fn advice_basis(case: &Case<'_>) -> String {
    let named = if case.programme.supply.put_back.is_empty() {
        "The kinds are those that your list has most of, at one price for all; name what is allowed and what it costs with [[put_back]]."
    } else {
        "The kinds are those that the programme names with [[put_back]]."
    };
    format!(
        "By the yearly cost of a pole over its median life in that zone, at the discount rate of {} % a year, with your inspections where they taught something. {named}",
        percent(case.programme.costs.discount_rate)
    )
}

/// Which class of hazard or use to order by.
pub fn use_class(programme: &Programme) -> String {
    programme.supply.use_class.as_ref().map_or_else(
        || BY_THE_STANDARD.to_owned(),
        |own| format!("Order by the class that the programme names: {own}."),
    )
}

/// Cost a year against the cheapest of the zone, with its interval: "1.07 (0.98 to 1.21)".
pub fn against(choice: &Choice, cheapest: &Choice) -> String {
    let [low, middle, high] = choice.yearly.map(|own| own / cheapest.yearly[1]);
    format!("{middle:.2} ({low:.2} to {high:.2})")
}

/// A median life with its interval: "48 (35 to 67)".
pub fn median(choice: &Choice) -> String {
    let [low, middle, high] = choice.median_years.map(|years| to_figures(years, 2));
    format!("{middle} ({low} to {high})")
}

/// What is needed besides, for a cell.
pub fn likely(order: &Order) -> String {
    in_a_cell(order.need.rest)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::programme::supply::{GivenDemand, SizeName};
    use crate::words::sample;

    #[test]
    fn a_page_says_what_to_order_by_when_and_what_nobody_asked_for() {
        let mut sample = sample::fleet();
        let said = lines(&buying(&sample.case_of("A-1")));
        assert_eq!(
            said[0],
            "Order by 2026-01-01: 3 poles in 1 kind and size, 3 of them kiln-dried; 2 more of unknown size: measure before ordering (95 % sure for each, orders.csv)"
        );
        assert!(
            said[1].starts_with("  NO OTHER DEMAND was given"),
            "{}",
            said[1]
        );
        sample.programme.supply.other_demand = vec![GivenDemand {
            year: 2027,
            size: SizeName::parse("40 ft class 4").expect("a size"),
            species: None,
            preservative: None,
            count: 25,
            what_for: "a road".to_owned(),
        }];
        let case = sample.case_of("A-1");
        assert!(lines(&buying(&case))[1].contains("25 poles given by number"));
        assert_eq!(
            given_demand(&case, LengthUnit::Foot),
            ["2027: 25 of 40 ft class 4 for a road"]
        );
    }

    #[test]
    fn a_buyers_summary_tells_reserve_routes_and_doubt() {
        let mut sample = sample::fleet();
        sample.programme.supply.chance_of_not_running_short = 0.99;
        let said = summary(&sample.case_of("A-1")).join(" ");
        for words in [
            "10 weeks from order to arrival, kiln-dried ones 5",
            "1 brace",
            "No reserve for storms is set",
            "wants 2,000 trials or more; this plan has 500",
            "turn cross-stacked ones",
        ] {
            assert!(said.contains(words), "{words}: {said}");
        }
    }

    #[test]
    fn advice_names_a_kind_and_its_doubt_and_never_a_smaller_class() {
        let mut sample = sample::fleet();
        let zone = sample.plan.orders.advice[0].clone();
        assert_eq!(
            advice_in_words(&zone),
            "Zone 3 (5 poles): pine, creosote, it is the only kind to compare."
        );
        assert_eq!(
            against(&zone.choices[0], &zone.choices[0]),
            "1.00 (0.94 to 1.10)"
        );
        assert_eq!(median(&zone.choices[0]), "48 (35 to 67)");
        assert!(
            use_class(&sample.programme).contains("EN 335")
                && NEVER_SMALLER.contains("smaller class")
        );
        sample.programme.supply.use_class = Some("UC4B".to_owned());
        assert!(use_class(&sample.programme).contains("UC4B"));
        assert!(advice_basis(&sample.case_of("A-1")).contains("5 % a year"));
    }
}
