//! Where water and momentum enter and leave: fixed geometry, and rates that change from step to step.

use serde::{Deserialize, Serialize};

/// The mouth of a nozzle, or the disc of a propeller.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Jet {
    /// Centre of the mouth, m.
    pub at: [f32; 3],
    /// Where it blows; need not be of length 1.
    pub direction: [f32; 3],
    /// Diameter, m.
    pub bore: f32,
}

/// A rectangular face through which water leaves.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Sink {
    /// Centre of the face, m.
    pub at: [f32; 3],
    /// Out of the face into the water; need not be of length 1.
    pub normal: [f32; 3],
    /// Size along t₁ and t₂, m. t₁ = z × n (level), or x where n is vertical; t₂ = n × t₁.
    pub size: [f32; 2],
}

/// All jets and sinks of a run.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Ports {
    /// Jets.
    pub jets: Vec<Jet>,
    /// Sinks.
    pub sinks: Vec<Sink>,
}

/// What one jet does now.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct JetRate {
    /// Water brought in, m³/s. A propeller brings none.
    pub flow: f32,
    /// Momentum flux over density (flow × speed), m⁴/s².
    pub momentum: f32,
}

/// What all jets and sinks do now, in the order of [`Ports`].
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Rates {
    /// One for each jet.
    pub jets: Vec<JetRate>,
    /// Water taken out by each sink, m³/s.
    pub sinks: Vec<f32>,
}

impl Rates {
    /// Everything shut.
    pub fn shut(ports: &Ports) -> Self {
        Self { jets: vec![JetRate::default(); ports.jets.len()], sinks: vec![0.0; ports.sinks.len()] }
    }
}
