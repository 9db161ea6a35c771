//! Physics against published values: one file per subject, each case with its source and tolerance.

mod flow;
#[allow(dead_code, reason = "the bench `jets` uses other parts of it")]
mod jet_rig;
mod jets;
mod networks;
mod pipes;
mod pipework;
mod plumbing;
mod safety;
mod sequence;
mod study;
mod tees;
mod water;
