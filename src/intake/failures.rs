//! Records of poles that failed: counted by day, never tied to the estimate of the wood.
//!
//! The pole of a failure has usually left the list, so its id need not be known. Owns the reading; knows no model.

use super::dates::{Day, Fault, read_day};
use super::poles::PoleLists;
use super::table::{Bound, Row};
use super::words::{Coded, Unmapped, read_code};
use crate::Error;
use crate::inventory::{Failure, RowCount};
use crate::pole::Assistance;
use crate::problem::{Code, Problem};
use crate::programme::Programme;
use crate::programme::sources::Field;

/// The failures that the files hold with the ids of their poles, oldest first, and the count of rows.
///
/// # Errors
/// When a file has no date.
pub(super) fn read_failures<'a>(
    bounds: &'a [Bound<'a>],
    programme: &Programme,
    lists: &PoleLists<'_>,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> Result<(Vec<(String, Failure)>, RowCount), Error> {
    let mut rows = RowCount::default();
    let mut read: Vec<(&'a str, Day, Row<'a>)> = Vec::new();
    for bound in bounds {
        bound.needs(Field::Date)?;
        problems.extend(bound.problems());
        for row in bound.rows() {
            rows.read += 1;
            let id = row.filled(Field::Id).unwrap_or("");
            if lists.out_of_scope.contains(id) {
                rows.out_of_scope += 1;
                continue;
            }
            match read_date(row, id, programme, problems) {
                Some(day) => read.push((id, day, row)),
                None => rows.set_aside += 1,
            }
        }
    }
    read.sort_by_cached_key(|(id, day, row)| (day.date, *id, row.content(), row.source()));
    let before = read.len();
    read.dedup_by(|later, earlier| {
        let same = !later.0.is_empty() && (later.0, later.1) == (earlier.0, earlier.1);
        if same {
            let place = format!("{} row {}", earlier.2.bound.table.file, earlier.2.line);
            let what = format!("the failure stands in {place} already");
            let (code, field) = (Code::RepeatedFailure, Field::Date);
            problems.push(later.2.problem(code, field, later.0, what, "set aside"));
        }
        same
    });
    rows.set_aside += before - read.len();
    rows.used = read.len();
    let failures = read
        .into_iter()
        .map(|(id, day, row)| {
            doubt_listed(id, day, row, lists, problems);
            let failure = Failure {
                date: day.date,
                assisted: assistance(row, id, unmapped, problems),
                district: None,
            };
            (id.to_owned(), failure)
        })
        .collect();
    Ok((failures, rows))
}

fn read_date(
    row: Row<'_>,
    id: &str,
    programme: &Programme,
    problems: &mut Vec<Problem>,
) -> Option<Day> {
    let text = row.text(Field::Date).unwrap_or("");
    let form = row.bound.source.date_form.as_deref();
    match read_day(text, form, programme.plan_from) {
        Ok(day) => Some(day),
        Err(fault) => {
            let code = if fault == Fault::Future {
                Code::FutureFailure
            } else {
                Code::NoFailureDate
            };
            let what = if text.is_empty() {
                "no date".to_owned()
            } else {
                fault.sentence(text, programme.plan_from)
            };
            problems.push(row.problem(code, Field::Date, id, what, "set aside"));
            None
        }
    }
}

/// Whether something else brought the pole down. Yes and no are understood beside the words.
fn assistance(
    row: Row<'_>,
    id: &str,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> Option<Assistance> {
    let coded = read_code(row, Field::Assisted, &row.bound.source.codes.assisted);
    let plain = row
        .text(Field::Assisted)
        .and_then(super::cells::read_yes_or_no);
    let found = match (coded, plain) {
        (Coded::Known(known), _) => Some(known),
        (_, Some(true)) => Some(Assistance::Assisted),
        (_, Some(false)) => Some(Assistance::Unassisted),
        (Coded::Unmapped, None) => {
            unmapped.count(row, Field::Assisted);
            None
        }
        (Coded::Blank, None) => None,
    };
    if found.is_none() {
        let what = "it is not known whether something brought it down".to_owned();
        let done = "counted apart from both";
        problems.push(row.problem(Code::FailureOfUnknownKind, Field::Assisted, id, what, done));
    }
    found
}

/// A pole that failed and is still listed with an older set date was not entered anew.
fn doubt_listed(
    id: &str,
    day: Day,
    row: Row<'_>,
    lists: &PoleLists<'_>,
    problems: &mut Vec<Problem>,
) {
    let listed = lists
        .poles
        .binary_search_by(|listed| listed.id.as_ref().cmp(id))
        .map(|place| &lists.poles[place]);
    let older = listed.is_ok_and(|listed| {
        let stands = listed.pole.status != crate::pole::Status::Removed;
        stands && listed.set.is_some_and(|set| set.latest < day.earliest)
    });
    if older {
        let what = format!("{id} failed, and the list still has the pole that stood before");
        let done = "the failure is counted; the pole stays as it is listed";
        problems.push(row.problem(Code::FailedStillListed, Field::Id, id, what, done));
    }
}
