//! One short test for each fault that was found in use and mended.

#![cfg(feature = "cli")]

use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use tempfile::TempDir;

const PROGRAMME: &str = r#"
title = "Two poles"
plan_from = 2026-01-01
decay_zone = 2
trials = 20

[[poles]]
file = "poles.csv"
columns = { id = "id", line = "line", set_date = "set" }
"#;

const INSPECTIONS: &str = r#"
[[inspections]]
file = "inspections.csv"
default_method = "sound_and_bore"
"#;

fn place(programme: &str, poles: &str) -> TempDir {
    let place = tempfile::tempdir().expect("a temporary folder");
    put(&place, "programme.toml", programme);
    put(&place, "poles.csv", poles);
    place
}

fn put(place: &TempDir, name: &str, text: impl AsRef<[u8]>) {
    fs::write(place.path().join(name), text).expect("the temporary folder takes files");
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_polewright"))
        .current_dir(folder)
        .args(arguments)
        .output()
        .expect("the binary starts")
}

fn plan(place: &TempDir, more: &[&str]) -> Output {
    let arguments = [&["plan", "programme.toml", "--out", "out"], more].concat();
    run(place.path(), &arguments)
}

fn printed(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

fn messages(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

#[test]
fn an_absurd_number_of_threads_is_refused_instead_of_aborting() {
    let place = place(PROGRAMME, "id,line,set\nA,L,1980\n");
    let output = plan(&place, &["--threads", "99999"]);
    assert_eq!(output.status.code(), Some(2), "{}", messages(&output));
    assert!(messages(&output).contains("--threads"));
    assert!(!place.path().join("out").exists());
}

#[test]
fn a_plan_from_the_end_of_the_calendar_is_refused_as_a_mistyped_year() {
    let place = place(PROGRAMME, "id,line,set\nA,L,1980\n");
    for day in ["9999-12-31", "0001-01-01"] {
        let output = plan(&place, &["--set", &format!("plan_from={day}")]);
        assert_eq!(output.status.code(), Some(2));
        let told = messages(&output);
        assert!(
            told.contains("plan_from: no plan is made from this year"),
            "{told}"
        );
    }
}

#[test]
fn a_page_without_any_inspection_says_what_the_forecast_supposes() {
    let place = place(PROGRAMME, "id,line,set\nA,L,1980\nB,L,1990\n");
    let page = printed(&plan(&place, &[]));
    assert!(page.contains("NO INSPECTION is on record"), "{page}");
    put(
        &place,
        "programme.toml",
        format!("{PROGRAMME}{INSPECTIONS}"),
    );
    put(
        &place,
        "inspections.csv",
        "id,date,verdict\nA,2020-05-01,sound\n",
    );
    let page = printed(&plan(&place, &["--overwrite"]));
    assert!(!page.contains("NO INSPECTION is on record"), "{page}");
}

#[test]
fn an_id_copied_from_our_own_list_finds_its_pole_again() {
    let place = place(
        &format!("{PROGRAMME}{INSPECTIONS}"),
        "id,line,set\n=1+1,L,1980\n-5,L,1990\n",
    );
    put(
        &place,
        "inspections.csv",
        "id,date,verdict\n'=1+1,2020-05-01,sound\n'-5,2020-05-01,sound\n",
    );
    let page = printed(&plan(&place, &[]));
    assert!(page.contains("inspections: 2 rows read, 2 used"), "{page}");
}

#[test]
fn a_name_with_a_line_end_stays_on_its_line_of_the_page() {
    let place = place(PROGRAMME, "id,line,set\nA,\"Mill\nroad \u{1b}[31m\",1980\n");
    let page = printed(&plan(&place, &[]));
    assert!(page.contains("  lines: Mill road  [31m\n"), "{page}");
}

#[test]
fn a_round_of_poles_without_lines_names_no_lines() {
    let place = place(PROGRAMME, "id,line,set\nA,,1980\n");
    let page = printed(&plan(&place, &[]));
    assert!(page.contains("2026 round: 1 inspection, "), "{page}");
}

#[test]
fn a_list_or_a_folder_given_as_the_programme_is_named_as_such() {
    let place = place(PROGRAMME, "id,line,set\nA,L,1980\n");
    put(&place, "latin.csv", b"id\nM\xfcller\n");
    let told = messages(&run(place.path(), &["plan", "latin.csv", "--out", "plan"]));
    assert!(told.contains("is this a list of poles?"), "{told}");
    let told = messages(&run(place.path(), &["check", "."]));
    assert!(told.contains("this is a folder, not a file"), "{told}");
}

#[test]
fn a_danger_before_a_set_date_that_no_work_explains_stands_on_page_one() {
    let programme = format!("{PROGRAMME}{INSPECTIONS}");
    let place = place(
        &programme,
        "id,line,set\nA1,North,2025-12-31\nA2,North,1980\n",
    );
    let seen = "id,date,verdict\nA1,2025-12-01,danger\nA2,2020-05-01,sound\n";
    put(&place, "inspections.csv", seen);
    let planned = plan(&place, &[]);
    let page = printed(&planned);
    let heading = "DANGER, unless a new pole stands there: 1 pole was judged dangerous";
    assert!(page.starts_with(heading), "{page}{}", messages(&planned));
    assert!(
        page.contains("  A1, line North, judged 2025-12-01"),
        "{page}"
    );
    let report = fs::read_to_string(place.path().join("out/report.html")).expect("a page");
    assert!(report.contains(heading));
    let checked = printed(&run(place.path(), &["check", "programme.toml", "--quiet"]));
    assert!(checked.contains(heading), "{checked}");
    // Whoever records the replacement, or clears it by name, has looked.
    let cleared = "\n[[decisions]]\nfile = \"decisions.csv\"\n";
    put(&place, "programme.toml", format!("{programme}{cleared}"));
    let clear = "id,decision,by,date,reason\nA1,clear,B. Engineer,2025-12-30,new pole\n";
    put(&place, "decisions.csv", clear);
    let again = printed(&run(place.path(), &["check", "programme.toml", "--quiet"]));
    assert!(!again.contains("DANGER"), "{again}");
}

#[test]
fn a_mistyped_new_id_loses_no_pole() {
    let work = "\n[[work_done]]\nfile = \"work.csv\"\n";
    let poles = "id,line,set\nA10,North,1970\nA11,North,1975\n";
    let place = place(&format!("{PROGRAMME}{work}"), poles);
    put(
        &place,
        "work.csv",
        "id,date,work,new_id\nA10,2020-03-01,replaced,A11\n",
    );
    let page = printed(&plan(&place, &[]));
    assert!(page.contains("Read: 2 poles to plan for"), "{page}");
    assert!(page.contains("P807"), "{page}");
}

#[test]
fn a_row_of_totals_stands_for_no_pole() {
    let place = place(
        "plan_from = 2026-01-01\ntrials = 20\n[[poles]]\nfile = \"poles.csv\"\n",
        "class,set_date,count\n4,1970s,3\n5,1980s,2\nGrand Total,,5\n",
    );
    let page = printed(&plan(&place, &[]));
    assert!(page.contains("Read: 5 poles to plan for"), "{page}");
    assert!(page.contains("P121"), "{page}");
}
