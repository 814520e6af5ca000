//! Small inventories and programmes for tests, unit and integration alike (the library includes this file too).

#![allow(
    dead_code,
    reason = "every test binary uses its own part of these helpers"
)]

use jiff::civil::date;
use polewright::Inventory;
use polewright::inventory::{Decision, Names, Target};
use polewright::pole::{
    DecisionKind, Inspection, Method, Pole, PoleIndex, SetFrom, Status, Verdict,
};
use polewright::problem::{Cell, Source};
use polewright::programme::money::Budget;
use polewright::programme::{
    AppliesTo, Costs, Crews, Hazards, InspectionRule, Limit, Policy, Programme, RejectRule,
    Removals, Round, RuleKind, Scope, Sources, Supply,
};
use polewright::schedule::VisitValues;
use polewright::units::{Date, Fraction, Zone, mid_year};

/// A programme with one guideline (first at 12 years, then every 10, by partial excavation), ten plan years from
/// 2025-01-01, and more crew-days than small tests need.
pub fn programme() -> Programme {
    Programme {
        title: "test".to_owned(),
        plan_from: date(2025, 1, 1),
        schedule_years: 10,
        horizon_years: 20,
        trials: 200,
        seed: 1,
        default_zone: zone(3),
        assumed_install_years: (1960, 2020),
        rejects: vec![RejectRule {
            limit: Limit::Strength(Fraction::clamped(2.0 / 3.0)),
            from: None,
        }],
        inspections: vec![rule("guideline", 12.0, 10.0)],
        above_ground: Vec::new(),
        policy: policy(),
        crews: Crews {
            crew_days_per_year: 1_000.0,
            poles_per_crew_day: [200.0, 100.0, 70.0, 45.0, 30.0, 45.0],
        },
        costs: Costs {
            currency: None,
            inspection: [2.0, 5.0, 20.0, 40.0, 80.0, 60.0],
            replacement: 8_000.0,
            reinforcement: 2_400.0,
            remedial_treatment: 40.0,
            failure: 50_000.0,
            discount_rate: 0.04,
            below_limit_year: None,
        },
        budget: Budget::default(),
        removals: Removals {
            reinforced_share: Fraction::clamped(0.0),
            mean_years_to_removal: 1.0,
            listed: None,
        },
        hazards: Hazards {
            use_of_capacity: 0.35,
            strength_cov: 0.2,
            other_demand: 0.002,
            load_factor: None,
        },
        scope: Scope::default(),
        sources: Sources::default(),
        supply: Supply::default(),
        alternatives: Vec::new(),
        assumed: Vec::new(),
    }
}

/// Partial excavation, rejects replaced within a year, poles inspected in the last five years left out of a round.
pub fn policy() -> Policy {
    Policy {
        method: Method::PartialExcavation,
        replace_within_years: 1.0,
        make_safe_within_days: 1,
        remedial_treatment: false,
        remedial_agent: None,
        treatment_years: Some(5.0),
        reinforce: false,
        reinforcement_life_years: 20.0,
        reinforceable_share: Fraction::clamped(0.0),
        exempt_inspected_within_years: 5.0,
        round: Round::Line,
        worst_first_within: Fraction::clamped(0.02),
        new_species: None,
        new_preservative: None,
    }
}

/// A guideline that binds every pole from of old.
pub fn rule(name: &str, first_age_years: f64, repeat_years: f64) -> InspectionRule {
    InspectionRule {
        name: name.to_owned(),
        applies: AppliesTo::default(),
        first_age_years,
        repeat_years,
        after_decay_years: None,
        grace_days: 0,
        least_method: Method::PartialExcavation,
        kind: RuleKind::Guideline,
        source: "test".to_owned(),
        effective: None,
    }
}

/// The decay zone of this number.
pub fn zone(number: u8) -> Zone {
    Zone::new(number).expect("a zone from 1 to 5")
}

/// A pole of which only the year of setting is known.
pub fn pole_set(year: i16) -> Pole {
    Pole {
        line: None,
        sequence: None,
        district: None,
        place: None,
        zone: zone(3),
        zone_is_default: true,
        status: Status::InService,
        removed: None,
        length: None,
        class: None,
        size_class: None,
        top_diameter: None,
        loading: None,
        diameter: None,
        species: None,
        preservative: None,
        through_bored: None,
        installed: Some(mid_year(year)),
        set_from: SetFrom::Record,
        reinforced: None,
        consequence: None,
        has_problems: false,
        material_unknown: false,
        also: None,
        source: Source::default(),
    }
}

/// An inspection without readings.
pub fn inspected(date: Date, method: Method, verdict: Verdict) -> Inspection {
    Inspection::unmeasured(date, method, verdict)
}

/// An inventory of poles given as (id, line, pole, inspections); an empty line is no line.
pub fn inventory_of(poles: Vec<(&str, &str, Pole, Vec<Inspection>)>) -> Inventory {
    let mut names = Names::default();
    let poles = poles
        .into_iter()
        .map(|(id, line, pole, inspections)| {
            let line = (!line.is_empty()).then(|| names.keep(line));
            (id.to_owned(), Pole { line, ..pole }, inspections)
        })
        .collect();
    Inventory::new(&names, poles)
}

/// A decision on one pole that nobody signed.
pub fn decision(pole: u32, kind: DecisionKind, year: Option<i16>) -> Decision {
    Decision {
        target: Target::Pole(PoleIndex(pole)),
        kind,
        year,
        method: None,
        action: None,
        date: None,
        by: None,
        reason: None,
        interim_control: None,
        review_date: None,
        cell: Cell {
            column: "decision".to_owned(),
            raw: String::new(),
        },
        source: Source::default(),
    }
}

/// The same, signed on 2024-11-01 for a year and more, with an interim control.
pub fn signed(pole: u32, kind: DecisionKind, year: Option<i16>) -> Decision {
    Decision {
        date: Some(date(2024, 11, 1)),
        by: Some("N. N.".to_owned()),
        reason: Some("line outage".to_owned()),
        interim_control: Some("guyed and fenced off".to_owned()),
        review_date: Some(date(2026, 3, 31)),
        ..decision(pole, kind, year)
    }
}

/// The inventory with these decisions; their lines are those of its own names.
pub fn with(inventory: Inventory, decisions: Vec<Decision>) -> Inventory {
    let names = inventory.names.clone();
    inventory.with_decisions(&names, decisions)
}

/// Values that make no visit worth anything before it is due.
pub fn no_values(inventory: &Inventory, programme: &Programme) -> Vec<VisitValues> {
    inventory
        .indices()
        .map(|_| VisitValues::nothing(10, programme.schedule_years))
        .collect()
}

/// Crews for this many inspections a year by the policy's method, which then take a crew-day each.
pub fn visits_a_year(programme: &Programme, visits: u16) -> Crews {
    let mut crews = programme.crews.clone();
    crews.poles_per_crew_day = [1.0; Method::ALL.len()];
    crews.crew_days_per_year = f64::from(visits);
    crews
}
