//! What sides and solids do to the water beside them: values outside the box, and friction.
//!
//! Friction on a face beside a solid is the greatest of three, with u the speed along the wall half a cell away (y = h/2):
//! - viscous, ν u / y: exact where the grid resolves the wall layer;
//! - smooth turbulent, (u/8.3)^(7/4) (ν/y)^(1/4): power law of Werner and Wengle 1991, within 3 % of u⁺ = ln(y⁺)/0.41 + 5.2 for y⁺ 12 to 1000;
//! - fully rough, (κ u / ln(30 y/k_s))²: log law of Nikuradse 1933.

use super::{
    advect::{Plane, Transport},
    field::{Faces, copy_layer, max, row, row_mut},
    grid::{LOW, Lattice},
    physics::{Physics, Side},
    solids::{Solids, periodic},
};
use multiversion::multiversion;
use serde::{Deserialize, Serialize};

const KARMAN: f32 = 0.41;
/// Distance from a rough wall below which the log law isn't used, in units of k_s: 30 y/k_s ≥ 10.
const LEAST_ROUGH: f32 = 10.0;

/// One kind of wall, ready to use: friction over speed.
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

    /// Friction on the component `u` of a velocity of this speed, m²/s²; `next` is u one cell farther from the wall.
    #[inline(always)]
    fn drag(&self, speed: f32, u: f32, next: f32) -> f32 {
        let root = speed.sqrt();
        let turbulent = max(self.smooth * root * root.sqrt(), self.rough * speed);
        // Slope at the wall of the parabola through 0, u and next, times ν.
        if turbulent > self.viscous { turbulent * u } else { self.viscous * (1.5 * u - next * (1.0 / 6.0)) }
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
    /// Per axis, plane after plane.
    runs: [Vec<Run>; 3],
    /// Per axis, where each plane starts in `runs`.
    plane: [Vec<usize>; 3],
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
        let mut walls = Self { surfaces, runs: Default::default(), plane: Default::default() };
        for axis in 0..3 {
            for k in 0..lattice.n[2] {
                walls.plane[axis].push(walls.runs[axis].len());
                for place in [(0, false), (0, true), (1, false), (1, true), (2, false), (2, true)].into_iter().filter(|(d, _)| *d != axis) {
                    walls.add_plane((lattice, physics, solids), axis, k, place, water);
                }
            }
            walls.plane[axis].push(walls.runs[axis].len());
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
            let begun = self.plane[axis].last().copied().unwrap_or_default();
            match self.runs[axis][begun..].last_mut().and_then(|run| Some((run.with(face)?, run))) {
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

    #[inline(always)]
    fn drag_run(&self, transport: &Transport, axis: usize, run: &Run, rate: &mut [f32]) {
        let stride = transport.lattice.stride;
        let (at, n, along) = (run.at as usize, usize::from(run.len), usize::from(run.along));
        let surface = &self.surfaces[usize::from(run.surface)];
        let (own, across) = (&transport.velocity[axis], &transport.velocity[along]);
        let (near, far) = (at - stride[axis], stride[along]);
        let (u, next) = (row(own, at, n), row(own, at.wrapping_add_signed(run.inward as isize), n));
        let v = [row(across, at, n), row(across, at + far, n), row(across, near, n), row(across, near + far, n)];
        let rate = row_mut(rate, at % stride[2], n);
        let weight = run.cover * transport.inverse_h;
        for i in 0..n {
            let (u, next) = (u[i] - surface.velocity[axis], next[i] - surface.velocity[axis]);
            let v = 0.25 * ((v[0][i] + v[1][i]) + (v[2][i] + v[3][i])) - surface.velocity[along];
            let speed = (u * u + v * v).sqrt();
            rate[i] -= weight * surface.drag(speed, u, next);
        }
    }
}

/// Takes the friction off the rates of plane k.
#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
pub(super) fn drag(walls: &Walls, transport: &Transport, k: usize, rate: &mut Plane) {
    for axis in 0..3 {
        for run in &walls.runs[axis][walls.plane[axis][k]..walls.plane[axis][k + 1]] {
            walls.drag_run(transport, axis, run, &mut rate[axis]);
        }
    }
}

/// Velocities outside the box, two layers deep: mirrored, joined or carried on, as each side asks.
pub(super) fn fill_outside(velocity: &mut Faces, lattice: &Lattice, physics: &Physics) {
    let size = lattice.stride[2];
    for plane in 0..lattice.len / size {
        let mut planes = velocity.each_mut().map(|array| &mut array[plane * size..][..size]);
        fill_beside(&mut planes, lattice, physics);
    }
    fill_above_and_below(velocity, lattice, physics);
}

/// The same beside one plane: values at both ends of its rows, and whole rows at its ends.
pub(super) fn fill_beside(planes: &mut [&mut [f32]; 3], lattice: &Lattice, physics: &Physics) {
    let pitch = lattice.stride[1];
    for (component, plane) in planes.iter_mut().enumerate() {
        for (from, to, (scale, shift)) in copies(lattice, physics, 0, component) {
            for row in plane.chunks_exact_mut(pitch) {
                row[to] = scale * row[from] + shift;
            }
        }
        for (from, to, (scale, shift)) in copies(lattice, physics, 1, component) {
            for i in 0..pitch {
                plane[to * pitch + i] = scale * plane[from * pitch + i] + shift;
            }
        }
    }
}

/// The same for whole planes.
pub(super) fn fill_above_and_below(velocity: &mut Faces, lattice: &Lattice, physics: &Physics) {
    for (component, array) in velocity.iter_mut().enumerate() {
        for (from, to, rule) in copies(lattice, physics, 2, component) {
            copy_layer(array, lattice, 2, (from as isize - LOW as isize, to as isize - LOW as isize), rule);
        }
    }
}

/// Layers to copy across both ends of an axis: from, to (padding counted), scale and shift.
fn copies(lattice: &Lattice, physics: &Physics, axis: usize, component: usize) -> impl Iterator<Item = (usize, usize, (f32, f32))> {
    let n = lattice.n[axis] as isize;
    let joined = periodic(physics, axis);
    let sides = physics.sides;
    [false, true].into_iter().flat_map(move |high| {
        let side = sides[2 * axis + usize::from(high)];
        let rule = mirror(side, joined, component == axis, component);
        let padded = |layer: isize| (layer + LOW as isize) as usize;
        layers(side, joined, component == axis, high, n).map(|(from, to)| (padded(from), padded(to), rule))
    })
}

/// Which layers (from, to) to copy across one end of an axis of `n` cells. The velocity across a face layer has a face at n.
fn layers(side: Side, joined: bool, normal: bool, high: bool, n: isize) -> [(isize, isize); 2] {
    match (joined, side, normal, high) {
        (true, _, _, true) => [(0, n), (1, n + 1)],
        (true, _, _, false) => [(n - 1, -1), (n - 2, -2)],
        (false, Side::Open, true, true) => [(n, n + 1), (n, n + 2)],
        (false, Side::Open, false, true) => [(n - 1, n), (n - 1, n + 1)],
        (false, Side::Open, _, false) => [(0, -1), (0, -2)],
        (false, _, true, true) => [(n - 1, n + 1), (n - 2, n + 2)],
        (false, _, true, false) => [(1, -1), (2, -2)],
        (false, _, false, true) => [(n - 1, n), (n - 2, n + 1)],
        (false, _, false, false) => [(0, -1), (1, -2)],
    }
}

/// Scale and shift of a copied layer: a wall brings the mean of both sides to its own velocity.
fn mirror(side: Side, joined: bool, normal: bool, component: usize) -> (f32, f32) {
    match side {
        _ if joined => (1.0, 0.0),
        Side::Open => (1.0, 0.0),
        _ if normal => (-1.0, 0.0),
        Side::Slip => (1.0, 0.0),
        Side::Sliding { velocity } => (-1.0, 2.0 * velocity[component]),
        Side::Wall { .. } | Side::Periodic => (-1.0, 0.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wall_mirrors_and_a_slip_side_copies() {
        let lattice = Lattice::new([4, 4, 4]);
        let mut velocity: Faces = std::array::from_fn(|_| vec![1.0; lattice.len]);
        fill_outside(&mut velocity, &lattice, &Physics::tank(1e-6, 0));
        assert_eq!(velocity[0][lattice.at(1, 1, -1)], -1.0);
        assert_eq!(velocity[0][lattice.at(1, 1, 4)], 1.0);
        assert_eq!(velocity[2][lattice.at(1, 1, 5)], -1.0);
    }

    #[test]
    fn friction_is_viscous_when_slow_and_turbulent_when_fast() {
        let surface = Surface::new(&Physics::tank(1e-6, 0), 0.02, 0.0, [0.0; 3]);
        assert!((surface.drag(1e-4, 1e-4, 3e-4) - 1e-8).abs() < 1e-14);
        // Log law at y = 10 mm, u = 0.2 m/s, 1e-6 m2/s: u* = 0.0120 m/s (solved by hand from u+ = ln(y+)/0.41 + 5.2).
        let friction_speed = surface.drag(0.2, 0.2, 0.2).sqrt();
        assert!((friction_speed / 0.0120 - 1.0).abs() < 0.05, "{friction_speed}");
    }
}
