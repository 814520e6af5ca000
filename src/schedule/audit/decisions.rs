//! The owner's decisions, read again from their records: every complete one is honoured, and nothing that must be done
//! is put off without one.
//!
//! Works out for itself what each decision asks of each pole. Only the poles of a package are taken from the schedule,
//! which alone knows its packages; they must stand on the line that the package is named after, unless it is a
//! neighbourhood.

use super::duties::{Call, binding_rules, law_wants_by, qualifying_last, standing_call};
use super::{Breach, Case};
use crate::inventory::{Decision, Target};
use crate::pole::{DecisionKind, PoleIndex};
use crate::programme::Round;
use crate::schedule::{Action, Deferral, Row, Standing};
use crate::units::{Date, years_between};
use std::collections::BTreeMap;

/// The decisions that name each pole, with how special they are: 0 names the pole, 1 its package, 2 its line; and the
/// days up to which engineers cleared what was recorded.
#[derive(Debug, Default)]
pub(super) struct Orders {
    named: BTreeMap<PoleIndex, Vec<(u8, usize)>>,
    cleared: BTreeMap<PoleIndex, Date>,
}

/// What a decision asks for a pole's time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Asks {
    /// This plan year.
    Year(u16),
    /// This plan year or later.
    From(u16),
    /// No year of the schedule.
    Never,
    /// Put off to this plan year under a name.
    Until(u16),
}

/// What all decisions together ask for one pole.
#[derive(Debug, Clone, Copy, Default)]
struct Asked {
    time: Option<(u8, Asks)>,
    action: Option<(u8, Action)>,
    method: Option<crate::pole::Method>,
}

impl Orders {
    /// Reads all decisions; the poles of packages as the schedule took them.
    pub(super) fn read(
        inventory: &crate::inventory::Inventory,
        programme: &crate::programme::Programme,
        schedule: &crate::schedule::Schedule,
    ) -> Self {
        let mut orders = Self::default();
        let mut of_lines: BTreeMap<crate::pole::NameIndex, Vec<usize>> = BTreeMap::new();
        for (index, decision) in inventory.decisions.iter().enumerate() {
            match &decision.target {
                Target::Pole(pole) => orders.name(*pole, 0, index),
                Target::Line(line) => of_lines.entry(*line).or_default().push(index),
                Target::Package(_) => {
                    let outcome = schedule.decisions.outcomes.get(index);
                    for pole in outcome.map_or(&[][..], |outcome| &outcome.about) {
                        orders.name(*pole, 1, index);
                    }
                }
            }
            if let (DecisionKind::Clear, Target::Pole(pole), Some(date)) =
                (decision.kind, &decision.target, decision.date)
                && decision.by.is_some()
                && decision.reason.is_some()
                && date <= programme.plan_from
            {
                let until = orders.cleared.entry(*pole).or_insert(date);
                *until = (*until).max(date);
            }
        }
        if of_lines.is_empty() {
            return orders;
        }
        for pole in inventory.indices() {
            let line = inventory.pole(pole).line;
            for index in line
                .and_then(|line| of_lines.get(&line))
                .into_iter()
                .flatten()
            {
                orders.name(pole, 2, *index);
            }
        }
        orders
    }

    fn name(&mut self, pole: PoleIndex, level: u8, index: usize) {
        self.named.entry(pole).or_default().push((level, index));
    }

    /// Whether what was recorded of a pole on this day has been cleared since.
    pub(super) fn cleared(&self, pole: PoleIndex, on: Date) -> bool {
        self.cleared.get(&pole).is_some_and(|until| on <= *until)
    }
}

/// What the schedule says of each decision fits the decision, and the poles of a package stand on its line.
pub(super) fn decisions_are_answered(case: Case) -> Vec<Breach> {
    let outcomes = &case.schedule.decisions.outcomes;
    let decisions = &case.inventory.decisions;
    if outcomes.len() != decisions.len() {
        return vec![Breach {
            pole: None,
            what: format!(
                "{} of {} decisions are answered",
                outcomes.len(),
                decisions.len()
            ),
        }];
    }
    let mut breaches = Vec::new();
    for (decision, outcome) in decisions.iter().zip(outcomes) {
        let Target::Package(name) = &decision.target else {
            continue;
        };
        let elsewhere = outcome.about.iter().find(|pole| {
            let line = case.inventory.line_of(**pole);
            let by_place = case.programme.policy.round == Round::Neighbourhood;
            let by_place = by_place && name.trim().starts_with("neighbourhood ");
            !by_place
                && !line.map_or(name.contains("poles of no line"), |line| {
                    name.contains(line)
                })
        });
        if let Some(pole) = elsewhere {
            let what = format!("is not on the line of package {name}, which a decision is about");
            breaches.push(case.breach(*pole, &what));
        }
    }
    breaches
}

/// Every complete decision is honoured.
pub(super) fn complete_decisions_are_honoured(case: Case) -> Vec<Breach> {
    let poles = case.orders.named.keys();
    poles
        .filter(|pole| !honoured(case, **pole))
        .map(|pole| case.breach(*pole, "a complete decision of the owner is not honoured"))
        .collect()
}

/// Work is put off by decision only where a decision does put it off, and planned past the day of a recorded verdict or
/// kept from the years of a law only where it is complete.
pub(super) fn nothing_is_put_off_without_a_decision(case: Case) -> Vec<Breach> {
    case.schedule
        .rows
        .iter()
        .filter(|row| match row.standing {
            Standing::Deferred {
                reason: Deferral::Decision { until },
                ..
            } => !may_wait(case, row, until),
            _ => false,
        })
        .map(|row| case.breach(row.pole, "is put off without a complete decision"))
        .collect()
}

/// Whether a decision lets a row wait until a plan year.
fn may_wait(case: Case, row: &Row, until: u16) -> bool {
    match asked(case, row.pole).time {
        Some((_, Asks::Until(year))) => year == until,
        Some((_, Asks::Never)) => usize::from(until) == case.years(),
        Some((_, Asks::From(year))) => year == until && usize::from(year) >= case.years(),
        Some((_, Asks::Year(_))) | None => false,
    }
}

/// Whether the row of a pole does what the decisions about it ask.
fn honoured(case: Case, pole: PoleIndex) -> bool {
    let asked = asked(case, pole);
    let standing = case.schedule.row(pole).standing;
    let method_kept = match (standing, asked.method) {
        (
            Standing::Planned {
                action: Action::Inspect,
                ..
            },
            Some(method),
        ) => case.schedule.row(pole).method == Some(method),
        _ => true,
    };
    let action_kept = match (standing, asked.action) {
        (
            Standing::Planned { action, .. } | Standing::Deferred { action, .. },
            Some((_, wanted)),
        ) => action == wanted,
        // What is to be inspected beyond the schedule is not due in it.
        (Standing::NotDue, Some((_, wanted))) => {
            let beyond = |year: u16| usize::from(year) >= case.years();
            let later = matches!(asked.time, Some((_, Asks::From(year))) if beyond(year));
            wanted == Action::Inspect && later
        }
        (_, None) => true,
    };
    let time = asked.time.map(|(_, time)| time);
    let time_kept = match (standing, time) {
        (Standing::Planned { year, .. }, Some(Asks::Year(wanted))) => year == wanted,
        (Standing::Planned { year, .. }, Some(Asks::From(first))) => year >= first,
        (
            Standing::Deferred {
                reason: Deferral::Decision { until },
                ..
            },
            Some(Asks::Until(wanted)),
        ) => until == wanted,
        (Standing::Planned { .. }, Some(Asks::Never | Asks::Until(_)))
        | (Standing::Deferred { .. } | Standing::NotDue, Some(Asks::Year(_) | Asks::Until(_))) => {
            false
        }
        (_, None)
        | (Standing::Deferred { .. } | Standing::NotDue, Some(Asks::From(_) | Asks::Never)) => true,
    };
    method_kept && action_kept && time_kept
}

/// What the decisions about a pole ask together: of those that are in force the most special, then the latest.
fn asked(case: Case, pole: PoleIndex) -> Asked {
    let Some(named) = case.orders.named.get(&pole) else {
        return Asked::default();
    };
    if case.inventory.pole(pole).status == crate::pole::Status::Removed {
        return Asked::default();
    }
    let mut named: Vec<(u8, &Decision)> = named
        .iter()
        .map(|(level, index)| (*level, &case.inventory.decisions[*index]))
        .collect();
    named.sort_by_key(|(level, decision)| (*level, std::cmp::Reverse(decision.date)));
    let call = standing_call(case, pole);
    let mut all = Asked::default();
    for (level, decision) in named {
        let Some(own) = in_force(case, pole, call.as_ref(), level, decision) else {
            continue;
        };
        all.time = all.time.or(own.time);
        all.action = all.action.or(own.action);
        all.method = all.method.or(own.method);
    }
    if let (Some((time_level, Asks::Never)), Some((action_level, _))) = (all.time, all.action) {
        if time_level < action_level {
            all.action = None;
        } else {
            all.time = None;
        }
    }
    // An action without a year is done by the day of the verdict that calls for it, otherwise as soon as it may be.
    let Some((level, action)) = all.action else {
        return all;
    };
    match all.time {
        None if call.is_none() || action == Action::MakeSafe => {
            all.time = Some((level, Asks::Year(0)));
        }
        Some((level, Asks::From(year))) if call.is_none() && usize::from(year) < case.years() => {
            all.time = Some((level, Asks::Year(year)));
        }
        _ => {}
    }
    all
}

/// What one decision asks, where it may.
fn in_force(
    case: Case,
    pole: PoleIndex,
    call: Option<&Call>,
    level: u8,
    decision: &Decision,
) -> Option<Asked> {
    let plan_from = case.programme.plan_from;
    let past_review = decision.review_date.is_some_and(|date| date < plan_from);
    let kind = decision.kind;
    if matches!(kind, DecisionKind::Defer | DecisionKind::LeaveOut) && past_review {
        return None;
    }
    if call.is_some() && (level > 0 || kind == DecisionKind::Method) {
        return None;
    }
    if kind == DecisionKind::Clear {
        return None;
    }
    if let Some(method) = decision.method {
        let end = case.programme.year_start(case.years() as i32);
        let mut rules = binding_rules(case, pole).into_iter();
        let enough = rules
            .all(|(rule, date)| date >= end || method.strength() >= rule.least_method.strength());
        return enough.then_some(Asked {
            method: Some(method),
            ..Asked::default()
        });
    }
    if let (Some(call), Some(action)) = (call, decision.action)
        && !does_enough(call, action)
    {
        return None;
    }
    let year = decision
        .year
        .map(|year| i32::from(year) - i32::from(case.programme.first_year()))
        .map(|year| year.max(0) as u16);
    if matches!(kind, DecisionKind::Pin | DecisionKind::Freeze)
        && level > 0
        && spared(case, pole, year.unwrap_or(0))
    {
        return None;
    }
    // The last plan year in which what must be done is in time.
    let latest = match call {
        Some(call) => Some(case.programme.year_of(call.deadline).max(0)),
        None => law_wants_by(case, pole)
            .map(|date| case.programme.year_of(date).max(0))
            .filter(|year| *year < case.years() as i32),
    };
    let complete = !past_review
        && decision.by.is_some()
        && decision.interim_control.is_some()
        && decision.review_date.is_some();
    let time = match (kind, year, latest) {
        (DecisionKind::LeaveOut, _, Some(_)) => {
            let review = decision.review_date.filter(|_| complete)?;
            Some(Asks::Until(case.programme.year_of(review).max(1) as u16))
        }
        (DecisionKind::LeaveOut, _, None) => Some(Asks::Never),
        (_, None, _) => None,
        (_, Some(year), Some(latest)) if i32::from(year) > latest => {
            // Beyond its review nobody has signed for it, and within this plan's first year it is put off in any case.
            let review = decision.review_date.filter(|_| complete)?;
            let until = i32::from(year).min(case.programme.year_of(review).max(1));
            if until <= latest {
                return None;
            }
            Some(Asks::Until(until as u16))
        }
        (DecisionKind::Defer, Some(year), _) => Some(Asks::From(year)),
        (_, Some(year), _) => Some(Asks::Year(year)),
    };
    Some(Asked {
        time: time.map(|time| (level, time)),
        action: decision.action.map(|action| (level, action)),
        method: None,
    })
}

/// Whether an action does at least what a recorded verdict calls for.
fn does_enough(call: &Call, action: Action) -> bool {
    match action {
        Action::MakeSafe => true,
        Action::Replace => !call.is_danger,
        Action::Reinforce => call.restorable,
        Action::Inspect => false,
    }
}

/// Whether a round of its line or package in a plan year goes past a pole: seen shortly before, or young still.
fn spared(case: Case, pole: PoleIndex, year: u16) -> bool {
    let visit = case.programme.year_start(i32::from(year));
    let rules = binding_rules(case, pole);
    let binding = rules.iter().min_by_key(|(rule, date)| (*date, rule.kind));
    let least = binding.map(|(rule, _)| rule.least_method);
    if let Some(last) = qualifying_last(case, pole, least) {
        return years_between(last, visit) < case.programme.policy.exempt_inspected_within_years;
    }
    let set = case.inventory.pole(pole).installed;
    binding.zip(set).is_some_and(|((rule, _), set)| {
        years_between(set, visit) < rule.first_age_years - rule.repeat_years / 2.0
    })
}

/// The action that a decision asks for at a pole, other than an inspection.
pub(super) fn asked_work(case: Case, pole: PoleIndex) -> Option<Action> {
    let action = asked(case, pole).action.map(|(_, action)| action);
    action.filter(|action| *action != Action::Inspect)
}

/// Whether a decision fixes the plan year of an inspection.
pub(super) fn is_fixed(case: Case, pole: PoleIndex) -> bool {
    matches!(asked(case, pole).time, Some((_, Asks::Year(_))))
}

/// The first plan year in which decisions let a pole be done.
pub(super) fn not_before(case: Case, pole: PoleIndex) -> u16 {
    match asked(case, pole).time {
        Some((_, Asks::From(year))) => year,
        _ => 0,
    }
}

/// Whether what a verdict calls for is put off to this plan year by a complete decision.
pub(super) fn is_put_off(case: Case, pole: PoleIndex, until: u16) -> bool {
    matches!(asked(case, pole).time, Some((_, Asks::Until(year))) if year == until)
        || matches!(asked(case, pole).time, Some((_, Asks::From(year)))
            if year == until && usize::from(year) >= case.years())
}
