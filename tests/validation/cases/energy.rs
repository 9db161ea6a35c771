//! Where energy goes (reference 12.3): what drives the water is what friction takes, and what the scheme takes besides.

use super::{Outcome, Plot, Row, Run, WALL, all_water, laminar};
use slackwater::flow::{Grid, Physics, Side};
use std::f64::consts::TAU;

/// Steady duct, n × n cells: power of the driving force over what viscosity takes, from differences of the computed velocity.
pub fn duct(n: usize) -> Outcome {
    let (viscosity, force, h) = (1e-3f32, 1e-2f32, 0.01 / n as f32);
    let grid = Grid { n: [4, n, n], h };
    let physics = Physics { body_force: [force, 0.0, 0.0], ..laminar(viscosity, [Side::Periodic, Side::Periodic, WALL, WALL, WALL, WALL]) };
    let mut run = Run::new(grid, &all_water, physics);
    run.until(0.6 * 0.01f64.powi(2) / f64::from(viscosity));
    let now = run.at_cells();
    let u = |j: usize, k: usize| f64::from(now[grid.index([1, j, k])][0]);
    let (mut driven, mut lost) = (0.0, 0.0);
    for a in 0..n {
        for b in 0..n {
            driven += f64::from(force) * u(a, b);
            // Squares of slopes between neighbours along both axes.
            if b + 1 < n {
                lost += (u(a, b + 1) - u(a, b)).powi(2) + (u(b + 1, a) - u(b, a)).powi(2);
            }
        }
        // Half a cell from the wall to the first cell: the slope there is that of a parabola through zero, mean square over the half cell.
        for (near, next) in [(u(a, 0), u(a, 1)), (u(a, n - 1), u(a, n - 2)), (u(0, a), u(1, a)), (u(n - 1, a), u(n - 2, a))] {
            let (at_wall, at_cell) = (3.0 * near - next / 3.0, near + next / 3.0);
            lost += 0.5 * (at_wall * at_wall + at_wall * at_cell + at_cell * at_cell) / 3.0;
        }
    }
    lost *= f64::from(viscosity) / f64::from(h).powi(2);
    let row = Row {
        case: format!("duct, {n} cells: what viscosity takes over what the force does"),
        source: "steady flow (12.3)",
        wanted: 1.0,
        tolerance: 0.02,
        got: lost / driven,
    };
    Outcome { rows: vec![row], plots: vec![] }
}

/// Decaying flat vortices, n cells a wave, Re 100: energy that went over what viscosity took of the computed velocity on the way.
pub fn vortices(n: usize) -> Outcome {
    let (viscosity, h) = (0.01f32, 1.0 / n as f32);
    let grid = Grid { n: [n, n, 1], h };
    let mut run = Run::new(grid, &all_water, laminar(viscosity, [Side::Periodic; 6])).with_velocity(&|p| {
        let [x, y] = [p[0], p[1]].map(|c| (TAU * f64::from(c)) as f32);
        [x.sin() * y.cos(), -x.cos() * y.sin(), 0.0]
    });
    let look = |run: &Run| {
        let now = run.at_cells();
        let u = |i: usize, j: usize| now[grid.index([i % n, j % n, 0])].map(f64::from);
        let (mut energy, mut square) = (0.0, 0.0);
        for i in 0..n {
            for j in 0..n {
                let (here, east, north) = (u(i, j), u(i + 1, j), u(i, j + 1));
                energy += 0.5 * (here[0] * here[0] + here[1] * here[1]);
                square += (0..2).map(|d| (east[d] - here[d]).powi(2) + (north[d] - here[d]).powi(2)).sum::<f64>();
            }
        }
        [energy, square * f64::from(viscosity) / f64::from(h).powi(2)]
    };
    let first = look(&run);
    let (mut now, mut taken, mut curve) = (first, 0.0, vec![]);
    while run.flow.time() < 1.0 - 1e-6 {
        let dt = run.step(1.0);
        let next = look(&run);
        taken += 0.5 * dt * (now[1] + next[1]);
        now = next;
        curve.push([run.flow.time(), now[0] / first[0]]);
    }
    let rate = 4.0 * f64::from(viscosity) * TAU * TAU;
    let published = (0..=10).map(|t| [f64::from(t) / 10.0, (-rate * f64::from(t) / 10.0).exp()]).collect();
    let row = |case: String, wanted: f64, tolerance: f64, got: f64| Row {
        case,
        source: "Taylor and Green 1937 (6.8, 12.3)",
        wanted,
        tolerance,
        got,
    };
    Outcome {
        rows: vec![
            row(format!("vortices, {n} cells: what viscosity takes over what goes"), 1.0, 0.02, taken / (first[0] - now[0])),
            row(format!("vortices, {n} cells: energy left after 1 s"), (-rate).exp(), 0.02 * (-rate).exp(), now[0] / first[0]),
        ],
        plots: vec![Plot {
            name: format!("energy of vortices {n}"),
            axes: ["time, s", "energy over that at the start"],
            computed: curve,
            published,
        }],
    }
}
