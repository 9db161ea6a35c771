//! Unsteady incompressible flow in a box of cells, with solids in it, walls round it, and jets and sinks that come and go.
//!
//! ```text
//!   ∂u/∂t + ∇·(u u) = −∇p + ∇·(2 (ν + νₜ) S) + f        ∇·u = q
//!
//!   S = (∇u + ∇uᵀ)/2   strain rate        νₜ   eddy viscosity: sub-grid model or jet model, the greater
//!   p   pressure/density                  f    push of the jets, momentum that leaves through sinks, friction of walls
//!   q   water that ports bring or take, over the volume of the cells that they are spread over
//! ```
//!
//! Each component of u lives at the faces that it crosses; all else lives at the centre of the cell:
//!
//! ```text
//!            ┌───── v(i,j+1) ─────┐          A face has the index of the cell on its high side.
//!            │                    │          Arrays are padded: two cells below, three above.
//!         u(i,j)    p(i,j)    u(i+1,j)
//!            │  νₜ, q, marks      │
//!            └────── v(i,j) ──────┘
//! ```
//!
//! Order of a step: balance the ports · choose dt · in one sweep through the planes ([`sweep`]): eddy viscosity, rates of change (convection,
//! stresses, friction, corners of slopes), Adams-Bashforth, jet marks · jets and sinks · pressure by multigrid · take its gradient off, look at the
//! result, fill in the values outside the box.
//!
//! Not modelled: waves and a moving surface; heat and salt; solids finer than a cell (a cell is water or solid);
//! the resolved part of a jet nearer than about 15 cells to its nozzle is too wide and too slow: [`NearField`] says what the water does there.
//!
//! Results have the same bits for any number of threads; the caller chooses the thread pool.

#[doc = include_str!("METHOD.md")]
pub mod method {}

mod advect;
mod axis;
mod by_plane;
mod carry;
mod cell_means;
mod clock;
mod corners;
mod drag;
mod eddy;
mod ends;
mod field;
mod friction;
mod grid;
mod ground;
mod gust;
mod jets;
mod kernel;
mod limiter;
mod mixing;
mod narrow;
mod near_field;
mod overlay;
mod passage;
mod physics;
mod poisson;
mod ports;
mod predict;
mod pressure;
mod project;
mod recorder;
mod report;
mod round_jet;
mod scratch;
mod sinks;
mod solids;
mod sources;
mod start;
mod surfaces;
mod survey;
mod sweep;
mod tags;
mod timestep;
mod touch;
mod tracers;
mod wall_faces;
mod walls;

pub use clock::Operator;
pub use drag::Resistance;
pub use grid::Grid;
pub use ground::Ground;
pub use gust::Gust;
pub use near_field::NearField;
pub use physics::{JetClosure, Physics, Side};
pub use ports::{Jet, JetRate, Ports, Rates, Sink};
pub use recorder::{Recorder, Stream};
pub use report::{Note, StepReport};
pub use scratch::Scratch;

use corners::Corners;
use drag::Drag;
use field::Faces;
use grid::Lattice;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use solids::Solids;
use sources::Sources;
use tags::Tags;
use timestep::History;
use wall_faces::Walls;

/// The state of a run: clone it to branch, serialise it to resume.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Flow {
    // What is fixed.
    grid: Grid,
    ports: Ports,
    physics: Physics,
    lattice: Lattice,
    solids: Solids,
    walls: Walls,
    corners: Corners,
    drag: Drag,
    sources: Sources,
    // What moves.
    time: f64,
    velocity: Faces,
    rate: Faces,
    pressure: Vec<f32>,
    tags: Tags,
    history: History,
    notes: Vec<Note>,
}

/// One step forward, no longer than `dt_max` seconds.
pub fn step(flow: &mut Flow, scratch: &mut Scratch, rates: &Rates, dt_max: f32) -> StepReport {
    let h = flow.grid.h;
    flow.sources.balance(rates, &flow.solids, &mut scratch.applied, &mut flow.notes);
    let demands = flow.sources.demands(&scratch.applied, &flow.ports, h);
    flow.history.fastest_port = flow.history.fastest_port.max(demands.speed);
    let dt = timestep::step_length(&flow.history, &flow.physics, &demands, h, dt_max);

    scratch.furnish(flow);
    let held = flow.sweep(scratch, dt);
    flow.drag.hold_back(&flow.lattice, &mut flow.velocity, dt);
    let report = flow.project(scratch, dt, held);

    flow.history.dt = dt;
    flow.time += f64::from(dt);
    report
}

impl Flow {
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
        let [nx, ny, nz] = self.lattice.n;
        let rows = out.par_chunks_mut(nx).with_min_len(ny).enumerate().take(ny * nz);
        rows.for_each(|(row, out)| {
            let at = self.lattice.row(row % ny, row / ny);
            for (i, slot) in out.iter_mut().enumerate() {
                let mean = |d: usize| 0.5 * (self.velocity[d][at + i] + self.velocity[d][at + i + self.lattice.stride[d]]);
                *slot = [mean(0), mean(1), mean(2)];
            }
        });
    }

    /// Pressure over density at every cell centre, m²/s², x fastest; of the last step.
    pub fn pressure_at_cells(&self, out: &mut [f32]) {
        let [nx, ny, nz] = self.lattice.n;
        for (row, out) in out.chunks_mut(nx).enumerate().take(ny * nz) {
            let at = self.lattice.row(row % ny, row / ny);
            out.copy_from_slice(&self.pressure[at..at + out.len()]);
        }
    }

    /// Share of every cell that is water, 0 to 1, x fastest.
    pub fn water_fraction(&self) -> &[f32] {
        &self.solids.water
    }

    /// What a reader of the results must know.
    pub fn notes(&self) -> &[Note] {
        &self.notes
    }
}
