//! A study that runs for as long as someone looks at it: own thread, own pool of solver threads, commands in, snapshots out.

mod snapshot;

pub use snapshot::{Command, Snapshot};
