//! A second session that goes on from where the first is: the same water, the same averages, its own commands.

use super::{Slot, worker::Worker};
use crossbeam_channel::{Receiver, Sender, bounded};

/// What the first session needs for it: where the second shows itself, and where its state is waited for.
#[derive(Debug, Clone)]
pub struct Fork {
    slot: Slot,
    state: Sender<Box<Worker>>,
}

impl Fork {
    /// The request, and the end at which the second session waits for its state.
    pub(super) fn new(slot: Slot) -> (Self, Receiver<Box<Worker>>) {
        let (state, waiting) = bounded(1);
        (Self { slot, state }, waiting)
    }

    /// Hand over what `twin` makes; nothing happens when nobody waits any more.
    pub(super) fn serve(self, twin: impl FnOnce(Slot) -> Worker) {
        let _ = self.state.send(Box::new(twin(self.slot)));
    }
}
