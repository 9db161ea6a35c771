//! Channels between two plates, driven by a steady force.

use super::{Outcome, Plot, Row, Run, WALL, all_water, laminar, turbulent};
use slackwater::flow::{Grid, Physics, Side};

/// Plane Poiseuille flow, n cells high, edge 1 (reference 6.11).
pub fn laminar_channel(n: usize) -> Outcome {
    let (viscosity, force) = (0.1, 1.2);
    let sides = [Side::Periodic, Side::Periodic, Side::Periodic, Side::Periodic, WALL, WALL];
    let physics = Physics { body_force: [force, 0.0, 0.0], ..laminar(viscosity, sides) };
    let mut run = Run::new(Grid { n: [2, 2, n], h: 1.0 / n as f32 }, &all_water, physics);
    run.until(12.0);
    let profile: Vec<f64> = run.at_cells().iter().step_by(4).map(|u| f64::from(u[0])).collect();
    let mean = profile.iter().sum::<f64>() / n as f64;
    // The middle lies between two cells: value of the parabola through the nearest four.
    let (near, next) = (profile[n / 2], profile[n / 2 + 1]);
    let middle = near + (near - next) / 8.0;
    let row = |case: &str, wanted: f64, got: f64| Row {
        case: format!("plane channel, {n} cells, {case}"),
        source: "plane Poiseuille flow (6.11)",
        wanted,
        tolerance: 0.005 * wanted,
        got,
    };
    let friction = 8.0 * f64::from(force) / (f64::from(viscosity) * mean);
    Outcome { rows: vec![row("u_max/u_mean", 1.5, middle / mean), row("f Re", 96.0, friction)], plots: vec![] }
}

/// von Kármán's constant, and the smooth wall's in the log law (reference 6.22).
const KARMAN: f64 = 0.41;
const SMOOTH: f64 = 5.2;

/// Turbulent channel of half height 1, friction speed 1, `n` cells high. `roughness` is k_s over the half height; 0 is smooth at Re_τ 2000.
pub fn turbulent_channel(n: usize, roughness: f32, length: f64) -> Outcome {
    let (h, reynolds) = (2.0 / n as f32, 2000.0f64);
    let wall = Side::Wall { roughness };
    let sides = [Side::Periodic, Side::Periodic, Side::Periodic, Side::Periodic, wall, wall];
    let physics = Physics { body_force: [1.0, 0.0, 0.0], noise: 1.0, ..turbulent(1.0 / reynolds as f32, sides) };
    let law =
        |y: f64| if roughness > 0.0 { (30.0 * y / f64::from(roughness)).ln() / KARMAN } else { (y * reynolds).ln() / KARMAN + SMOOTH };
    let grid = Grid { n: [3 * n, 3 * n / 2, n], h };
    let start = |p: [f32; 3]| {
        let (x, y, z) = (f64::from(p[0]), f64::from(p[1]), f64::from(p[2]));
        let wave = std::f64::consts::TAU / 3.0;
        let near = z.min(2.0 - z).max(0.02);
        let swirl = 2.0 * (wave * y * 2.0).sin() * (std::f64::consts::PI * z).sin();
        [law(near) as f32, (2.0 * (wave * x).sin()) as f32, (swirl * (wave * x).cos()) as f32]
    };
    let mut run = Run::new(grid, &all_water, physics).with_velocity(&start);
    run.until(length);
    let mean = run.mean_until(2.0 * length);
    let layer = |k: usize| {
        mean[k * grid.n[0] * grid.n[1]..][..grid.n[0] * grid.n[1]].iter().map(|u| u[0]).sum::<f64>() / (grid.n[0] * grid.n[1]) as f64
    };
    let profile: Vec<[f64; 2]> = (0..n).map(|k| [(k as f64 + 0.5) * f64::from(h), layer(k)]).collect();
    let bulk = profile.iter().map(|point| point[1]).sum::<f64>() / n as f64;
    let (name, source, wanted) = if roughness > 0.0 {
        ("rough", "log law, Nikuradse 1933, mean over the height (6.22)", law(1.0) - 1.0 / KARMAN)
    } else {
        // Cf = 2/U² = 0.073 (2U Re_τ)^(-1/4).
        ("smooth", "Dean 1978 (6.22)", (2.0 / 0.073 * (2.0 * reynolds).powf(0.25)).powf(1.0 / 1.75))
    };
    Outcome {
        rows: vec![Row {
            case: format!("{name} channel, {n} cells, mean speed over friction speed"),
            source,
            wanted,
            tolerance: 0.05 * wanted,
            got: bulk,
        }],
        plots: vec![Plot {
            name: format!("{name} channel {n}"),
            axes: ["height over half height", "speed over friction speed"],
            computed: profile.clone(),
            published: profile.iter().map(|point| [point[0], law(point[0].min(2.0 - point[0]))]).collect(),
        }],
    }
}
