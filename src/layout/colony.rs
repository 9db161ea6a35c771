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

/// A band of time-mean speed. The named bands are guidance only: species differ, and published ranges are wide.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Want {
    /// 3 to 10 cm/s.
    Gentle,
    /// 5 to 20 cm/s.
    Moderate,
    /// 10 to 40 cm/s.
    Strong,
    /// The user's own: lowest, highest.
    Band(Speed, Speed),
}

impl Want {
    /// Lowest and highest wanted time-mean speed, m/s.
    pub fn band(&self) -> (f64, f64) {
        match self {
            Self::Gentle => (0.03, 0.10),
            Self::Moderate => (0.05, 0.20),
            Self::Strong => (0.10, 0.40),
            Self::Band(low, high) => (low.si(), high.si()),
        }
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
