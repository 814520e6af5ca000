//! What decisions fix in the schedule, kind by kind.

use super::super::{Action, Deferral, Schedule, Standing, audit, decide, schedule_with};
use super::super::{Outcome, Reason, Refusal, When};
use crate::common::{
    decision, inspected, inventory_of, no_values, pole_set, programme, rule, signed, visits_a_year,
    with,
};
use crate::inventory::{Decision, Inventory, Target};
use crate::pole::{DecisionKind, Inspection, Method, PoleIndex, Verdict};
use crate::problem::Code;
use crate::programme::{Programme, RuleKind};
use jiff::civil::date;

/// Inspected by partial excavation in May of this year, with this verdict.
fn seen(year: i16, verdict: Verdict) -> Vec<Inspection> {
    vec![inspected(
        date(year, 5, 1),
        Method::PartialExcavation,
        verdict,
    )]
}

/// Poles of 1980 on one line, inspected in these years with these verdicts; by the guideline of every ten years.
fn line(poles: &[(i16, Verdict)]) -> Inventory {
    let names: Vec<String> = (0..poles.len()).map(|pole| format!("P-{pole}")).collect();
    let listed = names.iter().zip(poles);
    inventory_of(
        listed
            .map(|(name, (year, verdict))| {
                (name.as_str(), "L", pole_set(1980), seen(*year, *verdict))
            })
            .collect(),
    )
}

fn solved(inventory: &Inventory, programme: &Programme) -> Schedule {
    let schedule = schedule_with(inventory, programme, &no_values(inventory, programme));
    assert_eq!(audit(inventory, programme, &schedule), Vec::new());
    schedule
}

fn standing(schedule: &Schedule, pole: u32) -> Standing {
    schedule.row(PoleIndex(pole)).standing
}

fn year_of(schedule: &Schedule, pole: u32) -> Option<u16> {
    match standing(schedule, pole) {
        Standing::Planned { year, .. } => Some(year),
        _ => None,
    }
}

fn put_off(action: Action, until: u16) -> Standing {
    Standing::Deferred {
        action,
        reason: Deferral::Decision { until },
    }
}

fn codes(inventory: &Inventory, programme: &Programme) -> Vec<Code> {
    let problems = decide(inventory, programme).problems(inventory);
    problems.iter().map(|problem| problem.code).collect()
}

const SOUND: Verdict = Verdict::Sound;

#[test]
fn a_pinned_pole_keeps_its_year_and_counts_even_where_it_overfills_it() {
    // One visit a year, three poles due in the first one, and two of them kept for the third.
    let mut programme = programme();
    programme.crews = visits_a_year(&programme, 1);
    for kind in [DecisionKind::Pin, DecisionKind::Freeze] {
        let kept = [1, 2].map(|pole| decision(pole, kind, Some(2027)));
        let inventory = with(line(&[(2015, SOUND); 3]), kept.to_vec());
        let schedule = solved(&inventory, &programme);
        let years: Vec<_> = (0..3).map(|pole| year_of(&schedule, pole)).collect();
        assert_eq!(years, [Some(0), Some(2), Some(2)]);
        assert!((schedule.crew_days[2] - 2.0).abs() < 1e-9);
    }
}

#[test]
fn a_pole_that_nothing_calls_for_is_visited_in_its_year_because_it_was_decided() {
    let pin = decision(0, DecisionKind::Pin, Some(2026));
    let inventory = with(line(&[(2024, SOUND)]), vec![pin]);
    let mut programme = programme();
    programme.schedule_years = 5;
    let schedule = solved(&inventory, &programme);
    assert_eq!(year_of(&schedule, 0), Some(1));
    assert_eq!(schedule.row(PoleIndex(0)).reason, Reason::Decision);
}

#[test]
fn what_is_left_out_is_not_visited_and_the_trials_know_it() {
    let out = decision(0, DecisionKind::LeaveOut, None);
    let inventory = with(line(&[(2015, SOUND), (2015, SOUND)]), vec![out]);
    let schedule = solved(&inventory, &programme());
    assert_eq!(standing(&schedule, 0), put_off(Action::Inspect, 10));
    assert_eq!(schedule.visits[0].first, Some(10));
    assert_eq!(year_of(&schedule, 1), Some(0));
}

#[test]
fn nothing_is_done_before_the_year_to_which_it_is_deferred() {
    let wait = |year| decision(0, DecisionKind::Defer, Some(year));
    let inventory = with(line(&[(2015, SOUND), (2015, SOUND)]), vec![wait(2028)]);
    let schedule = solved(&inventory, &programme());
    assert_eq!(
        (year_of(&schedule, 0), year_of(&schedule, 1)),
        (Some(3), Some(0))
    );
    let inventory = with(line(&[(2015, SOUND)]), vec![wait(2040)]);
    let schedule = solved(&inventory, &programme());
    assert_eq!(standing(&schedule, 0), put_off(Action::Inspect, 15));
}

#[test]
fn a_decided_method_is_taken_if_the_rules_accept_it() {
    let by = |method| Decision {
        method: Some(method),
        ..decision(0, DecisionKind::Method, None)
    };
    for (method, taken) in [
        (Method::FullExcavation, Method::FullExcavation),
        (Method::SoundAndBore, Method::PartialExcavation),
    ] {
        let inventory = with(line(&[(2015, SOUND)]), vec![by(method)]);
        let schedule = solved(&inventory, &programme());
        assert_eq!(schedule.row(PoleIndex(0)).method, Some(taken));
        let refused = (method != taken).then_some(Code::WeakMethod);
        assert_eq!(codes(&inventory, &programme()), Vec::from_iter(refused));
    }
}

#[test]
fn a_decided_action_takes_the_place_of_the_policys_but_is_never_less_than_what_was_recorded() {
    use Action::{Inspect, MakeSafe, Reinforce, Replace};
    let does = |action, year| Decision {
        action: Some(action),
        ..decision(0, DecisionKind::Action, year)
    };
    let mut programme = programme();
    programme.policy.reinforce = true;
    let done = |verdict, action, year| {
        let inventory = with(line(&[(2024, verdict)]), vec![does(action, year)]);
        let schedule = solved(&inventory, &programme);
        let Standing::Planned { action, year, .. } = standing(&schedule, 0) else {
            panic!("not planned");
        };
        (action, year, codes(&inventory, &programme))
    };
    let lesser = || vec![Code::LesserAction];
    // Judged in May 2024: to be acted upon by May 2025, in the first plan year.
    for (verdict, decided, action, refused) in [
        (Verdict::RejectReinforceable, Replace, Replace, vec![]),
        (Verdict::RejectReinforceable, Inspect, Reinforce, lesser()),
        (Verdict::RejectReplace, Reinforce, Replace, lesser()),
        (Verdict::RejectReplace, MakeSafe, MakeSafe, vec![]),
        (Verdict::Danger, Replace, MakeSafe, lesser()),
    ] {
        assert_eq!(done(verdict, decided, None), (action, 0, refused));
    }
    assert_eq!(done(SOUND, Replace, Some(2027)), (Replace, 2, vec![]));
    assert_eq!(done(SOUND, Reinforce, None), (Reinforce, 0, vec![]));
    assert_eq!(done(SOUND, Inspect, None), (Inspect, 0, vec![]));
}

#[test]
fn a_must_do_is_put_off_only_under_a_name_with_a_control_and_a_review_to_come() {
    let mut by_law = programme();
    by_law.inspections[0].kind = RuleKind::Law;
    for (poles, action, replaced, first) in [
        (
            (2024, Verdict::RejectReplace),
            Action::Replace,
            Some(3),
            None,
        ),
        ((2024, Verdict::Danger), Action::MakeSafe, Some(3), None),
        ((2014, SOUND), Action::Inspect, None, Some(3)),
    ] {
        let complete = Decision {
            review_date: Some(date(2028, 6, 30)),
            ..signed(0, DecisionKind::Defer, Some(2028))
        };
        let inventory = with(line(&[poles]), vec![complete.clone()]);
        let schedule = solved(&inventory, &by_law);
        assert_eq!(standing(&schedule, 0), put_off(action, 3));
        let visits = schedule.visits[0];
        assert_eq!((visits.replace, visits.first), (replaced, first));
        let lacking = [
            Decision {
                by: None,
                ..complete.clone()
            },
            Decision {
                interim_control: None,
                ..complete.clone()
            },
            Decision {
                review_date: None,
                ..complete.clone()
            },
        ];
        for (incomplete, code) in lacking
            .into_iter()
            .map(|own| (own, Code::DeferralIncomplete))
            .chain([(
                Decision {
                    review_date: Some(date(2024, 12, 31)),
                    ..complete
                },
                Code::DeferralPastReview,
            )])
        {
            let inventory = with(line(&[poles]), vec![incomplete]);
            let schedule = solved(&inventory, &by_law);
            assert_eq!(year_of(&schedule, 0), Some(0), "{code}");
            assert_eq!(codes(&inventory, &by_law), [code]);
        }
    }
}

#[test]
fn a_must_do_that_is_left_out_is_owed_again_when_its_review_is_over() {
    let reject = [(2024, Verdict::RejectReplace)];
    let out = |signed: bool| {
        let kind = DecisionKind::LeaveOut;
        let own = if signed {
            self::signed(0, kind, None)
        } else {
            decision(0, kind, None)
        };
        let inventory = with(line(&reject), vec![own]);
        standing(&solved(&inventory, &programme()), 0)
    };
    // Review by March 2026: the second plan year.
    assert_eq!(out(true), put_off(Action::Replace, 1));
    assert!(matches!(out(false), Standing::Planned { year: 0, .. }));
}

#[test]
fn a_pin_in_time_needs_no_signature_and_a_late_one_does() {
    // Judged in May 2024, replaced within three years: by May 2027, plan year 2.
    let mut programme = programme();
    programme.policy.replace_within_years = 3.0;
    let reject = [(2024, Verdict::RejectReplace)];
    for (pin, planned) in [
        (decision(0, DecisionKind::Pin, Some(2026)), Some(1)),
        (decision(0, DecisionKind::Pin, Some(2029)), Some(2)),
        (
            Decision {
                review_date: Some(date(2029, 1, 31)),
                ..signed(0, DecisionKind::Pin, Some(2029))
            },
            None,
        ),
        // Reviewed in 2026, it does not reach past May 2027.
        (signed(0, DecisionKind::Pin, Some(2029)), Some(2)),
    ] {
        let inventory = with(line(&reject), vec![pin]);
        assert_eq!(year_of(&solved(&inventory, &programme), 0), planned);
    }
}

#[test]
fn a_must_do_is_put_off_no_further_than_to_its_review_and_an_ordinary_visit_is_kept() {
    // Judged in May 2024, to be replaced by May 2025; reviewed in March 2026, plan year 1.
    let wait = || signed(0, DecisionKind::Defer, Some(2028));
    let inventory = with(line(&[(2024, Verdict::RejectReplace)]), vec![wait()]);
    let schedule = solved(&inventory, &programme());
    assert_eq!(standing(&schedule, 0), put_off(Action::Replace, 1));
    assert_eq!(schedule.visits[0].replace, Some(1));
    let told = |inventory: &Inventory| {
        let problems = decide(inventory, &programme()).problems(inventory);
        let told = problems.into_iter();
        told.map(|problem| (problem.code, problem.done))
            .collect::<Vec<_>>()
    };
    let (code, done) = &told(&inventory)[0];
    assert_eq!(*code, Code::DeferralBeyondReview);
    assert!(done.contains("to the year of the review only"), "{done}");

    let inventory = with(line(&[(2015, SOUND)]), vec![wait()]);
    assert_eq!(year_of(&solved(&inventory, &programme()), 0), Some(3));
    let (code, done) = &told(&inventory)[0];
    assert_eq!(*code, Code::DeferralBeyondReview);
    assert!(done.starts_with("kept"), "{done}");

    let in_time = Decision {
        review_date: Some(date(2028, 1, 1)),
        ..wait()
    };
    for poles in [(2024, Verdict::RejectReplace), (2015, SOUND)] {
        let inventory = with(line(&[poles]), vec![in_time.clone()]);
        assert_eq!(told(&inventory), []);
    }
}

#[test]
fn a_deferral_whose_review_comes_before_the_deadline_puts_nothing_off() {
    // Judged in May 2024, replaced within three years: by May 2027, after the review in March 2026.
    let mut programme = programme();
    programme.policy.replace_within_years = 3.0;
    let wait = signed(0, DecisionKind::Defer, Some(2029));
    let inventory = with(line(&[(2024, Verdict::RejectReplace)]), vec![wait]);
    assert_eq!(year_of(&solved(&inventory, &programme), 0), Some(2));
    assert_eq!(codes(&inventory, &programme), [Code::ReviewTooEarly]);
}

#[test]
fn a_decision_that_others_leave_nothing_to_names_them() {
    let inventory = line(&[(2015, SOUND), (2015, SOUND)]);
    let on_its_line = on_line(&inventory, decision(0, DecisionKind::Pin, Some(2027)));
    let package = Decision {
        target: Target::Package("L, 2025".to_owned()),
        ..decision(0, DecisionKind::Freeze, Some(2026))
    };
    let inventory = with(inventory, vec![on_its_line, package]);
    let schedule = solved(&inventory, &programme());
    let problems = schedule.decisions.problems(&inventory);
    assert_eq!(problems.len(), 1);
    assert_eq!(problems[0].code, Code::DecisionWithoutEffect);
    assert!(
        problems[0].what.contains("freeze on package \"L, 2025\""),
        "{}",
        problems[0].what
    );
}

fn on_line(inventory: &Inventory, own: Decision) -> Decision {
    let line = inventory.pole(PoleIndex(0)).line.expect("a line");
    Decision {
        target: Target::Line(line),
        ..own
    }
}

#[test]
fn a_line_is_visited_in_its_year_but_for_poles_just_inspected_and_those_decided_by_themselves() {
    let inventory = line(&[
        (2015, SOUND),
        (2018, SOUND),
        (2024, SOUND),
        (2024, Verdict::RejectReplace),
        (2018, SOUND),
    ]);
    let pin = on_line(&inventory, decision(0, DecisionKind::Pin, Some(2027)));
    let own = decision(4, DecisionKind::Pin, Some(2025));
    let inventory = with(inventory, vec![pin, own]);
    let schedule = solved(&inventory, &programme());
    let years: Vec<_> = (0..5).map(|pole| year_of(&schedule, pole)).collect();
    // The third was seen in 2024 and is spared for five years; what a verdict calls for stays as it is.
    assert_eq!(years, [Some(2), Some(2), Some(9), Some(0), Some(0)]);
}

#[test]
fn a_law_binds_the_poles_of_a_line_one_by_one() {
    let mut programme = programme();
    programme.inspections[0].kind = RuleKind::Law;
    let inventory = line(&[(2015, SOUND), (2023, SOUND)]);
    let wait = on_line(&inventory, decision(0, DecisionKind::Defer, Some(2027)));
    let inventory = with(inventory, vec![wait]);
    let outcome = &decide(&inventory, &programme).outcomes[0];
    assert_eq!(
        *outcome,
        Outcome {
            about: vec![PoleIndex(0), PoleIndex(1)],
            followed: vec![PoleIndex(1)],
            refused: vec![(PoleIndex(0), Refusal::Incomplete)],
            ..Outcome::default()
        }
    );
    let problem = &decide(&inventory, &programme).problems(&inventory)[0];
    assert!(problem.what.ends_with(", for P-0"), "{}", problem.what);
}

#[test]
fn a_package_is_found_by_its_name_or_by_its_stretch_and_stays_together() {
    let pin = |name: &str, year| Decision {
        target: Target::Package(name.to_owned()),
        ..decision(0, DecisionKind::Freeze, Some(year))
    };
    let fleet = || line(&[(2015, SOUND), (2015, SOUND), (2022, SOUND)]);
    let of = |decisions| {
        let inventory = with(fleet(), decisions);
        let schedule = solved(&inventory, &programme());
        let years: Vec<_> = (0..3).map(|pole| year_of(&schedule, pole)).collect();
        let outcome = schedule.decisions.outcomes.first();
        let about = outcome.map_or(0, |outcome| outcome.about.len());
        (years, about)
    };
    // Two of the three are due in 2025; the third was seen in 2022, is spared for five years and due in 2032.
    let (before, after) = (
        vec![Some(0), Some(0), Some(7)],
        vec![Some(1), Some(1), Some(7)],
    );
    assert_eq!(of(vec![]), (before, 0));
    assert_eq!(of(vec![pin("L, 2025", 2026)]), (after.clone(), 2));
    // A package of last year's plan: the whole stretch is meant.
    assert_eq!(of(vec![pin("L, 2024", 2026)]), (after, 3));
    let inventory = with(fleet(), vec![pin("M, 2025", 2026)]);
    assert_eq!(codes(&inventory, &programme()), [Code::UnknownPackage]);
    assert_eq!(year_of(&solved(&inventory, &programme()), 0), Some(0));
}

#[test]
fn an_engineer_clears_what_was_recorded_up_to_that_day_and_nothing_later() {
    let clear = |day| Decision {
        date: Some(day),
        ..signed(0, DecisionKind::Clear, None)
    };
    for verdict in [Verdict::Danger, Verdict::RejectReplace] {
        for (day, stands) in [
            (date(2024, 5, 1), false),
            (date(2024, 4, 30), true),
            (date(2024, 12, 1), false),
        ] {
            let inventory = with(line(&[(2024, verdict)]), vec![clear(day)]);
            let schedule = solved(&inventory, &programme());
            let acted = matches!(
                standing(&schedule, 0),
                Standing::Planned {
                    action: Action::Replace | Action::MakeSafe,
                    ..
                }
            );
            assert_eq!(acted, stands, "{verdict:?} cleared on {day}");
            let nothing = stands.then_some(Code::DecisionWithoutEffect);
            assert_eq!(codes(&inventory, &programme()), Vec::from_iter(nothing));
        }
    }
}

#[test]
fn a_later_law_is_kept_too_where_an_earlier_guideline_binds() {
    // Due in May 2025 by the guideline and in May 2027 by the law.
    let mut programme = programme();
    let mut law = rule("law", 12.0, 12.0);
    law.kind = RuleKind::Law;
    programme.inspections.push(law);
    let pin = |year| decision(0, DecisionKind::Pin, Some(year));
    for (year, decided) in [(2027, Some(When::In(2))), (2028, None)] {
        let inventory = with(line(&[(2015, SOUND)]), vec![pin(year)]);
        let when = solved(&inventory, &programme)
            .decisions
            .of(PoleIndex(0))
            .when;
        assert_eq!(when.map(|(_, when)| when), decided);
    }
}
