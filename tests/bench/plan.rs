//! Times the steps of a plan on an invented network: `cargo bench --profile dev --bench plan [-- POLES]`.
//!
//! For every step the wall's seconds and the processor's, those of all threads together; for the trials nanoseconds of
//! processor time per pole and trial besides. Figures of one run on one machine: compare them side by side with those of
//! another build, never with a limit.

#![expect(clippy::print_stderr, reason = "a benchmark has nothing else to say")]

use polewright::belief::believe;
use polewright::invent::{Recipe, invent};
use polewright::schedule::{audit, schedule};
use polewright::trial::trial;
use std::time::Instant;

/// Processor time of all threads of this process so far, seconds; `None` where the system does not tell it as Linux does
/// (fields 14 and 15 of `/proc/self/stat`, in hundredths of a second).
fn processor_seconds() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/self/stat").ok()?;
    let fields = text.rsplit_once(") ")?.1.split(' ');
    let ticks: f64 = fields
        .skip(11)
        .take(2)
        .filter_map(|field| field.parse::<f64>().ok())
        .sum();
    Some(ticks / 100.0)
}

/// Runs one step and says how long it took; returns its value and the processor's seconds.
fn timed<T>(step: &str, work: impl FnOnce() -> T) -> (T, Option<f64>) {
    let (start, before) = (Instant::now(), processor_seconds());
    let value = work();
    let wall = start.elapsed().as_secs_f64();
    let processor = processor_seconds()
        .zip(before)
        .map(|(after, before)| after - before);
    let cpu = processor.map_or_else(String::new, |seconds| format!("{seconds:10.2} s processor"));
    eprintln!("{step:<10} {wall:8.3} s {cpu}");
    (value, processor)
}

fn main() {
    let poles = std::env::args()
        .skip(1)
        .find_map(|word| word.parse().ok())
        .unwrap_or(6000);
    let models = polewright::models::text::built_in().expect("the built-in models are valid");
    let (made, _) = timed("invent", || invent(&Recipe::demo(poles, 1, false), &models));
    let path = std::path::Path::new("programme.toml");
    let programme = polewright::programme::text::read(&made.files.programme, path)
        .expect("the invented programme is valid");
    let inventory = &made.inventory;
    let (beliefs, _) = timed("believe", || believe(inventory, &models, &programme));
    let (plan, _) = timed("schedule", || {
        schedule(inventory, &models, &beliefs, &programme)
    });
    timed("audit", || audit(inventory, &programme, &plan));
    let (tally, processor) = timed("trials", || {
        trial(inventory, &models, &beliefs, &plan, &programme)
    });
    if let Some(seconds) = processor {
        let pole_trials = inventory.len() as f64 * f64::from(programme.trials);
        eprintln!(
            "{:<10} {:8.1} ns of one core per pole and trial of {} years",
            "",
            seconds * 1e9 / pole_trials,
            programme.horizon_years
        );
    }
    timed("forecast", || tally.forecast());
}
