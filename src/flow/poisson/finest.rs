//! The finest grid, whose faces are open or closed: one byte per cell says to which neighbours it is linked.

use super::level::{Colours, Ends, Layout, cells, wrap};
use super::share::{fill_planes, for_planes};
use crate::flow::field::{lanes, lanes_from, row};
use crate::flow::grid::LANES;
use multiversion::multiversion;

/// The grid of the flow itself.
#[derive(Debug)]
pub struct Finest {
    pub layout: Layout,
    /// Unknown.
    pub x: Colours,
    /// Right side.
    pub b: Colours,
    /// 1 / Σ of the six coefficients; 0 in solids.
    pub inverse: Colours,
    /// Residual of the red cells.
    pub residual: Vec<f32>,
    /// Bits 0 to 5: linked to the lower and the upper neighbour along x, y, z.
    links: [Vec<u8>; 2],
    pub(super) ends: Ends,
}

impl Finest {
    /// `open(axis, [i, j, k])`: is the low face of the cell open? i, j, k up to and including n.
    pub fn new(n: [usize; 3], ends: Ends, open: &dyn Fn(usize, [usize; 3]) -> bool) -> Self {
        let layout = Layout::new(n);
        let zero = || [vec![0.0; layout.len()], vec![0.0; layout.len()]];
        let links = [vec![0; layout.len()], vec![0; layout.len()]];
        let mut finest = Self { layout, x: zero(), b: zero(), inverse: zero(), residual: vec![0.0; layout.len()], links, ends };
        for cell in cells(n) {
            let (colour, at) = layout.at(cell.map(|c| c as isize));
            let mut sum = 0.0;
            for axis in 0..3 {
                for up in [false, true] {
                    let coefficient = finest.face(axis, cell, up, open);
                    // A fixed-pressure end counts in the sum, but there is no unknown beyond it.
                    let linked = coefficient == 1.0;
                    finest.links[colour][at] |= u8::from(linked) << (2 * axis + usize::from(up));
                    sum += coefficient;
                }
            }
            finest.inverse[colour][at] = if sum > 0.0 { 1.0 / sum } else { 0.0 };
        }
        finest
    }

    fn face(&self, axis: usize, mut cell: [usize; 3], up: bool, open: &dyn Fn(usize, [usize; 3]) -> bool) -> f32 {
        cell[axis] += usize::from(up);
        coefficient((self.layout.n, self.ends), axis, cell, open)
    }

    /// One half of a red-black Gauss-Seidel sweep.
    pub fn relax(&mut self, colour: usize) {
        wrap(&mut self.x, self.layout, self.ends.periodic, 1 - colour);
        let mut x = std::mem::take(&mut self.x[colour]);
        let this = &*self;
        for_planes(this.layout, &mut x, |first, out| relax_planes(this, colour, first, out));
        self.x[colour] = x;
    }

    /// Residual of the red cells, which were last relaxed when all black ones were 0.
    pub fn red_residual(&mut self) {
        wrap(&mut self.x, self.layout, self.ends.periodic, 1);
        let mut residual = std::mem::take(&mut self.residual);
        let this = &*self;
        for_planes(this.layout, &mut residual, |first, out| residual_planes(this, first, out));
        self.residual = residual;
    }

    /// Turns the unknowns round: what was taken off comes back.
    pub fn negate(&mut self) {
        self.x.iter_mut().flatten().for_each(|x| *x = -*x);
    }

    /// Σ of the linked neighbours of a run of one colour, `from` entries into a row.
    #[inline(always)]
    pub(super) fn gather(&self, colour: usize, (j, k): (usize, usize), from: usize) -> [f32; LANES] {
        let Layout { row: r, plane: p, .. } = self.layout;
        let at = self.layout.row_at(j as isize, k as isize) + from;
        // Does this colour's first cell of the row have an odd i?
        let odd = (colour + j + k) & 1;
        let x = lanes_from(&self.x[1 - colour], [at + odd - 1, at + odd, at - r, at + r, at - p, at + p]);
        let links: &[u8; LANES] = &self.links[colour][at..][..LANES].as_chunks().0[0];
        let mut sum = [0.0; LANES];
        for m in 0..LANES {
            // Read first, chosen then: a read that may not happen would keep the loop from being vectorised.
            let value: [f32; 6] = std::array::from_fn(|d| x[d][m]);
            let linked = |d: usize| if links[m] & (1 << d) != 0 { value[d] } else { 0.0 };
            sum[m] = (linked(0) + linked(1)) + (linked(2) + linked(3)) + (linked(4) + linked(5));
        }
        sum
    }
}

/// Coefficient of a low face: 1 where it is open, 2 where the pressure is fixed half a cell away, else 0.
pub fn coefficient((n, ends): ([usize; 3], Ends), axis: usize, cell: [usize; 3], open: &dyn Fn(usize, [usize; 3]) -> bool) -> f32 {
    let at_open_end = (cell[axis] == 0 && ends.open[axis][0]) || (cell[axis] == n[axis] && ends.open[axis][1]);
    match open(axis, cell) {
        true if at_open_end => 2.0,
        true => 1.0,
        false => 0.0,
    }
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn relax_planes(finest: &Finest, colour: usize, first: usize, out: &mut [f32]) {
    let (b, inverse) = (&finest.b[colour], &finest.inverse[colour]);
    fill_planes(finest.layout, first, out, |row, from, at| relaxed(&finest.gather(colour, row, from), lanes(b, at), lanes(inverse, at)));
}

/// Unknowns that solve the equations of a run of cells, from the sums of their neighbours.
#[inline(always)]
pub(super) fn relaxed(sum: &[f32; LANES], b: &[f32; LANES], inverse: &[f32; LANES]) -> [f32; LANES] {
    let mut x = [0.0; LANES];
    (0..LANES).for_each(|m| x[m] = (sum[m] - b[m]) * inverse[m]);
    x
}

/// The same where all neighbours are 0.
#[inline(always)]
pub fn start(x: &mut [f32], b: &[f32], inverse: &[f32]) {
    let (b, inverse) = (row(b, 0, x.len()), row(inverse, 0, x.len()));
    for (m, x) in x.iter_mut().enumerate() {
        *x = -b[m] * inverse[m];
    }
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn residual_planes(finest: &Finest, first: usize, out: &mut [f32]) {
    // b − (Σ − x/inverse) with x = −b inverse.
    fill_planes(finest.layout, first, out, |row, from, _| {
        let mut residual = finest.gather(0, row, from);
        residual.iter_mut().for_each(|sum| *sum = -*sum);
        residual
    });
}
