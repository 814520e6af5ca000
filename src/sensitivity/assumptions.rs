//! The assumptions that are tried: base, range, what stands behind the range, and how each is put in place of the base.

use crate::inventory::Inventory;
use crate::maths::exp;
use crate::models::{Mark, Models};
use crate::pole::Method;
use crate::programme::Programme;
use crate::schedule::worth::usual_below_limit_year;
use crate::wood::agents::ClockFactor;

/// Key of the price of a failure, which is always told.
pub const FAILURE: &str = "costs.failure";

/// Standard deviations to either side that hold nine tenths of a normal distribution.
const NINE_TENTHS: f64 = 1.645;

/// One assumption and its range.
#[derive(Debug, Clone)]
pub struct Assumption {
    /// Name in words.
    pub name: &'static str,
    /// The key of the programme, or the figure of `models/`.
    pub key: &'static str,
    /// What its value is measured in; a factor where it multiplies many figures at once.
    pub unit: &'static str,
    /// The value as it is.
    pub base: f64,
    /// Low and high end.
    pub range: [f64; 2],
    /// How far the range can be relied on.
    pub mark: Mark,
    /// Where the range comes from.
    pub source: &'static str,
    /// Whether it changes what is believed of the poles today.
    pub is_about_the_past: bool,
    put: fn(f64, &mut Models, &mut Programme),
}

impl Assumption {
    /// Models and programme with the assumption at a value.
    pub fn at(&self, value: f64, models: &Models, programme: &Programme) -> (Models, Programme) {
        let (mut models, mut programme) = (models.clone(), programme.clone());
        (self.put)(value, &mut models, &mut programme);
        (models, programme)
    }

    /// Whether it is the price of a failure.
    pub fn is_price_of_failure(&self) -> bool {
        self.key == FAILURE
    }

    /// A price or another figure of the future of which half and twice are tried.
    const fn halved_and_doubled(
        name: &'static str,
        key: &'static str,
        unit: &'static str,
        base: f64,
        put: fn(f64, &mut Models, &mut Programme),
    ) -> Self {
        Self {
            name,
            key,
            unit,
            base,
            range: [0.5 * base, 2.0 * base],
            mark: Mark::Proposed,
            source: "half and twice the figure",
            is_about_the_past: false,
            put,
        }
    }
}

const UNITS: &str = "cost units";
const FACTOR: &str = "factor";
const SHARE: &str = "share";

/// The assumptions that can move this plan; what its policy does not use is left out.
pub fn assumptions(
    inventory: &Inventory,
    models: &Models,
    programme: &Programme,
) -> Vec<Assumption> {
    let mut all = of_the_wood(models);
    all.extend(of_inspections(models));
    all.extend(of_loads_and_lists(programme));
    all.extend(of_prices(inventory, models, programme));
    all.retain(|own| own.range[0] < own.range[1]);
    all
}

fn of_the_wood(models: &Models) -> Vec<Assumption> {
    let factor = models.remedies.agents.factor;
    vec![
        Assumption {
            name: "median service lives",
            key: "life.median_years",
            unit: "standard deviations between fleets",
            base: 0.0,
            range: [-NINE_TENTHS, NINE_TENTHS],
            mark: Mark::Proposed,
            source: "the 90 % interval between fleets of each curve in models/, before the owner's inspections",
            is_about_the_past: true,
            put: |value, models, _| {
                for cell in &mut models.cells {
                    let factor = exp(value * cell.between_fleets_ln_sd);
                    cell.life.main = cell.life.main.stretched(factor);
                }
            },
        },
        Assumption {
            name: "spread between fleets: how much the owner's inspections may move the lives",
            key: "between_fleets_ln_sd",
            unit: FACTOR,
            base: 1.0,
            range: [0.5, 1.5],
            mark: Mark::Proposed,
            source: "half to one and a half times the figures in models/",
            is_about_the_past: true,
            put: |value, models, _| {
                let cells = models.cells.iter_mut();
                cells.for_each(|cell| cell.between_fleets_ln_sd *= value);
            },
        },
        Assumption {
            name: "share of the life before decay starts",
            key: "protected_share.mean",
            unit: "added to each kind's mean",
            base: 0.0,
            range: [-0.08, 0.08],
            mark: Mark::Proposed,
            source: "the figures in models/ plus and minus 0.08",
            is_about_the_past: true,
            put: |value, models, _| {
                for cell in &mut models.cells {
                    cell.protected_mean = (cell.protected_mean + value).clamp(0.02, 0.95);
                }
            },
        },
        Assumption {
            name: "share of poles with a fault of treatment",
            key: "early_share",
            unit: FACTOR,
            base: 1.0,
            range: [0.5, 2.0],
            mark: Mark::Proposed,
            source: "half and twice the figures in models/",
            is_about_the_past: true,
            put: |value, models, _| {
                for cell in &mut models.cells {
                    cell.life.early_share = (cell.life.early_share * value).min(0.5);
                }
            },
        },
        Assumption {
            name: "how much a remedial treatment slows decay",
            key: "clock_factor.usual",
            unit: "speed of the decay clock",
            base: factor.usual,
            range: [factor.low, factor.high],
            mark: models.remedies.factor_origin.mark,
            source: "models/agents.toml: the ends of its own distribution",
            is_about_the_past: true,
            put: |value, models, _| {
                models.remedies.agents.factor = ClockFactor {
                    low: value,
                    usual: value,
                    high: value,
                };
            },
        },
    ]
}

fn of_inspections(models: &Models) -> Vec<Assumption> {
    vec![
        Assumption {
            name: "how much decay inspections see",
            key: "method.sensitivity",
            unit: "place in each method's range, -1 to 1",
            base: 0.0,
            range: [-1.0, 1.0],
            mark: models.detection_origin.mark,
            source: "models/detection.toml: sensitivity_range of each method, after Birtz, Wood pole maintenance, Arboriculture and Urban Forestry 5(3), 1979",
            is_about_the_past: true,
            put: |value, models, _| {
                for method in Method::ALL {
                    let [low, high] = models.sensitivity_range[method.index()];
                    let own = &mut models.detection.methods[method.index()].sensitivity;
                    let end = if value < 0.0 { low } else { high };
                    *own += value.abs() * (end - *own);
                }
            },
        },
        Assumption {
            name: "share of poles whose decay stays hidden short of full excavation",
            key: "hidden.share",
            unit: SHARE,
            base: models.detection.hidden_share,
            range: [
                0.5 * models.detection.hidden_share,
                (2.0 * models.detection.hidden_share).min(0.9),
            ],
            mark: Mark::Proposed,
            source: "half and twice the figure of models/detection.toml",
            is_about_the_past: true,
            put: |value, models, _| models.detection.hidden_share = value,
        },
    ]
}

fn of_loads_and_lists(programme: &Programme) -> Vec<Assumption> {
    let hazards = programme.hazards;
    let removals = programme.removals;
    vec![
        Assumption {
            name: "use of capacity: design wind moment over the strength of a new pole",
            key: "hazards.use_of_capacity",
            unit: SHARE,
            base: hazards.use_of_capacity,
            range: [0.7 * hazards.use_of_capacity, 1.4 * hazards.use_of_capacity],
            mark: Mark::Proposed,
            source: "seven tenths to fourteen tenths of the figure: 0.25 to 0.49 about the default",
            is_about_the_past: true,
            put: |value, _, programme| programme.hazards.use_of_capacity = value,
        },
        Assumption {
            name: "scatter of strength between poles",
            key: "hazards.strength_cov",
            unit: "coefficient of variation",
            base: hazards.strength_cov,
            range: [0.75 * hazards.strength_cov, 1.25 * hazards.strength_cov],
            mark: Mark::Proposed,
            source: "three to five quarters of the figure: 0.15 to 0.25 about the default",
            is_about_the_past: true,
            put: |value, _, programme| programme.hazards.strength_cov = value,
        },
        Assumption {
            is_about_the_past: true,
            ..Assumption::halved_and_doubled(
                "years from a verdict to the pole's removal from the list",
                "removals.mean_years_to_removal",
                "years",
                removals.mean_years_to_removal,
                |value, _, programme| programme.removals.mean_years_to_removal = value,
            )
        },
        Assumption::halved_and_doubled(
            "poles replaced for reasons that have nothing to do with decay",
            "hazards.other_demand",
            "share a year",
            hazards.other_demand,
            |value, _, programme| programme.hazards.other_demand = value,
        ),
    ]
}

fn of_prices(inventory: &Inventory, models: &Models, programme: &Programme) -> Vec<Assumption> {
    let costs = &programme.costs;
    let rate = costs.discount_rate;
    let mut all = vec![
        Assumption::halved_and_doubled(
            "price of a failure, all told",
            FAILURE,
            UNITS,
            costs.failure,
            |value, _, programme| programme.costs.failure = value,
        ),
        Assumption::halved_and_doubled(
            "price of a pole-year below the limit",
            "costs.below_limit_year",
            UNITS,
            usual_below_limit_year(inventory, models, programme),
            |value, _, programme| programme.costs.below_limit_year = Some(value),
        ),
        Assumption {
            name: "discount rate",
            key: "costs.discount_rate",
            unit: "a year",
            base: rate,
            range: [(rate - 0.02).max(0.0), rate + 0.02],
            mark: Mark::Proposed,
            source: "two points to either side",
            is_about_the_past: false,
            put: |value, _, programme| programme.costs.discount_rate = value,
        },
        Assumption {
            range: [0.75 * costs.replacement, 1.5 * costs.replacement],
            source: "three quarters to one and a half times the figure",
            ..Assumption::halved_and_doubled(
                "price of a planned replacement",
                "costs.replacement",
                UNITS,
                costs.replacement,
                |value, _, programme| programme.costs.replacement = value,
            )
        },
        Assumption {
            range: [0.5, 2.0],
            ..Assumption::halved_and_doubled(
                "prices of inspections",
                "costs.inspection",
                FACTOR,
                1.0,
                |value, _, programme| {
                    let prices = programme.costs.inspection.iter_mut();
                    prices.for_each(|price| *price *= value);
                },
            )
        },
        Assumption {
            range: [0.75, 1.25],
            source: "a quarter to either side",
            ..Assumption::halved_and_doubled(
                "poles inspected in a crew-day",
                "crews.poles_per_crew_day",
                FACTOR,
                1.0,
                |value, _, programme| {
                    let poles = programme.crews.poles_per_crew_day.iter_mut();
                    poles.for_each(|poles| *poles *= value);
                },
            )
        },
    ];
    if programme.policy.remedial_treatment {
        all.push(Assumption::halved_and_doubled(
            "price of a remedial treatment",
            "costs.remedial_treatment",
            UNITS,
            costs.remedial_treatment,
            |value, _, programme| programme.costs.remedial_treatment = value,
        ));
    }
    if programme.policy.reinforce {
        all.push(Assumption::halved_and_doubled(
            "price of a reinforcement",
            "costs.reinforcement",
            UNITS,
            costs.reinforcement,
            |value, _, programme| programme.costs.reinforcement = value,
        ));
    }
    all
}
