//! The pressure of a step: as many cycles as its divergence asks for, watched, and another way when they make it worse.

use super::{Flow, Scratch, StepReport, clock::Operator, ends, field::Faces, project::Projection, sources::Applied, survey::Sums};

/// Divergence above this part of the largest Σ|u|/h calls for one more pressure cycle at once.
const TOLERATED_DIVERGENCE: f32 = 2e-4;
/// Divergence that the choice of cycles for the next step aims at, in the same unit.
const WANTED_DIVERGENCE: f32 = 2e-5;
/// Most pressure cycles in a step.
const MOST_CYCLES: u32 = 12;

impl Flow {
    pub(super) fn project(&mut self, scratch: &mut Scratch, dt: f32, held: bool) -> StepReport {
        self.sources.fill_divergence(&scratch.applied, self.grid.h.powi(3), &mut scratch.source);
        ends::predict(&mut self.velocity, &self.solids.open, &self.lattice, &self.physics);
        let Scratch { source, planes, multigrid, benches, clock, .. } = scratch;
        let projection =
            Projection { lattice: self.lattice, h: self.grid.h, physics: &self.physics, open: &self.solids.open, source: &*source };
        let (mut cycles, mut before, mut now, mut diverges) = (0, None, Sums::default(), false);
        let wanted = self.history.cycles.max(1);
        let per_unknown = self.grid.h / dt;
        while cycles < MOST_CYCLES {
            let found = projection.right_side(&self.velocity, &mut multigrid.finest, benches, planes);
            before.get_or_insert(found);
            clock.start();
            multigrid.solve(diverges);
            clock.lap(Operator::Pressure);
            now = projection.finish(&mut self.velocity, (&mut self.pressure, per_unknown), &multigrid.finest, benches, planes);
            cycles += 1;
            if self.has_grown(&found, &now) && !diverges {
                diverges = true;
                multigrid.finest.negate();
                now = projection.finish(&mut self.velocity, (&mut self.pressure, per_unknown), &multigrid.finest, benches, planes);
            }
            if cycles >= wanted && self.divergence(&now) <= TOLERATED_DIVERGENCE * now.courant_speed / self.grid.h {
                break;
            }
        }
        self.history.courant_speed = now.courant_speed;
        self.history.cycles = self.next_cycles(cycles, &now);
        self.report((dt, cycles, cycles > wanted || held || diverges), &before.unwrap_or_default(), &now, &scratch.applied)
    }

    /// Makes a velocity's divergence that of the ports, by so many cycles.
    pub(super) fn close(&self, velocity: &mut Faces, applied: &Applied, scratch: &mut Scratch, cycles: usize) {
        self.sources.fill_divergence(applied, self.grid.h.powi(3), &mut scratch.source);
        scratch.furnish(self);
        let mut unused = vec![0.0; self.lattice.len];
        ends::predict(velocity, &self.solids.open, &self.lattice, &self.physics);
        let Scratch { source, planes, multigrid, benches, .. } = scratch;
        let projection =
            Projection { lattice: self.lattice, h: self.grid.h, physics: &self.physics, open: &self.solids.open, source: &*source };
        for _ in 0..cycles {
            projection.right_side(velocity, &mut multigrid.finest, benches, planes);
            multigrid.cycle();
            projection.finish(velocity, (&mut unused, 0.0), &multigrid.finest, benches, planes);
        }
    }

    /// Has a pressure cycle made the divergence larger? (Below what is wanted, rounding may.)
    fn has_grown(&self, before: &Sums, now: &Sums) -> bool {
        now.square > before.square && self.divergence(now) > WANTED_DIVERGENCE * now.courant_speed / self.grid.h
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

    fn report(&self, (dt, cycles, repaired): (f32, u32, bool), before: &Sums, now: &Sums, applied: &Applied) -> StepReport {
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
            repaired,
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::flow::{Flow, Grid, Jet, JetRate, Physics, Ports, Rates, Scratch, Sink, StepReport, step};

    /// Worst divergence (times h over the mouth's speed) and the number of repaired steps of a box with a solid, a jet and a sink.
    fn run(spoilt: f32) -> (f32, usize) {
        let grid = Grid { n: [32, 16, 16], h: 0.03 };
        let jet = Jet { at: [0.0, 0.24, 0.3], direction: [1.0, 0.1, 0.0], bore: 0.03 };
        let sink = Sink { at: [0.96, 0.24, 0.1], normal: [-1.0, 0.0, 0.0], size: [0.09, 0.09] };
        let ports = Ports { jets: vec![jet], sinks: vec![sink] };
        let mut flow = Flow::new(grid, &|p| (p[0] - 0.5).abs().max((p[2] - 0.1).abs()) - 0.1, ports, Physics::tank(1e-6, 1));
        let mut scratch = Scratch::new(&flow);
        scratch.multigrid.spoil(spoilt);
        let rates = Rates { jets: vec![JetRate { flow: 7e-4, momentum: 7e-4 }], sinks: vec![7e-4] };
        let steps: Vec<StepReport> = (0..200).map(|_| step(&mut flow, &mut scratch, &rates, 0.1)).collect();
        assert!(steps.iter().all(|report| report.max_speed.is_finite() && report.pressure_cycles <= super::MOST_CYCLES));
        let settled = steps.iter().skip(50).map(|report| report.divergence_rms * grid.h).fold(0.0, f32::max);
        (settled, steps.iter().filter(|report| report.repaired).count())
    }

    /// A coarse grid that answers three times too strongly makes every cycle diverge; the step sees it, takes it back, and goes another way.
    #[test]
    fn a_diverging_pressure_is_caught_and_repaired() {
        let (sound, _) = run(1.0);
        let (spoilt, repaired) = run(3.0);
        println!("divergence rms h/U0: sound {sound:.1e}, spoilt {spoilt:.1e}, repaired in {repaired} of 200 steps");
        assert!(repaired > 100, "{repaired}");
        assert!(spoilt < super::TOLERATED_DIVERGENCE, "{spoilt}");
        assert!(sound < super::TOLERATED_DIVERGENCE, "{sound}");
    }
}
