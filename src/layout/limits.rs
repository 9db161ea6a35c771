//! The author's own limits for the wet-side checks, where the usual guidance doesn't fit.

use crate::units::{Length, Speed};
use serde::{Deserialize, Serialize};

/// Own limits; what is left out keeps the usual one (see the method page of [`crate::safety`]).
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Limits {
    /// Fastest flow in pipes that a pump sucks through.
    pub suction_velocity: Option<Speed>,
    /// Fastest flow in pipes behind a pump.
    pub pressure_velocity: Option<Speed>,
    /// Fastest flow through the open part of a screen.
    pub screen_through: Option<Speed>,
    /// Fastest flow towards the whole face of a screen.
    pub screen_approach: Option<Speed>,
    /// Most water over an overflow's lip.
    pub weir_head: Option<Length>,
    /// Least height of the rim over the water.
    pub freeboard: Option<Length>,
    /// Share of the sump's room that water running back may take, 0 to 1.
    pub sump_share: Option<f64>,
}
