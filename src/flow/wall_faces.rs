//! The velocity faces that walls and solids rub on, put together to runs once, before the first step.

use super::{
    by_plane::ByPlane,
    friction::Surface,
    grid::Lattice,
    physics::{Physics, Side},
    solids::{Solids, periodic},
};
use serde::{Deserialize, Serialize};

/// Velocity faces in a row with the same wall beside them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(super) struct Run {
    pub at: u32,
    pub len: u16,
    /// Step to the face one cell farther from the wall.
    pub inward: i32,
    /// Axis along the wall other than the face's own.
    pub along: u8,
    pub surface: u8,
    /// Share of the face's box that the wall covers: ½ or 1.
    pub cover: f32,
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
    pub surfaces: Vec<Surface>,
    /// Per axis.
    pub runs: [ByPlane<Run>; 3],
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
                _ => Surface::slip(),
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
            (side as u8 + 1, if self.surfaces[side + 1].rubs() { 1.0 } else { 0.0 })
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
