//! What the solver says about its own answer.

use super::curve::Regime;

/// How a solution went.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Report {
    /// Both residuals are under 1e-9.
    pub converged: bool,
    /// Newton steps taken.
    pub iterations: usize,
    /// Worst imbalance of a joint, as a share of the largest flow.
    pub mass_residual: f64,
    /// Worst disagreement between a link's loss and the heads at its ends, as a share of the largest head.
    pub energy_residual: f64,
    /// What to know about single links and nodes.
    pub notes: Vec<Note>,
}

/// Something to know about one part of a network.
#[derive(Debug, Clone, PartialEq)]
pub enum Note {
    /// A link with impossible numbers or ends; taken as shut.
    BadLink(usize),
    /// A tee with impossible numbers or links; its loss is left out.
    BadTee(usize),
    /// A link without resistance; given 1e-5 s/m².
    NoResistance(usize),
    /// Joints that no open link joins to a reservoir: only differences of their heads mean anything.
    Floating(Vec<usize>),
    /// Water is asked of joints that no reservoir can supply; taken as nothing asked.
    Stranded(Vec<usize>),
    /// A pump that doesn't work between dead-head and the end of its curve.
    Pump(usize, Regime),
}
