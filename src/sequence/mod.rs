//! Which outlets are open when: drum geometry or a step table -> the open share of each outlet over time.
//!
//! Plain numbers: angles in radians, times in seconds, outlets numbered from 0. Knows no pumps and no pipes.

mod arc;
mod cycle;
mod unit;

pub use arc::{Arc, overlap};
pub use cycle::{JointCycle, joint_cycle};
pub use unit::{Motion, Step, Unit};
