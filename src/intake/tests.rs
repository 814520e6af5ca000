//! Whole tables are taken in: nothing is lost, nothing depends on the order of rows, scope is the programme's.

use super::{Table, take_in};
use crate::inventory::Inventory;
use crate::pole::{Inspection, Pole, Status};
use crate::problem::{Problems, Source};
use crate::programme::text::read;
use crate::units::Zone;
use jiff::civil::date;
use std::path::Path;

fn table(file: &str, text: &str) -> Table {
    let mut lines = text.trim().lines().map(|line| {
        line.trim()
            .split(',')
            .map(str::to_owned)
            .collect::<Vec<_>>()
    });
    Table {
        file: file.to_owned(),
        columns: lines.next().unwrap_or_default(),
        rows: (2..).zip(lines).collect(),
        ..Table::default()
    }
}

fn taken(poles: &Table, inspections: &Table, more: &str) -> (Inventory, Problems) {
    let text = format!(
        "plan_from = 2026-01-01\n{more}\n[[poles]]\nfile = \"p\"\n[[inspections]]\nfile = \"i\"\n"
    );
    let programme = read(&text, Path::new("p.toml")).expect("a programme");
    take_in(
        std::slice::from_ref(poles),
        std::slice::from_ref(inspections),
        &programme,
    )
    .expect("tables")
}

fn poles() -> Table {
    table(
        "p",
        "id,line,zone,owner,material,status,removed_date,length,class,groundline_circumference,species,set_date,longitude,latitude
        A1,North,4,Town,wood,in_service,,12,3,950,pine,1980,11.5,50.2
        A2,North,,town ,Wood,,,40 ft,4,,spruce,1985-06-30,11.5,50.2
        A2,North,,Town,wood,,,40 ft,4,,pine,1985-06-30,11.5,50.2
        A2,South,,Town,wood,,,40 ft,,,pine,1985-06-30,11.5,50.2
        A3,South,2,Other,wood,,,12,3,,pine,1990,11.5,50.2
        A4,South,2,Town,concrete,,,12,3,,,1990,,
        A5,South,2,Town,wood,in_service,2019-03-01,12,3,,pine,1990,,
        A6,South,9,,bamboo,,,12,3,,oak,0,0,0
        ,South,2,Town,wood,,,12,3,,pine,1990,,",
    )
}

fn inspections() -> Table {
    table(
        "i",
        "id,date,method,verdict,sound_shell,treated,contractor
        A1,2010-05-01,sound_and_bore,sound,,no,First
        A1,2020-05-01,full_excavation,danger,40;60;50,yes,Second
        A1,2021-05-01,sound_and_bore,sound,,no,First
        A2,1970,sound_and_bore,decay_serviceable,,,First
        A2,2015-05-01,sound_and_bore,sound,,,First
        A2,2015-05-01,Sound and bore,Sound,,,first
        A3,2015-05-01,sound_and_bore,sound,,,First
        A9,2015-05-01,sound_and_bore,sound,,,First",
    )
}

const SCOPE: &str = "scope.owners = [\"Town\"]";

#[test]
fn every_row_is_used_out_of_scope_or_set_aside() {
    let (inventory, _) = taken(&poles(), &inspections(), SCOPE);
    let ids: Vec<&str> = inventory.indices().map(|i| inventory.id(i)).collect();
    assert_eq!(ids, ["A1", "A2", "A6"]);
    let rows = inventory.pole_rows;
    // A3 has another owner, A4 is concrete, A5 is gone; two rows of A2 and the one without an id are set aside.
    assert_eq!(
        (rows.read, rows.used, rows.out_of_scope, rows.set_aside),
        (9, 3, 3, 3)
    );
    let rows = inventory.inspection_rows;
    assert_eq!(
        (rows.read, rows.used, rows.out_of_scope, rows.set_aside),
        (8, 5, 1, 2)
    );
}

#[test]
fn facts_are_what_the_cells_say_and_unknown_otherwise() {
    let (inventory, _) = taken(&poles(), &inspections(), SCOPE);
    let pole = |id: &str| *inventory.pole(inventory.find(id).expect("a pole"));
    let first = pole("A1");
    assert_eq!(first.installed, Some(date(1980, 7, 1)));
    assert_eq!(first.zone, Zone::ALL[3]);
    // 950 mm round is 302.4 mm across.
    assert!(first.diameter.is_some_and(|d| (d.0 - 302.394).abs() < 1e-3));
    assert!(first.place.is_some() && !first.has_problems);
    let second = pole("A2");
    // 40 ft of 304.8 mm.
    assert!(second.length.is_some_and(|l| (l.0 - 12_192.0).abs() < 1e-9));
    assert!(second.zone_is_default && second.has_problems);
    assert_eq!(second.installed, None, "inspected in 1970, set in 1985");
    let last = pole("A6");
    assert_eq!(
        (last.installed, last.place, last.species),
        (None, None, None)
    );
    assert!(last.has_problems && last.status == Status::InService);
    let found = inventory.inspections_of(inventory.find("A1").expect("a pole"));
    assert!(found[1].treated);
    assert!(
        found[1]
            .sound_shell
            .is_some_and(|s| (s.0 - 50.0).abs() < 1e-12)
    );
    assert!(
        found[1]
            .least_sound_shell
            .is_some_and(|s| (s.0 - 40.0).abs() < 1e-12)
    );
}

/// Everything but where the records stand.
fn content(inventory: &Inventory) -> (Vec<(String, Pole)>, Vec<Inspection>, Vec<String>) {
    let source = Source::default();
    let poles = inventory.indices().map(|index| {
        let pole = Pole {
            source,
            ..*inventory.pole(index)
        };
        (inventory.id(index).to_owned(), pole)
    });
    let inspections = inventory.inspections();
    let inspections = inspections.iter().map(|i| Inspection { source, ..*i });
    let lines = inventory.indices();
    let lines = lines.map(|index| inventory.line_of(index).unwrap_or("").to_owned());
    (poles.collect(), inspections.collect(), lines.collect())
}

#[test]
fn the_order_of_rows_decides_nothing() {
    let (straight, problems) = taken(&poles(), &inspections(), SCOPE);
    for turn in 0..9 {
        let (mut poles, mut inspections) = (poles(), inspections());
        poles.rows.reverse();
        poles.rows.rotate_left(turn);
        inspections.rows.reverse();
        inspections.rows.rotate_left(turn % 8);
        for (line, row) in (2..).zip(poles.rows.iter_mut()) {
            row.0 = line;
        }
        for (line, row) in (2..).zip(inspections.rows.iter_mut()) {
            row.0 = line;
        }
        let (turned, turned_problems) = taken(&poles, &inspections, SCOPE);
        assert_eq!(content(&turned), content(&straight), "turned by {turn}");
        assert_eq!(turned_problems.by_code(), problems.by_code());
        assert_eq!(turned.pole_rows, straight.pole_rows);
        assert_eq!(turned.inspection_rows, straight.inspection_rows);
    }
}
