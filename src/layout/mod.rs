//! The document: what the user designs. Plain data that serde reads and writes; nothing here solves anything.
//!
//! Co-ordinates: x along the tank's length from its left inside face, y along its width from the front inside face, z up
//! from the inside floor; "front" is the side the viewer stands at. Right-handed, metres inside.
//!
//! ```text
//!        z ┌───────────────┐ back (y = width)
//!        ↑╱               ╱│
//!        ┌───────────────┐ │
//!  left  │               │ │ right
//! (x = 0)│   front       │ ╱ y
//!        └───────────────┘╱    → x along the length
//! ```
//!
//! A broken design is a legal value: [`check()`] lists what is wrong with it. Parts refer to each other by their ids.

pub mod changes;
mod check;
mod colony;
mod drum;
mod explain;
pub mod file;
mod limits;
mod measured;
mod pile;
mod pipework;
mod place;
mod plumbing;
mod pretty;
mod problem;
mod pump;
mod read;
mod revision;
mod rock;
pub mod scan;
mod sequence;
pub mod solid;
mod tank;
mod text;
pub mod what_if;
mod write;

pub use check::check;
pub use colony::{Bands, Canopy, Colony, Probe, Want, Zone};
pub use drum::{Drum, Window};
pub use file::{DEMO, Loaded, demo, load, read, save, template};
pub use limits::Limits;
pub use measured::{Gauge, Held, Reading, Side};
pub use pile::{Boulder, MOST_BOULDERS};
pub use pipework::{Joint, JointForm, PipeChoice, Roughness};
pub use place::{Aim, Mount, PanelName, Point, Turn};
pub use plumbing::{
    CheckState, Circuit, CircuitKind, Drain, DrainKind, End, Face, Fitting, Intake, Nozzle, NozzleKind, Overflow, Run, Screen, Sump, Supply,
};
pub use problem::{Problem, Problems};
pub use pump::{CurvePoint, DAY, Propeller, PropellerOutput, Pump, SpeedStep};
pub use revision::revision;
pub use rock::{Porous, Rock, Shape};
pub use sequence::{Direction, Drive, Motion, Sequence, Step};
pub use tank::{Bar, Material, Panel, Panels, Sand, Tank, Water};
pub use what_if::{Change, WhatIf};
pub use write::write;

use crate::units::Display;
use serde::{Deserialize, Serialize};

/// The format version this build writes; older files are migrated on reading.
pub const VERSION: u32 = 1;

/// Everything the user designs, one tank and its circulation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Layout {
    /// Format version, [`VERSION`].
    pub version: u32,
    /// For titles and sheets.
    pub name: String,
    /// Anything the author wants to remember.
    #[serde(default)]
    pub notes: String,
    /// Units on screen and in reports.
    #[serde(default)]
    pub display: Display,
    /// The box.
    pub tank: Tank,
    /// What is in it.
    #[serde(default)]
    pub water: Water,
    /// Rockwork.
    #[serde(default)]
    pub rocks: Vec<Rock>,
    /// Sand bed, if any.
    #[serde(default)]
    pub sand: Option<Sand>,
    /// Overflow boxes with their drains.
    #[serde(default)]
    pub overflows: Vec<Overflow>,
    /// The vessel that return loops draw from.
    #[serde(default)]
    pub sump: Option<Sump>,
    /// Pumps in the plumbing.
    #[serde(default)]
    pub pumps: Vec<Pump>,
    /// Rotating-outlet units.
    #[serde(default)]
    pub drums: Vec<Drum>,
    /// Where water leaves the tank into a pipe.
    #[serde(default)]
    pub intakes: Vec<Intake>,
    /// Where water enters the tank as a jet.
    #[serde(default)]
    pub nozzles: Vec<Nozzle>,
    /// Pipe runs that join all of these.
    #[serde(default)]
    pub circuits: Vec<Circuit>,
    /// Tees, wyes, crosses and manifolds where runs meet, with the loss of their flow split.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub joints: Vec<Joint>,
    /// Bore and roughness that all pipes are computed with.
    #[serde(default, skip_serializing_if = "PipeChoice::is_usual")]
    pub pipes: PipeChoice,
    /// A catalogue file of the user's own, beside the layout; empty: none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub catalogue: String,
    /// Pumps in the water without pipes.
    #[serde(default)]
    pub propellers: Vec<Propeller>,
    /// Which outlets open when; several to choose from.
    #[serde(default)]
    pub sequences: Vec<Sequence>,
    /// Id of the sequence in use; empty: the first.
    #[serde(default)]
    pub sequence: String,
    /// What the named bands of flow mean here.
    #[serde(default, skip_serializing_if = "Bands::is_default")]
    pub bands: Bands,
    /// Animals with the flow they want.
    #[serde(default)]
    pub colonies: Vec<Colony>,
    /// Regions with the flow they want.
    #[serde(default)]
    pub zones: Vec<Zone>,
    /// Points whose speed is reported.
    #[serde(default)]
    pub probes: Vec<Probe>,
    /// The author's own limits for the wet-side checks.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limits: Option<Limits>,
    /// Changes to try.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub what_ifs: Vec<WhatIf>,
    /// What was measured on the finished system.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub measured: Vec<Reading>,
}

impl Layout {
    /// The layout with every pump at the speed that its programme gives at this time of day, s after midnight.
    #[must_use]
    pub fn at_time(mut self, time: f64) -> Self {
        self.pumps.iter_mut().for_each(|pump| pump.speed = pump.speed_at(time));
        self
    }

    /// The sequence in use: the named one, or the first.
    pub fn active_sequence(&self) -> Option<&Sequence> {
        if self.sequence.is_empty() { self.sequences.first() } else { self.sequences.iter().find(|s| s.id == self.sequence) }
    }
}
