//! What the program is doing, on standard error, for a person who waits at a terminal; and how long each step took.

use std::io::{self, IsTerminal, Write};
use std::time::Instant;

/// Steps of a run as they go by.
#[derive(Debug)]
pub struct Progress {
    shown: bool,
    step: Option<(&'static str, Instant)>,
    seconds: Vec<(&'static str, f64)>,
}

impl Progress {
    /// Nothing is shown when `quiet`, or when standard error is no terminal.
    pub fn new(quiet: bool) -> Self {
        Self {
            shown: !quiet && io::stderr().is_terminal(),
            step: None,
            seconds: Vec::new(),
        }
    }

    /// The next step begins; `detail` says more about it.
    pub fn step(&mut self, name: &'static str, detail: &str) {
        self.end();
        if self.shown {
            let _ = write!(io::stderr(), "\r\x1b[K{name} {detail}...");
            let _ = io::stderr().flush();
        }
        self.step = Some((name, Instant::now()));
    }

    /// The last step is over: the line is cleared.
    pub fn end(&mut self) {
        if let Some((name, start)) = self.step.take() {
            self.seconds.push((name, start.elapsed().as_secs_f64()));
            if self.shown {
                let _ = write!(io::stderr(), "\r\x1b[K");
            }
        }
    }

    /// Seconds that each step took, to the millisecond.
    pub fn seconds(&mut self) -> Vec<(&'static str, f64)> {
        self.end();
        self.seconds
            .iter()
            .map(|(name, seconds)| (*name, crate::words::quantities::to_decimals(*seconds, 3)))
            .collect()
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.end();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_step_is_timed_once() {
        let mut progress = Progress::new(true);
        progress.step("reading", "");
        progress.step("planning", "5 poles");
        let names: Vec<&str> = progress.seconds().iter().map(|(name, _)| *name).collect();
        assert_eq!(names, ["reading", "planning"]);
    }
}
