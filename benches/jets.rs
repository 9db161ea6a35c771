//! Jets against published relations: the full tables, and plots into target/jets.
//! `cargo bench --no-default-features --bench jets [-- free out-of-plane unwalled near other switch]`, or words of the title of one of the others

mod at_once;
mod chart;
mod free_jets;
#[path = "../tests/validation/jet_rig.rs"]
#[allow(dead_code, reason = "the tests use other parts of it")]
mod jet_rig;
mod other_jets;
mod switched_jet;
mod wall_jet;

use free_jets::{free_jets, jets_without_a_wall, near_fields};
use other_jets::other_jets;
use switched_jet::switching;

fn main() {
    let wanted: Vec<String> = std::env::args().skip(1).filter(|arg| !arg.starts_with('-')).collect();
    let asked = |name: &str| wanted.is_empty() || wanted.iter().any(|w| w == name);
    if asked("free") || asked("out-of-plane") {
        free_jets(&|case| asked("free") || case.rise > 0.0);
    }
    if asked("unwalled") {
        jets_without_a_wall();
    }
    if asked("near") {
        near_fields();
    }
    other_jets(&|title| asked("other") || wanted.iter().any(|w| title.contains(w.as_str())));
    if asked("switch") {
        switching();
    }
}
