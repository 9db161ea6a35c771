//! Velocity over a stretch of time, kept so that something can be carried by it later, again and again.
//!
//! The mean over the stretch is projected once more, with the ports' mean flows, until its divergence is down to the rounding of f32:
//! what is carried by it is then neither gained nor lost.

use super::{Flow, Grid, Scratch, field::Faces, grid::Lattice, kernel::Kernel, ports::JetRate, solids::NO_REGION, sources::Applied};
use serde::{Deserialize, Serialize};

/// Pressure cycles that close a mean velocity: each leaves about a tenth of the divergence.
const CLOSING_CYCLES: usize = 6;

/// Mean velocity over a stretch of time.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Stream {
    /// Time that it stands for, s.
    pub seconds: f64,
    /// Velocity times open share at the low faces of all cells and, along its own axis, at the end; m/s. Along axis d there are n[d] + 1
    /// faces, x fastest.
    pub at_face: [Vec<f32>; 3],
    /// Water that each jet brings, m³/s.
    pub jets: Vec<f32>,
    /// Water that each sink takes, m³/s.
    pub sinks: Vec<f32>,
}

/// Sums of the stretch that is being recorded.
#[derive(Debug, Serialize, Deserialize)]
pub struct Recorder {
    sum: Faces,
    jets: Vec<f64>,
    sinks: Vec<f64>,
    seconds: f64,
}

impl Recorder {
    /// Nothing recorded yet.
    pub fn new(flow: &Flow) -> Self {
        let zero = || vec![0.0; flow.lattice.len];
        Self {
            sum: std::array::from_fn(|_| zero()),
            jets: vec![0.0; flow.ports.jets.len()],
            sinks: vec![0.0; flow.ports.sinks.len()],
            seconds: 0.0,
        }
    }

    /// Time recorded since the last [`Recorder::take`], s.
    pub fn seconds(&self) -> f64 {
        self.seconds
    }

    /// Takes in the step of length `dt` (s) that was just made with `scratch`.
    pub fn add(&mut self, flow: &Flow, scratch: &Scratch, dt: f32) {
        for (sum, now) in self.sum.iter_mut().zip(&flow.velocity) {
            sum.iter_mut().zip(now).for_each(|(sum, now)| *sum += dt * now);
        }
        let seconds = f64::from(dt);
        self.jets.iter_mut().zip(&scratch.applied.jets).for_each(|(sum, jet)| *sum += seconds * f64::from(jet.flow));
        self.sinks.iter_mut().zip(&scratch.applied.sinks).for_each(|(sum, flow)| *sum += seconds * f64::from(*flow));
        self.seconds += seconds;
    }

    /// The mean over what was recorded, closed; begins a new stretch.
    pub fn take(&mut self, flow: &Flow, scratch: &mut Scratch) -> Stream {
        let per_second = 1.0 / self.seconds.max(1e-9);
        for array in &mut self.sum {
            array.iter_mut().for_each(|u| *u *= per_second as f32);
        }
        let mean = |sums: &[f64]| sums.iter().map(|sum| (sum * per_second) as f32).collect::<Vec<f32>>();
        let (jets, sinks) = (mean(&self.jets), mean(&self.sinks));
        let applied = Applied::of(jets.iter().map(|&flow| JetRate { flow, momentum: 0.0 }).collect(), sinks.clone());
        flow.close(&mut self.sum, &applied, scratch, CLOSING_CYCLES);
        let stream = Stream { seconds: self.seconds, at_face: std::array::from_fn(|axis| flow.plain(axis, &self.sum[axis])), jets, sinks };
        *self = Self::new(flow);
        stream
    }
}

impl Flow {
    /// Velocity times open share at the faces of one axis, without padding.
    fn plain(&self, axis: usize, velocity: &[f32]) -> Vec<f32> {
        let mut count = self.grid.n;
        count[axis] += 1;
        let mut out = Vec::with_capacity(count.iter().product());
        for k in 0..count[2] {
            for j in 0..count[1] {
                let at = self.lattice.row(j, k);
                out.extend_from_slice(&velocity[at..at + count[0]]);
            }
        }
        out
    }

    /// Share of every cell that is water which ports can reach, 0 to 1, x fastest.
    pub fn reached_water(&self) -> Vec<f32> {
        let water = self.solids.water.iter().zip(&self.solids.region);
        water.map(|(&water, &region)| if region == NO_REGION { 0.0 } else { water }).collect()
    }

    /// Cells that a jet's water is spread over, with their shares; public order. Empty when it is blocked.
    pub fn jet_cells(&self, jet: usize) -> Vec<(usize, f32)> {
        cells(&self.grid, &self.lattice, &self.sources.jets[jet])
    }

    /// Cells that a sink takes its water from, with their shares; public order. Empty when it is blocked.
    pub fn sink_cells(&self, sink: usize) -> Vec<(usize, f32)> {
        cells(&self.grid, &self.lattice, &self.sources.sinks[sink])
    }
}

fn cells(grid: &Grid, lattice: &Lattice, kernel: &Kernel) -> Vec<(usize, f32)> {
    kernel.cells.iter().map(|share| (grid.index(lattice.place(share.at as usize)), share.weight)).collect()
}

#[cfg(test)]
mod tests {
    use crate::flow::{Flow, Grid, Jet, JetRate, Physics, Ports, Rates, Recorder, Scratch, Sink, step};

    /// A jet and a sink in a box with a solid: the recorded mean closes in every cell to the rounding of f32, and brings what the ports bring.
    #[test]
    fn a_recorded_stretch_closes_in_every_cell() {
        let grid = Grid { n: [14, 9, 10], h: 0.03 };
        let jet = Jet { at: [0.0, 0.13, 0.15], direction: [1.0, 0.2, 0.0], bore: 0.025 };
        let sink = Sink { at: [0.42, 0.13, 0.1], normal: [-1.0, 0.0, 0.0], size: [0.06, 0.06] };
        let mut flow = Flow::new(
            grid,
            &|p| (p[0] - 0.24).abs().max(p[2] - 0.1) - 0.04,
            Ports { jets: vec![jet], sinks: vec![sink] },
            Physics::tank(1e-6, 1),
        );
        let mut scratch = Scratch::new(&flow);
        let rates = Rates { jets: vec![JetRate { flow: 4e-4, momentum: 3e-4 }], sinks: vec![4e-4] };
        let mut recorder = Recorder::new(&flow);
        for _ in 0..30 {
            let report = step(&mut flow, &mut scratch, &rates, 0.05);
            recorder.add(&flow, &scratch, report.dt);
        }
        let stream = recorder.take(&flow, &mut scratch);
        assert!((stream.seconds - flow.time()).abs() < 1e-6 && recorder.seconds() == 0.0);
        assert!((stream.jets[0] - 4e-4).abs() < 1e-9 && (stream.sinks[0] - 4e-4).abs() < 1e-9);
        let mut source = vec![0.0f64; grid.cells()];
        flow.jet_cells(0).iter().for_each(|&(cell, share)| source[cell] += 4e-4 * f64::from(share));
        flow.sink_cells(0).iter().for_each(|&(cell, share)| source[cell] -= 4e-4 * f64::from(share));
        let mut lost = 0.0;
        for k in 0..10 {
            for j in 0..9 {
                for i in 0..14 {
                    let u = |a: usize| f64::from(stream.at_face[0][i + a + 15 * (j + 9 * k)]);
                    let v = |a: usize| f64::from(stream.at_face[1][i + 14 * (j + a + 10 * k)]);
                    let w = |a: usize| f64::from(stream.at_face[2][i + 14 * (j + 9 * (k + a))]);
                    let out = (u(1) - u(0) + v(1) - v(0) + w(1) - w(0)) * 0.03 * 0.03;
                    lost += (out - source[grid.index([i, j, k])]).abs();
                }
            }
        }
        assert!(lost < 1e-3 * 4e-4, "{lost} m³/s of 4e-4 are lost or gained");
    }
}
