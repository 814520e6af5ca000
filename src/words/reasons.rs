//! Why a pole stands where it stands in the list, as a sentence that a foreman understands.
//!
//! Turns the schedule's typed [`Reason`] into words; decides nothing itself.

use super::quantities::{chance_in_words, to_figures};
use super::{Case, decisions};
use crate::pole::{Defect, Method, Verdict};
use crate::schedule::{Action, Deferral, Due, DueBecause, Reason, Standing};
use crate::units::Date;

/// The sentence for one pole.
pub fn reason_of(case: &Case<'_>) -> String {
    let row = case.row();
    let mut text = match row.reason {
        Reason::Danger { date } => format!(
            "Judged dangerous on {date}{}: make it safe today by your own procedure, do not wait for this plan",
            by_method_on(case, date)
        ),
        Reason::Reject {
            date,
            verdict,
            braced_until,
        } => reject(case, date, verdict, braced_until),
        Reason::AboveGround {
            date,
            defect,
            within_days,
        } => above_ground(case, date, defect, within_days),
        Reason::Rule { overdue_days } => rule(case, overdue_days),
        Reason::Condition => condition(case),
        Reason::WithItsLine => with_its_line(case),
        Reason::Decision => format!(
            "No rule calls for it up to {}; {}",
            case.calendar_year(case.programme.schedule_years.saturating_sub(1)),
            lower_first(&condition(case))
        ),
        Reason::Nothing => format!(
            "Nothing calls for work up to {}; {}",
            case.calendar_year(case.programme.schedule_years.saturating_sub(1)),
            lower_first(&condition(case))
        ),
    };
    if let Standing::Deferred { reason, .. } = row.standing {
        text.push_str("; not planned: ");
        match reason {
            Deferral::CrewDays => text.push_str(SHORT_OF_CREWS),
            Deferral::Money => text.push_str(SHORT_OF_MONEY),
            Deferral::Decision { .. } => {}
        }
    }
    let decided = decisions::kept(case);
    if !decided.is_empty() {
        if !text.ends_with(": ") {
            text.push_str("; ");
        }
        text.push_str(&decided.join("; "));
    }
    if let Some(meanwhile) = decisions::meanwhile(case) {
        text.push_str("; ");
        text.push_str(&meanwhile);
    }
    text
}

/// Why something called for is not planned where the crews cannot do it.
const SHORT_OF_CREWS: &str =
    "no crew-days are left in any year of the schedule, so the plan does not comply";

/// The same where the crews could do it.
const SHORT_OF_MONEY: &str =
    "no year with crew-days left has money left within its limit, so the plan does not comply";

/// A method as one says it.
pub const fn method_in_words(method: Method) -> &'static str {
    match method {
        Method::Patrol => "sight only",
        Method::Sound => "hammer only",
        Method::SoundAndBore => "sound and bore",
        Method::PartialExcavation => "partial excavation",
        Method::FullExcavation => "full excavation",
        Method::Instrument => "instrument",
    }
}

fn by_method_on(case: &Case<'_>, date: Date) -> String {
    case.inventory
        .inspections_of(case.pole)
        .iter()
        .find(|inspection| inspection.date == date && inspection.verdict.is_reject())
        .map_or_else(String::new, |inspection| {
            format!(" by {}", method_in_words(inspection.method))
        })
}

fn reject(case: &Case<'_>, date: Date, verdict: Verdict, braced_until: Option<Date>) -> String {
    let brace = if verdict == Verdict::RejectReinforceable {
        " (the inspector judged that a brace would restore it)"
    } else {
        ""
    };
    let policy = &case.programme.policy;
    let late = match case.row().deadline(policy) {
        Some(deadline) if case.row().overdue_days > 0 => format!(", overdue since {deadline}"),
        _ => String::new(),
    };
    let over = braced_until.map_or_else(String::new, |end| {
        format!(", and the reinforcement fitted since has lived its stated life on {end}")
    });
    let action = match case.row().standing {
        Standing::Planned { action, .. } | Standing::Deferred { action, .. } => Some(action),
        Standing::NotDue => None,
    };
    format!(
        "Judged below the limit on {date}{}{brace}{over}; {} within {}{late}",
        by_method_on(case, date),
        match action {
            Some(Action::Reinforce) => "reinforce",
            Some(Action::MakeSafe) => "make safe",
            _ => "replace",
        },
        years(policy.replace_within_years)
    )
}

/// A defect as one says it.
pub const fn defect_in_words(defect: Defect) -> &'static str {
    match defect {
        Defect::Top => "a decayed top",
        Defect::Split => "a split",
        Defect::Woodpecker => "woodpecker holes",
        Defect::Insect => "insects",
        Defect::Fire => "fire damage",
        Defect::Impact => "impact damage",
        Defect::Lean => "a lean",
    }
}

fn above_ground(case: &Case<'_>, date: Date, defect: Defect, within_days: i32) -> String {
    let row = case.row();
    let what = match row.standing {
        Standing::Planned {
            action: Action::MakeSafe,
            ..
        } => "make it safe by your own procedure",
        _ => "replace",
    };
    let late = match row.deadline(&case.programme.policy) {
        Some(deadline) if row.overdue_days > 0 => format!(", overdue since {deadline}"),
        _ => String::new(),
    };
    format!(
        "Above the groundline: {} recorded on {date}; {what} within {within_days} day{}{late} (by the programme's rule, \
         outside the model)",
        defect_in_words(defect),
        if within_days == 1 { "" } else { "s" }
    )
}

/// "1 year", "2.5 years", "6 months".
fn years(span: f64) -> String {
    if span < 1.0 {
        let months = (span * 12.0).round() as i64;
        return format!("{months} month{}", if months == 1 { "" } else { "s" });
    }
    let span = to_figures(span, 2);
    format!("{span} year{}", if span > 1.0 { "s" } else { "" })
}

fn rule(case: &Case<'_>, overdue_days: i32) -> String {
    let Some((due, rule)) = case.row().due.zip(case.rule()) else {
        return format!("Inspection due; {}", lower_first(&condition(case)));
    };
    let when = if overdue_days > 0 {
        format!("Inspection overdue since {}", due.date)
    } else {
        format!("Inspection due by {}", due.date)
    };
    format!(
        "{when} by the {} '{}' ({}); {}",
        if rule.kind == crate::programme::RuleKind::Law {
            "law"
        } else {
            "rule"
        },
        rule.name,
        because(case, due, rule),
        lower_first(&condition(case))
    )
}

/// What makes a pole due by a rule, in words: "every 10 years".
pub(super) fn because(
    case: &Case<'_>,
    due: Due,
    rule: &crate::programme::InspectionRule,
) -> String {
    match due.because {
        DueBecause::FirstAge if rule.applies.reinforced_only => {
            format!(
                "first inspection {} after reinforcement",
                years(rule.first_age_years)
            )
        }
        DueBecause::FirstAge => format!("first inspection at age {}", rule.first_age_years),
        DueBecause::Repeat => format!("every {}", years(rule.repeat_years)),
        DueBecause::AfterDecay => format!(
            "{} after decay was found",
            years(rule.after_decay_years.unwrap_or(rule.repeat_years))
        ),
        DueBecause::BraceEnds => format!(
            "the reinforcement has lived the {} stated for it: look and decide",
            years(case.programme.policy.reinforcement_life_years)
        ),
        DueBecause::NothingRecorded => {
            "no inspection and no set year are recorded, so nothing proves it is not overdue"
                .to_owned()
        }
    }
}

/// What is believed of the wood: "Age 46, never bored: probability of being below the limit about 1 in 9".
fn condition(case: &Case<'_>) -> String {
    let summary = case.condition();
    let age = if summary.age_is_recorded {
        format!("Age {}", summary.age.floor())
    } else {
        format!("Age unknown, probably about {:.0}", summary.age)
    };
    let now = summary.below_limit.first().copied().unwrap_or(0.0);
    format!(
        "{age}, {}: probability of being below the limit {}{}",
        last_seen(case),
        chance_in_words(f64::from(now)),
        line_findings(case).map_or_else(String::new, |found| format!(" ({found})"))
    )
}

/// What was found on the other poles of its line, where the pole's own records say less than they do: it has not been bored
/// for as long as that counts, and enough of the others have.
fn line_findings(case: &Case<'_>) -> Option<String> {
    let neighbours = case.plan.beliefs.neighbours(case.inventory, case.pole)?;
    let (found, since) = (neighbours.found, neighbours.since);
    let mut looks = case.inventory.inspections_of(case.pole).iter();
    let told = looks.any(|look| {
        look.date >= since && look.method.is_intrusive() && look.verdict != Verdict::NotInspected
    });
    (!told && found.inspected >= ENOUGH_NEIGHBOURS).then(|| {
        format!(
            "{} of {} other poles inspected on its line since {} {} below the limit",
            found.below_limit,
            found.inspected,
            since.year(),
            if found.below_limit == 1 {
                "was"
            } else {
                "were"
            }
        )
    })
}

/// Inspected poles of a line from which on their share says something.
const ENOUGH_NEIGHBOURS: usize = 5;

fn last_seen(case: &Case<'_>) -> String {
    match case.last() {
        None => "never inspected".to_owned(),
        Some(_) if !case.was_bored() => "never bored".to_owned(),
        Some(last) => format!(
            "last inspected {} by {}{}",
            last.date,
            method_in_words(last.method),
            match last.verdict {
                Verdict::Sound => ", no decay found",
                Verdict::DecayServiceable => ", decay found",
                _ => "",
            }
        ),
    }
}

fn with_its_line(case: &Case<'_>) -> String {
    let line = case.inventory.line_of(case.pole).unwrap_or("its line");
    let year = match case.row().standing {
        Standing::Planned { year, .. } => format!(" in {}", case.calendar_year(year)),
        Standing::Deferred { .. } | Standing::NotDue => String::new(),
    };
    format!(
        "Not due itself, inspected with line {line}{year}; {}",
        lower_first(&condition(case))
    )
}

fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_lowercase().chain(letters).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inspected, inventory_of, pole_set, programme};
    use crate::pole::PoleIndex;
    use crate::words::sample;
    use jiff::civil::date;

    #[test]
    fn a_foreman_reads_why() {
        let sample = sample::fleet();
        let say = |id: &str| reason_of(&sample.case_of(id));
        assert_eq!(
            say("A-1"),
            "Judged dangerous on 2025-11-03 by sound and bore: make it safe today by your own procedure, do not wait for this plan"
        );
        assert_eq!(
            say("A-2"),
            "Judged below the limit on 2024-05-17 by sound and bore; replace within 1 year, overdue since 2025-05-17"
        );
        assert_eq!(
            say("A-3"),
            "Inspection overdue since 2023-06-30 by the law 'ten-year round' (first inspection at age 12); age 46, never inspected: probability of being below the limit about 1 in 9"
        );
        assert_eq!(
            say("B-1"),
            "Age unknown, probably about 31, never inspected: probability of being below the limit about 37 %; not planned: no crew-days are left in any year of the schedule, so the plan does not comply"
        );
        assert_eq!(
            say("B-2"),
            "Nothing calls for work up to 2030; age 14, last inspected 2024-05-18 by sound and bore, no decay found: probability of being below the limit below 1 in 1,000"
        );
    }

    #[test]
    fn the_reason_of_a_pole_that_was_never_bored_says_what_its_line_showed() {
        let look = |verdict| inspected(date(2023, 5, 1), Method::SoundAndBore, verdict);
        let with = |id, looks| (id, "L", pole_set(1975), looks);
        let inventory = inventory_of(vec![
            with("P-1", vec![]),
            with("P-2", vec![look(Verdict::Sound)]),
            with("P-3", vec![look(Verdict::RejectReplace)]),
            with("P-4", vec![look(Verdict::Sound)]),
            with("P-5", vec![look(Verdict::RejectReplace)]),
            with("P-6", vec![look(Verdict::Sound)]),
        ]);
        let models = crate::models::text::built_in().expect("built-in models");
        let programme = programme();
        let plan = crate::plan(&inventory, &models, &programme).expect("a plan");
        let say = |pole| {
            reason_of(&Case {
                inventory: &inventory,
                models: &models,
                programme: &programme,
                plan: &plan,
                pole: PoleIndex(pole),
            })
        };
        let told = "(2 of 5 other poles inspected on its line since 2020 were below the limit)";
        assert!(say(0).contains(told), "{}", say(0));
        // Its own inspection says more than its neighbours'.
        assert!(!say(1).contains("other poles"), "{}", say(1));
    }

    #[test]
    fn spans_are_said_in_years_or_months() {
        assert_eq!(years(1.0), "1 year");
        assert_eq!(years(0.5), "6 months");
        assert_eq!(years(2.5), "2.5 years");
    }
}
