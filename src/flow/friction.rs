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
    by_plane::ByPlane,
    field::{lanes, lanes_from, lanes_mut, max},
    grid::{LANES, Lattice},
    mixing::KARMAN,
    physics::{Physics, Side},
    solids::{Solids, periodic},
};
use multiversion::multiversion;
use serde::{Deserialize, Serialize};

/// Distance from a rough wall below which the log law isn't used, in units of k_s: 30 y/k_s ≥ 10.
const LEAST_ROUGH: f32 = 10.0;

/// One kind of wall, ready to use: friction over speed (m/s), over its power ¾ (smooth), over the speed and its own (rough).
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
struct Surface {
    viscous: f32,
    smooth: f32,
    rough: f32,
    velocity: [f32; 3],
}

impl Surface {
    fn new(physics: &Physics, h: f32, roughness: f32, velocity: [f32; 3]) -> Self {
        let y = 0.5 * h;
        let rough = if roughness > 0.0 { KARMAN / (30.0 * y / roughness).max(LEAST_ROUGH).ln() } else { 0.0 };
        let smooth = (1.0f32 / 8.3).powf(1.75) * (physics.viscosity / y).powf(0.25);
        Self { viscous: physics.viscosity / y, smooth, rough: rough * rough, velocity }
    }
}

/// Velocity faces in a row with the same wall beside them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
struct Run {
    at: u32,
    len: u16,
    /// Step to the face one cell farther from the wall.
    inward: i32,
    /// Axis along the wall other than the face's own.
    along: u8,
    surface: u8,
    /// Share of the face's box that the wall covers: ½ or 1.
    cover: f32,
}

impl Run {
    /// The run with one face more, if that one goes on from it.
    fn with(self, next: Self) -> Option<Self> {
        let goes_on = next.at == self.at + u32::from(self.len) && self.len < u16::MAX;
        (goes_on && Self { at: self.at, len: self.len, ..next } == self).then_some(Self { len: self.len + 1, ..self })
    }
}

/// All friction of a run.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Walls {
    surfaces: Vec<Surface>,
    /// Per axis.
    runs: [ByPlane<Run>; 3],
}

/// Surface of solids inside the box; the six sides follow.
const ROCK: u8 = 0;

impl Walls {
    pub fn new(lattice: &Lattice, h: f32, physics: &Physics, solids: &Solids, water: &dyn Fn([isize; 3]) -> bool) -> Self {
        let mut surfaces = vec![Surface::new(physics, h, physics.rock_roughness, [0.0; 3])];
        for side in physics.sides {
            surfaces.push(match side {
                Side::Wall { roughness } => Surface::new(physics, h, roughness, [0.0; 3]),
                Side::Sliding { velocity } => Surface::new(physics, h, 0.0, velocity),
                _ => Surface { viscous: 0.0, smooth: 0.0, rough: 0.0, velocity: [0.0; 3] },
            });
        }
        let mut walls = Self { surfaces, runs: Default::default() };
        for axis in 0..3 {
            for k in 0..lattice.n[2] {
                walls.runs[axis].begin();
                for place in [(0, false), (0, true), (1, false), (1, true), (2, false), (2, true)].into_iter().filter(|(d, _)| *d != axis) {
                    walls.add_plane((lattice, physics, solids), axis, k, place, water);
                }
            }
        }
        walls
    }

    /// The faces of one plane that have a wall on the given side, put together to runs.
    fn add_plane(
        &mut self,
        (lattice, physics, solids): (&Lattice, &Physics, &Solids),
        axis: usize,
        k: usize,
        place: (usize, bool),
        water: &dyn Fn([isize; 3]) -> bool,
    ) {
        for cell in (0..lattice.n[1]).flat_map(|j| (0..lattice.n[0]).map(move |i| [i, j, k])) {
            let Some(face) = self.face((lattice, physics), axis, cell, place, water).filter(|_| solids.is_open(axis, lattice.cell(cell)))
            else {
                continue;
            };
            match self.runs[axis].last_mut().and_then(|run| Some((run.with(face)?, run))) {
                Some((longer, run)) => *run = longer,
                None => self.runs[axis].push(face),
            }
        }
    }

    /// A velocity face as a run of one, if there is a wall across `across` on its lower or upper side.
    fn face(
        &self,
        (lattice, physics): (&Lattice, &Physics),
        axis: usize,
        cell: [usize; 3],
        (across, up): (usize, bool),
        water: &dyn Fn([isize; 3]) -> bool,
    ) -> Option<Run> {
        let mut high = cell.map(|c| c as isize);
        high[across] += if up { 1 } else { -1 };
        let outside = high[across] < 0 || high[across] >= lattice.n[across] as isize;
        let (surface, cover) = if outside && !periodic(physics, across) {
            let side = 2 * across + usize::from(up);
            (side as u8 + 1, if self.surfaces[side + 1].viscous > 0.0 { 1.0 } else { 0.0 })
        } else {
            let mut low = high;
            low[axis] -= 1;
            let share = |cell| if water(cell) { 0.0 } else { 0.5 };
            (ROCK, share(high) + share(low))
        };
        let inward = if up { -1 } else { 1 } * lattice.stride[across] as i32;
        let along = (3 - axis - across) as u8;
        (cover > 0.0).then_some(Run { at: lattice.cell(cell) as u32, len: 1, inward, along, surface, cover })
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
