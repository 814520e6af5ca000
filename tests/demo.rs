//! `data-demo` is what its stated command makes, byte for byte: nobody edits it by hand.

use polewright::invent::{Recipe, invent};
use polewright::models::text::built_in;
use std::path::Path;

/// The command that `data-demo/README.md` states.
const COMMAND: &str = "polewright invent --poles 6000 --seed 1 --dirt --out invented";

#[test]
fn the_demo_is_made_by_its_stated_command() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-demo");
    let stored = |name: &str| std::fs::read_to_string(folder.join(name)).expect("a file");
    assert!(stored("README.md").contains(COMMAND));
    let made = invent(
        &Recipe::demo(6000, 1, true),
        &built_in().expect("valid models"),
    );
    for (name, text) in made.files.all() {
        if name == "truth.csv" {
            continue;
        }
        // Not assert_eq: a difference would print half a megabyte twice.
        assert!(
            stored(name) == text,
            "{name} differs: make it anew with {COMMAND}"
        );
    }
}

/// Trials of the golden run: enough that every kind of row occurs, few enough that it stays quick.
#[cfg(feature = "cli")]
const TRIALS: &str = "128";

/// Set to `update` to write `tests/golden/demo.json` anew; read the difference before committing it.
#[cfg(feature = "cli")]
const REFRESH: &str = "POLEWRIGHT_GOLDEN";

#[cfg(feature = "cli")]
#[test]
fn the_main_job_on_the_demo_gives_the_same_plan_as_ever() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = tempfile::tempdir().expect("a temporary folder");
    let out = folder.path().join("plan");
    let run = std::process::Command::new(env!("CARGO_BIN_EXE_polewright"))
        .args([
            "plan",
            "data-demo/programme.toml",
            "--json",
            "--trials",
            TRIALS,
            "--out",
        ])
        .arg(&out)
        .current_dir(root)
        .output()
        .expect("the program runs");
    assert!(
        run.status.success(),
        "{}",
        String::from_utf8_lossy(&run.stderr)
    );
    let printed = String::from_utf8(run.stdout).expect("text");
    let printed = printed.replace(&out.display().to_string(), "plan");
    let golden = root.join("tests/golden/demo.json");
    if std::env::var(REFRESH).is_ok_and(|wish| wish == "update") {
        std::fs::write(&golden, &printed).expect("the golden file is written");
    }
    let stored = std::fs::read_to_string(&golden).expect("a golden file");
    // Same bytes, no tolerance: the mathematics is the same on every platform.
    assert!(
        stored == printed,
        "the plan differs from tests/golden/demo.json:\n{printed}"
    );
    check_tables(&out);
}

/// What must be true of the tables whatever the numbers are.
#[cfg(feature = "cli")]
fn check_tables(out: &Path) {
    let read = |name: &str| {
        let mut reader = csv::Reader::from_path(out.join(name)).expect("a table");
        let header = reader.headers().expect("a header").clone();
        let place = move |column: &str| {
            header
                .iter()
                .position(|name| name == column)
                .expect("a column of the contract")
        };
        let rows: Vec<csv::StringRecord> = reader
            .records()
            .map(|row| row.expect("a row as long as the header"))
            .collect();
        (place, rows)
    };
    let (place, rows) = read("schedule.csv");
    let run: serde_json::Value =
        serde_json::from_slice(&std::fs::read(out.join("run.json")).expect("run.json"))
            .expect("JSON");
    for table in ["pole_rows", "inspection_rows"] {
        let count = |name: &str| run[table][name].as_u64().expect("a count");
        assert_eq!(
            count("read"),
            count("used") + count("out_of_scope") + count("set_aside"),
            "{table}"
        );
    }
    assert_eq!(rows.len() as u64, run["poles"].as_u64().expect("a count"));
    for (row, rank) in rows.iter().zip(1..) {
        assert_eq!(row[place("rank")], format!("{rank}"));
        assert!(row[place("caution")].contains("never clears a pole"));
        assert!(row[place("reason")].len() > 10);
        for column in ["p_below_limit_now", "p_below_limit_5y", "p_failure_1y"] {
            let p: f64 = row[place(column)].parse().expect("a probability");
            assert!((0.0..=1.0).contains(&p), "{column}: {p}");
        }
        let deferred = &row[place("status")] == "deferred";
        assert_eq!(deferred, !row[place("deferral_code")].is_empty());
    }
    let layer = std::fs::read_to_string(out.join("poles.geojson")).expect("a layer");
    let layer: geojson::FeatureCollection = layer.parse().expect("a collection of features");
    let without = run["poles_without_place"].as_u64().expect("a count");
    assert_eq!(layer.features.len() as u64 + without, rows.len() as u64);
}
