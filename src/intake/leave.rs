//! Poles that records of work took away leave the list, with their inspections.
//!
//! Unless an inspection saw them afterwards: a pole that was looked into stands, whatever a record of work says, and the
//! safe mistake is to plan for it.

use super::history::{Ending, History};
use super::inspections::Recorded;
use super::poles::PoleLists;
use crate::inventory::Removal;
use crate::pole::{Inspection, Status, Verdict};
use crate::problem::{Code, Problem};
use crate::programme::Programme;
use crate::programme::sources::Field;

/// Moves the poles that ended from the lists to the records of poles that are gone; rows are counted anew.
pub(super) fn take_out(
    lists: &mut PoleLists<'_>,
    found: &mut Recorded,
    history: &History<'_>,
    programme: &Programme,
    problems: &mut Vec<Problem>,
) {
    let statuses = &programme.scope.statuses;
    let removed_in_scope = statuses.is_empty() || statuses.contains(&Status::Removed);
    if history.ended.is_empty() {
        return;
    }
    let poles = std::mem::take(&mut lists.poles);
    let counts = std::mem::take(&mut found.counts);
    let mut end = 0;
    let mut kept = 0;
    for (mut listed, count) in poles.into_iter().zip(counts) {
        let start = end;
        end += count as usize;
        let own = &found.inspections[start..end];
        let ending = history.ended.get(listed.id.as_ref());
        match ending {
            Some(ending)
                if !history.departed.contains(listed.id.as_ref()) && seen_after(ending, own) =>
            {
                listed.pole.status = Status::InService;
                listed.pole.removed = None;
                let what = format!("{} was inspected after this work", listed.id);
                let (code, field) = (Code::SeenAfterRemoval, Field::Date);
                let done = "the pole stays in the plan";
                problems.push(ending.row.problem(code, field, &listed.id, what, done));
            }
            Some(ending) if !removed_in_scope => {
                let id = listed.id.as_ref();
                let departed = history.departed.contains(id);
                // A pole that another record of work began has no row in a list of poles; one that a list holds as
                // removed was never counted as used.
                if !departed && !history.begun.contains(id) {
                    lists.rows.used -= 1;
                    lists.rows.out_of_scope += 1;
                }
                found.predecessors.push(Removal {
                    cause: history.cause(id, ending, own),
                    pole: if departed { listed.pole } else { ending.pole },
                    id: listed.id.into_owned(),
                    ended: ending.day.date,
                    because: ending.because,
                    inspections: own.to_vec(),
                });
                continue;
            }
            _ => {}
        }
        lists.poles.push(listed);
        found.counts.push(count);
        found.inspections.copy_within(start..end, kept);
        kept += count as usize;
    }
    found.inspections.truncate(kept);
}

/// Whether an inspection looked at the pole after it was taken away.
fn seen_after(ending: &Ending<'_>, inspections: &[Inspection]) -> bool {
    inspections.iter().any(|inspection| {
        inspection.verdict != Verdict::NotInspected && inspection.date > ending.day.latest
    })
}
