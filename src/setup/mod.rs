//! The only translator: a layout becomes a pipe network, a grid with walls, and jets and sinks that follow the sequence.

pub mod drums;
pub mod plumbing;
pub mod schedule;
pub mod tables;

pub use schedule::Schedule;
