//! The part of a step that makes ∇·u = q: a pressure that the multigrid finds, and its gradient taken off the velocity.

use super::{
    field::{Faces, inner_mut, max, planes_per_task, row, row_mut},
    grid::{LANES, LOW, Lattice},
    physics::{Physics, Side},
    poisson::{Ends, Multigrid},
    solids::{Solids, periodic},
};
use multiversion::multiversion;
use rayon::prelude::*;

/// The finest coefficients: open share of a face; twice that where the pressure is fixed half a cell away.
pub(super) fn multigrid(lattice: &Lattice, physics: &Physics, solids: &Solids) -> Multigrid {
    let open = std::array::from_fn(|d| [2 * d, 2 * d + 1].map(|side| physics.sides[side] == Side::Open && !periodic(physics, d)));
    let ends = Ends { periodic: std::array::from_fn(|d| periodic(physics, d)), open };
    Multigrid::new(lattice.n, ends, &|axis, cell| {
        let share = solids.open_at_face[axis][lattice.cell(cell)];
        let at_open_end = (cell[axis] == 0 && open[axis][0]) || (cell[axis] == lattice.n[axis] && open[axis][1]);
        if at_open_end { 2.0 * share } else { share }
    })
}

/// Sums over one plane; added up in order, so that they don't depend on the number of threads.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Sums {
    /// Of (∇·u − q)².
    pub square: f64,
    /// Of ∇·u − q.
    pub sum: f64,
    /// Largest |∇·u − q|.
    pub most: f32,
    /// Largest Σ|u| and largest u².
    pub courant_speed: f32,
    pub speed_squared: f32,
}

/// Everything a projection works on.
pub(super) struct Projection<'a> {
    pub lattice: Lattice,
    pub h: f32,
    pub physics: &'a Physics,
    pub open_at_face: &'a Faces,
    pub source: &'a [f32],
}

impl Projection<'_> {
    /// Right side h (∇·u − q) of the pressure equation.
    pub fn right_side(&self, velocity: &Faces, multigrid: &mut Multigrid, rows: &mut [f32]) {
        let lattice = self.lattice;
        let finest = &mut multigrid.levels[0];
        let (layout, planes) = (finest.layout, planes_per_task(lattice.n[2]));
        let range = layout.plane..(layout.n[2] + 1) * layout.plane;
        let [red, black] = &mut finest.b;
        red[range.clone()]
            .par_chunks_mut(planes * layout.plane)
            .zip(black[range].par_chunks_mut(planes * layout.plane))
            .zip(rows.par_chunks_mut(2 * lattice.pitch()))
            .enumerate()
            .for_each(|(task, ((red, black), rows))| {
                for plane in 0..red.len() / layout.plane {
                    for j in 0..lattice.n[1] {
                        let k = task * planes + plane;
                        let divergence = &mut rows[..lattice.width()];
                        divergence_row(self, velocity, lattice.row(j, k), divergence);
                        let at = plane * layout.plane + (j + 1) * layout.row + 1;
                        let (even, odd) = if (j + k) & 1 == 0 { (&mut *red, &mut *black) } else { (&mut *black, &mut *red) };
                        split_row(divergence, row_mut(even, at, layout.width), row_mut(odd, at, layout.width));
                    }
                }
            });
    }

    /// Writes the unknowns to plain order in `correction`, and adds them to the pressure (m²/s²).
    pub fn take_pressure(&self, multigrid: &Multigrid, pressure: &mut [f32], correction: &mut [f32], per_unknown: f32) {
        let lattice = self.lattice;
        let finest = &multigrid.levels[0];
        let layout = finest.layout;
        let size = planes_per_task(lattice.n[2]) * lattice.stride[2];
        let chunks = inner_mut(pressure, &lattice).par_chunks_mut(size).zip(inner_mut(correction, &lattice).par_chunks_mut(size));
        chunks.enumerate().for_each(|(task, (pressure, correction))| {
            for plane in 0..pressure.len() / lattice.stride[2] {
                for j in 0..lattice.n[1] {
                    let k = task * (size / lattice.stride[2]) + plane;
                    let at = plane * lattice.stride[2] + (j + LOW) * lattice.stride[1] + LOW;
                    let from = layout.row_at(j as isize, k as isize);
                    let colour = (j + k) & 1;
                    let [even, odd] = [colour, 1 - colour].map(|c| row(&finest.x[c], from, layout.width));
                    let (p, x) = (row_mut(pressure, at, lattice.width()), row_mut(correction, at, lattice.width()));
                    merge_row(even, odd, x);
                    p.iter_mut().zip(x).for_each(|(p, x)| *p += per_unknown * *x);
                }
            }
        });
        self.wrap(correction);
        self.wrap(pressure);
    }

    /// Carries cell values across joined ends.
    fn wrap(&self, array: &mut [f32]) {
        for axis in (0..3).filter(|d| periodic(self.physics, *d)) {
            let n = self.lattice.n[axis] as isize;
            super::field::copy_layer(array, &self.lattice, axis, (n - 1, -1), (1.0, 0.0));
        }
    }

    /// Takes the gradient of the correction off the velocity of open faces.
    pub fn correct(&self, velocity: &mut Faces, correction: &[f32]) {
        let lattice = self.lattice;
        let planes = planes_per_task(lattice.n[2]);
        for (axis, array) in velocity.iter_mut().enumerate() {
            let open = &self.open_at_face[axis];
            inner_mut(array, &lattice).par_chunks_mut(planes * lattice.stride[2]).enumerate().for_each(|(task, chunk)| {
                correct_planes(&lattice, axis, task * planes, chunk, open, correction);
            });
        }
        for axis in 0..3 {
            self.correct_ends(&mut velocity[axis], correction, axis);
        }
        self.close_ends(velocity, Ending::Corrected);
    }

    /// Faces at fixed-pressure ends: the pressure is 0 half a cell away, so the gradient is 2 x/h, of which low ends have had half.
    fn correct_ends(&self, array: &mut [f32], correction: &[f32], axis: usize) {
        if periodic(self.physics, axis) {
            return;
        }
        let (stride, last) = (self.lattice.stride[axis], self.lattice.n[axis]);
        // The loop over rows has run over the face at the end of each, too.
        let high = if axis == 0 { 1.0 } else { 2.0 };
        for side in [0, 1].into_iter().filter(|side| self.physics.sides[2 * axis + side] == Side::Open) {
            for mut cell in end_cells(self.lattice.n, axis) {
                cell[axis] = if side == 0 { 0 } else { last - 1 };
                let at = self.lattice.cell(cell);
                let face = at + side * stride;
                let open = if self.open_at_face[axis][face] > 0.0 { 1.0 } else { 0.0 };
                array[face] += open * if side == 0 { -correction[at] } else { high * correction[at] };
            }
        }
    }

    /// Velocity at the ends of axes that are joined or open, which the loops over cells don't reach.
    pub fn close_ends(&self, velocity: &mut Faces, ending: Ending) {
        for axis in 0..3 {
            let n = self.lattice.n[axis] as isize;
            if periodic(self.physics, axis) {
                super::field::copy_layer(&mut velocity[axis], &self.lattice, axis, (0, n), (1.0, 0.0));
                continue;
            }
            if ending == Ending::Corrected {
                continue;
            }
            let (stride, n) = (self.lattice.stride[axis], self.lattice.n[axis]);
            for side in [0, 1].into_iter().filter(|side| self.physics.sides[2 * axis + side] == Side::Open) {
                for mut cell in end_cells(self.lattice.n, axis) {
                    cell[axis] = side * n;
                    let face = self.lattice.cell(cell);
                    let inside = if n == 1 {
                        face
                    } else if side == 0 {
                        face + stride
                    } else {
                        face - stride
                    };
                    velocity[axis][face] = if self.open_at_face[axis][face] > 0.0 { velocity[axis][inside] } else { 0.0 };
                }
            }
        }
    }

    /// Divergence and speed of the result.
    pub fn survey(&self, velocity: &Faces, planes: &mut [Sums], rows: &mut [f32]) -> Sums {
        let lattice = self.lattice;
        planes.par_iter_mut().zip(rows.par_chunks_mut(2 * lattice.pitch())).enumerate().for_each(|(k, (sums, rows))| {
            *sums = Sums::default();
            for j in 0..lattice.n[1] {
                survey_row(self, velocity, lattice.row(j, k), &mut rows[..lattice.width()], sums);
            }
        });
        planes.iter().fold(Sums::default(), |a, b| Sums {
            square: a.square + b.square,
            sum: a.sum + b.sum,
            most: max(a.most, b.most),
            courant_speed: max(a.courant_speed, b.courant_speed),
            speed_squared: max(a.speed_squared, b.speed_squared),
        })
    }
}

/// Are the ends to be set before the pressure is known, or has it been taken off already?
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ending {
    Predicted,
    Corrected,
}

/// One cell for each place on the low end of an axis.
fn end_cells(n: [usize; 3], axis: usize) -> impl Iterator<Item = [usize; 3]> {
    let (first, second) = ((axis + 1) % 3, (axis + 2) % 3);
    (0..n[second]).flat_map(move |b| {
        (0..n[first]).map(move |a| {
            let mut cell = [0; 3];
            (cell[first], cell[second]) = (a, b);
            cell
        })
    })
}

/// h (∇·u − q) for a row of cells.
#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn divergence_row(projection: &Projection, velocity: &Faces, at: usize, out: &mut [f32]) {
    divergence(projection, velocity, at, out);
}

#[inline(always)]
fn divergence(projection: &Projection, velocity: &Faces, at: usize, out: &mut [f32]) {
    let (nx, n) = (projection.lattice.n[0], projection.lattice.width());
    let out = row_mut(out, 0, n);
    let source = row(projection.source, at, n);
    let faces: [[&[f32]; 4]; 3] = std::array::from_fn(|d| {
        let high = at + projection.lattice.stride[d];
        let (open, speed) = (&projection.open_at_face[d], &velocity[d]);
        [row(open, at, n), row(open, high, n), row(speed, at, n), row(speed, high, n)]
    });
    for i in 0..n {
        let flux = |d: usize| faces[d][1][i] * faces[d][3][i] - faces[d][0][i] * faces[d][2][i];
        let divergence = (flux(0) + flux(1) + flux(2)) - projection.h * source[i];
        out[i] = if i < nx { divergence } else { 0.0 };
    }
}

/// Values at even and odd cells apart; the odd array's last entry may have no cell.
#[inline(always)]
fn split_row(values: &[f32], even: &mut [f32], odd: &mut [f32]) {
    let pairs = values.len() / 2;
    let (even, odd) = (row_mut(even, 0, pairs), row_mut(odd, 0, pairs));
    for (m, pair) in values.chunks_exact(2).enumerate() {
        even[m] = pair[0];
        odd[m] = pair[1];
    }
}

#[inline(always)]
fn merge_row(even: &[f32], odd: &[f32], values: &mut [f32]) {
    let pairs = values.len() / 2;
    let (even, odd) = (row(even, 0, pairs), row(odd, 0, pairs));
    for (m, pair) in values.chunks_exact_mut(2).enumerate() {
        pair[0] = even[m];
        pair[1] = odd[m];
    }
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn correct_planes(lattice: &Lattice, axis: usize, first: usize, chunk: &mut [f32], open: &[f32], correction: &[f32]) {
    let (n, s) = (lattice.width(), lattice.stride[axis]);
    for plane in 0..chunk.len() / lattice.stride[2] {
        for j in 0..lattice.n[1] {
            let at = lattice.row(j, first + plane);
            let u = row_mut(chunk, at - (first + LOW) * lattice.stride[2], n);
            let (open, low, high) = (row(open, at, n), row(correction, at - s, n), row(correction, at, n));
            for i in 0..n {
                u[i] -= if open[i] > 0.0 { high[i] - low[i] } else { 0.0 };
            }
        }
    }
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn survey_row(projection: &Projection, velocity: &Faces, at: usize, rows: &mut [f32], sums: &mut Sums) {
    divergence(projection, velocity, at, rows);
    let mut lanes = Lanes::default();
    for start in (0..projection.lattice.width()).step_by(LANES) {
        lanes.add(projection, velocity, at + start, row(rows, start, LANES));
    }
    let Lanes { sum, square, most, courant, speed } = lanes;
    let per_h = 1.0 / f64::from(projection.h);
    for lane in 0..LANES {
        sums.sum += f64::from(sum[lane]) * per_h;
        sums.square += f64::from(square[lane]) * per_h * per_h;
        sums.most = max(sums.most, most[lane] / projection.h);
        sums.courant_speed = max(sums.courant_speed, courant[lane]);
        sums.speed_squared = max(sums.speed_squared, speed[lane]);
    }
}

/// Running values side by side, so that the order of adding doesn't depend on the width of the vectors.
#[derive(Default)]
struct Lanes {
    sum: [f32; LANES],
    square: [f32; LANES],
    most: [f32; LANES],
    courant: [f32; LANES],
    speed: [f32; LANES],
}

impl Lanes {
    /// Takes in [`LANES`] cells from `at` on, one to a lane.
    #[inline(always)]
    fn add(&mut self, projection: &Projection, velocity: &Faces, at: usize, divergence: &[f32]) {
        let (n, divergence) = (LANES, row(divergence, 0, LANES));
        let pair = |d: usize| (row(&velocity[d], at, n), row(&velocity[d], at + projection.lattice.stride[d], n));
        let (u, v, w) = (pair(0), pair(1), pair(2));
        for i in 0..n {
            let d = divergence[i];
            self.sum[i] += d;
            self.square[i] += d * d;
            self.most[i] = max(self.most[i], d.abs());
            let (a, b, c) = (0.5 * (u.0[i] + u.1[i]), 0.5 * (v.0[i] + v.1[i]), 0.5 * (w.0[i] + w.1[i]));
            self.speed[i] = max(self.speed[i], a * a + b * b + c * c);
            let across = max(u.0[i].abs(), u.1[i].abs()) + max(v.0[i].abs(), v.1[i].abs()) + max(w.0[i].abs(), w.1[i].abs());
            self.courant[i] = max(self.courant[i], across);
        }
    }
}
