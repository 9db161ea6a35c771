//! Sequences: which outlets are open when.

use crate::units::Time;
use serde::{Deserialize, Serialize};

/// A named alternation sequence for all drum units of a layout.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sequence {
    /// For people and references.
    pub id: String,
    /// One entry per drum unit; a unit that isn't listed stands still at its phase 0.
    pub drives: Vec<Drive>,
}

/// How one drum unit moves.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Drive {
    /// Which drum unit.
    pub drum: String,
    /// Steady turning, or steps.
    pub motion: Motion,
    /// How far into its cycle the unit is at time zero.
    #[serde(default = "none")]
    pub phase: Time,
    /// Which way round.
    #[serde(default)]
    pub direction: Direction,
    /// Share of a steady turn that the drum loses to slip between motor and drum, 0 (none) to 1 (stands still).
    #[serde(default, skip_serializing_if = "is_none")]
    pub slip: f64,
}

fn is_none(share: &f64) -> bool {
    *share == 0.0
}

fn none() -> Time {
    Time::new(0.0, "s")
}

/// The two kinds of motion.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Motion {
    /// The drum turns steadily; its windows decide what is open.
    Turning {
        /// One full turn.
        period: Time,
    },
    /// The unit goes from one set of open outlets to the next; the windows play no part.
    Steps(Vec<Step>),
    /// The drum is held.
    Held {
        /// At this point of a turn, 0 to 1.
        turn: f64,
    },
}

/// One step of a step table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// Numbers of the open outlets, from 1.
    pub open: Vec<u32>,
    /// How long they stay fully open.
    pub dwell: Time,
    /// How long the change to the next step takes; outlets open and close linearly in it.
    pub change_over: Time,
}

/// Sense of turning, seen from the side of outlet numbers that rise anticlockwise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Direction {
    /// Outlet 1, 2, 3, ...
    #[default]
    Forward,
    /// The other way.
    Reverse,
}
