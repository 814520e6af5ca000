//! `plan --public`: nothing that tells a pole, a line, a person or an exact place leaves the owner's hands.

#![cfg(feature = "cli")]

use std::fmt::Write;
use std::fs;
use std::path::Path;
use std::process::Command;

/// What must not be found in any file: one mark for each thing that tells who or where.
const MARKS: [&str; 12] = [
    "IDMARK",
    "LINEMARK",
    "DISTMARK",
    "OWNMARK",
    "NOTEMARK",
    "CHARGEMARK",
    "CONMARK",
    "CODEMARK",
    "REMMARK",
    "PREPMARK",
    "TITLEMARK",
    "FILEMARK",
];

/// Poles of two squares with enough poles each, and a few of a third.
const POLES: usize = 60;

fn lists(folder: &Path) {
    let mut poles = String::from("id,line,district,owner,notes,charge,set_date,lon,lat\n");
    let mut inspections = String::from(
        "id,date,method,verdict,contractor,inspector,remarks\nIDMARK-LOST,2020-01-01,sound,sound,CONMARK,CODEMARK,REMMARK\n",
    );
    for number in 0..POLES {
        // Around 11.2x east and 47.3x north, and for the last five 12.9x east: too few to be shown.
        let longitude = if number < POLES - 5 {
            11.234_567
        } else {
            12.934_567
        };
        let longitude = longitude + 0.000_3 * number as f64;
        let latitude = 47.345_678 + if number % 2 == 0 { 0.0 } else { 0.1 };
        let date = if number == 7 { "32.13.1999" } else { "1971" };
        let _ = writeln!(
            poles,
            "IDMARK-{number},LINEMARK {},DISTMARK,OWNMARK,NOTEMARK,CHARGEMARK,{date},{longitude:.6},{latitude:.6}",
            number % 3
        );
        let verdict = match number {
            3 => "danger",
            4 => "reject_replace",
            _ => "sound",
        };
        let _ = writeln!(
            inspections,
            "IDMARK-{number},2019-05-{:02},sound_and_bore,{verdict},CONMARK,CODEMARK,REMMARK",
            1 + number % 28
        );
    }
    fs::write(folder.join("FILEMARK-poles.csv"), poles).expect("a list");
    fs::write(folder.join("FILEMARK-inspections.csv"), inspections).expect("a list");
    fs::write(
        folder.join("FILEMARK.toml"),
        r#"
title = "TITLEMARK"
plan_from = 2026-01-01
trials = 20
[[poles]]
file = "FILEMARK-poles.csv"
columns = { longitude = "lon", latitude = "lat" }
[[inspections]]
file = "FILEMARK-inspections.csv"
"#,
    )
    .expect("a programme");
}

fn plan(folder: &Path, out: &str, more: &[&str]) -> std::process::Output {
    Command::new(env!("CARGO_BIN_EXE_polewright"))
        .current_dir(folder)
        .args(["plan", "FILEMARK.toml", "--quiet", "--out", out])
        .args(["--set", "title=\"TITLEMARK\""])
        .args(more)
        .output()
        .expect("the binary starts")
}

/// The texts of all files below a folder, by name.
fn texts(folder: &Path) -> Vec<(String, String)> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            found.extend(texts(&path));
        } else {
            let name = path.file_name().expect("a name").to_string_lossy();
            let bytes = fs::read(&path).expect("a file");
            found.push((
                name.into_owned(),
                String::from_utf8_lossy(&bytes).into_owned(),
            ));
        }
    }
    found.sort();
    found
}

/// Numbers of a text with more than two decimals.
fn fine_numbers(text: &str) -> Vec<&str> {
    text.split(|letter: char| !(letter.is_ascii_digit() || letter == '.'))
        .filter(|word| word.parse::<f64>().is_ok())
        .filter(|word| {
            word.split_once('.')
                .is_some_and(|(_, decimals)| decimals.len() > 2)
        })
        .collect()
}

#[test]
fn nothing_that_tells_a_pole_a_person_or_a_place_is_left() {
    let place = tempfile::tempdir().expect("a temporary folder");
    lists(place.path());
    // The marks are there to be found: an owner's plan holds them.
    let owners = plan(place.path(), "owner", &["--prepared-by", "PREPMARK"]);
    assert_eq!(owners.status.code(), Some(0));
    let all: String = texts(&place.path().join("owner"))
        .into_iter()
        .map(|(name, text)| name + &text)
        .collect();
    for mark in [
        "IDMARK",
        "LINEMARK",
        "CONMARK",
        "PREPMARK",
        "TITLEMARK",
        "FILEMARK",
        "11.2345",
    ] {
        assert!(all.contains(mark), "{mark} is not in the owner's plan");
    }

    let output = plan(place.path(), "open", &["--public"]);
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{said}");
    let files = texts(&place.path().join("open"));
    let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(
        names,
        [
            "areas.csv",
            "areas.geojson",
            "calibration.csv",
            "columns.csv",
            "data_problems.csv",
            "quantities.csv",
            "run.json",
            "totals.csv",
        ]
    );
    for (name, text) in &files {
        for mark in MARKS {
            let found = text.to_uppercase().contains(mark);
            assert!(!found, "{name} holds {mark}");
        }
        // Three decimals of a degree are some hundred metres.
        for start in [
            "11.23", "11.24", "11.25", "12.93", "12.94", "12.95", "47.34", "47.44",
        ] {
            assert!(!text.contains(start), "{name} holds {start}");
        }
        if name.starts_with("areas") {
            assert_eq!(fine_numbers(text), Vec::<&str>::new(), "{name}");
        }
    }
}

#[test]
fn squares_count_every_pole_and_hide_where_few_stand() {
    let place = tempfile::tempdir().expect("a temporary folder");
    lists(place.path());
    assert_eq!(
        plan(place.path(), "open", &["--public"]).status.code(),
        Some(0)
    );
    let text = fs::read_to_string(place.path().join("open/areas.csv")).expect("areas");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    let areas: Vec<&str> = rows.iter().map(|row| &row[0]).collect();
    assert_eq!(areas, ["area 1", "area 2", "elsewhere"]);
    let poles: usize = rows
        .iter()
        .map(|row| row[5].parse::<usize>().expect("a count"))
        .sum();
    assert_eq!(poles, POLES);
    assert_eq!((&rows[2][1], &rows[2][5]), ("", "5"));
    let layer = fs::read_to_string(place.path().join("open/areas.geojson")).expect("a layer");
    let layer: geojson::FeatureCollection = layer.parse().expect("a collection of features");
    assert_eq!(layer.features.len(), 2);
    let bounds = layer.bbox.expect("bounds");
    assert_eq!(bounds.as_slice(), [11.2, 47.3, 11.3, 47.5]);
}

#[test]
fn a_public_plan_takes_no_flag_that_would_name_or_place_anything() {
    let place = tempfile::tempdir().expect("a temporary folder");
    lists(place.path());
    for more in [
        &["--parquet"][..],
        &["--layer", "geoparquet"],
        &["--prepared-by", "N"],
    ] {
        let output = plan(place.path(), "open", &[&["--public"], more].concat());
        assert_eq!(output.status.code(), Some(2));
        assert!(!place.path().join("open").exists());
    }
}
