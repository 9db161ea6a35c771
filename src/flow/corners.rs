//! Slopes of solids that are cut into steps of whole cells: what the water carries past their corners.
//!
//! Along a slope the water goes round a corner at every step: it turns in the hollow before the step, then passes its edge. The solid's
//! faces there stand still, and upwind values taken from them, or run into them, would lose the water's momentum at every step, as if
//! the slope were as rough as its cells. There the mean of both faces is carried instead: what one direction loses in a turn the other
//! gains. Real edges are left alone: those where the distance from the solid has a kink.

use super::{
    advect::{Plane, Transport},
    by_plane::ByPlane,
    grid::{Grid, LANES, Lattice},
    limiter::carried,
};
use multiversion::multiversion;
use serde::{Deserialize, Serialize};

/// From this bend of the distance on, in cells a cell², a surface has an edge: a sharp right angle has 0.6 to 1.4, a ball of four cells' radius
/// 0.25.
const EDGE: f32 = 0.5;

/// All corners of the solids in a box: open faces that have a still one beside them.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub(super) struct Corners {
    /// Indices of the faces of an axis, by the side on which the still face lies (below and above along x, y, z).
    faces: [[ByPlane<u32>; 6]; 3],
}

impl Corners {
    /// From the signed distance at every cell's centre (public order). Solids beyond the ends of the box have none.
    pub fn new(grid: &Grid, distance: &[f32]) -> Self {
        let (mut all, lattice) = (Self::default(), Lattice::new(grid.n));
        for k in 0..grid.n[2] {
            all.faces.iter_mut().flatten().for_each(ByPlane::begin);
            let cells = (0..grid.n[1]).flat_map(|j| (0..grid.n[0]).map(move |i| [i, j, k]));
            // Farther from a solid all cells round a face are water.
            for cell in cells.filter(|cell| (0.0..2.0 * grid.h).contains(&distance[grid.index(*cell)])) {
                all.add((grid, distance), cell, lattice.cell(cell) as u32);
            }
        }
        all
    }

    /// Corners at the low faces of a cell.
    fn add(&mut self, solid: (&Grid, &[f32]), cell: [usize; 3], at: u32) {
        for (axis, sides) in self.faces.iter_mut().enumerate() {
            for (side, faces) in sides.iter_mut().enumerate() {
                if is_corner(solid, (axis, cell), (side / 2, side % 2 == 1)).unwrap_or(false) {
                    faces.push(at);
                }
            }
        }
    }
}

/// Is the face beside the low one of a cell across `axis` still: before it in the hollow of a step or at a wall, or past the edge of a step that
/// is no real edge? `None` at an end of the box.
fn is_corner((grid, distance): (&Grid, &[f32]), (axis, cell): (usize, [usize; 3]), (across, up): (usize, bool)) -> Option<bool> {
    let is_water = |cell: [usize; 3]| distance[grid.index(cell)] >= 0.0;
    let low = grid.beside(cell, axis, false)?;
    if !is_water(low) {
        return None;
    }
    if across == axis {
        return Some(!is_water(grid.beside(if up { cell } else { low }, axis, up)?));
    }
    let (beyond, beyond_low) = (grid.beside(cell, across, up)?, grid.beside(low, across, up)?);
    Some(is_water(beyond) != is_water(beyond_low) && sharpest(grid, distance, cell) < EDGE)
}

/// Largest bend of the distance at the water round a cell.
fn sharpest(grid: &Grid, distance: &[f32], cell: [usize; 3]) -> f32 {
    let near = |d: usize| cell[d].saturating_sub(1).max(1)..(cell[d] + 2).min(grid.n[d] - 1);
    let cells = near(2).flat_map(|k| near(1).flat_map(move |j| near(0).map(move |i| [i, j, k])));
    cells.filter(|cell| distance[grid.index(*cell)] >= 0.0).map(|cell| bend(grid, distance, cell)).fold(0.0, f32::max)
}

/// Largest second difference of the distance at a cell along the axes and across the diagonals of its sides, in cells a cell².
fn bend(grid: &Grid, distance: &[f32], cell: [usize; 3]) -> f32 {
    let at = |by: [isize; 3], sign: isize| distance[grid.index(std::array::from_fn(|d| cell[d].wrapping_add_signed(sign * by[d])))];
    let here = at([0; 3], 1);
    let ways = [[1, 0, 0], [0, 1, 0], [0, 0, 1], [1, 1, 0], [1, -1, 0], [1, 0, 1], [1, 0, -1], [0, 1, 1], [0, 1, -1]];
    let along = |by: [isize; 3]| (at(by, 1) + at(by, -1) - 2.0 * here).abs() / by.iter().map(|b| b.abs()).sum::<isize>() as f32;
    ways.into_iter().map(along).fold(0.0, f32::max) / grid.h
}

/// Gives the rates of plane k what the mean of both faces carries more than the upwind value, past every corner.
#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
pub(super) fn pass(all: &Corners, transport: &Transport, k: usize, rate: &mut Plane) {
    let first = transport.lattice.row(0, k) - transport.lattice.row_in_plane(0);
    for (axis, rate) in rate.iter_mut().enumerate() {
        for side in 0..6 {
            for faces in all.faces[axis][side].on(k).chunks(LANES) {
                let gains = gains(transport, axis, side, faces);
                faces.iter().zip(gains).for_each(|(at, gain)| rate[*at as usize - first] += gain);
            }
        }
    }
}

/// What up to a vector full of corners gains, m/s².
#[inline(always)]
fn gains(transport: &Transport, axis: usize, side: usize, faces: &[u32]) -> [f32; LANES] {
    let (across, up) = (side / 2, side % 2 == 1);
    let (u, carrier, step) = (&transport.velocity[axis], &transport.velocity[across], transport.lattice.stride[across]);
    // The carrying speed on the edge, or at the cell's centre, is the mean of two faces.
    let other = if across == axis { step } else { transport.lattice.stride[axis] };
    let (mut q, mut speed) = ([[0.0f32; LANES]; 4], [0.0f32; LANES]);
    for (n, at) in faces.iter().enumerate() {
        // The face above the edge.
        let above = *at as usize + if up { step } else { 0 };
        let four = [above - 2 * step, above - step, above, above + step];
        (0..4).for_each(|i| q[i][n] = u[four[i]]);
        speed[n] = 0.5 * (carrier[above] + carrier[above - other]);
    }
    let per_h = if up { -transport.inverse_h } else { transport.inverse_h };
    let mut gain = [0.0; LANES];
    for n in 0..LANES {
        let upwind = carried(speed[n], [q[0][n], q[1][n], q[2][n], q[3][n]]);
        gain[n] = per_h * speed[n] * (0.5 * (q[1][n] + q[2][n]) - upwind);
    }
    gain
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Corners with the still face along the velocity, and across it.
    fn count(distance: impl Fn([f32; 3]) -> f32) -> [usize; 2] {
        let grid = Grid { n: [24, 24, 24], h: 0.1 };
        let at: Vec<f32> = (0..grid.cells()).map(|index| distance(grid.centre(grid.cell(index)))).collect();
        let all = Corners::new(&grid, &at);
        let faces = |axis: usize, side: usize| (0..24).map(|k| all.faces[axis][side].on(k).len()).sum::<usize>();
        let hollow = (0..6).map(|side| faces(side / 2, side)).sum();
        let every: usize = (0..3).flat_map(|axis| (0..6).map(move |side| (axis, side))).map(|(axis, side)| faces(axis, side)).sum();
        [hollow, every - hollow]
    }

    #[test]
    fn a_slope_has_corners_and_the_edges_of_a_box_are_left_alone() {
        // A cube of ten cells: 600 faces of cells, each with one open face before it.
        let out = |p: [f32; 3]| p.map(|x| (x - 1.2).abs() - 0.5);
        let cube = |p: [f32; 3]| {
            out(p).into_iter().fold(f32::MIN, f32::max).min(0.0) + out(p).map(|x| x.max(0.0).powi(2)).iter().sum::<f32>().sqrt()
        };
        assert_eq!(count(cube), [600, 0]);
        // 45 degrees across x and z: 22 steps, 24 cells long, each with two faces in its hollow and two past its edge.
        let slope = |p: [f32; 3]| (p[2] - p[0] - 0.01) / 2f32.sqrt();
        assert_eq!(count(slope), [2 * 22 * 24, 2 * 22 * 24]);
        // A ball of four cells' radius is all slope.
        let ball = |p: [f32; 3]| p.map(|x| (x - 1.2).powi(2)).iter().sum::<f32>().sqrt() - 0.4;
        assert!(count(ball)[1] > 100);
    }
}
