//! Readers that others wrote, on files that nobody vouches for: where one gives up in a panic, the file is refused.
//!
//! Knows no file format. A run must not end with "this is a bug of ours" because a workbook is damaged in a way that its
//! reader did not think of.

use super::refused;
use crate::Error;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Readers at work now. They may use threads of their own, so that no thread's own state would do.
static AT_WORK: AtomicUsize = AtomicUsize::new(0);

/// Whether a reader of others is at work, so that a panic is no mistake of this program that a person must hear of.
pub fn at_work() -> bool {
    AT_WORK.load(Ordering::SeqCst) > 0
}

/// What `read` reads from the file at `path`; a refusal where it panics.
///
/// # Errors
/// As `read`, and when it panics.
pub(super) fn guarded<T>(path: &Path, read: impl FnOnce() -> Result<T, Error>) -> Result<T, Error> {
    AT_WORK.fetch_add(1, Ordering::SeqCst);
    // Nothing of what a reader was building is used after it gave up.
    let outcome = catch_unwind(AssertUnwindSafe(read));
    AT_WORK.fetch_sub(1, Ordering::SeqCst);
    outcome.unwrap_or_else(|_| {
        Err(refused(
            path,
            "the file is damaged: its reader gave up in the middle of it",
            "open it and save it again, or save the list as CSV",
        ))
    })
}

#[cfg(test)]
mod tests {
    use super::guarded;
    use std::path::Path;

    #[test]
    fn a_reader_that_gives_up_refuses_its_file() {
        let path = Path::new("p.xlsx");
        assert_eq!(guarded(path, || Ok(1)).expect("a number"), 1);
        let numbers: Vec<u8> = Vec::new();
        let said = guarded(path, || Ok(numbers[0])).expect_err("no number");
        assert!(said.to_string().contains("p.xlsx: the file is damaged"));
    }
}
