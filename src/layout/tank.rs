//! The box, its bracing, the water in it and the sand on its floor.

use super::place::{PanelName, Point};
use crate::units::{Length, Salinity, Temperature};
use glam::DVec3;
use serde::{Deserialize, Serialize};

/// A rectangular tank; all sizes are inside sizes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tank {
    /// Along x.
    pub length: Length,
    /// Along y.
    pub width: Length,
    /// Along z, floor to rim.
    pub height: Length,
    /// Water surface above the inside floor while the pumps run.
    pub water_level: Length,
    /// Walls and floor.
    pub panels: Panels,
    /// Braces that reach into the tank.
    #[serde(default)]
    pub bracing: Vec<Bar>,
}

impl Tank {
    /// Inside length, width and height, m.
    pub fn size(&self) -> DVec3 {
        DVec3::new(self.length.si(), self.width.si(), self.height.si())
    }
}

/// The five panels.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the names say it")]
pub struct Panels {
    pub front: Panel,
    pub back: Panel,
    pub left: Panel,
    pub right: Panel,
    pub bottom: Panel,
}

impl Panels {
    /// By name.
    pub fn get(&self, name: PanelName) -> &Panel {
        match name {
            PanelName::Front => &self.front,
            PanelName::Back => &self.back,
            PanelName::Left => &self.left,
            PanelName::Right => &self.right,
            PanelName::Bottom => &self.bottom,
        }
    }
}

/// One wall or the floor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Panel {
    /// What it is made of.
    pub material: Material,
    /// Its thickness.
    pub thickness: Length,
}

/// Panel materials.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Material {
    /// Annealed float glass: can be drilled.
    Glass,
    /// Toughened (tempered) glass: shatters when drilled.
    ToughenedGlass,
    /// Cast acrylic.
    Acrylic,
    /// Coated plywood, concrete, fibreglass: opaque.
    Opaque,
}

/// A straight brace, an upright box between two opposite corners.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bar {
    /// For people.
    pub id: String,
    /// One corner.
    pub from: Point,
    /// The opposite corner.
    pub to: Point,
}

/// What fills the tank.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Water {
    /// Water temperature.
    pub temperature: Temperature,
    /// Zero for fresh water.
    pub salinity: Salinity,
}

impl Default for Water {
    fn default() -> Self {
        Self { temperature: Temperature::new(25.0, "C"), salinity: Salinity::new(35.0, "ppt") }
    }
}

/// A level bed of grains over the whole floor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sand {
    /// Depth above the inside floor.
    pub depth: Length,
    /// Typical grain diameter.
    pub grain: Length,
}
