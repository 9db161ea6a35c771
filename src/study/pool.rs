//! Threads of the solver's own, so that nobody else waits for them.

use crate::finding::{Finding, Grade};
use rayon::{ThreadPool, ThreadPoolBuilder};

/// A pool of so many threads; 0 takes one for every core.
///
/// # Errors
/// When the system gives no threads.
pub fn of(threads: usize) -> Result<ThreadPool, Vec<Finding>> {
    let named = |index| format!("flow {index}");
    ThreadPoolBuilder::new().num_threads(threads).thread_name(named).build().map_err(|error| {
        let (why, mend) = ("the system gave no threads", "close other programs, or ask for fewer threads");
        vec![Finding::new(Grade::Fault, "no-threads", "", format!("the solver can't start: {error}"), why, mend).blocking()]
    })
}
