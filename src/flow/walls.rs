//! What sides and solids do to the water beside them: values outside the box, and friction.
//!
//! Friction on a face beside a solid is the greatest of three, with u the speed along the wall half a cell away (y = h/2):
//! - viscous, ν u / y: exact where the grid resolves the wall layer;
//! - smooth turbulent, (u/8.3)^(7/4) (ν/y)^(1/4): power law of Werner and Wengle 1991, within 3 % of u⁺ = ln(y⁺)/0.41 + 5.2 for y⁺ 12 to 1000;
//! - fully rough, (κ u / ln(30 y/k_s))²: log law of Nikuradse 1933.

use super::{
    advect::Transport,
    field::{Faces, copy_layer},
    grid::{LOW, Lattice},
    physics::{Physics, Side},
    solids::periodic,
};
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
    fn drag(&self, speed: f32, u: f32, next: f32) -> f32 {
        let root = speed.sqrt();
        let turbulent = (self.smooth * root * root.sqrt()).max(self.rough * speed);
        // Slope at the wall of the parabola through 0, u and next, times ν.
        if turbulent > self.viscous { turbulent * u } else { self.viscous * (1.5 * u - next / 6.0) }
    }
}

/// A velocity face with a wall beside it.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
struct WallFace {
    at: u32,
    /// Step to the face one cell farther from the wall.
    inward: i32,
    /// Axis along the wall other than the face's own.
    along: u8,
    surface: u8,
    /// Share of the face's box that the wall covers: ½ or 1.
    cover: f32,
}

/// All friction of a run.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Walls {
    surfaces: Vec<Surface>,
    /// Per axis, sorted by place.
    faces: [Vec<WallFace>; 3],
    /// Per axis, where each plane starts in `faces`.
    plane: [Vec<usize>; 3],
}

/// Surface of solids inside the box; the six sides follow.
const ROCK: u8 = 0;

impl Walls {
    pub fn new(lattice: &Lattice, h: f32, physics: &Physics, open_at_face: &Faces, water: &dyn Fn([isize; 3]) -> bool) -> Self {
        let mut surfaces = vec![Surface::new(physics, h, physics.rock_roughness, [0.0; 3])];
        for side in physics.sides {
            surfaces.push(match side {
                Side::Wall { roughness } => Surface::new(physics, h, roughness, [0.0; 3]),
                Side::Sliding { velocity } => Surface::new(physics, h, 0.0, velocity),
                _ => Surface { viscous: 0.0, smooth: 0.0, rough: 0.0, velocity: [0.0; 3] },
            });
        }
        let mut walls = Self { surfaces, faces: Default::default(), plane: Default::default() };
        for axis in 0..3 {
            for k in 0..lattice.n[2] {
                walls.plane[axis].push(walls.faces[axis].len());
                for cell in (0..lattice.n[1]).flat_map(|j| (0..lattice.n[0]).map(move |i| [i, j, k])) {
                    if open_at_face[axis][lattice.cell(cell)] > 0.0 {
                        walls.add(lattice, physics, axis, cell, water);
                    }
                }
            }
            walls.plane[axis].push(walls.faces[axis].len());
        }
        walls
    }

    fn add(&mut self, lattice: &Lattice, physics: &Physics, axis: usize, cell: [usize; 3], water: &dyn Fn([isize; 3]) -> bool) {
        let n = lattice.n.map(|c| c as isize);
        for across in (0..3).filter(|d| *d != axis) {
            for up in [false, true] {
                let mut high = cell.map(|c| c as isize);
                high[across] += if up { 1 } else { -1 };
                let outside = high[across] < 0 || high[across] >= n[across];
                let (mut surface, mut cover) = (ROCK, 0.0);
                if outside && !periodic(physics, across) {
                    let side = 2 * across + usize::from(up);
                    (surface, cover) = (side as u8 + 1, if self.surfaces[side + 1].viscous > 0.0 { 1.0 } else { 0.0 });
                } else {
                    let mut low = high;
                    low[axis] -= 1;
                    cover += if water(high) { 0.0 } else { 0.5 };
                    cover += if water(low) { 0.0 } else { 0.5 };
                }
                if cover > 0.0 {
                    let along = (3 - axis - across) as u8;
                    let inward = if up { -1 } else { 1 } * lattice.stride[across] as i32;
                    self.faces[axis].push(WallFace { at: lattice.cell(cell) as u32, inward, along, surface, cover });
                }
            }
        }
    }

    /// Takes the friction off the rates of some planes.
    pub fn drag(&self, transport: &Transport, (first, end): (usize, usize), rate: [&mut [f32]; 3]) {
        let stride = transport.lattice.stride;
        let origin = (first + LOW) * stride[2];
        for (axis, rate) in rate.into_iter().enumerate() {
            for face in &self.faces[axis][self.plane[axis][first]..self.plane[axis][end]] {
                let (at, along) = (face.at as usize, usize::from(face.along));
                let surface = &self.surfaces[usize::from(face.surface)];
                let across = &transport.velocity[along];
                let (near, far) = (at - stride[axis], stride[along]);
                let u = transport.velocity[axis][at] - surface.velocity[axis];
                let next = transport.velocity[axis][at.wrapping_add_signed(face.inward as isize)] - surface.velocity[axis];
                let v = 0.25 * ((across[at] + across[at + far]) + (across[near] + across[near + far])) - surface.velocity[along];
                let speed = (u * u + v * v).sqrt();
                rate[at - origin] -= face.cover * transport.inverse_h * surface.drag(speed, u, next);
            }
        }
    }
}

/// Velocities outside the box, two layers deep: mirrored, joined or carried on, as each side asks.
pub(super) fn fill_outside(velocity: &mut Faces, lattice: &Lattice, physics: &Physics) {
    for axis in 0..3 {
        let n = lattice.n[axis] as isize;
        for component in 0..3 {
            for high in [false, true] {
                let side = physics.sides[2 * axis + usize::from(high)];
                let joined = periodic(physics, axis);
                let sources = layers(side, joined, component == axis, high, n);
                for from_to in sources {
                    copy_layer(&mut velocity[component], lattice, axis, from_to, mirror(side, joined, component == axis, component));
                }
            }
        }
    }
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
