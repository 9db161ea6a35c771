//! What all the plumbing does at one position of the drums.

use crate::hydraulics::Regime;

/// Flows everywhere at one position of the drums. Every list is in the layout's order; runs: circuits in order, in each the
/// suction runs, then the discharge runs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Duty {
    /// Of each pump.
    pub pumps: Vec<PumpDuty>,
    /// Of each run.
    pub runs: Vec<RunDuty>,
    /// Flow out of each outlet of each drum, m³/s.
    pub outlets: Vec<Vec<f64>>,
    /// Of each nozzle.
    pub nozzles: Vec<NozzleDuty>,
    /// Flow out of the tank through each intake, m³/s.
    pub intakes: Vec<f64>,
    /// How well it was solved.
    pub report: DutyReport,
}

/// Where a pump works.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PumpDuty {
    /// Delivered, m³/s.
    pub flow: f64,
    /// Added, m.
    pub head: f64,
    /// Head at its inlet above the tank's inside floor, m (pressure head plus height).
    pub inlet_head: f64,
    /// Where that lies on its curve; `Stopped` as well for a pump that no run leads to.
    pub regime: Regime,
}

impl Default for PumpDuty {
    fn default() -> Self {
        Self { flow: 0.0, head: 0.0, inlet_head: 0.0, regime: Regime::Stopped }
    }
}

/// What goes through a run.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct RunDuty {
    /// Positive from its `from` to its `to`, m³/s.
    pub flow: f64,
    /// In its bore, m/s, with the flow's sign.
    pub velocity: f64,
    /// Along it with all that sits on it (screen, fittings, nozzle, its share of described joints), m.
    pub head_loss: f64,
}

/// What leaves a nozzle.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct NozzleDuty {
    /// Into the tank, m³/s; of an eductor its motive flow, for what it drags in comes out of the tank.
    pub flow: f64,
    /// Mean speed at its end, m/s; of an eductor that of the mixed jet.
    pub speed: f64,
    /// Momentum flux over density, m⁴/s²: flow that leaves the end × its speed.
    pub momentum: f64,
    /// Of the jet, on its speed and bore (a slot: its hydraulic diameter).
    pub reynolds: f64,
}

/// How well a duty was solved.
#[derive(Debug, Clone, PartialEq)]
pub struct DutyReport {
    /// Every part of the network was solved to 1e-9.
    pub converged: bool,
    /// Worst residual, as a share of the largest flow or head.
    pub residual: f64,
    /// Most Newton steps that a part took.
    pub iterations: usize,
    /// Circuits whose flows were left at zero, by their number.
    pub unsolved: Vec<usize>,
}

impl Default for DutyReport {
    fn default() -> Self {
        Self { converged: true, residual: 0.0, iterations: 0, unsolved: Vec::new() }
    }
}
