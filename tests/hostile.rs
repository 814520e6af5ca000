//! Hostile text in every field of every list and in the programme stays text in every file that a plan writes.
//!
//! The fields are those of the programme's own table, so that a new one is tried too. The folder stays below `target/`:
//! `.ci/run` opens its page in a browser.

#![cfg(feature = "cli")]

use polewright::programme::sources::{FIELDS, FieldInfo};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What must never act: the end of a script, markup, a turn of the writing, quotes, a formula, a sign beyond 16 bits.
const MARKUP: &str = "</script><img src=x onerror=document.title='acted'>\u{202e}\"'=1+1\u{1f332}";

/// What a spreadsheet would run.
const FORMULA: &str = "=HYPERLINK(\"x\",\"y\")";

/// Fields that would send the whole run away: codes that must be mapped, and coordinates that need a projection.
const NOT_TRIED: [&str; 4] = ["method", "verdict", "x", "y"];

/// A list as text: a row of good values, then for each field two rows in which it alone is hostile.
fn list(fields: &[&FieldInfo], good: impl Fn(&str, usize) -> String) -> String {
    let quoted = |cell: &str| format!("\"{}\"", cell.replace('"', "\"\""));
    let mut text = String::new();
    let heads: Vec<String> = fields.iter().map(|info| quoted(info.name)).collect();
    text.push_str(&(heads.join(",") + "\n"));
    let mut number = 0;
    for spoilt in fields.iter().filter(|info| !NOT_TRIED.contains(&info.name)) {
        for hostile in [MARKUP, FORMULA] {
            number += 1;
            let cells: Vec<String> = fields
                .iter()
                .map(|info| {
                    let cell = good(info.name, number);
                    let own = info.name == spoilt.name;
                    quoted(&if own {
                        format!("{hostile}{cell}")
                    } else {
                        cell
                    })
                })
                .collect();
            text.push_str(&(cells.join(",") + "\n"));
        }
    }
    text
}

fn fields(of: impl Fn(&FieldInfo) -> bool) -> Vec<&'static FieldInfo> {
    let all = FIELDS.iter().filter(|info| of(info));
    all.filter(|info| !["x", "y", "size", "count"].contains(&info.name))
        .collect()
}

fn value(name: &str, number: usize) -> String {
    match name {
        "id" => format!("P-{}", number % 40),
        "line" => format!("L-{}", number % 3),
        "longitude" => format!("{:.5}", 11.2 + 0.000_4 * number as f64),
        "latitude" => "47.30000".to_owned(),
        "set_date" => "1971".to_owned(),
        "length" => "12".to_owned(),
        "date" => format!("2019-05-{:02}", 1 + number % 28),
        "method" => "sound_and_bore".to_owned(),
        "verdict" => {
            ["sound", "decay_serviceable", "reject_replace", "danger"][number % 4].to_owned()
        }
        _ => String::new(),
    }
}

/// Writes the lists and their programme, whose own texts are hostile too, and plans.
fn planned() -> PathBuf {
    let place = Path::new(env!("CARGO_TARGET_TMPDIR")).join("hostile");
    fs::create_dir_all(&place).expect("a folder");
    let poles = list(&fields(|info| info.of_poles), |name, number| match name {
        // Every pole has an id of its own.
        "id" => format!("P-{number}"),
        _ => value(name, number),
    });
    let write = |name: &str, text: String| fs::write(place.join(name), text).expect("written");
    write("poles.csv", poles);
    write(
        "inspections.csv",
        list(&fields(|info| info.of_inspections), value),
    );
    write("work.csv", list(&fields(|info| info.of_work), value));
    write(
        "failures.csv",
        list(&fields(|info| info.of_failures), value),
    );
    write(
        "decisions.csv",
        list(&fields(|info| info.of_decisions), value),
    );
    let hostile = serde_json::json!(MARKUP);
    let programme = format!(
        "title = {hostile}\nplan_from = 2026-01-01\ntrials = 20\n[[rule]]\nname = {hostile}\nfirst_age_years = 10\nrepeat_years = 10\nsource = {hostile}\n[costs]\ncurrency = {hostile}\nprice_year = 2025\n[[poles]]\nfile = \"poles.csv\"\n[[inspections]]\nfile = \"inspections.csv\"\n[[work_done]]\nfile = \"work.csv\"\n[[failures]]\nfile = \"failures.csv\"\n[[decisions]]\nfile = \"decisions.csv\"\n"
    );
    write("programme.toml", programme);
    let out = Command::new(env!("CARGO_BIN_EXE_polewright"))
        .current_dir(&place)
        .args(["plan", "programme.toml", "--overwrite", "--out", "plan"])
        .args(["--prepared-by", MARKUP])
        .output()
        .expect("the binary starts");
    assert_eq!(
        out.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    place.join("plan")
}

/// All files below a folder with a name that ends so.
fn files(folder: &Path, end: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            found.extend(files(&path, end));
        } else if path.to_string_lossy().ends_with(end) {
            found.push(path);
        }
    }
    found
}

#[test]
fn hostile_text_in_every_field_stays_text_in_every_output() {
    let plan = planned();
    let pages = files(&plan, ".html");
    // The report, the sheets of a round and the sheet of replacements.
    assert!(pages.len() >= 3, "{pages:?}");
    let mut shown = 0;
    for path in pages {
        let page = fs::read_to_string(&path).expect("a page");
        for acting in ["<img", "</script><img"] {
            assert!(!page.contains(acting), "{acting} in {}", path.display());
        }
        shown += page.matches("&lt;img src=x").count();
    }
    assert!(shown > 10, "the text is there to be read: {shown}");
    let mut cells = 0;
    for path in files(&plan, ".csv") {
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .from_path(&path)
            .expect("a list");
        for row in reader.records() {
            for cell in &row.expect("a row") {
                let acts = cell.starts_with(['=', '+', '-', '@']) && cell.parse::<f64>().is_err();
                assert!(!acts, "{cell} in {}", path.display());
                cells += 1;
            }
        }
    }
    assert!(cells > 1_000, "{cells}");
    for path in files(&plan, ".geojson") {
        let layer: serde_json::Value =
            serde_json::from_str(&fs::read_to_string(&path).expect("a layer")).expect("JSON");
        assert!(layer["features"].is_array());
    }
    acts_on_nothing(&plan.join("schedule.xlsx"));
}

/// A workbook without a formula or a link in it.
fn acts_on_nothing(workbook: &Path) {
    let file = fs::File::open(workbook).expect("a workbook");
    let mut parts = zip::ZipArchive::new(file).expect("a workbook");
    let mut sheets = 0;
    for number in 0..parts.len() {
        let mut part = parts.by_index(number).expect("a part");
        let name = part.name().expect("a name").into_owned();
        if !name.starts_with("xl/worksheets/sheet") {
            continue;
        }
        let mut text = String::new();
        std::io::Read::read_to_string(&mut part, &mut text).expect("XML");
        assert!(
            !text.contains("<f>") && !text.contains("<hyperlink"),
            "{name}"
        );
        sheets += 1;
    }
    assert_eq!(sheets, 6);
}
