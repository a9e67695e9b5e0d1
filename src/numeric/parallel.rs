//! Work side by side on the threads of the machine; what comes out does not depend on their number.

use std::panic::resume_unwind;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

/// `work` done for each of `items`, in their order.
pub fn each<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let threads = thread::available_parallelism().map_or(1, usize::from);
    on_threads(threads, items, work)
}

fn on_threads<T: Sync, R: Send>(
    threads: usize,
    items: &[T],
    work: impl Fn(&T) -> R + Sync,
) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let one = || {
        let at = next.fetch_add(1, Ordering::Relaxed);
        items.get(at).map(|item| (at, work(item)))
    };
    let share = || -> Vec<(usize, R)> { std::iter::from_fn(one).collect() };
    let mut done = thread::scope(|scope| {
        // A thread that the system does not give leaves its work to the others.
        let start = |_| thread::Builder::new().spawn_scoped(scope, share).ok();
        let others: Vec<_> = (1..threads.min(items.len())).filter_map(start).collect();
        let mut done = share();
        for other in others {
            done.extend(other.join().unwrap_or_else(|panic| resume_unwind(panic)));
        }
        done
    });
    done.sort_unstable_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, result)| result).collect()
}

/// Both, the first on a thread of its own.
pub fn both<A: Send, B>(first: impl FnOnce() -> A + Send, second: impl FnOnce() -> B) -> (A, B) {
    thread::scope(|scope| {
        let first = scope.spawn(first);
        let second = second();
        (first.join().unwrap_or_else(|panic| resume_unwind(panic)), second)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn results_keep_the_order_of_their_items_on_any_number_of_threads() {
        let items: Vec<u64> = (0..100).collect();
        let squares: Vec<u64> = items.iter().map(|x| x * x).collect();
        for threads in [0, 1, 3, 200] {
            assert_eq!(on_threads(threads, &items, |x| x * x), squares);
        }
        assert_eq!(each(&[0_u64; 0], |x| *x), [0; 0]);
    }

    #[test]
    fn both_give_their_own() {
        assert_eq!(both(|| 1, || "two"), (1, "two"));
    }
}
