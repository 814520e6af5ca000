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
