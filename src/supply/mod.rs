//! Supply: what to order, of which size, when, so that one does not run short (model section 8).
//!
//! An order must cover everything from the day it is given until the one after it can arrive: the protection interval, lead
//! time plus review. What is already condemned and what the owner says by number is needed for certain; of the rest the
//! quantile over the trials at the chosen chance counts. Stock on hand and on order is taken off. Sizes carry their own
//! reserve, so their sums are larger than what is enough for all together, which is counted trial by trial. Storms are a
//! reserve apart and braces are no poles. Needs that nothing air-dried can meet in time are dried in a kiln, and so are
//! long poles (common practice). Knows no file and no sentence.

pub mod advice;
mod bulk;
pub mod demand;
mod lines;

pub use advice::{Choice, ZoneAdvice};

use crate::belief::Beliefs;
use crate::inventory::Inventory;
use crate::models::Models;
use crate::pole::{Preservative, Species, Status};
use crate::programme::Programme;
use crate::programme::supply::{CLEAR_OF_THE_GROUND, SizeName, Supply};
use crate::schedule::Schedule;
use crate::trial::{Band, Tally};
use crate::units::{Date, date_after};
use crate::wood::Sizes;
use bulk::{Bulk, truck_volume};
use demand::{Demand, Span, enough};
use lines::{Line, lines};

/// Years of the plan in which orders are told; later ones are for later plans.
const YEARS_TOLD: f64 = 2.0;

/// Weeks in a year (Gregorian calendar: 365.2425 days).
const WEEKS_PER_YEAR: f64 = 365.2425 / 7.0;

/// How a pole is dried before it is treated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Route {
    /// In air stacks.
    Air,
    /// In a kiln.
    Kiln,
}

impl Route {
    /// The word in tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Air => "air",
            Self::Kiln => "kiln",
        }
    }

    /// Years from an order to the poles' arrival.
    pub fn lead_years(self, supply: &Supply) -> f64 {
        let drying = match self {
            Self::Air => supply.air_drying_weeks,
            Self::Kiln => supply.kiln_drying_weeks,
        };
        (drying + supply.treating_weeks + supply.transport_weeks) / WEEKS_PER_YEAR
    }
}

/// What a row of the orders is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum OrderKind {
    /// Poles to order on the first day of the plan.
    Now,
    /// What to expect of an order at a later review; the stock of that day decides.
    Later,
    /// All sizes together on the first day, counted trial by trial.
    Total,
    /// Braces until the next review.
    Brace,
    /// Poles kept for storms, beside everything else.
    StormReserve,
}

impl OrderKind {
    /// The word in tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Now => "now",
            Self::Later => "later",
            Self::Total => "total",
            Self::Brace => "brace",
            Self::StormReserve => "storm_reserve",
        }
    }
}

/// What is needed over some stretch of time.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Need {
    /// Already condemned.
    pub known: u32,
    /// Given by the owner by number.
    pub given: u32,
    /// What the trials ask for besides.
    pub rest: Band,
    /// What is enough at the chosen chance: the first two, and the quantile of the rest.
    pub enough: u32,
}

/// What a quantity means in wood and on wheels; what cannot be known is missing.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Freight {
    /// Lots.
    pub lots: Option<u32>,
    /// Truck loads; by volume where it is known, else by number.
    pub trucks: Option<f64>,
    /// Volume, m3.
    pub volume: Option<f64>,
    /// Mass, tonnes.
    pub mass: Option<f64>,
    /// Stacks in the yard.
    pub stacks: Option<u32>,
}

/// One row of the orders.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// What it is.
    pub kind: OrderKind,
    /// The size; `None` for all together.
    pub size: Option<SizeName>,
    /// Species; `None` when neither policy nor list says.
    pub species: Option<Species>,
    /// Preservative; `None` when neither policy nor list says.
    pub preservative: Option<Preservative>,
    /// How it is dried.
    pub route: Option<Route>,
    /// When the first of them is needed.
    pub need_by: Option<Date>,
    /// When it has to be ordered; never before the plan.
    pub order_by: Option<Date>,
    /// When what is ordered on that day arrives.
    pub arrives: Option<Date>,
    /// What is needed until the next order can arrive.
    pub need: Need,
    /// In the yard.
    pub on_hand: Option<u32>,
    /// On order, arriving in time.
    pub on_order: Option<u32>,
    /// How many to order.
    pub quantity: u32,
    /// What that is in wood and on wheels.
    pub freight: Freight,
}

impl Order {
    /// Whether the size must be measured before anybody can order it.
    pub fn is_of_unknown_size(&self) -> bool {
        self.size.as_ref().is_some_and(|size| !size.is_whole())
    }
}

/// What to order, and what to put back.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Orders {
    /// Trials behind the quantiles.
    pub trials: u32,
    /// The rows: what to order now by size, all together, later orders, braces, the reserve for storms.
    pub rows: Vec<Order>,
    /// What to put back, by decay zone.
    pub advice: Vec<ZoneAdvice>,
}

impl Orders {
    /// Rows of one kind.
    pub fn of(&self, kind: OrderKind) -> impl Iterator<Item = &Order> {
        self.rows.iter().filter(move |row| row.kind == kind)
    }
}

/// The orders of a plan.
pub fn orders(
    inventory: &Inventory,
    models: &Models,
    programme: &Programme,
    beliefs: &Beliefs,
    schedule: &Schedule,
    tally: &Tally,
) -> Orders {
    let buying = Buying {
        programme,
        sizes: &models.sizes,
        poles: Demand::of_poles(inventory, programme, schedule, tally),
        horizon: f64::from(tally.years()),
    };
    let lines = lines(inventory, programme, &models.sizes, tally.groups());
    let mut rows: Vec<Order> = lines.iter().flat_map(|line| buying.now(line)).collect();
    rows.extend(buying.total(&lines));
    rows.extend(lines.iter().flat_map(|line| buying.later(line)));
    rows.extend(braces(inventory, programme, schedule, tally));
    rows.extend(lines.iter().filter_map(|line| buying.storm_reserve(line)));
    Orders {
        trials: tally.trials(),
        rows,
        advice: advice::advice(inventory, models, programme, beliefs),
    }
}

/// What all lines are reckoned by.
struct Buying<'a> {
    programme: &'a Programme,
    sizes: &'a Sizes,
    poles: Demand<'a>,
    horizon: f64,
}

impl Buying<'_> {
    fn supply(&self) -> &Supply {
        &self.programme.supply
    }

    fn review(&self) -> f64 {
        self.supply().review_months / 12.0
    }

    fn day(&self, years: f64) -> Date {
        date_after(self.programme.plan_from, years)
    }

    /// The route of what can wait.
    fn route(&self, line: &Line) -> Route {
        let long = line
            .size
            .length
            .is_some_and(|length| length >= self.supply().long_from);
        // Whoever kiln-dries no slower than others air-dry has no use for stacks.
        let slower = Route::Air.lead_years(self.supply()) > Route::Kiln.lead_years(self.supply());
        if long || !slower {
            Route::Kiln
        } else {
            Route::Air
        }
    }

    /// From the order of a day to the arrival of the one after it, as far as the forecast goes.
    fn protection(&self, line: &Line, from: f64) -> Span {
        let lead = self.route(line).lead_years(self.supply());
        Span {
            from,
            until: (from + lead + self.review()).min(self.horizon),
        }
    }

    fn given(&self, line: &Line, span: Span) -> u32 {
        let year_of = |year: i16| u16::try_from(year - self.programme.first_year()).unwrap_or(0);
        let own = line
            .given
            .iter()
            .map(|place| &self.supply().other_demand[*place]);
        own.filter(|own| span.has_start_of(year_of(own.year)))
            .map(|own| own.count)
            .sum()
    }

    fn need(&self, line: &Line, span: Span) -> Need {
        let rest = self.poles.rest(&line.groups, span);
        let known = self.poles.known(&line.groups, span);
        let given = self.given(line, span);
        Need {
            known,
            given,
            enough: known + given + enough(&rest, self.supply().chance_of_not_running_short),
            rest: Band::of(rest.into_iter()),
        }
    }

    /// The rows of the first day: what nothing but a kiln can bring, if a kiln can, and the rest until the next order.
    fn now(&self, line: &Line) -> Vec<Order> {
        let mut rows = Vec::new();
        let route = self.route(line);
        let span = self.protection(line, 0.0);
        let mut expected = line.on_hand;
        if route == Route::Air {
            let until = Route::Air.lead_years(self.supply()).min(self.horizon);
            let need = self.need(line, Span { from: 0.0, until });
            let on_order = line.on_order_by(self.programme, until);
            let quantity = need.enough.saturating_sub(line.on_hand + on_order);
            if quantity > 0 {
                rows.push(Order {
                    on_hand: Some(line.on_hand),
                    on_order: Some(on_order),
                    ..self.order(
                        line,
                        OrderKind::Now,
                        Route::Kiln,
                        (0.0, 0.0),
                        need,
                        quantity,
                    )
                });
                expected += quantity;
            }
        }
        let need = self.need(line, span);
        let on_order = line.on_order_by(self.programme, span.until);
        let quantity = need.enough.saturating_sub(expected + on_order);
        let first = if rows.is_empty() || route == Route::Kiln {
            0.0
        } else {
            route.lead_years(self.supply())
        };
        if quantity > 0 || rows.is_empty() {
            rows.push(Order {
                // What the row before has used up does not stand here again.
                on_hand: Some(if rows.is_empty() { line.on_hand } else { 0 }),
                on_order: Some(
                    on_order
                        - if rows.is_empty() {
                            0
                        } else {
                            rows[0].on_order.unwrap_or(0)
                        },
                ),
                ..self.order(line, OrderKind::Now, route, (first, 0.0), need, quantity)
            });
        }
        // A size that nobody knows stays in sight as long as any trial asks for it.
        rows.retain(|row| {
            row.need.enough > 0
                || row.on_hand > Some(0)
                || row.on_order > Some(0)
                || (row.is_of_unknown_size() && row.need.rest.mean > 0.0)
        });
        rows
    }

    /// A row with its days: needed from `first`, ordered on `ordered`, years from the plan date.
    fn order(
        &self,
        line: &Line,
        kind: OrderKind,
        route: Route,
        (first, ordered): (f64, f64),
        need: Need,
        quantity: u32,
    ) -> Order {
        Order {
            kind,
            size: Some(line.size.clone()),
            species: line.species,
            preservative: line.preservative,
            route: Some(route),
            need_by: Some(self.day(first)),
            order_by: Some(self.day(ordered)),
            arrives: Some(self.day(ordered + route.lead_years(self.supply()))),
            need,
            on_hand: None,
            on_order: None,
            quantity,
            freight: self.freight(line, quantity),
        }
    }

    /// All sizes together on the first day.
    fn total(&self, lines: &[Line]) -> Option<Order> {
        let mut all: Vec<u64> = Vec::new();
        let mut need = Need::default();
        let (mut on_hand, mut on_order, mut usable) = (0, 0, 0);
        for line in lines {
            let span = self.protection(line, 0.0);
            let rest = self.poles.rest(&line.groups, span);
            all.resize(rest.len(), 0);
            all.iter_mut().zip(&rest).for_each(|(sum, own)| *sum += own);
            let (known, given) = (self.poles.known(&line.groups, span), self.given(line, span));
            need.known += known;
            need.given += given;
            let coming = line.on_order_by(self.programme, span.until);
            on_hand += line.on_hand;
            on_order += coming;
            // What is left over of one size stands in for no other.
            let own = known + given + enough(&rest, self.supply().chance_of_not_running_short);
            usable += own.min(line.on_hand + coming);
        }
        need.enough =
            need.known + need.given + enough(&all, self.supply().chance_of_not_running_short);
        need.rest = Band::of(all.into_iter());
        (!lines.is_empty()).then(|| Order {
            kind: OrderKind::Total,
            size: None,
            species: None,
            preservative: None,
            route: None,
            need_by: Some(self.day(0.0)),
            order_by: Some(self.day(0.0)),
            arrives: None,
            need,
            on_hand: Some(on_hand),
            on_order: Some(on_order),
            quantity: need.enough.saturating_sub(usable),
            freight: Freight::default(),
        })
    }

    /// What to expect of the orders at later reviews: up to what is enough again, from what will probably be left.
    fn later(&self, line: &Line) -> Vec<Order> {
        let route = self.route(line);
        let first = self.protection(line, 0.0);
        let stock = |until| line.on_hand + line.on_order_by(self.programme, until);
        let mut ordered = self
            .need(line, first)
            .enough
            .saturating_sub(stock(first.until));
        let mut rows = Vec::new();
        let mut review = self.review();
        while review < YEARS_TOLD.min(self.horizon) - 1e-9 {
            let until_now = Span {
                from: 0.0,
                until: review,
            };
            let gone = self.need(line, until_now);
            let span = self.protection(line, review);
            let left = f64::from(stock(span.until) + ordered)
                - f64::from(gone.known + gone.given)
                - gone.rest.mean;
            let need = self.need(line, span);
            let quantity = (f64::from(need.enough) - left - 1e-9).ceil().max(0.0) as u32;
            ordered += quantity;
            if quantity > 0 {
                let arrives = review + route.lead_years(self.supply());
                let days = (arrives, review);
                rows.push(self.order(line, OrderKind::Later, route, days, need, quantity));
            }
            review += self.review();
        }
        rows
    }

    fn storm_reserve(&self, line: &Line) -> Option<Order> {
        let share = self.supply().storm_reserve?;
        let quantity = (share * line.listed as f64 - 1e-9).ceil().max(0.0) as u32;
        (quantity > 0).then(|| Order {
            need_by: None,
            order_by: None,
            arrives: None,
            route: None,
            ..self.order(
                line,
                OrderKind::StormReserve,
                Route::Air,
                (0.0, 0.0),
                Need::default(),
                quantity,
            )
        })
    }

    fn freight(&self, line: &Line, quantity: u32) -> Freight {
        if !line.size.is_whole() {
            return Freight::default();
        }
        let supply = self.supply();
        let number = f64::from(quantity);
        let volume = line.bulk.map(|bulk| number * bulk.volume);
        let by_volume = volume.zip(truck_volume(self.sizes, supply.truck_load));
        Freight {
            lots: supply.lot_size.map(|lot| quantity.div_ceil(lot)),
            trucks: Some(by_volume.map_or(number / supply.truck_load, |(all, truck)| all / truck)),
            volume,
            mass: volume
                .zip(supply.density)
                .map(|(m3, density)| m3 * density / 1_000.0),
            stacks: line.bulk.and_then(|bulk| self.stacks(bulk, quantity)),
        }
    }

    /// Stacks of one size: as many poles side by side as the width takes, in as many layers as the height does.
    fn stacks(&self, bulk: Bulk, quantity: u32) -> Option<u32> {
        let yard = self.supply().yard?;
        let beside = (yard.stack_width.0 / bulk.butt.0).floor();
        let layers = ((yard.stack_height.0 - CLEAR_OF_THE_GROUND.0) / bulk.butt.0).floor();
        let in_one = (beside * layers) as u32;
        (in_one > 0).then(|| quantity.div_ceil(in_one))
    }
}

/// Braces until the next review, by the size of the pole that they go on.
fn braces(
    inventory: &Inventory,
    programme: &Programme,
    schedule: &Schedule,
    tally: &Tally,
) -> Vec<Order> {
    let demand = Demand::of_braces(inventory, programme, schedule, tally);
    let span = Span {
        from: 0.0,
        until: (programme.supply.review_months / 12.0).min(f64::from(tally.years())),
    };
    lines::by_old_size(inventory, tally.groups())
        .into_iter()
        .filter_map(|(size, groups)| {
            let rest = demand.rest(&groups, span);
            let known = demand.known(&groups, span);
            let enough = known + enough(&rest, programme.supply.chance_of_not_running_short);
            (enough > 0).then(|| Order {
                kind: OrderKind::Brace,
                size: Some(size),
                species: None,
                preservative: None,
                route: None,
                need_by: Some(programme.plan_from),
                order_by: Some(programme.plan_from),
                arrives: None,
                need: Need {
                    known,
                    given: 0,
                    rest: Band::of(rest.into_iter()),
                    enough,
                },
                on_hand: None,
                on_order: None,
                quantity: enough,
                freight: Freight::default(),
            })
        })
        .collect()
}

/// Poles of a list that stand.
fn stands(status: Status) -> bool {
    status != Status::Removed
}

#[cfg(test)]
mod tests;
