//! The two loops that cost on the coarser grids: a Gauss-Seidel sweep over one colour, and the residual of the red cells.

use super::finest::relaxed;
use super::level::{Layout, Level, wrap};
use super::share::{fill_planes, for_planes};
use crate::flow::field::{lanes, lanes_from};
use crate::flow::grid::LANES;
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

    /// Σ of coefficient × neighbour of a run of one colour, `from` entries into a row.
    #[inline(always)]
    fn gather(&self, colour: usize, (j, k): (usize, usize), from: usize) -> [f32; LANES] {
        let Layout { row: r, plane: p, .. } = self.layout;
        let at = self.layout.row_at(j as isize, k as isize) + from;
        // Does this colour's first cell of the row have an odd i?
        let odd = (colour + j + k) & 1;
        let (left, right, other) = (at + odd - 1, at + odd, 1 - colour);
        let x = lanes_from(&self.x[other], [left, right, at - r, at + r, at - p, at + p]);
        let own = |axis: usize| lanes(&self.face[axis][colour], at);
        let across = |axis: usize, at: usize| lanes(&self.face[axis][other], at);
        let a = [own(0), across(0, right), own(1), across(1, at + r), own(2), across(2, at + p)];
        let mut sum = [0.0; LANES];
        for m in 0..LANES {
            let part = |d: usize| a[d][m] * x[d][m];
            sum[m] = (part(0) + part(1)) + (part(2) + part(3)) + (part(4) + part(5));
        }
        sum
    }
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn relax_planes(level: &Level, colour: usize, first: usize, out: &mut [f32]) {
    let (b, inverse) = (&level.b[colour], &level.inverse[colour]);
    fill_planes(level.layout, first, out, |row, from, at| relaxed(&level.gather(colour, row, from), lanes(b, at), lanes(inverse, at)));
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn residual_planes(level: &Level, first: usize, out: &mut [f32]) {
    fill_planes(level.layout, first, out, |row, from, at| {
        let (sum, inverse) = (level.gather(0, row, from), lanes(&level.inverse[0], at));
        // b − (Σ − x/inverse) with x = −b inverse. Beside the cells there is none, though joined ends reach there.
        let mut residual = [0.0; LANES];
        (0..LANES).for_each(|m| residual[m] = if inverse[m] > 0.0 { -sum[m] } else { 0.0 });
        residual
    });
}
