//! The water's motion over whole joint cycles, kept to carry dye, age and particles for hours.

use crate::flow::{Flow, Stream};
use serde::{Deserialize, Serialize};

/// Longest time that is recorded when the cycle is shorter, s: the slow swing of the tank's own circulation.
const ENOUGH_S: f64 = 60.0;
/// Shortest stretch that one mean velocity stands for, s: eddies that live longer than that are kept.
const SHORTEST_STRETCH: f64 = 1.0;
/// Most memory for a recording, bytes.
const MOST_BYTES: f64 = 7.5e8;
/// A cell counts as at least this full: smaller slivers would call for very short steps.
pub const LEAST_WATER: f32 = 0.2;

/// Recorded motion: streams that follow each other and begin again.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Recording {
    /// Cells along x, y, z.
    pub n: [usize; 3],
    /// Cell edge, m.
    pub h: f64,
    /// Share of each cell that is open water.
    pub water: Vec<f32>,
    /// Mean velocities, one after the other.
    pub streams: Vec<Stream>,
    /// Cells of each jet with their shares of its flow.
    pub jets: Vec<Vec<(usize, f32)>>,
    /// Cells of each sink with their shares of its flow.
    pub sinks: Vec<Vec<(usize, f32)>>,
}

/// How long is recorded, and how finely.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plan {
    /// Whole joint cycles, s.
    pub seconds: f64,
    /// Time that one mean velocity stands for, s.
    pub stretch: f64,
}

impl Plan {
    /// For a joint cycle (s) and so many cells.
    pub fn new(cycle: f64, cells: usize) -> Self {
        let seconds = (ENOUGH_S / cycle - 1e-9).ceil().max(1.0) * cycle;
        let most = (MOST_BYTES / (12.0 * cells.max(1) as f64)).max(4.0);
        let count = (seconds / SHORTEST_STRETCH).min(most).floor().max(1.0);
        Self { seconds, stretch: seconds / count }
    }
}

impl Recording {
    /// Nothing recorded yet of a flow.
    pub fn of(flow: &Flow) -> Self {
        let ports = flow.ports();
        Self {
            n: flow.grid().n,
            h: f64::from(flow.grid().h),
            water: flow.reached_water(),
            streams: Vec::new(),
            jets: (0..ports.jets.len()).map(|jet| flow.jet_cells(jet)).collect(),
            sinks: (0..ports.sinks.len()).map(|sink| flow.sink_cells(sink)).collect(),
        }
    }

    /// Time recorded, s.
    pub fn seconds(&self) -> f64 {
        self.streams.iter().map(|stream| stream.seconds).sum()
    }

    /// Volume of a cell as it counts here, m³.
    pub fn volume(&self, cell: usize) -> f64 {
        let water = self.water[cell];
        if water > 0.0 { f64::from(water.max(LEAST_WATER)) * self.h.powi(3) } else { 0.0 }
    }

    /// Volume of all cells, m³.
    pub fn water_volume(&self) -> f64 {
        (0..self.water.len()).map(|cell| self.volume(cell)).sum()
    }

    /// Time-mean flow that all jets bring, m³/s.
    pub fn inflow(&self) -> f64 {
        let brought = |stream: &Stream| stream.seconds * stream.jets.iter().map(|&flow| f64::from(flow)).sum::<f64>();
        self.streams.iter().map(brought).sum::<f64>() / self.seconds().max(1e-9)
    }

    /// Water brought into and taken from cells in a stream: (cell, m³/s in, m³/s out).
    pub fn exchanges(&self, stream: &Stream) -> Vec<(usize, f64, f64)> {
        let of = |ports: &[Vec<(usize, f32)>], flows: &[f32]| -> Vec<(usize, f64)> {
            let port = |(cells, &flow): (&Vec<(usize, f32)>, &f32)| {
                cells.iter().map(move |&(cell, share)| (cell, f64::from(share) * f64::from(flow))).collect::<Vec<_>>()
            };
            ports.iter().zip(flows).flat_map(port).collect()
        };
        let brought = of(&self.jets, &stream.jets).into_iter().map(|(cell, flow)| (cell, flow, 0.0));
        let taken = of(&self.sinks, &stream.sinks).into_iter().map(|(cell, flow)| (cell, 0.0, flow));
        brought.chain(taken).filter(|&(_, brought, taken)| brought > 0.0 || taken > 0.0).collect()
    }

    /// Place of the low face of a cell along an axis in [`Stream::at_face`].
    pub fn face(&self, axis: usize, cell: [usize; 3]) -> usize {
        let n: [usize; 3] = std::array::from_fn(|d| self.n[d] + usize::from(d == axis));
        cell[0] + n[0] * (cell[1] + n[1] * cell[2])
    }

    /// Cell (i, j, k) of an index.
    pub fn cell(&self, index: usize) -> [usize; 3] {
        [index % self.n[0], index / self.n[0] % self.n[1], index / (self.n[0] * self.n[1])]
    }

    /// The cell that holds a point, m; `None` outside the box.
    pub fn cell_at(&self, point: [f64; 3]) -> Option<usize> {
        let inside = (0..3).all(|d| point[d] >= 0.0 && point[d] < self.n[d] as f64 * self.h);
        inside.then(|| {
            let [i, j, k]: [usize; 3] = std::array::from_fn(|d| ((point[d] / self.h) as usize).min(self.n[d] - 1));
            i + self.n[0] * (j + self.n[1] * k)
        })
    }

    /// Velocity at a point in a stream, m/s: straight between the two faces of its cell along each axis, so that it closes inside every
    /// cell as it does between cells. `None` outside the water.
    pub fn velocity(&self, stream: &Stream, point: [f64; 3]) -> Option<[f64; 3]> {
        let index = self.cell_at(point).filter(|&cell| self.water[cell] > 0.0)?;
        let cell = self.cell(index);
        Some(std::array::from_fn(|axis| {
            let mut next = cell;
            next[axis] += 1;
            let part = point[axis] / self.h - cell[axis] as f64;
            let [low, high] = [cell, next].map(|at| f64::from(stream.at_face[axis][self.face(axis, at)]));
            low + part * (high - low)
        }))
    }

    /// One steady stream in a box full of water, from the velocity at any point (m): for tests and exact cases.
    pub fn steady(n: [usize; 3], h: f64, velocity: impl Fn(usize, [f64; 3]) -> f64) -> Self {
        let faces = |axis: usize| -> Vec<f32> {
            let count: [usize; 3] = std::array::from_fn(|d| n[d] + usize::from(d == axis));
            let at = |i: usize, j: usize, k: usize| {
                let cell = [i, j, k];
                std::array::from_fn(|d| (cell[d] as f64 + if d == axis { 0.0 } else { 0.5 }) * h)
            };
            let (velocity, at) = (&velocity, &at);
            let plane = |k: usize| (0..count[1]).flat_map(move |j| (0..count[0]).map(move |i| velocity(axis, at(i, j, k)) as f32));
            (0..count[2]).flat_map(plane).collect()
        };
        let stream = Stream { seconds: 10.0, at_face: std::array::from_fn(faces), jets: Vec::new(), sinks: Vec::new() };
        Self { n, h, water: vec![1.0; n.iter().product()], streams: vec![stream], jets: Vec::new(), sinks: Vec::new() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plans_are_whole_cycles_that_fit_in_memory() {
        assert_eq!(Plan::new(10.0, 1000), Plan { seconds: 60.0, stretch: 1.0 });
        assert_eq!(Plan::new(45.0, 1000), Plan { seconds: 90.0, stretch: 1.0 });
        let large = Plan::new(300.0, 1_000_000);
        assert!(large.seconds == 300.0 && (large.stretch - 300.0 / 62.0).abs() < 1e-9, "{large:?}");
    }

    #[test]
    fn velocity_is_straight_between_faces() {
        let recording = Recording::steady([4, 3, 2], 0.5, |axis, p| [p[0], -p[1], 3.0][axis]);
        let u = recording.velocity(&recording.streams[0], [1.1, 0.8, 0.3]).unwrap();
        assert!((u[0] - 1.1).abs() < 1e-6 && (u[1] + 0.8).abs() < 1e-6 && u[2] == 3.0, "{u:?}");
        assert_eq!(recording.velocity(&recording.streams[0], [2.1, 0.8, 0.3]), None);
    }
}
