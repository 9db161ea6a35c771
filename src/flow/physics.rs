//! What the water is and what bounds it: one plain struct, SI, f32.

use serde::{Deserialize, Serialize};

/// What one side of the box does.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Side {
    /// A wall: no flow through it, friction along it.
    Wall {
        /// Equivalent sand roughness k_s, m; 0 is smooth.
        roughness: f32,
    },
    /// No flow through it, no friction: a still free surface, or a plane of symmetry.
    Slip,
    /// Water passes freely at a fixed pressure.
    Open,
    /// Joined to the opposite side, which must be periodic too (else both are walls).
    Periodic,
    /// A smooth wall that slides in its own plane.
    Sliding {
        /// Velocity of the wall, m/s; the part across the wall is ignored.
        velocity: [f32; 3],
    },
}

impl Side {
    /// Does water rub against it?
    pub(super) fn is_wall(self) -> bool {
        matches!(self, Self::Wall { .. } | Self::Sliding { .. })
    }
}

/// Which model carries the turbulence of jets that the grid can't hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum JetClosure {
    /// Mixing length that grows with the distance from the nozzle, carried by the water itself.
    #[default]
    TaggedMixingLength,
    /// Only the sub-grid model.
    None,
}

/// Constants of a run. Sides are in the order x−, x+, y−, y+, z−, z+.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Physics {
    /// Kinematic viscosity, m²/s.
    pub viscosity: f32,
    /// The six sides.
    pub sides: [Side; 6],
    /// Equivalent sand roughness k_s of solids inside the box, m.
    pub rock_roughness: f32,
    /// Largest Courant number Σ|u|dt/h of a step; the time scheme bears 0.49 by itself, and more as its limiter holds (`timestep`).
    pub courant: f32,
    /// Seed of the initial noise.
    pub seed: u64,
    /// Amplitude of the initial noise, m/s.
    pub noise: f32,
    /// Smagorinsky constant; 0 switches the sub-grid model off. 0.10: Deardorff 1970 for sheared flow.
    pub smagorinsky: f32,
    /// Jet model.
    pub jet_closure: JetClosure,
    /// Force per mass on all the water, m/s².
    pub body_force: [f32; 3],
}

impl Physics {
    /// A box of water with five smooth walls and a still, free-slip top.
    pub fn tank(viscosity: f32, seed: u64) -> Self {
        let wall = Side::Wall { roughness: 0.0 };
        Self {
            viscosity,
            sides: [wall, wall, wall, wall, wall, Side::Slip],
            rock_roughness: 0.005,
            courant: 0.7,
            seed,
            noise: 1e-3,
            smagorinsky: 0.10,
            jet_closure: JetClosure::TaggedMixingLength,
            body_force: [0.0; 3],
        }
    }
}
