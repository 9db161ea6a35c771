//! One cycle of the moving water, kept small: velocities averaged over blocks of cells, at even times, three bytes each.
//!
//! A component `v` is kept as `q = ±round(127 √(|v| / top))` and read back as `±top (q / 127)²`: fine where the water is slow, coarse
//! where it is fast. The error is at most `√(|v| top) / 127 + top / (4 · 127²)`.

use super::runner::Runner;
use crate::flow::Grid;

/// Most bytes of velocities kept for one motion.
const MOST_BYTES: usize = 7_000_000;
/// Shortest time between frames, s.
const EVERY: f64 = 0.5;
/// Most time steps between frames of one motion.
const MOST_STEPS: f64 = 120.0;
/// Longest time that is kept, s; a longer cycle is cut.
pub const LONGEST: f64 = 240.0;
/// Steps of a kept component on either side of zero.
const STEPS: f32 = 127.0;

/// The recorded water.
#[derive(Debug, Clone, PartialEq)]
pub struct Motion {
    /// Blocks along x, y, z.
    pub n: [usize; 3],
    /// Edge of a block, m.
    pub h: f32,
    /// Share of each block that is open water, 0 to 1.
    pub water: Vec<f32>,
    /// The cells that the flow was computed on.
    pub grid: Grid,
    /// Cells that are more than half water, x fastest.
    pub wet: Vec<bool>,
    /// Simulated time of the first frame, s.
    pub start: f64,
    /// Time of each frame after the first, s: rising from 0.
    pub times: Vec<f64>,
    /// Largest component of a velocity, m/s.
    pub top: f32,
    /// Velocities of the blocks at each time, x fastest, as kept.
    pub frames: Vec<Vec<[i8; 3]>>,
}

/// Keeps frames of a running flow.
#[derive(Debug)]
pub struct Recorder {
    grid: Grid,
    block: usize,
    n: [usize; 3],
    every: f64,
    length: f64,
    start: Option<f64>,
    times: Vec<f64>,
    frames: Vec<Vec<[f32; 3]>>,
    velocity: Vec<[f32; 3]>,
}

impl Recorder {
    /// For a flow on this grid, over one cycle of so many seconds.
    pub fn new(grid: Grid, cycle: f64) -> Self {
        let length = cycle.clamp(EVERY, LONGEST);
        let every = EVERY.max(length / MOST_STEPS);
        let frames = (length / every).ceil() as usize + 1;
        let blocks = |block: usize| grid.n.map(|cells| cells.div_ceil(block));
        let fits = |block: &usize| 3 * frames * blocks(*block).iter().product::<usize>() <= MOST_BYTES;
        let block = (1..).find(fits).unwrap_or(1);
        let velocity = vec![[0.0; 3]; grid.cells()];
        Self { grid, block, n: blocks(block), every, length, start: None, times: Vec::new(), frames: Vec::new(), velocity }
    }

    /// Looks at the flow after a step, and keeps it when the next frame is due.
    pub fn see(&mut self, runner: &Runner) {
        let time = runner.time() - *self.start.get_or_insert(runner.time());
        let is_full = self.times.last().is_some_and(|last| *last >= self.length);
        if is_full || time < self.times.len() as f64 * self.every - 1e-6 {
            return;
        }
        runner.flow().velocity_at_cells(&mut self.velocity);
        self.times.push(time);
        self.frames.push(self.blocks(&self.velocity, runner.flow().water_fraction()));
    }

    /// What was kept; the present moment when nothing was.
    pub fn finish(mut self, runner: &Runner) -> Motion {
        if self.frames.is_empty() {
            self.see(runner);
        }
        let water = runner.flow().water_fraction();
        let whole = vec![[1.0, 0.0, 0.0]; water.len()];
        let top = self.frames.iter().flatten().flatten().fold(0.0f32, |top, v| top.max(v.abs()));
        Motion {
            n: self.n,
            h: self.block as f32 * self.grid.h,
            water: self.shares(&whole, water),
            grid: self.grid,
            wet: water.iter().map(|share| *share > 0.5).collect(),
            start: self.start.unwrap_or(0.0),
            times: self.times,
            top,
            frames: self.frames.iter().map(|frame| frame.iter().map(|v| v.map(|x| kept(x, top))).collect()).collect(),
        }
    }

    /// Means over the water of each block; zero without water.
    fn blocks(&self, velocity: &[[f32; 3]], water: &[f32]) -> Vec<[f32; 3]> {
        self.sums(velocity, water).into_iter().map(|(sum, share, _)| if share > 0.0 { sum.map(|s| s / share) } else { sum }).collect()
    }

    fn shares(&self, ones: &[[f32; 3]], water: &[f32]) -> Vec<f32> {
        self.sums(ones, water).into_iter().map(|(_, share, cells)| share / cells).collect()
    }

    /// For each block: velocities times water, water, cells.
    fn sums(&self, velocity: &[[f32; 3]], water: &[f32]) -> Vec<([f32; 3], f32, f32)> {
        let mut sums = vec![([0.0; 3], 0.0, 0.0); self.n.iter().product()];
        let [nx, ny, _] = self.grid.n;
        for (cell, (v, share)) in velocity.iter().zip(water).enumerate() {
            let [i, j, k] = [cell % nx, cell / nx % ny, cell / (nx * ny)].map(|c| c / self.block);
            let (sum, all, cells) = &mut sums[i + self.n[0] * (j + self.n[1] * k)];
            (0..3).for_each(|axis| sum[axis] += share * v[axis]);
            (*all, *cells) = (*all + share, *cells + 1.0);
        }
        sums
    }
}

/// A component as it is kept.
pub fn kept(v: f32, top: f32) -> i8 {
    if top <= 0.0 {
        return 0;
    }
    (STEPS * (v.abs() / top).min(1.0).sqrt()).round().copysign(v) as i8
}

/// A kept component as it is read back, m/s.
pub fn read_back(q: i8, top: f32) -> f32 {
    let share = f32::from(q) / STEPS;
    top * share * share.abs()
}

impl Motion {
    /// Time that the frames cover, s.
    pub fn length(&self) -> f64 {
        self.times.last().copied().unwrap_or(0.0)
    }

    /// The frame before a time (s after the first) and the share of the way to the next one.
    pub fn frame_at(&self, time: f64) -> (usize, f32) {
        let after = self.times.partition_point(|t| *t <= time).clamp(1, self.times.len().max(1));
        match (self.times.get(after - 1), self.times.get(after)) {
            (Some(a), Some(b)) => (after - 1, ((time - a) / (b - a).max(1e-9)).clamp(0.0, 1.0) as f32),
            _ => (after - 1, 0.0),
        }
    }

    /// Velocities of all blocks at a time (s after the first frame), m/s: by straight lines between frames.
    pub fn velocities(&self, time: f64) -> Vec<[f32; 3]> {
        let (before, share) = self.frame_at(time);
        let after = (before + 1).min(self.frames.len() - 1);
        let between = |(a, b): (&[i8; 3], &[i8; 3])| {
            std::array::from_fn(|axis| {
                let (a, b) = (read_back(a[axis], self.top), read_back(b[axis], self.top));
                a + share * (b - a)
            })
        };
        self.frames[before].iter().zip(&self.frames[after]).map(between).collect()
    }

    /// Velocity at a place (m) among these velocities of all blocks: linear between middles of blocks, over their water only.
    pub fn velocity_at(&self, velocities: &[[f32; 3]], place: [f32; 3]) -> [f32; 3] {
        let (mut low, mut part) = ([0usize; 3], [0f32; 3]);
        for axis in 0..3 {
            let along = (place[axis] / self.h - 0.5).clamp(0.0, (self.n[axis] - 1) as f32);
            low[axis] = (along as usize).min(self.n[axis].saturating_sub(2));
            part[axis] = along - low[axis] as f32;
        }
        let (mut sum, mut all) = ([0.0; 3], 1e-6);
        for corner in 0..8usize {
            let at: [usize; 3] = std::array::from_fn(|axis| (low[axis] + (corner >> axis & 1)).min(self.n[axis] - 1));
            let cell = at[0] + self.n[0] * (at[1] + self.n[1] * at[2]);
            let near: f32 = (0..3).map(|axis| if corner >> axis & 1 == 1 { part[axis] } else { 1.0 - part[axis] }).product();
            let weight = near * self.water[cell];
            all += weight;
            (0..3).for_each(|axis| sum[axis] += weight * velocities[cell][axis]);
        }
        sum.map(|s| s / all)
    }

    /// The cell that holds a place (m) is in the box and mostly water.
    pub fn is_wet(&self, place: [f32; 3]) -> bool {
        let inside = (0..3).all(|axis| place[axis] >= 0.0 && place[axis] < self.grid.n[axis] as f32 * self.grid.h);
        inside && {
            let cell: [usize; 3] = std::array::from_fn(|axis| ((place[axis] / self.grid.h) as usize).min(self.grid.n[axis] - 1));
            self.wet[self.grid.index(cell)]
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kept_velocities_are_within_their_bound() {
        let top = 0.8f32;
        for step in -4000..=4000 {
            let v = step as f32 / 4000.0 * top;
            let bound = (v.abs() * top).sqrt() / 127.0 + top / (4.0 * 127.0 * 127.0);
            let error = (read_back(kept(v, top), top) - v).abs();
            assert!(error <= bound + 1e-7, "{v}: off by {error}, bound {bound}");
        }
        assert_eq!((kept(0.0, 0.0), read_back(kept(-top, top), top)), (0, -top));
    }

    #[test]
    fn blocks_fit_the_budget_and_cover_the_box() {
        for (n, cycle) in [([36, 22, 20], 40.0), ([160, 80, 30], 120.0), ([400, 200, 100], 3600.0), ([1, 1, 1], 0.0)] {
            let recorder = Recorder::new(Grid { n, h: 0.025 }, cycle);
            let frames = (recorder.length / recorder.every).ceil() as usize + 1;
            assert!(3 * frames * recorder.n.iter().product::<usize>() <= MOST_BYTES);
            assert!((0..3).all(|axis| recorder.n[axis] * recorder.block >= n[axis]));
        }
    }

    #[test]
    fn rock_does_not_slow_the_water_beside_it() {
        let recorder = Recorder { block: 2, n: [2, 1, 1], ..Recorder::new(Grid { n: [4, 2, 2], h: 0.1 }, 10.0) };
        let water: Vec<f32> = (0..16).map(|cell| if cell % 4 == 0 { 0.0 } else { 1.0 }).collect();
        let velocity: Vec<[f32; 3]> = water.iter().map(|w| [0.2 * w, 0.0, 0.0]).collect();
        assert!(recorder.blocks(&velocity, &water).iter().all(|v| (v[0] - 0.2).abs() < 1e-6));
        assert_eq!(recorder.shares(&[[1.0; 3]; 16], &water), vec![0.5, 1.0]);
    }
}
