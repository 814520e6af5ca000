//! The binary as a user meets it: exit codes, messages, and that nothing is written when a run cannot go on.

#![cfg(feature = "cli")]

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use tempfile::TempDir;

const POLES: &str =
    "ID,FEEDER,SET,HT\nA-1,Mill road,1979,40\nA-2,Mill road,2015,40\nB-1,Hill,,35\n";

const INSPECTIONS: &str = "ID,DATE,HOW,RESULT\nA-1,2015-05-17,SB,OK\nA-2,2024-05-17,SB,OK\n";

const PROGRAMME: &str = r#"
title = "Three poles"
plan_from = 2026-01-01

[[poles]]
file = "poles.csv"
columns = { id = "ID", line = "FEEDER", set_date = "SET", length = "HT" }
units = { length = "ft" }

[[inspections]]
file = "inspections.csv"
columns = { id = "ID", date = "DATE", method = "HOW", verdict = "RESULT" }
codes.method = { SB = "sound_and_bore" }
codes.verdict = { OK = "sound" }
"#;

/// A folder with a programme and its lists; each test spoils one thing.
fn place() -> TempDir {
    let place = tempfile::tempdir().expect("a temporary folder");
    put(&place, "programme.toml", PROGRAMME);
    put(&place, "poles.csv", POLES);
    put(&place, "inspections.csv", INSPECTIONS);
    place
}

fn put(place: &TempDir, name: &str, text: &str) {
    fs::write(place.path().join(name), text).expect("the temporary folder takes files");
}

fn command(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_polewright"));
    command.current_dir(folder).args(arguments);
    command
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    command(folder, arguments)
        .output()
        .expect("the binary starts")
}

fn messages(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// Names of the files in a folder, those of folders in it with their folder's name; a folder with nothing in it counts.
fn names_in(folder: &Path) -> Vec<String> {
    let mut names = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        let name = path
            .file_name()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        let inside = if path.is_dir() {
            names_in(&path)
        } else {
            Vec::new()
        };
        if inside.is_empty() {
            names.push(name);
        } else {
            names.extend(inside.iter().map(|inner| format!("{name}/{inner}")));
        }
    }
    names.sort();
    names
}

/// The same without the sheets for the field.
fn written_in(folder: &Path) -> Vec<String> {
    let mut names = names_in(folder);
    names.retain(|name| !name.starts_with("field/"));
    names
}

/// Plans in `place`; it must end with exit code 2, say every one of `words`, and leave the folder as it was.
fn assert_refused(place: &TempDir, out: &str, words: &[&str]) {
    let before = names_in(place.path());
    let output = run(place.path(), &["plan", "programme.toml", "--out", out]);
    let said = messages(&output);
    assert_eq!(output.status.code(), Some(2), "{said}");
    for word in words {
        assert!(said.contains(word), "{word:?} is not in: {said}");
    }
    assert!(said.starts_with("error: "), "{said}");
    assert!(!said.contains("bug"), "{said}");
    assert!(output.stdout.is_empty());
    assert_eq!(names_in(place.path()), before);
}

#[test]
fn a_missing_programme_is_named() {
    let place = place();
    fs::remove_file(place.path().join("programme.toml")).expect("it was there");
    assert_refused(&place, "plan", &["programme.toml"]);
}

#[test]
fn a_missing_list_is_named() {
    let place = place();
    fs::remove_file(place.path().join("poles.csv")).expect("it was there");
    assert_refused(&place, "plan", &["poles.csv"]);
}

#[test]
fn an_empty_list_is_refused_with_help() {
    let place = place();
    put(&place, "poles.csv", "");
    assert_refused(&place, "plan", &["poles.csv", "empty", "help"]);
}

#[test]
fn check_says_that_no_wooden_pole_is_left_as_plan_does() {
    let place = place();
    put(
        &place,
        "poles.csv",
        "id,material\nS-1,steel\nS-2,concrete\n",
    );
    put(
        &place,
        "programme.toml",
        "plan_from = 2026-01-01\n[[poles]]\nfile = \"poles.csv\"\n",
    );
    let words = "of 2 rows, 2 are out of scope";
    assert_refused(&place, "out", &[words]);
    let checked = run(place.path(), &["check", "programme.toml"]);
    assert_eq!(checked.status.code(), Some(1), "{}", messages(&checked));
    let said = String::from_utf8_lossy(&checked.stdout);
    assert!(said.contains(words), "{said}");
}

#[test]
fn what_is_no_table_is_refused_with_help() {
    let place = place();
    fs::write(
        place.path().join("poles.csv"),
        [0_u8, 159, 146, 150, 0, 1, 2],
    )
    .expect("a file");
    assert_refused(&place, "plan", &["poles.csv", "help"]);
}

#[test]
fn an_unknown_key_gets_a_suggestion() {
    let place = place();
    put(
        &place,
        "programme.toml",
        &PROGRAMME.replace("title", "titel"),
    );
    assert_refused(&place, "plan", &["titel", "title"]);
}

#[test]
fn a_verdict_without_a_meaning_stops_the_run() {
    let place = place();
    put(&place, "inspections.csv", &INSPECTIONS.replace("OK", "Z9"));
    assert_refused(&place, "plan", &["inspections.csv", "RESULT", "Z9", "help"]);
}

#[test]
fn a_mapped_column_that_is_not_there_is_named() {
    let place = place();
    put(&place, "poles.csv", &POLES.replace("SET", "PUT_UP"));
    assert_refused(&place, "plan", &["poles.csv", "SET"]);
}

#[test]
fn an_existing_folder_is_not_touched() {
    let place = place();
    fs::create_dir(place.path().join("plan")).expect("a folder");
    put(&place, "plan/letter.txt", "dear");
    assert_refused(&place, "plan", &["plan", "not empty", "--overwrite"]);
    let output = run(
        place.path(),
        &["plan", "programme.toml", "--out", "plan", "--overwrite"],
    );
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(names_in(&place.path().join("plan")), ["letter.txt"]);
}

#[test]
fn a_folder_inside_a_file_is_refused() {
    assert_refused(&place(), "poles.csv/plan", &["poles.csv/plan", "help"]);
}

/// `/proc` takes no new folder from anyone, not even from the administrator that tests may run as.
#[cfg(target_os = "linux")]
#[test]
fn a_place_that_takes_no_folder_is_refused() {
    assert_refused(&place(), "/proc/plan", &["/proc/plan", "help"]);
}

#[test]
fn usage_errors_end_with_two() {
    let place = place();
    for wrong in [
        &["plan"][..],
        &["plan", "programme.toml"],
        &["plan", "programme.toml", "--out", "plan", "--trials", "0"],
        &["plan", "programme.toml", "--out", "plan", "--seed", "x"],
        &["nonsense"],
    ] {
        let output = run(place.path(), wrong);
        assert_eq!(output.status.code(), Some(2), "{wrong:?}");
        assert!(!messages(&output).is_empty());
    }
    assert_eq!(names_in(place.path()).len(), 3);
}

#[test]
fn help_has_an_example_for_every_command() {
    let place = place();
    for name in ["plan", "check", "strength", "curves"] {
        let output = run(place.path(), &[name, "--help"]);
        let help = String::from_utf8_lossy(&output.stdout).into_owned();
        assert_eq!(output.status.code(), Some(0), "{name}");
        assert!(help.contains(&format!("polewright {name} ")), "{help}");
        assert!(help.contains("Example"), "{help}");
    }
}

#[test]
fn the_examples_of_the_specialists_run() {
    let place = place();
    for example in [
        &[
            "strength",
            "--diameter",
            "300",
            "--outside-decay-depth",
            "20",
            "--sound-shell",
            "50",
        ][..],
        &["curves", "--json"],
        &["check", "programme.toml"],
    ] {
        let output = run(place.path(), example);
        assert_eq!(
            output.status.code(),
            Some(0),
            "{example:?}: {}",
            messages(&output)
        );
        assert!(!output.stdout.is_empty());
    }
}

#[test]
fn pockets_on_the_command_line_stand_on_one_section() {
    let place = place();
    let strength = |more: &[&str]| {
        let pocket = [
            "strength",
            "--diameter",
            "12",
            "--unit",
            "in",
            "--json",
            "--pocket",
        ];
        run(place.path(), &[&pocket[..], more].concat())
    };
    let void = "enclosed:diameter=3,from_centre=3,direction=30";
    let read = |more: &[&str]| -> serde_json::Value {
        let output = strength(more);
        assert_eq!(output.status.code(), Some(0), "{}", messages(&output));
        serde_json::from_slice(&output.stdout).expect("JSON")
    };
    let share =
        |answer: &serde_json::Value| answer["remaining_strength"].as_f64().expect("a share");
    // Parallel axes leave 946.04 in4 to a face at 6.2 in, 0.8994 of the modulus; across it 1 - (1.5 / 6)^4 = 0.9961.
    let worst = read(&[void]);
    assert!((share(&worst) - 0.8994).abs() < 5e-5, "{worst}");
    assert_eq!(worst["worst_direction_degrees"], 30.0);
    let across = read(&[void, "--load-direction", "120"]);
    assert!((share(&across) - 0.9961).abs() < 5e-5, "{across}");
    let two = read(&[void, "--pocket", "exposed:width=3,depth=2,direction=200"]);
    assert!(share(&two) < share(&worst), "{two}");
    let fault = strength(&["enclosed:diameter=3,from_centre=5,direction=0"]);
    assert_eq!(fault.status.code(), Some(2));
    assert!(
        messages(&fault).contains("beyond the surface left"),
        "{}",
        messages(&fault)
    );
}

/// A reader that goes away early (`polewright curves | head`) is no failure.
#[test]
fn a_closed_pipe_is_no_failure() {
    let place = place();
    for arguments in [
        &["curves", "--json"][..],
        &["--help"],
        &["check", "programme.toml", "--json"],
    ] {
        let mut child = command(place.path(), arguments)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the binary starts");
        drop(child.stdout.take());
        let output = child.wait_with_output().expect("it ends");
        assert_eq!(output.status.code(), Some(0), "{}", messages(&output));
        assert!(messages(&output).is_empty(), "{}", messages(&output));
    }
}

/// Files that `plan` writes when nothing more is asked for.
/// What every plan writes beside the sheets for the field.
const WRITTEN: [&str; 16] = [
    "budget.csv",
    "calibration.csv",
    "columns.csv",
    "compliance.csv",
    "data_problems.csv",
    "orders.csv",
    "packages.csv",
    "packages.geojson",
    "poles.geojson",
    "poles.sld",
    "practice.csv",
    "quantities.csv",
    "report.html",
    "run.json",
    "schedule.csv",
    "schedule.xlsx",
];

#[test]
fn a_plan_writes_its_folder_and_says_what_it_found() {
    let place = place();
    let output = run(
        place.path(),
        &["plan", "programme.toml", "--out", "plan", "--trials", "50"],
    );
    assert_eq!(output.status.code(), Some(0), "{}", messages(&output));
    let page = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(page.contains("3 poles to plan for"), "{page}");
    assert!(page.contains("never clears a pole for climbing"), "{page}");
    let folder = place.path().join("plan");
    assert_eq!(written_in(&folder), WRITTEN);
    assert_eq!(
        fs::read_dir(place.path()).expect("a folder").count(),
        4,
        "nothing is left beside it"
    );
    let schedule = fs::read_to_string(folder.join("schedule.csv")).expect("a schedule");
    assert_eq!(schedule.lines().count(), 4);
    let record: serde_json::Value =
        serde_json::from_str(&fs::read_to_string(folder.join("run.json")).expect("a record"))
            .expect("JSON");
    assert_eq!(record["trials"], 50);
    assert_eq!(record["poles"], 3);
    assert_eq!(
        record["digests"].as_object().map(serde_json::Map::len),
        Some(3)
    );
}

#[test]
fn the_same_plan_has_the_same_bytes_whatever_the_threads() {
    let place = place();
    for (out, threads) in [("one", "1"), ("two", "2")] {
        let output = run(
            place.path(),
            &[
                "plan",
                "programme.toml",
                "--out",
                out,
                "--trials",
                "50",
                "--threads",
                threads,
                "--parquet",
            ],
        );
        assert_eq!(output.status.code(), Some(0), "{}", messages(&output));
    }
    let names = names_in(&place.path().join("one"));
    assert_eq!(
        written_in(&place.path().join("one")).len(),
        WRITTEN.len() + 2
    );
    for name in names.iter().filter(|name| *name != "run.json") {
        let read = |folder: &str| fs::read(place.path().join(folder).join(name)).expect("a file");
        assert!(read("one") == read("two"), "{name} differs");
    }
}

#[test]
fn danger_is_said_first_and_even_quietly() {
    let place = place();
    put(
        &place,
        "programme.toml",
        &PROGRAMME.replace("OK = \"sound\"", "OK = \"danger\""),
    );
    for (out, quiet) in [("loud", None), ("quiet", Some("--quiet"))] {
        let mut arguments = vec!["plan", "programme.toml", "--trials", "50", "--out", out];
        arguments.extend(quiet);
        let output = run(place.path(), &arguments);
        assert_eq!(output.status.code(), Some(0), "{}", messages(&output));
        let page = String::from_utf8_lossy(&output.stdout).into_owned();
        assert!(
            page.starts_with("DANGER: 2 poles are judged dangerous. Act today"),
            "{page}"
        );
        let lines = page.lines().count();
        assert!(quiet.is_none() || lines <= 4, "{page}");
    }
}

#[test]
fn strict_tells_of_errors_in_the_data() {
    let place = place();
    put(&place, "poles.csv", &format!("{POLES},Hill,1999,40\n"));
    let plan = |out: &str, more: &[&str]| {
        let mut arguments = vec!["plan", "programme.toml", "--trials", "50", "--out", out];
        arguments.extend(more);
        run(place.path(), &arguments)
    };
    let lenient = plan("lenient", &[]);
    assert_eq!(lenient.status.code(), Some(0), "{}", messages(&lenient));
    let strict = plan("strict", &["--strict", "--json"]);
    assert_eq!(strict.status.code(), Some(1), "{}", messages(&strict));
    let page: serde_json::Value = serde_json::from_slice(&strict.stdout).expect("JSON");
    assert_eq!(page["overview"]["pole_rows"]["set_aside"], 1);
    // The data have errors, but the plan was made.
    assert_eq!(written_in(&place.path().join("strict")), WRITTEN);
}

#[test]
fn check_takes_the_flags_of_plan() {
    let place = place();
    let check = |more: &[&str]| {
        let mut arguments = vec!["check", "programme.toml"];
        arguments.extend(more);
        run(place.path(), &arguments)
    };
    let models = concat!(env!("CARGO_MANIFEST_DIR"), "/models");
    let output = check(&["--models", models, "--threads", "1"]);
    assert_eq!(output.status.code(), Some(0), "{}", messages(&output));
    assert!(!output.stdout.is_empty());
    let quiet = check(&["--quiet"]);
    assert_eq!(quiet.status.code(), Some(0), "{}", messages(&quiet));
    assert!(quiet.stdout.is_empty(), "no danger is recorded here");
    let danger = check(&["--quiet", "--set", "inspections.0.codes.verdict.OK=danger"]);
    let page = String::from_utf8_lossy(&danger.stdout).into_owned();
    assert!(
        page.starts_with("DANGER: 2 poles are judged dangerous."),
        "{page}"
    );
    assert_eq!(check(&["--models", "nowhere"]).status.code(), Some(2));
    let wrong = check(&["--set", "trials=abc"]);
    assert_eq!(wrong.status.code(), Some(2));
    let said = messages(&wrong);
    assert!(
        said.contains("--set trials=abc: expected a whole number, not the text \"abc\""),
        "{said}"
    );
}

#[test]
fn a_parquet_file_of_ours_is_a_list_again() {
    let place = place();
    let arguments = "plan programme.toml --trials 50 --parquet --out plan";
    let arguments: Vec<&str> = arguments.split(' ').collect();
    let output = run(place.path(), &arguments);
    assert_eq!(output.status.code(), Some(0), "{}", messages(&output));
    put(
        &place,
        "again.toml",
        "plan_from = 2026-01-01\n[[poles]]\nfile = \"plan/schedule.parquet\"\nunits.length = \"ft\"\n",
    );
    let read = |name: &str| {
        let output = run(place.path(), &["check", name, "--json"]);
        serde_json::from_slice::<serde_json::Value>(&output.stdout).expect("JSON")
    };
    let (first, again) = (read("programme.toml"), read("again.toml"));
    assert_eq!(again["rows"]["poles"], first["rows"]["poles"]);
    assert!(again["rows"]["poles"]["used"].as_u64() > Some(1));
}

#[test]
fn a_list_of_counts_is_planned_for() {
    let place = place();
    put(
        &place,
        "counts.csv",
        "size;decade;preservative;number\r\n40-4;1970s;creosote;30\r\n45-3;1990/99;cca;12\r\n",
    );
    put(
        &place,
        "counts.toml",
        "plan_from = 2026-01-01\n[[poles]]\nfile = \"counts.csv\"\ncolumns = { class = \"size\", set_date = \"decade\", count = \"number\" }\n",
    );
    let arguments = "plan counts.toml --trials 50 --out plan";
    let arguments: Vec<&str> = arguments.split(' ').collect();
    let output = run(place.path(), &arguments);
    assert_eq!(output.status.code(), Some(0), "{}", messages(&output));
    let page = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(
        page.contains("of these 2 rows with a count, which stand for 42 poles"),
        "{page}"
    );
    let schedule = fs::read_to_string(place.path().join("plan/schedule.csv")).expect("a schedule");
    let flagged = schedule
        .lines()
        .filter(|line| line.contains("from_a_count"));
    assert_eq!(flagged.count(), 42);
    assert_eq!(
        schedule
            .lines()
            .filter(|line| line.contains(",spread,"))
            .count(),
        42
    );
}

#[test]
fn work_done_and_failures_stand_on_the_page() {
    let place = place();
    let more = "\n[[work_done]]\nfile = \"work.csv\"\n\n[[failures]]\nfile = \"failures.csv\"\n";
    put(&place, "programme.toml", &(PROGRAMME.to_owned() + more));
    put(
        &place,
        "work.csv",
        "id,date,work,new_id,new_length\nA-1,2020-05-01,replaced,A-9,12\nB-1,2021,reinforced,,\n",
    );
    put(
        &place,
        "failures.csv",
        "id,date,assisted\nZ-1,2022-03-01,no\nZ-2,2024-03-01,yes\n",
    );
    let plan = run(
        place.path(),
        &[
            "plan",
            "programme.toml",
            "--out",
            "out",
            "--trials",
            "20",
            "--quiet",
        ],
    );
    assert_eq!(plan.status.code(), Some(0), "{}", messages(&plan));
    let schedule = fs::read_to_string(place.path().join("out/schedule.csv")).expect("a schedule");
    assert!(
        schedule.contains("A-9") && !schedule.contains("A-1,"),
        "{schedule}"
    );
    let record = fs::read_to_string(place.path().join("out/run.json")).expect("a record");
    let record: serde_json::Value = serde_json::from_str(&record).expect("JSON");
    assert_eq!(
        (
            &record["work_rows"]["used"],
            &record["failure_rows"]["used"]
        ),
        (&2.into(), &2.into())
    );
    let plan = run(
        place.path(),
        &["plan", "programme.toml", "--out", "page", "--trials", "20"],
    );
    let page = String::from_utf8_lossy(&plan.stdout).into_owned();
    // One failure in the four years since the first: between 0.0513 and 4.744 (chi squared), by four.
    let wanted = "Failures on record: 1 unassisted in 4 years, 0.01 to 1.19 a year";
    assert!(page.contains(wanted), "{page}");
    assert!(page.contains("work done: 2 rows read, 2 used"), "{page}");
    assert!(page.contains("1 pole that is gone is kept apart"), "{page}");
    let check = run(place.path(), &["check", "programme.toml"]);
    let text = String::from_utf8_lossy(&check.stdout).into_owned();
    assert!(
        text.contains("poles that only the work done knows: 1"),
        "{text}"
    );
    assert!(
        text.contains("poles of which it is not known: set date 1"),
        "{text}"
    );
}

#[test]
fn climate_tells_the_index_of_each_station() {
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    // The example of its help.
    let page = run(top, &["climate", "data-demo/stations.csv"]);
    assert_eq!(page.status.code(), Some(0), "{}", messages(&page));
    let text = String::from_utf8_lossy(&page.stdout).into_owned();
    assert!(text.contains("Above ground only"), "{text}");
    let json = run(top, &["climate", "data-demo/stations.csv", "--json"]);
    let list: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    let found: Vec<(&str, f64, &str)> = list
        .as_array()
        .expect("a list")
        .iter()
        .map(|row| {
            let word = |key: &str| row[key].as_str().expect("a word");
            let index = row["scheffer_index"].as_f64().expect("a number");
            (word("station"), index, word("class"))
        })
        .collect();
    // The formula, worked out apart.
    let [(vale, mild, moderate), (marsh, warm, high)] = found[..] else {
        panic!("two stations: {found:?}");
    };
    assert_eq!((vale, moderate), ("Harrow Vale", "moderate"));
    assert_eq!((marsh, high), ("Saltmarsh", "high"));
    assert!(
        (mild - 39.70).abs() < 0.005 && (warm - 100.18).abs() < 0.005,
        "{found:?}"
    );
}

#[test]
fn climate_shows_the_stations_nearest_to_a_place_under_the_tables_own_names() {
    let place = tempfile::tempdir().expect("a folder");
    let mut rows = vec!["name,month,mean_temperature_c,rain days,lon,lat".to_owned()];
    for (name, lon, lat) in [
        ("Far", 30.0, 10.0),
        ("Near", -81.0, 41.0),
        ("Nearer", -81.4, 41.1),
    ] {
        rows.extend((1..=12).map(|month| format!("{name},{month},10,12,{lon},{lat}")));
    }
    put(&place, "normals.csv", &rows.join("\n"));
    let mut arguments = vec![
        "climate",
        "normals.csv",
        "--near",
        "-81.4846,41.134",
        "--json",
    ];
    let names = [
        "station=name",
        "wet_days=rain days",
        "longitude=lon",
        "latitude=lat",
    ];
    arguments.extend(names.into_iter().flat_map(|name| ["--column", name]));
    let json = run(place.path(), &arguments);
    let list: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    let order: Vec<&str> = list
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(|station| station["station"].as_str())
        .collect();
    assert_eq!(order, ["Nearer", "Near", "Far"]);
    // A tenth of a degree is 7 to 11 km here.
    let far = list[0]["distance_m"].as_f64().expect("metres");
    assert!((7_000.0..9_000.0).contains(&far), "{far}");
    let refused = run(
        place.path(),
        &["climate", "normals.csv", "--near", "91,41,2"],
    );
    assert_eq!(refused.status.code(), Some(2));
}

#[test]
fn climate_names_every_fault_of_its_table() {
    let place = place();
    let rows = (1..=11).map(|month| format!("Mill,{month},50,9\n"));
    let table: String = std::iter::once("station,month,mean_temperature_c,wet_days\n".to_owned())
        .chain(rows)
        .collect();
    put(&place, "stations.csv", &table);
    for (name, words) in [
        (
            "stations.csv",
            &[
                "12 faults",
                "row 2, column mean_temperature_c, value \"50\"",
                "is it in Fahrenheit?",
                "and 2 more",
                "help: one row for each station",
            ][..],
        ),
        ("poles.csv", &["poles.csv: no column of the name station"]),
        (
            "none.csv",
            &["none.csv", "no such file", "where the command runs"],
        ),
    ] {
        let output = run(place.path(), &["climate", name]);
        let said = messages(&output);
        assert_eq!(output.status.code(), Some(2), "{said}");
        assert!(
            said.starts_with("error: ") && output.stdout.is_empty(),
            "{said}"
        );
        for word in words {
            assert!(said.contains(word), "{word:?} is not in: {said}");
        }
    }
}

#[test]
fn bare_lists_give_a_programme_that_runs_and_is_never_overwritten_unasked() {
    let place = place();
    let lists = ["check", "poles.csv", "inspections.csv"];
    let output = run(place.path(), &lists);
    assert_eq!(output.status.code(), Some(0), "{}", messages(&output));
    let page = String::from_utf8_lossy(&output.stdout).into_owned();
    for part in [
        "poles.csv: a list of poles, 3 rows",
        "inspections.csv: a list of inspections, 2 rows",
        "poles: 3 rows read = 3 used + 0 out of scope + 0 set aside",
        "not used: HOW",
        "never clears a pole",
        "A programme to start from was written: poles-programme.toml",
    ] {
        assert!(page.contains(part), "{part}\n{page}");
    }
    let written = fs::read(place.path().join("poles-programme.toml")).expect("the programme");
    let planned = run(
        place.path(),
        &[
            "plan",
            "poles-programme.toml",
            "--out",
            "plan",
            "--trials",
            "8",
        ],
    );
    assert_eq!(planned.status.code(), Some(0), "{}", messages(&planned));
    put(&place, "poles-programme.toml", "# mine\n");
    let again = run(place.path(), &lists);
    assert!(String::from_utf8_lossy(&again.stdout).contains("was left as it is"));
    let mine = fs::read_to_string(place.path().join("poles-programme.toml")).expect("mine");
    assert_eq!(mine, "# mine\n");
    run(
        place.path(),
        &["check", "poles.csv", "inspections.csv", "--overwrite"],
    );
    let anew = fs::read(place.path().join("poles-programme.toml")).expect("the programme");
    assert_eq!(anew, written);
}

#[test]
fn a_programme_beside_lists_is_refused() {
    let place = place();
    let output = run(place.path(), &["check", "programme.toml", "poles.csv"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        messages(&output).contains("only lists"),
        "{}",
        messages(&output)
    );
}

#[test]
fn a_filled_field_sheet_comes_back_as_inspections_without_loss() {
    let place = place();
    // Two poles of one line, both long overdue, and a name that a spreadsheet would take for a formula.
    put(
        &place,
        "poles.csv",
        "ID,FEEDER,SET,HT\n=A-1,Mill road,1970,40\nA-2,Mill road,1975,40\nB-1,Hill,,35\n",
    );
    put(
        &place,
        "inspections.csv",
        "ID,DATE,HOW,RESULT\nA-2,2001-05-17,SB,OK\n",
    );
    let plan = |out: &str| {
        run(
            place.path(),
            &["plan", "programme.toml", "--out", out, "--trials", "8"],
        )
    };
    let output = plan("plan");
    assert_eq!(output.status.code(), Some(0), "{}", messages(&output));
    let mut sheets = names_in(&place.path().join("plan/field"));
    let pages = sheets.clone();
    sheets.retain(|name| {
        Path::new(name)
            .extension()
            .is_some_and(|ending| ending == "csv")
    });
    assert!(!sheets.is_empty(), "no sheet for the field");
    for sheet in &sheets {
        let page = sheet.replace(".csv", ".html");
        assert!(pages.contains(&page), "no page beside {sheet}");
    }
    let mut programme = PROGRAMME.to_owned();
    let mut filled = 0;
    for sheet in &sheets {
        let text =
            fs::read_to_string(place.path().join("plan/field").join(sheet)).expect("a sheet");
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let columns = reader.headers().expect("a header").clone();
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(&columns).expect("a header");
        for record in reader.records() {
            let record = record.expect("a stop");
            let cells = columns
                .iter()
                .zip(&record)
                .map(|(column, cell)| match column {
                    "date" => "2025-06-01",
                    "verdict" => "decay_serviceable",
                    "decay_mode" | "agent_place" => "internal",
                    "sound_shell" => "90; 80; 3 1/2 in",
                    "pocket_width" => "100; 2.5 in",
                    "pocket_depth" => "40; 30",
                    "pocket_side" => "NE; 200",
                    "pocket_height" => "-100;",
                    "above_ground_defect" => "none",
                    "treated" => "yes",
                    "agent" => "boron_rod",
                    "contractor" => "-crew 1",
                    "remarks" => "said \"fine\",\nbut wet",
                    _ => cell,
                });
            writer.write_record(cells).expect("a stop");
            filled += 1;
        }
        let bytes = writer.into_inner().expect("a sheet");
        put(&place, sheet, &String::from_utf8(bytes).expect("a text"));
        programme = [programme, format!("[[inspections]]\nfile = \"{sheet}\"\n")].join("\n");
    }
    put(&place, "programme.toml", &programme);
    let output = run(place.path(), &["check", "programme.toml", "--json"]);
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let rows = &answer["rows"]["inspections"];
    assert_eq!(rows["used"], filled + 1, "{answer:#}");
    assert_eq!(rows["set_aside"], 0, "{answer:#}");
    assert_eq!(answer["problems"], serde_json::json!([]));
    let output = plan("again");
    assert_eq!(output.status.code(), Some(0), "{}", messages(&output));
    let schedule = fs::read_to_string(place.path().join("again/schedule.csv")).expect("a schedule");
    let seen = schedule
        .lines()
        .filter(|line| line.contains("2025-06-01") && line.contains("decay_serviceable"));
    assert_eq!(seen.count(), filled);
}

/// Files that `hindcast` writes.
const LOOKED_BACK: [&str; 8] = [
    "columns.csv",
    "coverage.csv",
    "hindcast.csv",
    "lift.svg",
    "reliability.csv",
    "reliability.svg",
    "run.json",
    "scores.csv",
];

#[test]
fn a_hindcast_writes_its_folder_and_gives_a_verdict() {
    let place = place();
    put(
        &place,
        "inspections.csv",
        "ID,DATE,HOW,RESULT\nA-1,2015-05-17,SB,OK\nA-1,2025-05-17,SB,BAD\nA-2,2024-05-17,SB,OK\n",
    );
    let codes = PROGRAMME.replace("OK = \"sound\"", "OK = \"sound\", BAD = \"reject_replace\"");
    put(&place, "programme.toml", &codes);
    let ask = |out: &str, more: &[&str]| {
        let mut arguments = vec![
            "hindcast",
            "programme.toml",
            "--as-of",
            "2020",
            "2025",
            "--out",
            out,
        ];
        arguments.extend(more);
        let output = run(place.path(), &arguments);
        assert_eq!(output.status.code(), Some(0), "{}", messages(&output));
        String::from_utf8_lossy(&output.stdout).into_owned()
    };
    let page = ask("back", &["--threads", "1"]);
    assert!(page.contains("Together: 2 inspections"), "{page}");
    assert!(page.contains("Verdict: the forecast "), "{page}");
    assert!(page.contains("never clears a pole for climbing"), "{page}");
    assert_eq!(names_in(&place.path().join("back")), LOOKED_BACK);
    let json: serde_json::Value = serde_json::from_str(&ask("again", &["--json"])).expect("JSON");
    assert_eq!(json["together"]["found"], 1);
    for name in LOOKED_BACK.iter().filter(|name| **name != "run.json") {
        let read = |folder: &str| fs::read(place.path().join(folder).join(name)).expect("a file");
        assert!(read("back") == read("again"), "{name} differs");
    }
}

#[test]
fn a_hindcast_of_what_has_not_happened_is_refused() {
    let place = place();
    let before = names_in(place.path());
    let ask = [
        "hindcast",
        "programme.toml",
        "--as-of",
        "2020",
        "2026",
        "--out",
        "back",
    ];
    let output = run(place.path(), &ask);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        messages(&output).contains("does not lie before plan_from"),
        "{}",
        messages(&output)
    );
    assert_eq!(names_in(place.path()), before);
}

#[test]
fn explain_says_why_and_names_ids_like_a_wrong_one() {
    let place = place();
    let explain = |id: &str, more: &[&str]| {
        let mut arguments = vec!["explain", "programme.toml", "--trials", "20", "--pole", id];
        arguments.extend(more);
        run(place.path(), &arguments)
    };
    let told = explain("A-1", &[]);
    let text = String::from_utf8_lossy(&told.stdout).into_owned();
    assert!(told.status.success(), "{}", messages(&told));
    for part in [
        "Pole A-1 (Three poles",
        "Which rules bind it",
        "never clears a pole",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
    let as_json = explain("A-1", &["--json"]);
    let json: serde_json::Value = serde_json::from_slice(&as_json.stdout).expect("JSON");
    assert_eq!(json["pole"], "A-1");
    assert!(
        json["steps"][0]["p_below_limit_now"]
            .as_f64()
            .is_some_and(|p| p > 0.0)
    );
    let wrong = explain("a-", &[]);
    assert_eq!(wrong.status.code(), Some(2));
    assert!(
        messages(&wrong).contains("such as A-1"),
        "{}",
        messages(&wrong)
    );
}

#[test]
fn an_estimate_comes_from_a_bare_list_and_its_programme_plans_the_same_poles() {
    let place = place();
    put(
        &place,
        "counts.csv",
        "size,decade,preservative,count\n40-4,1970s,creosote,30\n45-3,1990s,cca,12\n",
    );
    let arguments =
        "estimate counts.csv --zone 4 --years 10 --out est --trials 50 --date 2025-11-03";
    let arguments: Vec<&str> = arguments.split(' ').collect();
    let output = run(place.path(), &arguments);
    assert_eq!(output.status.code(), Some(0), "{}", messages(&output));
    let page = String::from_utf8_lossy(&output.stdout).into_owned();
    for words in [
        "counts.csv, decay zone 4, 2026 to 2035 (10 years). Made on 2025-11-03, valid until 2026-02-01.",
        "An estimate, not an offer",
        "which stand for 42 poles",
        "never clears a pole",
    ] {
        assert!(page.contains(words), "{words}\n{page}");
    }
    let folder = place.path().join("est");
    let read = |name: &str| fs::read_to_string(folder.join(name)).expect(name);
    assert!(read("estimate.html").contains("valid until 2026-02-01"));
    let again = run(
        &folder,
        &[
            "plan",
            "programme.toml",
            "--trials",
            "50",
            "--out",
            "../again",
        ],
    );
    assert_eq!(again.status.code(), Some(0), "{}", messages(&again));
    let planned =
        fs::read_to_string(place.path().join("again/quantities.csv")).expect("quantities");
    assert!(read("quantities.csv") == planned);
}

#[test]
fn a_plan_is_held_to_the_earlier_one_that_the_programme_names() {
    let place = place();
    let plan = |out: &str, more: &[&str]| {
        let usual = ["plan", "programme.toml", "--trials", "20", "--out", out];
        run(place.path(), &[&usual[..], more].concat())
    };
    let first = plan("last", &[]);
    assert_eq!(first.status.code(), Some(0), "{}", messages(&first));
    let seen = format!("{INSPECTIONS}A-1,2026-06-01,SB,OK\n");
    put(&place, "inspections.csv", &seen);
    let later = ["--set", "plan_from=2027-01-01", "--set"];
    let output = plan("plan", &[&later[..], &["previous.folder=last"]].concat());
    assert_eq!(output.status.code(), Some(0), "{}", messages(&output));
    let page = String::from_utf8_lossy(&output.stdout).into_owned();
    // A-1, due since 2025, and B-1, of which nothing is recorded, were planned for 2026; A-1 was inspected.
    let wanted = "of 2 inspections planned for 2026, 1 done; below the limit: expected";
    assert!(page.contains(wanted), "{page}");
    let read = |name: &str| fs::read_to_string(place.path().join("plan").join(name));
    let changes = read("changes.csv").expect("changes");
    assert!(changes.contains("A-1,year,2026,2028,record,"), "{changes}");
    assert!(
        changes.contains("B-1,year,2026,2027,not_done,"),
        "{changes}"
    );
    let progress = read("progress.csv").expect("progress");
    assert!(
        progress.contains("2026,inspect,sound_and_bore,2,1,1,0,"),
        "{progress}"
    );
    let record = read("run.json").expect("a record");
    assert!(record.contains("last/schedule.csv"));
    for (folder, said) in [("nowhere", "no such file"), ("plan/field", "no such file")] {
        let alien = format!("previous.folder={folder}");
        let output = plan("other", &[&later[..], &[&alien]].concat());
        assert_eq!(output.status.code(), Some(2));
        assert!(messages(&output).contains(said), "{}", messages(&output));
        assert!(!place.path().join("other").exists());
    }
}

#[test]
fn a_limit_of_money_needs_a_currency_and_names_the_must_dos_beyond_it() {
    let place = place();
    let seen = INSPECTIONS.replace("A-2,2024-05-17,SB,OK", "A-2,2024-05-17,SB,BAD");
    put(&place, "inspections.csv", &seen);
    let codes = PROGRAMME.replace("OK = ", "BAD = \"reject_replace\", OK = ");
    put(&place, "programme.toml", &codes);
    let plan = |out: &str, more: &[&str]| {
        let usual = ["plan", "programme.toml", "--trials", "20", "--out", out];
        run(place.path(), &[&usual[..], more].concat())
    };
    let limit = ["--set", "budget.capital=[100, 100]"];
    let output = plan("plan", &limit);
    assert_eq!(output.status.code(), Some(2));
    assert!(messages(&output).contains("a limit of money without a currency"));
    let money = [
        "--set",
        "costs.currency=EUR",
        "--set",
        "costs.price_year=2026",
    ];
    let output = plan("plan", &[&limit[..], &money[..]].concat());
    assert_eq!(output.status.code(), Some(0), "{}", messages(&output));
    let page = String::from_utf8_lossy(&output.stdout).into_owned();
    // The default of a pole is 8,000.
    let wanted = "NOT COMPLIANT: in 2026 the capital limit of 100 leaves 1 must-do without money (8,000 EUR of 2026): A-2";
    assert!(page.contains(wanted), "{page}");
    let budget = fs::read_to_string(place.path().join("plan/budget.csv")).expect("a budget");
    assert!(budget.contains("2026,capital,total,"), "{budget}");
}

#[test]
fn policies_are_compared_with_the_same_bytes_whatever_the_threads() {
    let place = place();
    let own = "[[alternatives]]\nname = \"dig everywhere\"\nmethod = \"full_excavation\"\n";
    put(&place, "programme.toml", &format!("{PROGRAMME}\n{own}"));
    let compared = |out: &str, threads: &str| {
        let arguments = [
            "compare",
            "programme.toml",
            "--out",
            out,
            "--trials",
            "40",
            "--ready-made",
            "--threads",
            threads,
        ];
        let output = run(place.path(), &arguments);
        assert_eq!(output.status.code(), Some(0), "{}", messages(&output));
        let page = String::from_utf8_lossy(&output.stdout).into_owned();
        let files = ["compare.csv", "compare_totals.csv", "columns.csv"].map(|name| {
            let path = place.path().join(out).join(name);
            fs::read_to_string(path).expect("a file of the folder")
        });
        (page.replace(out, "OUT"), files)
    };
    let (page, files) = compared("folder-1", "1");
    assert_eq!((page.clone(), files.clone()), compared("folder-2", "2"));
    for name in [
        "programme as it is",
        "dig everywhere",
        "run to failure",
        "80 % of the money",
    ] {
        assert!(page.contains(name), "{page}");
        assert!(
            files.iter().take(2).all(|file| file.contains(name)),
            "{name}"
        );
    }
    assert!(page.contains("never clears a pole"), "{page}");
    assert!(
        !files[0].contains("cost_operating"),
        "money without a currency"
    );
    let record = fs::read_to_string(place.path().join("folder-1/run.json")).expect("a record");
    assert!(record.contains("\"command\": \"compare\""), "{record}");
    // Without its own alternatives the programme gets the ready-made ones; without either flag only its own.
    let json = run(
        place.path(),
        &[
            "compare",
            "programme.toml",
            "--out",
            "json",
            "--trials",
            "20",
            "--json",
        ],
    );
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    assert_eq!(json["policies"].as_array().map(Vec::len), Some(2));
}

#[test]
fn an_alternative_that_cannot_be_is_refused_with_help() {
    for (own, words) in [
        (
            "name = \"x\"\ncicle_factor = 0.5",
            "did you mean \"cycle_factor\"?",
        ),
        ("cycle_factor = 0.5", "name is missing"),
        ("name = \"x\"", "changes nothing"),
        (
            "name = \"x\"\nvisit_first = \"oldst\"",
            "did you mean \"oldest\"?",
        ),
        (
            "name = \"x\"\nremedial_treatment = true",
            "policy.remedial_agent",
        ),
        (
            "name = \"x\"\nreinforce = true",
            "policy.reinforceable_share",
        ),
        (
            "name = \"x\"\nrepeat_years = 5\ncycle_factor = 2",
            "give one of them",
        ),
        (
            "name = \"x\"\ninspect = false\n[[alternatives]]\nname = \"x\"\ncrew_factor = 2",
            "name of another",
        ),
    ] {
        let place = place();
        put(
            &place,
            "programme.toml",
            &format!("{PROGRAMME}\n[[alternatives]]\n{own}\n"),
        );
        let output = run(place.path(), &["compare", "programme.toml", "--out", "out"]);
        assert_eq!(output.status.code(), Some(2), "{own}");
        assert!(
            messages(&output).contains(words),
            "{own}: {}",
            messages(&output)
        );
        assert!(!place.path().join("out").exists());
    }
}

#[test]
fn a_plan_says_which_assumptions_move_it_when_asked() {
    let place = place();
    let run = |out: &str, more: &[&str]| {
        let mut arguments = vec!["plan", "programme.toml", "--out", out, "--trials", "20"];
        arguments.extend(more);
        let output = run(place.path(), &arguments);
        assert_eq!(output.status.code(), Some(0), "{}", messages(&output));
        String::from_utf8_lossy(&output.stdout).into_owned()
    };
    let without = run("without", &[]);
    assert!(without.contains("--sensitivity"), "{without}");
    assert!(!place.path().join("without/sensitivity.csv").exists());
    let with = run("with", &["--sensitivity"]);
    assert!(
        with.contains("With another seed 0 of them change"),
        "{with}"
    );
    let file = fs::read_to_string(place.path().join("with/sensitivity.csv")).expect("the file");
    assert!(
        file.contains("costs.failure") && file.contains("never clears"),
        "{file}"
    );
    let columns = fs::read_to_string(place.path().join("with/columns.csv")).expect("columns");
    assert!(columns.contains("sensitivity.csv,range_mark"), "{columns}");
}
