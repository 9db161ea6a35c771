//! −∇·(u u) + ∇·(2 ν S), as differences of fluxes through the faces of each velocity's own box.
//!
//! Six kinds of flux: three at cell centres (a component carried along itself) and three at edges, where each edge carries two
//! components across each other and one shear stress that both share. A flux is computed once and given to the boxes on both sides.

use super::{
    field::{Faces, max, row, row_mut},
    grid::Lattice,
    limiter::carried,
};

use multiversion::multiversion;

/// What the fluxes are made of.
pub(super) struct Transport<'a> {
    pub lattice: Lattice,
    pub inverse_h: f32,
    pub velocity: &'a Faces,
}

/// Rates of change of the three velocity components on one plane.
pub(super) type Plane = [Vec<f32>; 3];

/// ν + νₜ on two planes, the one below first; hugely negative where there is no water, so that a shear stress there comes out as none.
type Viscosity<'a> = [&'a [f32]; 2];

/// What happens to a rate that a flux is given to.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Give {
    /// The first flux of all.
    Begin,
    Add,
    Take,
}

/// Rates of change on plane k (m/s²), but for the fluxes through its top, and the last fluxes to the plane below. `above_first` and
/// `before_end` say whether those planes are wanted.
#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
pub(super) fn plane(
    transport: &Transport,
    (k, above_first, before_end): (usize, bool, bool),
    viscosity: Viscosity,
    (here, below): (&mut Plane, &mut Plane),
    (flux, other): (&mut [f32], &mut [f32]),
) {
    let lattice = transport.lattice;
    let (ny, n, [_, sy, sz]) = (lattice.n[1], lattice.width(), lattice.stride);
    for j in 0..=ny {
        let (at, out) = (lattice.row(j, k), lattice.row_in_plane(j));
        let inside = j < ny;
        transport.edge_row((1, 2), (at, out), viscosity, &mut flux[..n], other);
        if inside && before_end {
            transport.give(Give::Begin, &mut here[1], out, flux);
            transport.give(Give::Begin, &mut here[2], out, other);
        }
        if inside && above_first {
            transport.give(Give::Take, &mut below[1], out, flux);
        }
        if j > 0 && before_end {
            transport.give(Give::Take, &mut here[2], out - sy, other);
        }
        if inside {
            transport.edge_row((0, 2), (at, out), viscosity, &mut flux[..n], other);
            if before_end {
                transport.give(Give::Begin, &mut here[0], out, flux);
                transport.give_along(&mut here[2], other, out);
            }
            if above_first {
                transport.give(Give::Take, &mut below[0], out, flux);
            }
            transport.cell_row(2, at - sz, (viscosity[0], out), &mut flux[..n]);
            if before_end {
                transport.give(Give::Add, &mut here[2], out, flux);
            }
            if above_first {
                transport.give(Give::Take, &mut below[2], out, flux);
            }
        }
        if !before_end {
            continue;
        }
        if inside {
            transport.cell_row(0, at - 1, (viscosity[1], out - 1), &mut flux[..n]);
            transport.give_along(&mut here[0], flux, out);
        }
        transport.edge_row((0, 1), (at, out), viscosity, &mut flux[..n], other);
        transport.give_both(&mut here[0], out, flux, inside, j > 0);
        if inside {
            transport.give_along(&mut here[1], other, out);
        }
        transport.cell_row(1, at - sy, (viscosity[1], out - sy), &mut flux[..n]);
        transport.give_both(&mut here[1], out, flux, inside, j > 0);
    }
}

impl Transport<'_> {
    /// A-momentum carried across b and B-momentum carried across a, through the edges that start at `p`, less the shear stress.
    #[inline(always)]
    fn edge_row(&self, (a, b): (usize, usize), (p, out): (usize, usize), viscosity: Viscosity, out_a: &mut [f32], out_b: &mut [f32]) {
        let len = out_a.len();
        let (sa, sb) = (self.lattice.stride[a], self.lattice.stride[b]);
        let (u, v) = (&self.velocity[a], &self.velocity[b]);
        let (u0, u1, u2, u3) = (row(u, p - 2 * sb, len), row(u, p - sb, len), row(u, p, len), row(u, p + sb, len));
        let (v0, v1, v2, v3) = (row(v, p - 2 * sa, len), row(v, p - sa, len), row(v, p, len), row(v, p + sa, len));
        let here = viscosity[1];
        let (low, back) = if b == 2 { (viscosity[0], out) } else { (here, out - sb) };
        let (n0, n1, n2, n3) = (row(here, out, len), row(here, out - sa, len), row(low, back, len), row(low, back - sa, len));
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
    fn cell_row(&self, a: usize, p: usize, (viscosity, at): (&[f32], usize), out: &mut [f32]) {
        let len = out.len();
        let s = self.lattice.stride[a];
        let u = &self.velocity[a];
        let (u0, u1, u2, u3) = (row(u, p - s, len), row(u, p, len), row(u, p + s, len), row(u, p + 2 * s, len));
        let nu = row(viscosity, at, len);
        for i in 0..len {
            let stress = 2.0 * max(nu[i], 0.0) * self.inverse_h * (u2[i] - u1[i]);
            let speed = 0.5 * (u1[i] + u2[i]);
            out[i] = speed * carried(speed, [u0[i], u1[i], u2[i], u3[i]]) - stress;
        }
    }

    /// A flux through a row of low faces of boxes to the rates that start at `at`.
    #[inline(always)]
    fn give(&self, how: Give, rate: &mut [f32], at: usize, flux: &[f32]) {
        let n = self.lattice.width();
        let (rate, flux) = (row_mut(rate, at, n), row(flux, 0, n));
        for i in 0..n {
            let gain = self.inverse_h * flux[i];
            rate[i] = match how {
                Give::Begin => gain,
                Give::Add => rate[i] + gain,
                Give::Take => rate[i] - gain,
            };
        }
    }

    /// To the row at `at`, and from the row before it, where they are wanted.
    #[inline(always)]
    fn give_both(&self, rate: &mut [f32], at: usize, flux: &[f32], here: bool, before: bool) {
        if here {
            self.give(Give::Add, rate, at, flux);
        }
        if before {
            self.give(Give::Take, rate, at - self.lattice.stride[1], flux);
        }
    }

    /// Fluxes along the row itself: gained through the low end, lost through the high end.
    #[inline(always)]
    fn give_along(&self, rate: &mut [f32], flux: &[f32], at: usize) {
        let n = self.lattice.width();
        let (rate, low, high) = (row_mut(rate, at, n), row(flux, 0, n), row(flux, 1, n));
        for i in 0..n {
            rate[i] += self.inverse_h * (low[i] - high[i]);
        }
    }
}
