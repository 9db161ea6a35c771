//! What holds for all pipes of a layout, and what stands where runs meet.

use crate::catalog::Bore;
use crate::units::{Angle, Length};
use serde::{Deserialize, Serialize};

/// Which bore and which wall all pipes are computed with.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PipeChoice {
    /// Of each nominal size.
    #[serde(default)]
    pub bore: Bore,
    /// Of the wall.
    #[serde(default)]
    pub roughness: Roughness,
}

impl PipeChoice {
    /// Nothing was chosen.
    pub fn is_usual(&self) -> bool {
        *self == Self::default()
    }
}

/// How rough the pipes are inside.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Roughness {
    /// As bought.
    #[default]
    New,
    /// After years of film and tube worms.
    Fouled,
    /// Equivalent sand grain of the wall.
    Grain(Length),
}

impl Roughness {
    /// Wall of new PVC, m: 0 to 1.5 µm (Moody 1944, drawn tubing; trade tables).
    pub const NEW: f64 = 1.5e-6;
    /// Wall with years of film, m: the upper end of 5 to 50 µm (value from memory).
    pub const FOULED: f64 = 50e-6;

    /// Equivalent sand grain, m; `new`: that of the pipe when new, if the catalogue gives one.
    pub fn grain(&self, new: Option<f64>) -> f64 {
        let new = new.unwrap_or(Self::NEW);
        match self {
            Self::New => new,
            Self::Fouled => new.max(Self::FOULED),
            Self::Grain(length) => length.si(),
        }
    }
}

/// A fitting at which runs meet and whose loss depends on how the flow divides. Joints that aren't listed lose nothing of their own.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Joint {
    /// The name that runs end at.
    pub id: String,
    /// What stands there.
    pub form: JointForm,
}

/// Forms of a joint. Branches are named by the id of the run on them; the other one or two runs are the straight way.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum JointForm {
    /// A branch at a right angle.
    Tee {
        /// Run on the branch.
        branch: String,
    },
    /// A branch at a smaller angle to the straight way.
    Wye {
        /// Run on the branch.
        branch: String,
        /// Between the branch and the straight way, 30 to 60 deg.
        #[serde(default = "forty_five")]
        angle: Angle,
    },
    /// Two branches opposite each other.
    Cross {
        /// Runs on the branches.
        branches: (String, String),
    },
    /// Branches one after the other along a straight pipe, in the order in which the straight way's first run meets them.
    Manifold {
        /// Runs on the branches.
        branches: Vec<String>,
        /// From one branch to the next.
        spacing: Length,
    },
}

impl JointForm {
    /// The runs on its branches.
    pub fn branches(&self) -> Vec<&str> {
        match self {
            Self::Tee { branch } | Self::Wye { branch, .. } => vec![branch],
            Self::Cross { branches: (one, other) } => vec![one, other],
            Self::Manifold { branches, .. } => branches.iter().map(String::as_str).collect(),
        }
    }
}

fn forty_five() -> Angle {
    Angle::new(45.0, "deg")
}
