//! Which rows are about which pole: repeats of an id, and which of them counts whatever the order of the file.

use super::table::Row;
use crate::problem::{Code, Problem};
use crate::programme::sources::Field;
use std::collections::BTreeMap;

/// A row with its id.
#[derive(Debug, Clone, Copy)]
pub(super) struct Candidate<'a> {
    pub id: &'a str,
    pub row: Row<'a>,
}

/// One row for each id, in the order of ids; problems for the others, which are set aside.
///
/// The most complete row counts, among equally complete ones that with the smallest content, field by field. Row
/// numbers only choose between rows that say the same.
pub(super) fn one_row_an_id<'a>(
    candidates: &[Candidate<'a>],
    problems: &mut Vec<Problem>,
) -> Vec<Candidate<'a>> {
    let mut by_id: BTreeMap<&str, Vec<Candidate<'a>>> = BTreeMap::new();
    for candidate in candidates {
        by_id.entry(candidate.id).or_default().push(*candidate);
    }
    let mut kept = Vec::with_capacity(by_id.len());
    for mut rows in by_id.into_values() {
        if rows.len() > 1 {
            rows.sort_by_cached_key(|candidate| {
                let content = candidate.row.content();
                (usize::MAX - content.len(), content, candidate.row.source())
            });
            report_repeats(&rows, problems);
        }
        kept.extend(rows.first());
    }
    kept
}

fn report_repeats(rows: &[Candidate<'_>], problems: &mut Vec<Problem>) {
    let Some((first, others)) = rows.split_first() else {
        return;
    };
    let content = first.row.content();
    let place = format!("{} row {}", first.row.bound.table.file, first.row.line);
    for other in others {
        let (code, what) = if other.row.content() == content {
            (
                Code::RepeatedRow,
                format!("{} stands in {place} with the same content", first.id),
            )
        } else {
            (
                Code::RepeatedId,
                format!("{} is also {place}, with another content", first.id),
            )
        };
        problems.push(
            other
                .row
                .problem(code, Field::Id, other.id, what, "set aside"),
        );
    }
}

/// The id without what people and spreadsheets change: case, blanks, marks between, zeros in front.
pub(super) fn plain_id(id: &str) -> String {
    let plain: String = id
        .chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect();
    plain.trim_start_matches('0').to_owned()
}
