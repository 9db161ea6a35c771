//! What the measures cost: bytes per cell and seconds. `cargo bench --no-default-features --bench measures` prints it.

use slackwater::study::{
    Control, Fields, age,
    detritus::{Plan, follow},
    mixing,
    recording::Recording,
    scalar::Scalar,
    statistics::Statistics,
};
use std::{f64::consts::PI, time::Instant};

fn main() {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(2).build().expect("a thread pool");
    pool.install(|| {
        sampling();
        carrying();
    });
}

/// One sample into the averages of 200 000 cells.
fn sampling() {
    let cells = 200_000;
    let mut statistics = Statistics::new(cells, 0.02).watching(20.0, Vec::new());
    let velocity: Vec<[f32; 3]> =
        (0..cells).map(|cell| [0.2 * (cell as f32 * 0.37).sin(), 0.1, 0.05 * (cell as f32 * 0.11).cos()]).collect();
    let water = vec![1.0; cells];
    let (begun, samples) = (Instant::now(), 300);
    (0..samples).for_each(|_| statistics.add(&velocity, &water, 0.1));
    let each = begun.elapsed().as_secs_f64() / f64::from(samples);
    let begun = Instant::now();
    let fields: Fields = statistics.fields([cells, 1, 1], 0.025, &water);
    println!(
        "averages: {} bytes per cell, {:.1} ns per cell and sample (10 samples a simulated second); fields of {} cells in {:.0} ms",
        Statistics::bytes_per_cell(),
        each / cells as f64 * 1e9,
        fields.len(),
        begun.elapsed().as_secs_f64() * 1e3
    );
}

/// A vortex in a box with a nozzle and an intake, 40 × 20 × 20 cells of 5 cm.
fn carrying() {
    let (n, h) = ([40, 20, 20], 0.05);
    let stream = |x: f64, y: f64| 0.05 * (PI * x / 2.0).sin() * (PI * y).sin();
    let mut recording = Recording::steady(n, h, |axis, p| match axis {
        0 => (stream(p[0], p[1] + h / 2.0) - stream(p[0], p[1] - h / 2.0)) / h,
        1 => -(stream(p[0] + h / 2.0, p[1]) - stream(p[0] - h / 2.0, p[1])) / h,
        _ => 0.0,
    });
    let all: Vec<(usize, f32)> = (0..16_000).map(|cell| (cell, 1.0 / 16_000.0)).collect();
    (recording.jets, recording.sinks) = (vec![all.clone()], vec![all]);
    (recording.streams[0].jets, recording.streams[0].sinks) = (vec![5e-3], vec![5e-3]);
    let cells = recording.water.len() as f64;
    let timed = |what: &str, seconds: f64, bytes: f64, begun: Instant| {
        let wall = begun.elapsed().as_secs_f64();
        println!(
            "{what}: {bytes} bytes per cell, {wall:.2} s for {seconds:.0} simulated s, {:.1} ns per cell and simulated s",
            wall / seconds / cells * 1e9
        );
    };
    let begun = Instant::now();
    if let Some(age::Aged { record, .. }) = age::age(&recording, &mut |_, _| Control::Go) {
        timed("age", record.carried_s, Scalar::BYTES_PER_CELL as f64, begun);
    }
    let begun = Instant::now();
    let mixed = mixing::mixing(&recording, &[(100, 1.0)], 600.0, &mut |_, _| Control::Go);
    timed("dye", mixed.followed_s, Scalar::BYTES_PER_CELL as f64, begun);
    let begun = Instant::now();
    let plan = Plan { settling: 1e-4, lifting: 0.01, count: 2000, seconds: 600.0, seed: 1 };
    let fate = follow(&recording, &[], &plan, &mut |_, _| Control::Go);
    println!(
        "detritus: {:.1} µs per particle and simulated second ({} of {} settled)",
        begun.elapsed().as_secs_f64() / 2000.0 / fate.followed_s * 1e6,
        fate.settled,
        fate.count
    );
}
