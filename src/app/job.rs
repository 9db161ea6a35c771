//! A long piece of work on a thread of its own: how far it is, and whether anybody still waits for it.

use super::machine::flow_threads;
use crate::study::{Control, pool};
use crossbeam_channel::{Receiver, RecvTimeoutError, bounded};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// The work as the window sees it. Dropping it asks the work to stop and waits for nothing.
pub struct Job<T> {
    watch: Watch,
    answer: Receiver<T>,
    started: Instant,
}

/// The window as the work sees it.
#[derive(Debug, Clone, Default)]
pub struct Watch {
    told: Arc<Mutex<(f64, String)>>,
    stop: Arc<AtomicBool>,
}

/// How a job stands.
#[derive(Debug, PartialEq, Eq)]
pub enum Standing<T> {
    /// It goes on.
    Running,
    /// This came out.
    Done(T),
    /// It ended without an answer: a panic, or no thread to be had.
    Broken,
}

impl Watch {
    /// Which share is done (0 to 1), and of what; whether to go on.
    pub fn see(&self, share: f64, what: &str) -> Control {
        let mut told = self.told.lock().unwrap_or_else(PoisonError::into_inner);
        told.0 = share.clamp(0.0, 1.0);
        what.clone_into(&mut told.1);
        if self.is_stopping() { Control::Stop } else { Control::Go }
    }

    /// The window asked for an end.
    pub fn is_stopping(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

impl<T: Send + 'static> Job<T> {
    /// Start it.
    pub fn start(name: &str, work: impl FnOnce(&Watch) -> T + Send + 'static) -> Self {
        let (sender, answer) = bounded(1);
        let watch = Watch::default();
        let theirs = watch.clone();
        let body = move || {
            // In threads of its own: in those of all, the window's pictures would wait in line behind it.
            if let Ok(pool) = pool::of(flow_threads()) {
                // Nobody may wait for the answer any more.
                let _ = sender.send(pool.install(|| work(&theirs)));
            }
        };
        // Without a thread the sender is dropped, and the job stands as broken.
        let _ = std::thread::Builder::new().name(name.into()).spawn(body);
        Self { watch, answer, started: Instant::now() }
    }

    /// How it stands; an answer is given once.
    pub fn poll(&self) -> Standing<T> {
        self.wait(Duration::ZERO)
    }

    /// The same, after waiting for it no longer than this.
    pub fn wait(&self, longest: Duration) -> Standing<T> {
        match self.answer.recv_timeout(longest) {
            Ok(answer) => Standing::Done(answer),
            Err(RecvTimeoutError::Timeout) => Standing::Running,
            Err(RecvTimeoutError::Disconnected) => Standing::Broken,
        }
    }
}

impl<T> Job<T> {
    /// Which share is done (0 to 1), and of what.
    pub fn progress(&self) -> (f64, String) {
        self.watch.told.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Since it was started, s.
    pub fn seconds(&self) -> f64 {
        self.started.elapsed().as_secs_f64()
    }

    /// Ask it to stop; it answers with what it has.
    pub fn stop(&self) {
        self.watch.stop.store(true, Ordering::Relaxed);
    }

    /// It was asked to stop.
    pub fn is_stopping(&self) -> bool {
        self.watch.is_stopping()
    }
}

impl<T> Drop for Job<T> {
    fn drop(&mut self) {
        self.stop();
    }
}

/// The answer of the job in a slot, once; the slot is empty afterwards. `None` while there is none to be had.
pub fn answer<T: Send + 'static>(slot: &mut Option<Job<T>>) -> Option<Standing<T>> {
    let standing = slot.as_ref()?.poll();
    if matches!(standing, Standing::Running) {
        return None;
    }
    *slot = None;
    Some(standing)
}

#[cfg(test)]
mod tests {
    use super::*;

    const LONG: Duration = Duration::from_secs(20);

    #[test]
    fn an_answer_is_given_once() {
        let mut slot = Some(Job::start("sum", |watch| {
            watch.see(0.5, "adding");
            1 + 1
        }));
        while slot.as_ref().is_some_and(|job| job.progress().0 < 0.5) {
            std::thread::yield_now();
        }
        assert_eq!(slot.as_ref().map(Job::progress), Some((0.5, "adding".to_owned())));
        let answered = std::iter::repeat_with(|| answer(&mut slot)).find(Option::is_some).flatten();
        assert_eq!((answered, slot.is_none()), (Some(Standing::Done(2)), true));
    }

    #[test]
    fn a_job_stops_when_asked() {
        let job = Job::start("endless", |watch| {
            let mut turns = 0_u64;
            while watch.see(0.0, "turning") == Control::Go {
                turns += 1;
            }
            turns
        });
        assert_eq!(job.poll(), Standing::Running);
        job.stop();
        assert!(job.is_stopping() && matches!(job.wait(LONG), Standing::Done(_)));
    }

    #[test]
    fn a_panic_is_a_standing() {
        let job = Job::<u8>::start("broken", |_| std::panic::resume_unwind(Box::new(())));
        assert_eq!(job.wait(LONG), Standing::Broken);
    }
}
