//! What is owed to every pole, derived again from the records and the rules, against what the schedule says.

use super::decisions::{asked_work, is_put_off};
use super::{Breach, Case};
use crate::pole::{Defect, Inspection, Pole, PoleIndex, Status, Verdict, Vocabulary};
use crate::programme::{AboveGroundAction, InspectionRule, RuleKind};
use crate::schedule::{Action, Deferral, DueBecause, Priority, Reason, Row, Standing};
use crate::units::{Date, date_after, days_after, days_between};

/// Poles judged dangerous are made safe in the first year, rejects replaced within the policy's waiting time, defects
/// above the groundline acted upon as their rule says: none is ever left out, and none deferred but by a complete decision.
pub(super) fn standing_verdicts_are_acted_upon(case: Case) -> Vec<Breach> {
    rows(case)
        .filter_map(|row| {
            let call = standing_call(case, row.pole)?;
            let latest = case.programme.year_of(call.deadline).max(0);
            let (action, latest) = if call.is_danger {
                (Action::MakeSafe, 0)
            } else if call.braces {
                (Action::Reinforce, latest)
            } else {
                (Action::Replace, latest)
            };
            let action = asked_work(case, row.pole).unwrap_or(action);
            let reason = call.reason;
            let kept = match row.standing {
                Standing::Planned {
                    action: planned,
                    year,
                    package: None,
                } => planned == action && i32::from(year) <= latest,
                Standing::Deferred {
                    action: put_off,
                    reason: Deferral::Decision { until },
                } => put_off == action && is_put_off(case, row.pole, until),
                _ => false,
            };
            let named = row.reason == reason && row.due.is_none();
            (!kept || !named).then(|| {
                case.breach(
                    row.pole,
                    "a recorded danger or reject is not acted upon in time",
                )
            })
        })
        .collect()
}

/// Only a recorded verdict that stands, or a decision, leads to a replacement or to making safe.
pub(super) fn nothing_is_replaced_without_a_verdict(case: Case) -> Vec<Breach> {
    rows(case)
        .filter(|row| {
            let heavy = match row.standing {
                Standing::Planned { action, .. } | Standing::Deferred { action, .. } => {
                    action != Action::Inspect
                }
                Standing::NotDue => false,
            };
            heavy && standing_call(case, row.pole).is_none() && asked_work(case, row.pole).is_none()
        })
        .map(|row| case.breach(row.pole, "is to be replaced without a verdict that stands"))
        .collect()
}

/// The rule named is the one with the earliest date, applies to the pole and is in force on that date.
pub(super) fn the_earliest_rule_binds(case: Case) -> Vec<Breach> {
    rows(case)
        .filter(|row| standing_call(case, row.pole).is_none())
        .filter(|row| {
            let earliest = earliest_due(case, row.pole);
            match (row.due, earliest) {
                (None, None) => false,
                (Some(due), Some((date, _))) => {
                    let own = case.programme.inspections.get(due.rule).and_then(|rule| {
                        let (own, because) = due_by(case, rule, row.pole)?;
                        Some((own, because, rule.effective))
                    });
                    due.date != date
                        || own.is_none_or(|(own, because, effective)| {
                            own != date
                                || because != due.because
                                || effective.is_some_and(|from| from > date)
                        })
                }
                _ => true,
            }
        })
        .map(|row| case.breach(row.pole, "the rule named is not the one that binds"))
        .collect()
}

/// A pole that a rule calls for within the schedule is planned or deferred with a reason.
pub(super) fn whatever_is_due_is_accounted_for(case: Case) -> Vec<Breach> {
    rows(case)
        .filter(|row| row.standing == Standing::NotDue && is_due(case, row.pole))
        .map(|row| case.breach(row.pole, "is due within the schedule and left out"))
        .collect()
}

/// Danger, must-do and due work carries the priority that it is owed, and nothing else claims it.
pub(super) fn the_priority_says_what_is_owed(case: Case) -> Vec<Breach> {
    rows(case)
        .filter(|row| {
            let owed = owed(case, row.pole);
            match owed {
                Some(owed) => row.priority != owed,
                None => row.priority <= Priority::Due,
            }
        })
        .map(|row| case.breach(row.pole, "has a priority that it is not owed"))
        .collect()
}

/// The priority that records and rules alone give a pole.
fn owed(case: Case, pole: PoleIndex) -> Option<Priority> {
    if let Some(call) = standing_call(case, pole) {
        return Some(if call.is_danger {
            Priority::Danger
        } else {
            Priority::MustDo
        });
    }
    let plan_from = case.programme.plan_from;
    let (date, kind) = earliest_due(case, pole)?;
    if kind == RuleKind::Law && date < plan_from {
        return Some(Priority::MustDo);
    }
    is_due(case, pole).then_some(Priority::Due)
}

/// Overdue days run from the verdict's or the rule's deadline to the plan date, and are 0 before it.
pub(super) fn overdue_days_are_right(case: Case) -> Vec<Breach> {
    rows(case)
        .filter(|row| {
            let deadline = standing_call(case, row.pole)
                .map(|call| call.deadline)
                .or_else(|| earliest_due(case, row.pole).map(|(date, _)| date));
            let days = deadline.map_or(0, |date| days_between(date, case.programme.plan_from));
            row.overdue_days != days.max(0)
        })
        .map(|row| case.breach(row.pole, "overdue days are wrong"))
        .collect()
}

/// A planned inspection is done by a method that satisfies every rule that calls for it within the schedule.
pub(super) fn methods_satisfy_the_rules(case: Case) -> Vec<Breach> {
    let end = case.programme.year_start(case.years() as i32);
    rows(case)
        .filter(|row| {
            let inspected = matches!(
                row.standing,
                Standing::Planned {
                    action: Action::Inspect,
                    ..
                }
            );
            let satisfies = |rule: &InspectionRule| {
                let calls = due_by(case, rule, row.pole).is_some_and(|(date, _)| date < end);
                !calls
                    || row
                        .method
                        .is_some_and(|m| m.strength() >= rule.least_method.strength())
            };
            inspected && (row.method.is_none() || !case.programme.inspections.iter().all(satisfies))
        })
        .map(|row| case.breach(row.pole, "the method does not satisfy the rule"))
        .collect()
}

/// What the trials live through is what the rows plan.
pub(super) fn visits_follow_the_rows(case: Case) -> Vec<Breach> {
    rows(case)
        .filter(|row| {
            let visits = case.schedule.visits[row.pole.get()];
            let beyond =
                |first: Option<u16>| first.is_none_or(|year| usize::from(year) >= case.years());
            let agree = match row.standing {
                Standing::Planned {
                    action: Action::Inspect,
                    year,
                    ..
                } => {
                    visits.first == Some(year)
                        && visits.replace.is_none()
                        && visits.reinforce.is_none()
                        && row.method == Some(visits.method)
                }
                Standing::Planned { action, year, .. } => {
                    let (replace, reinforce) = if action == Action::Reinforce {
                        (None, Some(year))
                    } else {
                        (Some(year), None)
                    };
                    visits.first.is_none()
                        && (visits.replace, visits.reinforce) == (replace, reinforce)
                }
                Standing::Deferred {
                    action,
                    reason: Deferral::Decision { until },
                } => {
                    let wanted = match action {
                        Action::Inspect => (Some(until), None, None),
                        Action::Reinforce => (None, None, Some(until)),
                        Action::Replace | Action::MakeSafe => (None, Some(until), None),
                    };
                    (visits.first, visits.replace, visits.reinforce) == wanted
                }
                Standing::Deferred { .. } | Standing::NotDue => {
                    beyond(visits.first) && visits.replace.is_none() && visits.reinforce.is_none()
                }
            };
            let whole = visits.repeat_years >= 1
                && visits.braced_years >= 1
                && visits.after_decay_years >= 1
                && visits.first_age_years >= 1;
            !agree || !whole
        })
        .map(|row| case.breach(row.pole, "the visits to come differ from the row"))
        .collect()
}

/// Nothing is planned for a pole that the owner lists as removed.
pub(super) fn poles_that_are_gone_are_left_alone(case: Case) -> Vec<Breach> {
    case.schedule
        .rows
        .iter()
        .filter(|row| is_gone(case.inventory.pole(row.pole)) && row.standing != Standing::NotDue)
        .map(|row| case.breach(row.pole, "is planned although it is removed"))
        .collect()
}

/// Rows of poles that stand.
fn rows(case: Case<'_>) -> impl Iterator<Item = &Row> {
    case.schedule
        .rows
        .iter()
        .filter(move |row| !is_gone(case.inventory.pole(row.pole)))
}

fn is_gone(pole: &Pole) -> bool {
    pole.status == Status::Removed
}

/// Inspections that had happened by the plan date and say something.
fn findings(case: Case<'_>, pole: PoleIndex) -> Vec<&Inspection> {
    case.inventory
        .inspections_of(pole)
        .iter()
        .filter(|i| i.date <= case.programme.plan_from && i.verdict != Verdict::NotInspected)
        .collect()
}

/// What records call for at a pole whatever the rules of inspection say.
#[derive(Clone, Copy)]
pub(super) struct Call {
    pub(super) is_danger: bool,
    /// Whether the inspector judged that a brace restores the pole, and none was fitted before.
    pub(super) restorable: bool,
    /// Whether the policy reinforces instead of replacing.
    braces: bool,
    pub(super) deadline: Date,
    reason: Reason,
}

/// The most urgent of the verdict on the groundline and the defects above it: danger first, then the earlier deadline,
/// then the groundline.
pub(super) fn standing_call(case: Case, pole: PoleIndex) -> Option<Call> {
    let groundline = standing_verdict(case, pole).map(|standing| {
        let Stands {
            date,
            verdict,
            braced_until,
        } = standing;
        let is_danger = verdict == Verdict::Danger;
        let reason = if is_danger {
            Reason::Danger { date }
        } else {
            Reason::Reject {
                date,
                verdict,
                braced_until,
            }
        };
        let restorable = verdict == Verdict::RejectReinforceable
            && case.inventory.pole(pole).reinforced.is_none();
        Call {
            is_danger,
            restorable,
            // A policy that reinforces does so where the inspector judged that a brace restores the pole, once.
            braces: case.programme.policy.reinforce && restorable,
            deadline: deadline_of(case, standing),
            reason,
        }
    });
    let mut most_urgent = groundline;
    for (defect, _, _) in Defect::WORDS {
        let Some(call) = call_of_defect(case, pole, *defect) else {
            continue;
        };
        let goes_first = most_urgent.is_none_or(|known| {
            (call.is_danger && !known.is_danger)
                || (call.is_danger == known.is_danger && call.deadline < known.deadline)
        });
        if goes_first {
            most_urgent = Some(call);
        }
    }
    most_urgent
}

/// What a defect calls for by the most urgent rule that names it, where a record of it has not been answered by a later
/// one that looked for such defects as well or better and did not find it.
fn call_of_defect(case: Case, pole: PoleIndex, defect: Defect) -> Option<Call> {
    let rules = case.programme.above_ground.iter();
    let rule = rules
        .filter(|rule| rule.defects.contains(&defect))
        .min_by_key(|rule| {
            (
                u8::from(rule.action != AboveGroundAction::MakeSafe),
                rule.within_days,
            )
        })?;
    let records: Vec<&Inspection> = case
        .inventory
        .inspections_of(pole)
        .iter()
        .filter(|i| i.date <= case.programme.plan_from && i.above_ground.is_some())
        .collect();
    let has = |record: &Inspection| record.above_ground.is_some_and(|seen| seen.has(defect));
    let stands = |place: usize| {
        has(records[place])
            && !case.orders.cleared(pole, records[place].date)
            && !records[place + 1..].iter().any(|later| {
                !has(later) && later.method.strength() >= records[place].method.strength()
            })
    };
    let date = records[(0..records.len()).find(|place| stands(*place))?].date;
    Some(Call {
        is_danger: rule.action == AboveGroundAction::MakeSafe,
        restorable: false,
        braces: false,
        deadline: days_after(date, rule.within_days),
        reason: Reason::AboveGround {
            date,
            defect,
            within_days: rule.within_days,
        },
    })
}

/// A verdict that stands, as this file finds it.
#[derive(Clone, Copy)]
struct Stands {
    date: Date,
    verdict: Verdict,
    braced_until: Option<Date>,
}

/// The verdict that stands: the first one that nothing later lifted, a danger before a reject. A reject that a brace
/// restores is settled from the brace's day until its life is over.
fn standing_verdict(case: Case, pole: PoleIndex) -> Option<Stands> {
    let findings = findings(case, pole);
    let stands = |place: usize| {
        let judged = findings[place];
        let lifted = findings[place + 1..].iter().any(|later| {
            let milder = match judged.verdict {
                Verdict::Danger => later.verdict != Verdict::Danger,
                _ => !later.verdict.is_reject(),
            };
            // Who passes a reinforced pole passes the reinforcement.
            let of_the_brace = life_of_brace(case, pole).is_some_and(|(since, until)| {
                judged.date <= since && (since..until).contains(&later.date)
            });
            milder && !of_the_brace && later.method.strength() >= judged.method.strength()
        });
        let braced_until = life_of_brace(case, pole)
            .filter(|(since, _)| {
                judged.verdict == Verdict::RejectReinforceable && *since >= judged.date
            })
            .map(|(_, until)| until);
        let settled = braced_until.is_some_and(|until| until > case.programme.plan_from);
        let cleared = case.orders.cleared(pole, judged.date);
        let counts = judged.verdict.is_reject() && !lifted && !settled && !cleared;
        counts.then_some(Stands {
            date: judged.date,
            verdict: judged.verdict,
            braced_until,
        })
    };
    let first = |danger: bool| {
        let all = (0..findings.len()).filter_map(stands);
        all.filter(|standing| (standing.verdict == Verdict::Danger) == danger)
            .min_by_key(|standing| standing.date)
    };
    first(true).or_else(|| first(false))
}

/// From the day of a reinforcement, where it is recorded and past, to the end of the life that the policy grants it.
fn life_of_brace(case: Case, pole: PoleIndex) -> Option<(Date, Date)> {
    let since = case.inventory.pole(pole).reinforced?.since?;
    let life = case.programme.policy.reinforcement_life_years;
    (since <= case.programme.plan_from).then(|| (since, date_after(since, life)))
}

fn deadline_of(case: Case, standing: Stands) -> Date {
    let policy = &case.programme.policy;
    if standing.verdict == Verdict::Danger {
        days_after(standing.date, policy.make_safe_within_days)
    } else {
        let from = standing.braced_until.unwrap_or(standing.date);
        date_after(from, policy.replace_within_years)
    }
}

/// The earliest date of all rules that bind a pole, and whether one of the rules with that date is a law.
fn earliest_due(case: Case, pole: PoleIndex) -> Option<(Date, RuleKind)> {
    case.programme
        .inspections
        .iter()
        .filter_map(|rule| due_by(case, rule, pole).map(|(date, _)| (date, rule.kind)))
        .min()
}

/// The rules that bind a pole, each with the date on which it calls for it.
pub(super) fn binding_rules(case: Case<'_>, pole: PoleIndex) -> Vec<(&InspectionRule, Date)> {
    let rules = case.programme.inspections.iter();
    rules
        .filter_map(|rule| due_by(case, rule, pole).map(|(date, _)| (rule, date)))
        .collect()
}

/// The last day on which what laws call for at a pole is in time, days of grace included.
pub(super) fn law_wants_by(case: Case, pole: PoleIndex) -> Option<Date> {
    binding_rules(case, pole)
        .into_iter()
        .filter(|(rule, _)| rule.kind == RuleKind::Law)
        .map(|(rule, date)| days_after(date, rule.grace_days))
        .min()
}

/// The last look into a pole's wood by a method at least as strong as `least`.
pub(super) fn qualifying_last(
    case: Case,
    pole: PoleIndex,
    least: Option<crate::pole::Method>,
) -> Option<Date> {
    let strong = |i: &&Inspection| {
        i.method.is_intrusive() && least.is_none_or(|least| i.method.strength() >= least.strength())
    };
    findings(case, pole)
        .into_iter()
        .rfind(strong)
        .map(|inspection| inspection.date)
}

fn is_due(case: Case, pole: PoleIndex) -> bool {
    let end = case.programme.year_start(case.years() as i32);
    earliest_due(case, pole).is_some_and(|(date, _)| date < end)
}

/// When one rule calls for a pole; `None` when it does not bind it.
fn due_by(case: Case, rule: &InspectionRule, pole: PoleIndex) -> Option<(Date, DueBecause)> {
    if !binds(case, rule, pole) {
        return None;
    }
    let brace = life_of_brace(case, pole);
    let own = brace.filter(|_| rule.applies.reinforced_only);
    let last = findings(case, pole)
        .into_iter()
        .rfind(|i| i.method.is_intrusive() && i.method.strength() >= rule.least_method.strength())
        .filter(|last| own.is_none_or(|(since, _)| since <= last.date));
    let start = own
        .map(|(since, _)| since)
        .or(case.inventory.pole(pole).installed);
    let (mut date, mut because) = match (last, start) {
        (Some(last), _) => {
            let shorter = rule
                .after_decay_years
                .filter(|years| last.verdict != Verdict::Sound && *years < rule.repeat_years);
            match shorter {
                Some(years) => (date_after(last.date, years), DueBecause::AfterDecay),
                None => (date_after(last.date, rule.repeat_years), DueBecause::Repeat),
            }
        }
        (None, Some(start)) => (
            date_after(start, rule.first_age_years),
            DueBecause::FirstAge,
        ),
        (None, None) => (case.programme.plan_from, DueBecause::NothingRecorded),
    };
    if let Some((_, end)) = brace {
        let unseen = last.is_none_or(|last| last.date < end);
        if unseen && end < date {
            (date, because) = (end, DueBecause::BraceEnds);
        }
    }
    Some((rule.effective.map_or(date, |from| from.max(date)), because))
}

fn binds(case: Case, rule: &InspectionRule, index: PoleIndex) -> bool {
    let pole = case.inventory.pole(index);
    let listed = |names: &[String], name: Option<crate::pole::NameIndex>| {
        let own = name.map(|name| case.inventory.names.get(name));
        names.is_empty() || names.iter().any(|listed| Some(listed.as_str()) == own)
    };
    let zones = &rule.applies.zones;
    (zones.is_empty() || zones.contains(&pole.zone))
        && listed(&rule.applies.lines, pole.line)
        && listed(&rule.applies.districts, pole.district)
        && (!rule.applies.reinforced_only || pole.reinforced.is_some())
        && (!rule.applies.high_consequence_only
            || pole.consequence == Some(crate::pole::Consequence::High))
}
