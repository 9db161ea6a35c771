//! Velocity at the end of the step, but for the pressure's last correction.

use super::{
    field::{Faces, inner_mut, max, min, planes_per_task, row, row_mut},
    grid::{LOW, Lattice},
};
use multiversion::multiversion;
use rayon::prelude::*;

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
    pub open_at_face: &'a Faces,
    pub pressure: &'a [f32],
}

impl Prediction<'_> {
    /// u + dt (w₁ N + w₂ N′ + f − ∇p) at open faces, 0 at closed ones.
    pub fn advance(&self, velocity: &mut Faces, rate: &Faces, before: &Faces) {
        let planes = planes_per_task(self.lattice.n[2]);
        for (axis, velocity) in velocity.iter_mut().enumerate() {
            let chunks = inner_mut(velocity, &self.lattice).par_chunks_mut(planes * self.lattice.stride[2]);
            chunks.enumerate().for_each(|(task, chunk)| advance_planes(self, axis, task * planes, chunk, &rate[axis], &before[axis]));
        }
    }
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn advance_planes(prediction: &Prediction, axis: usize, first: usize, chunk: &mut [f32], rate: &[f32], before: &[f32]) {
    let (lattice, dt) = (&prediction.lattice, prediction.dt);
    let (n, s) = (lattice.width(), lattice.stride[axis]);
    let (now, then) = (dt * prediction.weights.0, dt * prediction.weights.1);
    let (force, per_h, limit) = (dt * prediction.body_force[axis], dt * prediction.inverse_h, prediction.limit);
    for plane in 0..chunk.len() / lattice.stride[2] {
        for j in 0..lattice.n[1] {
            let at = lattice.row(j, first + plane);
            let u = row_mut(chunk, at - (first + LOW) * lattice.stride[2], n);
            let (rate, before, open) = (row(rate, at, n), row(before, at, n), row(&prediction.open_at_face[axis], at, n));
            let (low, high) = (row(prediction.pressure, at - s, n), row(prediction.pressure, at, n));
            for i in 0..n {
                let value = u[i] + now * rate[i] + then * before[i] + force - per_h * (high[i] - low[i]);
                let held = max(min(value, limit), -limit);
                u[i] = if open[i] > 0.0 { held } else { 0.0 };
            }
        }
    }
}
