//! The V-cycle over all grids.

use super::level::{Ends, Layout, Level};
use crate::flow::field::{planes_per_task, row, row_mut};
use multiversion::multiversion;
use rayon::prelude::*;

/// Sweeps on the coarsest grid.
const COARSEST_SWEEPS: usize = 8;

/// All grids, finest first.
#[derive(Debug)]
pub struct Multigrid {
    /// Finest first.
    pub levels: Vec<Level>,
}

impl Multigrid {
    /// From the face coefficients of the finest grid: the open share of the low face of a cell, twice that at fixed-pressure ends.
    pub fn new(n: [usize; 3], ends: Ends, coefficient: &dyn Fn(usize, [usize; 3]) -> f32) -> Self {
        let mut levels = vec![Level::new(n, ends, coefficient)];
        while let Some(fine) = levels.last().filter(|level| level.layout.n.iter().any(|n| *n > 1)) {
            let coarse = coarsen(fine, ends);
            levels.push(coarse);
        }
        Self { levels }
    }

    /// One V(1,1) cycle from x = 0 for the right side of the finest grid.
    pub fn solve_once(&mut self) {
        self.levels[0].relax_from_zero();
        self.levels[0].relax(1);
        self.descend();
    }

    /// One more V(1,1) cycle.
    pub fn again(&mut self) {
        self.levels[0].relax(0);
        self.levels[0].relax(1);
        self.descend();
    }

    fn descend(&mut self) {
        for fine in 0..self.levels.len() - 1 {
            let (above, below) = self.levels.split_at_mut(fine + 1);
            above[fine].red_residual();
            restrict(&above[fine], &mut below[0]);
            below[0].relax_from_zero();
            below[0].relax(1);
        }
        if let Some(coarsest) = self.levels.last_mut() {
            for _ in 0..COARSEST_SWEEPS {
                coarsest.relax(0);
                coarsest.relax(1);
            }
        }
        for fine in (0..self.levels.len() - 1).rev() {
            let (above, below) = self.levels.split_at_mut(fine + 1);
            below[0].spread_to_plain();
            prolong(&mut above[fine], &below[0]);
            above[fine].relax(0);
            above[fine].relax(1);
        }
    }
}

/// Coefficients of a face of twice the size at twice the distance: half the sum of the fine ones.
fn coarsen(fine: &Level, ends: Ends) -> Level {
    let n = fine.layout.n;
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
                sum += fine.coefficient(axis, child);
            }
        }
        // The last cell of an odd axis has one child: its fixed-pressure end is no farther than on the fine grid.
        let single = cell[axis] == coarse[axis] && n[axis] % 2 == 1 && ends.open[axis][1];
        if single || n[axis] == 1 { sum } else { 0.5 * sum }
    })
}

fn restrict(fine: &Level, coarse: &mut Level) {
    let [nx, ny, nz] = coarse.layout.n;
    for k in 0..nz {
        for j in 0..ny {
            let to = coarse.layout.row_at(j as isize, k as isize);
            let rows: [&[f32]; 4] = std::array::from_fn(|q| {
                // A row beyond the fine grid is a ghost row, which is zero.
                let (fj, fk) = ((2 * j + (q & 1)).min(fine.layout.n[1]), (2 * k + (q >> 1)).min(fine.layout.n[2]));
                row(&fine.residual, fine.layout.row_at(fj as isize, fk as isize), nx)
            });
            let colour = (j + k) & 1;
            let [red, black] = &mut coarse.b;
            let (even, odd) = if colour == 0 { (red, black) } else { (black, red) };
            restrict_row(rows, &mut even[to..], &mut odd[to..], nx);
        }
    }
}

fn restrict_row(rows: [&[f32]; 4], even: &mut [f32], odd: &mut [f32], nx: usize) {
    let sum = |i: usize| (rows[0][i] + rows[1][i]) + (rows[2][i] + rows[3][i]);
    for m in 0..nx.div_ceil(2) {
        even[m] = sum(2 * m);
    }
    for m in 0..nx / 2 {
        odd[m] = sum(2 * m + 1);
    }
}

fn prolong(fine: &mut Level, coarse: &Level) {
    let (layout, planes) = (fine.layout, planes_per_task(fine.layout.n[2]));
    let range = layout.plane..(layout.n[2] + 1) * layout.plane;
    let [red, black] = &mut fine.x;
    let (red, black) = (&mut red[range.clone()], &mut black[range]);
    if layout.n.iter().product::<usize>() < super::relax::WORTH_SHARING {
        return prolong_planes(coarse, layout, 0, red, black);
    }
    let size = layout.plane * planes;
    red.par_chunks_mut(size).zip(black.par_chunks_mut(size)).enumerate().for_each(|(task, (red, black))| {
        prolong_planes(coarse, layout, task * planes, red, black);
    });
}

/// Coarse cells taken at a time, so that their combined row fits on the stack.
const BLOCK: usize = 64;

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn prolong_planes(coarse: &Level, layout: Layout, first: usize, red: &mut [f32], black: &mut [f32]) {
    for (plane, (red, black)) in red.chunks_mut(layout.plane).zip(black.chunks_mut(layout.plane)).enumerate() {
        let k = first + plane;
        for j in 0..layout.n[1] {
            let at = (j + 1) * layout.row + 1;
            let even_is_red = (j + k) & 1 == 0;
            let (even, odd) = if even_is_red { (&mut *red, &mut *black) } else { (&mut *black, &mut *red) };
            prolong_row(coarse, (j, k), row_mut(even, at, layout.width), row_mut(odd, at, layout.width));
        }
    }
}

#[inline(always)]
fn prolong_row(coarse: &Level, (j, k): (usize, usize), even: &mut [f32], odd: &mut [f32]) {
    let side = |c: usize| if c & 1 == 0 { -1 } else { 1 };
    let (cj, ck) = ((j / 2) as isize, (k / 2) as isize);
    let (nj, nk) = (cj + side(j), ck + side(k));
    let mut done = 0;
    while done < even.len() {
        let count = BLOCK.min(even.len() - done);
        let start = |j, k| coarse.plain_at([done as isize - 1, j, k]);
        let rows = [start(cj, ck), start(nj, ck), start(cj, nk), start(nj, nk)].map(|at| row(&coarse.plain, at, count + 2));
        let mut mixed = [0.0; BLOCK + 2];
        let mixed = &mut mixed[..count + 2];
        for m in 0..count + 2 {
            mixed[m] = 0.5625 * rows[0][m] + 0.1875 * (rows[1][m] + rows[2][m]) + 0.0625 * rows[3][m];
        }
        let (even, odd) = (row_mut(even, done, count), row_mut(odd, done, count));
        for m in 0..count {
            even[m] += 0.75 * mixed[m + 1] + 0.25 * mixed[m];
            odd[m] += 0.75 * mixed[m + 1] + 0.25 * mixed[m + 2];
        }
        done += count;
    }
}
