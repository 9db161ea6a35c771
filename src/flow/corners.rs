//! Slopes of solids that are cut into steps of whole cells: what the water carries past their corners.
//!
//! Along a slope the water goes round a corner at every step: it turns in the hollow before the step, then passes its edge. The solid's
//! faces there stand still, and upwind values taken from them, or run into them, would lose the water's momentum at every step, as if
//! the slope were as rough as its cells. There the mean of both faces is carried instead: what one direction loses in a turn the other
//! gains. Real edges are left alone: those where the distance from the solid has a kink.

use super::{
    advect::{Plane, Transport},
    grid::{Grid, LANES, Lattice},
    limiter::carried,
};
use multiversion::multiversion;
use serde::{Deserialize, Serialize};

/// From this bend of the distance on, in cells a cell², a surface has an edge: a sharp right angle has 0.6 to 1.4, a ball of four cells' radius
/// 0.25.
const EDGE: f32 = 0.5;

/// An open face that has a still one beside it, across the axis `across`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
struct Corner {
    at: u32,
    across: u8,
    /// Is the still face the one above?
    up: bool,
}

/// All corners of the solids in a box.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub(super) struct Corners {
    /// Per axis of the face's velocity, plane after plane.
    corners: [Vec<Corner>; 3],
    /// Per axis, where each plane starts, and where the last one ends.
    plane: [Vec<usize>; 3],
}

impl Corners {
    /// From the signed distance at every cell's centre (public order). Solids beyond the ends of the box have none.
    pub fn new(grid: &Grid, distance: &[f32]) -> Self {
        let mut all = Self::default();
        for axis in 0..3 {
            for k in 0..grid.n[2] {
                all.plane[axis].push(all.corners[axis].len());
                for cell in (0..grid.n[1]).flat_map(|j| (0..grid.n[0]).map(move |i| [i, j, k])) {
                    all.corners[axis].extend(corners_of((grid, distance), axis, cell));
                }
            }
            all.plane[axis].push(all.corners[axis].len());
        }
        all
    }
}

/// Corners at the low face of a cell across `axis`.
fn corners_of<'a>((grid, distance): (&'a Grid, &'a [f32]), axis: usize, cell: [usize; 3]) -> impl Iterator<Item = Corner> + 'a {
    let here = distance[grid.index(cell)];
    let at = Lattice::new(grid.n).cell(cell) as u32;
    // Farther away all cells round the face are water.
    let sides = if here >= 0.0 && here < 2.0 * grid.h { 0..6 } else { 0..0 };
    sides
        .map(|side| (side / 2, side % 2 == 1))
        .filter(move |(across, up)| is_corner((grid, distance), (axis, cell), (*across, *up)).unwrap_or(false))
        .map(move |(across, up)| Corner { at, across: across as u8, up })
}

/// Is the face beside that one still, and neither level ground nor a real edge? `None` at an end of the box.
fn is_corner((grid, distance): (&Grid, &[f32]), (axis, cell): (usize, [usize; 3]), (across, up): (usize, bool)) -> Option<bool> {
    let moved = |cell: [usize; 3], axis: usize, up: bool| {
        let mut next = cell;
        next[axis] = cell[axis].checked_add_signed(if up { 1 } else { -1 })?;
        (next[axis] < grid.n[axis]).then_some(next)
    };
    let is_water = |cell: [usize; 3]| distance[grid.index(cell)] >= 0.0;
    let low = moved(cell, axis, false)?;
    if !is_water(low) {
        return None;
    }
    if across == axis {
        // The hollow before a step, or a wall: the next face along the velocity is closed.
        return Some(!is_water(moved(if up { cell } else { low }, axis, up)?));
    }
    let (beyond, beyond_low) = (moved(cell, across, up)?, moved(low, across, up)?);
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
    for axis in 0..3 {
        for corners in all.corners[axis][all.plane[axis][k]..all.plane[axis][k + 1]].chunks(LANES) {
            for (corner, gain) in corners.iter().zip(gains(transport, axis, corners)) {
                rate[axis][corner.at as usize % transport.lattice.stride[2]] += gain;
            }
        }
    }
}

/// What a vector full of corners gains, m/s².
#[inline(always)]
fn gains(transport: &Transport, axis: usize, corners: &[Corner]) -> [f32; LANES] {
    let stride = transport.lattice.stride;
    let u = &transport.velocity[axis];
    let (mut q, mut speed, mut sign) = ([[0.0f32; LANES]; 4], [0.0f32; LANES], [0.0f32; LANES]);
    for (n, corner) in corners.iter().enumerate() {
        let across = usize::from(corner.across);
        let step = stride[across];
        // The face above the edge.
        let above = corner.at as usize + if corner.up { step } else { 0 };
        (0..4).for_each(|i| q[i][n] = u[above + i * step - 2 * step]);
        let carrier = &transport.velocity[across];
        speed[n] = 0.5 * if across == axis { u[above] + u[above - step] } else { carrier[above] + carrier[above - stride[axis]] };
        sign[n] = if corner.up { -transport.inverse_h } else { transport.inverse_h };
    }
    let mut gain = [0.0; LANES];
    for n in 0..LANES {
        let upwind = carried(speed[n], [q[0][n], q[1][n], q[2][n], q[3][n]]);
        gain[n] = sign[n] * speed[n] * (0.5 * (q[1][n] + q[2][n]) - upwind);
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
        let along = |axis: usize| all.corners[axis].iter().filter(|corner| usize::from(corner.across) == axis).count();
        let hollow: usize = (0..3).map(along).sum();
        [hollow, all.corners.iter().map(Vec::len).sum::<usize>() - hollow]
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
