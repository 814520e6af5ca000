//! The schedule as a set of books: every pole once, packages against rows, crew-days against the limit.

use super::decisions::{is_fixed, not_before};
use super::{Breach, Case};
use crate::pole::{Method, PoleIndex};
use crate::programme::money::Account;
use crate::schedule::{Action, Deferral, Package, PackageIndex, Row, Standing};

/// Slack of crew-day sums: the rounding of adding up to a million small fractions of a day, and far below one pole's
/// part of a day (at least about 0.002).
const CREW_DAY_SLACK: f64 = 1e-6;

/// The same of sums of money, as a share of the limit: the rounding of adding up a million prices.
const MONEY_SLACK: f64 = 1e-8;

/// Rows, visits and ranking hold every pole exactly once, and there is one sum of crew-days a year.
pub(super) fn every_pole_appears_once(case: Case) -> Vec<Breach> {
    let count = case.inventory.len();
    let schedule = case.schedule;
    let mut breaches = Vec::new();
    let lengths = [
        ("rows", schedule.rows.len(), count),
        ("visits", schedule.visits.len(), count),
        ("ranking", schedule.ranking.len(), count),
        ("sums of crew-days", schedule.crew_days.len(), case.years()),
    ];
    for (what, found, expected) in lengths {
        if found != expected {
            breaches.push(general(format!("{found} {what} where {expected} belong")));
        }
    }
    for (place, row) in schedule.rows.iter().enumerate() {
        if row.pole.get() != place {
            breaches.push(general(format!("row {place} is about another pole")));
        }
    }
    let mut seen = vec![false; count];
    for pole in &schedule.ranking {
        match seen.get_mut(pole.get()) {
            Some(first @ false) => *first = true,
            _ => breaches.push(general(format!(
                "place {} is ranked twice or unknown",
                pole.0
            ))),
        }
    }
    breaches
}

/// The ranking goes by priority, then by the value of a visit.
pub(super) fn the_most_urgent_come_first(case: Case) -> Vec<Breach> {
    let rows: Vec<&Row> = case
        .schedule
        .ranking
        .iter()
        .map(|pole| case.schedule.row(*pole))
        .collect();
    rows.windows(2)
        .filter(|pair| {
            let order = pair[0].priority.cmp(&pair[1].priority);
            order
                .then(pair[1].value_of_visit.total_cmp(&pair[0].value_of_visit))
                .is_gt()
        })
        .map(|pair| {
            case.breach(
                pair[1].pole,
                "is more urgent than the pole ranked before it",
            )
        })
        .collect()
}

/// No row and no package is planned for a year outside the schedule.
pub(super) fn planned_years_lie_in_the_schedule(case: Case) -> Vec<Breach> {
    let outside = |year: u16| usize::from(year) >= case.years();
    let rows = case
        .schedule
        .rows
        .iter()
        .filter(|row| matches!(row.standing, Standing::Planned { year, .. } if outside(year)));
    let packages = case
        .schedule
        .packages
        .iter()
        .filter(|package| package.year.is_some_and(outside));
    rows.map(|row| case.breach(row.pole, "is planned for a year outside the schedule"))
        .chain(packages.map(|package| {
            general(format!(
                "package {} is planned for a year outside the schedule",
                package.name
            ))
        }))
        .collect()
}

/// Each planned inspection is in exactly one package of its year and method, and each pole of a package is planned in it.
pub(super) fn packages_and_rows_agree(case: Case) -> Vec<Breach> {
    let mut breaches = Vec::new();
    let mut times_packed = vec![0_usize; case.inventory.len()];
    for (place, package) in case.schedule.packages.iter().enumerate() {
        let index = PackageIndex(place as u32);
        for pole in &package.poles {
            let Some(times) = times_packed.get_mut(pole.get()) else {
                breaches.push(general(format!(
                    "package {} holds an unknown pole",
                    package.name
                )));
                continue;
            };
            *times += 1;
            if !belongs(case.schedule.row(*pole), index, package) {
                let what = format!("is in package {}, its row says otherwise", package.name);
                breaches.push(case.breach(*pole, &what));
            }
        }
    }
    for row in &case.schedule.rows {
        let expected = usize::from(planned_inspection(row).is_some());
        let found = times_packed[row.pole.get()];
        if found != expected {
            let what = format!("is in {found} packages where {expected} are right");
            breaches.push(case.breach(row.pole, &what));
        }
    }
    breaches
}

/// Whether a row says what the package that holds its pole says.
fn belongs(row: &Row, index: PackageIndex, package: &Package) -> bool {
    planned_inspection(row)
        .is_some_and(|(year, own)| own == Some(index) && package.year == Some(year))
        && row.method == Some(package.method)
}

/// Year and package of a planned inspection.
fn planned_inspection(row: &Row) -> Option<(u16, Option<PackageIndex>)> {
    match row.standing {
        Standing::Planned {
            action: Action::Inspect,
            year,
            package,
        } => Some((year, package)),
        _ => None,
    }
}

/// A package's crew-days are its poles over the productivity, and a year's are the sum of its packages.
pub(super) fn crew_days_add_up(case: Case) -> Vec<Breach> {
    let mut breaches = Vec::new();
    for package in &case.schedule.packages {
        let days = package.poles.len() as f64 * days_for_one(case, package.method);
        if !close(days, package.crew_days) {
            breaches.push(general(format!(
                "package {} takes {days} crew-days, not {}",
                package.name, package.crew_days
            )));
        }
    }
    for (year, days) in days_by_year(case).iter().enumerate() {
        let stated = case.schedule.crew_days.get(year).copied().unwrap_or(0.0);
        if !close(*days, stated) {
            breaches.push(general(format!(
                "plan year {year} takes {days} crew-days, not {stated}"
            )));
        }
    }
    breaches
}

/// No year takes more crew-days than there are, but for what the owner fixed in it.
pub(super) fn crews_do_not_work_more_than_they_can(case: Case) -> Vec<Breach> {
    let limit = case.programme.crews.crew_days_per_year;
    let fixed = days_of(case, |pole| is_fixed(case, pole));
    days_by_year(case)
        .iter()
        .zip(fixed)
        .enumerate()
        .filter(|(_, (days, fixed))| days.is_nan() || **days > limit.max(*fixed) + CREW_DAY_SLACK)
        .map(|(year, (days, _))| {
            general(format!(
                "plan year {year} takes {days} crew-days of {limit}"
            ))
        })
        .collect()
}

/// No year's inspections cost more than its limit of operating money, but for what the owner fixed in it.
pub(super) fn inspections_cost_no_more_than_there_is(case: Case) -> Vec<Breach> {
    let fixed = cost_of(case, |pole| is_fixed(case, pole));
    let all = cost_of(case, |_| true).into_iter().zip(fixed).enumerate();
    let over = |(year, (cost, fixed)): (usize, (f64, f64))| {
        let limit = money_of(case, year)?;
        let most = limit.max(fixed);
        let is_over = cost.is_nan() || cost > most + MONEY_SLACK * most.max(1.0);
        is_over.then(|| {
            general(format!(
                "plan year {year} takes {cost} for inspections, of {limit}"
            ))
        })
    };
    all.filter_map(over).collect()
}

/// A pole is deferred for want of crew-days or money only when no year has room for it, and planned after the year in which it
/// is due only when no year in between has.
pub(super) fn nothing_waits_while_crews_have_room(case: Case) -> Vec<Breach> {
    let room: Vec<f64> = days_by_year(case)
        .iter()
        .map(|days| case.programme.crews.crew_days_per_year - days)
        .collect();
    let spent = cost_of(case, |_| true);
    let has_room = |row: &Row, years: std::ops::Range<usize>| {
        let method = row.method.unwrap_or(case.programme.policy.method);
        let days = days_for_one(case, method);
        let cost = case.programme.costs.inspection[method.index()];
        let affords = |year: usize| {
            money_of(case, year)
                .is_none_or(|limit| spent[year] + cost <= limit * (1.0 - MONEY_SLACK))
        };
        let mut years = years.filter(|year| *year < room.len());
        years.any(|year| days <= room[year] - CREW_DAY_SLACK && affords(year))
    };
    case.schedule
        .rows
        .iter()
        .filter(|row| {
            let first = usize::from(not_before(case, row.pole));
            let due_year = row
                .due
                .map_or(0, |due| case.programme.year_of(due.date).max(0) as usize)
                .max(first);
            match row.standing {
                Standing::Deferred {
                    reason: Deferral::CrewDays | Deferral::Money,
                    ..
                } => has_room(row, first.min(room.len())..room.len()),
                Standing::Planned {
                    action: Action::Inspect,
                    year,
                    ..
                } => {
                    due_year < usize::from(year)
                        && row.due.is_some()
                        && !is_fixed(case, row.pole)
                        && has_room(row, due_year..usize::from(year))
                }
                _ => false,
            }
        })
        .map(|row| case.breach(row.pole, "waits although crews have room"))
        .collect()
}

/// Crew-days that one pole takes.
fn days_for_one(case: Case, method: Method) -> f64 {
    1.0 / case.programme.crews.poles_per_crew_day[method.index()]
}

/// The limit of operating money of a plan year.
fn money_of(case: Case, year: usize) -> Option<f64> {
    case.programme.budget.limit(Account::Operating, year as u16)
}

/// What the inspections of every plan year cost, of those poles of its packages that `counts` counts.
fn cost_of(case: Case, counts: impl Fn(PoleIndex) -> bool) -> Vec<f64> {
    by_year(case, counts, |method| {
        case.programme.costs.inspection[method.index()]
    })
}

/// Crew-days of every plan year, from the packages' poles alone.
fn days_by_year(case: Case) -> Vec<f64> {
    days_of(case, |_| true)
}

/// Crew-days of every plan year, of those poles of its packages that `counts` counts.
fn days_of(case: Case, counts: impl Fn(PoleIndex) -> bool) -> Vec<f64> {
    by_year(case, counts, |method| days_for_one(case, method))
}

/// Sums over the poles of each plan year's packages, of those that `counts` counts, by what one takes.
fn by_year(
    case: Case,
    counts: impl Fn(PoleIndex) -> bool,
    of_one: impl Fn(Method) -> f64,
) -> Vec<f64> {
    let mut sums = vec![0.0; case.years()];
    for package in &case.schedule.packages {
        let year = package.year.map(usize::from);
        if let Some(sum) = year.and_then(|year| sums.get_mut(year)) {
            let poles = package.poles.iter().filter(|pole| counts(**pole)).count();
            *sum += poles as f64 * of_one(package.method);
        }
    }
    sums
}

fn close(one: f64, other: f64) -> bool {
    (one - other).abs() <= CREW_DAY_SLACK
}

/// A breach that is about no single pole.
fn general(what: String) -> Breach {
    Breach { pole: None, what }
}
