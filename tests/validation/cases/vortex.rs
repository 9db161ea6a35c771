//! Decaying vortices.

use super::{Outcome, Row, Run, all_water, laminar, turbulent};
use slackwater::flow::{Grid, Physics, Side};
use std::f32::consts::{PI, TAU};

/// Root mean square error of a Taylor-Green vortex in a slip box of π × π after a time of 1, ν = 0.05.
fn taylor_green_error(n: usize) -> f64 {
    let grid = Grid { n: [n, n, 1], h: PI / n as f32 };
    let start = |p: [f32; 3]| [p[0].sin() * p[1].cos(), -p[0].cos() * p[1].sin(), 0.0];
    let mut run = Run::new(grid, &all_water, laminar(0.05, [Side::Slip; 6])).with_velocity(&start);
    while run.flow.time() < 1.0 - 1e-6 {
        let end = (run.flow.time() + f64::from(0.2 * grid.h)).min(1.0);
        run.step(end);
    }
    // At cells stands the mean of two faces.
    let factor = (-2.0f32 * 0.05).exp() * (0.5 * grid.h).cos();
    error(&grid, &run, |p| factor * p[0].sin() * p[1].cos())
}

/// The same for a layer sin y along x, which no convection changes: order of stresses and time alone.
fn shear_layer_error(n: usize) -> f64 {
    let grid = Grid { n: [2, n, 1], h: TAU / n as f32 };
    let joined = [Side::Periodic, Side::Periodic, Side::Periodic, Side::Periodic, Side::Slip, Side::Slip];
    let mut run = Run::new(grid, &all_water, laminar(0.5, joined)).with_velocity(&|p| [p[1].sin(), 0.0, 0.0]);
    run.until(1.0);
    error(&grid, &run, |p| (-0.5f32).exp() * p[1].sin())
}

fn error(grid: &Grid, run: &Run, exact: impl Fn([f32; 3]) -> f32) -> f64 {
    let now = run.at_cells();
    let cells = (0..grid.n[1]).flat_map(|j| (0..grid.n[0]).map(move |i| [i, j, 0]));
    let sum: f64 = cells.map(|cell| f64::from(now[grid.index(cell)][0] - exact(grid.centre(cell))).powi(2)).sum();
    (sum / now.len() as f64).sqrt()
}

/// Order of accuracy from n to 2n cells, with convection (reference 6.8).
pub fn order_of_vortex(n: usize) -> Outcome {
    order(
        &format!("Taylor-Green vortex, order from {n} to {} cells", 2 * n),
        "Taylor and Green 1937 (6.8)",
        [n, 2 * n].map(taylor_green_error),
    )
}

/// The same without convection. Beyond 128 cells the errors are those of single precision.
pub fn order_of_stresses(n: usize) -> Outcome {
    order(&format!("shear layer, order of stresses from {n} to {} cells", 2 * n), "exact decay exp(-νt)", [n, 2 * n].map(shear_layer_error))
}

fn order(case: &str, source: &'static str, [coarse, fine]: [f64; 2]) -> Outcome {
    let row = Row { case: case.to_string(), source, wanted: 2.0, tolerance: 0.2, got: (coarse / fine).log2() };
    Outcome { rows: vec![row], plots: vec![] }
}

/// Taylor-Green vortex in three dimensions at Re 1600 (reference 6.9): when the energy falls fastest, and how fast.
pub fn cubic_vortex(n: usize) -> Outcome {
    let grid = Grid { n: [n; 3], h: TAU / n as f32 };
    let physics = Physics { noise: 0.0, ..turbulent(1.0 / 1600.0, [Side::Periodic; 6]) };
    let start = |p: [f32; 3]| [p[0].sin() * p[1].cos() * p[2].cos(), -p[0].cos() * p[1].sin() * p[2].cos(), 0.0];
    let mut run = Run::new(grid, &all_water, physics).with_velocity(&start);
    let mut energies = vec![[0.0, energy(&run)]];
    for tenth in 1..=120 {
        run.until(0.1 * f64::from(tenth));
        energies.push([run.flow.time(), energy(&run)]);
    }
    let fall = |w: &[[f64; 2]]| [0.5 * (w[0][0] + w[5][0]), (w[0][1] - w[5][1]) / (w[5][0] - w[0][0])];
    let computed: Vec<[f64; 2]> = energies.windows(6).map(fall).collect();
    let peak = computed.iter().copied().fold([0.0; 2], |best, point| if point[1] > best[1] { point } else { best });
    let source = "van Rees and others 2011 (6.9; numbers from memory)";
    let row = |case: &str, wanted: f64, tolerance: f64, got: f64| Row {
        case: format!("cubic Taylor-Green vortex, Re 1600, {n} cells, {case}"),
        source,
        wanted,
        tolerance,
        got,
    };
    let rows = vec![row("time of the peak", 9.0, 1.0, peak[0]), row("greatest loss of energy", 0.0128, 0.3 * 0.0128, peak[1])];
    let plot =
        super::Plot { name: format!("cubic vortex {n}"), axes: ["time", "loss of energy"], computed, published: vec![[9.0, 0.0128]] };
    Outcome { rows, plots: vec![plot] }
}

fn energy(run: &Run) -> f64 {
    let now = run.at_cells();
    now.iter().map(|u| 0.5 * u.iter().map(|c| f64::from(*c).powi(2)).sum::<f64>()).sum::<f64>() / now.len() as f64
}
