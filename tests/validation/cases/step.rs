//! Water that leaves an edge and comes back to a wall.

use super::stirred::{Inflow, Stirring};
use super::{Outcome, Plot, Row, Run, WALL, laminar, rises_through_zero, turbulent};
use slackwater::flow::{Grid, Physics, Side};

/// Erturk 2008 (reference 6.12): reattachment over step height at Re 100, 200, ... (mean inlet speed, twice the step).
const ERTURK: [f64; 4] = [2.922, 4.982, 6.761, 8.237];

/// Laminar backward-facing step, inlet as high as the step, `n` cells each, with a force that brings about this Reynolds number.
pub fn laminar_step(n: usize, reynolds: f64, end: f64) -> Outcome {
    // Step and inlet height 1, mean speed about 1: inlet 4 long, then 16.
    let (h, inlet, length) = (1.0 / n as f32, 4 * n, 20 * n);
    let viscosity = (2.0 / reynolds) as f32;
    // Friction 12 ν u L/H² of plane Poiseuille flow over the inlet, and over the outlet at half the speed and twice the height, less the
    // pressure 0.3 that the widening gives back.
    let force = (12.0 * viscosity * (4.0 + 16.0 / 8.0) - 0.3) / 20.0;
    let sides = [Side::Open, Side::Open, Side::Slip, Side::Slip, WALL, WALL];
    let physics = Physics { body_force: [force, 0.0, 0.0], ..laminar(viscosity, sides) };
    let edge = 4.0;
    let step = move |p: [f32; 3]| (p[0] - edge).max(p[2] - 1.0);
    let grid = Grid { n: [length, 1, 2 * n], h };
    let start = |p: [f32; 3]| if p[2] > 1.0 { [6.0 * (p[2] - 1.0) * (2.0 - p[2]), 0.0, 0.0] } else { [0.0; 3] };
    let mut run = Run::new(grid, &step, physics).with_velocity(&start);
    run.until(end);
    let now = run.at_cells();
    let mean = (n..2 * n).map(|k| f64::from(now[grid.index([inlet - n / 2, 0, k])][0])).sum::<f64>() / n as f64;
    let reached = mean * 2.0 / f64::from(viscosity);
    let floor: Vec<[f64; 2]> = (inlet..length)
        .map(|i| [(i - inlet) as f64 * f64::from(h), f64::from(now[grid.index([i, 0, 0])][0])])
        .map(|[x, u]| [x + 0.5 * f64::from(h), u])
        .collect();
    let got = rises_through_zero(&floor, 0.2);
    let place = (reached / 100.0 - 1.0).clamp(0.0, 2.999);
    let (low, part) = (place as usize, place.fract());
    let wanted = ERTURK[low] + part * (ERTURK[low + 1] - ERTURK[low]);
    let case = format!("laminar step, {n} cells, Re {reached:.0}, reattachment over step height");
    Outcome {
        rows: vec![Row { case, source: "Erturk 2008, between its lines (6.12)", wanted, tolerance: 0.03 * wanted, got }],
        plots: vec![Plot {
            name: format!("laminar step {n}"),
            axes: ["distance over step height", "speed at the floor"],
            computed: floor,
            published: vec![[wanted, 0.0]],
        }],
    }
}

/// Root mean square of a velocity component over the mean speed, over the span of one line of cells across the stream.
fn intensity(grid: &Grid, (mean, variance): (&[[f64; 3]], &[f64]), i: usize, k: usize) -> f64 {
    let line = || (0..grid.n[1]).map(|j| grid.index([i, j, k]));
    let speed = line().map(|cell| mean[cell][0]).sum::<f64>() / grid.n[1] as f64;
    (line().map(|cell| variance[cell]).sum::<f64>() / grid.n[1] as f64).sqrt() / speed
}

/// The published boundary layer, one and a half step heights thick over the edge at 1: power law (Schlichting; 1/7, from memory).
fn boundary_layer(z: f32) -> f32 {
    ((z - 1.0) / 1.5).clamp(0.0, 1.0).powf(1.0 / 7.0)
}

/// Developed channel flow between walls at 0 and 2, over its mean speed: the same power law, 8/7 in the middle.
fn channel(z: f32) -> f32 {
    8.0 / 7.0 * z.min(2.0 - z).clamp(0.0, 1.0).powf(1.0 / 7.0)
}

/// Boundary layer before the step, one and a half step heights thick as in the published case; stirred from its floor to its edge.
const BEFORE_THE_STEP: Stirring = Stirring {
    inflow: Some(Inflow { face: [[0.0, 0.0, 1.0], [0.0, 3.0, 6.0]], mouths: [12, 20], speed: 1.0, profile: boundary_layer }),
    block: [[0.5, 0.0, 1.05], [1.5, 3.0, 2.5]],
    places: [2, 6, 3],
    push: 0.019,
    memory: 0.5,
};

/// Turbulent backward-facing step, `n` cells high, expansion 1.2, step Reynolds number 36 000.
pub fn turbulent_step(n: usize, end: f64) -> Outcome {
    let (h, inlet, length) = (1.0 / n as f32, 4 * n, 18 * n);
    let sides = [Side::Slip, Side::Open, Side::Periodic, Side::Periodic, WALL, WALL];
    let physics = Physics { noise: 0.05, ..turbulent(1.0 / 36_000.0, sides) };
    let step = |p: [f32; 3]| (p[0] - 4.0).max(p[2] - 1.0);
    let grid = Grid { n: [length, 3 * n, 6 * n], h };
    let start = |p: [f32; 3]| {
        let roll = 0.1 * (std::f32::consts::TAU * p[1] / 3.0 * 2.0).sin() * (p[0] * 2.0).cos();
        if p[2] > 1.0 { [1.0, roll, 0.5 * roll] } else { [0.0; 3] }
    };
    let mut run = Run::stirred(grid, &step, physics, BEFORE_THE_STEP).with_velocity(&start);
    run.until(0.4 * end);
    let (mean, variance) = run.moments_until(end);
    let floor = floor_line(&grid, &mean, inlet);
    let got = rises_through_zero(&floor, 1.5);
    let case = format!("turbulent step, {n} cells, reattachment over step height");
    let approach = Row {
        case: format!("turbulent step, {n} cells, intensity half a step height before and over the edge"),
        source: "boundary layer at a third of its thickness (Klebanoff 1955, from memory)",
        wanted: 0.06,
        tolerance: 0.02,
        got: intensity(&grid, (&mean, &variance), inlet - n / 2, n + n / 2),
    };
    Outcome {
        rows: vec![
            Row { case, source: "5.5 to 7.0; Driver and Seegmiller 1985: 6.26 (6.13)", wanted: 6.25, tolerance: 0.75, got },
            approach,
        ],
        plots: vec![Plot {
            name: format!("turbulent step {n}"),
            axes: ["distance over step height", "speed at the floor"],
            computed: floor,
            published: vec![[6.26, 0.0]],
        }],
    }
}

/// Mean over the span of the speed in the lowest cells, from cell `from` on.
fn floor_line(grid: &Grid, mean: &[[f64; 3]], from: usize) -> Vec<[f64; 2]> {
    let span = |i: usize| (0..grid.n[1]).map(|j| mean[grid.index([i, j, 0])][0]).sum::<f64>() / grid.n[1] as f64;
    (from..grid.n[0]).map(|i| [((i - from) as f64 + 0.5) * f64::from(grid.h), span(i)]).collect()
}

/// A whole cross-section of the channel, three heights before the cube.
const BEFORE_THE_CUBE: Stirring = Stirring {
    inflow: Some(Inflow { face: [[0.0, 0.0, 0.0], [0.0, 7.0, 2.0]], mouths: [28, 8], speed: 1.0, profile: channel }),
    block: [[0.5, 0.0, 0.0], [1.5, 7.0, 2.0]],
    places: [2, 14, 4],
    push: 0.024,
    memory: 0.5,
};

/// Cube on the floor of a channel twice its height, `n` cells high, in a row of cubes far apart across the stream.
pub fn cube(n: usize, end: f64) -> Outcome {
    let h = 1.0 / n as f32;
    let (front, middle) = (4.0f32, 3.5f32);
    let grid = Grid { n: [14 * n, 7 * n, 2 * n], h };
    let sides = [Side::Slip, Side::Open, Side::Periodic, Side::Periodic, WALL, WALL];
    let physics = Physics { noise: 0.05, rock_roughness: 0.0, ..turbulent(1.0 / 40_000.0, sides) };
    let cube = move |p: [f32; 3]| (p[0] - front - 0.5).abs().max((p[1] - middle).abs()).max(p[2] - 0.5) - 0.5;
    let start = |p: [f32; 3]| [1.0 + 0.1 * (p[1] * 1.795).sin(), 0.1 * (p[0] * 0.898).sin(), 0.0];
    let mut run = Run::stirred(grid, &cube, physics, BEFORE_THE_CUBE).with_velocity(&start);
    run.until(0.35 * end);
    let (mean, variance) = run.moments_until(end);
    let line = |k: usize| -> Vec<[f64; 2]> {
        let sides = [7 * n / 2 - 1, 7 * n / 2];
        let speed = |i: usize| sides.iter().map(|j| mean[grid.index([i, *j, k])][0]).sum::<f64>() / 2.0;
        (0..grid.n[0]).map(|i| [(i as f64 + 0.5) * f64::from(h) - f64::from(front) - 1.0, speed(i)]).collect()
    };
    let floor = line(0);
    let row = |case: &str, wanted: f64, got: f64| Row {
        case: format!("cube on the floor, {n} cells, {case}"),
        source: "Martinuzzi and Tropea 1993 (6.15; numbers from memory)",
        wanted,
        tolerance: 0.3,
        got,
    };
    let upstream: Vec<[f64; 2]> = floor.iter().rev().filter(|point| point[0] < -1.0).map(|point| [-point[0] - 1.0, point[1]]).collect();
    let approach = Row {
        case: format!("cube on the floor, {n} cells, intensity one height before it at half its height"),
        source: "channel flow, 1.5 u* at a quarter of its height, u* 0.047 U (from memory)",
        wanted: 0.07,
        tolerance: 0.02,
        got: intensity(&grid, (&mean, &variance), 3 * n, n / 2),
    };
    let rows = vec![
        approach,
        row("reattachment behind its rear face over its height", 1.6, rises_through_zero(&floor, 0.3)),
        row("separation before its front face over its height", 1.04, rises_through_zero(&upstream, 0.1)),
    ];
    let published = vec![[1.61, 0.0], [-2.04, 0.0]];
    let plot =
        Plot { name: format!("cube {n}"), axes: ["distance behind its rear face", "speed at the floor"], computed: floor, published };
    Outcome { rows, plots: vec![plot] }
}
