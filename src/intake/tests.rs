//! Whole tables are taken in: nothing is lost, nothing depends on the order of rows, scope is the programme's.

use super::{Table, take_in};
use crate::inventory::Inventory;
use crate::pole::{Inspection, Pole, SetFrom, Status};
use crate::problem::{Problems, Source};
use crate::programme::text::read;
use crate::units::Zone;
use jiff::civil::date;
use std::path::Path;

/// A table from lines whose cells are parted by commas.
pub(super) fn table(file: &str, text: &str) -> Table {
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
    let keys = format!("{more}\n[[poles]]\nfile = \"p\"\n[[inspections]]\nfile = \"i\"\n");
    taken_as(
        std::slice::from_ref(poles),
        std::slice::from_ref(inspections),
        &keys,
    )
}

/// Tables taken in as the keys of a programme say.
fn taken_as(poles: &[Table], inspections: &[Table], keys: &str) -> (Inventory, Problems) {
    let text = format!("plan_from = 2026-01-01\n{keys}");
    let programme = read(&text, Path::new("p.toml")).expect("a programme");
    take_in(poles, inspections, &programme).expect("tables")
}

fn told(problems: &Problems) -> Vec<String> {
    let list = problems.list.iter();
    list.map(|p| {
        let cell = p.cell.as_ref();
        let (column, raw) = cell.map_or(("", ""), |cell| (&cell.column, &cell.raw));
        format!("{} {} {column}={raw}", p.code, p.source.row)
    })
    .collect()
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

#[test]
fn every_pocket_of_a_row_is_read_in_its_own_columns_or_in_one_cell() {
    let keys = r#"
[[poles]]
file = "p"
[[inspections]]
file = "i"
columns = { pocket_width = ["W1", "W2"], pocket_depth = ["D1", "D2"], pocket_side = ["S1", "S2"] }
units = { pocket_width = "in", pocket_depth = "in" }
"#;
    let poles = table("p", "id\nA1\nA2\nA3");
    let by_column = table(
        "i",
        "id,date,method,verdict,W1,D1,S1,W2,D2,S2
        A1,2020-05-01,full_excavation,decay_serviceable,2,1,N,3,2,E
        A2,2020-05-01,full_excavation,decay_serviceable,,,,3,2,90
        A3,2020-05-01,full_excavation,decay_serviceable,2,1,N,3,,E",
    );
    let (by_column, problems) = taken_as(std::slice::from_ref(&poles), &[by_column], keys);
    let of = |inventory: &Inventory, id: &str| {
        let pole = inventory.find(id).expect("a pole");
        let pockets = inventory.inspections_of(pole)[0].pockets;
        let told = |p: crate::pole::SeenPocket| (p.width.0.round(), p.depth.0.round(), p.degrees);
        pockets.iter().map(told).collect::<Vec<_>>()
    };
    let [north, east] = [(51.0, 25.0, Some(0.0)), (76.0, 51.0, Some(90.0))];
    assert_eq!(of(&by_column, "A1"), [east, north]);
    assert_eq!(
        of(&by_column, "A2"),
        [east],
        "an empty first pocket shifts nothing"
    );
    assert_eq!(
        of(&by_column, "A3"),
        [north],
        "a width without a depth is no pocket"
    );
    assert_eq!(told(&problems), ["P707 4 W1, W2=2; 3"]);
    // The same in one cell, as the sheets for the field ask for it, and in millimetres.
    let in_cells = table(
        "i",
        "id,date,method,verdict,pocket_width,pocket_depth,pocket_side
        A1,2020-05-01,full_excavation,decay_serviceable,50.8; 76.2,25.4;50.8,N;E",
    );
    let (in_cells, problems) = taken(&poles, &in_cells, "");
    assert_eq!(problems.list, []);
    let pockets = |inventory: &Inventory| {
        inventory.inspections_of(inventory.find("A1").expect("a pole"))[0].pockets
    };
    assert_eq!(pockets(&in_cells), pockets(&by_column));
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
        let turn_by = |turn, rows: &mut Vec<(u32, Vec<String>)>| {
            rows.reverse();
            rows.rotate_left(turn);
            for (line, row) in (2..).zip(rows) {
                row.0 = line;
            }
        };
        poles.rows.change(|rows| turn_by(turn, rows));
        inspections.rows.change(|rows| turn_by(turn % 8, rows));
        let (turned, turned_problems) = taken(&poles, &inspections, SCOPE);
        assert_eq!(content(&turned), content(&straight), "turned by {turn}");
        assert_eq!(turned_problems.by_code(), problems.by_code());
        assert_eq!(turned.pole_rows, straight.pole_rows);
        assert_eq!(turned.inspection_rows, straight.inspection_rows);
    }
}

#[test]
fn several_columns_make_up_one_field_and_problems_name_them() {
    let poles = table(
        "p",
        "LINE,NO,year,month,day,note,memo
        North,1,1985,6,30,leans,
        North,2,1985,,,,n/a
        North,3,1985,13,1,x,y",
    );
    let first = table(
        "i",
        "LINE,NO,when,how,result,S1,S2,S3
        North,1,2019,sound_and_bore,sound,40,,60
        North,2,2019,sound_and_bore,sound,50,thick,60
        North,9,2019,sound_and_bore,sound,,,",
    );
    let second = table(
        "j",
        "tag,day,verdict,crew
        North/1,03/04/2021,OK,
        North/1,03/04/2022,OK,Third",
    );
    let keys = r#"
[[poles]]
file = "p"
join = "/"
columns = { id = ["LINE", "NO"], line = "LINE", set_date = ["year", "month", "day"], notes = ["note", "memo"] }
[[inspections]]
file = "i"
join = "/"
contractor = "First"
columns = { id = ["LINE", "NO"], date = "when", method = "how", verdict = "result", sound_shell = ["S1", "S2", "S3"] }
[[inspections]]
file = "j"
contractor = "Second"
date_form = "%d/%m/%Y"
default_method = "full_excavation"
columns = { id = "tag", date = "day", contractor = "crew" }
codes.verdict = { OK = "decay_serviceable" }
"#;
    let (inventory, problems) = taken_as(&[poles], &[first, second], keys);
    let ids: Vec<&str> = inventory.indices().map(|i| inventory.id(i)).collect();
    assert_eq!(ids, ["North/1", "North/2", "North/3"]);
    let set = inventory.poles().iter().map(|pole| pole.installed);
    assert_eq!(
        set.collect::<Vec<_>>(),
        [Some(date(1985, 6, 30)), Some(date(1985, 7, 1)), None]
    );
    let seen = inventory.inspections_of(inventory.find("North/1").expect("a pole"));
    // The mean of 40 and 60; the empty reading is none.
    assert!(
        seen[0]
            .sound_shell
            .is_some_and(|s| (s.0 - 50.0).abs() < 1e-12)
    );
    let contractors = seen.iter().filter_map(|i| i.contractor);
    let contractors: Vec<&str> = contractors.map(|who| inventory.names.get(who)).collect();
    assert_eq!(contractors, ["First", "Second", "Third"]);
    // In the second file 03/04 is the third of April, by its own date_form.
    assert_eq!(seen[1].date, date(2021, 4, 3));
    assert_eq!(
        told(&problems),
        [
            "P301 4 year, month, day=1985 13 1",
            "P201 3 S1, S2, S3=50; thick; 60",
            "P504 4 LINE, NO=North/9",
        ]
    );
}

const LAST: &str = r#"
[[poles]]
file = "p"
[poles.last_inspection]
columns = { date = "LAST", method = "HOW", verdict = "FOUND", sound_shell = "SHELL" }
units = { sound_shell = "in" }
codes = { method = { B = "sound_and_bore" }, verdict = { OK = "sound", BAD = "danger" } }
contractor = "First"
default_method = "sound_and_bore"
[[inspections]]
file = "i"
"#;

#[test]
fn the_last_inspection_on_a_poles_row_is_an_inspection_once() {
    let poles = table(
        "p",
        "id,material,LAST,HOW,FOUND,SHELL,treated
        A1,wood,2019-03-01,B,OK,2,yes
        A2,wood,2019-03-01,B,BAD,,yes
        A3,wood,2019,,OK,,
        A4,wood,soon,B,OK,,
        A5,wood,,,,,
        A6,steel,2019-03-01,B,OK,,
        ,wood,2019-03-01,B,OK,,",
    );
    let files = table(
        "i",
        "id,date,method,verdict,sound_shell,contractor
        A1,2019-03-01,sound_and_bore,sound,,First
        A2,2019-03-01,sound_and_bore,danger,,first
        A3,2019-05-01,full_excavation,sound,55,First",
    );
    let (inventory, problems) = taken_as(&[poles], &[files], LAST);
    let of = |id: &str| {
        inventory
            .inspections_of(inventory.find(id).expect("a pole"))
            .to_vec()
    };
    // The row of A1 has a reading that the file lacks: both stay. Two inches are 50.8 mm.
    let first = of("A1");
    assert_eq!(first.len(), 2);
    assert!(
        first
            .iter()
            .any(|i| i.sound_shell.is_some_and(|s| (s.0 - 50.8).abs() < 1e-12))
    );
    // The list's own "treated" is about the preservative and is no field of the last inspection.
    assert!(first.iter().all(|i| !i.treated));
    // A2 and A3 stand in the file with the same or more.
    assert_eq!((of("A2").len(), of("A3").len()), (1, 1));
    assert!(of("A4").is_empty() && of("A5").is_empty());
    let rows = inventory.last_inspections;
    assert_eq!(
        (rows.read, rows.used, rows.out_of_scope, rows.set_aside),
        (6, 1, 1, 4)
    );
    let rows = inventory.pole_rows;
    assert_eq!(
        (rows.read, rows.used, rows.out_of_scope, rows.set_aside),
        (7, 5, 1, 1)
    );
    assert_eq!(inventory.inspection_rows.used, 3);
    assert_eq!(
        told(&problems),
        [
            "P119 3 LAST=2019-03-01",
            "P119 4 LAST=2019",
            "P702 5 LAST=soon",
            "P112 7 material=steel",
            "P501 8 id=",
        ]
    );
}

#[test]
fn a_list_with_counts_is_that_many_poles_whatever_its_order_and_units() {
    let text = "line,class,length,set_date,count,species
        North,4,40,1970s,4,pine
        North,4,40,1970s,2,pine
        South,5,35,1980-89,3,oak
        ,5,35,1985,\"1,200\",pine
        ,5,35,,0,pine";
    let mut list = table("p", &text.replace("\"1,200\"", "1200"));
    let feet = "[[poles]]\nfile = \"p\"\nunits.length = \"ft\"\n";
    let (inventory, problems) = taken_as(std::slice::from_ref(&list), &[], feet);
    assert_eq!(inventory.len(), 4 + 2 + 3 + 1200);
    let rows = inventory.pole_rows;
    assert_eq!(
        (rows.read, rows.used, rows.out_of_scope, rows.set_aside),
        (5, 4, 0, 1)
    );
    assert_eq!((inventory.counted.rows, inventory.counted.poles), (4, 1209));
    // One unknown code in one row is one problem, not three.
    let codes: Vec<_> = problems.by_code();
    let codes: Vec<String> = codes.iter().map(|(c, n)| format!("{n} {c}")).collect();
    assert_eq!(codes, ["4 P116", "1 P118", "1 P601"]);
    let north: Vec<&str> = inventory
        .indices()
        .filter(|i| inventory.line_of(*i) == Some("North"))
        .map(|i| inventory.id(i))
        .collect();
    // Two rows that say the same share their mark and are numbered on.
    assert_eq!(north.len(), 6);
    assert!(north[0].starts_with("North-") && north[0].ends_with("-001"));
    assert!(north[5].ends_with("-006"));
    assert!(
        inventory
            .poles()
            .iter()
            .all(|pole| pole.set_from == SetFrom::Count)
    );
    let flawed = inventory.poles().iter().filter(|pole| pole.has_problems);
    assert_eq!(flawed.count(), 3, "the row with an unknown species");
    for (turn, unit) in [(1, "ft"), (3, "m")] {
        list.rows.change(|rows| {
            rows.rotate_left(turn);
            for (line, row) in (2..).zip(rows) {
                row.0 = line;
                if unit == "m" && row.1[2].len() == 2 {
                    // 40 ft are 12.192 m, 35 ft are 10.668 m.
                    row.1[2] = if row.1[2] == "40" { "12.192" } else { "10.668" }.to_owned();
                }
            }
        });
        let keys = feet.replace("ft", unit);
        let (turned, _) = taken_as(std::slice::from_ref(&list), &[], &keys);
        let ids = |i: &Inventory| i.indices().map(|p| i.id(p).to_owned()).collect::<Vec<_>>();
        assert!(ids(&turned) == ids(&inventory), "turned by {turn}");
        let years = |i: &Inventory| i.poles().iter().map(|p| p.installed).collect::<Vec<_>>();
        assert!(years(&turned) == years(&inventory), "turned by {turn}");
    }
}

#[test]
fn rows_with_ids_may_stand_among_counts() {
    let list = table(
        "p",
        "id,count,set_date
        A,,1985
        B,1,1985
        C,3,1970s
        C-002,1,1990",
    );
    let keys = "[[poles]]\nfile = \"p\"\ncolumns.count = \"count\"\n";
    let (inventory, _) = taken_as(std::slice::from_ref(&list), &[], keys);
    let ids: Vec<&str> = inventory.indices().map(|i| inventory.id(i)).collect();
    assert_eq!(ids, ["A", "B", "C-001", "C-002", "C-003", "C-004"]);
    assert_eq!((inventory.pole_rows.used, inventory.counted.poles), (4, 3));
    // Unless the programme says so, a column "count" in a list with ids counts something else.
    let (inventory, _) = taken_as(&[list], &[], "[[poles]]\nfile = \"p\"\n");
    assert_eq!(inventory.len(), 4);
}

#[test]
fn a_decade_as_set_date_is_its_middle_with_its_width() {
    let poles = table("p", "id,set_date\nA1,1970s\nA2,1970s");
    let inspections = table(
        "i",
        "id,date,method,verdict
        A1,1972-05-01,sound_and_bore,sound
        A2,1969-05-01,sound_and_bore,sound",
    );
    let (inventory, problems) = taken(&poles, &inspections, "");
    // An inspection within the decade is no contradiction; one before it is.
    assert_eq!(inventory.poles()[0].installed, Some(date(1975, 1, 1)));
    assert_eq!(inventory.poles()[1].installed, None);
    assert_eq!(told(&problems), ["P307 3 date=1969-05-01"]);
}

#[test]
fn what_nothing_reads_is_kept_and_the_inspector_is_told_apart_from_the_contractor() {
    let poles = table(
        "p",
        "id,set_date,species,voltage,span,site_restriction
        A1,1980,pine,11 kV,52,well nearby
        A2,1980,pine,,,",
    );
    let inspections = table(
        "i",
        "id,date,method,verdict,contractor,inspector,crew,work_order,priority
        A1,2019-05-02,sound_and_bore,sound,North,17,B,WO-9,2",
    );
    let (inventory, _) = taken(&poles, &inspections, "");
    let also = |pole: usize| {
        let also = inventory.poles()[pole].also;
        also.map(|text| inventory.names.get(text).to_owned())
    };
    let told = "voltage: 11 kV; span: 52; site restriction: well nearby";
    assert_eq!(also(0).as_deref(), Some(told));
    assert_eq!(also(1), None);
    let seen = inventory.inspections_of(inventory.find("A1").expect("a pole"));
    let name = |name: Option<crate::pole::NameIndex>| name.map(|name| inventory.names.get(name));
    assert_eq!(name(seen[0].inspector), Some("17"));
    assert_eq!(name(seen[0].contractor), Some("North"));
    let told = "priority: 2; crew: B; work order: WO-9";
    assert_eq!(name(seen[0].also), Some(told));
}
