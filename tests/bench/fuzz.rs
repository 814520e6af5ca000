//! A long run of what nobody would write: `cargo bench --profile dev --bench fuzz -- CASES [TARGET [FIRST]]`.
//!
//! Says for each target how many cases came through, the slowest one, and each case that panicked; the bytes of those and
//! of the case that is being run lie in `target/fuzz/`, so that one that ends the process or never ends is there too. What
//! is found goes to `tests/finds/`.

#![expect(clippy::print_stderr, reason = "a benchmark has nothing else to say")]

#[path = "../common/mod.rs"]
mod common;
#[path = "../common/fuzzing.rs"]
mod fuzzing;

use fuzzing::{TARGETS, remember_panics};
use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

/// A case that takes longer is a find too.
const SLOW: Duration = Duration::from_secs(5);

fn main() {
    let words: Vec<String> = std::env::args()
        .skip(1)
        .filter(|word| word != "--bench")
        .collect();
    let number = |place: usize| words.get(place).and_then(|word| word.parse::<u32>().ok());
    let (cases, first) = (number(0).unwrap_or(1_000), number(2).unwrap_or(0));
    let only = words.get(1);
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/fuzz");
    fs::create_dir_all(&folder).expect("target/ takes a folder");
    remember_panics();
    let mut finds = 0;
    for target in TARGETS
        .iter()
        .filter(|target| only.is_none_or(|name| name == target.name))
    {
        let seeds = target.seeds();
        let (mut slowest, start) = ((Duration::ZERO, 0), Instant::now());
        for number in first..first + cases {
            let bytes = target.case(number, &seeds);
            let running = folder.join(format!("{}-running", target.name));
            fs::write(&running, &bytes).expect("target/ takes a file");
            let begun = Instant::now();
            let done = target.run(&bytes);
            let took = begun.elapsed();
            slowest = slowest.max((took, number));
            if done.is_err() || took > SLOW {
                finds += 1;
                let kept = folder.join(format!("{}-{number}", target.name));
                fs::write(&kept, &bytes).expect("target/ takes a file");
                eprintln!("FOUND {} ({took:?}): {done:?}", kept.display());
            }
        }
        let (took, number) = slowest;
        eprintln!(
            "{:<12} {cases} cases in {:.0} s, slowest {:.0} ms (case {number})",
            target.name,
            start.elapsed().as_secs_f64(),
            took.as_secs_f64() * 1e3
        );
    }
    assert_eq!(
        finds,
        0,
        "the bytes of {finds} finds lie in {}",
        folder.display()
    );
}
