//! How far every cell lies from the nearest surface, of solids or of the walls of the box: no eddy is larger than that lets it be.

use super::{
    grid::Grid,
    physics::Physics,
    solids::{Solids, periodic},
};

/// Surfaces farther than this many cells don't matter.
const REACH: usize = 3;
/// A distance at which none does, in cells.
const FAR_AWAY: f32 = 1e6;

/// Distance of every cell's centre from the nearest surface in cells, right to half a cell; [`FAR_AWAY`] beyond [`REACH`]. x fastest.
///
/// Squares of distances between centres, axis after axis (Felzenszwalb and Huttenlocher 2012, cut off at the reach); a surface lies half a
/// cell before the centre of what is solid. A wall counts as a solid cell beside the box.
pub(super) fn distances(grid: &Grid, physics: &Physics, solids: &Solids) -> Vec<f32> {
    let [nx, ny, nz] = grid.n;
    let mut square: Vec<f32> = solids.water.iter().map(|water| if *water > 0.0 { FAR_AWAY } else { 0.0 }).collect();
    for (axis, stride, starts) in [
        (0, 1, (0..ny * nz).map(|row| row * nx).collect::<Vec<_>>()),
        (1, nx, (0..nx * nz).map(|line| line / nx * nx * ny + line % nx).collect()),
        (2, nx * ny, (0..nx * ny).collect()),
    ] {
        let is_wall = |side: usize| !periodic(physics, axis) && physics.sides[side].is_wall();
        let ends = [is_wall(2 * axis), is_wall(2 * axis + 1)];
        let mut line = vec![0.0; grid.n[axis]];
        for start in starts {
            line.iter_mut().enumerate().for_each(|(i, value)| *value = square[start + i * stride]);
            for i in 0..line.len() {
                square[start + i * stride] = nearest(&line, i, ends);
            }
        }
    }
    square.iter().map(|square| if square.sqrt() > REACH as f32 + 0.5 { FAR_AWAY } else { square.sqrt() - 0.5 }).collect()
}

/// Least of the values near `i`, each with the square of its distance; a wall at either end has the value 0.
fn nearest(line: &[f32], i: usize, [low, high]: [bool; 2]) -> f32 {
    let walls = [(low, i + 1), (high, line.len() - i)];
    let walls = walls.into_iter().filter(|(is_wall, _)| *is_wall).map(|(_, away)| (away * away) as f32);
    let cells = (i.saturating_sub(REACH)..(i + REACH + 1).min(line.len())).map(|n| line[n] + (n.abs_diff(i) * n.abs_diff(i)) as f32);
    cells.chain(walls).fold(FAR_AWAY, f32::min)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::{Flow, Ports};

    #[test]
    fn surfaces_of_rock_and_walls_are_found_and_a_free_surface_is_none() {
        let grid = Grid { n: [12, 12, 12], h: 0.1 };
        // One solid cell: the one at 5, 5, 5.
        let rock = |p: [f32; 3]| p.iter().map(|x| (x - 0.55).abs()).fold(0.0, f32::max) - 0.04;
        let flow = Flow::new(grid, &rock, Ports::default(), Physics::tank(1e-6, 0));
        let distance = distances(&grid, &flow.physics, &flow.solids);
        let at = |cell| distance[grid.index(cell)];
        assert_eq!([at([0, 5, 5]), at([2, 8, 8]), at([11, 5, 6]), at([5, 5, 7])], [0.5, 2.5, 0.5, 1.5]);
        assert!((at([6, 6, 5]) - (2f32.sqrt() - 0.5)).abs() < 1e-6);
        assert!(at([5, 5, 11]) > 100.0, "the top of a tank slips");
    }
}
