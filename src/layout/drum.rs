//! Drum units: one inlet, several outlets, a slowly turning drum that uncovers some of them at a time.

use crate::units::{Angle, Length};
use serde::{Deserialize, Serialize};

/// A rotating-outlet unit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Drum {
    /// For people and references.
    pub id: String,
    /// How many outlets, evenly round the body, outlet 1 at 0 deg, counted anticlockwise.
    pub outlets: u32,
    /// Bore of each outlet.
    pub bore: Length,
    /// Arc that one outlet's opening takes up on the drum.
    pub port_arc: Angle,
    /// Windows in the drum.
    pub windows: Vec<Window>,
    /// Loss of the body with an outlet fully open: K on the velocity in the outlet's bore.
    #[serde(default = "body_k")]
    pub body_k: f64,
    /// Share of an outlet's area that leaks when it is closed.
    #[serde(default = "leakage")]
    pub leakage: f64,
}

fn body_k() -> f64 {
    1.5
}

fn leakage() -> f64 {
    0.02
}

/// One opening in the drum.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Window {
    /// Its middle, on the drum.
    pub centre: Angle,
    /// Its arc.
    pub arc: Angle,
}
