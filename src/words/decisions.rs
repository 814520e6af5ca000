//! The owner's decisions in words: what was fixed for a pole, by whom, when and why; what is put off under whose name.
//!
//! Takes the schedule's outcomes and the records of the decisions; decides nothing itself.

use super::Case;
use super::quantities::counted;
use super::reasons::method_in_words;
use super::screen::on_one_line;
use crate::inventory::{Decision, Inventory, RowCount, Target};
use crate::plan::Plan;
use crate::pole::{DecisionKind, Vocabulary};
use crate::programme::Programme;
use crate::schedule::{Action, Deferral, Priority, Standing};
use serde::Serialize;

/// A must-do that somebody put off.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PutOff {
    /// Pole.
    pub pole: String,
    /// What was to be done.
    pub action: &'static str,
    /// Year to which it is put off.
    pub until: i16,
    /// Who signs for it.
    pub by: String,
    /// What keeps people safe meanwhile.
    pub interim_control: String,
    /// Last day on which that holds.
    pub review_date: String,
    /// Whether the pole is judged dangerous.
    pub danger: bool,
}

/// A year in which the owner fixed more than the crews can do.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Overfilled {
    /// Year.
    pub year: i16,
    /// Crew-days of what is planned in it.
    pub crew_days: f64,
    /// Crew-days that there are.
    pub crew_days_available: f64,
}

/// What became of the owner's decisions.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Decided {
    /// Rows of the files.
    pub rows: super::overview::Rows,
    /// Decisions that are followed, for all poles that they are about or for some.
    pub applied: usize,
    /// Decisions refused, for all their poles or for some, and rows that could not be used.
    pub refused: usize,
    /// Poles of which a named engineer cleared what was recorded.
    pub cleared: usize,
    /// Must-do work that is put off, most urgent first.
    pub put_off: Vec<PutOff>,
    /// Other work that is called for and left out of the schedule.
    pub left_out: usize,
    /// Years that the decisions overfill.
    pub overfilled: Vec<Overfilled>,
}

/// What became of the decisions of a plan; nothing where no file has any.
pub fn decided(inventory: &Inventory, programme: &Programme, plan: &Plan) -> Option<Decided> {
    let rows: RowCount = inventory.decision_rows;
    if rows.read == 0 && inventory.decisions.is_empty() {
        return None;
    }
    let outcomes = &plan.schedule.decisions.outcomes;
    let refused = outcomes
        .iter()
        .filter(|outcome| outcome.unmatched || !outcome.refused.is_empty())
        .count();
    let mut put_off = Vec::new();
    let mut left_out = 0;
    for &pole in &plan.schedule.ranking {
        let row = plan.schedule.row(pole);
        let Standing::Deferred {
            action,
            reason: Deferral::Decision { until },
        } = row.standing
        else {
            continue;
        };
        match signed(inventory, plan, pole) {
            Some(decision) => put_off.push(PutOff {
                pole: inventory.id(pole).to_owned(),
                action: action.word(),
                until: super::calendar_year(programme, until),
                by: decision.by.clone().unwrap_or_default(),
                interim_control: decision.interim_control.clone().unwrap_or_default(),
                review_date: decision
                    .review_date
                    .map(|date| date.to_string())
                    .unwrap_or_default(),
                danger: row.priority == Priority::Danger,
            }),
            None => left_out += 1,
        }
    }
    let cleared = inventory.decisions.iter().zip(outcomes);
    let mut cleared: Vec<_> = cleared
        .filter(|(decision, _)| decision.kind == DecisionKind::Clear)
        .flat_map(|(_, outcome)| &outcome.followed)
        .collect();
    cleared.dedup();
    let available = programme.crews.crew_days_per_year;
    Some(Decided {
        rows: rows.into(),
        applied: outcomes
            .iter()
            .filter(|outcome| !outcome.followed.is_empty())
            .count(),
        refused: refused + rows.set_aside,
        cleared: cleared.len(),
        put_off,
        left_out,
        overfilled: (0..)
            .zip(&plan.schedule.crew_days)
            .filter(|(_, days)| **days > available + ROUNDING)
            .map(|(year, days)| Overfilled {
                year: super::calendar_year(programme, year),
                crew_days: *days,
                crew_days_available: available,
            })
            .collect(),
    })
}

/// Rounding of a year's sum of crew-days; far below one pole's part of a day.
const ROUNDING: f64 = 1e-6;

/// The decision by which somebody signed for what is put off at a pole.
fn signed<'a>(
    inventory: &'a Inventory,
    plan: &Plan,
    pole: crate::pole::PoleIndex,
) -> Option<&'a Decision> {
    match plan.schedule.decisions.of(pole).when {
        Some((decision, crate::schedule::When::PutOff(_))) => inventory.decisions.get(decision),
        _ => None,
    }
}

/// Decisions listed on a page before the rest is only counted.
const LISTED: usize = 8;

/// The lines of a page: a heading, the others indented.
pub fn lines(decided: &Decided) -> Vec<String> {
    let mut lines = vec![format!(
        "Decisions: {} followed, {} refused{}",
        decided.applied,
        decided.refused,
        if decided.refused > 0 {
            " in whole or in part (see data_problems.csv)"
        } else {
            ""
        }
    )];
    if !decided.put_off.is_empty() {
        lines.push(format!(
            "  NOT COMPLIANT: {} put off under a name:",
            counted(decided.put_off.len(), "must-do is", "must-dos are")
        ));
    }
    for one in decided.put_off.iter().take(LISTED) {
        lines.push(format!(
            "    {}{}: {} put off to {} by {}; until then {}; review by {}",
            if one.danger { "DANGER " } else { "" },
            on_one_line(&one.pole),
            one.action.replace('_', " "),
            one.until,
            on_one_line(&one.by),
            on_one_line(&one.interim_control),
            one.review_date
        ));
    }
    if decided.put_off.len() > LISTED {
        lines.push(format!(
            "    and {} more in schedule.csv",
            decided.put_off.len() - LISTED
        ));
    }
    if decided.left_out > 0 {
        lines.push(format!(
            "  left out of these years although rules call for it: {}",
            counted(decided.left_out, "other visit", "other visits")
        ));
    }
    if decided.cleared > 0 {
        lines.push(format!(
            "  {} of what was recorded by a named engineer",
            counted(decided.cleared, "pole is cleared", "poles are cleared")
        ));
    }
    for year in &decided.overfilled {
        lines.push(format!(
            "  {} is OVERFILLED: what is kept for it takes {} of {} crew-days",
            year.year,
            super::screen::crew_days(year.crew_days),
            super::screen::crew_days(year.crew_days_available)
        ));
    }
    lines
}

/// "by N. N. on 2026-03-01: line outage", as far as it is known.
fn by_whom(decision: &Decision) -> String {
    let by = decision.by.as_deref().unwrap_or("the owner's decision");
    let on = decision
        .date
        .map_or_else(String::new, |date| format!(" on {date}"));
    let why = decision
        .reason
        .as_deref()
        .map_or_else(String::new, |reason| format!(": {}", on_one_line(reason)));
    format!("by {}{on}{why}", on_one_line(by))
}

/// What the owner fixed for a pole and what a named engineer cleared there, each as a part of a sentence.
pub fn kept(case: &Case<'_>) -> Vec<String> {
    let mut parts: Vec<String> = fixing(case)
        .map(|decision| format!("{} {}", what(case, decision), by_whom(decision)))
        .collect();
    for (index, decision) in case.inventory.decisions_on(case.pole) {
        let outcome = case.plan.schedule.decisions.outcomes.get(index);
        let cleared = outcome.is_some_and(|outcome| outcome.followed.contains(&case.pole));
        if decision.kind == DecisionKind::Clear && cleared {
            parts.push(format!(
                "what was recorded before is cleared {}",
                by_whom(decision)
            ));
        }
    }
    parts
}

/// What a decision says of a pole.
fn what(case: &Case<'_>, decision: &Decision) -> String {
    let year = decision
        .year
        .map_or_else(String::new, |year| format!(" {year}"));
    let shortened = shortened_to(case, decision);
    let of = match &decision.target {
        Target::Pole(_) => "",
        Target::Package(_) => "with its package ",
        Target::Line(_) => "with its line ",
    };
    let put_off = matches!(case.row().standing, Standing::Deferred { .. });
    match decision.kind {
        DecisionKind::Pin | DecisionKind::Freeze | DecisionKind::Defer if put_off => {
            let Some(until) = shortened else {
                return format!("{of}put off to{year}");
            };
            format!("{of}put off to its review in {until}, not to{year},")
        }
        DecisionKind::Pin | DecisionKind::Freeze => format!("{of}kept for{year}"),
        DecisionKind::LeaveOut => format!("{of}left out"),
        DecisionKind::Defer => format!("{of}not before{year},"),
        DecisionKind::Method => format!(
            "{of}inspected by {}, decided",
            decision.method.map_or("", method_in_words)
        ),
        DecisionKind::Action => format!(
            "{of}{}{}, decided",
            match decision.action {
                Some(Action::Inspect) | None => "inspected",
                Some(Action::Reinforce) => "reinforced",
                Some(Action::Replace) => "replaced",
                Some(Action::MakeSafe) => "made safe",
            },
            decision
                .year
                .map_or_else(String::new, |year| format!(" in {year}"))
        ),
        DecisionKind::Clear => "cleared".to_owned(),
    }
}

/// The year to which a decision puts off where that is earlier than the year that it names.
fn shortened_to(case: &Case<'_>, decision: &Decision) -> Option<i16> {
    let Standing::Deferred {
        reason: Deferral::Decision { until },
        ..
    } = case.row().standing
    else {
        return None;
    };
    let until = super::calendar_year(case.programme, until);
    decision
        .year
        .is_some_and(|year| until < year)
        .then_some(until)
}

/// What somebody signed for where work is put off: the control until then and the day on which it is looked at again.
pub fn meanwhile(case: &Case<'_>) -> Option<String> {
    let decision = signed(case.inventory, case.plan, case.pole)?;
    let control = decision.interim_control.as_deref()?;
    let review = decision.review_date?;
    Some(format!(
        "until then {}, to be looked at again by {review}; the plan does not comply",
        on_one_line(control)
    ))
}

/// The decisions that fixed a row. Where nothing calls for a visit, a decision on the whole line or package kept none from
/// the pole: only one on the pole itself counts.
fn fixing<'a>(case: &Case<'a>) -> impl Iterator<Item = &'a Decision> + use<'a> {
    let inventory = case.inventory;
    let is_due = !matches!(case.row().standing, Standing::NotDue);
    let fixed = case.plan.schedule.decisions.of(case.pole).decisions();
    fixed
        .into_iter()
        .filter_map(|index| inventory.decisions.get(index))
        .filter(move |decision| is_due || matches!(decision.target, Target::Pole(_)))
}

/// The decisions that fixed a row: "pin by N. N. on 2026-03-01".
pub fn locked_by(case: &Case<'_>) -> Option<String> {
    let named = fixing(case).map(|decision| {
        let by = decision
            .by
            .as_ref()
            .map_or_else(String::new, |by| format!(" by {by}"));
        let on = decision
            .date
            .map_or_else(String::new, |date| format!(" on {date}"));
        format!("{}{by}{on}", decision.kind.word())
    });
    let all: Vec<String> = named.collect();
    (!all.is_empty()).then(|| all.join("; "))
}

/// The decision by which a row is deferred.
pub fn deferring<'a>(case: &Case<'a>) -> Option<&'a Decision> {
    let Standing::Deferred {
        reason: Deferral::Decision { .. },
        ..
    } = case.row().standing
    else {
        return None;
    };
    let (decision, _) = case.plan.schedule.decisions.of(case.pole).when?;
    case.inventory.decisions.get(decision)
}

#[cfg(test)]
mod tests {
    use super::{decided, deferring, lines, locked_by};
    use crate::common::{decision, signed, with};
    use crate::inventory::Target;
    use crate::pole::{DecisionKind, PoleIndex};
    use crate::schedule::{self, Action, Decisions, Deferral, Outcome, Standing, When};
    use crate::words::{reason_of, sample};

    /// The sample with a reject put off to 2028, a danger cleared in vain, a pole kept for 2026.
    fn fleet() -> sample::Sample {
        let mut sample = sample::fleet();
        let decisions = vec![
            signed(1, DecisionKind::Defer, Some(2028)),
            decision(2, DecisionKind::Pin, Some(2026)),
        ];
        sample.inventory = with(sample.inventory, decisions);
        let fixed = |decision, when| schedule::Decided {
            when: Some((decision, when)),
            ..schedule::Decided::default()
        };
        let followed = |pole| Outcome {
            about: vec![PoleIndex(pole)],
            followed: vec![PoleIndex(pole)],
            ..Outcome::default()
        };
        sample.plan.schedule.decisions = Decisions {
            outcomes: vec![followed(1), followed(2)],
            of_poles: [
                (PoleIndex(1), fixed(0, When::PutOff(2))),
                (PoleIndex(2), fixed(1, When::In(0))),
            ]
            .into(),
        };
        sample.plan.schedule.rows[1].standing = Standing::Deferred {
            action: Action::Replace,
            reason: Deferral::Decision { until: 2 },
        };
        sample.plan.schedule.crew_days[0] = 1e4;
        sample
    }

    #[test]
    fn a_foreman_reads_who_decided_and_what_holds_until_then() {
        let sample = fleet();
        assert_eq!(
            reason_of(&sample.case_of("A-2")),
            "Judged below the limit on 2024-05-17 by sound and bore; replace within 1 year, overdue since 2025-05-17; not \
             planned: put off to 2028 by N. N. on 2024-11-01: line outage; until then guyed and fenced off, to be looked \
             at again by 2026-03-31; the plan does not comply"
        );
        let kept = reason_of(&sample.case_of("A-3"));
        assert!(
            kept.ends_with("; kept for 2026 by the owner's decision"),
            "{kept}"
        );
        assert_eq!(
            locked_by(&sample.case_of("A-2")).as_deref(),
            Some("defer by N. N. on 2024-11-01")
        );
        assert_eq!(locked_by(&sample.case_of("A-3")).as_deref(), Some("pin"));
        assert!(deferring(&sample.case_of("A-2")).is_some());
        assert!(deferring(&sample.case_of("A-3")).is_none());
    }

    #[test]
    fn a_decision_on_a_line_locks_no_pole_that_nothing_is_called_for_at() {
        let mut sample = fleet();
        let line = sample.inventory.pole(PoleIndex(2)).line.expect("a line");
        let mut decisions = sample.inventory.decisions.clone();
        decisions[1].target = Target::Line(line);
        sample.inventory = with(sample.inventory, decisions);
        assert_eq!(locked_by(&sample.case_of("A-3")).as_deref(), Some("pin"));
        sample.plan.schedule.rows[2].standing = Standing::NotDue;
        assert_eq!(locked_by(&sample.case_of("A-3")), None);
        let reason = reason_of(&sample.case_of("A-3"));
        assert!(!reason.contains("decision"), "{reason}");
    }

    #[test]
    fn what_is_put_off_no_further_than_to_its_review_says_so() {
        let mut sample = fleet();
        sample.plan.schedule.rows[1].standing = Standing::Deferred {
            action: Action::Replace,
            reason: Deferral::Decision { until: 1 },
        };
        let reason = reason_of(&sample.case_of("A-2"));
        assert!(
            reason.contains("put off to its review in 2027, not to 2028, by N. N."),
            "{reason}"
        );
    }

    #[test]
    fn the_page_names_who_put_off_a_must_do_and_what_is_overfilled() {
        let sample = fleet();
        let seen = decided(&sample.inventory, &sample.programme, &sample.plan).expect("decisions");
        assert_eq!(
            lines(&seen),
            [
                "Decisions: 2 followed, 0 refused",
                "  NOT COMPLIANT: 1 must-do is put off under a name:",
                "    A-2: replace put off to 2028 by N. N.; until then guyed and fenced off; review by 2026-03-31",
                "  2026 is OVERFILLED: what is kept for it takes 10000 of 2 crew-days",
            ]
        );
    }
}
