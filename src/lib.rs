//! Slackwater: design the circulation of a large reef aquarium before a hole is drilled.

pub mod calibrate;
pub mod catalog;
pub mod cli;
pub mod finding;
pub mod flow;
pub mod handover;
pub mod hydraulics;
pub mod layout;
pub mod report;
pub mod safety;
pub mod sequence;
pub mod session;
pub mod setup;
pub mod study;
pub mod units;
pub mod water;

#[cfg(feature = "app")]
pub mod app;
