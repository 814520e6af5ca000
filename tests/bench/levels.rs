//! A whole plan as text, digit by digit: `tests/bench/levels.sh` compares those of several instruction levels.
//!
//! Needs no feature, so that it is built quickly for each level.

#![expect(clippy::print_stdout, reason = "the text is what it is for")]

use polewright::invent::{Recipe, invent};
use std::path::Path;

/// Poles of the network; a few hundred meet every branch of the arithmetic.
const POLES: usize = 300;

fn main() {
    let models = polewright::models::text::built_in().expect("the built-in models are valid");
    let made = invent(&Recipe::demo(POLES, 7, false), &models);
    let path = Path::new("programme.toml");
    let mut programme = polewright::programme::text::read(&made.files.programme, path)
        .expect("the invented programme is valid");
    programme.trials = 128;
    let plan = polewright::plan(&made.inventory, &models, &programme).expect("a plan");
    // The debugging form of a number has all of its digits.
    println!("{:#?}", plan.beliefs.summaries);
    println!("{:#?}", plan.beliefs.calibration);
    println!("{:#?}", plan.schedule.rows);
    println!("{:#?}", plan.forecast.years);
    println!("{:#?}", plan.forecast.demand);
    println!("{:#?}", plan.orders);
}
