//! The one integration-test binary. Each module says at its top what belongs in it.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

mod browser;
mod calibrate;
mod cli;
mod client;
mod compare;
mod golden;
mod handover;
mod layout_files;
mod report;
mod schema;
mod study_command;
mod study_runs;
mod tidy;
mod validation;
#[cfg(feature = "app")]
mod window;
