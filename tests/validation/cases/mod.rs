//! Published flows, each as a function of resolution and length of run: the tests run them small, `benches/flow_cases.rs` in full.

#![allow(dead_code, reason = "the tests and the bench each use a part")]

pub mod body;
pub mod cavity;
pub mod channel;
pub mod energy;
pub mod intake;
pub mod step;
pub mod stirred;
pub mod vortex;

use slackwater::flow::{Flow, Grid, JetClosure, Physics, Ports, Rates, Scratch, Side, step};
use stirred::{Stirrers, Stirring};

/// A wall as smooth as can be.
pub const WALL: Side = Side::Wall { roughness: 0.0 };

/// One line of the table: a number, its source, and what was wanted.
#[derive(Debug, Clone)]
pub struct Row {
    pub case: String,
    pub source: &'static str,
    pub wanted: f64,
    pub tolerance: f64,
    pub got: f64,
}

impl Row {
    pub fn holds(&self) -> bool {
        (self.got - self.wanted).abs() <= self.tolerance
    }
}

/// A computed curve and the published points that belong to it.
#[derive(Debug, Clone)]
pub struct Plot {
    pub name: String,
    /// Titles of the two axes.
    pub axes: [&'static str; 2],
    pub computed: Vec<[f64; 2]>,
    pub published: Vec<[f64; 2]>,
}

/// What a case has to say.
#[derive(Debug, Clone, Default)]
pub struct Outcome {
    pub rows: Vec<Row>,
    pub plots: Vec<Plot>,
}

impl Outcome {
    /// Prints every row; fails when one misses.
    pub fn check(&self) {
        for row in &self.rows {
            println!("{} ({}): wanted {} ± {:.4}, got {:.4}", row.case, row.source, row.wanted, row.tolerance, row.got);
        }
        let missed: Vec<_> = self.rows.iter().filter(|row| !row.holds()).collect();
        assert!(missed.is_empty(), "{missed:?}");
    }
}

/// No solids.
pub fn all_water(_: [f32; 3]) -> f32 {
    1.0
}

/// Only the equations: no noise, no turbulence model.
pub fn laminar(viscosity: f32, sides: [Side; 6]) -> Physics {
    Physics { sides, noise: 0.0, smagorinsky: 0.0, jet_closure: JetClosure::None, ..Physics::tank(viscosity, 1) }
}

/// As in a tank, but for the sides and the jets.
pub fn turbulent(viscosity: f32, sides: [Side; 6]) -> Physics {
    Physics { sides, jet_closure: JetClosure::None, ..Physics::tank(viscosity, 1) }
}

/// A flow without ports but for those that stir it, and its workspace.
pub struct Run {
    pub flow: Flow,
    scratch: Scratch,
    stirrers: Option<Stirrers>,
}

impl Run {
    pub fn new(grid: Grid, solids: &(dyn Fn([f32; 3]) -> f32 + Sync), physics: Physics) -> Self {
        let flow = Flow::new(grid, solids, Ports::default(), physics);
        Self { scratch: Scratch::new(&flow), flow, stirrers: None }
    }

    /// One whose water is stirred somewhere.
    pub fn stirred(grid: Grid, solids: &(dyn Fn([f32; 3]) -> f32 + Sync), physics: Physics, stirring: Stirring) -> Self {
        let flow = Flow::new(grid, solids, stirring.ports(), physics);
        Self { scratch: Scratch::new(&flow), flow, stirrers: Some(Stirrers::new(stirring)) }
    }

    /// From a given velocity.
    pub fn with_velocity(mut self, velocity: &dyn Fn([f32; 3]) -> [f32; 3]) -> Self {
        self.flow.set_velocity(velocity);
        self
    }

    /// One step, not beyond `end`.
    pub fn step(&mut self, end: f64) -> f64 {
        let left = (end - self.flow.time()) as f32;
        let still = Rates::default();
        let rates = self.stirrers.as_ref().map_or(&still, |stirrers| &stirrers.rates);
        let dt = step(&mut self.flow, &mut self.scratch, rates, left.max(1e-6)).dt;
        self.stirrers.iter_mut().for_each(|stirrers| stirrers.advance(dt));
        f64::from(dt)
    }

    pub fn until(&mut self, end: f64) {
        while self.flow.time() < end - 1e-6 {
            self.step(end);
        }
    }

    /// Mean velocity at cells from now to `end`.
    pub fn mean_until(&mut self, end: f64) -> Vec<[f64; 3]> {
        self.moments_until(end).0
    }

    /// Mean velocity at cells from now to `end`, and the variance of a component, the mean of all three.
    pub fn moments_until(&mut self, end: f64) -> (Vec<[f64; 3]>, Vec<f64>) {
        let mut now = vec![[0.0f32; 3]; self.flow.grid().cells()];
        let mut mean = vec![[0.0f64; 3]; now.len()];
        let mut square = vec![0.0; now.len()];
        let from = self.flow.time();
        while self.flow.time() < end - 1e-6 {
            let dt = self.step(end);
            self.flow.velocity_at_cells(&mut now);
            let part = dt / (end - from);
            for ((mean, square), now) in mean.iter_mut().zip(&mut square).zip(&now) {
                (0..3).for_each(|d| mean[d] += part * f64::from(now[d]));
                *square += part * now.iter().map(|u| f64::from(*u).powi(2)).sum::<f64>();
            }
        }
        let variance = square.iter().zip(&mean).map(|(square, mean)| (square - mean.iter().map(|u| u * u).sum::<f64>()) / 3.0).collect();
        (mean, variance)
    }

    /// Velocity at cells now.
    pub fn at_cells(&self) -> Vec<[f32; 3]> {
        let mut now = vec![[0.0f32; 3]; self.flow.grid().cells()];
        self.flow.velocity_at_cells(&mut now);
        now
    }
}

/// Value at x of the cubic through the four nodes around it; nodes sorted by their first number.
pub fn cubic(nodes: &[[f64; 2]], x: f64) -> f64 {
    let above = nodes.iter().position(|node| node[0] >= x).unwrap_or(nodes.len() - 1);
    let first = above.saturating_sub(2).min(nodes.len() - 4);
    let four = &nodes[first..first + 4];
    let weight = |i: usize| (0..4).filter(|j| *j != i).map(|j| (x - four[j][0]) / (four[i][0] - four[j][0])).product::<f64>();
    (0..4).map(|i| weight(i) * four[i][1]).sum()
}

/// Where a curve first rises through zero after `from`, by straight lines between its points.
pub fn rises_through_zero(curve: &[[f64; 2]], from: f64) -> f64 {
    let crossing = curve.windows(2).find(|pair| pair[0][0] >= from && pair[0][1] < 0.0 && pair[1][1] >= 0.0);
    crossing.map_or(f64::NAN, |pair| pair[0][0] - pair[0][1] * (pair[1][0] - pair[0][0]) / (pair[1][1] - pair[0][1]))
}
