//! Friction of walls and solids on the water beside them.
//!
//! On a face beside a solid it is the greatest of three, with u the speed along the wall half a cell away (y = h/2):
//! - viscous, ν u / y: exact where the grid resolves the wall layer;
//! - smooth turbulent, (u/8.3)^(7/4) (ν/y)^(1/4): power law of Werner and Wengle 1991, within 3 % of u⁺ = ln(y⁺)/0.41 + 5.2 for y⁺ 12 to 1000;
//! - fully rough, (κ u / ln(30 y/k_s))²: log law of Nikuradse 1933.
//!
//! Rock makes short runs of such faces: they are gathered, a vector full at a time.

use super::{
    advect::{Plane, Transport},
    field::{lanes, lanes_from, lanes_mut, max},
    grid::LANES,
    mixing::KARMAN,
    physics::Physics,
    wall_faces::{Run, Walls},
};
use multiversion::multiversion;
use serde::{Deserialize, Serialize};

/// Distance from a rough wall below which the log law isn't used, in units of k_s: 30 y/k_s ≥ 10.
const LEAST_ROUGH: f32 = 10.0;

/// One kind of wall, ready to use: friction over speed (m/s), over its power ¾ (smooth), over the speed and its own (rough).
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub(super) struct Surface {
    viscous: f32,
    smooth: f32,
    rough: f32,
    velocity: [f32; 3],
}

impl Surface {
    pub fn new(physics: &Physics, h: f32, roughness: f32, velocity: [f32; 3]) -> Self {
        let y = 0.5 * h;
        let rough = if roughness > 0.0 { KARMAN / (30.0 * y / roughness).max(LEAST_ROUGH).ln() } else { 0.0 };
        let smooth = (1.0f32 / 8.3).powf(1.75) * (physics.viscosity / y).powf(0.25);
        Self { viscous: physics.viscosity / y, smooth, rough: rough * rough, velocity }
    }

    /// Of a side that doesn't rub.
    pub fn slip() -> Self {
        Self { viscous: 0.0, smooth: 0.0, rough: 0.0, velocity: [0.0; 3] }
    }

    pub fn rubs(&self) -> bool {
        self.viscous > 0.0
    }
}

/// Takes the friction off the rates of plane k.
#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
pub(super) fn drag(walls: &Walls, transport: &Transport, k: usize, rate: &mut Plane) {
    for axis in 0..3 {
        let rate = &mut rate[axis];
        let mut batch = Batch::default();
        for run in walls.runs[axis].on(k) {
            let beside = Beside::new(walls, transport, axis, run);
            let whole = usize::from(run.len) / LANES * LANES;
            for from in (0..whole).step_by(LANES) {
                let drag = beside.lanes(from);
                let rate = lanes_mut(rate, beside.at % transport.lattice.stride[2] + from);
                (0..LANES).for_each(|i| rate[i] -= drag[i]);
            }
            for face in whole..usize::from(run.len) {
                batch.push(&beside, face, beside.at % transport.lattice.stride[2] + face, rate);
            }
        }
        batch.flush(rate);
    }
}

/// A run of faces and what stands round it: friction on u from u itself, from u one cell farther from the wall, and from the speed across u.
struct Beside<'a> {
    at: usize,
    own: &'a [f32],
    across: &'a [f32],
    /// Steps to u one cell farther, and between the four values across.
    inward: isize,
    near: usize,
    far: usize,
    surface: &'a Surface,
    /// Velocity of the wall along u and across it.
    wall: [f32; 2],
    weight: f32,
}

impl<'a> Beside<'a> {
    #[inline(always)]
    fn new(walls: &'a Walls, transport: &Transport<'a>, axis: usize, run: &Run) -> Self {
        let (stride, along) = (transport.lattice.stride, usize::from(run.along));
        let surface = &walls.surfaces[usize::from(run.surface)];
        Self {
            at: run.at as usize,
            own: &transport.velocity[axis],
            across: &transport.velocity[along],
            inward: run.inward as isize,
            near: stride[axis],
            far: stride[along],
            surface,
            wall: [surface.velocity[axis], surface.velocity[along]],
            weight: run.cover * transport.inverse_h,
        }
    }

    /// Friction over h on a run of lanes that begins `from` faces on.
    #[inline(always)]
    fn lanes(&self, from: usize) -> [f32; LANES] {
        let at = self.at + from;
        let (u, next) = (lanes(self.own, at), lanes(self.own, at.wrapping_add_signed(self.inward)));
        let v = lanes_from(self.across, [at, at + self.far, at - self.near, at - self.near + self.far]);
        let mut drag = [0.0; LANES];
        for i in 0..LANES {
            let across = 0.25 * ((v[0][i] + v[1][i]) + (v[2][i] + v[3][i])) - self.wall[1];
            let Surface { viscous, smooth, rough, .. } = *self.surface;
            drag[i] = self.weight * friction([viscous, smooth, rough], u[i] - self.wall[0], next[i] - self.wall[0], across);
        }
        drag
    }
}

/// Friction on the component `u` of a velocity along a wall, m²/s²; `next` is u one cell farther from the wall, `across` the other component.
#[inline(always)]
fn friction([viscous, smooth, rough]: [f32; 3], u: f32, next: f32, across: f32) -> f32 {
    let speed = (u * u + across * across).sqrt();
    let root = speed.sqrt();
    let turbulent = max(smooth * root * root.sqrt(), rough * speed);
    // Slope at the wall of the parabola through 0, u and next, times ν.
    if turbulent > viscous { turbulent * u } else { viscous * (1.5 * u - next * (1.0 / 6.0)) }
}

/// Faces of short runs, gathered.
#[derive(Default)]
struct Batch {
    count: usize,
    place: [u32; LANES],
    u: [f32; LANES],
    next: [f32; LANES],
    across: [f32; LANES],
    surface: [[f32; LANES]; 3],
    weight: [f32; LANES],
}

impl Batch {
    #[inline(always)]
    fn push(&mut self, beside: &Beside, face: usize, place: usize, rate: &mut [f32]) {
        let (n, at) = (self.count, beside.at + face);
        let (own, across, far) = (beside.own, beside.across, beside.far);
        self.place[n] = place as u32;
        self.u[n] = own[at] - beside.wall[0];
        self.next[n] = own[at.wrapping_add_signed(beside.inward)] - beside.wall[0];
        let before = at - beside.near;
        self.across[n] = 0.25 * ((across[at] + across[at + far]) + (across[before] + across[before + far])) - beside.wall[1];
        let Surface { viscous, smooth, rough, .. } = *beside.surface;
        (self.surface[0][n], self.surface[1][n], self.surface[2][n]) = (viscous, smooth, rough);
        self.weight[n] = beside.weight;
        self.count += 1;
        if self.count == LANES {
            self.flush(rate);
        }
    }

    #[inline(always)]
    fn flush(&mut self, rate: &mut [f32]) {
        let mut drag = [0.0; LANES];
        for i in 0..LANES {
            let surface = [self.surface[0][i], self.surface[1][i], self.surface[2][i]];
            drag[i] = self.weight[i] * friction(surface, self.u[i], self.next[i], self.across[i]);
        }
        for (place, drag) in self.place.iter().zip(drag).take(self.count) {
            rate[*place as usize] -= drag;
        }
        self.count = 0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn friction_is_viscous_when_slow_and_turbulent_when_fast() {
        let surface = Surface::new(&Physics::tank(1e-6, 0), 0.02, 0.0, [0.0; 3]);
        let drag = |u, next| friction([surface.viscous, surface.smooth, surface.rough], u, next, 0.0);
        assert!((drag(1e-4, 3e-4) - 1e-8).abs() < 1e-14);
        // Log law at y = 10 mm, u = 0.2 m/s, 1e-6 m2/s: u* = 0.0120 m/s (solved by hand from u+ = ln(y+)/0.41 + 5.2).
        let friction_speed = drag(0.2, 0.2).sqrt();
        assert!((friction_speed / 0.0120 - 1.0).abs() < 0.05, "{friction_speed}");
    }
}
