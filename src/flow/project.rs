//! The part of a step that makes ∇·u = q: a pressure that the multigrid finds, and its gradient taken off the velocity.

use super::{
    clock::Operator,
    ends,
    field::{Faces, inner_mut, merge_row, planes_per_slab, row, row_mut, split_row},
    grid::{LOW, Lattice},
    physics::{Physics, Side},
    poisson::{Ends, Finest, Multigrid, start},
    solids::{Solids, periodic},
    survey::{Lanes, Pairs, Sums},
    sweep::Bench,
    walls,
};
use multiversion::multiversion;
use rayon::prelude::*;

/// All grids for a flow.
pub(super) fn multigrid(lattice: &Lattice, physics: &Physics, solids: &Solids) -> Multigrid {
    let open = std::array::from_fn(|d| [2 * d, 2 * d + 1].map(|side| physics.sides[side] == Side::Open && !periodic(physics, d)));
    let ends = Ends { periodic: std::array::from_fn(|d| periodic(physics, d)), open };
    Multigrid::new(lattice.n, ends, &|axis, cell| solids.is_open(axis, lattice.cell(cell)))
}

/// Everything a projection works on.
pub(super) struct Projection<'a> {
    pub lattice: Lattice,
    pub h: f32,
    pub physics: &'a Physics,
    pub open: &'a [u8],
    pub source: &'a [f32],
}

impl Projection<'_> {
    /// Right side h (∇·u − q) of the pressure equation, and the first red half sweep from x = 0. Mean square of ∇·u − q as sums.
    pub fn right_side(&self, velocity: &Faces, finest: &mut Finest, benches: &mut [Bench], sums: &mut [Sums]) -> Sums {
        let (layout, planes) = (finest.layout, planes_per_slab(self.lattice.n[2]));
        let range = layout.plane..(layout.n[2] + 1) * layout.plane;
        let inverse = &finest.inverse[0];
        let [red, black] = &mut finest.b;
        red[range.clone()]
            .par_chunks_mut(planes * layout.plane)
            .zip(black[range.clone()].par_chunks_mut(planes * layout.plane))
            .zip(finest.x[0][range].par_chunks_mut(planes * layout.plane))
            .zip(sums.par_chunks_mut(planes))
            .zip(benches)
            .enumerate()
            .for_each(|(slab, ((((red, black), x), sums), bench))| {
                bench.clock.start();
                for (plane, sums) in sums.iter_mut().enumerate() {
                    let within = plane * layout.plane..(plane + 1) * layout.plane;
                    let parts = [&mut red[within.clone()], &mut black[within.clone()], &mut x[within]];
                    *sums = right_side_plane(self, velocity, slab * planes + plane, inverse, parts, &mut bench.row);
                }
                bench.clock.lap(Operator::Divergence);
            });
        Sums::of(sums)
    }

    /// Takes the gradient of the unknowns off the velocity of open faces and adds them to the pressure (m²/s²); then values beside the
    /// box are filled in. The sums are of the result.
    pub fn finish(
        &self,
        velocity: &mut Faces,
        (pressure, per_unknown): (&mut [f32], f32),
        finest: &Finest,
        benches: &mut [Bench],
        sums: &mut [Sums],
    ) -> Sums {
        let lattice = self.lattice;
        let planes = planes_per_slab(lattice.n[2]);
        let size = planes * lattice.stride[2];
        let [x, y, z] = &mut *velocity;
        inner_mut(x, &lattice)
            .par_chunks_mut(size)
            .zip(inner_mut(y, &lattice).par_chunks_mut(size))
            .zip(inner_mut(z, &lattice).par_chunks_mut(size))
            .zip(inner_mut(pressure, &lattice).par_chunks_mut(size))
            .zip(sums.par_chunks_mut(planes))
            .zip(&mut *benches)
            .enumerate()
            .for_each(|(slab, (((((x, y), z), pressure), sums), bench))| {
                bench.clock.start();
                finish_slab(self, (slab * planes, per_unknown), finest, [x, y, z], pressure, sums, bench);
                bench.clock.lap(Operator::Correction);
            });
        ends::correct_top(self, velocity, finest);
        // The last plane of a slab had to wait for the first of the next.
        let last = (1..=lattice.n[2]).filter(|end| end % planes == 0 || *end == lattice.n[2]);
        last.for_each(|end| sums[end - 1] = self.survey_plane(velocity, end - 1, &mut benches[0].row));
        walls::fill_above_and_below(velocity, &lattice, self.physics);
        for axis in (0..3).filter(|d| periodic(self.physics, *d)) {
            super::field::copy_layer(pressure, &lattice, axis, (lattice.n[axis] as isize - 1, -1), (1.0, 0.0));
        }
        Sums::of(sums)
    }

    /// Survey of a finished plane that is seen from outside its slab; fills the values beside it.
    fn survey_plane(&self, velocity: &mut Faces, k: usize, out: &mut [f32]) -> Sums {
        let lattice = self.lattice;
        let size = lattice.stride[2];
        let mut lanes = Lanes::default();
        for j in 0..lattice.n[1] {
            let at = lattice.row(j, k);
            let (pairs, out) = (Pairs::of(velocity, &lattice, at), row_mut(out, 0, lattice.width()));
            pairs.divergence((lattice.n[0], self.h), &self.source[at..], out);
            lanes.add(out, &pairs);
        }
        let planes: &[usize] = if k + 1 == lattice.n[2] { &[k, k + 1] } else { &[k] };
        for k in planes {
            let mut beside = velocity.each_mut().map(|array| &mut array[(k + LOW) * size..][..size]);
            walls::fill_beside(&mut beside, &lattice, self.physics);
        }
        lanes.sums(self.h)
    }
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn right_side_plane(
    projection: &Projection,
    velocity: &Faces,
    k: usize,
    inverse: &[f32],
    [red, black, x]: [&mut [f32]; 3],
    out: &mut [f32],
) -> Sums {
    let lattice = projection.lattice;
    let width = lattice.width();
    let row_length = red.len() / (lattice.n[1] + 2);
    let pairs = width / 2;
    let mut lanes = Lanes::default();
    for j in 0..lattice.n[1] {
        let at = lattice.row(j, k);
        let out = row_mut(out, 0, width);
        Pairs::of(velocity, &lattice, at).divergence((lattice.n[0], projection.h), &projection.source[at..], out);
        lanes.add_squares(out);
        let to = (j + 1) * row_length + 1;
        let (even, odd) = if (j + k) & 1 == 0 { (&mut *red, &mut *black) } else { (&mut *black, &mut *red) };
        split_row(out, row_mut(even, to, pairs), row_mut(odd, to, pairs));
        let from = (k + 1) * red.len() + to;
        start(row_mut(x, to, pairs), row(red, to, pairs), row(inverse, from, pairs));
    }
    lanes.sums(projection.h)
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn finish_slab(
    projection: &Projection,
    (first, per_unknown): (usize, f32),
    finest: &Finest,
    velocity: [&mut [f32]; 3],
    pressure: &mut [f32],
    sums: &mut [Sums],
    bench: &mut Bench,
) {
    let lattice = projection.lattice;
    let size = lattice.stride[2];
    let [x, y, z] = velocity;
    let [even, odd] = &mut bench.plain;
    merge_plane(projection, finest, first as isize - 1, if first % 2 == 0 { odd } else { even });
    for plane in 0..sums.len() {
        let k = first + plane;
        let (here, below) = if k % 2 == 0 { (&mut *even, &mut *odd) } else { (&mut *odd, &mut *even) };
        merge_plane(projection, finest, k as isize, here);
        let within = plane * size..(plane + 1) * size;
        let mut planes = [&mut x[within.clone()], &mut y[within.clone()], &mut z[within.clone()]];
        correct_plane(projection, k, &mut planes, here, below);
        ends::correct_sides(projection, k, &mut planes, here);
        add_pressure(&lattice, &mut pressure[within], here, per_unknown);
        if plane > 0 {
            let (before, now) = ((plane - 1) * size..plane * size, plane * size..(plane + 1) * size);
            let planes = [&x[before.clone()], &y[before.clone()], &z[before.clone()]];
            sums[plane - 1] = survey(projection, k - 1, planes, &z[now], &mut bench.row);
            walls::fill_beside(&mut [&mut x[before.clone()], &mut y[before.clone()], &mut z[before]], &lattice, projection.physics);
        }
    }
}

#[inline(always)]
fn survey(projection: &Projection, k: usize, planes: [&[f32]; 3], above: &[f32], out: &mut [f32]) -> Sums {
    let lattice = &projection.lattice;
    let mut lanes = Lanes::default();
    for j in 0..lattice.n[1] {
        let pairs = Pairs::of_planes(planes, above, lattice, lattice.row_in_plane(j));
        let out = row_mut(out, 0, lattice.width());
        pairs.divergence((lattice.n[0], projection.h), &projection.source[lattice.row(j, k)..], out);
        lanes.add(out, &pairs);
    }
    lanes.sums(projection.h)
}

/// The unknowns of a plane in plain order, with zeros (or the far end's) beside them.
#[inline(always)]
fn merge_plane(projection: &Projection, finest: &Finest, k: isize, out: &mut [f32]) {
    let lattice = &projection.lattice;
    let joined = |axis| periodic(projection.physics, axis);
    let k = if k >= 0 {
        k as usize
    } else if joined(2) {
        lattice.n[2] - 1
    } else {
        return out.fill(0.0);
    };
    let pairs = lattice.width() / 2;
    for j in 0..lattice.n[1] {
        let from = finest.layout.row_at(j as isize, k as isize);
        let of = |colour: usize| row(&finest.x[colour], from, pairs);
        merge_row(of((j + k) & 1), of(1 - ((j + k) & 1)), row_mut(out, lattice.row_in_plane(j), 2 * pairs));
    }
    let pitch = lattice.stride[1];
    if joined(0) {
        (0..lattice.n[1]).map(|j| lattice.row_in_plane(j)).for_each(|at| out[at - 1] = out[at + lattice.n[0] - 1]);
    }
    if joined(1) {
        let last = (LOW + lattice.n[1] - 1) * pitch;
        out.copy_within(last..last + pitch, (LOW - 1) * pitch);
    }
}

#[inline(always)]
fn correct_plane(projection: &Projection, k: usize, planes: &mut [&mut [f32]; 3], here: &[f32], below: &[f32]) {
    let lattice = &projection.lattice;
    let n = lattice.width();
    for axis in 0..3 {
        for j in 0..lattice.n[1] {
            let at = lattice.row_in_plane(j);
            let low = if axis == 2 { row(below, at, n) } else { row(here, at - lattice.stride[axis], n) };
            let (u, high) = (row_mut(planes[axis], at, n), row(here, at, n));
            let open = &projection.open[lattice.row(j, k)..][..n];
            for i in 0..n {
                let change = high[i] - low[i];
                u[i] -= if open[i] & (1 << axis) != 0 { change } else { 0.0 };
            }
        }
    }
}

#[inline(always)]
fn add_pressure(lattice: &Lattice, pressure: &mut [f32], here: &[f32], per_unknown: f32) {
    for j in 0..lattice.n[1] {
        let (at, n) = (lattice.row_in_plane(j), lattice.width());
        let (pressure, here) = (row_mut(pressure, at, n), row(here, at, n));
        for i in 0..n {
            pressure[i] += per_unknown * here[i];
        }
    }
}
