//! Working arrays of a step, and the parts of a step that use them.

use super::{
    Flow,
    advect::Transport,
    carry::Carrier,
    clock::{Clock, Operator},
    eddy::Eddies,
    field::{Faces, planes_per_slab},
    mixing,
    poisson::Multigrid,
    predict::Prediction,
    project,
    sources::Applied,
    surfaces,
    survey::Sums,
    sweep::{Bench, Sweep, Swept},
    tags::Tags,
    timestep,
};

/// Speeds are held under this many times the fastest that any port has asked for.
const SPEED_LIMIT: f32 = 1.5;

/// Working arrays of [`super::step`]; may be thrown away at any time.
#[derive(Debug)]
pub struct Scratch {
    pub(super) applied: Applied,
    velocity: Faces,
    length_squared: Vec<f32>,
    /// Largest mixing length that the distance from a surface leaves to a jet, m.
    longest: Vec<f32>,
    tags: Tags,
    pub(super) source: Vec<f32>,
    pub(super) planes: Vec<Sums>,
    pub(super) multigrid: Multigrid,
    pub(super) benches: Vec<Bench>,
    pub(super) clock: Clock,
}

impl Scratch {
    /// For this flow, or one with the same solids.
    pub fn new(flow: &Flow) -> Self {
        let lattice = &flow.lattice;
        let zero = || vec![0.0; lattice.len];
        let (mut length_squared, mut longest) = (vec![-1.0; lattice.len], zero());
        let distance = surfaces::distances(&flow.grid, &flow.physics, &flow.solids);
        let far = mixing::far(&flow.grid, &flow.physics);
        for cell in lattice.cells() {
            longest[lattice.cell(cell)] = mixing::KARMAN * flow.grid.h * distance[flow.grid.index(cell)];
            if flow.solids.water[flow.grid.index(cell)] > 0.0 {
                length_squared[lattice.cell(cell)] = mixing::length(&flow.grid, &flow.physics, &flow.ports.jets, (cell, far)).powi(2);
            }
        }
        Self {
            applied: Applied::default(),
            velocity: std::array::from_fn(|_| zero()),
            length_squared,
            longest,
            tags: Tags::new(lattice),
            source: zero(),
            planes: vec![Sums::default(); lattice.n[2]],
            multigrid: project::multigrid(lattice, &flow.physics, &flow.solids),
            benches: Vec::new(),
            clock: Clock::new(),
        }
    }

    /// Seconds spent in a part of the steps so far, added up over the threads.
    pub fn seconds(&self, operator: Operator) -> f64 {
        self.clock.seconds(operator) + self.benches.iter().map(|bench| bench.clock.seconds(operator)).sum::<f64>()
    }

    /// A bench for every slab; makes them at the first step.
    pub(super) fn furnish(&mut self, flow: &Flow) {
        let slabs = flow.lattice.n[2].div_ceil(planes_per_slab(flow.lattice.n[2]));
        while self.benches.len() < slabs {
            self.benches.push(Bench::new(&flow.lattice));
        }
        self.clock.start();
    }
}

impl Flow {
    /// Velocity at the end of the step but for the pressure, jet marks, and rates for the next step. True when speeds were held at the limit.
    pub(super) fn sweep(&mut self, scratch: &mut Scratch, dt: f32) -> bool {
        let (limit, weights) = (self.speed_limit(), timestep::weights(&self.history, dt));
        let Self { grid, lattice, physics, velocity, tags, walls, corners, solids, pressure, rate, .. } = self;
        let (lattice, h, velocity, tags) = (*lattice, grid.h, &*velocity, &*tags);
        let marked = physics.jet_closure != super::JetClosure::None && tags.any();
        let (length_squared, longest) = (&scratch.length_squared, &scratch.longest);
        let sweep = Sweep {
            eddies: Eddies { lattice, h, dt, physics, velocity, length_squared, tags, longest, marked },
            transport: Transport { lattice, inverse_h: 1.0 / h, velocity },
            walls,
            corners,
            prediction: Prediction {
                lattice,
                dt,
                inverse_h: 1.0 / h,
                weights,
                body_force: physics.body_force,
                limit,
                open: &solids.open,
                pressure,
                velocity,
            },
            carrier: Carrier { lattice, h, dt, velocity },
            marked,
        };
        let swept = Swept { velocity: &mut scratch.velocity, rate, tags: &mut scratch.tags };
        let held = sweep.run(&mut scratch.benches, swept);
        self.push(scratch, dt);
        held
    }

    /// What ports do: their push on the rates and the new velocity, and the marks of their water.
    fn push(&mut self, scratch: &mut Scratch, dt: f32) {
        scratch.clock.start();
        let volume = self.grid.h.powi(3);
        let weight = dt * timestep::weights(&self.history, dt).0;
        self.sources.push(&scratch.applied, &self.ports, volume, &self.velocity, (&mut self.rate, &mut scratch.velocity), weight);
        std::mem::swap(&mut self.velocity, &mut scratch.velocity);
        if self.physics.jet_closure != super::JetClosure::None {
            if self.tags.any() {
                std::mem::swap(&mut self.tags, &mut scratch.tags);
            }
            self.sources.mark(&scratch.applied, &self.ports, &self.lattice, (volume, dt), &mut self.tags);
        }
        scratch.clock.lap(Operator::Ports);
    }

    /// Nothing but ports drives the water: then no water is much faster than they are.
    fn speed_limit(&self) -> f32 {
        let driven = self.physics.body_force.iter().any(|f| *f != 0.0)
            || self.physics.sides.iter().any(|side| matches!(side, super::Side::Sliding { .. }));
        if driven || self.history.fastest_port == 0.0 { f32::MAX } else { SPEED_LIMIT * self.history.fastest_port.max(self.physics.noise) }
    }
}
