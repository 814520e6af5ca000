//! What must hold between policies on the same draws.

use super::{Comparison, Course, Measure, Setting, Span, compared};
use crate::common::{inspected, inventory_of, pole_set, programme};
use crate::inventory::Inventory;
use crate::models::Models;
use crate::models::text::built_in;
use crate::pole::{Method, Verdict};
use crate::programme::{Alternative, Programme, Turn};
use crate::trial::Band;
use jiff::civil::date;

/// Sixty poles of all ages on six lines, every second one inspected once.
fn fleet() -> Inventory {
    let names: Vec<(String, String)> = (0..60)
        .map(|number| (format!("P-{number:02}"), format!("L-{}", number / 10)))
        .collect();
    let poles = names.iter().enumerate().map(|(number, (id, line))| {
        let seen = inspected(
            date(2013 + number as i16 % 8, 6, 1),
            Method::SoundAndBore,
            if number % 6 == 0 {
                Verdict::DecayServiceable
            } else {
                Verdict::Sound
            },
        );
        let seen = if number % 2 == 0 {
            vec![seen]
        } else {
            Vec::new()
        };
        let year = 1950 + (number as i16 * 7) % 45;
        (id.as_str(), line.as_str(), pole_set(year), seen)
    });
    inventory_of(poles.collect())
}

/// Crews for about eight visits a year: fewer than the rule calls for at first.
fn short_of_crews() -> Programme {
    let mut programme = programme();
    programme.crews = crate::common::visits_a_year(&programme, 8);
    programme
}

fn models() -> Models {
    built_in().expect("valid models")
}

fn own() -> Alternative {
    Alternative::unchanged("programme as it is")
}

fn courses(programme: &Programme, alternatives: &[Alternative]) -> Vec<Course> {
    let (inventory, models) = (fleet(), models());
    let setting = Setting::new(&inventory, &models, programme).expect("poles");
    alternatives
        .iter()
        .map(|alternative| setting.course(alternative).expect("a sound schedule"))
        .collect()
}

fn comparison(programme: &Programme, alternatives: &[Alternative]) -> Comparison {
    compared(courses(programme, alternatives), programme.trials)
}

#[test]
fn a_policy_differs_from_itself_by_nothing() {
    let again = Alternative::unchanged("the same again");
    let both = comparison(&short_of_crews(), &[own(), again]);
    let same = &both.policies[1];
    assert_eq!(same.visits_moved, 0);
    assert_eq!(same.value_gained, Some(0.0));
    assert!(same.dominated.is_none());
    assert!(same.differences.len() > 12, "{}", same.differences.len());
    for difference in &same.differences {
        assert_eq!(difference.than_programme, Band::default(), "{difference:?}");
        assert_eq!((difference.lower, difference.higher), (0.0, 0.0));
    }
}

/// Paired, the error of a difference in failures must be at most this share of that of two runs on draws of their own. The
/// policies share most of every life, and 0.7 is far from what chance would give two runs of 200 trials.
const PAIRED_AT_MOST: f64 = 0.7;

#[test]
fn differences_on_the_same_draws_have_far_less_noise_than_apart() {
    let more = Alternative {
        crew_factor: 1.5,
        ..Alternative::unchanged("more crews")
    };
    let both = comparison(&short_of_crews(), &[own(), more]);
    for measure in [Measure::Failures, Measure::NewPoles, Measure::PresentValue] {
        let errors = |place: usize| {
            let own = both.policies[place].difference(measure);
            own.map_or(0.0, |own| own.own.standard_error)
        };
        // Of two independent runs: variances add.
        let apart = errors(0).hypot(errors(1));
        let paired = both.policies[1].difference(measure).expect("a difference");
        let paired = paired.than_programme.standard_error;
        assert!(apart > 0.0);
        assert!(
            paired < PAIRED_AT_MOST * apart,
            "{measure:?}: paired {paired}, apart {apart}"
        );
    }
}

#[test]
fn replacing_at_an_age_that_no_pole_reaches_is_running_to_failure() {
    let to_failure = Alternative {
        inspect: false,
        ..Alternative::unchanged("run to failure")
    };
    let at_an_age = |age| Alternative {
        replace_at_age_years: Some(age),
        ..to_failure.clone()
    };
    let all = comparison(
        &programme(),
        &[to_failure.clone(), at_an_age(500), at_an_age(60)],
    );
    for difference in &all.policies[1].differences {
        assert_eq!(difference.than_programme, Band::default(), "{difference:?}");
    }
    let of = |place: usize, measure| {
        let own = all.policies[place].difference(measure);
        own.map_or(f64::NAN, |own| own.own.mean)
    };
    assert!(of(0, Measure::Visits) <= 0.0);
    assert!(of(2, Measure::NewPoles) > of(0, Measure::NewPoles));
    assert!(of(2, Measure::Failures) < of(0, Measure::Failures));
}

#[test]
fn poles_are_replaced_in_the_year_in_which_they_come_of_age() {
    // Set in July 1990: 60 years old in the middle of 2050, 25 years after the plan date, and none before.
    let inventory = inventory_of(vec![("P-1", "L", pole_set(1990), Vec::new())]);
    let mut programme = programme();
    programme.horizon_years = 30;
    programme.hazards.other_demand = 0.0;
    let models = models();
    let setting = Setting::new(&inventory, &models, &programme).expect("a pole");
    let at_60 = Alternative {
        inspect: false,
        replace_at_age_years: Some(60),
        ..Alternative::unchanged("replaced at 60")
    };
    let course = setting.course(&at_60).expect("a sound schedule");
    let of = |measure, year| {
        let trials = course.trials(measure, Span::Year(year));
        trials.expect("counts of every year")
    };
    let mut of_age = 0;
    for trial in 0..programme.trials as usize {
        let failed = |year| of(Measure::Failures, year)[trial];
        let planned = |year| of(Measure::NewPoles, year)[trial] - failed(year);
        // Whatever did not fail by then, and nothing else.
        let stands = (0..26).map(failed).all(|count| count < 1.0);
        let others = (0..24).chain(26..30);
        // Whole numbers, kept as floats.
        let told = (planned(24) + planned(25), others.map(planned).sum::<f64>());
        assert_eq!(told, (f64::from(u8::from(stands)), 0.0), "trial {trial}");
        of_age += usize::from(stands);
    }
    assert!(of_age > 50, "too few stood to prove anything: {of_age}");
}

#[test]
fn more_crews_never_cost_more_in_total() {
    let factors = [0.4, 0.6, 0.8, 1.0, 1.2, 1.6, 2.4];
    let crews = factors.map(|crew_factor| Alternative {
        crew_factor,
        ..Alternative::unchanged(&format!("crews times {crew_factor}"))
    });
    let courses = courses(&short_of_crews(), &crews);
    let values: Vec<f64> = courses.iter().filter_map(|own| own.value).collect();
    assert_eq!(values.len(), factors.len());
    assert!(
        values.is_sorted() && values[0] < values[6],
        "what early visits are worth falls as crews grow: {values:?}"
    );
    // Who visits less has no smaller backlog.
    let backlog = |course: &Course| {
        let years = 0..course.years();
        let band = |year| course.band(Measure::BacklogVisits, Span::Year(year));
        years.filter_map(band).map(|band| band.mean).sum::<f64>()
    };
    let backlogs: Vec<f64> = courses.iter().map(backlog).collect();
    assert!(
        backlogs.is_sorted_by(|fewer, more| fewer >= more),
        "{backlogs:?}"
    );
    assert!(backlogs[0] > 0.0);
}

#[test]
fn turns_by_what_visits_are_worth_gain_the_most() {
    let turns =
        [own()]
            .into_iter()
            .chain(
                [Turn::EarliestDue, Turn::Oldest, Turn::LikeliestBelow].map(|visit_first| {
                    Alternative {
                        visit_first,
                        ..Alternative::unchanged(visit_first.word())
                    }
                }),
            );
    let all = comparison(&short_of_crews(), &turns.collect::<Vec<_>>());
    for other in &all.policies[1..] {
        let name = &other.course.alternative.name;
        assert!(other.visits_moved > 0, "{name}");
        assert!(
            other.value_gained.is_some_and(|gained| gained < 0.0),
            "{name}: {other:?}"
        );
    }
}

#[test]
fn what_costs_more_and_fails_more_is_said_to_be_dominated() {
    // Fifteen visits for every one that the rule calls for, by a method that sees next to nothing.
    let mut programme = programme();
    programme.inspections[0].least_method = Method::Patrol;
    programme.costs.inspection[Method::Sound.index()] = 500.0;
    let worse = Alternative {
        method: Some(Method::Sound),
        ..Alternative::unchanged("dear and blind")
    };
    let all = comparison(&programme, &[own(), worse.clone()]);
    let dominated = all.policies[1].dominated.expect("it is dominated");
    assert_eq!(dominated.by, 0);
    assert!(
        dominated.share > 0.5 && dominated.share <= 1.0,
        "{dominated:?}"
    );
    assert!(all.policies[0].dominated.is_none());
    let failures = all.policies[1]
        .difference(Measure::Failures)
        .expect("failures");
    assert!(failures.than_programme.mean > 0.0 && failures.higher > 0.5);
}

#[test]
fn recorded_rejects_are_acted_upon_whatever_the_policy() {
    let seen = inspected(date(2024, 6, 1), Method::FullExcavation, Verdict::Danger);
    let inventory = inventory_of(vec![("P-1", "L", pole_set(1990), vec![seen])]);
    let (programme, models) = (programme(), models());
    let setting = Setting::new(&inventory, &models, &programme).expect("a pole");
    let to_failure = Alternative {
        inspect: false,
        ..Alternative::unchanged("run to failure")
    };
    let course = setting.course(&to_failure).expect("a sound schedule");
    let first = course
        .band(Measure::NewPoles, Span::Year(0))
        .expect("a band");
    assert_eq!((first.mean, first.p10), (1.0, 1.0));
}

#[test]
fn a_pole_set_on_the_last_day_costs_next_to_nothing_net() {
    // Replaced at 60 in mid-2050; with the horizon's end in 2051 the pole is credited with all but the first of its years.
    let inventory = inventory_of(vec![("P-1", "L", pole_set(1990), Vec::new())]);
    let mut programme = programme();
    (programme.horizon_years, programme.costs.failure) = (26, programme.costs.replacement);
    let models = models();
    let setting = Setting::new(&inventory, &models, &programme).expect("a pole");
    let policy = |age| Alternative {
        inspect: false,
        replace_at_age_years: Some(age),
        ..Alternative::unchanged("by age")
    };
    let mean = |age, measure| {
        let course = setting.course(&policy(age)).expect("a sound schedule");
        course
            .band(measure, Span::Horizon)
            .map_or(f64::NAN, |band| band.mean)
    };
    // Between the two policies lies one pole in most trials: dear when it is counted as spent, and the price of a year or
    // two of its life, here at least a twentieth less a trial's worth of chance, when what is left is credited.
    let spent = mean(60, Measure::PresentValue) - mean(190, Measure::PresentValue);
    let net = mean(60, Measure::NetCost) - mean(190, Measure::NetCost);
    assert!(
        spent > 0.0 && net > 0.0 && net < 0.1 * spent,
        "{spent} {net}"
    );
}
