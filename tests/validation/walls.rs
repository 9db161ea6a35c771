//! What walls and solids do to the water, against published flows; and whether too coarse cells are noted.

use super::cases::{all_water, cavity, channel, vortex};
use slackwater::flow::{Flow, Grid, Note, Physics, Ports};

#[test]
fn plane_channel_has_the_exact_friction_and_profile() {
    channel::laminar_channel(16).check();
}

/// Of a vortex, where third-order convection has its part, the order comes out as 1.72 here (bench and method page).
#[test]
fn stresses_and_time_are_second_order() {
    vortex::order_of_stresses(64).check();
}

/// The flat cavity at 48 cells; `cargo bench` runs it and the cubic one at 32, 48 and 64.
#[test]
fn flat_cavity_follows_the_published_profiles() {
    cavity::flat(48, 40.0).check();
}

/// 16 cells from wall to wall; the rough one, out of its tolerance, is in the bench's table.
#[test]
fn smooth_channel_has_the_published_drag() {
    channel::turbulent_channel(16, 0.0, 6.0).check();
}

fn notes(solids: &(dyn Fn([f32; 3]) -> f32 + Sync)) -> Vec<Note> {
    Flow::new(Grid { n: [24, 12, 12], h: 0.02 }, solids, Ports::default(), Physics::tank(1e-6, 1)).notes().to_vec()
}

/// Distance to a box with its middle here and half as large as this.
fn block(p: [f32; 3], middle: [f32; 3], half: [f32; 3]) -> f32 {
    let out: [f32; 3] = std::array::from_fn(|d| (p[d] - middle[d]).abs() - half[d]);
    out.iter().map(|c| c.max(0.0).powi(2)).sum::<f32>().sqrt() + out[0].max(out[1]).max(out[2]).min(0.0)
}

#[test]
fn too_coarse_cells_are_noted_with_the_place() {
    assert_eq!(notes(&all_water), []);
    let thick = |p: [f32; 3]| block(p, [0.24, 0.12, 0.05], [0.06, 0.05, 0.055]);
    assert_eq!(notes(&thick), []);
    // A shelf one and a half cells thick, one that lies between the centres of cells, and a gap of one cell over the floor.
    for (middle, half) in [([0.2, 0.12, 0.12], [0.06, 0.06, 0.015]), ([0.2, 0.12, 0.12], [0.06, 0.06, 0.003])] {
        match notes(&|p| block(p, middle, half))[..] {
            [Note::ThinSolid { cells, at }] => assert!(cells >= 36 && block(at, middle, half) < 0.02, "{cells} at {at:?}"),
            ref other => panic!("{other:?}"),
        }
    }
    match notes(&|p| block(p, [0.2, 0.12, 0.07], [0.06, 0.06, 0.05]))[..] {
        [Note::NarrowGap { cells, at }] => assert!(cells >= 36 && at[2] < 0.04, "{cells} at {at:?}"),
        ref other => panic!("{other:?}"),
    }
}

#[test]
fn a_sealed_cave_is_noted_with_its_place() {
    let (middle, wall) = ([0.24, 0.12, 0.12], 0.05);
    let shell = |p: [f32; 3]| ((0..3).map(|d| (p[d] - middle[d]).powi(2)).sum::<f32>().sqrt() - 0.07).abs() - 0.5 * wall;
    let sealed =
        notes(&shell).into_iter().find_map(|note| if let Note::SealedWater { cells, at } = note { Some((cells, at)) } else { None });
    let (cells, at) = sealed.unwrap();
    assert!((20..60).contains(&cells), "{cells}");
    assert!((0..3).all(|d| (at[d] - middle[d]).abs() < 0.02), "{at:?}");
}
