//! Same inputs and seed, same bytes: whatever the number of threads and the order of the rows; and one more pole changes
//! no other pole's random numbers.

#![cfg(feature = "cli")]

mod common;

use polewright::belief::{Scratch, believe};
use polewright::invent::{Invented, Recipe, invent};
use polewright::trial::draws::PlaceDraws;
use std::fs;
use std::path::Path;
use std::process::Command;

/// Outputs that must be the same byte for byte. `run.json` holds timings, `data_problems.csv` row numbers.
const OUTPUTS: [&str; 13] = [
    "budget.csv",
    "compliance.csv",
    "packages.csv",
    "practice.csv",
    "schedule.csv",
    "quantities.csv",
    "orders.csv",
    "calibration.csv",
    "columns.csv",
    "poles.geojson",
    "packages.geojson",
    "poles.sld",
    "schedule.xlsx",
];

fn network() -> Invented {
    let models = polewright::models::text::built_in().expect("valid models");
    invent(&Recipe::demo(300, 5, true), &models)
}

/// Writes a network's lists and plans for it with the program; returns the outputs.
fn planned(
    folder: &Path,
    poles: &str,
    inspections: &str,
    programme: &str,
    threads: &str,
) -> Vec<Vec<u8>> {
    fs::create_dir_all(folder).expect("a folder for the lists");
    for (name, text) in [
        ("poles.csv", poles),
        ("inspections.csv", inspections),
        ("programme.toml", programme),
    ] {
        fs::write(folder.join(name), text).expect("a list is written");
    }
    let run = Command::new(env!("CARGO_BIN_EXE_polewright"))
        .args([
            "plan",
            "programme.toml",
            "--out",
            "out",
            "--trials",
            "64",
            "--quiet",
            "--threads",
            threads,
        ])
        .current_dir(folder)
        .output()
        .expect("the program runs");
    assert!(
        run.status.success(),
        "{}",
        String::from_utf8_lossy(&run.stderr)
    );
    OUTPUTS
        .map(|name| fs::read(folder.join("out").join(name)).expect("an output"))
        .to_vec()
}

/// The records of a list in another order: the header stays, the rest is turned round.
fn reversed(list: &str) -> String {
    let mut lines: Vec<&str> = list.lines().collect();
    lines[1..].reverse();
    lines.join("\n") + "\n"
}

#[test]
fn neither_threads_nor_the_order_of_rows_change_a_byte() {
    let made = network();
    let (poles, inspections) = (&made.files.poles, &made.files.inspections);
    let whole = |list: &str| list.lines().all(|line| line.matches('"').count() % 2 == 0);
    assert!(
        whole(poles) && whole(inspections),
        "a record of several lines cannot be turned round by lines"
    );
    let folder = tempfile::tempdir().expect("a temporary folder");
    let at = |name: &str| folder.path().join(name);
    let one = planned(&at("one"), poles, inspections, &made.files.programme, "1");
    let two = planned(&at("two"), poles, inspections, &made.files.programme, "2");
    let turned = planned(
        &at("turned"),
        &reversed(poles),
        &reversed(inspections),
        &made.files.programme,
        "2",
    );
    for ((name, one), (two, turned)) in OUTPUTS.iter().zip(&one).zip(two.iter().zip(&turned)) {
        assert!(one == two, "{name} depends on the number of threads");
        assert!(one == turned, "{name} depends on the order of the rows");
        assert!(one.len() > 100, "{name} is empty");
    }
}

#[test]
fn one_more_pole_changes_no_other_poles_random_numbers() {
    const TRIALS: u32 = 32;
    let models = polewright::models::text::built_in().expect("valid models");
    let recipe = Recipe::demo(300, 5, false);
    let made = invent(&recipe, &models);
    let mut programme = common::programme();
    programme.plan_from = recipe.today;
    programme.trials = TRIALS;
    let poles = |inventory: &polewright::Inventory| -> Vec<_> {
        inventory
            .indices()
            .map(|pole| {
                let id = inventory.id(pole).to_owned();
                (
                    id,
                    *inventory.pole(pole),
                    inventory.inspections_of(pole).to_vec(),
                )
            })
            .collect()
    };
    let mut more = poles(&made.inventory);
    // A pole like the first one, never inspected, that sorts before all others and so moves every index.
    let mut extra = more[0].clone();
    extra.0 = "000".to_owned();
    // Without a set year, a species or a diameter, since those are evidence for the poles that lack them.
    extra.2.clear();
    extra.1.installed = None;
    extra.1.species = None;
    extra.1.diameter = None;
    more.push(extra);
    let larger = polewright::Inventory::new(&made.inventory.names, more);
    assert_eq!(larger.len(), made.inventory.len() + 1);
    let before = believe(&made.inventory, &models, &programme);
    let after = believe(&larger, &models, &programme);
    for pole in made.inventory.indices().step_by(7) {
        let id = made.inventory.id(pole);
        let moved = larger.find(id).expect("the same pole");
        assert_eq!(before.summary(pole), after.summary(moved), "{id}");
        let draw = |beliefs: &polewright::Beliefs, inventory: &polewright::Inventory, pole| {
            let mut scratch = Scratch::default();
            beliefs.fill_grid(inventory, pole, &mut scratch);
            let slot = beliefs.slot(pole);
            let mut draws = PlaceDraws::new(beliefs, inventory, pole, &scratch, 1, slot, 0.01);
            (0..TRIALS)
                .map(|trial| {
                    let first = draws.first(trial);
                    (first, draws.next(trial, 1, 3.5, first.wood.diameter))
                })
                .collect::<Vec<_>>()
        };
        assert_eq!(
            draw(&before, &made.inventory, pole),
            draw(&after, &larger, moved),
            "{id}"
        );
    }
}
