//! What a step and a run have to say about themselves.

use serde::{Deserialize, Serialize};

/// One step in numbers.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct StepReport {
    /// Length of the step, s.
    pub dt: f32,
    /// Largest Σ|u|dt/h of the step.
    pub courant: f32,
    /// Fastest cell, m/s.
    pub max_speed: f32,
    /// Root mean square of ∇·u − q over the water, 1/s.
    pub divergence_rms: f32,
    /// Largest |∇·u − q|, 1/s.
    pub divergence_max: f32,
    /// |water in − water out − what crossed open sides| over the water that moved through ports; 0 when none did.
    pub mass_error: f32,
    /// Multigrid cycles used for the pressure.
    pub pressure_cycles: u32,
    /// Root mean square residual of the pressure equation over that of its right side.
    pub pressure_residual: f32,
    /// Something had to be put right: the pressure needed more cycles at once, or speeds may have been held at the limit.
    pub repaired: bool,
}

/// Something about a run that a reader of its results must know.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Note {
    /// The jet's mouth has no water in front of it; it is left out.
    JetBlocked {
        /// Index in [`super::Ports::jets`].
        jet: usize,
    },
    /// The sink's face has no water in front of it; it is left out.
    SinkBlocked {
        /// Index in [`super::Ports::sinks`].
        sink: usize,
    },
    /// The jet is thinner than a third of a cell: outside the range in which the jet model was checked.
    JetThin {
        /// Index in [`super::Ports::jets`].
        jet: usize,
        /// Bore over cell size.
        bore_in_cells: f32,
    },
    /// The jet's water can't leave the body of water it enters; only its momentum is kept.
    NoWayOut {
        /// Index in [`super::Ports::jets`].
        jet: usize,
    },
    /// The sink draws from a body of water that nothing refills; it is left out.
    NoWayIn {
        /// Index in [`super::Ports::sinks`].
        sink: usize,
    },
    /// Water that no port reaches; it is taken to be at rest.
    SealedWater {
        /// Number of cells.
        cells: usize,
        /// Centre of one in the middle of them, m.
        at: [f32; 3],
    },
    /// Solids thinner than two cells: water may be held back or let through where it should not.
    ThinSolid {
        /// Number of cells that their surface passes through.
        cells: usize,
        /// Centre of one in the middle of the largest group, m.
        at: [f32; 3],
    },
    /// Gaps narrower than two cells, between solids or to a closed side: the speed in them is not reliable.
    NarrowGap {
        /// Number of cells that their surface passes through.
        cells: usize,
        /// Centre of one in the middle of the largest group, m.
        at: [f32; 3],
    },
}
