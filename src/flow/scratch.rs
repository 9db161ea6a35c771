//! Working arrays of a step, and the parts of a step that use them.

use super::{
    Flow, StepReport,
    advect::Transport,
    eddy::Eddies,
    field::Faces,
    mixing,
    poisson::Multigrid,
    predict::Prediction,
    project,
    project::{Ending, Projection, Sums},
    sources::Applied,
    tags::{Carrier, Tags},
    timestep,
};

/// Divergence above this part of the largest Σ|u|/h calls for one more pressure cycle at once.
const TOLERATED_DIVERGENCE: f32 = 2e-4;
/// Divergence that the choice of cycles for the next step aims at, in the same unit.
const WANTED_DIVERGENCE: f32 = 2e-5;
/// Most pressure cycles in a step.
const MOST_CYCLES: u32 = 12;
/// Speeds are held under this many times the fastest that any port has asked for.
const SPEED_LIMIT: f32 = 1.5;

/// Working arrays of [`super::step`]; may be thrown away at any time.
#[derive(Debug)]
pub struct Scratch {
    pub(super) rate: Faces,
    pub(super) applied: Applied,
    viscosity: Vec<f32>,
    spin: Vec<f32>,
    length_squared: Vec<f32>,
    tags: Tags,
    pub(super) source: Vec<f32>,
    pub(super) correction: Vec<f32>,
    pub(super) rows: Vec<f32>,
    planes: Vec<Sums>,
    pub(super) multigrid: Multigrid,
}

impl Scratch {
    /// For this flow, or one with the same solids.
    pub fn new(flow: &Flow) -> Self {
        let lattice = &flow.lattice;
        let zero = || vec![0.0; lattice.len];
        let mut length_squared = vec![-1.0; lattice.len];
        for cell in lattice.cells() {
            if flow.solids.water[flow.grid.index(cell)] > 0.0 {
                length_squared[lattice.cell(cell)] = mixing::length(&flow.grid, &flow.physics, &flow.ports.jets, cell).powi(2);
            }
        }
        Self {
            rate: std::array::from_fn(|_| zero()),
            applied: Applied::default(),
            viscosity: vec![super::eddy::NO_WATER; lattice.len],
            spin: zero(),
            length_squared,
            tags: Tags::new(lattice),
            source: zero(),
            correction: zero(),
            rows: vec![0.0; 2 * lattice.pitch() * lattice.n[2]],
            planes: vec![Sums::default(); lattice.n[2]],
            multigrid: project::multigrid(lattice, &flow.physics, &flow.solids),
        }
    }
}

impl Flow {
    pub(super) fn find_viscosity(&self, scratch: &mut Scratch, dt: f32) {
        let eddies = Eddies {
            lattice: self.lattice,
            h: self.grid.h,
            dt,
            physics: &self.physics,
            velocity: &self.velocity,
            length_squared: &scratch.length_squared,
            tags: &self.tags,
        };
        eddies.viscosity(&mut scratch.viscosity, &mut scratch.spin);
    }

    pub(super) fn find_rates(&self, scratch: &mut Scratch) {
        let transport = Transport {
            lattice: self.lattice,
            inverse_h: 1.0 / self.grid.h,
            velocity: &self.velocity,
            viscosity: &scratch.viscosity,
            walls: &self.walls,
        };
        transport.rates(&mut scratch.rate, &mut scratch.rows);
        self.sources.push(&scratch.applied, &self.ports, self.grid.h.powi(3), &self.velocity, &mut scratch.rate);
    }

    pub(super) fn carry_tags(&mut self, scratch: &mut Scratch, dt: f32) {
        if self.physics.jet_closure == super::JetClosure::None {
            return;
        }
        if self.tags.any() {
            let carrier = Carrier { lattice: self.lattice, h: self.grid.h, dt, velocity: &self.velocity, viscosity: &scratch.viscosity };
            self.tags.advance(&carrier, &mut scratch.tags);
        }
        self.sources.mark(&scratch.applied, &self.ports, &self.lattice, (self.grid.h.powi(3), dt), &mut self.tags);
    }

    pub(super) fn predict(&mut self, scratch: &mut Scratch, dt: f32) {
        let prediction = Prediction {
            lattice: self.lattice,
            dt,
            inverse_h: 1.0 / self.grid.h,
            weights: timestep::weights(&self.history, dt),
            body_force: self.physics.body_force,
            limit: self.speed_limit(),
            open_at_face: &self.solids.open_at_face,
            pressure: &self.pressure,
        };
        prediction.advance(&mut self.velocity, &scratch.rate, &self.rate_before);
    }

    /// Nothing but ports drives the water: then no water is much faster than they are.
    fn speed_limit(&self) -> f32 {
        let driven = self.physics.body_force.iter().any(|f| *f != 0.0)
            || self.physics.sides.iter().any(|side| matches!(side, super::Side::Sliding { .. }));
        if driven || self.history.fastest_port == 0.0 { f32::MAX } else { SPEED_LIMIT * self.history.fastest_port.max(self.physics.noise) }
    }

    pub(super) fn project(&mut self, scratch: &mut Scratch, dt: f32) -> StepReport {
        self.sources.fill_divergence(&scratch.applied, self.grid.h.powi(3), &mut scratch.source);
        let projection = Projection {
            lattice: self.lattice,
            h: self.grid.h,
            physics: &self.physics,
            open_at_face: &self.solids.open_at_face,
            source: &scratch.source,
        };
        projection.close_ends(&mut self.velocity, Ending::Predicted);
        let before = projection.survey(&self.velocity, &mut scratch.planes, &mut scratch.rows);
        let (mut cycles, mut now) = (0, before);
        let first_cycles = self.history.cycles.max(1);
        let mut wanted = first_cycles;
        while cycles < MOST_CYCLES {
            projection.right_side(&self.velocity, &mut scratch.multigrid, &mut scratch.rows);
            scratch.multigrid.solve_once();
            for _ in 1..wanted {
                scratch.multigrid.again();
            }
            projection.take_pressure(&scratch.multigrid, &mut self.pressure, &mut scratch.correction, self.grid.h / dt);
            projection.correct(&mut self.velocity, &scratch.correction);
            now = projection.survey(&self.velocity, &mut scratch.planes, &mut scratch.rows);
            cycles += wanted;
            if self.divergence(&now) <= TOLERATED_DIVERGENCE * now.courant_speed / self.grid.h {
                break;
            }
            wanted = 2;
        }
        self.history.courant_speed = now.courant_speed;
        self.history.cycles = self.next_cycles(cycles, &now);
        self.report((dt, first_cycles, cycles), &before, &now, &scratch.applied)
    }

    fn divergence(&self, sums: &Sums) -> f32 {
        let cells: usize = self.solids.region_cells.iter().sum();
        (sums.square / cells.max(1) as f64).sqrt() as f32
    }

    /// One cycle more when the divergence is above what is wanted, one fewer when far below.
    fn next_cycles(&self, cycles: u32, now: &Sums) -> u32 {
        let wanted = WANTED_DIVERGENCE * now.courant_speed / self.grid.h;
        let divergence = self.divergence(now);
        let next = if divergence > wanted {
            cycles + 1
        } else if divergence < 0.2 * wanted {
            cycles.saturating_sub(1)
        } else {
            cycles
        };
        next.clamp(1, 4)
    }

    fn report(
        &self,
        (dt, first_cycles, cycles): (f32, u32, u32),
        before: &Sums,
        now: &Sums,
        applied: &super::sources::Applied,
    ) -> StepReport {
        let moved: f64 = applied.jets.iter().map(|jet| f64::from(jet.flow)).chain(applied.sinks.iter().map(|flow| f64::from(*flow))).sum();
        // In a closed box every face flux leaves one cell and enters another, so what the cells gain is what the ports bring, exactly;
        // adding up all cells would only show the rounding of the sum.
        let open = self.solids.region_is_open.contains(&true);
        let gained = if open { now.sum * f64::from(self.grid.h).powi(3) } else { self.sources.net(applied) };
        StepReport {
            dt,
            courant: now.courant_speed * dt / self.grid.h,
            max_speed: now.speed_squared.sqrt(),
            divergence_rms: self.divergence(now),
            divergence_max: now.most,
            mass_error: if moved > 0.0 { (gained / moved).abs() as f32 } else { 0.0 },
            pressure_cycles: cycles,
            pressure_residual: if before.square > 0.0 { (now.square / before.square).sqrt() as f32 } else { 0.0 },
            repaired: cycles > first_cycles || before.courant_speed >= self.speed_limit(),
        }
    }
}
