//! Rows of pole lists about poles that are gone: they are out of scope for the plan, and what was found in them is kept.
//!
//! A row with a day of removal joins the records of poles that are gone, with its inspections. Where a pole of the same id
//! stands today, what is older than the removal is the old pole's. Owns these rules; plans for none of these poles.

use super::dates::Day;
use super::history::{Ending, History};
use super::poles::{Listed, PoleLists, facts_with_names, status_of};
use super::table::Row;
use super::words::{Coded, Unmapped, read_code};
use crate::inventory::{Ended, Names};
use crate::pole::{Assistance, Inspection, RemovalCause, Verdict};
use crate::problem::Problem;
use crate::programme::Programme;
use crate::programme::sources::Field;
use crate::units::{Date, years_between};
use std::borrow::Cow;

/// Years between two days of removal of one id that are taken for one removal, recorded in two lists.
const SAME_REMOVAL_YEARS: f64 = 1.0;
/// Years from a failure to the day on which its pole left the list.
const FAILURE_TO_REMOVAL_YEARS: f64 = 1.0;

/// Adds the poles that the lists hold as removed, so that their inspections find them; [`super::leave`] takes them out
/// again.
pub(super) fn add_departed<'a>(
    lists: &mut PoleLists<'a>,
    history: &mut History<'a>,
    programme: &Programme,
    names: &mut Names,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) {
    let mut departed: Vec<(&'a str, Day, Row<'a>)> = std::mem::take(&mut lists.departed)
        .into_iter()
        .filter_map(|(id, row)| Some((id, status_of(row, programme.plan_from).1?, row)))
        .collect();
    // The latest first: it is the one that the id means where several went under it.
    departed.sort_by_cached_key(|(id, day, row)| {
        (
            *id,
            std::cmp::Reverse(day.date),
            row.content(),
            row.source(),
        )
    });
    departed.dedup_by(|later, earlier| {
        later.0 == earlier.0
            && years_between(later.1.date, earlier.1.date).abs() < SAME_REMOVAL_YEARS
    });
    let mut alone: Vec<Listed<'a>> = Vec::new();
    for (id, day, row) in departed {
        let pole = facts_with_names(row, id, programme, names, unmapped, problems);
        let ending = Ending {
            row,
            day,
            because: Ended::Removed,
            pole: pole.0,
            cause: cause_on_record(row, unmapped),
        };
        let stands = lists
            .poles
            .binary_search_by(|listed| listed.id.as_ref().cmp(id))
            .is_ok();
        if stands || history.departed.contains(id) {
            let known = history.predecessors.entry(id).or_default();
            let same = known
                .iter_mut()
                .find(|other| years_between(other.day.date, day.date).abs() < SAME_REMOVAL_YEARS);
            match same {
                // The record of the work has the day; the list knows the old pole.
                Some(other) => {
                    other.pole = ending.pole;
                    other.cause = other.cause.or(ending.cause);
                }
                None => known.push(ending),
            }
            known.sort_by_key(|ending| ending.day.date);
        } else {
            alone.push(Listed {
                id: Cow::Borrowed(id),
                row,
                pole: pole.0,
                set: pole.1,
            });
            history.ended.insert(id, ending);
            history.departed.insert(id);
        }
        lists.out_of_scope.remove(id);
    }
    lists.poles.extend(alone);
    lists.poles.sort_by(|one, other| one.id.cmp(&other.id));
}

fn cause_on_record(row: Row<'_>, unmapped: &mut Unmapped) -> Option<RemovalCause> {
    let codes = &row.bound.source.codes.removed_cause;
    let coded = read_code(row, Field::RemovedCause, codes);
    if coded == Coded::Unmapped {
        unmapped.count(row, Field::RemovedCause);
    }
    coded.known()
}

/// Why a pole is gone, where no list says: a failure on record about that day, else a reject as its last word, else
/// something that its wood has nothing to do with.
pub(super) fn likely_cause(
    failures: &[(Date, Option<Assistance>)],
    ended: Date,
    inspections: &[Inspection],
) -> RemovalCause {
    let failure = failures.iter().find(|(date, _)| {
        let years = years_between(*date, ended);
        (0.0..=FAILURE_TO_REMOVAL_YEARS).contains(&years)
    });
    if let Some((_, assisted)) = failure {
        return match assisted {
            Some(Assistance::Assisted) => RemovalCause::Other,
            _ => RemovalCause::Failed,
        };
    }
    let last = inspections
        .iter()
        .filter(|look| look.date <= ended && look.verdict != Verdict::NotInspected)
        .max_by_key(|look| look.date);
    match last {
        Some(look) if look.verdict.is_reject() => RemovalCause::Condemned,
        _ => RemovalCause::Other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::inspected;
    use crate::intake::tests::table;
    use crate::intake::{Tables, take_in_all};
    use crate::inventory::Inventory;
    use crate::pole::Method;
    use crate::programme::text::read;
    use jiff::civil::date;
    use std::path::Path;

    fn taken() -> Inventory {
        let poles = table(
            "p",
            "id,line,set_date,species,status,removed_date,removed_cause
            A1,North,1970,pine,in_service,,
            A2,North,1971,pine,removed,2019-03-01,
            A3,North,2018,spruce,,,
            A3,North,1965,pine,removed,2018-02-01,condemned
            A4,North,1972,pine,removed,2020-08-01,
            A5,North,1972,pine,removed,,",
        );
        let inspections = table(
            "i",
            "id,date,method,verdict
            A2,2018-05-01,sound_and_bore,reject_replace
            A3,2016-05-01,sound_and_bore,sound
            A3,2021-05-01,sound_and_bore,sound
            A5,2016-05-01,sound_and_bore,sound",
        );
        let failures = table("f", "id,date\nA4,2020-07-20");
        let text = "plan_from = 2026-01-01\n[[poles]]\nfile = \"p\"\n[[inspections]]\nfile = \"i\"\n[[failures]]\nfile = \"f\"";
        let programme = read(text, Path::new("p.toml")).expect("a programme");
        let tables = Tables {
            poles: &[poles],
            inspections: &[inspections],
            work_done: &[],
            failures: &[failures],
            decisions: &[],
        };
        take_in_all(&tables, &programme).expect("tables").0
    }

    #[test]
    fn rows_of_removed_poles_keep_their_findings_and_plan_for_nothing() {
        let inventory = taken();
        let ids: Vec<&str> = inventory.indices().map(|pole| inventory.id(pole)).collect();
        assert_eq!(ids, ["A1", "A3"]);
        let gone: Vec<_> = inventory
            .removed
            .iter()
            .map(|gone| {
                (
                    gone.id.as_str(),
                    gone.pole.installed.map(Date::year),
                    gone.cause,
                    gone.inspections.len(),
                )
            })
            .collect();
        // A2 by its last word, A3 as recorded, A4 by the failure; of A5 nobody says when it went.
        assert_eq!(
            gone,
            [
                ("A2", Some(1971), RemovalCause::Condemned, 1),
                ("A3", Some(1965), RemovalCause::Condemned, 1),
                ("A4", Some(1972), RemovalCause::Failed, 0),
            ]
        );
        let new = inventory.find("A3").expect("the pole that stands");
        assert_eq!(inventory.inspections_of(new).len(), 1);
        let rows = inventory.pole_rows;
        assert_eq!((rows.read, rows.used, rows.out_of_scope), (6, 2, 4));
        let rows = inventory.inspection_rows;
        assert_eq!((rows.read, rows.used, rows.out_of_scope), (4, 3, 1));
        assert_eq!(inventory.failure_rows.used, 1);
        assert_eq!(inventory.begun_by_work, 0);
    }

    #[test]
    fn what_brought_a_pole_down_decides_before_its_last_verdict() {
        let reject = [inspected(
            date(2018, 5, 1),
            Method::SoundAndBore,
            Verdict::RejectReplace,
        )];
        let ended = date(2020, 8, 1);
        let failed = |assisted| [(date(2020, 7, 1), assisted)];
        assert_eq!(likely_cause(&[], ended, &reject), RemovalCause::Condemned);
        assert_eq!(
            likely_cause(&failed(None), ended, &reject),
            RemovalCause::Failed
        );
        assert_eq!(
            likely_cause(&failed(Some(Assistance::Assisted)), ended, &reject),
            RemovalCause::Other
        );
        assert_eq!(likely_cause(&[], ended, &[]), RemovalCause::Other);
    }
}
