//! Which rows are about which pole: repeats of an id, and which of them counts whatever the order of the file.

use super::table::Row;
use crate::parallel::sort_by;
use crate::problem::{Code, Problem};
use crate::programme::sources::Field;

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
    mut candidates: Vec<Candidate<'a>>,
    problems: &mut Vec<Problem>,
) -> Vec<Candidate<'a>> {
    sort_by(&mut candidates, |one, other| one.id.cmp(other.id));
    let mut kept = Vec::with_capacity(candidates.len());
    for rows in candidates.chunk_by_mut(|one, other| one.id == other.id) {
        if rows.len() > 1 {
            rows.sort_by_cached_key(|candidate| {
                let content = candidate.row.content();
                (usize::MAX - content.len(), content, candidate.row.source())
            });
            report_repeats(rows, problems);
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

/// Every so many of the ids are looked at first: these stay in a processor's memory while millions are looked up.
const STEP: usize = 64;

/// Ids in their order, to be found again. They are copied side by side: those that are compared lie near each other, wherever
/// their rows stand in a list.
pub(super) struct Ids {
    all: Packed,
    /// The first of each [`STEP`].
    steps: Packed,
}

/// Texts one after the other.
#[derive(Default)]
struct Packed {
    text: String,
    ends: Vec<usize>,
}

impl Packed {
    fn push(&mut self, text: &str) {
        self.text.push_str(text);
        self.ends.push(self.text.len());
    }

    fn get(&self, place: usize) -> Option<&str> {
        let end = *self.ends.get(place)?;
        let start = place.checked_sub(1).map_or(0, |before| self.ends[before]);
        Some(&self.text[start..end])
    }

    /// How many of the texts from `first` on and before `until` come before `text` or are it.
    fn up_to(&self, text: &str, first: usize, until: usize) -> usize {
        let (mut low, mut high) = (first, until.min(self.ends.len()));
        while low < high {
            let middle = usize::midpoint(low, high);
            if self.get(middle).is_some_and(|known| known <= text) {
                low = middle + 1;
            } else {
                high = middle;
            }
        }
        low - first
    }
}

impl Ids {
    /// Of ids that are in their order.
    pub(super) fn of<'a>(ids: impl Iterator<Item = &'a str>) -> Self {
        let (mut all, mut steps) = (Packed::default(), Packed::default());
        for (place, id) in ids.enumerate() {
            all.push(id);
            if place % STEP == 0 {
                steps.push(id);
            }
        }
        Self { all, steps }
    }

    /// The place of an id. `last` is where the one before was found, since rows of one pole and of its neighbour often stand
    /// together; it becomes that of this one.
    pub(super) fn find(&self, id: &str, last: &mut usize) -> Option<usize> {
        let is_here = |place: usize| self.all.get(place) == Some(id);
        let beside = [*last, *last + 1];
        let near = beside.into_iter().find(|place| is_here(*place));
        let place = near.or_else(|| {
            let step = self.steps.up_to(id, 0, usize::MAX).checked_sub(1)? * STEP;
            let place = step + self.all.up_to(id, step, step + STEP).checked_sub(1)?;
            is_here(place).then_some(place)
        })?;
        *last = place;
        Some(place)
    }
}

/// The id without what people and spreadsheets change: case, blanks, marks between, zeros in front.
pub(super) fn plain_id(id: &str) -> String {
    if id.is_ascii() {
        let letters = id.bytes().filter(u8::is_ascii_alphanumeric);
        let letters = letters.skip_while(|byte| *byte == b'0');
        return letters
            .map(|byte| char::from(byte.to_ascii_lowercase()))
            .collect();
    }
    let plain: String = id
        .chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect();
    plain.trim_start_matches('0').to_owned()
}

#[cfg(test)]
mod tests {
    use super::{Ids, STEP, plain_id};

    #[test]
    fn every_id_is_found_from_anywhere_and_no_other() {
        for count in [0, 1, STEP - 1, STEP, STEP + 1, 5 * STEP + 7] {
            let ids: Vec<String> = (0..count).map(|number| format!("A{number:04}")).collect();
            let all = Ids::of(ids.iter().map(String::as_str));
            for from in [0, count / 2, count] {
                for (place, id) in ids.iter().enumerate() {
                    let mut last = from;
                    assert_eq!(all.find(id, &mut last), Some(place));
                    assert_eq!(last, place);
                    assert_eq!(all.find(&format!("{id}x"), &mut last), None);
                }
                let mut last = from;
                assert_eq!(all.find("", &mut last).or(all.find("B", &mut last)), None);
                assert_eq!(last, from);
            }
        }
    }

    #[test]
    fn ids_are_plain_in_any_script() {
        assert_eq!(plain_id("00-A 7/b_0"), "a7b0");
        assert_eq!(plain_id("0-\u{c4}0"), "\u{e4}0");
        assert_eq!(plain_id("-0"), "");
    }
}
