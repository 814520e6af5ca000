//! What nobody would write must not bring the program down: a short run of every target, and every find of longer ones.
//!
//! The long run: `cargo bench --profile dev --bench fuzz -- 100000`.

#![cfg(feature = "cli")]

mod common;
#[path = "common/fuzzing.rs"]
mod fuzzing;

use fuzzing::{TARGETS, remember_panics};
use std::fs;
use std::path::Path;

/// Cases of each target with every test: a few seconds in all.
const CASES: u32 = 150;

#[test]
fn nothing_from_outside_brings_it_down() {
    remember_panics();
    for target in &TARGETS {
        let seeds = target.seeds();
        for seed in &seeds {
            assert_eq!(target.run(seed), Ok(()));
        }
        for number in 0..CASES {
            let done = target.run(&target.case(number, &seeds));
            assert_eq!(done, Ok(()), "case {number}");
        }
    }
}

#[test]
fn what_was_found_once_is_found_no_more() {
    remember_panics();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/finds");
    let mut count = 0;
    for entry in fs::read_dir(folder).expect("the finds") {
        let path = entry.expect("an entry").path();
        let name = path
            .file_name()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        let (target, _) = name.split_once('-').expect("TARGET-WHAT");
        let target = TARGETS.iter().find(|known| known.name == target);
        let target = target.expect("a target");
        assert_eq!(
            target.run(&fs::read(&path).expect("a find")),
            Ok(()),
            "{name}"
        );
        count += 1;
    }
    assert!(count > 0, "no find was run");
}
