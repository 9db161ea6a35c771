//! Physics against published values: one file per subject, each case with its source and tolerance.

mod age;
mod blob;
mod cases;
mod detritus;
mod flow;
mod intakes;
#[allow(dead_code, reason = "the bench `jets` uses other parts of it")]
mod jet_rig;
mod jets;
mod mixing;
mod nasty;
mod networks;
mod pipes;
mod pipework;
mod plumbing;
mod repeats;
mod safety;
mod scour;
mod seepage;
mod sequence;
mod statistics;
mod study;
mod tees;
mod walls;
mod water;
