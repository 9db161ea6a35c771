//! The two loops that cost: a Gauss-Seidel sweep over one colour, and the residual of one colour.

use super::level::{Layout, Level};
use crate::flow::field::{planes_per_task, row, row_mut};
use multiversion::multiversion;
use rayon::prelude::*;

/// Below this many cells a loop isn't worth sharing among threads.
pub const WORTH_SHARING: usize = 8192;

/// What a sweep over one colour reads.
struct View<'a> {
    layout: Layout,
    colour: usize,
    other: &'a [f32],
    b: &'a [f32],
    inverse: &'a [f32],
    own: [&'a [f32]; 3],
    across: [&'a [f32]; 3],
}

/// Neighbours and coefficients of one row of one colour.
struct Stencil<'a> {
    x: [&'a [f32]; 6],
    a: [&'a [f32]; 6],
}

impl<'a> View<'a> {
    #[inline(always)]
    fn stencil(&self, j: usize, k: usize) -> (usize, Stencil<'a>) {
        let Layout { row: r, plane: p, width: w, .. } = self.layout;
        let at = self.layout.row_at(j as isize, k as isize);
        // Does this colour's first cell of the row have an odd i?
        let odd = (self.colour + j + k) & 1;
        let (left, right) = (at + odd - 1, at + odd);
        let x = [
            row(self.other, left, w),
            row(self.other, right, w),
            row(self.other, at - r, w),
            row(self.other, at + r, w),
            row(self.other, at - p, w),
            row(self.other, at + p, w),
        ];
        let a = [
            row(self.own[0], at, w),
            row(self.across[0], right, w),
            row(self.own[1], at, w),
            row(self.across[1], at + r, w),
            row(self.own[2], at, w),
            row(self.across[2], at + p, w),
        ];
        (at, Stencil { x, a })
    }
}

impl Stencil<'_> {
    #[inline(always)]
    fn gather(&self, m: usize) -> f32 {
        let (x, a) = (&self.x, &self.a);
        (a[0][m] * x[0][m] + a[1][m] * x[1][m]) + (a[2][m] * x[2][m] + a[3][m] * x[3][m]) + (a[4][m] * x[4][m] + a[5][m] * x[5][m])
    }

    #[inline(always)]
    fn diagonal(&self, m: usize) -> f32 {
        let a = &self.a;
        (a[0][m] + a[1][m]) + (a[2][m] + a[3][m]) + (a[4][m] + a[5][m])
    }
}

impl Level {
    fn view(&self, colour: usize) -> View<'_> {
        let other = 1 - colour;
        View {
            layout: self.layout,
            colour,
            other: &self.x[other],
            b: &self.b[colour],
            inverse: &self.inverse[colour],
            own: [&self.face[0][colour], &self.face[1][colour], &self.face[2][colour]],
            across: [&self.face[0][other], &self.face[1][other], &self.face[2][other]],
        }
    }

    /// One half of a red-black Gauss-Seidel sweep.
    pub fn relax(&mut self, colour: usize) {
        self.wrap(1 - colour);
        let mut x = std::mem::take(&mut self.x[colour]);
        for_planes(&self.view(colour), &mut x, relax_planes);
        self.x[colour] = x;
    }

    /// The first red half sweep from x = 0, and black left at 0.
    pub fn relax_from_zero(&mut self) {
        for (x, (b, inverse)) in self.x[0].iter_mut().zip(self.b[0].iter().zip(&self.inverse[0])) {
            *x = -b * inverse;
        }
        self.x[1].fill(0.0);
    }

    /// Residual of the red cells into `residual`.
    pub fn red_residual(&mut self) {
        self.wrap(1);
        let mut residual = std::mem::take(&mut self.residual);
        let view = self.view(0);
        let red = &self.x[0];
        for_planes(&view, &mut residual, |view, first, out| residual_planes(view, red, first, out));
        self.residual = residual;
    }
}

fn for_planes(view: &View, out: &mut [f32], loop_over: impl Fn(&View, usize, &mut [f32]) + Sync) {
    let Layout { n, plane, .. } = view.layout;
    let out = &mut out[plane..(n[2] + 1) * plane];
    if n.iter().product::<usize>() < WORTH_SHARING {
        return loop_over(view, 0, out);
    }
    let planes = planes_per_task(n[2]);
    out.par_chunks_mut(plane * planes).enumerate().for_each(|(task, out)| loop_over(view, task * planes, out));
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn relax_planes(view: &View, first: usize, out: &mut [f32]) {
    let layout = view.layout;
    for (plane, out) in out.chunks_mut(layout.plane).enumerate() {
        for j in 0..layout.n[1] {
            let (at, stencil) = view.stencil(j, first + plane);
            let (b, inverse) = (row(view.b, at, layout.width), row(view.inverse, at, layout.width));
            let x = row_mut(out, (j + 1) * layout.row + 1, layout.width);
            for m in 0..layout.width {
                x[m] = (stencil.gather(m) - b[m]) * inverse[m];
            }
        }
    }
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn residual_planes(view: &View, x: &[f32], first: usize, out: &mut [f32]) {
    let layout = view.layout;
    for (plane, out) in out.chunks_mut(layout.plane).enumerate() {
        for j in 0..layout.n[1] {
            let (at, stencil) = view.stencil(j, first + plane);
            let (b, x) = (row(view.b, at, layout.width), row(x, at, layout.width));
            let residual = row_mut(out, (j + 1) * layout.row + 1, layout.width);
            for m in 0..layout.width {
                residual[m] = b[m] - (stencil.gather(m) - stencil.diagonal(m) * x[m]);
            }
        }
    }
}
