//! Work on many poles at once, with results in the order of the input.
//!
//! The only file that names `rayon`. Results come back in input order whatever the number of threads; whoever sums
//! them sums integers, so no total depends on who finished first.

use rayon::iter::{
    IndexedParallelIterator, IntoParallelIterator, IntoParallelRefIterator, ParallelIterator,
};
use rayon::slice::{ParallelSlice, ParallelSliceMut};
use std::ops::Range;
use std::sync::atomic::{AtomicUsize, Ordering};

/// How far work has come, for whoever waits: read from another thread, and no result depends on it.
#[derive(Debug, Default)]
pub struct Watch {
    part: AtomicUsize,
    done: AtomicUsize,
    of: AtomicUsize,
}

impl Watch {
    /// A part of the work begins, by its number; it has `of` items, 0 where nobody counts.
    pub fn begin(&self, part: usize, of: usize) {
        self.done.store(0, Ordering::Relaxed);
        self.of.store(of, Ordering::Relaxed);
        self.part.store(part, Ordering::Relaxed);
    }

    /// One item is done.
    pub fn done(&self) {
        self.done.fetch_add(1, Ordering::Relaxed);
    }

    /// The part, how many of its items are done, and of how many.
    pub fn seen(&self) -> (usize, usize, usize) {
        let [part, done, of] =
            [&self.part, &self.done, &self.of].map(|number| number.load(Ordering::Relaxed));
        (part, done.min(of), of)
    }
}

/// The result of `work` on every item, in order. Each worker keeps one scratch value made by `scratch`.
pub fn map_with<T, S, R>(
    items: &[T],
    scratch: impl Fn() -> S + Sync + Send,
    work: impl Fn(&mut S, &T) -> R + Sync + Send,
) -> Vec<R>
where
    T: Sync,
    R: Send,
{
    items
        .par_iter()
        .map_init(scratch, |own, item| work(own, item))
        .collect()
}

/// The result of `work` on every index below `count`, in order.
pub fn map_indices<R: Send>(count: usize, work: impl Fn(usize) -> R + Sync + Send) -> Vec<R> {
    (0..count).into_par_iter().map(work).collect()
}

/// Indices that one worker takes at a time in [`fold_ranges`].
const RANGE: usize = 8192;

/// Does `work` on ranges of indices that together are all below `count`, and gives each result to `take` in the order of the
/// ranges. Only some results are held at a time, so that what is taken need not fit into the memory twice.
pub fn fold_ranges<R: Send>(
    count: usize,
    work: impl Fn(Range<usize>) -> R + Sync + Send,
    mut take: impl FnMut(R),
) {
    let ranges = count.div_ceil(RANGE);
    let at_a_time = 2 * rayon::current_num_threads();
    for first in (0..ranges).step_by(at_a_time) {
        let numbers = first..ranges.min(first + at_a_time);
        let range = |number: usize| number * RANGE..count.min((number + 1) * RANGE);
        let done: Vec<R> = numbers
            .into_par_iter()
            .map(|number| work(range(number)))
            .collect();
        for result in done {
            take(result);
        }
    }
}

/// Changes items in place: `work` gets some of them and the index of the first.
pub fn change<T: Send>(items: &mut [T], work: impl Fn(usize, &mut [T]) + Sync + Send) {
    let parts = items.par_chunks_mut(RANGE).enumerate();
    parts.for_each(|(number, part)| work(number * RANGE, part));
}

/// Sorts items; equal ones stay in their order.
pub fn sort_by<T: Send>(items: &mut [T], order: impl Fn(&T, &T) -> std::cmp::Ordering + Sync) {
    items.par_sort_by(order);
}

/// The results of two pieces of work that are done side by side.
pub fn both<A: Send, B: Send>(
    one: impl FnOnce() -> A + Send,
    other: impl FnOnce() -> B + Send,
) -> (A, B) {
    rayon::join(one, other)
}

/// Runs `work` with exactly `threads` workers (0: as many as the machine has cores).
///
/// # Errors
/// When the operating system gives no threads.
pub fn with_threads<R: Send>(
    threads: usize,
    work: impl FnOnce() -> R + Send,
) -> Result<R, rayon::ThreadPoolBuildError> {
    Ok(rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()?
        .install(work))
}

/// The total of `work` on every item: each worker starts from `empty` and adds to its own sum, and sums are merged by
/// `merge`. Only for sums of integers, which do not depend on who added what.
pub fn total<T: Sync, A: Send>(
    items: &[T],
    empty: impl Fn() -> A + Sync + Send,
    work: impl Fn(&mut A, &T) + Sync + Send,
    merge: impl Fn(A, A) -> A + Sync + Send,
) -> A {
    // A few parts a worker: enough to share the load, few enough that the sums stay small beside the items.
    let part = items
        .len()
        .div_ceil(4 * rayon::current_num_threads())
        .max(1);
    let sums: Vec<A> = items
        .par_chunks(part)
        .map(|chunk| {
            let mut sum = empty();
            for item in chunk {
                work(&mut sum, item);
            }
            sum
        })
        .collect();
    sums.into_iter().reduce(merge).unwrap_or_else(empty)
}

#[cfg(test)]
mod tests {
    use super::{RANGE, change, fold_ranges, with_threads};

    #[test]
    fn ranges_come_in_their_order_whatever_the_number_of_workers() {
        for count in [0, 1, RANGE, RANGE + 1, 9 * RANGE + 5] {
            for threads in [1, 3] {
                let all = with_threads(threads, || {
                    let mut all = Vec::new();
                    fold_ranges(count, |range| range, |range| all.extend(range));
                    all
                });
                let all = all.expect("workers");
                assert!(all.into_iter().eq(0..count), "{count} by {threads}");
            }
        }
    }

    #[test]
    fn what_is_changed_knows_where_it_stands() {
        let mut items = vec![0; 3 * RANGE + 7];
        change(&mut items, |first, part| {
            for (place, item) in (first..).zip(part) {
                *item = place;
            }
        });
        assert!(items.into_iter().eq(0..3 * RANGE + 7));
    }
}
