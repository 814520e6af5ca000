//! Lists as they arrive, small: what is guessed, how surely, and what is left alone.

use super::{DayForm, Guess, ListKind, Sureness, guess};
use crate::intake::Table;
use crate::programme::sources::Field;
use crate::units::LengthUnit;
use jiff::civil::date;

fn table(text: &str) -> Table {
    let mut lines = text
        .trim()
        .lines()
        .map(|line| line.split(',').map(|cell| cell.trim().to_owned()).collect());
    Table {
        file: "list.csv".to_owned(),
        columns: lines.next().expect("a header"),
        rows: lines
            .enumerate()
            .map(|(place, cells)| (place as u32 + 2, cells))
            .collect(),
        ..Table::default()
    }
}

fn guessed(text: &str) -> Guess {
    guess(&table(text), date(2026, 1, 1))
}

fn column(guess: &Guess, field: Field) -> Option<(&str, Sureness, Option<LengthUnit>)> {
    let given = guess
        .reading
        .columns
        .iter()
        .find(|given| given.field == field)?;
    Some((given.columns[0].as_str(), given.sureness, given.unit))
}

const REGISTER: &str = "
Pole_ID, Pole_No, Material, Height, Class, Owner, Sect_No, Year_Set, Timber, Remarks
1, M1, Wood, 40, 4, US, 12, 1985, SP, leaning
2, M2, Wood, 35, 5, US, 12, 1952, DF,
3, M3, Steel, 45, 3, THEM, 13, 0, XQ, gone
4, M4, Wood, 0, , US, 13, 2105, SP,
";

#[test]
fn a_register_in_feet_is_read_by_its_names_and_sizes() {
    let guess = guessed(REGISTER);
    assert_eq!(guess.kind, ListKind::Poles);
    assert_eq!(
        column(&guess, Field::Id),
        Some(("Pole_ID", Sureness::Sure, None))
    );
    let (height, _, unit) = column(&guess, Field::Length).expect("a length");
    assert_eq!((height, unit), ("Height", Some(LengthUnit::Foot)));
    assert_eq!(
        column(&guess, Field::SetDate).map(|own| own.0),
        Some("Year_Set")
    );
    assert_eq!(
        column(&guess, Field::Species).map(|own| own.0),
        Some("Timber")
    );
    assert_eq!(guess.unused, ["Pole_No"]);
}

#[test]
fn codes_are_guessed_where_the_trade_would_and_listed_where_not() {
    let guess = guessed(REGISTER);
    let of = |raw: &str| {
        guess
            .reading
            .codes
            .iter()
            .find(|code| code.raw == raw)
            .expect(raw)
    };
    assert_eq!((of("SP").word, of("SP").rows), (Some("pine"), 2));
    assert_eq!(of("XQ").word, None);
    assert_eq!(of("Steel").word, Some("other"));
}

#[test]
fn a_contractors_list_is_told_from_a_pole_list() {
    let guess = guessed(
        "
Tag, Inspected, Result, Shell (in), Crew
P1, 03/04/2019, OK, 3.5, A
P1, 11/25/2021, Reject, 1.5, A
P2, 06/07/2019, Bad, , B
P2, 06/08/2021, zz, 2.5, B
",
    );
    assert_eq!(guess.kind, ListKind::Inspections);
    assert_eq!(guess.reading.day_form, DayForm::Declared("%m/%d/%Y"));
    assert_eq!(
        column(&guess, Field::SoundShell).map(|own| own.2),
        Some(Some(LengthUnit::Inch))
    );
    let unread = guess
        .reading
        .codes
        .iter()
        .find(|code| code.raw == "zz")
        .expect("the code");
    assert_eq!(unread.word, None);
}

#[test]
fn days_that_no_row_decides_stay_open() {
    let guess = guessed("id, set date\n1, 03/04/1985\n2, 05/06/1990");
    assert_eq!(
        guess.reading.day_form,
        DayForm::Open("%m/%d/%Y", "%d/%m/%Y")
    );
    let plain = guessed("id, set date\n1, 1985\n2, 1990-02-01");
    assert_eq!(plain.reading.day_form, DayForm::Plain);
}

#[test]
fn the_order_of_columns_changes_no_guess() {
    let table = table(REGISTER);
    let turned = Table {
        columns: table.columns.iter().rev().cloned().collect(),
        rows: table
            .rows
            .iter()
            .map(|(line, cells)| (line, cells.iter().rev().map(str::to_owned).collect()))
            .collect(),
        ..table.clone()
    };
    let day = date(2026, 1, 1);
    let (straight, back) = (guess(&table, day), guess(&turned, day));
    assert_eq!(straight.reading, back.reading);
}

#[test]
fn hostile_tables_are_guessed_at_without_a_panic() {
    for text in [
        "",
        "a",
        ",,,\n,,,",
        "id\n",
        "\u{202e}x,id\n\u{0},\u{feff}1",
        "id,id,id\n1,2,3",
    ] {
        let lines: Vec<Vec<String>> = text
            .lines()
            .map(|line| line.split(',').map(str::to_owned).collect())
            .collect();
        let table = Table {
            columns: lines.first().cloned().unwrap_or_default(),
            rows: lines
                .iter()
                .skip(1)
                .map(|cells| (2, cells.clone()))
                .collect(),
            ..Table::default()
        };
        assert_eq!(guess(&table, date(2026, 1, 1)).rows, table.rows.len());
    }
}

#[test]
fn a_year_may_be_written_yr() {
    let guess = guessed("POLE_ID, INSTALL_YR\nP1, 1965\nP2, 1987\nP3, 2003");
    assert_eq!(
        column(&guess, Field::SetDate).map(|own| own.0),
        Some("INSTALL_YR")
    );
}

#[test]
fn pockets_with_numbers_are_columns_of_one_field() {
    let guess = guessed(
        "
Tag, Insp Dt, Result, Pocket 1 Width (in), Pocket 1 Depth (in), Pocket 1 Side, Pocket 2 Width (in), Pocket 2 Depth (in), Pocket 2 Side
P1, 03/04/2019, OK, 3.5, 2, N, , ,
P1, 11/25/2021, Reject, 3.5, 2, N, 2, 1.5, SE
P2, 06/07/2019, Bad, 4, 1, W, 2, 1, E
P2, 06/08/2021, OK, , , , , ,
",
    );
    assert_eq!(guess.kind, ListKind::Inspections);
    for (field, first, second) in [
        (
            Field::PocketWidth,
            "Pocket 1 Width (in)",
            "Pocket 2 Width (in)",
        ),
        (
            Field::PocketDepth,
            "Pocket 1 Depth (in)",
            "Pocket 2 Depth (in)",
        ),
        (Field::PocketSide, "Pocket 1 Side", "Pocket 2 Side"),
    ] {
        let own = guess.reading.columns.iter().find(|own| own.field == field);
        let own = own.expect("a field of pockets");
        assert_eq!(own.columns, [first, second]);
        let unit = field.info().unit.map(|_| LengthUnit::Inch);
        assert_eq!(own.unit, unit);
    }
    assert!(guess.unused.is_empty(), "{:?}", guess.unused);
}

#[test]
fn the_last_inspection_on_a_poles_row_is_seen_with_its_readings() {
    let guess = guessed(
        "
Tag, Year Set, Class, Last Inspection, Result, Shell 1, Shell 2, Comments
P1, 1980, 4, 2019-05-01, OK, 3.5, 3.0, by the mill
P2, 1985, 5, 2019-05-02, Reject, 1.5, 1.0,
P3, 1990, 4, , , , ,
",
    );
    assert_eq!(guess.kind, ListKind::Poles);
    let last = guess.last_inspection.expect("a last inspection");
    let shells = last
        .columns
        .iter()
        .find(|own| own.field == Field::SoundShell);
    assert_eq!(shells.expect("shells").columns, ["Shell 1", "Shell 2"]);
    assert!(last.has(Field::Date) && last.has(Field::Verdict) && !last.has(Field::Remarks));
    assert!(guess.unused.is_empty(), "{:?}", guess.unused);
}

#[test]
fn years_of_two_digits_are_shown_under_their_name_and_not_passed_over() {
    let guess = guessed("tag,yr set,ht,spp\n1,72,40,SYP\n2,75,40,DF\n3,1981,45,DF\n");
    let named = |field| column(&guess, field).map(|(name, _, _)| name);
    assert_eq!(named(Field::SetDate), Some("yr set"));
    assert_eq!(named(Field::Length), Some("ht"));
    assert_eq!(named(Field::Species), Some("spp"));
}
