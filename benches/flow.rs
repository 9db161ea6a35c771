//! Speed of the flow solver, and the free-jet table. `cargo bench --no-default-features --bench flow` prints both.

use slackwater::flow::{Flow, Grid, Jet, JetRate, Physics, Ports, Rates, Scratch, Side, Sink, step};
use std::time::Instant;

fn main() {
    let table = std::env::args().any(|arg| arg == "jets");
    for threads in [1, 2] {
        pool(threads).install(|| speed(threads));
    }
    if table {
        pool(2).install(jet_table);
    }
}

fn pool(threads: usize) -> rayon::ThreadPool {
    rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a thread pool")
}

/// A 3.0 × 1.2 × 0.85 m tank at 25 mm, six 25 mm jets at 1.5 m/s, about a quarter rock.
fn speed(threads: usize) {
    let grid = Grid { n: [120, 48, 34], h: 0.025 };
    let boulder = |p: [f32; 3], c: [f32; 3], r: f32| ((p[0] - c[0]).powi(2) + (p[1] - c[1]).powi(2) + (p[2] - c[2]).powi(2)).sqrt() - r;
    let rock = move |p: [f32; 3]| {
        let centres = [[0.5, 0.6, 0.1], [1.0, 0.5, 0.2], [1.5, 0.7, 0.15], [2.0, 0.5, 0.2], [2.5, 0.6, 0.1]];
        centres.iter().map(|c| boulder(p, *c, 0.36)).fold(f32::MAX, f32::min)
    };
    let jet = |x: f32, y: f32, into: f32| Jet { at: [x, y, 0.55], direction: [0.3, into, -0.1], bore: 0.025 };
    let jets =
        vec![jet(0.4, 0.0, 1.0), jet(1.4, 0.0, 1.0), jet(2.4, 0.0, 1.0), jet(0.6, 1.2, -1.0), jet(1.6, 1.2, -1.0), jet(2.6, 1.2, -1.0)];
    let sink = |x: f32| Sink { at: [x, 0.3, 0.3], normal: [if x > 1.0 { -1.0 } else { 1.0 }, 0.0, 0.0], size: [0.1, 0.1] };
    let flow = 1.5 * std::f32::consts::FRAC_PI_4 * 0.025 * 0.025;
    let rates = Rates { jets: vec![JetRate { flow, momentum: 1.5 * flow }; 6], sinks: vec![3.0 * flow; 2] };
    let mut flow = Flow::new(grid, &rock, Ports { jets, sinks: vec![sink(0.0), sink(3.0)] }, Physics::tank(9.4e-7, 1));
    let mut scratch = Scratch::new(&flow);
    for _ in 0..400 {
        step(&mut flow, &mut scratch, &rates, 1.0);
    }
    let (start, from, mut steps, mut cycles, mut worst) = (Instant::now(), flow.time(), 0, 0, 0.0f32);
    while start.elapsed().as_secs_f64() < 4.0 {
        let report = step(&mut flow, &mut scratch, &rates, 1.0);
        steps += 1;
        cycles += report.pressure_cycles;
        worst = worst.max(report.divergence_rms * grid.h / 1.5);
    }
    let wall = start.elapsed().as_secs_f64();
    println!(
        "{threads} thread(s): {:.1} million cell-steps/s, {:.2} s per simulated minute, {:.2} pressure cycles a step, divergence rms up to {worst:.1e} U0/h",
        1e-6 * (grid.cells() * steps) as f64 / wall,
        60.0 * wall / (flow.time() - from),
        f64::from(cycles) / f64::from(steps as u32),
    );
}

/// Free jets against Uc/U0 = 6 D/x (references 5.1, 5.2 with the origin at the mouth).
fn jet_table() {
    println!("centreline error % at x/h = 15 20 25 30 40 50; half-width slope and momentum/M0 at 30 h");
    for bore in [1.0f32, 2.0] {
        for degrees in [0.0f32, 30.0] {
            free_jet(bore, degrees);
        }
    }
}

fn free_jet(bore: f32, degrees: f32) {
    let h = 0.025;
    let grid = Grid { n: [96, 48, 48], h };
    let (sine, cosine) = degrees.to_radians().sin_cos();
    let at = [0.0, if degrees > 0.0 { 0.25 } else { 0.5 } * 48.0 * h + 0.013 * h, 24.0 * h];
    let wall = Side::Wall { roughness: 0.0 };
    let physics =
        Physics { sides: [wall, Side::Open, Side::Open, Side::Open, Side::Open, Side::Open], noise: 1e-3, ..Physics::tank(1e-6, 3) };
    let jet = Jet { at, direction: [cosine, sine, 0.0], bore: bore * h };
    let flow = std::f32::consts::FRAC_PI_4 * (bore * h).powi(2);
    let rates = Rates { jets: vec![JetRate { flow, momentum: flow }], sinks: vec![] };
    let mut run = Flow::new(grid, &|_| 1.0, Ports { jets: vec![jet], sinks: vec![] }, physics);
    let mut scratch = Scratch::new(&run);
    let far: f32 = if bore > 1.5 { 0.5 } else { 1.0 };
    while run.time() < f64::from(600.0 * h * far) {
        step(&mut run, &mut scratch, &rates, 1.0);
    }
    // Time means over planes across the jet.
    let stations = [15.0f32, 20.0, 25.0, 30.0, 40.0, 50.0];
    let reach = 16i32;
    let side = (2 * reach + 1) as usize;
    let mut means = vec![vec![[0.0f64; 2]; side * side]; stations.len()];
    let mut weight = 0.0;
    let until = run.time() + f64::from(600.0 * h * far);
    while run.time() < until {
        let dt = f64::from(step(&mut run, &mut scratch, &rates, 1.0).dt);
        weight += dt;
        for (station, plane) in stations.iter().zip(&mut means) {
            for (index, slot) in plane.iter_mut().enumerate() {
                let (a, b) = ((index % side) as i32 - reach, (index / side) as i32 - reach);
                let (s, a, b) = (station * h, a as f32 * 0.75 * h, b as f32 * 0.75 * h);
                let place = [at[0] + s * cosine - a * sine, at[1] + s * sine + a * cosine, at[2] + b];
                if let Some(u) = run.sample(place) {
                    let along = f64::from(u[0] * cosine + u[1] * sine);
                    slot[0] += dt * along;
                    slot[1] += dt * along * along;
                }
            }
        }
    }
    print!("D/h {bore}, {degrees:>2} deg:");
    for (station, plane) in stations.iter().zip(&means) {
        let peak = plane.iter().map(|m| m[0] / weight).fold(0.0, f64::max);
        let area = f64::from(0.75 * h).powi(2);
        let above = plane.iter().filter(|m| m[0] / weight > 0.5 * peak).count() as f64 * area;
        let half_width = (above / std::f64::consts::PI).sqrt() / f64::from(station * h);
        let momentum = plane.iter().map(|m| m[1] / weight).sum::<f64>() * area / f64::from(flow);
        print!("  {:+.0} (w {half_width:.3}, M {momentum:.2})", 100.0 * (peak * f64::from(station / (6.0 * bore)) - 1.0));
    }
    println!();
}
