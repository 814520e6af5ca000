//! Rows that stand for several poles: lists with counts of size, decade and preservative.
//!
//! Owns the count, the ids of the poles that are made of it and their set dates; what else the row says is read like any
//! row's. Ids come from what a row says, never from where it stands, so that the order of the rows decides nothing.

use super::cells::{Number, read_number};
use super::dates::Day;
use super::poles::Listed;
use super::ranges::spread;
use super::table::Row;
use crate::Error;
use crate::inventory::{CountedRows, Names};
use crate::pole::{Pole, SetFrom};
use crate::problem::{Code, Problem};
use crate::programme::sources::Field;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

/// Poles that all rows with counts may stand for together: more than any list of counts should hold, and what a large
/// machine still plans for.
const MOST_POLES: u64 = 2_000_000;
/// Digits and letters that nobody takes for each other (Crockford's base 32).
const MARKS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
/// Marks of a row in the ids of its poles: 32^4 are a million, enough to tell the rows of one line apart.
const MARKS_OF_A_ROW: u32 = 4;

/// What the count of a row says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stands {
    /// For the one pole that its id names.
    One,
    /// For so many poles without ids.
    Several(u64),
    /// For none that could be told.
    None,
}

/// A row that stands for several poles, with what it says of each.
pub(super) struct Counted<'a> {
    pub row: Row<'a>,
    pub count: u64,
    /// The pole, without its set date.
    pub pole: Pole,
    /// When they were set: the earliest and the latest day.
    pub set: Option<Day>,
    /// Whether the row has coordinates, which are none of a single pole.
    pub has_place: bool,
}

/// What the count of a row says; a problem where it says nothing that can be used.
pub(super) fn read_count(row: Row<'_>, problems: &mut Vec<Problem>) -> Stands {
    let has_id = row.filled(Field::Id).is_some();
    let mut refuse = |code, what: String| {
        let id = row.filled(Field::Id).unwrap_or("");
        problems.push(row.problem(code, Field::Count, id, what, "set aside"));
        Stands::None
    };
    if let Some(word) = row.cells_as_written().find(|cell| is_a_total(cell)) {
        return refuse(Code::TotalRow, format!("the row says \"{word}\""));
    }
    let Some(text) = row.text(Field::Count) else {
        if has_id {
            return Stands::One;
        }
        let what = "there is neither a count nor an id".to_owned();
        return refuse(Code::NoCount, what);
    };
    let value = match whole_number(text) {
        Ok(value) => value,
        Err(what) => return refuse(Code::NoCount, what),
    };
    match value {
        0 => refuse(Code::ZeroCount, "the row stands for no pole".to_owned()),
        1 if has_id => Stands::One,
        count => Stands::Several(count),
    }
}

/// Words for a sum of rows, in small letters without blanks, hyphens and colons.
const TOTALS: [&str; 7] = [
    "total",
    "totals",
    "grandtotal",
    "subtotal",
    "sum",
    "overall",
    "alltotal",
];

/// Whether a cell is nothing but a word for a sum of rows.
fn is_a_total(cell: &str) -> bool {
    let letters = cell.chars().filter(|letter| !" -_:".contains(*letter));
    let word: String = letters.flat_map(char::to_lowercase).collect();
    TOTALS.contains(&word.as_str())
}

/// The whole number that a text holds, or what is wrong with it.
///
/// One separator before three digits is of thousands wherever the number would not be whole otherwise, and a comma
/// always: `1,200` and `1.200` are 1200. But `2.000` may be a two that a data base wrote with three decimals.
fn whole_number(text: &str) -> Result<u64, String> {
    let refused = || format!("\"{text}\" is not a whole number");
    let value = match read_number(text) {
        Some((Number::One(value) | Number::Either(value, _), None)) if value >= 0.0 => value,
        _ => return Err(refused()),
    };
    let thousands = text.trim().split_once('.').filter(|(whole, rest)| {
        let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
        (1..=3).contains(&whole.len()) && rest.len() == 3 && digits(whole) && digits(rest)
    });
    let thousands = thousands.and_then(|(whole, rest)| format!("{whole}{rest}").parse().ok());
    match (thousands, value.fract() == 0.0) {
        (None, true) => Ok(value as u64),
        (Some(thousands), false) => Ok(thousands),
        (Some(0), true) => Ok(0),
        (Some(thousands), true) => Err(format!("{text} is {value} or {thousands}")),
        (None, false) => Err(refused()),
    }
}

/// The poles that the rows stand for, with ids that none of `taken` has; a note for each row.
///
/// # Errors
/// When the counts add up to more poles than can be planned for.
pub(super) fn make_poles<'a>(
    rows: Vec<Counted<'a>>,
    taken: &BTreeSet<&str>,
    names: &Names,
    problems: &mut Vec<Problem>,
) -> Result<(Vec<Listed<'a>>, CountedRows), Error> {
    refuse_too_many(&rows)?;
    let total = CountedRows {
        rows: rows.len(),
        poles: rows.iter().map(|row| row.count as usize).sum(),
    };
    let mut by_stem: BTreeMap<String, Vec<(String, Counted<'a>)>> = BTreeMap::new();
    for row in rows {
        let content = content(&row, names);
        let stem = stem(&row, &content);
        by_stem.entry(stem).or_default().push((content, row));
    }
    let mut poles = Vec::with_capacity(total.poles);
    for (stem, mut rows) in by_stem {
        // Rows that say the same are told apart by their counts, and by their places only where these are the same too.
        rows.sort_by(|(one, a), (other, b)| {
            (one, a.count, a.row.source()).cmp(&(other, b.count, b.row.source()))
        });
        let mut numbers = (1_u64..)
            .map(|number| format!("{stem}-{number:03}"))
            .filter(|id| !taken.contains(id.as_str()));
        for (_, row) in rows {
            let ids: Vec<String> = numbers.by_ref().take(row.count as usize).collect();
            problems.push(note(&row, &ids));
            poles.extend((0..).zip(ids).map(|(place, id)| one_pole(&row, place, id)));
        }
    }
    Ok((poles, total))
}

fn refuse_too_many(rows: &[Counted<'_>]) -> Result<(), Error> {
    let total = rows
        .iter()
        .fold(0_u64, |sum, row| sum.saturating_add(row.count));
    let largest = rows.iter().max_by_key(|row| row.count);
    let Some(largest) = largest.filter(|_| total > MOST_POLES) else {
        return Ok(());
    };
    let file = &largest.row.bound.table.file;
    Err(Error::Unreadable {
        path: PathBuf::from(file),
        what: format!(
            "the counts add up to {total} poles, and {MOST_POLES} are the most that can be planned for; the largest is {} in row {}",
            largest.count, largest.row.line
        ),
        help: format!(
            "is column {} really the number of poles?",
            largest.row.bound.column(Field::Count)
        ),
    })
}

/// Everything that the row says of its poles, in our own units and words, whatever the columns' order.
fn content(row: &Counted<'_>, names: &Names) -> String {
    let pole = &row.pole;
    let name = |index: Option<crate::pole::NameIndex>| index.map_or("", |index| names.get(index));
    // Whole millimetres, so that a list in feet and the same list in metres say the same.
    let whole = |length: Option<crate::units::Mm>| length.map(|mm| mm.0.round() as i64);
    format!(
        "{:?}",
        (
            (name(pole.line), name(pole.district), name(pole.class)),
            (whole(pole.length), whole(pole.diameter)),
            (pole.species, pole.preservative, pole.through_bored),
            (pole.zone, pole.status, pole.consequence, pole.reinforced),
            row.set.map(|day| (day.earliest, day.latest)),
        )
    )
}

/// What the ids of a row's poles begin with: its id, or its line and a mark of its content.
fn stem(row: &Counted<'_>, content: &str) -> String {
    if let Some(id) = row.row.filled(Field::Id) {
        return id.to_owned();
    }
    // 64-bit FNV-1a (Fowler, Noll and Vo).
    let hash = content
        .bytes()
        .fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
        });
    let mark: String = (0..MARKS_OF_A_ROW)
        .map(|place| char::from(MARKS[(hash >> (64 - 5 * (place + 1))) as usize % MARKS.len()]))
        .collect();
    match row.row.text(Field::Line) {
        Some(line) => format!("{line}-{mark}"),
        None => format!("R{mark}"),
    }
}

fn note(row: &Counted<'_>, ids: &[String]) -> Problem {
    let (first, last) = (ids.first(), ids.last());
    let ids = match (first, last) {
        (Some(first), Some(last)) if first != last => format!("{first} to {last}"),
        (first, _) => first.cloned().unwrap_or_default(),
    };
    let set = match row.set {
        None => "; their set dates are unknown".to_owned(),
        Some(day) if day.earliest == day.latest => format!("; set on {}", day.date),
        Some(day) => format!(
            "; set dates spread evenly from {} to {}",
            day.earliest, day.latest
        ),
    };
    let place = if row.has_place {
        "; the coordinates of the row are not theirs"
    } else {
        ""
    };
    let what = format!(
        "the row stands for {}: {ids}{set}{place}",
        super::counted(row.count as usize, "pole")
    );
    let done = "taken as poles with ids of our own making";
    row.row
        .problem(Code::CountedPoles, Field::Count, "", what, done)
}

fn one_pole<'a>(row: &Counted<'a>, place: u32, id: String) -> Listed<'a> {
    let set = row.set.map(|day| Day {
        date: spread(day.earliest, day.latest, place, row.count as u32),
        ..day
    });
    Listed {
        id: Cow::Owned(id),
        row: row.row,
        set,
        pole: Pole {
            installed: set.map(|day| day.date),
            set_from: SetFrom::Count,
            ..row.pole
        },
    }
}

#[cfg(test)]
mod tests {
    use super::whole_number;

    #[test]
    fn counts_are_whole_numbers_as_people_write_them() {
        for (text, count) in [
            ("12", 12),
            ("12.0", 12),
            ("1,200", 1200),
            ("2,000", 2000),
            ("1.200", 1200),
            ("1 200", 1200),
            ("1.234.567", 1_234_567),
            ("0.000", 0),
        ] {
            assert_eq!(whole_number(text), Ok(count), "{text}");
        }
        assert_eq!(whole_number("2.000"), Err("2.000 is 2 or 2000".to_owned()));
        for text in ["2.5", "-3", "3 m", "some", "12 poles"] {
            assert!(whole_number(text).is_err(), "{text}");
        }
    }
}
