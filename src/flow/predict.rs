//! Velocity at the end of the step, but for the pressure's last correction.

use super::{
    advect::Plane,
    field::{Faces, max, min, row, row_mut},
    grid::Lattice,
};

use multiversion::multiversion;

/// What goes into the new velocity.
pub(super) struct Prediction<'a> {
    pub lattice: Lattice,
    pub dt: f32,
    pub inverse_h: f32,
    /// Weights of the present and the previous rates.
    pub weights: (f32, f32),
    pub body_force: [f32; 3],
    /// Speeds are held under this, m/s; infinite where nothing bounds them.
    pub limit: f32,
    /// Bit d: is the low face across axis d open?
    pub open: &'a [u8],
    pub pressure: &'a [f32],
    pub velocity: &'a Faces,
}

/// u + dt (w₁ N + w₂ N′ + f − ∇p) at the open faces of plane k, 0 at closed ones. `rate` holds N′ and then N. True when a speed had to be
/// held at the limit.
#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
pub(super) fn plane(prediction: &Prediction, k: usize, next: &mut [&mut [f32]; 3], rate: &mut [&mut [f32]; 3], found: &Plane) -> bool {
    let (lattice, dt) = (&prediction.lattice, prediction.dt);
    let n = lattice.width();
    let (now, then) = (dt * prediction.weights.0, dt * prediction.weights.1);
    let (per_h, limit) = (dt * prediction.inverse_h, prediction.limit);
    let mut held = 0u32;
    for axis in 0..3 {
        let (s, force) = (lattice.stride[axis], dt * prediction.body_force[axis]);
        let bit = 1u8 << axis;
        for j in 0..lattice.n[1] {
            let (at, out) = (lattice.row(j, k), lattice.row_in_plane(j));
            let (next, rate, found) = (row_mut(next[axis], out, n), row_mut(rate[axis], out, n), row(&found[axis], out, n));
            let (u, open) = (row(&prediction.velocity[axis], at, n), &prediction.open[at..][..n]);
            let (low, high) = (row(prediction.pressure, at - s, n), row(prediction.pressure, at, n));
            for i in 0..n {
                let value = u[i] + now * found[i] + then * rate[i] + force - per_h * (high[i] - low[i]);
                let within = max(min(value, limit), -limit);
                let is_open = open[i] & bit != 0;
                held |= u32::from(is_open & (within != value));
                next[i] = if is_open { within } else { 0.0 };
                rate[i] = found[i];
            }
        }
    }
    held != 0
}
