//! Mixing length of the eddies that the grid can't hold.
//!
//! Away from walls, and beside the mouths of jets in them, Smagorinsky's C h. Within six cells of a wall, in narrow boxes fewer, eddies
//! are as large as their distance from it, and smaller than a few cells: Prandtl's κ d there, with a smooth passage to C h. Without it
//! coarse cells carry too little momentum to a wall, and its drag comes out too small whatever the wall law says. The water of a jet has
//! a length of its own (`eddy`).

use super::{grid::Grid, physics::Physics, ports::Jet};

/// Von Kármán's constant: an eddy is as large as this share of its distance from a wall (Prandtl).
pub(super) const KARMAN: f32 = 0.41;
/// From this distance on, in cells, only Smagorinsky's length counts; over the five cells before it fades in. With 3, a rough channel of
/// 16 cells flowed 12 % too fast and a step's eddy was a fifth too short; with 6 both hold (METHOD.md).
const FAR: f32 = 6.0;

/// It fades in no farther from a wall than this share of the way to the middle between walls: the six cells of the channels of 16 that
/// [`FAR`] was chosen in. Without this a tank of 12 cells across was all wall layer, and its dead spots came out a quarter larger.
const MIDDLE: f32 = 0.75;

/// Nearer to the mouth of a jet than this, in cells and beside its bore, a wall doesn't count: the jet's own shear is not the wall's.
const MOUTH: f32 = 7.0;

/// Cells from a wall beyond which it doesn't count: the same for all cells of a box.
pub(super) fn far(grid: &Grid, physics: &Physics) -> f32 {
    FAR.min(MIDDLE * to_middle(grid, physics))
}

/// Mixing length at a cell, m; `far` from [`far`].
pub(super) fn length(grid: &Grid, physics: &Physics, jets: &[Jet], (cell, far): ([usize; 3], f32)) -> f32 {
    let away = physics.smagorinsky;
    let distance = if jets.iter().any(|jet| is_at_mouth(grid, jet, cell)) { far } else { from_wall(grid, physics, cell) };
    // Where walls are fewer than four cells apart, there is hardly a cell to fade in over.
    let near = ((far - distance) / (far - 1.0).max(0.5)).clamp(0.0, 1.0);
    let mixed = if away > 0.0 && near > 0.0 { away + near * (KARMAN * distance - away).max(0.0) } else { away };
    mixed * grid.h
}

fn is_at_mouth(grid: &Grid, jet: &Jet, cell: [usize; 3]) -> bool {
    let centre = grid.centre(cell);
    let away = (0..3).map(|d| (centre[d] - jet.at[d]).powi(2)).sum::<f32>().sqrt();
    away < MOUTH * grid.h + jet.bore
}

/// Cells from a wall to the middle between it and the one opposite, or to the other end, along the axis where that is least.
fn to_middle(grid: &Grid, physics: &Physics) -> f32 {
    let along = |axis: usize| {
        let walls = [2 * axis, 2 * axis + 1].into_iter().filter(|side| physics.sides[*side].is_wall()).count();
        if walls > 0 { grid.n[axis] as f32 / walls as f32 } else { f32::MAX }
    };
    (0..3).map(along).fold(f32::MAX, f32::min)
}

/// Distance of a cell's centre from the nearest wall of the box, in cells.
fn from_wall(grid: &Grid, physics: &Physics, cell: [usize; 3]) -> f32 {
    let walls = (0..6).filter(|side| physics.sides[*side].is_wall());
    let distance = |side: usize| {
        let low = cell[side / 2] as f32 + 0.5;
        if side.is_multiple_of(2) { low } else { grid.n[side / 2] as f32 - low }
    };
    walls.map(distance).fold(f32::MAX, f32::min)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_length_is_that_of_the_distance_beside_a_wall_and_a_tenth_of_a_cell_away_from_it() {
        let grid = Grid { n: [15, 15, 15], h: 2.0 };
        let physics = Physics::tank(1e-6, 0);
        let length = |grid: &Grid, physics: &Physics, jets: &[Jet], cell| length(grid, physics, jets, (cell, far(grid, physics)));
        assert!((length(&grid, &physics, &[], [0, 7, 7]) - 0.41).abs() < 1e-6);
        assert!((length(&grid, &physics, &[], [7, 7, 7]) - 0.2).abs() < 1e-6);
        assert!((length(&grid, &physics, &[], [7, 7, 14]) - 0.2).abs() < 1e-6, "no wall at the top");
        let narrow = Grid { n: [15, 8, 15], h: 2.0 };
        assert!((length(&narrow, &physics, &[], [7, 3, 7]) - 0.2).abs() < 1e-6, "all of a narrow box is no wall layer");
        let jet = Jet { at: [0.0, 15.0, 15.0], direction: [1.0, 0.0, 0.0], bore: 1.0 };
        assert!((length(&grid, &physics, &[jet], [0, 7, 7]) - 0.2).abs() < 1e-6, "at a mouth");
        assert_eq!(length(&grid, &Physics { smagorinsky: 0.0, ..physics }, &[], [0, 7, 7]), 0.0);
    }
}
