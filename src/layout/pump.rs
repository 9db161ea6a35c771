//! Pumps in the plumbing, and propeller pumps in the water.

use super::place::{Aim, Point};
use crate::units::{Force, Head, Length, Power, Speed, Time, VolumeFlow};
use serde::{Deserialize, Serialize};

/// A centrifugal pump, described by points read off its curve at full speed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pump {
    /// For people and references.
    pub id: String,
    /// At least two points, flow rising, head falling.
    pub curve: Vec<CurvePoint>,
    /// Share of full speed, 0 to 1 (more than 1 where the drive allows).
    #[serde(default = "full")]
    pub speed: f64,
    /// Speeds over the day, for the energy of a year and for a look at each of them; `speed` is what is computed with otherwise.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub programme: Vec<SpeedStep>,
    /// Electric power at full speed, if known.
    #[serde(default)]
    pub power: Option<Power>,
    /// Net positive suction head that the maker asks for at the duty point, if known.
    #[serde(default)]
    pub npsh_required: Option<Head>,
    /// Measured: multiplies every head of the curve; `slackwater calibrate` finds it. None is 1.
    #[serde(default)]
    pub head_factor: Option<f64>,
}

impl Pump {
    /// Share of full speed that its programme gives at a time of day (s after midnight); its own `speed` without a programme.
    /// Before the first step of the day the last one of the day before still holds.
    pub fn speed_at(&self, time: f64) -> f64 {
        let time = time.rem_euclid(DAY);
        let latest =
            |steps: &mut dyn Iterator<Item = &SpeedStep>| steps.max_by(|a, b| a.from.si().total_cmp(&b.from.si())).map(|s| s.speed);
        let today = latest(&mut self.programme.iter().filter(|s| s.from.si() <= time));
        today.or_else(|| latest(&mut self.programme.iter())).unwrap_or(self.speed)
    }
}

/// A day, s.
pub const DAY: f64 = 86_400.0;

/// One step of a speed programme.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SpeedStep {
    /// Time after midnight from which it holds, until the next step.
    pub from: Time,
    /// Share of full speed.
    pub speed: f64,
}

pub(super) fn full() -> f64 {
    1.0
}

/// One point of a pump curve.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CurvePoint {
    /// Delivered flow.
    pub flow: VolumeFlow,
    /// Head added.
    pub head: Head,
}

/// A propeller pump: it gives the water momentum without taking any away from the tank.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Propeller {
    /// For people.
    pub id: String,
    /// Middle of its outlet.
    pub at: Point,
    /// Where it blows.
    pub aim: Aim,
    /// Outlet diameter.
    pub bore: Length,
    /// How strong it is.
    pub output: PropellerOutput,
}

/// What the maker or a test says about a propeller pump.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PropellerOutput {
    /// Flow through the outlet.
    Flow(VolumeFlow),
    /// Force on the water.
    Thrust(Force),
    /// Mean speed at the outlet.
    Speed(Speed),
}
