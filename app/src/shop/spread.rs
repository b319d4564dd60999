//! Much of the same work on several threads.

use std::num::NonZero;
use std::thread;

/// Does the same to many things on as many threads as the machine has, in order.
pub(super) fn spread<T: Send, R: Send>(work: Vec<T>, each: impl Fn(T) -> R + Sync) -> Vec<R> {
    // Asking the system how many threads it has reads a dozen of its files.
    let threads = match work.len() {
        0..4 => 1,
        _ => thread::available_parallelism().map_or(1, NonZero::get),
    };
    spread_over(threads, work, each)
}

/// The same on so many threads, for work that waits more than it computes.
pub(super) fn spread_over<T: Send, R: Send>(
    threads: usize,
    work: Vec<T>,
    each: impl Fn(T) -> R + Sync,
) -> Vec<R> {
    if threads <= 1 || work.len() <= 1 {
        return work.into_iter().map(each).collect();
    }
    let share = work.len().div_ceil(threads);
    let mut shares: Vec<Vec<T>> = Vec::with_capacity(threads);
    let mut work = work.into_iter();
    loop {
        let one: Vec<T> = work.by_ref().take(share).collect();
        if one.is_empty() {
            break;
        }
        shares.push(one);
    }
    let each = &each;
    thread::scope(|scope| {
        let running: Vec<_> = shares
            .into_iter()
            .map(|one| scope.spawn(move || one.into_iter().map(each).collect::<Vec<R>>()))
            .collect();
        running
            .into_iter()
            .flat_map(|thread| match thread.join() {
                Ok(done) => done,
                // A panic goes on as if it had happened here.
                Err(panic) => std::panic::resume_unwind(panic),
            })
            .collect()
    })
}
