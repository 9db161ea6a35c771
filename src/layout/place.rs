//! Places, aims and turns.

use crate::units::{Angle, Length};
use glam::{DMat3, DVec3};
use serde::{Deserialize, Serialize};

/// A point in the tank: x along the length, y along the width, z up from the inside floor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Point(pub Length, pub Length, pub Length);

impl Point {
    /// In metres.
    pub fn metres(&self) -> DVec3 {
        DVec3::new(self.0.si(), self.1.si(), self.2.si())
    }
}

/// A panel of the tank, named as seen from the front.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PanelName {
    /// y = 0, toward the viewer.
    Front,
    /// y = width.
    Back,
    /// x = 0.
    Left,
    /// x = length.
    Right,
    /// z = 0.
    Bottom,
}

impl PanelName {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Front, Self::Back, Self::Left, Self::Right, Self::Bottom];

    /// The word for people.
    pub fn word(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Back => "back",
            Self::Left => "left",
            Self::Right => "right",
            Self::Bottom => "bottom",
        }
    }

    /// Unit vector from the panel into the water.
    pub fn inward(self) -> DVec3 {
        match self {
            Self::Front => DVec3::Y,
            Self::Back => DVec3::NEG_Y,
            Self::Left => DVec3::X,
            Self::Right => DVec3::NEG_X,
            Self::Bottom => DVec3::Z,
        }
    }
}

/// How a nozzle or an intake is held.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Mount {
    /// Through a hole drilled in a panel. `along` runs with x on front, back and bottom, with y on left and right;
    /// `up` runs with z on the walls and with y on the bottom.
    Hole {
        /// Which panel.
        panel: PanelName,
        /// Hole centre along the panel.
        along: Length,
        /// Hole centre up the panel.
        up: Length,
        /// Diameter to drill; the maker of the bulkhead says.
        #[serde(default)]
        drill: Option<Length>,
    },
    /// On the end of a pipe that stands or hangs in the tank.
    PipeEnd(Point),
}

impl Mount {
    /// Centre of the opening on the water side, m, in a tank of inside `size` (length, width, height).
    pub fn centre(&self, size: DVec3) -> DVec3 {
        match self {
            Self::PipeEnd(point) => point.metres(),
            Self::Hole { panel, along, up, .. } => {
                let (a, u) = (along.si(), up.si());
                match panel {
                    PanelName::Front => DVec3::new(a, 0.0, u),
                    PanelName::Back => DVec3::new(a, size.y, u),
                    PanelName::Left => DVec3::new(0.0, a, u),
                    PanelName::Right => DVec3::new(size.x, a, u),
                    PanelName::Bottom => DVec3::new(a, u, 0.0),
                }
            }
        }
    }

    /// The panel it goes through, if any.
    pub fn panel(&self) -> Option<PanelName> {
        match self {
            Self::Hole { panel, .. } => Some(*panel),
            Self::PipeEnd(_) => None,
        }
    }
}

/// Where a jet points.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Aim {
    /// Azimuth from the x axis, anticlockwise seen from above (90 deg = toward the back); elevation above the horizontal.
    Angles {
        /// In the horizontal plane.
        azimuth: Angle,
        /// Above it.
        elevation: Angle,
    },
    /// At a point in the tank.
    Toward(Point),
}

impl Aim {
    /// Unit vector, for an opening at `from` (m). Zero when aimed at itself.
    pub fn direction(&self, from: DVec3) -> DVec3 {
        match self {
            Self::Toward(point) => (point.metres() - from).normalize_or_zero(),
            Self::Angles { azimuth, elevation } => {
                let (sin_a, cos_a) = azimuth.si().sin_cos();
                let (sin_e, cos_e) = elevation.si().sin_cos();
                DVec3::new(cos_e * cos_a, cos_e * sin_a, sin_e)
            }
        }
    }
}

/// How a part is turned: about the vertical first seen from above (yaw, anticlockwise), then nose up (pitch, about its own y), then roll (about its own x).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Turn {
    /// About the vertical.
    #[serde(default = "level")]
    pub yaw: Angle,
    /// End along the part's own x lifted.
    #[serde(default = "level")]
    pub pitch: Angle,
    /// About the part's own x.
    #[serde(default = "level")]
    pub roll: Angle,
}

fn level() -> Angle {
    Angle::new(0.0, "deg")
}

impl Default for Turn {
    fn default() -> Self {
        Self { yaw: level(), pitch: level(), roll: level() }
    }
}

impl Turn {
    /// From the part's own axes to the tank's.
    pub fn matrix(&self) -> DMat3 {
        DMat3::from_rotation_z(self.yaw.si()) * DMat3::from_rotation_y(-self.pitch.si()) * DMat3::from_rotation_x(self.roll.si())
    }
}
