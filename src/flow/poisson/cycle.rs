//! The V(1,1) cycle over all grids.

use super::{
    conjugate,
    finest::{Finest, coefficient, start},
    level::{Colours, Ends, Layout, Level},
    share::{WORTH_SHARING, for_planes, row_in_plane},
};
use crate::flow::field::{PAIRS, lanes_of, planes_per_task, row, row_mut, split_row};
use crate::flow::grid::LANES;
use multiversion::multiversion;
use rayon::prelude::*;

/// Sweeps on the coarsest grid.
const COARSEST_SWEEPS: usize = 8;

/// All grids.
#[derive(Debug)]
pub struct Multigrid {
    /// The grid of the flow.
    pub finest: Finest,
    /// The others, finer ones first.
    levels: Vec<Level>,
}

impl Multigrid {
    /// `open(axis, cell)`: is the low face of the cell open? Cells up to and including n.
    pub fn new(n: [usize; 3], ends: Ends, open: &dyn Fn(usize, [usize; 3]) -> bool) -> Self {
        let finest = Finest::new(n, ends, open);
        let mut levels = vec![coarsen(finest.layout, ends, &|axis, cell| coefficient((n, ends), axis, cell, open))];
        while let Some(fine) = levels.last().filter(|level| level.layout.n.iter().any(|n| *n > 1)) {
            levels.push(coarsen(fine.layout, ends, &|axis, cell| fine.coefficient(axis, cell)));
        }
        Self { finest, levels }
    }

    /// Unknowns that bring the right side of the finest grid down: by a cycle or, when cycles diverge, by the slow and safe way. Right side and
    /// red unknowns −b/Σ must stand in the finest grid.
    pub fn solve(&mut self, diverges: bool) {
        if diverges { conjugate::solve(&mut self.finest) } else { self.cycle() }
    }

    /// One V(1,1) cycle from x = 0. Right side and red unknowns −b/Σ must stand in the finest grid.
    pub fn cycle(&mut self) {
        clear_black(&mut self.finest.x, self.levels[0].periodic);
        self.finest.relax(1);
        self.finest.red_residual();
        restrict((self.finest.layout, &self.finest.residual), &mut self.levels[0]);
        self.descend();
        prolong(self.finest.layout, &mut self.finest.x, &self.levels[0]);
        self.finest.relax(0);
        self.finest.relax(1);
    }

    /// Makes the first coarse grid answer `factor` times too strongly.
    #[cfg(test)]
    pub fn spoil(&mut self, factor: f32) {
        self.levels[0].inverse.iter_mut().flatten().for_each(|inverse| *inverse *= factor);
    }

    fn descend(&mut self) {
        for fine in 0..self.levels.len() - 1 {
            let (above, below) = self.levels.split_at_mut(fine + 1);
            let periodic = above[fine].periodic;
            clear_black(&mut above[fine].x, periodic);
            above[fine].relax(1);
            above[fine].red_residual();
            restrict((above[fine].layout, &above[fine].residual), &mut below[0]);
        }
        if let Some(coarsest) = self.levels.last_mut() {
            coarsest.x[1].fill(0.0);
            for _ in 0..COARSEST_SWEEPS {
                coarsest.relax(0);
                coarsest.relax(1);
            }
            coarsest.spread_to_plain();
        }
        for fine in (0..self.levels.len() - 1).rev() {
            let (above, below) = self.levels.split_at_mut(fine + 1);
            prolong(above[fine].layout, &mut above[fine].x, &below[0]);
            above[fine].relax(0);
            above[fine].relax(1);
            above[fine].spread_to_plain();
        }
    }
}

/// Where ends are joined and the number of cells is odd, black cells have black neighbours: there the last cycle's values would be taken for
/// this one's.
fn clear_black(x: &mut Colours, periodic: [bool; 3]) {
    if periodic.contains(&true) {
        x[1].fill(0.0);
    }
}

/// Coefficients of a face of twice the size at twice the distance: half the sum of the fine ones.
fn coarsen(fine: Layout, ends: Ends, coefficient: &dyn Fn(usize, [usize; 3]) -> f32) -> Level {
    let n = fine.n;
    let coarse = n.map(|c| c.div_ceil(2));
    Level::new(coarse, ends, &|axis, cell| {
        let (first, second) = ((axis + 1) % 3, (axis + 2) % 3);
        let mut sum = 0.0;
        for q in 0..4 {
            let mut child = cell.map(|c| 2 * c);
            child[axis] = child[axis].min(n[axis]);
            child[first] += q & 1;
            child[second] += q >> 1;
            if child[first] < n[first] && child[second] < n[second] {
                sum += coefficient(axis, child);
            }
        }
        // The last cell of an odd axis has one child: its fixed-pressure end is no farther than on the fine grid.
        let single = cell[axis] == coarse[axis] && n[axis] % 2 == 1 && ends.open[axis][1];
        if single || n[axis] == 1 { sum } else { 0.5 * sum }
    })
}

/// Sums of the fine residuals, and the first red half sweep from x = 0.
fn restrict(fine: (Layout, &[f32]), coarse: &mut Level) {
    let Layout { n, plane, .. } = coarse.layout;
    let range = plane..(n[2] + 1) * plane;
    let (layout, inverse) = (coarse.layout, &coarse.inverse[0][range.clone()]);
    let [red, black] = &mut coarse.b;
    let (red, black, x) = (&mut red[range.clone()], &mut black[range.clone()], &mut coarse.x[0][range]);
    if n.iter().product::<usize>() < WORTH_SHARING {
        return restrict_planes(fine, layout, 0, [red, black, x], inverse);
    }
    let size = planes_per_task(n[2]) * plane;
    let work =
        red.par_chunks_mut(size).zip(black.par_chunks_mut(size)).zip(x.par_chunks_mut(size)).zip(inverse.par_chunks(size)).enumerate();
    work.for_each(|(task, (((red, black), x), inverse))| restrict_planes(fine, layout, task * size / plane, [red, black, x], inverse));
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn restrict_planes((fine, residual): (Layout, &[f32]), coarse: Layout, first: usize, [red, black, x]: [&mut [f32]; 3], inverse: &[f32]) {
    let pairs = coarse.width.min(fine.width / 2);
    for plane in 0..red.len() / coarse.plane {
        let k = first + plane;
        for j in 0..coarse.n[1] {
            let to = plane * coarse.plane + row_in_plane(coarse, j);
            let rows: [&[f32]; 4] = std::array::from_fn(|q| {
                // A row beyond the fine grid is a ghost row, which is zero.
                let (fj, fk) = ((2 * j + (q & 1)).min(fine.n[1]), (2 * k + (q >> 1)).min(fine.n[2]));
                row(residual, fine.row_at(fj as isize, fk as isize), 2 * pairs)
            });
            let (even, odd) = if (j + k) & 1 == 0 { (&mut *red, &mut *black) } else { (&mut *black, &mut *red) };
            for from in (0..pairs).step_by(PAIRS) {
                let rows = lanes_of(rows, 2 * from);
                let mut sum = [0.0; LANES];
                (0..LANES).for_each(|i| sum[i] = (rows[0][i] + rows[1][i]) + (rows[2][i] + rows[3][i]));
                split_row(&sum, row_mut(even, to + from, PAIRS), row_mut(odd, to + from, PAIRS));
            }
            start(row_mut(x, to, coarse.width), row(red, to, coarse.width), row(inverse, to, coarse.width));
        }
    }
}

/// Adds the coarse unknowns, interpolated, to the fine black ones: the red ones follow from these by the next half sweep. Not so where ends
/// are joined: with an odd number of cells some red ones have red neighbours.
fn prolong(layout: Layout, fine: &mut Colours, coarse: &Level) {
    let first = if coarse.periodic.contains(&true) { 0 } else { 1 };
    for (colour, x) in fine.iter_mut().enumerate().skip(first) {
        for_planes(layout, x, |first, x| prolong_planes(coarse, (layout, colour), first, x));
    }
}

/// Coarse cells taken at a time, so that their combined row fits on the stack.
const BLOCK: usize = 64;

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn prolong_planes(coarse: &Level, (layout, colour): (Layout, usize), first: usize, x: &mut [f32]) {
    for (plane, x) in x.chunks_mut(layout.plane).enumerate() {
        for j in 0..layout.n[1] {
            prolong_row(coarse, (j, first + plane), colour, row_mut(x, row_in_plane(layout, j), layout.width));
        }
    }
}

#[inline(always)]
fn prolong_row(coarse: &Level, (j, k): (usize, usize), colour: usize, x: &mut [f32]) {
    let side = |c: usize| if c & 1 == 0 { -1 } else { 1 };
    let (cj, ck) = ((j / 2) as isize, (k / 2) as isize);
    let (nj, nk) = (cj + side(j), ck + side(k));
    // Beside its own coarse cell, one with an odd i takes after the next, one with an even i after the one before.
    let next = if (j + k + colour) & 1 == 1 { 2 } else { 0 };
    let mut done = 0;
    while done < x.len() {
        let count = BLOCK.min(x.len() - done);
        let from = |j, k| row(&coarse.plain, coarse.plain_at([done as isize - 1, j, k]), count + 2);
        let rows = [from(cj, ck), from(nj, ck), from(cj, nk), from(nj, nk)];
        let mut mixed = [0.0; BLOCK + 2];
        let mixed = &mut mixed[..count + 2];
        for m in 0..count + 2 {
            mixed[m] = 0.5625 * rows[0][m] + 0.1875 * (rows[1][m] + rows[2][m]) + 0.0625 * rows[3][m];
        }
        let (own, other) = (row(mixed, 1, count), row(mixed, next, count));
        for (slot, (own, other)) in row_mut(x, done, count).iter_mut().zip(own.iter().zip(other)) {
            *slot += 0.75 * own + 0.25 * other;
        }
        done += count;
    }
}
