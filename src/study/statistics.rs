//! Time averages of a running flow, gathered sample by sample.
//!
//! Every few steps the velocity at the cell middles is added with the time since the last sample as its weight. Sums run in f32
//! over a block of samples and are then carried into totals; what a total can't hold stays in the block (Kahan 1965), so that rounding stays
//! near 1e-6 however long a run is.

use super::{
    Fields,
    batches::{self, Batches},
    course::Courses,
    histogram::Histogram,
    side_by_side::{LANES, Lanes, gathered},
    watched::Watched,
};
use crate::flow::Gust;
use multiversion::multiversion;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// Samples summed before they are carried into the totals.
const BLOCK: u32 = 32;
/// Groups of cells per parallel task; fixed, so that sums come out the same for any number of threads.
const TASK: usize = 256;

/// Unit of time in the histograms at first, s: halved in resolution whenever a bin could overflow.
const FINEST_UNIT: f64 = 0.02;
/// Units that a histogram may hold.
const MOST_UNITS: f64 = 60_000.0;

/// Batches that must have been averaged before a run may stop by itself.
const ENOUGH_BATCHES: u32 = 4;
/// Largest standard error of the volume-mean speed of a run that stops by itself, as a share of it (common practice, no source).
const SURE: f64 = 0.02;
/// Largest difference between the halves of such a run, as a share (common practice, no source).
const DRIFT: f64 = 0.05;

/// Sums over time for every cell, [`LANES`] cells side by side in a group. What a sample doesn't touch, and what it touches in one place only,
/// lies apart: it would part the rest in memory.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Statistics {
    dead_speed: f32,
    groups: Vec<Group>,
    totals: Vec<Sums>,
    speeds: Vec<[Histogram; LANES]>,
    in_block: u32,
    moments: Vec<Moment>,
    seconds: f64,
    unit: f64,
    cycle: f64,
    batches: u32,
    batched_s: f64,
    watched: Vec<Watched>,
}

/// What a group of cells has gathered: sums since they were last carried over, highest speeds, how the water goes on and turns, how batches
/// scatter.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
struct Group {
    block: Sums,
    peak: Lanes,
    course: Courses,
    batch: Batches,
}

/// Sums over time of what a sample of each cell says, times the time that it stands for.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
struct Sums {
    velocity: [Lanes; 3],
    speed: Lanes,
    square: Lanes,
    still: Lanes,
}

/// One sample as every cell gets it.
#[derive(Debug, Clone, Copy)]
struct Sample {
    weight: f32,
    units: u16,
    limit: f32,
}

/// Volume means at one sample.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Moment {
    /// Time it stands for, s.
    pub seconds: f64,
    /// Volume mean of the speed, m/s.
    pub speed: f64,
}

impl Statistics {
    /// Nothing yet, for so many cells; `dead_speed` (m/s) is the limit of the share of time under it.
    pub fn new(cells: usize, dead_speed: f64) -> Self {
        let groups = cells.div_ceil(LANES);
        Self {
            dead_speed: dead_speed as f32,
            groups: vec![Group::default(); groups],
            totals: vec![Sums::default(); groups],
            speeds: vec![[Histogram::default(); LANES]; groups],
            in_block: 0,
            moments: Vec::new(),
            seconds: 0.0,
            unit: FINEST_UNIT,
            cycle: batches::LEAST_BATCH,
            batches: 0,
            batched_s: 0.0,
            watched: Vec::new(),
        }
    }

    /// The same with batches of whole joint cycles (s), and with groups of cells to watch.
    pub fn watching(self, cycle: f64, watched: Vec<Watched>) -> Self {
        Self { cycle, watched, ..self }
    }

    /// Bytes of memory per cell.
    pub const fn bytes_per_cell() -> usize {
        (size_of::<Group>() + size_of::<Sums>()) / LANES + size_of::<Histogram>()
    }

    /// The groups that are watched, in the order given.
    pub fn watched(&self) -> &[Watched] {
        &self.watched
    }

    /// Watches other groups from now on.
    pub fn watch(&mut self, groups: Vec<Watched>) {
        self.watched = groups;
    }

    /// Whole batches so far.
    pub fn batches(&self) -> u32 {
        self.batches
    }

    /// Length of a batch, s.
    pub fn batch_s(&self) -> f64 {
        batches::length(self.cycle)
    }

    /// Standard error of the volume-mean speed, m/s; `None` before the second batch.
    pub fn standard_error(&self) -> Option<f64> {
        batches::standard_error(self.moments.iter().map(|moment| (moment.seconds, moment.speed)), self.batch_s())
    }

    /// Time averaged over so far, s.
    pub fn seconds(&self) -> f64 {
        self.seconds
    }

    /// Volume means, sample by sample.
    pub fn moments(&self) -> &[Moment] {
        &self.moments
    }

    /// Adds what the velocities of the next sample don't show: turbulence to the mean square, its highest speeds to the peaks.
    pub fn add_gusts(&mut self, gusts: &[Gust], seconds: f64) {
        let weight = seconds as f32;
        let tasks = self.groups.par_chunks_mut(TASK).zip(gusts.par_chunks(TASK * LANES));
        tasks.for_each(|(groups, gusts)| add_gusts_to_task(groups, gusts, weight));
    }

    /// Adds one sample of the velocity per cell (m/s), which stands for `seconds` of time; `water` is the open share of each cell.
    pub fn add(&mut self, velocity: &[[f32; 3]], water: &[f32], seconds: f64) {
        let sample = Sample { weight: seconds as f32, units: self.units(seconds), limit: self.dead_speed };
        let cells = TASK * LANES;
        let tasks = self
            .groups
            .par_chunks_mut(TASK)
            .zip(self.speeds.par_chunks_mut(TASK))
            .zip(velocity.par_chunks(cells))
            .zip(water.par_chunks(cells));
        let sums: Vec<[f64; 2]> = tasks.map(|((cells, velocity), water)| add_task(cells, velocity, water, sample)).collect();
        self.watched.iter_mut().for_each(|group| group.add(velocity, seconds));
        let [speed, volume] = sums.iter().fold([0.0; 2], |a, b| [a[0] + b[0], a[1] + b[1]]);
        self.moments.push(Moment { seconds, speed: if volume > 0.0 { speed / volume } else { 0.0 } });
        self.seconds += seconds;
        self.in_block += 1;
        if self.in_block == BLOCK {
            self.carry();
        }
        if batches::is_full(self.seconds, self.batches as usize, self.batch_s()) {
            self.close_batch();
        }
    }

    /// Time of a sample in whole units, the remainder kept for the next one; makes room in the histograms first.
    fn units(&mut self, seconds: f64) -> u16 {
        let end = self.seconds + seconds;
        while end / self.unit > MOST_UNITS {
            self.unit *= 2.0;
            self.speeds.par_iter_mut().with_min_len(TASK).flatten().for_each(Histogram::halve);
        }
        ((end / self.unit).floor() - (self.seconds / self.unit).floor()) as u16
    }

    fn close_batch(&mut self) {
        let took = self.seconds - self.batched_s;
        self.batches += 1;
        self.batched_s = self.seconds;
        let count = self.batches;
        self.groups.par_iter_mut().with_min_len(TASK).for_each(|group| group.batch.close(count, took));
    }

    fn carry(&mut self) {
        self.in_block = 0;
        self.totals.par_iter_mut().zip(&mut self.groups).with_min_len(TASK).for_each(|(total, group)| {
            let block = &mut group.block;
            total.velocity.iter_mut().zip(&mut block.velocity).for_each(|(total, rest)| carry_over(total, rest));
            carry_over(&mut total.speed, &mut block.speed);
            carry_over(&mut total.square, &mut block.square);
            carry_over(&mut total.still, &mut block.still);
        });
    }

    /// The averages so far, without dead spots: `n` cells of edge `h` (m), `water` the open share of each.
    pub fn fields(&self, n: [usize; 3], h: f64, water: &[f32]) -> Fields {
        let per_second = if self.seconds > 0.0 { 1.0 / self.seconds } else { 0.0 };
        let wet = |index: usize| water[index] > 0.0;
        let mean = |index: usize, of: fn(&Sums) -> &Lanes| {
            let (group, lane) = (index / LANES, index % LANES);
            let sum = f64::from(of(&self.totals[group])[lane]) + f64::from(of(&self.groups[group].block)[lane]);
            if wet(index) { sum * per_second } else { 0.0 }
        };
        let cells = 0..water.len();
        let velocity = |index: usize| [mean(index, |t| &t.velocity[0]), mean(index, |t| &t.velocity[1]), mean(index, |t| &t.velocity[2])];
        let rms = |index: usize| {
            let of_mean: f64 = velocity(index).iter().map(|u| u * u).sum();
            (mean(index, |t| &t.square) - of_mean).max(0.0).sqrt()
        };
        let cycles = (self.seconds / self.cycle).max(1e-9);
        let detail = |of: &dyn Fn(&Group, usize) -> f64| {
            cells.clone().map(|i| if wet(i) { of(&self.groups[i / LANES], i % LANES) as f32 } else { 0.0 }).collect::<Vec<f32>>()
        };
        Fields {
            n,
            h,
            water: water.to_vec(),
            p95: cells.clone().map(|i| if wet(i) { self.percentile(i) } else { 0.0 }).collect(),
            longest_still: detail(&|group, lane| group.course.longest_still(lane)),
            reversals: detail(&|group, lane| f64::from(group.course.turns(lane)) / cycles),
            standard_error: if self.batches < 2 {
                Vec::new()
            } else {
                detail(&|group, lane| group.batch.standard_error(lane, self.batches).unwrap_or_default())
            },
            mean_velocity: cells.clone().map(|i| velocity(i).map(|u| u as f32)).collect(),
            mean_speed: cells.clone().map(|i| mean(i, |t| &t.speed) as f32).collect(),
            rms: cells.clone().map(|i| rms(i) as f32).collect(),
            peak: detail(&|group, lane| f64::from(group.peak[lane])),
            share_still: cells.clone().map(|i| mean(i, |t| &t.still).min(1.0) as f32).collect(),
            dead: vec![0; water.len()],
            age: Vec::new(),
            settled: Vec::new(),
        }
    }

    /// Speed that a cell's water doesn't exceed for 95 % of the time, m/s.
    fn percentile(&self, cell: usize) -> f32 {
        let (group, lane) = (cell / LANES, cell % LANES);
        self.speeds[group][lane].quantile(0.95, self.groups[group].peak[lane]) as f32
    }

    /// Change of the volume-mean speed between two windows of equal length, the last one and the one before it, as a share of the earlier.
    /// The windows are the longest whole numbers of joint cycles (s) that fit twice; half the time each when none does.
    pub fn half_to_half(&self, cycle: f64) -> f64 {
        let whole = (self.seconds / 2.0 / cycle + 1e-6).floor() * cycle;
        let window = if whole > 0.0 { whole } else { self.seconds / 2.0 };
        let later = self.mean_speed_between(self.seconds - window, self.seconds);
        let earlier = self.mean_speed_between(self.seconds - 2.0 * window, self.seconds - window);
        if earlier > 0.0 { (later - earlier) / earlier } else { 0.0 }
    }

    /// Sure enough to stop: at least [`ENOUGH_BATCHES`], halves that agree, and a small standard error of the volume-mean speed.
    pub fn is_sure(&self, cycle: f64) -> bool {
        let mean = self.mean_speed_between(0.0, self.seconds);
        let error = self.standard_error().unwrap_or(f64::INFINITY);
        self.batches >= ENOUGH_BATCHES && !self.drifts(cycle) && error <= SURE * mean
    }

    /// There is enough to compare, and the halves differ.
    pub fn drifts(&self, cycle: f64) -> bool {
        self.batches >= ENOUGH_BATCHES && self.half_to_half(cycle).abs() > DRIFT
    }

    /// Mean over a stretch of the averaged time, s from its beginning.
    fn mean_speed_between(&self, from: f64, to: f64) -> f64 {
        let (mut sum, mut weight, mut start) = (0.0, 0.0, 0.0);
        for moment in &self.moments {
            let end = start + moment.seconds;
            let overlap = (end.min(to) - start.max(from)).max(0.0);
            sum += overlap * moment.speed;
            weight += overlap;
            start = end;
        }
        if weight > 0.0 { sum / weight } else { 0.0 }
    }
}

/// Adds to totals; what they can't hold is left over.
#[inline(always)]
fn carry_over(total: &mut Lanes, rest: &mut Lanes) {
    for (total, rest) in total.iter_mut().zip(rest) {
        let sum = *total + *rest;
        *rest -= sum - *total;
        *total = sum;
    }
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn add_gusts_to_task(groups: &mut [Group], gusts: &[Gust], weight: f32) {
    for (group, gusts) in groups.iter_mut().zip(gusts.chunks(LANES)) {
        let (variance, fastest) = (gathered(gusts, |gust| gust.variance), gathered(gusts, |gust| gust.fastest));
        for m in 0..LANES {
            group.block.square[m] += weight * variance[m];
            group.peak[m] = greater(group.peak[m], fastest[m]);
        }
    }
}

/// Adds to one task's cells; returns the sums of water × speed and of water. What is solid is summed with the rest, and never asked for.
#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn add_task((groups, speeds): (&mut [Group], &mut [[Histogram; LANES]]), velocity: &[[f32; 3]], water: &[f32], sample: Sample) -> [f64; 2] {
    let [mut flux, mut volume] = [[0.0; LANES]; 2];
    let cells = groups.iter_mut().zip(speeds).zip(velocity.chunks(LANES)).zip(water.chunks(LANES));
    for (((group, speeds), velocity), water) in cells {
        let u = [0, 1, 2].map(|axis| gathered(velocity, |u| u[axis]));
        let open = gathered(water, |open| *open);
        let speed = group.add(&u, sample);
        speeds.iter_mut().zip(speed).for_each(|(speeds, speed)| speeds.add(speed, sample.units));
        for m in 0..LANES {
            flux[m] += open[m] * speed[m];
            volume[m] += open[m];
        }
    }
    [flux, volume].map(|sum| sum.iter().map(|part| f64::from(*part)).sum())
}

impl Group {
    /// Adds one sample of velocities (m/s); returns their sizes.
    #[inline(always)]
    fn add(&mut self, u: &[Lanes; 3], Sample { weight, limit, .. }: Sample) -> Lanes {
        let (mut speed, sums) = ([0.0; LANES], &mut self.block);
        for m in 0..LANES {
            let square = u[0][m] * u[0][m] + u[1][m] * u[1][m] + u[2][m] * u[2][m];
            speed[m] = square.sqrt();
            sums.square[m] += weight * square;
            sums.speed[m] += weight * speed[m];
            sums.still[m] += if speed[m] < limit { weight } else { 0.0 };
            self.peak[m] = greater(self.peak[m], speed[m]);
        }
        for axis in 0..3 {
            (0..LANES).for_each(|m| sums.velocity[axis][m] += weight * u[axis][m]);
        }
        self.batch.add(&speed, weight);
        self.course.add(u, &speed, weight, limit);
        speed
    }
}

/// One instruction, unlike `f32::max`, which also sorts out NaN.
#[inline(always)]
fn greater(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// u = 0.1 + 0.2 sin(2πt/T) along x: mean 0.1, mean of u² = 0.1² + 0.2²/2, so rms = 0.2/√2.
    #[test]
    fn a_sine_has_its_closed_form_averages() {
        let mut statistics = Statistics::new(1, 0.02);
        let (period, mut t) = (7.0, 0.0);
        for step in 0..70_000 {
            let dt = period * 10.0 / 70_000.0 * if step % 2 == 0 { 1.5 } else { 0.5 };
            t += dt;
            let u = 0.1 + 0.2 * (std::f64::consts::TAU * t / period).sin();
            statistics.add(&[[u as f32, 0.0, 0.0]], &[1.0], dt);
        }
        let fields = statistics.fields([1, 1, 1], 0.1, &[1.0]);
        let share = |limit: f64| ((limit - 0.1) / 0.2).asin() / std::f64::consts::PI + 0.5;
        // The share jumps at four instants of each of ten periods, each caught to within one sample of up to 1.5/70 000 of the time.
        let jumps = 40.0 * 1.5 / 70_000.0;
        let cases = [
            ("mean velocity", fields.mean_velocity[0][0], 0.1, 2e-5),
            ("mean speed", fields.mean_speed[0], mean_speed_of_sine(0.1, 0.2), 2e-5),
            ("rms", fields.rms[0], 0.2 / 2f64.sqrt(), 2e-5),
            ("peak", fields.peak[0], 0.3, 2e-5),
            ("share still", fields.share_still[0], share(0.02) - share(-0.02), jumps),
        ];
        for (what, got, expected, tolerance) in cases {
            assert!((f64::from(got) - expected).abs() < tolerance, "{what}: {got}, not {expected}");
        }
    }

    /// Mean of |a + b sin θ| for b > a > 0: (2/π) (a asin(a/b) + √(b² - a²)).
    fn mean_speed_of_sine(a: f64, b: f64) -> f64 {
        2.0 / std::f64::consts::PI * (a * (a / b).asin() + (b * b - a * a).sqrt())
    }

    #[test]
    fn long_runs_do_not_lose_small_samples() {
        let mut statistics = Statistics::new(1, 0.02);
        for _ in 0..200_000 {
            statistics.add(&[[0.0, 0.1, 0.0]], &[1.0], 0.1);
        }
        let fields = statistics.fields([1, 1, 1], 0.1, &[1.0]);
        assert!((fields.mean_velocity[0][1] - 0.1).abs() < 1e-6);
        assert!(fields.rms[0] < 1e-4, "{}", fields.rms[0]);
    }

    #[test]
    fn samples_weigh_by_their_time() {
        let mut statistics = Statistics::new(2, 0.02);
        statistics.add(&[[1.0, 0.0, 0.0]; 2], &[1.0, 0.0], 3.0);
        statistics.add(&[[0.0, 2.0, 0.0]; 2], &[1.0, 0.0], 1.0);
        let fields = statistics.fields([2, 1, 1], 0.1, &[1.0, 0.0]);
        assert_eq!(fields.mean_velocity[0], [0.75, 0.5, 0.0]);
        assert_eq!((fields.mean_speed[0], fields.peak[0]), (1.25, 2.0));
        assert_eq!((fields.mean_speed[1], fields.peak[1]), (0.0, 0.0));
    }

    #[test]
    fn halves_are_compared_over_whole_cycles() {
        let mut steady_cycle = Statistics::new(1, 0.02);
        let mut growing = Statistics::new(1, 0.02);
        for step in 0..300 {
            let t = f64::from(step) * 0.1;
            let speed = 1.0 + 0.5 * (std::f64::consts::TAU * t / 10.0).sin();
            steady_cycle.add(&[[speed as f32, 0.0, 0.0]], &[1.0], 0.1);
            growing.add(&[[if t < 20.0 { 1.0 } else { 1.5 }, 0.0, 0.0]], &[1.0], 0.1);
        }
        assert!(steady_cycle.half_to_half(10.0).abs() < 1e-6);
        assert!((growing.half_to_half(10.0) - 0.5).abs() < 1e-6);
        assert!((growing.half_to_half(100.0) - (1.0 / 3.0 * 1.0 + 2.0 / 3.0 * 1.5 - 1.0)).abs() < 1e-6);
    }
}
