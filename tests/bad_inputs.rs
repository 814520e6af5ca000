//! Every way in which data and programmes are wrong, with the exact message for each.
//!
//! One folder of `bad_inputs/` a case: those named after a problem code must give that problem, those named `fatal_`
//! must stop the run. The messages are kept in `snapshots/`; after a change that is meant, run the tests once with
//! `INSTA_UPDATE=always` and read the difference.
#![cfg(feature = "files")]

use polewright::inventory::CountedRows;
use polewright::io::read::{read_programme, read_sources};
use polewright::problem::{Code, Problems};
use polewright::{Error, Inventory, Programme, intake};
use std::path::{Path, PathBuf};

fn cases() -> Vec<(String, PathBuf)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bad_inputs");
    let mut list: Vec<(String, PathBuf)> = std::fs::read_dir(folder)
        .expect("the folder of cases")
        .map(|entry| entry.expect("a case"))
        .map(|entry| {
            (
                entry.file_name().to_string_lossy().into_owned(),
                entry.path(),
            )
        })
        .collect();
    list.sort();
    list
}

fn take_in(folder: &Path) -> Result<(Inventory, Problems, Programme), Error> {
    let (programme, at) = read_programme(&folder.join("programme.toml"), &[])?;
    let read = read_sources(&programme, &at)?;
    let (inventory, mut problems) = intake::take_in_all(&read.tables(), &programme)?;
    let decisions = polewright::schedule::decide(&inventory, &programme);
    problems.list.extend(decisions.problems(&inventory));
    problems.sort();
    Ok((inventory, problems, programme))
}

#[test]
fn every_code_has_a_case_that_shows_it() {
    let names: Vec<String> = cases().into_iter().map(|(name, _)| name).collect();
    for code in Code::ALL {
        assert!(names.contains(&code.to_string()), "{code} has no case");
    }
    for name in names {
        let known = Code::from_name(&name).is_some() || name.starts_with("fatal_");
        assert!(known, "{name} is a case of no code");
    }
}

#[test]
fn problems_are_told_in_these_words() {
    let mut told = 0;
    for (name, folder) in cases() {
        let Some(code) = Code::from_name(&name) else {
            continue;
        };
        let (inventory, problems, _) =
            take_in(&folder).unwrap_or_else(|error| panic!("{name}: {error}"));
        assert!(
            problems.list.iter().any(|problem| problem.code == code),
            "{name} does not show its code"
        );
        let mut lines: Vec<String> = problems
            .list
            .iter()
            .map(|problem| problems.show(problem).to_string())
            .collect();
        for (what, rows) in [
            ("poles", inventory.pole_rows),
            ("inspections", inventory.inspection_rows),
            (
                "last inspections on rows of poles",
                inventory.last_inspections,
            ),
            ("work done", inventory.work_rows),
            ("failures", inventory.failure_rows),
            ("decisions", inventory.decision_rows),
        ] {
            if rows.read == 0 && what != "poles" && what != "inspections" {
                continue;
            }
            assert_eq!(
                rows.read,
                rows.used + rows.out_of_scope + rows.set_aside,
                "{name}: rows of {what} are missing"
            );
            if rows.read == 0 && what.starts_with("last") {
                continue;
            }
            lines.push(format!(
                "{what}: {} read, {} used, {} out of scope, {} set aside",
                rows.read, rows.used, rows.out_of_scope, rows.set_aside
            ));
        }
        let CountedRows { rows, poles } = inventory.counted;
        let made = inventory.pole_rows.used - rows + poles + inventory.begun_by_work;
        assert_eq!(made, inventory.len(), "{name}");
        insta::assert_snapshot!(name, lines.join("\n"));
        told += 1;
    }
    assert_eq!(told, Code::ALL.len());
}

#[test]
fn what_stops_a_run_is_told_in_these_words() {
    let mut told = 0;
    for (name, folder) in cases() {
        if !name.starts_with("fatal_") {
            continue;
        }
        let error = take_in(&folder).expect_err(&name);
        let place = format!("{}{}", folder.display(), std::path::MAIN_SEPARATOR);
        let message = error.to_string().replace(&place, "");
        insta::assert_snapshot!(name, message.replace(&folder.display().to_string(), "."));
        told += 1;
    }
    assert!(told > 30, "only {told} fatal cases ran");
}
