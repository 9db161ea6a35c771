//! The two loops that cost on the coarser grids: a Gauss-Seidel sweep over one colour, and the residual of the red cells.

use super::level::{Layout, Level, wrap};
use super::share::{for_planes, row_in_plane};
use crate::flow::field::{row, row_mut};
use multiversion::multiversion;

impl Level {
    /// One half of a red-black Gauss-Seidel sweep.
    pub fn relax(&mut self, colour: usize) {
        wrap(&mut self.x, self.layout, self.periodic, 1 - colour);
        let mut x = std::mem::take(&mut self.x[colour]);
        let this = &*self;
        for_planes(this.layout, &mut x, |first, out| relax_planes(this, colour, first, out));
        self.x[colour] = x;
    }

    /// Residual of the red cells, which were last relaxed when all black ones were 0.
    pub fn red_residual(&mut self) {
        wrap(&mut self.x, self.layout, self.periodic, 1);
        let mut residual = std::mem::take(&mut self.residual);
        let this = &*self;
        for_planes(this.layout, &mut residual, |first, out| residual_planes(this, first, out));
        self.residual = residual;
    }

    /// Σ of coefficient × neighbour of a row of one colour, given to `put` entry by entry.
    #[inline(always)]
    fn gather(&self, colour: usize, (j, k): (usize, usize), mut put: impl FnMut(usize, f32)) {
        let Layout { row: r, plane: p, width: n, .. } = self.layout;
        let at = self.layout.row_at(j as isize, k as isize);
        // Does this colour's first cell of the row have an odd i?
        let odd = (colour + j + k) & 1;
        let (left, right, other) = (at + odd - 1, at + odd, 1 - colour);
        let x = [left, right, at - r, at + r, at - p, at + p].map(|from| row(&self.x[other], from, n));
        let own = |axis: usize| row(&self.face[axis][colour], at, n);
        let across = |axis: usize, at: usize| row(&self.face[axis][other], at, n);
        let a = [own(0), across(0, right), own(1), across(1, at + r), own(2), across(2, at + p)];
        for m in 0..n {
            let part = |d: usize| a[d][m] * x[d][m];
            put(m, (part(0) + part(1)) + (part(2) + part(3)) + (part(4) + part(5)));
        }
    }
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn relax_planes(level: &Level, colour: usize, first: usize, out: &mut [f32]) {
    let layout = level.layout;
    for (plane, out) in out.chunks_mut(layout.plane).enumerate() {
        for j in 0..layout.n[1] {
            let at = layout.row_at(j as isize, (first + plane) as isize);
            let (b, inverse) = (row(&level.b[colour], at, layout.width), row(&level.inverse[colour], at, layout.width));
            let x = row_mut(out, row_in_plane(layout, j), layout.width);
            level.gather(colour, (j, first + plane), |m, sum| x[m] = (sum - b[m]) * inverse[m]);
        }
    }
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn residual_planes(level: &Level, first: usize, out: &mut [f32]) {
    let layout = level.layout;
    for (plane, out) in out.chunks_mut(layout.plane).enumerate() {
        for j in 0..layout.n[1] {
            let residual = row_mut(out, row_in_plane(layout, j), layout.width);
            let inverse = row(&level.inverse[0], layout.row_at(j as isize, (first + plane) as isize), layout.width);
            // b − (Σ − x/inverse) with x = −b inverse. Beside the cells there is none, though joined ends reach there.
            level.gather(0, (j, first + plane), |m, sum| residual[m] = if inverse[m] > 0.0 { -sum } else { 0.0 });
        }
    }
}
