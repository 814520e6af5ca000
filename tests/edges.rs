//! Degenerate inventories and programmes, from records to forecast: every figure is a number, and nothing is lost.

mod common;

use common::{inspected, inventory_of, pole_set, programme};
use jiff::civil::date;
use polewright::belief::{Beliefs, Scratch, believe};
use polewright::chance::{Key, Purpose, Slot};
use polewright::pole::{
    Inspection, Method, Pole, Preservative, Reinforcement, SeenMode, Species, Status, Verdict,
};
use polewright::programme::{Limit, Programme, RejectRule};
use polewright::schedule::{Action, Schedule, Standing, audit, schedule};
use polewright::trial::{Band, Forecast, Kind, trial};
use polewright::units::{Fraction, Mm};
use polewright::wood::{LifeCurve, ServiceLife};
use polewright::{Inventory, Models};

/// Counts are integers and means quotients of them: sums agree to rounding.
const ROUNDING: f64 = 1e-9;

type Listed = (&'static str, &'static str, Pole, Vec<Inspection>);

struct Run {
    inventory: Inventory,
    beliefs: Beliefs,
    schedule: Schedule,
    forecast: Forecast,
}

fn models() -> Models {
    polewright::models::text::built_in().expect("valid models")
}

/// The usual programme with few trials: what is checked here holds in every one of them.
fn quick() -> Programme {
    Programme {
        trials: 40,
        ..programme()
    }
}

/// Runs everything and requires what must hold of every run.
fn run(models: &Models, programme: &Programme, poles: Vec<Listed>) -> Run {
    let inventory = inventory_of(poles);
    let beliefs = believe(&inventory, models, programme);
    let schedule = schedule(&inventory, models, &beliefs, programme);
    assert_eq!(audit(&inventory, programme, &schedule), Vec::new());
    let forecast = trial(&inventory, models, &beliefs, &schedule, programme).forecast();
    let run = Run {
        inventory,
        beliefs,
        schedule,
        forecast,
    };
    run.require_numbers();
    run.require_conservation(programme);
    run
}

impl Run {
    fn standing(&self) -> usize {
        let poles = self.inventory.poles().iter();
        poles.filter(|pole| pole.status != Status::Removed).count()
    }

    fn require_numbers(&self) {
        let mut scratch = Scratch::default();
        for pole in self.inventory.indices() {
            let summary = self.beliefs.summary(pole);
            let mut before = 0.0;
            for below in &summary.below_limit {
                assert!((before..=1.0).contains(below), "{summary:?}");
                before = *below;
            }
            assert!((0.0..=1.0).contains(&summary.failure_within_a_year));
            assert!(summary.years_to_limit.is_sorted(), "{summary:?}");
            assert!(summary.age.is_finite() && summary.age >= 0.0);
            let states = self.beliefs.states(&self.inventory, pole, &mut scratch);
            let mass: f64 = states.iter().map(|state| state.mass).sum();
            assert!(states.is_empty() || (mass - 1.0).abs() < ROUNDING, "{mass}");
            assert!(self.schedule.row(pole).value_of_visit.is_finite());
        }
        for cell in &self.beliefs.calibration.cells {
            assert!(
                cell.owners
                    .iter()
                    .all(|years| years.is_finite() && *years > 0.0)
            );
            assert!(cell.owners.is_sorted(), "{cell:?}");
        }
        for year in &self.forecast.years {
            for band in [
                year.inspections,
                year.rejects_found,
                year.failures,
                year.replacements,
                year.below_limit,
            ] {
                require_band(band, self.standing());
            }
        }
        for row in &self.forecast.demand {
            require_band(row.count, self.standing() * self.forecast.years.len());
            assert!((0.0..=1.0).contains(&row.share_from_unknown_size));
        }
    }

    fn require_conservation(&self, programme: &Programme) {
        let mean = |year, group: Option<usize>, kind| -> f64 {
            let rows = self.forecast.demand.iter();
            rows.filter(|row| (row.year, row.group, row.kind) == (year, group, kind))
                .map(|row| row.count.mean)
                .sum()
        };
        let labels = self.forecast.years.iter().map(|year| Some(year.year));
        for label in labels.chain([None]) {
            let mut total = 0.0;
            for kind in Kind::ALL.map(Some) {
                let groups = (0..self.forecast.groups.len()).map(Some);
                let of_kind: f64 = groups.map(|group| mean(label, group, kind)).sum();
                assert!((of_kind - mean(label, None, kind)).abs() < ROUNDING);
                total += of_kind;
            }
            assert!((total - mean(label, None, None)).abs() < ROUNDING);
        }
        for year in &self.forecast.years {
            let label = Some(year.year);
            let all = mean(label, None, None);
            assert!((all - year.replacements.mean).abs() < ROUNDING);
            let failed = mean(label, None, Some(Kind::AfterFailure));
            assert!((failed - year.failures.mean).abs() < ROUNDING, "{label:?}");
        }
        self.require_visits(programme);
    }

    /// Before any replacement could be visited, a year's inspections are its planned poles less those that are gone.
    fn require_visits(&self, programme: &Programme) {
        let ends: Vec<f64> = self
            .forecast
            .years
            .iter()
            .scan(0.0, |sum, year| {
                *sum += year.replacements.mean;
                Some(*sum)
            })
            .collect();
        let horizon = usize::from(programme.schedule_years).min(self.forecast.years.len());
        for (year, gone) in ends.iter().enumerate().take(horizon.min(10)) {
            let planned = |row: &polewright::schedule::Row| {
                matches!(row.standing,
                    Standing::Planned { action: Action::Inspect, year: own, .. } if usize::from(own) == year)
            };
            let planned = self.schedule.rows.iter().filter(|row| planned(row)).count() as f64;
            let inspected = self.forecast.years[year].inspections.mean;
            // First visits only: rules here repeat after ten years or more.
            assert!(inspected <= planned + ROUNDING, "{inspected} of {planned}");
            assert!(
                inspected >= planned - gone - ROUNDING,
                "{inspected} of {planned}"
            );
        }
    }
}

fn require_band(band: Band, most: usize) {
    assert!(band.standard_error.is_finite() && band.standard_error >= 0.0);
    assert!((0.0..=most as f64).contains(&band.mean), "{band:?}");
    assert!(band.p10 <= band.p50 && band.p50 <= band.p90, "{band:?}");
}

fn undated() -> Pole {
    Pole {
        installed: None,
        ..pole_set(1980)
    }
}

fn dug(year: i16, verdict: Verdict) -> Inspection {
    inspected(date(year, 6, 1), Method::PartialExcavation, verdict)
}

/// Poles of every odd kind in one list.
fn odd() -> Vec<Listed> {
    let decayed = dug(2015, Verdict::DecayServiceable);
    let read = |shell, depth| Inspection {
        sound_shell: shell,
        outside_decay_depth: depth,
        ..decayed
    };
    let set_on = |day| Pole {
        installed: Some(day),
        ..pole_set(2025)
    };
    let many = (1971..2024).map(|year| dug(year, Verdict::DecayServiceable));
    vec![
        ("A-plan-day", "A", set_on(date(2025, 1, 1)), vec![]),
        ("B-after", "A", set_on(date(2031, 5, 1)), vec![]),
        ("C-ancient", "A", pole_set(1700), vec![]),
        (
            "D-no-shell",
            "B",
            pole_set(1970),
            vec![read(Some(Mm(0.0)), None)],
        ),
        (
            "E-too-deep",
            "B",
            pole_set(1970),
            vec![read(None, Some(Mm(900.0)))],
        ),
        (
            "F-both",
            "",
            pole_set(1970),
            vec![read(Some(Mm(1.0)), Some(Mm(149.0)))],
        ),
        ("G-undated", "", undated(), vec![dug(1900, Verdict::Sound)]),
        (
            "H-reject",
            "",
            undated(),
            vec![dug(2024, Verdict::RejectReplace)],
        ),
        ("I-many", "B", pole_set(1960), many.collect()),
        (
            "J-thin",
            "B",
            Pole {
                diameter: Some(Mm(1.0)),
                ..pole_set(1960)
            },
            vec![read(Some(Mm(30.0)), None)],
        ),
        (
            "K-danger",
            "A",
            pole_set(1950),
            vec![dug(2024, Verdict::Danger)],
        ),
        (
            "L-skipped",
            "A",
            pole_set(1990),
            vec![dug(2020, Verdict::NotInspected)],
        ),
        (
            "M-braced",
            "A",
            Pole {
                reinforced: Some(Reinforcement::default()),
                ..pole_set(1960)
            },
            vec![dug(2010, Verdict::RejectReinforceable)],
        ),
    ]
}

#[test]
fn odd_records_give_numbers() {
    run(&models(), &quick(), odd());
}

#[test]
fn one_pole_one_trial_one_year() {
    let least = Programme {
        trials: 1,
        horizon_years: 1,
        schedule_years: 1,
        ..quick()
    };
    for pole in odd() {
        run(&models(), &least, vec![pole]);
    }
}

#[test]
fn no_limit_no_rule_no_crew() {
    let mut nothing = quick();
    nothing.rejects.clear();
    run(&models(), &nothing, odd());
    nothing.inspections.clear();
    run(&models(), &nothing, odd());
    let mut none = quick();
    none.crews.crew_days_per_year = 0.0;
    run(&models(), &none, odd());
}

#[test]
fn extreme_limits_and_money() {
    for limit in [
        Limit::Strength(Fraction::clamped(1.0)),
        Limit::Strength(Fraction::clamped(0.0)),
        Limit::SoundShell(Mm(500.0)),
        Limit::Circumference(Fraction::clamped(1.0)),
    ] {
        let mut extreme = quick();
        extreme.rejects = vec![RejectRule { limit, from: None }];
        extreme.costs.discount_rate = 0.0;
        extreme.policy.remedial_treatment = true;
        extreme.policy.replace_within_years = 0.0;
        run(&models(), &extreme, odd());
    }
}

#[test]
fn winds_that_nothing_stands_and_winds_that_nothing_feels() {
    for (use_of_capacity, strength_cov) in [(1.5, 0.6), (0.01, 0.01), (1.5, 0.01)] {
        let mut windy = quick();
        windy.hazards.use_of_capacity = use_of_capacity;
        windy.hazards.strength_cov = strength_cov;
        windy.hazards.other_demand = 0.5;
        run(&models(), &windy, odd());
    }
}

#[test]
fn a_whole_list_without_dates() {
    let poles = ["A", "B", "C", "D"]
        .into_iter()
        .map(|id| (id, "line", undated(), vec![]))
        .collect();
    let run = run(&models(), &quick(), poles);
    assert!(run.beliefs.summaries.iter().all(|one| !one.age_is_recorded));
}

#[test]
fn sure_models_and_weibull_lives() {
    let mut models = models();
    for cell in &mut models.cells {
        cell.between_fleets_ln_sd = 0.01;
        cell.protected_sd = 0.0;
        cell.protected_mean = 0.0;
        cell.life = ServiceLife {
            main: LifeCurve::Weibull {
                shape: 9.0,
                scale_years: 15.0,
            },
            early_share: 0.0,
            ..cell.life
        };
    }
    let run = run(&models, &quick(), odd());
    for cell in &run.beliefs.calibration.cells {
        // 0.01 between fleets is 1.7 % either way; the odd findings of a dozen poles cannot move that far.
        assert!(
            (cell.owners[1] / cell.published[1] - 1.0).abs() < 0.1,
            "{cell:?}"
        );
    }
}

#[test]
fn a_pole_that_is_gone_stands_in_no_trial_and_teaches_nothing() {
    let fleet = |with: bool| {
        let gone = Pole {
            status: Status::Removed,
            removed: Some(date(2016, 1, 1)),
            ..pole_set(1950)
        };
        let condemned = vec![dug(2015, Verdict::RejectReplace)];
        let mut poles: Vec<Listed> = vec![("A", "line", pole_set(1980), vec![])];
        if with {
            poles.extend(["B", "C", "D", "E"].map(|id| (id, "line", gone, condemned.clone())));
        }
        run(&models(), &quick(), poles)
    };
    let (with, without) = (fleet(true), fleet(false));
    assert_eq!(with.forecast.years, without.forecast.years);
    assert_eq!(with.beliefs.summaries[0], without.beliefs.summaries[0]);
}

#[test]
fn an_undated_pole_is_a_mixture_of_the_dated_poles_that_still_stand() {
    // Nothing was ever inspected, so the undated pole is any of its line's: its probability is their mean.
    let years = [1950, 1975, 2000];
    let ids = ["A", "B", "C", "D", "E", "F", "G", "H", "I", "J", "K", "L"];
    let kind = Pole {
        species: Some(Species::Pine),
        preservative: Some(Preservative::ButtTreated),
        zone: common::zone(5),
        ..pole_set(1950)
    };
    let mut poles: Vec<Listed> = ids
        .into_iter()
        .enumerate()
        .map(|(place, id)| {
            let installed = pole_set(years[place % 3]).installed;
            (id, "line", Pole { installed, ..kind }, vec![])
        })
        .collect();
    poles.push((
        "M",
        "line",
        Pole {
            installed: None,
            ..kind
        },
        vec![],
    ));
    let run = run(&models(), &quick(), poles);
    let below = |place: usize| f64::from(run.beliefs.summaries[place].below_limit[0]);
    let expected = (0..12).map(below).sum::<f64>() / 12.0;
    // Twelve ages stand for the mixture, four for each year: only rounding is left.
    assert!(
        (below(12) - expected).abs() < 1e-4,
        "{} {expected}",
        below(12)
    );
    let age: f64 = years
        .map(|year| 2024.5 - f64::from(year))
        .iter()
        .sum::<f64>()
        / 3.0;
    assert!((f64::from(run.beliefs.summaries[12].age) - age).abs() < 0.05);
}

#[test]
fn a_new_limit_binds_from_the_plan_year_that_begins_with_it() {
    // 2024 is a leap year: 365.2425 days after 1 January 2024 is still 31 December.
    let mut late = quick();
    late.plan_from = date(2024, 1, 1);
    late.rejects = vec![RejectRule {
        limit: Limit::Strength(Fraction::clamped(0.9)),
        from: Some(date(2025, 1, 1)),
    }];
    let run = run(
        &models(),
        &late,
        vec![("A", "line", pole_set(1970), vec![])],
    );
    let below = &run.beliefs.summaries[0].below_limit;
    assert!(below[0] < 1e-6 && below[1] > 0.01, "{below:?}");
}

#[test]
fn the_least_shell_reading_counts_as_a_shell_reading() {
    let seen = |inspection: Inspection| {
        let found = run(
            &models(),
            &quick(),
            vec![("A", "line", pole_set(1980), vec![inspection])],
        );
        found.beliefs.summaries[0].clone()
    };
    let found = dug(2020, Verdict::DecayServiceable);
    let mean = Inspection {
        sound_shell: Some(Mm(80.0)),
        ..found
    };
    let least = Inspection {
        least_sound_shell: Some(Mm(80.0)),
        ..found
    };
    assert_eq!(seen(mean), seen(least));
    let named = Inspection {
        seen_mode: Some(SeenMode::Internal),
        ..least
    };
    assert_eq!(seen(named), seen(least));
}

#[test]
fn decay_that_was_seen_is_not_hidden_from_the_next_visit() {
    let found = run(
        &models(),
        &quick(),
        vec![
            (
                "A",
                "line",
                pole_set(1970),
                vec![dug(2020, Verdict::DecayServiceable)],
            ),
            (
                "B",
                "line",
                pole_set(1970),
                vec![dug(2010, Verdict::Sound), dug(2020, Verdict::Sound)],
            ),
        ],
    );
    let hidden = |place: u32| -> f64 {
        let pole = polewright::pole::PoleIndex(place);
        let states = found
            .beliefs
            .states(&found.inventory, pole, &mut Scratch::default());
        let decayed = states
            .iter()
            .filter(|state| state.wood.progress(state.age) > 0.5);
        let (mass, sum) = decayed.fold((0.0, 0.0), |(mass, sum), state| {
            (mass + state.mass, sum + state.mass * state.hidden)
        });
        sum / mass
    };
    let prior = models().detection.hidden_share;
    assert!(hidden(0) < 0.5 * prior, "{}", hidden(0));
    assert!(hidden(1) > 1.3 * prior, "{}", hidden(1));
}

#[test]
fn chance_networks_of_odd_poles_lose_nothing() {
    for number in 0..6_u32 {
        let draw =
            |place: u16| Key::of(3, "edges").uniform(number, Slot::new(Purpose::Invent, 0, place));
        let poles: Vec<Listed> = odd()
            .into_iter()
            .enumerate()
            .filter(|(place, _)| draw(*place as u16) < 0.6)
            .map(|(_, pole)| pole)
            .collect();
        let mut programme = quick();
        programme.schedule_years = 1 + (draw(90) * 10.0) as u16;
        programme.horizon_years = programme.schedule_years + (draw(91) * 10.0) as u16;
        programme.policy.replace_within_years = 3.0 * draw(92);
        programme.policy.remedial_treatment = draw(93) < 0.5;
        run(&models(), &programme, poles);
    }
}

/// As many findings as no pole ever gets: enough that their product is below every number that a double holds.
const THOUSANDS: u16 = 2_000;

/// Findings of this verdict, spread over 39 years.
fn thousands(verdict: impl Fn(u16) -> Verdict) -> Vec<Inspection> {
    (0..THOUSANDS)
        .map(|number| {
            let day = date(1985 + (number % 39) as i16, 1 + (number / 39 % 12) as i8, 1);
            inspected(day, Method::PartialExcavation, verdict(number))
        })
        .collect()
}

#[test]
fn thousands_of_findings_that_agree_or_contradict_each_other_leave_numbers() {
    let below = |findings: Vec<Inspection>| {
        let run = run(
            &models(),
            &quick(),
            vec![("A", "line", pole_set(1980), findings)],
        );
        f64::from(run.beliefs.summaries[0].below_limit[0])
    };
    let unseen = below(Vec::new());
    let sound = below(thousands(|_| Verdict::Sound));
    let rejected = below(thousands(|_| Verdict::RejectReplace));
    let danger = below(thousands(|_| Verdict::Danger));
    let serviceable = below(thousands(|_| Verdict::DecayServiceable));
    let at_odds = below(thousands(|number| match number % 2 {
        0 => Verdict::Sound,
        _ => Verdict::RejectReplace,
    }));
    assert!(sound < unseen, "{sound} {unseen}");
    assert!(
        rejected > unseen && danger > unseen,
        "{rejected} {danger} {unseen}"
    );
    assert!((0.0..=1.0).contains(&serviceable) && (0.0..=1.0).contains(&at_odds));
}

#[test]
fn methods_that_never_err_and_methods_that_see_nothing() {
    // The ends of what a model may say.
    for (sensitivity, false_find, hidden) in
        [(0.999, 0.0, 0.0), (0.001, 0.5, 0.9), (0.999, 0.0, 0.9)]
    {
        let mut models = models();
        models.detection.hidden_share = hidden;
        for method in &mut models.detection.methods {
            method.sensitivity = sensitivity;
            method.false_find = false_find;
            method.false_reject = false_find;
            method.verdict_sd = 0.001;
            method.measure_sd_mm = [0.001; 2];
        }
        run(&models, &quick(), odd());
    }
}

#[test]
fn no_scatter_at_all_and_as_much_as_there_can_be() {
    for (fleets, poles, protected) in [(1e-6, 1e-6, 0.0), (3.0, 3.0, 0.5)] {
        let mut models = models();
        for cell in &mut models.cells {
            cell.between_fleets_ln_sd = fleets;
            cell.protected_sd = protected;
            cell.life.main = LifeCurve::Lognormal {
                median_years: 45.0,
                ln_sd: poles,
            };
        }
        run(&models, &quick(), odd());
    }
}

#[test]
fn poles_that_nobody_ever_looked_at_teach_nothing() {
    // Standing in the list without a record of the wood: the owner's curve is the published one.
    let poles = ["A", "B", "C", "D", "E", "F"];
    let poles = poles.into_iter().zip([1, 1900, 1950, 1980, 2010, 2024]);
    let poles = poles.map(|(id, year)| (id, "line", pole_set(year), vec![]));
    let run = run(&models(), &quick(), poles.collect());
    for cell in &run.beliefs.calibration.cells {
        // Nodes of the shift are 0.025 apart: a median is told to that.
        let moved = (cell.owners[1] / cell.published[1]).ln().abs();
        assert!(moved < 0.025, "{cell:?}");
    }
}

#[test]
fn prices_beyond_whole_cents_of_a_double_stay_numbers() {
    let mut dear = quick();
    dear.costs.currency = Some(("EUR".to_owned(), 2025));
    // A thousand times what a programme may say, and 2^53 cents are 9e13.
    for cost in [
        &mut dear.costs.replacement,
        &mut dear.costs.failure,
        &mut dear.costs.reinforcement,
        &mut dear.costs.remedial_treatment,
    ] {
        *cost = 1e15;
    }
    dear.costs.inspection = [1e15; 6];
    let run = run(&models(), &dear, odd());
    let worth: Vec<f64> = run
        .schedule
        .rows
        .iter()
        .map(|row| row.value_of_visit)
        .collect();
    assert!(worth.iter().all(|worth| worth.is_finite()), "{worth:?}");
}
