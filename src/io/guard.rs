//! Readers and writers of files that others wrote: where one gives up in a panic, the file is refused, and not this program
//! blamed.
//!
//! Knows no file format. Readers meet files that are damaged in ways nobody thought of, and writers full disks.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicUsize, Ordering};

/// Others at work now. They may use threads of their own, so that no thread's own state would do.
static AT_WORK: AtomicUsize = AtomicUsize::new(0);

/// Whether a reader or writer of others is at work, so that a panic is no mistake of ours that a person must hear of.
pub fn at_work() -> bool {
    AT_WORK.load(Ordering::SeqCst) > 0
}

/// What `work` gives; `None` where it panics. Nothing that it was building may be used then.
pub(super) fn unless_it_gives_up<T>(work: impl FnOnce() -> T) -> Option<T> {
    AT_WORK.fetch_add(1, Ordering::SeqCst);
    let outcome = catch_unwind(AssertUnwindSafe(work));
    AT_WORK.fetch_sub(1, Ordering::SeqCst);
    outcome.ok()
}

#[cfg(test)]
mod tests {
    use super::unless_it_gives_up;

    #[test]
    fn what_gives_up_gives_nothing() {
        assert_eq!(unless_it_gives_up(|| 1), Some(1));
        let numbers: Vec<u8> = Vec::new();
        assert_eq!(unless_it_gives_up(|| numbers[0]), None);
    }
}
