//! Times the steps of a plan on an invented network: `cargo bench --bench plan [-- POLES]`.
//!
//! Figures of one run on one machine: compare them side by side with those of another build, never with a limit.

#![expect(clippy::print_stderr, reason = "a benchmark has nothing else to say")]

use polewright::belief::believe;
use polewright::invent::{Recipe, invent};
use polewright::schedule::{audit, schedule};
use polewright::trial::trial;
use std::time::Instant;

fn timed<T>(step: &str, work: impl FnOnce() -> T) -> T {
    let start = Instant::now();
    let value = work();
    eprintln!("{step:<10} {:8.3} s", start.elapsed().as_secs_f64());
    value
}

fn main() {
    let poles = std::env::args()
        .skip(1)
        .find_map(|word| word.parse().ok())
        .unwrap_or(6000);
    let models = polewright::models::text::built_in().expect("the built-in models are valid");
    let made = timed("invent", || invent(&Recipe::demo(poles, 1, false), &models));
    let path = std::path::Path::new("programme.toml");
    let programme = polewright::programme::text::read(&made.files.programme, path)
        .expect("the invented programme is valid");
    let inventory = &made.inventory;
    let beliefs = timed("believe", || believe(inventory, &models, &programme));
    let plan = timed("schedule", || {
        schedule(inventory, &models, &beliefs, &programme)
    });
    timed("audit", || audit(inventory, &programme, &plan));
    let tally = timed("trials", || {
        trial(inventory, &models, &beliefs, &plan, &programme)
    });
    timed("forecast", || tally.forecast());
}
