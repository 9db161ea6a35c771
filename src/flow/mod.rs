//! Unsteady incompressible flow in a box of cells.

mod grid;
mod physics;
mod ports;
mod report;

pub use grid::Grid;
pub use physics::{JetClosure, Physics, Side};
pub use ports::{Jet, JetRate, Ports, Rates, Sink};
pub use report::{Note, StepReport};

use grid::Lattice;
use serde::{Deserialize, Serialize};

/// The state of a run: clone it to branch, serialise it to resume.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Flow {
    grid: Grid,
    ports: Ports,
    physics: Physics,
    lattice: Lattice,
    time: f64,
    velocity: [Vec<f32>; 3],
    water: Vec<f32>,
    notes: Vec<Note>,
}

/// Working arrays of [`step`]; may be thrown away at any time.
#[derive(Debug)]
pub struct Scratch {}

impl Scratch {
    /// For this flow and no other shape.
    pub fn new(_flow: &Flow) -> Self {
        Self {}
    }
}

impl Flow {
    /// Water at rest but for the initial noise. `signed_distance` is in metres and negative inside solids.
    pub fn new(grid: Grid, signed_distance: &(dyn Fn([f32; 3]) -> f32 + Sync), ports: Ports, physics: Physics) -> Self {
        let lattice = Lattice::new(grid.n);
        let water = lattice.cells().map(|cell| if signed_distance(grid.centre(cell)) < 0.0 { 0.0 } else { 1.0 }).collect();
        let velocity = std::array::from_fn(|_| vec![0.0; lattice.len]);
        Self { grid, ports, physics, lattice, time: 0.0, velocity, water, notes: Vec::new() }
    }

    /// Simulated time, s.
    pub fn time(&self) -> f64 {
        self.time
    }

    /// The box of cells.
    pub fn grid(&self) -> &Grid {
        &self.grid
    }

    /// The jets and sinks.
    pub fn ports(&self) -> &Ports {
        &self.ports
    }

    /// The constants of the run.
    pub fn physics(&self) -> &Physics {
        &self.physics
    }

    /// Velocity at every cell centre, m/s; zero in solids. `out` has one entry a cell, x fastest.
    pub fn velocity_at_cells(&self, out: &mut [[f32; 3]]) {
        for (cell, slot) in self.lattice.cells().zip(out) {
            let at = self.lattice.cell(cell);
            *slot = std::array::from_fn(|d| 0.5 * (self.velocity[d][at] + self.velocity[d][at + self.lattice.stride[d]]));
        }
    }

    /// Share of every cell that is water, 0 to 1, x fastest.
    pub fn water_fraction(&self) -> &[f32] {
        &self.water
    }

    /// Velocity at a place, m/s; `None` outside the box or inside a solid.
    pub fn sample(&self, place: [f32; 3]) -> Option<[f32; 3]> {
        let cell: [isize; 3] = place.map(|p| (p / self.grid.h).floor() as isize);
        if (0..3).any(|d| cell[d] < 0 || cell[d] >= self.grid.n[d] as isize) {
            return None;
        }
        let cell = cell.map(|c| c as usize);
        let at = self.lattice.cell(cell);
        let velocity = std::array::from_fn(|d| 0.5 * (self.velocity[d][at] + self.velocity[d][at + self.lattice.stride[d]]));
        (self.water[self.grid.index(cell)] > 0.0).then_some(velocity)
    }

    /// What a reader of the results must know.
    pub fn notes(&self) -> &[Note] {
        &self.notes
    }
}

/// One step forward, no longer than `dt_max` seconds.
pub fn step(flow: &mut Flow, _scratch: &mut Scratch, _rates: &Rates, dt_max: f32) -> StepReport {
    flow.time += f64::from(dt_max);
    StepReport { dt: dt_max, ..StepReport::default() }
}
