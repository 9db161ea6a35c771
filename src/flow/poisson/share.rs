//! Planes of the split arrays, shared among threads.

use super::level::Layout;
use crate::flow::{
    field::{lanes_mut, planes_per_task},
    grid::LANES,
};
use rayon::prelude::*;

/// Below this many cells a loop isn't worth sharing among threads.
pub const WORTH_SHARING: usize = 8192;

/// Calls `work(first, planes)` for runs of the planes that hold cells.
pub fn for_planes(layout: Layout, out: &mut [f32], work: impl Fn(usize, &mut [f32]) + Sync) {
    let Layout { n, plane, .. } = layout;
    let out = &mut out[plane..(n[2] + 1) * plane];
    if n.iter().product::<usize>() < WORTH_SHARING {
        return work(0, out);
    }
    let planes = planes_per_task(n[2]);
    out.par_chunks_mut(plane * planes).enumerate().for_each(|(task, out)| work(task * planes, out));
}

/// First entry of row j within its plane.
#[inline(always)]
pub fn row_in_plane(layout: Layout, j: usize) -> usize {
    (j + 1) * layout.row + 1
}

/// Fills the rows of some planes, the first of which is plane `first`, with `value((j, k), entry of the row, entry of the array)`.
#[inline(always)]
pub fn fill_planes(layout: Layout, first: usize, out: &mut [f32], value: impl Fn((usize, usize), usize, usize) -> [f32; LANES]) {
    for (plane, out) in out.chunks_mut(layout.plane).enumerate() {
        let k = first + plane;
        for j in 0..layout.n[1] {
            let (at, to) = (layout.row_at(j as isize, k as isize), row_in_plane(layout, j));
            for from in (0..layout.width).step_by(LANES) {
                *lanes_mut(out, to + from) = value((j, k), from, at + from);
            }
        }
    }
}
