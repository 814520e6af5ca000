//! What `plan` writes for the field comes back as inspections without loss: every cell that a foreman fills is held to the
//! value that is read from it, field by field.
#![cfg(feature = "cli")]

use polewright::intake::take_in_all;
use polewright::inventory::Inventory;
use polewright::io::read::{read_programme, read_sources};
use polewright::pole::{
    Agent, AgentPlace, Defect, Defects, Inspection, Method, SeenMode, SeenPocket, Verdict,
};
use polewright::problem::Problems;
use polewright::units::Mm;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;
use tempfile::TempDir;

const PROGRAMME: &str = "\
title = \"Sheets\"
plan_from = 2026-01-01
horizon_years = 20
trials = 8

[[above_ground]]
defects = [\"split\", \"woodpecker\"]
action = \"replace\"
within_days = 1000

[[poles]]
file = \"poles.csv\"
";

/// Pockets are kept in single precision, which is off by a ten-thousandth of a millimetre at most; no tape shows that.
const TAPE_MM: f64 = 1e-3;

/// What the foreman of each pole wrote.
fn typed() -> BTreeMap<&'static str, Vec<(&'static str, &'static str)>> {
    BTreeMap::from([
        (
            "A-1",
            vec![
                ("date", "2026-06-01"),
                ("verdict", "decay_serviceable"),
                ("decay_mode", "internal"),
                ("sound_shell", "90; 80; 3 1/2 in; 100"),
                ("pocket_width", "100; 2.5 in"),
                ("pocket_depth", "40; 30"),
                ("pocket_side", "NE; 200"),
                ("pocket_height", "-100;"),
                ("above_ground_defect", "split; woodpecker"),
                ("treated", "yes"),
                ("agent", "boron_rod"),
                ("agent_place", "internal"),
                ("contractor", "-crew 1"),
                ("remarks", "said \"fine\",\nbut wet; look again"),
            ],
        ),
        (
            "A-2",
            vec![
                ("date", "2026-06-02"),
                ("method", "full_excavation"),
                ("verdict", "reject_reinforceable"),
                ("decay_mode", "both"),
                ("outside_decay_depth", "25"),
                ("remaining_circumference", "780"),
                ("original_circumference", "37 in"),
                ("above_ground_defect", "none"),
                ("treated", "no"),
                ("contractor", "Höfer & Söhne"),
                ("remarks", "=SUM of two visits"),
            ],
        ),
        (
            "A-3",
            vec![
                ("date", "2026-06-03"),
                ("method", "patrol"),
                ("verdict", "not_inspected"),
                ("remarks", "gate locked"),
            ],
        ),
    ])
}

fn run(folder: &Path, arguments: &[&str]) {
    let output = Command::new(env!("CARGO_BIN_EXE_polewright"))
        .args(arguments)
        .current_dir(folder)
        .output()
        .expect("the program runs");
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{said}");
}

/// The sheets of a plan, each with its text.
fn sheets(place: &TempDir) -> Vec<(String, String)> {
    let programme = format!("{PROGRAMME}columns = {{ set_date = \"SET\" }}\n");
    fs::write(place.path().join("programme.toml"), programme).expect("a programme");
    let list = "id,line,SET\nA-1,Mill road,1970\nA-2,Mill road,1971\nA-3,Mill road,1972\n";
    fs::write(place.path().join("poles.csv"), list).expect("a list");
    run(place.path(), &["plan", "programme.toml", "--out", "plan"]);
    let entries = fs::read_dir(place.path().join("plan/field")).expect("sheets");
    let paths = entries.map(|entry| entry.expect("a sheet").path());
    let mut sheets: Vec<(String, String)> = paths
        .filter(|path| path.extension().is_some_and(|ending| ending == "csv"))
        .map(|path| {
            let name = path.file_name().expect("a name").to_string_lossy();
            let text = fs::read_to_string(&path).expect("a sheet");
            (name.into_owned(), text)
        })
        .collect();
    sheets.sort();
    assert!(!sheets.is_empty());
    sheets
}

/// The sheet as a foreman hands it back, saved with this between the cells.
fn filled(text: &str, between: u8) -> Vec<u8> {
    let typed = typed();
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let columns = reader.headers().expect("a header").clone();
    let mut writer = csv::WriterBuilder::new()
        .delimiter(between)
        .from_writer(Vec::new());
    writer.write_record(&columns).expect("a header");
    let id = columns.iter().position(|name| name == "id").expect("ids");
    for record in reader.records() {
        let record = record.expect("a stop");
        let own = &typed[&record[id]];
        for (field, _) in own {
            assert!(columns.iter().any(|name| name == *field), "{field}");
        }
        let cells = columns.iter().zip(&record).map(|(column, cell)| {
            let typed = own.iter().find(|(field, _)| *field == column);
            typed.map_or(cell, |(_, typed)| *typed)
        });
        writer.write_record(cells).expect("a stop");
    }
    writer.into_inner().expect("a sheet")
}

/// What is read from the programme and the sheets, a year later.
fn read_again(place: &TempDir, sheets: &[String]) -> (Inventory, Problems) {
    let mut programme = PROGRAMME.replace("2026-01-01", "2027-01-01");
    programme.push_str("columns = { set_date = \"SET\" }\n");
    for sheet in sheets {
        for part in ["[[inspections]]\nfile = \"", sheet, "\"\n"] {
            programme.push_str(part);
        }
    }
    let path = place.path().join("again.toml");
    fs::write(&path, programme).expect("a programme");
    let (programme, folder) = read_programme(&path, &[]).expect("a programme");
    let read = read_sources(&programme, &folder).expect("sheets");
    take_in_all(&read.tables(), &programme).expect("an inventory")
}

fn one_of<'a>(inventory: &'a Inventory, id: &str) -> &'a Inspection {
    let pole = inventory.find(id).expect("a pole");
    match inventory.inspections_of(pole) {
        [only] => only,
        other => panic!("{id} has {} inspections", other.len()),
    }
}

fn assert_length(read: Option<Mm>, typed: f64) {
    let read = read.expect("a length").0;
    assert!((read - typed).abs() < TAPE_MM, "{read} for {typed}");
}

fn assert_first(inventory: &Inventory) {
    let name = |index: Option<_>| index.map(|index| inventory.names.get(index));
    let seen = one_of(inventory, "A-1");
    assert_eq!(seen.date.to_string(), "2026-06-01");
    // Nothing typed over the method that the sheet plans.
    assert_eq!(seen.method, Method::SoundAndBore);
    assert_eq!(seen.verdict, Verdict::DecayServiceable);
    assert_eq!(seen.seen_mode, Some(SeenMode::Internal));
    // (90 + 80 + 3.5 x 25.4 + 100) / 4 = 89.725.
    assert_length(seen.sound_shell, 89.725);
    assert_length(seen.least_sound_shell, 80.0);
    let pockets: Vec<SeenPocket> = seen.pockets.iter().collect();
    let [wide, narrow] = pockets[..] else {
        panic!("{pockets:?}");
    };
    assert_length(Some(wide.width), 100.0);
    assert_length(Some(wide.depth), 40.0);
    assert_eq!(wide.degrees, Some(45.0));
    assert_length(wide.height, -100.0);
    // 2.5 in = 63.5 mm.
    assert_length(Some(narrow.width), 63.5);
    assert_length(Some(narrow.depth), 30.0);
    assert_eq!((narrow.degrees, narrow.height), (Some(200.0), None));
    let defects = Defects::default()
        .with(Defect::Split)
        .with(Defect::Woodpecker);
    assert_eq!(seen.above_ground, Some(defects));
    assert!(seen.treated);
    assert_eq!(seen.agent, Some(Agent::BoronRod));
    assert_eq!(seen.agent_place, Some(AgentPlace::Internal));
    assert_eq!(name(seen.contractor), Some("-crew 1"));
    assert_eq!(
        name(seen.remarks),
        Some("said \"fine\",\nbut wet; look again")
    );
}

fn assert_others(inventory: &Inventory) {
    let name = |index: Option<_>| index.map(|index| inventory.names.get(index));
    let seen = one_of(inventory, "A-2");
    assert_eq!(seen.date.to_string(), "2026-06-02");
    assert_eq!(seen.method, Method::FullExcavation);
    assert_eq!(seen.verdict, Verdict::RejectReinforceable);
    assert_eq!(seen.seen_mode, Some(SeenMode::Both));
    assert_length(seen.outside_decay_depth, 25.0);
    assert_length(seen.remaining_circumference, 780.0);
    // 37 in = 939.8 mm.
    assert_length(seen.original_circumference, 939.8);
    assert_eq!(seen.above_ground, Some(Defects::default()));
    assert!(!seen.treated && seen.pockets.is_empty());
    assert_eq!(name(seen.contractor), Some("Höfer & Söhne"));
    assert_eq!(name(seen.remarks), Some("=SUM of two visits"));

    let missed = one_of(inventory, "A-3");
    assert_eq!(missed.date.to_string(), "2026-06-03");
    assert_eq!(
        (missed.method, missed.verdict),
        (Method::Patrol, Verdict::NotInspected)
    );
    assert_eq!(missed.above_ground, None);
    assert_eq!(name(missed.remarks), Some("gate locked"));
}

#[test]
fn every_cell_that_a_foreman_fills_is_read_back_as_it_was_meant() {
    let place = tempfile::tempdir().expect("a folder");
    let sheets = sheets(&place);
    // As it was written, and as a spreadsheet saves it where the comma is for decimals.
    for between in [b',', b';', b'\t'] {
        let mut names = Vec::new();
        for (name, text) in &sheets {
            fs::write(place.path().join(name), filled(text, between)).expect("a sheet");
            names.push(name.clone());
        }
        let (inventory, problems) = read_again(&place, &names);
        assert_eq!(problems.list, []);
        assert_eq!(inventory.inspection_rows.used, 3);
        assert_first(&inventory);
        assert_others(&inventory);
    }
}
