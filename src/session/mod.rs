//! A study that runs for as long as someone looks at it: own thread, own pool of solver threads, commands in, snapshots out.

mod cell;
mod change;
mod fork;
mod pace;
mod snapshot;
mod worker;

pub use cell::suggested_cell;
pub use fork::Fork;
pub use snapshot::{Command, Snapshot};

use crate::{catalog::Catalog, layout::Layout};
use crossbeam_channel::Sender;
use std::{
    sync::{Arc, Mutex, PoisonError},
    thread::JoinHandle,
};
use worker::Worker;

/// Where the newest snapshot lies.
#[derive(Debug, Clone, Default)]
struct Slot(Arc<Mutex<Option<Arc<Snapshot>>>>);

impl Slot {
    fn put(&self, snapshot: Snapshot) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = Some(Arc::new(snapshot));
    }

    fn get(&self) -> Option<Arc<Snapshot>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }
}

/// A running study. Dropping it stops the thread and waits for it: a few time steps.
#[derive(Debug)]
pub struct Session {
    commands: Option<Sender<Command>>,
    slot: Slot,
    thread: Option<JoinHandle<()>>,
}

impl Session {
    /// Starts on a layout with cells of about `cell` metres; `threads` 0 leaves one core to the rest of the machine.
    pub fn start(layout: Layout, catalog: &Catalog, cell: f64, threads: usize) -> Self {
        let (sender, receiver) = crossbeam_channel::unbounded();
        let slot = Slot::default();
        let worker = Worker::new(layout, catalog.clone(), cell, solver_threads(threads), slot.clone());
        let thread = std::thread::Builder::new().name("session".into()).spawn(move || worker.work(&receiver)).ok();
        Self { commands: Some(sender), slot, thread }
    }

    /// A second session that goes on from where this one is: same time, same water, same averages. It obeys its own commands.
    pub fn fork(&self) -> Self {
        let (sender, receiver) = crossbeam_channel::unbounded();
        let slot = Slot::default();
        let (fork, state) = Fork::new(slot.clone());
        self.send(Command::Fork(fork));
        let work = move || {
            // Without an answer the first session has ended, and there is nothing to go on from.
            if let Ok(worker) = state.recv() {
                worker.work(&receiver);
            }
        };
        let thread = std::thread::Builder::new().name("fork".into()).spawn(work).ok();
        Self { commands: Some(sender), slot, thread }
    }

    /// Tells the session something; a session that has ended doesn't listen.
    pub fn send(&self, command: Command) {
        if let Some(commands) = &self.commands {
            // An error means that the thread has ended, and its last snapshot says why.
            let _ = commands.send(command);
        }
    }

    /// The newest snapshot; `None` until the first.
    pub fn latest(&self) -> Option<Arc<Snapshot>> {
        self.slot.get()
    }

    /// The thread has ended.
    pub fn is_over(&self) -> bool {
        self.thread.as_ref().is_none_or(JoinHandle::is_finished)
    }
}

impl Drop for Session {
    fn drop(&mut self) {
        self.send(Command::Stop);
        self.commands = None;
        if let Some(thread) = self.thread.take() {
            // Panics of the solver are caught inside and shown as findings.
            let _ = thread.join();
        }
    }
}

/// How many threads the solver gets: as asked, or every core but one.
pub fn solver_threads(asked: usize) -> usize {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    if asked > 0 { asked } else { cores.saturating_sub(1).max(1) }
}
