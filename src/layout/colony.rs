//! What lives where, and the flow it wants.

use super::place::Point;
use crate::units::{Length, Speed};
use serde::{Deserialize, Serialize};

/// An animal or a group of them at a place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Colony {
    /// For people.
    pub id: String,
    /// Its middle.
    pub at: Point,
    /// Its diameter.
    #[serde(default = "hand")]
    pub size: Length,
    /// The flow it wants.
    pub want: Want,
    /// Its branches hold the water back. `None`: too small or too flat to matter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grown: Option<Canopy>,
}

/// Branches of a grown colony, over the ball of its size.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Canopy {
    /// Thickness of a branch.
    pub branch: Length,
    /// From the middle of a branch to that of the next.
    pub spacing: Length,
}

impl Canopy {
    /// Frontal area per volume, 1/m: branches side by side in a square pattern.
    pub fn frontal_area(&self) -> f64 {
        self.branch.si() / self.spacing.si().powi(2)
    }
}

fn hand() -> Length {
    Length::new(10.0, "cm")
}

/// A box of water with a wish of its own.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Zone {
    /// For people.
    pub id: String,
    /// One corner.
    pub from: Point,
    /// The opposite corner.
    pub to: Point,
    /// The flow it wants.
    pub want: Want,
}

/// A band of time-mean speed. The named bands are guidance only: species differ, and published ranges are wide; a layout may set its own
/// ([`Bands`]).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Want {
    /// 3 to 10 cm/s, if the layout doesn't say otherwise.
    Gentle,
    /// 5 to 20 cm/s, likewise.
    Moderate,
    /// 10 to 40 cm/s, likewise.
    Strong,
    /// The user's own: lowest, highest.
    Band(Speed, Speed),
}

/// What the named bands mean in a layout: lowest and highest time-mean speed. The defaults are guidance without a standard behind them: published
/// ranges differ between species (Nakamura et al. 2003, 2005: 20 cm/s better than 3; Sebens et al. 2003: 1 to 10 cm/s).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Bands {
    /// For animals that close up in strong flow.
    pub gentle: (Speed, Speed),
    /// For most.
    pub moderate: (Speed, Speed),
    /// For those of the reef's crest.
    pub strong: (Speed, Speed),
}

impl Default for Bands {
    fn default() -> Self {
        let band = |low: f64, high: f64| (Speed::new(low, "cm/s"), Speed::new(high, "cm/s"));
        Self { gentle: band(3.0, 10.0), moderate: band(5.0, 20.0), strong: band(10.0, 40.0) }
    }
}

impl Bands {
    /// Whether nothing was changed.
    pub fn is_default(&self) -> bool {
        *self == Self::default()
    }
}

impl Want {
    /// Lowest and highest wanted time-mean speed, m/s.
    pub fn band(&self, bands: &Bands) -> (f64, f64) {
        let (low, high) = match self {
            Self::Gentle => &bands.gentle,
            Self::Moderate => &bands.moderate,
            Self::Strong => &bands.strong,
            Self::Band(low, high) => return (low.si(), high.si()),
        };
        (low.si(), high.si())
    }
}

/// A point whose velocity is reported.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Probe {
    /// For people.
    pub id: String,
    /// Where.
    pub at: Point,
}
