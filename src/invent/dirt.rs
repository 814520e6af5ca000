//! The faults of real lists, put into clean ones: what an owner's data are like on a normal day.
//!
//! Works on rows of text cells and knows their columns. Every fault is one that reading must name, never one that
//! would stop a run (codes of verdicts and methods stay in the owner's list of codes).

use super::dice::Dice;
use super::list::{Row, column};

/// A fault of one row, and the share of rows that have it.
type Fault = (f64, fn(&mut Row, &mut Dice));

const POLE_FAULTS: [Fault; 14] = [
    (0.003, swap_places),
    (0.003, |row, _| {
        put(row, column::LONGITUDE, "0");
        put(row, column::LATITUDE, "0");
    }),
    (0.001, |row, _| {
        change(row, column::LONGITUDE, |cell| {
            cell.trim_start_matches('-').to_owned()
        });
    }),
    (0.001, |row, _| put(row, column::LATITUDE, "")),
    (0.010, |row, _| put(row, column::YEAR_SET, "1900")),
    (0.001, |row, _| put(row, column::YEAR_SET, "unknown")),
    // A pole replaced under its old number: its findings are older than it is.
    (0.003, |row, _| put(row, column::YEAR_SET, "2024")),
    (0.030, |row, _| lower(row, column::SPECIES)),
    (0.030, |row, _| lower(row, column::PRESERVATIVE)),
    (0.004, |row, _| put(row, column::PRESERVATIVE, "X9")),
    (0.002, |row, _| put(row, column::SPECIES, "BIRCH?")),
    (0.010, |row, _| change(row, column::DIAMETER, with_unit)),
    (0.030, |row, _| {
        change(row, column::LENGTH, |cell| cell.replace('.', ","));
    }),
    (0.001, ragged),
];

const INSPECTION_FAULTS: [Fault; 7] = [
    (0.020, |row, _| lower(row, column::VERDICT)),
    (0.020, |row, _| lower(row, column::METHOD)),
    (0.003, |row, _| {
        // Only the year is known.
        change(row, column::DATE, |cell| cell.chars().take(4).collect());
    }),
    (0.0005, |row, _| put(row, 0, "XX-999.999")),
    (0.0005, |row, _| put(row, column::DATE, "31.02.1999")),
    (0.002, |row, dice| {
        put(row, column::REMARKS, dice.pick(&REMARKS));
    }),
    (0.0005, ragged),
];

const REMARKS: [(&str, f64); 4] = [
    ("tag hard to read, \"7\" or \"1\"", 1.0),
    ("=see sketch", 1.0),
    ("fence; dog, ask first", 1.0),
    ("ivy removed", 1.0),
];

/// Spoils a pole list and its inspection records.
pub(super) fn spoil(seed: u64, poles: &mut Vec<Row>, inspections: &mut Vec<Row>) {
    let mut dice = Dice::of(seed, "dirt");
    repeat_some(poles, 0.002, &mut dice, |copy, dice| {
        // Half of the repeated poles differ from the first entry.
        if dice.chance(0.5) {
            put(copy, column::YEAR_SET, "");
            put(copy, column::DIAMETER, "");
        }
    });
    repeat_some(inspections, 0.001, &mut dice, |_, _| {});
    for (rows, faults) in [
        (&mut *poles, &POLE_FAULTS[..]),
        (&mut *inspections, &INSPECTION_FAULTS[..]),
    ] {
        for row in rows.iter_mut() {
            for (share, fault) in faults {
                if dice.chance(*share) {
                    fault(row, &mut dice);
                }
            }
        }
    }
    blank_some(poles, 8, &mut dice);
    blank_some(inspections, 12, &mut dice);
    lose_ids(poles, 3, &mut dice);
}

fn put(row: &mut Row, place: usize, text: &str) {
    change(row, place, |_| text.to_owned());
}

fn change(row: &mut Row, place: usize, change: impl Fn(&str) -> String) {
    if let Some(cell) = row.get_mut(place) {
        *cell = change(cell);
    }
}

fn lower(row: &mut Row, place: usize) {
    change(row, place, |cell| format!(" {}", cell.to_lowercase()));
}

fn with_unit(cell: &str) -> String {
    if cell.is_empty() {
        return String::new();
    }
    format!("{cell} mm")
}

fn swap_places(row: &mut Row, _: &mut Dice) {
    if row.len() > column::LATITUDE {
        row.swap(column::LONGITUDE, column::LATITUDE);
    }
}

/// A row with cells lost at its end, or with one too many.
fn ragged(row: &mut Row, dice: &mut Dice) {
    if dice.chance(0.5) {
        row.truncate(row.len().saturating_sub(3));
    } else {
        row.push("x".to_owned());
    }
}

fn repeat_some(
    rows: &mut Vec<Row>,
    share: f64,
    dice: &mut Dice,
    differ: impl Fn(&mut Row, &mut Dice),
) {
    let mut spoiled = Vec::with_capacity(rows.len());
    for row in rows.drain(..) {
        let copy = dice.chance(share).then(|| {
            let mut copy = row.clone();
            differ(&mut copy, dice);
            copy
        });
        spoiled.push(row);
        spoiled.extend(copy);
    }
    *rows = spoiled;
}

fn blank_some(rows: &mut Vec<Row>, count: usize, dice: &mut Dice) {
    for _ in 0..count {
        let place = dice.whole(0, rows.len() as i32) as usize;
        rows.insert(place, Vec::new());
    }
}

fn lose_ids(rows: &mut [Row], count: usize, dice: &mut Dice) {
    for _ in 0..count.min(rows.len()) {
        let place = dice.whole(0, rows.len() as i32 - 1) as usize;
        put(&mut rows[place], 0, "");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(count: usize, cells: usize) -> Vec<Row> {
        (0..count)
            .map(|row| (0..cells).map(|cell| format!("R{row}C{cell}.5")).collect())
            .collect()
    }

    #[test]
    fn dirt_is_moderate_and_loses_no_row() {
        let (clean_poles, clean_inspections) = (rows(5000, 16), rows(9000, 11));
        let (mut poles, mut inspections) = (clean_poles.clone(), clean_inspections.clone());
        spoil(1, &mut poles, &mut inspections);
        let blank = |rows: &[Row]| rows.iter().filter(|row| row.is_empty()).count();
        assert_eq!((blank(&poles), blank(&inspections)), (8, 12));
        assert!(poles.len() - 8 > clean_poles.len());
        assert!(inspections.len() - 12 > clean_inspections.len());
        let touched = poles
            .iter()
            .filter(|row| !clean_poles.contains(row))
            .count();
        // The shares add up to 0.129; a row may have two faults.
        assert!((400..800).contains(&touched), "{touched}");
        let missing = poles
            .iter()
            .filter(|row| row.first().is_some_and(String::is_empty));
        assert!((1..=3).contains(&missing.count()));
    }

    #[test]
    fn a_short_row_is_left_as_it_is() {
        let mut row: Row = vec!["P-1".to_owned()];
        let mut dice = Dice::of(1, "short");
        for (_, fault) in POLE_FAULTS {
            fault(&mut row, &mut dice);
        }
        assert!(row.len() <= 2, "{row:?}");
    }
}
