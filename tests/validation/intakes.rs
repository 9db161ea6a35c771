//! Intakes against potential flow, and energy against exact balances. Nearer, at 4 and 5 cells, what is told between faces is 3 to 5 % too
//! fast (METHOD.md); those rows and larger boxes: `cargo bench --no-default-features --bench flow_cases`.

use super::cases::{energy, intake};
use super::pipework;

#[test]
fn the_inverse_square_from_six_cells_on() {
    intake::narrow(64, 2.0, &[6.0, 8.0, 12.0]).check();
}

#[test]
fn a_wide_face_on_its_axis() {
    intake::wide(72).check();
}

/// The flows are those that the network gives two intakes on one pump, one behind a longer pipe.
#[test]
fn two_intakes_that_share_a_pump() {
    let rates = pipework::flows_of_two_intakes();
    assert!(rates[0] > 1.1 * rates[1], "{rates:?}");
    // A tenth of it: the water in the faces of two cells then moves at usual speeds.
    intake::pair(64, rates.map(|rate| 0.1 * rate), &[6.0, 8.0]).check();
}

#[test]
fn the_surface_is_drawn_to_an_overflow() {
    intake::skimming(64, &[8.0, 12.0]).check();
}

#[test]
fn energy_goes_where_it_should() {
    energy::duct(16).check();
    energy::vortices(64).check();
}
