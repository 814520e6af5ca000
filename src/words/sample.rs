//! A fleet of five poles with a plan written by hand: what the tests of words, tables and files render.
//!
//! Every number here is invented; no model is run.

use super::Case;
use crate::belief::{Beliefs, CellLearning, Summary, believe};
use crate::inventory::{Inventory, Names, RowCount};
use crate::models::{self, CellIndex, Models};
use crate::plan::Plan;
use crate::pole::{
    Inspection, Method, NameIndex, Place, Pole, PoleIndex, Preservative, SetFrom, Species, Status,
    Verdict,
};
use crate::problem::{Problems, Source};
use crate::programme::money::{Account, Budget};
use crate::programme::sources::Field;
use crate::programme::sources::TableSource;
use crate::programme::supply::SizeName;
use crate::programme::{
    AppliesTo, Assumed, Costs, Crews, Hazards, InspectionRule, Limit, Policy, Programme,
    RejectRule, Removals, Round, RuleKind, Scope, Sources, Supply,
};
use crate::schedule::{
    Action, Decisions, Deferral, Due, DueBecause, OtherCrews, Package, PackageIndex, Priority,
    Proof, Reason, Row, Schedule, Standing,
};
use crate::supply::{Choice, Freight, Need, Order, OrderKind, Orders, Route, ZoneAdvice};
use crate::trial::{self, Band, Demand, Forecast, Group, Size, Spending, Spent, YearForecast};
use crate::units::{Date, Fraction, LengthUnit, Zone};
use jiff::civil::date;

/// Everything that a plan is made of and leads to.
pub(crate) struct Sample {
    pub(crate) inventory: Inventory,
    pub(crate) models: Models,
    pub(crate) programme: Programme,
    pub(crate) plan: Plan,
    pub(crate) problems: Problems,
}

impl Sample {
    pub(crate) fn case(&self, pole: PoleIndex) -> Case<'_> {
        Case {
            inventory: &self.inventory,
            models: &self.models,
            programme: &self.programme,
            plan: &self.plan,
            pole,
        }
    }

    pub(crate) fn overview(&self) -> super::Overview {
        super::overview(
            &self.inventory,
            &self.problems,
            &self.models,
            &self.programme,
            &self.plan,
        )
    }

    pub(crate) fn case_of(&self, id: &str) -> Case<'_> {
        self.case(self.inventory.find(id).expect("a pole of the sample"))
    }
}

pub(crate) fn fleet() -> Sample {
    let inventory = inventory();
    let models = models();
    Sample {
        programme: programme(),
        plan: Plan {
            beliefs: beliefs(&inventory, &models),
            schedule: schedule(&inventory),
            forecast: forecast(&inventory),
            orders: orders(&inventory),
            spending: spending(),
        },
        inventory,
        models,
        problems: Problems {
            files: vec!["poles.csv".to_owned()],
            list: Vec::new(),
        },
    }
}

fn pole(row: u32, line: NameIndex, class: NameIndex, installed: Option<Date>) -> Pole {
    Pole {
        line: Some(line),
        sequence: Some(row as i32),
        district: None,
        place: Some(Place {
            longitude: -120.0 - f64::from(row) * 0.001,
            latitude: 45.123_456_789,
        }),
        zone: Zone::ALL[2],
        zone_is_default: false,
        status: Status::InService,
        removed: None,
        length: Some(LengthUnit::Foot.read(40.0)),
        class: Some(class),
        size_class: None,
        top_diameter: None,
        loading: None,
        diameter: None,
        species: Some(Species::Pine),
        preservative: Some(Preservative::Creosote),
        through_bored: None,
        installed,
        set_from: SetFrom::Record,
        reinforced: None,
        consequence: None,
        has_problems: false,
        material_unknown: false,
        also: None,
        source: Source { file: 0, row },
    }
}

fn bored(on: Date, verdict: Verdict) -> Inspection {
    Inspection::unmeasured(on, Method::SoundAndBore, verdict)
}

fn inventory() -> Inventory {
    let mut names = Names::default();
    let (mill, hill, four) = (names.keep("Mill road"), names.keep("Hill"), names.keep("4"));
    let danger = bored(date(2025, 11, 3), Verdict::Danger);
    let reject = bored(date(2024, 5, 17), Verdict::RejectReplace);
    let sound = bored(date(2024, 5, 18), Verdict::Sound);
    let unknown = Pole {
        place: None,
        species: None,
        length: None,
        class: None,
        has_problems: true,
        ..pole(5, hill, four, None)
    };
    let poles = vec![
        (
            "A-1",
            pole(2, mill, four, Some(date(1961, 7, 1))),
            vec![danger],
        ),
        (
            "A-2",
            pole(3, mill, four, Some(date(1970, 7, 1))),
            vec![reject],
        ),
        ("A-3", pole(4, mill, four, Some(date(1979, 7, 1))), vec![]),
        ("B-1", unknown, vec![]),
        (
            "B-2",
            pole(6, hill, four, Some(date(2011, 7, 1))),
            vec![sound],
        ),
    ];
    let mut inventory = Inventory::new(
        &names,
        poles
            .into_iter()
            .map(|(id, pole, seen)| (id.to_owned(), pole, seen))
            .collect(),
    );
    inventory.pole_rows = RowCount {
        read: 7,
        used: 5,
        out_of_scope: 1,
        set_aside: 1,
    };
    inventory.inspection_rows = RowCount {
        read: 3,
        used: 3,
        ..RowCount::default()
    };
    inventory
}

/// The built-in models: tests look only at names and places in them, at no figure.
fn models() -> Models {
    let mut models = models::text::built_in().expect("the built-in models are valid");
    let own = models.cell(cell_of_pine(&models)).kind;
    models.kinds[own].title = "Creosoted pine".to_owned();
    models
}

fn cell_of_pine(models: &Models) -> CellIndex {
    models.cell_for(
        Some(Species::Pine),
        Some(Preservative::Creosote),
        None,
        Zone::ALL[2],
    )
}

fn generic_cell(models: &Models) -> CellIndex {
    models.cell_for(None, None, None, Zone::ALL[2])
}

pub(crate) fn programme() -> Programme {
    let mut poles = TableSource {
        file: "poles.csv".to_owned(),
        ..TableSource::default()
    };
    poles
        .columns
        .insert(Field::Length, vec!["HEIGHT".to_owned()]);
    poles.units.insert(Field::Length, LengthUnit::Foot);
    Programme {
        title: "Five poles".to_owned(),
        plan_from: date(2026, 1, 1),
        schedule_years: 5,
        horizon_years: 10,
        trials: 500,
        seed: 7,
        default_zone: Zone::ALL[2],
        assumed_install_years: (1950, 2020),
        rejects: vec![RejectRule {
            limit: Limit::Strength(Fraction::clamped(2.0 / 3.0)),
            from: None,
        }],
        inspections: vec![InspectionRule {
            name: "ten-year round".to_owned(),
            applies: AppliesTo::default(),
            first_age_years: 12.0,
            repeat_years: 10.0,
            after_decay_years: None,
            grace_days: 0,
            least_method: Method::SoundAndBore,
            kind: RuleKind::Law,
            source: "invented".to_owned(),
            effective: None,
        }],
        above_ground: Vec::new(),
        policy: policy(),
        crews: Crews {
            crew_days_per_year: 2.0,
            poles_per_crew_day: [200.0, 100.0, 70.0, 45.0, 30.0, 60.0],
        },
        costs: Costs {
            currency: None,
            inspection: [5.0, 10.0, 42.0, 80.0, 168.0, 60.0],
            replacement: 8_000.0,
            reinforcement: 2_400.0,
            remedial_treatment: 40.0,
            failure: 20_000.0,
            discount_rate: 0.05,
            below_limit_year: None,
        },
        budget: Budget::default(),
        removals: Removals {
            reinforced_share: Fraction::clamped(0.1),
            mean_years_to_removal: 1.0,
            listed: None,
        },
        hazards: Hazards {
            use_of_capacity: 0.35,
            strength_cov: 0.2,
            other_demand: 0.001,
            load_factor: None,
        },
        scope: Scope::default(),
        sources: Sources {
            poles: vec![poles],
            inspections: vec![],
            ..Sources::default()
        },
        supply: Supply::default(),
        alternatives: Vec::new(),
        assumed: vec![Assumed {
            key: "crews.crew_days_per_year",
            value: "2".to_owned(),
            mark: "proposed",
        }],
    }
}

fn policy() -> Policy {
    Policy {
        method: Method::SoundAndBore,
        replace_within_years: 1.0,
        make_safe_within_days: 0,
        remedial_treatment: true,
        remedial_agent: None,
        treatment_years: Some(10.0),
        reinforce: false,
        reinforcement_life_years: 20.0,
        reinforceable_share: Fraction::clamped(0.0),
        exempt_inspected_within_years: 3.0,
        round: Round::Line,
        worst_first_within: Fraction::clamped(0.02),
        new_species: None,
        new_preservative: None,
    }
}

/// Real beliefs, whose numbers are replaced: what is rendered then depends on no model.
fn beliefs(inventory: &Inventory, models: &Models) -> Beliefs {
    let (pine, generic) = (cell_of_pine(models), generic_cell(models));
    let summary = |cell, now: f32, age: f32, age_is_recorded| Summary {
        cell,
        curves: 1,
        below_limit: (0..=10)
            .map(|year: u8| (now + f32::from(year) * 0.01).min(1.0))
            .collect(),
        failure_within_a_year: 1e-4,
        years_to_limit: [0.0, 8.25, f32::INFINITY],
        age,
        age_is_recorded,
    };
    let mut beliefs = believe(inventory, models, &programme());
    beliefs.summaries = vec![
        summary(pine, 0.97, 64.5, true),
        summary(pine, 0.8, 55.5, true),
        summary(pine, 0.111, 46.5, true),
        summary(generic, 0.366, 31.4, false),
        summary(pine, 0.000_02, 14.5, true),
    ];
    beliefs.calibration.cells = vec![CellLearning {
        cell: pine,
        poles: 4,
        poles_with_findings: 3,
        findings: 3,
        removed: 0,
        published: [33.1, 50.0, 75.4],
        owners: [35.2, 48.4, 66.6],
        owners_if_sure: [38.1, 48.4, 61.0],
        pinned: false,
    }];
    beliefs
}

/// Years a hundredth from their bound, and too few crew-days.
fn proof() -> Proof {
    Proof {
        at_first: 900.0,
        reached: 980.0,
        best: 990.0,
        bound: 1_000.0,
        waiting: 4.0,
        waiting_at_best: 6.5,
        trips: 12,
        late_by_law: 0,
        late_by_rule: 3,
        not_planned: 1,
        crew_week: vec![120.0, 60.0, 0.0, 0.0, 0.0],
        money: vec![0.2, 0.1, 0.0, 0.0, 0.0],
        other_crews: vec![
            OtherCrews {
                share: 0.8,
                not_planned: 2,
                late_by_law: 0,
                late_by_rule: 8,
                reached: 800.0,
                bound: 810.0,
            },
            OtherCrews {
                share: 1.2,
                not_planned: 0,
                late_by_law: 0,
                late_by_rule: 0,
                reached: 1_100.0,
                bound: 1_100.0,
            },
        ],
    }
}

fn schedule(inventory: &Inventory) -> Schedule {
    let planned = |action, package| Standing::Planned {
        action,
        year: 0,
        package,
    };
    let due = |on, because| {
        Some(Due {
            date: on,
            rule: 0,
            because,
        })
    };
    let row = |pole, standing, due, priority, reason| Row {
        pole: PoleIndex(pole),
        standing,
        method: None,
        due,
        overdue_days: 0,
        priority,
        value_of_visit: 123.456,
        reason,
    };
    let rows = vec![
        row(
            0,
            planned(Action::MakeSafe, None),
            None,
            Priority::Danger,
            Reason::Danger {
                date: date(2025, 11, 3),
            },
        ),
        Row {
            overdue_days: 229,
            ..row(
                1,
                planned(Action::Replace, None),
                None,
                Priority::MustDo,
                Reason::Reject {
                    date: date(2024, 5, 17),
                    verdict: Verdict::RejectReplace,
                    braced_until: None,
                },
            )
        },
        Row {
            method: Some(Method::SoundAndBore),
            overdue_days: 916,
            ..row(
                2,
                planned(Action::Inspect, Some(PackageIndex(0))),
                due(date(2023, 6, 30), DueBecause::FirstAge),
                Priority::MustDo,
                Reason::Rule { overdue_days: 916 },
            )
        },
        row(
            3,
            Standing::Deferred {
                action: Action::Inspect,
                reason: Deferral::CrewDays,
            },
            None,
            Priority::Condition,
            Reason::Condition,
        ),
        row(
            4,
            Standing::NotDue,
            due(date(2034, 5, 18), DueBecause::Repeat),
            Priority::None,
            Reason::Nothing,
        ),
    ];
    Schedule {
        rows,
        ranking: inventory.indices().collect(),
        packages: vec![Package {
            name: "Mill road 1".to_owned(),
            line: inventory.pole(PoleIndex(0)).line,
            year: Some(0),
            poles: vec![PoleIndex(2)],
            method: Method::SoundAndBore,
            crew_days: 1.0,
        }],
        visits: vec![],
        crew_days: vec![1.0, 0.0, 0.0, 0.0, 0.0],
        proof: proof(),
        decisions: Decisions::default(),
    }
}

fn band(mean: f64) -> Band {
    Band {
        mean,
        standard_error: 0.03,
        p10: mean.floor(),
        p50: mean.round(),
        p90: mean.ceil() + 1.0,
    }
}

/// A size to order by both routes, one that must be measured first, braces and a reserve.
fn orders(inventory: &Inventory) -> Orders {
    let facts = inventory.pole(PoleIndex(0));
    let size = SizeName {
        length: facts.length,
        class: facts
            .class
            .map(|class| inventory.names.get(class).to_owned()),
    };
    let row = |kind, size: Option<&SizeName>, route, quantity| Order {
        kind,
        size: size.cloned(),
        species: Some(Species::Pine),
        preservative: Some(Preservative::Creosote),
        route,
        need_by: Some(date(2026, 1, 1)),
        order_by: Some(date(2026, 1, 1)),
        arrives: route.map(|_| date(2026, 2, 5)),
        need: Need {
            known: 2,
            given: 0,
            rest: band(1.4),
            enough: quantity + 1,
        },
        on_hand: Some(1),
        on_order: Some(0),
        quantity,
        freight: Freight {
            lots: Some(1),
            trucks: Some(0.123),
            volume: Some(2.5),
            mass: None,
            stacks: None,
        },
    };
    let unknown = SizeName::default();
    Orders {
        trials: 500,
        rows: vec![
            row(OrderKind::Now, Some(&size), Some(Route::Kiln), 3),
            Order {
                freight: Freight::default(),
                ..row(OrderKind::Now, Some(&unknown), Some(Route::Air), 2)
            },
            row(OrderKind::Total, None, None, 4),
            row(OrderKind::Later, Some(&size), Some(Route::Air), 2),
            row(OrderKind::Brace, Some(&size), None, 1),
        ],
        advice: vec![ZoneAdvice {
            zone: Zone::ALL[2],
            poles: 5,
            choices: vec![Choice {
                species: Species::Pine,
                preservative: Preservative::Creosote,
                cell: CellIndex(0),
                median_years: [35.2, 48.4, 66.6],
                learned: true,
                replacement: 8_000.0,
                yearly: [416.0, 442.0, 488.0],
                allowed_by: None,
            }],
        }],
    }
}

fn spending() -> Vec<Spending> {
    let row = |account, spent, mean: f64| Spending {
        year: 0,
        account,
        spent,
        count: spent.map(|_| band(mean)),
        cost: band(mean * 1_000.0),
    };
    vec![
        row(Account::Operating, Some(Spent::Inspect), 1.0),
        row(Account::Operating, None, 1.0),
        row(Account::Capital, Some(Spent::Replace), 1.6),
        row(Account::Capital, None, 1.6),
    ]
}

fn forecast(inventory: &Inventory) -> Forecast {
    let facts = inventory.pole(PoleIndex(0));
    let size = Size {
        length: facts.length,
        class: facts.class,
    };
    let group = |size: Size| Group {
        old: size,
        new: SizeName {
            length: size.length,
            class: size
                .class
                .map(|class| inventory.names.get(class).to_owned()),
        },
        species: Some(Species::Pine),
        preservative: Some(Preservative::Creosote),
    };
    let demand = |year, group, kind, mean| Demand {
        year,
        group,
        kind,
        count: band(mean),
        share_from_unknown_size: 0.125,
    };
    Forecast {
        trials: 500,
        groups: vec![group(size), group(Size::default())],
        years: (2026..2036)
            .map(|year| YearForecast {
                year,
                inspections: band(1.0),
                rejects_found: band(0.5),
                failures: band(0.01),
                replacements: band(1.6),
                below_limit: band(1.2),
            })
            .collect(),
        demand: vec![
            demand(Some(2026), Some(0), Some(trial::Kind::Planned), 1.4),
            demand(Some(2026), Some(1), Some(trial::Kind::Planned), 0.2),
            demand(Some(2026), None, Some(trial::Kind::Planned), 1.6),
            demand(Some(2026), None, Some(trial::Kind::AfterFailure), 0.01),
            demand(Some(2026), None, None, 1.61),
            demand(None, None, Some(trial::Kind::Planned), 3.2),
            demand(None, None, None, 3.3),
        ],
        by_group: vec![
            demand(Some(2026), Some(0), None, 1.4),
            demand(Some(2026), Some(1), None, 0.2),
            demand(None, Some(0), None, 3.0),
            demand(None, Some(1), None, 0.3),
        ],
    }
}
