//! Speed of the flow solver: cell-steps per second by size and threads, seconds per simulated minute, memory, where the time goes, and how
//! far that is from what this machine's memory could carry. `cargo bench --no-default-features --bench flow` prints it all;
//! `-- 25 50` only those with cells of 25 and 50 mm.

use slackwater::{
    flow::{Flow, Grid, Jet, JetRate, NearField, Operator, Physics, Ports, Rates, Scratch, Sink, step},
    study::{runner, statistics::Statistics},
};
use std::time::Instant;

/// Simulated time after which jets have crossed the tank, s.
const SETTLED_AT: f64 = 4.0;
/// Length, width, depth of the tank, m.
const TANK: [f32; 3] = [3.0, 1.2, 0.85];

fn main() {
    let asked: Vec<f32> = std::env::args().filter_map(|arg| arg.parse().ok()).map(|millimetres: f32| 1e-3 * millimetres).collect();
    bandwidth();
    let sizes: &[f32] = if asked.is_empty() { &[0.05, 0.025, 0.0125, 0.01] } else { &asked };
    for h in sizes {
        let one = pool(1).install(|| speed(*h, 1, None));
        let two = pool(2).install(|| speed(*h, 2, Some(one)));
        println!("  second core: {:.2} times", two / one);
    }
}

fn pool(threads: usize) -> rayon::ThreadPool {
    rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a thread pool")
}

/// A tank with six 25 mm jets at 1.5 m/s and boulders in about a quarter of it.
struct Rig {
    flow: Flow,
    scratch: Scratch,
    near: NearField,
    statistics: Statistics,
    velocity: Vec<[f32; 3]>,
    rates: Rates,
    unsampled: f32,
}

impl Rig {
    fn new(h: f32) -> Self {
        let grid = Grid { n: TANK.map(|length| (length / h).round() as usize), h };
        let boulder = |p: [f32; 3], c: [f32; 3], r: f32| ((p[0] - c[0]).powi(2) + (p[1] - c[1]).powi(2) + (p[2] - c[2]).powi(2)).sqrt() - r;
        let rock = move |p: [f32; 3]| {
            let centres = [[0.5, 0.6, 0.1], [1.0, 0.5, 0.2], [1.5, 0.7, 0.15], [2.0, 0.5, 0.2], [2.5, 0.6, 0.1]];
            centres.iter().map(|c| boulder(p, *c, 0.36)).fold(f32::MAX, f32::min)
        };
        let jet = |x: f32, y: f32, into: f32| Jet { at: [x, y, 0.55], direction: [0.3, into, -0.1], bore: 0.025 };
        let jets =
            vec![jet(0.4, 0.0, 1.0), jet(1.4, 0.0, 1.0), jet(2.4, 0.0, 1.0), jet(0.6, 1.2, -1.0), jet(1.6, 1.2, -1.0), jet(2.6, 1.2, -1.0)];
        let sink = |x: f32| Sink { at: [x, 0.3, 0.3], normal: [if x > 1.0 { -1.0 } else { 1.0 }, 0.0, 0.0], size: [0.1, 0.1] };
        let rate = 1.5 * std::f32::consts::FRAC_PI_4 * 0.025 * 0.025;
        let rates = Rates { jets: vec![JetRate { flow: rate, momentum: 1.5 * rate }; 6], sinks: vec![3.0 * rate; 2] };
        let flow = Flow::new(grid, &rock, Ports { jets, sinks: vec![sink(0.0), sink(3.0)] }, Physics::tank(9.4e-7, 1));
        Self {
            scratch: Scratch::new(&flow),
            near: NearField::new(&flow),
            statistics: Statistics::new(grid.cells(), 0.02),
            velocity: vec![[0.0; 3]; grid.cells()],
            unsampled: 0.0,
            rates,
            flow,
        }
    }

    /// One step as a study makes it, with its share of the averages.
    fn advance(&mut self) -> slackwater::flow::StepReport {
        let report = step(&mut self.flow, &mut self.scratch, &self.rates, 1.0);
        self.near.pass(&self.flow, &self.rates, report.dt);
        self.unsampled += report.dt;
        if runner::is_due(f64::from(self.unsampled), f64::from(report.dt)) {
            self.flow.velocity_at_cells(&mut self.velocity);
            self.near.overlay(&self.flow, &mut self.velocity);
            self.statistics.add_gusts(self.near.gusts(), f64::from(self.unsampled));
            self.statistics.add(&self.velocity, self.flow.water_fraction(), f64::from(self.unsampled));
            self.unsampled = 0.0;
        }
        report
    }
}

/// Million cell-steps per second; `alone` is what one thread did.
fn speed(h: f32, threads: usize, alone: Option<f64>) -> f64 {
    let before = resident();
    let mut rig = Rig::new(h);
    let cells = rig.flow.grid().cells();
    let mut settle = 0;
    while rig.flow.time() < SETTLED_AT {
        _ = rig.advance();
        settle += 1;
    }
    let least = if cells < 500_000 { 4.0 } else { 8.0 };
    let (start, busy, from, mut steps, mut cycles, mut worst) = (Instant::now(), on_processor(), rig.flow.time(), 0, 0, 0.0f32);
    while start.elapsed().as_secs_f64() < least {
        let report = rig.advance();
        steps += 1;
        cycles += report.pressure_cycles;
        worst = worst.max(report.divergence_rms * h / 1.5);
    }
    let wall = start.elapsed().as_secs_f64();
    // Right for the first size of a run; later ones are given memory that earlier ones have left.
    let bytes = (resident() - before) / cells as f64;
    let rate = 1e-6 * (cells * steps) as f64 / wall;
    let share = (on_processor() - busy) / wall;
    println!(
        "{:.1} mm, {cells} cells, {threads} thread(s): {rate:.1} million cell-steps/s (thread on a core {:.0} % of the time), {:.2} s per simulated minute ({:.0} times real time), {:.2} pressure cycles a step, divergence rms up to {worst:.1e} U0/h{}",
        1e3 * h,
        100.0 * share,
        60.0 * wall / (rig.flow.time() - from),
        (rig.flow.time() - from) / wall,
        f64::from(cycles) / f64::from(steps as u32),
        alone.map_or(format!(", {bytes:.0} bytes a cell"), |one| format!(", {:.2} of one thread", rate / one)),
    );
    let total: f64 = Operator::ALL.iter().map(|operator| rig.scratch.seconds(*operator)).sum();
    for operator in Operator::ALL {
        let seconds = rig.scratch.seconds(operator);
        println!(
            "    {operator:?}: {:.2} ns a cell-step, {:.0} %",
            1e9 * seconds / (cells * (steps + settle)) as f64,
            100.0 * seconds / total
        );
    }
    rate
}

/// Seconds that this thread has been on a core: on a busy machine it waits for one. 0 where the system doesn't say.
fn on_processor() -> f64 {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    text.split(' ').next().and_then(|first| first.parse::<f64>().ok()).map_or(0.0, |nanoseconds| 1e-9 * nanoseconds)
}

/// Bytes of memory in use. 0 where the system doesn't say.
fn resident() -> f64 {
    let text = std::fs::read_to_string("/proc/self/statm").unwrap_or_default();
    text.split(' ').nth(1).and_then(|pages| pages.parse::<f64>().ok()).map_or(0.0, |pages| 4096.0 * pages)
}

/// What one core's loads and stores of arrays of the solver's size reach: a = b + s c, three streams of 4 bytes (without the line read before a write).
fn bandwidth() {
    for megabytes in [26, 200] {
        let n = megabytes * 1_000_000 / 12;
        let (mut a, b, c) = (vec![0.0f32; n], vec![1.0f32; n], vec![2.0f32; n]);
        let start = Instant::now();
        let mut rounds = 0;
        while start.elapsed().as_secs_f64() < 0.5 {
            for ((a, b), c) in a.iter_mut().zip(&b).zip(&c) {
                *a = b + 0.5 * c;
            }
            std::hint::black_box(&mut a);
            rounds += 1;
        }
        println!(
            "memory, arrays of {megabytes} MB in all, one core: {:.1} GB/s",
            12e-9 * (n * rounds) as f64 / start.elapsed().as_secs_f64()
        );
    }
}
