//! Where the time of a step goes: always counted, a few readings of the clock per plane.

use std::time::{Duration, Instant};

/// A part of a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Operator {
    /// Eddy viscosity: sub-grid and jets.
    Viscosity,
    /// Convection and stresses.
    Transport,
    /// Friction of walls and solids.
    Friction,
    /// The new velocity from its rates.
    Prediction,
    /// Marks of the jet water.
    Marks,
    /// Ports, and values outside the box.
    Ports,
    /// Divergence: right side of the pressure equation.
    Divergence,
    /// Multigrid cycle.
    Pressure,
    /// Pressure gradient taken off, result surveyed.
    Correction,
}

impl Operator {
    /// All, in the order of a step.
    pub const ALL: [Self; 9] = [
        Self::Viscosity,
        Self::Transport,
        Self::Friction,
        Self::Prediction,
        Self::Marks,
        Self::Ports,
        Self::Divergence,
        Self::Pressure,
        Self::Correction,
    ];
}

/// Time spent by one thread, part by part.
#[derive(Debug, Clone)]
pub(super) struct Clock {
    last: Instant,
    spent: [Duration; Operator::ALL.len()],
}

impl Clock {
    pub fn new() -> Self {
        Self { last: Instant::now(), spent: Default::default() }
    }

    /// What follows is counted from now.
    pub fn start(&mut self) {
        self.last = Instant::now();
    }

    /// What was done since the last call was this.
    pub fn lap(&mut self, operator: Operator) {
        let now = Instant::now();
        self.spent[operator as usize] += now - self.last;
        self.last = now;
    }

    /// Seconds spent in a part so far.
    pub fn seconds(&self, operator: Operator) -> f64 {
        self.spent[operator as usize].as_secs_f64()
    }
}
