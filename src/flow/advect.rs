//! −∇·(u u) + ∇·(2 ν S), as differences of fluxes through the faces of each velocity's own box.
//!
//! Six kinds of flux: three at cell centres (a component carried along itself) and three at edges, where each edge carries two
//! components across each other and one shear stress that both share. A flux is computed once and given to the boxes on both sides.

use super::{
    field::{Faces, inner_mut, max, planes_per_task, row, row_mut},
    grid::{LOW, Lattice},
    limiter::carried,
    walls::Walls,
};
use multiversion::multiversion;
use rayon::prelude::*;

/// What the fluxes are made of.
pub(super) struct Transport<'a> {
    pub lattice: Lattice,
    pub inverse_h: f32,
    pub velocity: &'a Faces,
    /// ν + νₜ at cells; hugely negative where there is no water, so that a shear stress there comes out as none.
    pub viscosity: &'a [f32],
    pub walls: &'a Walls,
}

/// Rate of change of each velocity component over some planes.
type Planes<'a> = [&'a mut [f32]; 3];

impl Transport<'_> {
    /// Rates of change of the velocity at faces, m/s². `rows` holds two rows for each plane.
    pub fn rates(&self, rate: &mut Faces, rows: &mut [f32]) {
        let lattice = self.lattice;
        let planes = planes_per_task(lattice.n[2]);
        let size = planes * lattice.stride[2];
        let [x, y, z] = rate;
        let chunks = inner_mut(x, &lattice)
            .par_chunks_mut(size)
            .zip(inner_mut(y, &lattice).par_chunks_mut(size))
            .zip(inner_mut(z, &lattice).par_chunks_mut(size))
            .zip(rows.par_chunks_mut(2 * lattice.pitch()))
            .enumerate();
        chunks.for_each(|(task, (((x, y), z), rows))| {
            let range = (task * planes, ((task + 1) * planes).min(lattice.n[2]));
            rates_of_planes(self, range, [&mut *x, &mut *y, &mut *z], rows);
            self.walls.drag(self, range, [x, y, z]);
        });
    }

    /// A-momentum carried across b and B-momentum carried across a, through the edges that start at `p`, less the shear stress.
    #[inline(always)]
    fn edge_row(&self, (a, b): (usize, usize), p: usize, out_a: &mut [f32], out_b: &mut [f32]) {
        let len = out_a.len();
        let (sa, sb) = (self.lattice.stride[a], self.lattice.stride[b]);
        let (u, v, nu) = (&self.velocity[a], &self.velocity[b], self.viscosity);
        let (u0, u1, u2, u3) = (row(u, p - 2 * sb, len), row(u, p - sb, len), row(u, p, len), row(u, p + sb, len));
        let (v0, v1, v2, v3) = (row(v, p - 2 * sa, len), row(v, p - sa, len), row(v, p, len), row(v, p + sa, len));
        let (n0, n1, n2, n3) = (row(nu, p, len), row(nu, p - sa, len), row(nu, p - sb, len), row(nu, p - sa - sb, len));
        let out_b = row_mut(out_b, 0, len);
        for i in 0..len {
            let viscosity = max(0.25 * ((n0[i] + n1[i]) + (n2[i] + n3[i])), 0.0);
            let stress = viscosity * self.inverse_h * ((u2[i] - u1[i]) + (v2[i] - v1[i]));
            let across_b = 0.5 * (v1[i] + v2[i]);
            let across_a = 0.5 * (u1[i] + u2[i]);
            out_a[i] = across_b * carried(across_b, [u0[i], u1[i], u2[i], u3[i]]) - stress;
            out_b[i] = across_a * carried(across_a, [v0[i], v1[i], v2[i], v3[i]]) - stress;
        }
    }

    /// A component carried along itself, through the cells that start at `p`, less the normal stress.
    #[inline(always)]
    fn cell_row(&self, a: usize, p: usize, out: &mut [f32]) {
        let len = out.len();
        let s = self.lattice.stride[a];
        let u = &self.velocity[a];
        let (u0, u1, u2, u3) = (row(u, p - s, len), row(u, p, len), row(u, p + s, len), row(u, p + 2 * s, len));
        let nu = row(self.viscosity, p, len);
        for i in 0..len {
            let stress = 2.0 * max(nu[i], 0.0) * self.inverse_h * (u2[i] - u1[i]);
            let speed = 0.5 * (u1[i] + u2[i]);
            out[i] = speed * carried(speed, [u0[i], u1[i], u2[i], u3[i]]) - stress;
        }
    }
}

/// The part of an array that one task writes: planes `first..end`, whole rows.
struct Window {
    lattice: Lattice,
    first: usize,
    end: usize,
    inverse_h: f32,
}

impl Window {
    #[inline(always)]
    fn row(&self, j: usize, k: usize) -> usize {
        (k - self.first) * self.lattice.stride[2] + (j + LOW) * self.lattice.stride[1] + LOW
    }

    /// A flux through a row of low faces of boxes: gained by the boxes at `here`, lost by those at `before`.
    #[inline(always)]
    fn give(&self, rate: &mut [f32], flux: &[f32], here: Option<(usize, usize)>, before: Option<(usize, usize)>) {
        for (place, sign) in [(here, self.inverse_h), (before, -self.inverse_h)] {
            let Some((j, k)) = place.filter(|(j, k)| *j < self.lattice.n[1] && (self.first..self.end).contains(k)) else { continue };
            let n = self.lattice.width();
            let (rate, flux) = (row_mut(rate, self.row(j, k), n), row(flux, 0, n));
            for i in 0..n {
                rate[i] += sign * flux[i];
            }
        }
    }

    /// Fluxes along the row itself: gained through the low end, lost through the high end.
    #[inline(always)]
    fn give_along(&self, rate: &mut [f32], flux: &[f32], (j, k): (usize, usize)) {
        let n = self.lattice.width();
        let rate = row_mut(rate, self.row(j, k), n);
        let (low, high) = (row(flux, 0, n), row(flux, 1, n));
        for i in 0..n {
            rate[i] += self.inverse_h * (low[i] - high[i]);
        }
    }
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn rates_of_planes(transport: &Transport, (first, end): (usize, usize), rate: Planes, rows: &mut [f32]) {
    let lattice = transport.lattice;
    let (ny, n) = (lattice.n[1], lattice.width());
    let [rate_u, rate_v, rate_w] = rate;
    let (flux, other) = rows.split_at_mut(lattice.pitch());
    let window = Window { lattice, first, end, inverse_h: transport.inverse_h };
    for array in [&mut *rate_u, &mut *rate_v, &mut *rate_w] {
        array.fill(0.0);
    }
    for k in first..=end {
        for j in 0..=ny {
            let at = lattice.row(j, k);
            let (here, south, below) = (Some((j, k)), j.checked_sub(1).map(|j| (j, k)), k.checked_sub(1).map(|k| (j, k)));
            transport.edge_row((1, 2), at, &mut flux[..n], other);
            window.give(rate_v, flux, here, below);
            window.give(rate_w, other, here, south);
            if j < ny {
                transport.edge_row((0, 2), at, &mut flux[..n], other);
                window.give(rate_u, flux, here, below);
                transport.cell_row(2, at - lattice.stride[2], &mut flux[..n]);
                window.give(rate_w, flux, here, below);
                if k < end {
                    window.give_along(rate_w, other, (j, k));
                    transport.cell_row(0, at - 1, &mut flux[..n]);
                    window.give_along(rate_u, flux, (j, k));
                }
            }
            if k < end {
                transport.edge_row((0, 1), at, &mut flux[..n], other);
                window.give(rate_u, flux, here, south);
                if j < ny {
                    window.give_along(rate_v, other, (j, k));
                }
                transport.cell_row(1, at - lattice.stride[1], &mut flux[..n]);
                window.give(rate_v, flux, here, south);
            }
        }
    }
}
