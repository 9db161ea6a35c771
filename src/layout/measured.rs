//! What was measured on the finished system: readings with their uncertainty and date, for `slackwater calibrate`.

use crate::units::{Head, Length, Pressure, Time, Volume, VolumeFlow};
use serde::{Deserialize, Serialize};

/// One measurement.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// For people and reports: "N1, bucket".
    pub id: String,
    /// The day it was taken: "2026-03-14".
    #[serde(default)]
    pub date: String,
    /// How the drum units of this circuit stood meanwhile.
    #[serde(default)]
    pub held: Vec<Held>,
    /// What was measured.
    pub value: Gauge,
}

/// How a drum unit stood.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Held {
    /// Which unit.
    pub drum: String,
    /// Outlets that stood open, from 1.
    #[serde(default)]
    pub open: Vec<u32>,
    /// Or its exact position, as a share of a turn.
    #[serde(default)]
    pub turn: Option<f64>,
}

/// What was measured. `within` is the half width that 19 of 20 repeats would fall into (95 %).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Gauge {
    /// A bucket of this volume under a nozzle fills in this time.
    Bucket {
        /// Which nozzle.
        nozzle: String,
        /// Of the bucket.
        volume: Volume,
        /// To fill it.
        time: Time,
        /// Uncertainty of the time.
        within: Time,
    },
    /// Flow of a nozzle from a meter.
    NozzleFlow {
        /// Which nozzle.
        nozzle: String,
        /// Through it; of an eductor its motive flow.
        flow: VolumeFlow,
        /// Uncertainty.
        within: VolumeFlow,
    },
    /// Flow of a pump from a meter.
    PumpFlow {
        /// Which pump.
        pump: String,
        /// Through it.
        flow: VolumeFlow,
        /// Uncertainty.
        within: VolumeFlow,
    },
    /// Head of a pump from two gauges or a difference gauge.
    PumpHead {
        /// Which pump.
        pump: String,
        /// Between its inlet and its outlet.
        head: Head,
        /// Uncertainty.
        within: Head,
    },
    /// A pressure gauge at a pump.
    Pressure {
        /// Which pump.
        pump: String,
        /// On which side of it.
        side: Side,
        /// Height of the gauge above the tank's inside floor (so usually negative).
        height: Length,
        /// Above that of the air; negative is a vacuum.
        pressure: Pressure,
        /// Uncertainty.
        within: Pressure,
    },
    /// A float on the axis of a nozzle's jet takes this time from one mark to another.
    Drift {
        /// Which nozzle.
        nozzle: String,
        /// Distance of the first mark from the nozzle.
        from: Length,
        /// Distance of the second mark from the nozzle.
        to: Length,
        /// Between them.
        time: Time,
        /// Uncertainty of the timing; the law of the jet has its own.
        within: Time,
    },
}

/// The sides of a pump.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// Suction.
    Inlet,
    /// Discharge.
    Outlet,
}

impl Gauge {
    /// The nozzle that it was taken at, if at one.
    pub fn nozzle(&self) -> Option<&str> {
        match self {
            Self::Bucket { nozzle, .. } | Self::NozzleFlow { nozzle, .. } | Self::Drift { nozzle, .. } => Some(nozzle),
            _ => None,
        }
    }

    /// The pump that it was taken at, if at one.
    pub fn pump(&self) -> Option<&str> {
        match self {
            Self::PumpFlow { pump, .. } | Self::PumpHead { pump, .. } | Self::Pressure { pump, .. } => Some(pump),
            _ => None,
        }
    }
}
