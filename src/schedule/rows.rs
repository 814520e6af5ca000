//! The choices of years, written out: rows with their reasons, the ranking, the packages and the visits to come.

use super::decided::{Decided, Decisions, When};
use super::due::{Duty, StandingVerdict};
use super::offers::ROUNDING;
use super::packages::{Stretch, days_for_one, pack};
use super::waiting::VisitValues;
use super::{
    Action, Deferral, PackageIndex, Priority, Proof, Reason, Row, Schedule, Standing, Visits,
};
use crate::inventory::Inventory;
use crate::pole::{PoleIndex, Verdict};
use crate::programme::{InspectionRule, Programme, Response, RuleKind, respond};
use crate::units::{Date, days_between};

/// The year chosen for an inspection, and why it was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Choice {
    pub(super) year: u16,
    pub(super) why: Why,
}

/// Why an inspection is planned in its year.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Why {
    /// A rule calls for it.
    Rule,
    /// Its line is visited.
    WithItsLine,
    /// The visit pays for itself.
    Condition,
    /// The owner decided so.
    Decision,
}

/// The schedule that the choices make, `choices` by pole.
pub(super) fn write_schedule(
    inventory: &Inventory,
    programme: &Programme,
    duties: &[Duty],
    values: &[VisitValues],
    stretches: &[Stretch],
    (choices, proof): (&[Option<Choice>], Proof),
    decisions: Decisions,
) -> Schedule {
    let (packages, package_of) = pack(programme, stretches, |pole| {
        choices[pole.get()].map(|choice| (choice.year, duties[pole.get()].method))
    });
    let mut crew_days = vec![0.0; usize::from(programme.schedule_years.max(1))];
    for package in &packages {
        if let Some(year) = package.year {
            crew_days[usize::from(year)] += package.crew_days;
        }
    }
    let rows: Vec<Row> = inventory
        .indices()
        .map(|pole| {
            let duty = &duties[pole.get()];
            let choice = choices[pole.get()];
            let package = package_of.get(&pole).copied();
            row(
                programme,
                pole,
                duty,
                (choice, package),
                &values[pole.get()],
                &decisions.of(pole),
                &crew_days,
            )
        })
        .collect();
    let visits = rows
        .iter()
        .map(|row| visits(programme, &duties[row.pole.get()], row))
        .collect();
    Schedule {
        ranking: rank(programme, &rows),
        rows,
        packages,
        visits,
        crew_days,
        decisions,
        proof,
    }
}

/// Most urgent first: priority, then the value of a visit, then the deadline, then the id.
fn rank(programme: &Programme, rows: &[Row]) -> Vec<PoleIndex> {
    let mut ranked: Vec<(&Row, Date)> = rows
        .iter()
        .map(|row| (row, row.deadline(&programme.policy).unwrap_or(Date::MAX)))
        .collect();
    ranked.sort_by(|(a, a_deadline), (b, b_deadline)| {
        (a.priority.cmp(&b.priority))
            .then(b.value_of_visit.total_cmp(&a.value_of_visit))
            .then(a_deadline.cmp(b_deadline))
            .then(a.pole.cmp(&b.pole))
    });
    ranked.into_iter().map(|(row, _)| row.pole).collect()
}

fn row(
    programme: &Programme,
    pole: PoleIndex,
    duty: &Duty,
    (choice, package): (Option<Choice>, Option<PackageIndex>),
    values: &VisitValues,
    decided: &Decided,
    crew_days: &[f64],
) -> Row {
    let blank = Row {
        pole,
        standing: Standing::NotDue,
        method: None,
        due: None,
        overdue_days: 0,
        priority: Priority::None,
        value_of_visit: values.at(0),
        reason: Reason::Nothing,
    };
    let mut row = match (duty.stands, duty.verdict) {
        (false, _) => blank,
        (true, Some(verdict)) => act_upon(programme, blank, verdict, values, decided),
        (true, None) => {
            let planned = (choice, package, crew_days);
            inspect(programme, blank, duty, planned, values, decided)
        }
    };
    row.overdue_days = row
        .deadline(&programme.policy)
        .map_or(0, |date| days_between(date, programme.plan_from).max(0));
    row
}

/// The row of a pole whose recorded verdict calls for action: neither crews nor money defer it, only a decision that
/// somebody signs for.
fn act_upon(
    programme: &Programme,
    blank: Row,
    standing: StandingVerdict,
    values: &VisitValues,
    decided: &Decided,
) -> Row {
    let StandingVerdict { date, verdict, .. } = standing;
    let is_danger = verdict == Verdict::Danger;
    let (action, priority) = if is_danger {
        (Action::MakeSafe, Priority::Danger)
    } else {
        let action = match respond(&programme.policy, standing.seen()) {
            Response::Reinforce => Action::Reinforce,
            Response::Leave | Response::Treat | Response::Replace => Action::Replace,
        };
        (action, Priority::MustDo)
    };
    let action = decided.work().unwrap_or(action);
    let reason = match standing.defect {
        Some((defect, within_days)) => Reason::AboveGround {
            date,
            defect,
            within_days,
        },
        None if is_danger => Reason::Danger { date },
        None => Reason::Reject {
            date,
            verdict,
            braced_until: standing.braced_until,
        },
    };
    let row = Row {
        priority,
        reason,
        ..blank
    };
    let last = i32::from(programme.schedule_years.max(1)) - 1;
    let in_time = match (action, row.deadline(&programme.policy)) {
        (Action::Replace | Action::Reinforce, Some(deadline)) => {
            programme.year_of(deadline).clamp(0, last) as u16
        }
        _ => 0,
    };
    let year = match decided.when {
        Some((_, When::In(year))) => year,
        Some((_, When::NotBefore(year))) => in_time.max(year),
        _ => in_time,
    };
    Row {
        standing: match decided.when {
            Some((_, When::PutOff(until))) => put_off(action, until),
            Some((_, When::NotBefore(until))) if i32::from(until) > last => put_off(action, until),
            _ => Standing::Planned {
                action,
                year,
                package: None,
            },
        },
        value_of_visit: values.at(year),
        ..row
    }
}

/// What the owner puts off to a plan year.
fn put_off(action: Action, until: u16) -> Standing {
    Standing::Deferred {
        action,
        reason: Deferral::Decision { until },
    }
}

/// The row of a pole that is to be inspected, now or later.
fn inspect(
    programme: &Programme,
    blank: Row,
    duty: &Duty,
    (choice, package, crew_days): (Option<Choice>, Option<PackageIndex>, &[f64]),
    values: &VisitValues,
    decided: &Decided,
) -> Row {
    let years = programme.schedule_years.max(1);
    let called = duty
        .due
        .filter(|due| programme.year_of(due.date) < i32::from(years));
    let by_law = duty.due.is_some_and(|due| {
        programme.inspections[due.rule].kind == RuleKind::Law && due.date < programme.plan_from
    });
    let by_rule = Reason::Rule {
        overdue_days: duty
            .due
            .map_or(0, |due| days_between(due.date, programme.plan_from)),
    };
    let by_rule_or_decision = if called.is_some() {
        by_rule
    } else {
        Reason::Decision
    };
    let (standing, reason) = match (choice, called) {
        _ if decided.work().is_some() => (planned_work(decided, years), by_rule_or_decision),
        _ if matches!(decided.when, Some((_, When::PutOff(_)))) => {
            (planned_work(decided, years), by_rule_or_decision)
        }
        (Some(choice), _) => {
            let reason = match choice.why {
                Why::Decision => by_rule_or_decision,
                Why::Rule => by_rule,
                Why::WithItsLine => Reason::WithItsLine,
                Why::Condition => Reason::Condition,
            };
            let planned = Standing::Planned {
                action: Action::Inspect,
                year: choice.year,
                package,
            };
            (planned, reason)
        }
        (None, Some(_)) => {
            let days = days_for_one(programme, duty.method);
            let from = usize::from(decided.inspected_from().unwrap_or(years));
            let mut used = crew_days.iter().skip(from);
            let crews_have_room =
                used.any(|used| days <= programme.crews.crew_days_per_year - used + ROUNDING);
            (not_planned(decided, years, crews_have_room), by_rule)
        }
        (None, None) => (Standing::NotDue, Reason::Nothing),
    };
    Row {
        standing,
        method: (standing != Standing::NotDue && decided.work().is_none()).then_some(duty.method),
        due: duty.due,
        priority: match (called, reason) {
            (Some(_), _) if by_law => Priority::MustDo,
            (Some(_), _) => Priority::Due,
            (None, Reason::Condition) => Priority::Condition,
            (None, _) => Priority::None,
        },
        value_of_visit: values.at(match standing {
            Standing::Planned { year, .. } => year,
            _ => 0,
        }),
        reason,
        ..blank
    }
}

/// Other work than an inspection that the owner wants, and what somebody signs for that it is put off.
fn planned_work(decided: &Decided, years: u16) -> Standing {
    let action = decided.work().unwrap_or(Action::Inspect);
    match decided.when {
        Some((_, When::PutOff(until))) => put_off(action, until),
        Some((_, When::NotBefore(until))) if until >= years => put_off(action, until),
        when => {
            let year = match when {
                Some((_, When::In(year) | When::NotBefore(year))) => year,
                _ => 0,
            };
            Standing::Planned {
                action,
                year,
                package: None,
            }
        }
    }
}

/// Why an inspection that a rule calls for is not planned: the owner keeps it out of these years, the crews are short, or the
/// money is.
fn not_planned(decided: &Decided, years: u16, crews_have_room: bool) -> Standing {
    let reason = match decided.when {
        Some((_, When::Out)) => Deferral::Decision { until: years },
        Some((_, When::NotBefore(until))) if until >= years => Deferral::Decision { until },
        _ if crews_have_room => Deferral::Money,
        _ => Deferral::CrewDays,
    };
    Standing::Deferred {
        action: Action::Inspect,
        reason,
    }
}

/// How the visits go on from a row: by the binding rule, in whole years of at least one.
fn visits(programme: &Programme, duty: &Duty, row: &Row) -> Visits {
    let whole = |years: f64| years.round().clamp(1.0, 1_000.0) as u16;
    let rule: Option<&InspectionRule> = duty.due.map(|due| &programme.inspections[due.rule]);
    let beyond = programme
        .horizon_years
        .max(programme.schedule_years)
        .saturating_add(1);
    let repeat = rule.map_or(beyond, |rule| whole(rule.repeat_years));
    let (first, replace, reinforce) = match row.standing {
        Standing::Planned { action, year, .. } => match action {
            Action::Inspect => (Some(year), None, None),
            Action::Reinforce => (None, None, Some(year)),
            Action::Replace | Action::MakeSafe => (None, Some(year), None),
        },
        Standing::Deferred { action, reason } => {
            let until = match reason {
                Deferral::Decision { until } => until,
                Deferral::CrewDays | Deferral::Money => programme.schedule_years,
            };
            match action {
                Action::Inspect => (Some(until), None, None),
                Action::Reinforce => (None, None, Some(until)),
                Action::Replace | Action::MakeSafe => (None, Some(until), None),
            }
        }
        Standing::NotDue => {
            let due = duty.due.filter(|_| duty.stands);
            let year = |date| programme.year_of(date).clamp(0, i32::from(u16::MAX)) as u16;
            (due.map(|due| year(due.date)), None, None)
        }
    };
    Visits {
        first,
        repeat_years: repeat,
        after_decay_years: rule
            .and_then(|rule| rule.after_decay_years)
            .map_or(repeat, |years| whole(years).min(repeat)),
        first_age_years: rule.map_or(beyond, |rule| whole(rule.first_age_years)),
        braced_years: duty
            .braced_repeat_years
            .map_or(repeat, |years| whole(years).min(repeat)),
        method: duty.method,
        replace,
        reinforce,
        replace_at_age: None,
    }
}
