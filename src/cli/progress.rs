//! What the program is doing, on standard error, for a person who waits at a terminal; and how long each step took.
//!
//! A thread of its own draws the line, so that seconds go on while the work is busy; it reads how far the work has come
//! and changes nothing.

use crate::parallel::Watch;
use std::io::{self, IsTerminal, Write};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// How often the line is drawn.
const EVERY: Duration = Duration::from_millis(200);

/// Seconds after which a step says how long it has taken.
const LONG: u64 = 2;

/// Signs of the bar, and of the line as a whole.
const BAR: usize = 20;
const LINE: usize = 79;

/// A part of a step: its name, and its share of the step's time.
pub type Part = (&'static str, f64);

/// Steps of a run as they go by.
#[derive(Debug)]
pub struct Progress {
    shown: bool,
    step: Option<(&'static str, Instant)>,
    drawer: Option<Drawer>,
    seconds: Vec<(&'static str, f64)>,
}

/// The thread that draws, until the sender goes away.
#[derive(Debug)]
struct Drawer {
    until: Sender<()>,
    thread: JoinHandle<()>,
}

impl Progress {
    /// Nothing is shown when `quiet`, or when standard error is no terminal.
    pub fn new(quiet: bool) -> Self {
        Self {
            shown: !quiet && io::stderr().is_terminal(),
            step: None,
            drawer: None,
            seconds: Vec::new(),
        }
    }

    /// The next step begins; `detail` says more about it.
    pub fn step(&mut self, name: &'static str, detail: &str) {
        self.watched(name, detail, &[], &Arc::default());
    }

    /// The next step begins, and `watch` knows in which of its parts it is.
    pub fn watched(
        &mut self,
        name: &'static str,
        detail: &str,
        parts: &'static [Part],
        watch: &Arc<Watch>,
    ) {
        self.end();
        let start = Instant::now();
        if self.shown {
            let (until, ended) = channel();
            let (said, watch) = (format!("{name} {detail}"), Arc::clone(watch));
            let draw = move || draw(&said, parts, &watch, start, &ended);
            // Where no thread is to be had, nobody sees a line.
            let thread = std::thread::Builder::new().spawn(draw);
            self.drawer = thread.ok().map(|thread| Drawer { until, thread });
        }
        self.step = Some((name, start));
    }

    /// The last step is over: the line is cleared.
    pub fn end(&mut self) {
        if let Some(Drawer { until, thread }) = self.drawer.take() {
            drop(until);
            let _ = thread.join();
        }
        if let Some((name, start)) = self.step.take() {
            self.seconds.push((name, start.elapsed().as_secs_f64()));
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

fn draw(said: &str, parts: &[Part], watch: &Watch, start: Instant, ended: &Receiver<()>) {
    loop {
        let line = line(said, parts, watch.seen(), start.elapsed().as_secs());
        let _ = write!(io::stderr(), "\r\x1b[K{line}");
        let _ = io::stderr().flush();
        if ended.recv_timeout(EVERY) != Err(RecvTimeoutError::Timeout) {
            let _ = write!(io::stderr(), "\r\x1b[K");
            let _ = io::stderr().flush();
            return;
        }
    }
}

/// The line: a bar where parts are known, what is done, and for how long.
fn line(
    said: &str,
    parts: &[Part],
    (part, done, of): (usize, usize, usize),
    seconds: u64,
) -> String {
    let long = if seconds < LONG {
        String::new()
    } else {
        format!(" {seconds} s")
    };
    let Some((name, share)) = parts.get(part) else {
        return cut(&format!("{said}..."), LINE.saturating_sub(long.len())) + &long;
    };
    let whole: f64 = parts.iter().map(|(_, share)| share).sum();
    let before: f64 = parts.iter().take(part).map(|(_, share)| share).sum();
    let own = if of == 0 {
        0.0
    } else {
        share * done as f64 / of as f64
    };
    let filled = ((before + own) / whole * BAR as f64) as usize;
    let bar = format!("[{:<BAR$}] ", "#".repeat(filled.min(BAR)));
    cut(
        &format!("{bar}{name}: {said}"),
        LINE.saturating_sub(long.len()),
    ) + &long
}

/// The first signs of a text: a line that is longer than the terminal could not be cleared.
fn cut(text: &str, most: usize) -> String {
    text.chars().take(most).collect()
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

    #[test]
    fn the_line_shows_how_far_the_work_has_come_and_fits_a_terminal() {
        let parts = [("condition", 1.0), ("trials", 3.0)];
        assert_eq!(line("reading a", &[], (0, 0, 0), 0), "reading a...");
        assert_eq!(line("reading a", &[], (0, 0, 0), 7), "reading a... 7 s");
        // The first part is done, a quarter, and half of the second, three eighths: 12.5 of 20 signs.
        let half = line("planning 8 poles", &parts, (1, 4, 8), 7);
        assert_eq!(half, "[############        ] trials: planning 8 poles 7 s");
        let wide = line(&"x".repeat(200), &parts, (0, 0, 0), 100);
        assert_eq!(wide.chars().count(), LINE);
        assert!(wide.ends_with(" 100 s"));
    }
}
