//! Cases of a bench side by side on all cores.

use std::sync::{
    Mutex,
    atomic::{AtomicUsize, Ordering},
};

/// Runs all of these, each on one thread, as many at once as there are cores.
pub fn all<T: Sync, R: Send>(cases: &[T], run: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let results: Mutex<Vec<(usize, R)>> = Mutex::new(Vec::new());
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..cores.min(cases.len()) {
            scope.spawn(|| {
                let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("a thread pool");
                loop {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    let Some(case) = cases.get(index) else { break };
                    let result = pool.install(|| run(case));
                    results.lock().expect("no case panics").push((index, result));
                }
            });
        }
    });
    let mut results = results.into_inner().expect("no case panics");
    results.sort_by_key(|(index, _)| *index);
    results.into_iter().map(|(_, result)| result).collect()
}
