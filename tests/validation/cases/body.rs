//! Bodies in water that starts to move past them, wherever they lie and however they are turned.
//!
//! A periodic box of water is set in motion all at once; what it loses of its momentum is the drag. Averaged from 2 to 5 body widths
//! of way, before the wake comes round the box. Two bodies that differ only in how they lie to the grid must give the same.

use super::{Run, turbulent};
use slackwater::flow::{Grid, Side};

/// A body, the way the water goes past it, and how they lie to the grid (width 8 cells).
#[derive(Debug, Clone, Copy)]
pub struct Lie {
    pub name: &'static str,
    pub shape: Shape,
    /// Centre, from the middle of the box, cells.
    pub offset: [f32; 3],
    /// Turn about z, degrees: of the body and of the water alike.
    pub yaw: f32,
    /// Then about the level axis across the water, degrees.
    pub pitch: f32,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    Ball,
    Cube,
}

/// Drag coefficient, and the speed one width behind the body at the end, over the water's.
#[derive(Debug, Clone, Copy)]
pub struct Drag {
    pub coefficient: f64,
    pub wake: f64,
}

pub const WIDTH: f32 = 8.0;
const H: f32 = 0.025;
const SPEED: f32 = 0.3;

pub const LIES: [Lie; 10] = [
    Lie { name: "ball in the middle of eight cells", shape: Shape::Ball, offset: [0.0; 3], yaw: 0.0, pitch: 0.0 },
    Lie { name: "ball in the middle of a cell", shape: Shape::Ball, offset: [0.5; 3], yaw: 0.0, pitch: 0.0 },
    Lie { name: "ball anywhere", shape: Shape::Ball, offset: [0.25, 0.4, 0.1], yaw: 0.0, pitch: 0.0 },
    Lie { name: "ball, water at 22.5 deg", shape: Shape::Ball, offset: [0.25, 0.4, 0.1], yaw: 22.5, pitch: 0.0 },
    Lie { name: "ball, water at 45 and 35 deg", shape: Shape::Ball, offset: [0.25, 0.4, 0.1], yaw: 45.0, pitch: 35.26 },
    Lie { name: "cube on faces of cells", shape: Shape::Cube, offset: [0.0; 3], yaw: 0.0, pitch: 0.0 },
    Lie { name: "cube between faces of cells", shape: Shape::Cube, offset: [0.3, 0.4, 0.4], yaw: 0.0, pitch: 0.0 },
    Lie { name: "cube, turned by 22.5 deg", shape: Shape::Cube, offset: [0.25, 0.4, 0.1], yaw: 22.5, pitch: 0.0 },
    Lie { name: "cube, turned by 45 deg", shape: Shape::Cube, offset: [0.25, 0.4, 0.1], yaw: 45.0, pitch: 0.0 },
    Lie { name: "cube, turned by 45 and 35 deg", shape: Shape::Cube, offset: [0.25, 0.4, 0.1], yaw: 45.0, pitch: 35.26 },
];

/// With cells so many times finer.
pub fn drag(lie: &Lie, finer: usize) -> Drag {
    let (n, h) = (40 * finer, H / finer as f32);
    let grid = Grid { n: [n; 3], h };
    let middle: [f32; 3] = std::array::from_fn(|d| (0.5 * n as f32 + lie.offset[d]) * h);
    let axes = axes(lie);
    let half = 0.5 * WIDTH * H;
    let shape = lie.shape;
    let solid = move |p: [f32; 3]| {
        let own: [f32; 3] = std::array::from_fn(|a| (0..3).map(|d| axes[a][d] * (p[d] - middle[d])).sum());
        let out = own.map(|c| c.abs() - half);
        match shape {
            Shape::Ball => own.iter().map(|c| c * c).sum::<f32>().sqrt() - half,
            Shape::Cube => out[0].max(out[1]).max(out[2]).min(0.0) + out.iter().map(|c| c.max(0.0).powi(2)).sum::<f32>().sqrt(),
        }
    };
    let along = axes[0];
    let mut run = Run::new(grid, &solid, turbulent(1e-6, [Side::Periodic; 6])).with_velocity(&|_| along.map(|c| SPEED * c));
    let way = |widths: f32| f64::from(widths * WIDTH * H / SPEED);
    run.until(way(2.0));
    let before = momentum(&run, along);
    run.until(way(5.0));
    let lost = before - momentum(&run, along);
    let area = if shape == Shape::Ball { std::f64::consts::FRAC_PI_4 } else { 1.0 } * f64::from(WIDTH * H).powi(2);
    let speed = 0.5 * (before + momentum(&run, along)) / (n as f64 * f64::from(h)).powi(3);
    let coefficient = lost / way(3.0) / (0.5 * speed * speed * area);
    let behind = std::array::from_fn(|d| middle[d] + 1.5 * WIDTH * H * along[d]);
    let wake = run.flow.sample(behind).unwrap();
    Drag { coefficient, wake: (0..3).map(|d| f64::from(wake[d] * along[d])).sum::<f64>() / f64::from(SPEED) }
}

/// The body's own axes: the first goes with the water.
fn axes(lie: &Lie) -> [[f32; 3]; 3] {
    let ((s, c), (t, d)) = (lie.yaw.to_radians().sin_cos(), lie.pitch.to_radians().sin_cos());
    [[c * d, s * d, t], [-s, c, 0.0], [-c * t, -s * t, d]]
}

fn momentum(run: &Run, along: [f32; 3]) -> f64 {
    let volume = f64::from(run.flow.grid().h).powi(3);
    run.at_cells().iter().map(|u| (0..3).map(|d| f64::from(u[d] * along[d])).sum::<f64>()).sum::<f64>() * volume
}
