//! What must hold of every list that is read, on random dirty lists at fixed seeds: no text panics, every row is
//! accounted for, and neither units nor the order of rows and columns change an answer.

mod common;

use polewright::Inventory;
use polewright::chance::{Key, Purpose, Slot, Stream};
use polewright::intake::{Cells, Table, take_in};
use polewright::inventory::RowCount;
use polewright::pole::{Inspection, Pole};
use polewright::problem::Source;
use polewright::programme::sources::{FIELDS, Field, TableSource};
use polewright::programme::{Programme, Sources};
use polewright::units::LengthUnit;
use rand::Rng;
use std::collections::BTreeMap;
use std::slice::from_ref;

/// Random lists tried by each property.
const LISTS: u32 = 200;

/// Rows of a random list.
const ROWS: usize = 12;

/// What arithmetic in another unit may change: the last digits of a double, several times over.
const SAME_LENGTH: f64 = 1e-9;

/// Cells as they come: sound ones, dirty ones, hostile ones.
const CELLS: [&str; 64] = [
    "",
    " ",
    "0",
    "1",
    "-1",
    "40",
    "35",
    "45",
    "12",
    "300",
    "0.3",
    "1e308",
    "-1e-308",
    "nan",
    "inf",
    "1,234",
    "1.234,5",
    "12,5",
    "40 ft",
    "40'",
    "9 in.",
    "yes",
    "no",
    "maybe",
    "wood",
    "steel",
    "sound",
    "danger",
    "reject_replace",
    "sound_and_bore",
    "patrol",
    "full_excavation",
    "pine",
    "cca",
    "untreated",
    "1985",
    "56",
    "2105",
    "0000-00-00",
    "1985-06-30",
    "30/06/1985",
    "06/30/85",
    "1900-01-01",
    "9999-12-31",
    "-9999",
    "1970s",
    "40-4 Southern Pine",
    "80-H3",
    "12m/180",
    "H4",
    "4.0",
    "91",
    "181",
    "-35.3",
    "45.3",
    "5000000",
    "=1+1",
    "'=x",
    "\u{202e}abc",
    "\u{1f332}",
    "\u{feff}",
    "a\nb",
    "\"",
    "removed, pole gone",
];

/// Ids: few, so that lists repeat them and inspections find them.
const IDS: [&str; 8] = ["A-1", "A-2", "A-3", "B-1", "B-2", "a-1", "", "=A"];

fn chance(number: u32, what: &str) -> Stream {
    Key::of(11, what).stream(number, Slot::new(Purpose::Invent, 0, 0))
}

fn pick<T: Copy>(chance: &mut Stream, from: &[T]) -> T {
    from[chance.next_u32() as usize % from.len()]
}

/// A list with a column for every field, named like the field, filled by chance.
fn list(file: &str, number: u32, fits: impl Fn(Field) -> bool) -> Table {
    let mut chance = chance(number, file);
    let fields: Vec<Field> = FIELDS
        .iter()
        .map(|info| info.field)
        .filter(|field| fits(*field))
        .collect();
    let rows = (0..ROWS).map(|row| {
        let cells = fields.iter().map(|field| match field {
            Field::Id => pick(&mut chance, &IDS).to_owned(),
            Field::Verdict => {
                pick(&mut chance, &["sound", "danger", "reject_replace", ""]).to_owned()
            }
            Field::Method => pick(&mut chance, &["patrol", "sound_and_bore", ""]).to_owned(),
            Field::Date => {
                pick(&mut chance, &["2019-05-01", "2020", "1950", "long ago", ""]).to_owned()
            }
            _ => pick(&mut chance, &CELLS).to_owned(),
        });
        (row as u32 + 2, cells.collect())
    });
    Table {
        file: file.to_owned(),
        rows: rows.collect(),
        columns: fields
            .iter()
            .map(|field| field.info().name.to_owned())
            .collect(),
        ..Table::default()
    }
}

fn programme() -> Programme {
    let source = |file: &str| TableSource {
        file: file.to_owned(),
        ..TableSource::default()
    };
    Programme {
        sources: Sources {
            poles: vec![source("poles.csv")],
            inspections: vec![source("inspections.csv")],
            ..Sources::default()
        },
        ..common::programme()
    }
}

fn lists(number: u32) -> (Table, Table) {
    // Counts make poles of their own; they have their own tests.
    let of_poles = |field: Field| field.info().of_poles && field.info().name != "count";
    let of_inspections = |field: Field| field.info().of_inspections;
    (
        list("poles.csv", number, of_poles),
        list("inspections.csv", number, of_inspections),
    )
}

/// Everything but the places in the files.
fn content(inventory: &Inventory) -> (Vec<(String, Pole)>, Vec<Inspection>) {
    let nowhere = Source { file: 0, row: 0 };
    let poles = inventory.indices().map(|index| {
        let pole = Pole {
            source: nowhere,
            ..*inventory.pole(index)
        };
        (inventory.id(index).to_owned(), pole)
    });
    let inspections = inventory.inspections().iter().map(|own| Inspection {
        source: nowhere,
        ..*own
    });
    (poles.collect(), inspections.collect())
}

/// A table with its rows and columns in another order.
fn turned(table: &Table) -> Table {
    let back = |cells: Cells<'_>| cells.iter().rev().map(str::to_owned).collect();
    Table {
        columns: table.columns.iter().rev().cloned().collect(),
        rows: table
            .rows
            .iter()
            .rev()
            .map(|(line, cells)| (line, back(cells)))
            .collect(),
        ..table.clone()
    }
}

fn assert_adds_up(rows: RowCount) {
    assert_eq!(
        rows.read,
        rows.used + rows.out_of_scope + rows.set_aside,
        "{rows:?}"
    );
}

#[test]
fn no_text_panics_and_every_row_is_accounted_for() {
    let programme = programme();
    let mut read = 0;
    for number in 0..LISTS {
        let (poles, inspections) = lists(number);
        let (inventory, problems) =
            take_in(&[poles], &[inspections], &programme).expect("codes are all mapped");
        assert_eq!(inventory.pole_rows.read, ROWS);
        assert_eq!(inventory.inspection_rows.read, ROWS);
        assert_adds_up(inventory.pole_rows);
        assert_adds_up(inventory.inspection_rows);
        assert!(
            problems
                .list
                .iter()
                .all(|problem| !problem.what.is_empty() && !problem.done.is_empty())
        );
        read += inventory.inspections().len();
    }
    assert!(
        read > LISTS as usize,
        "too few inspections were read to prove anything: {read}"
    );
}

#[test]
fn the_order_of_rows_and_columns_changes_no_answer() {
    let programme = programme();
    for number in 0..LISTS {
        let (poles, inspections) = lists(number);
        let straight = take_in(from_ref(&poles), from_ref(&inspections), &programme)
            .expect("lists")
            .0;
        let back = take_in(&[turned(&poles)], &[turned(&inspections)], &programme)
            .expect("lists")
            .0;
        assert_eq!(content(&straight), content(&back), "list {number}");
        assert_eq!(straight.pole_rows, back.pole_rows);
        assert_eq!(straight.inspection_rows, back.inspection_rows);
    }
}

#[test]
fn the_unit_of_a_list_changes_no_answer() {
    // One pole with every length of it and of an inspection, mm.
    let of_pole = [
        (Field::Length, 12_000.0),
        (Field::GroundlineDiameter, 310.0),
        (Field::GroundlineCircumference, 310.0 * std::f64::consts::PI),
    ];
    let of_inspection = [
        (Field::RemainingCircumference, 900.0),
        (Field::OriginalCircumference, 970.0),
        (Field::OutsideDecayDepth, 12.0),
        (Field::SoundShell, 75.0),
    ];
    let read = |unit: LengthUnit| {
        let table = |file: &str, fixed: &[(&str, &str)], lengths: &[(Field, f64)]| {
            let names = fixed.iter().map(|(name, _)| (*name).to_owned());
            let cells = fixed.iter().map(|(_, cell)| (*cell).to_owned());
            let of_lengths = |(_, mm): &(Field, f64)| (mm / unit.millimetres()).to_string();
            Table {
                file: file.to_owned(),
                columns: names
                    .chain(
                        lengths
                            .iter()
                            .map(|(field, _)| field.info().name.to_owned()),
                    )
                    .collect(),
                rows: vec![(2, cells.chain(lengths.iter().map(of_lengths)).collect())].into(),
                ..Table::default()
            }
        };
        let units = |lengths: &[(Field, f64)]| {
            lengths
                .iter()
                .map(|(field, _)| (*field, unit))
                .collect::<BTreeMap<_, _>>()
        };
        let mut programme = programme();
        programme.sources.poles[0].units = units(&of_pole);
        programme.sources.inspections[0].units = units(&of_inspection);
        let poles = table("poles.csv", &[("id", "A"), ("set_date", "1980")], &of_pole);
        let seen = [
            ("id", "A"),
            ("date", "2019-05-01"),
            ("method", "full_excavation"),
            ("verdict", "decay_serviceable"),
        ];
        let inspections = table("inspections.csv", &seen, &of_inspection);
        let (inventory, problems) = take_in(&[poles], &[inspections], &programme).expect("lists");
        assert_eq!(problems.list.len(), 0, "{unit:?}: {:?}", problems.list);
        let (pole, own) = (inventory.poles()[0], inventory.inspections()[0]);
        [
            pole.length,
            pole.diameter,
            own.remaining_circumference,
            own.original_circumference,
            own.outside_decay_depth,
            own.sound_shell,
            own.least_sound_shell,
        ]
        .map(|length| length.expect("every length is read").0)
    };
    let expected = read(LengthUnit::Millimetre);
    for unit in LengthUnit::ALL {
        for (got, wanted) in read(unit).iter().zip(expected) {
            assert!(
                (got / wanted - 1.0).abs() < SAME_LENGTH,
                "{unit:?}: {got} for {wanted}"
            );
        }
    }
}
