//! Pipes and what they join.

use super::place::{Aim, Mount};
use super::pump::{CurvePoint, full};
use crate::units::{Angle, Length, Volume, VolumeFlow};
use serde::{Deserialize, Serialize};

/// A pump's suction and discharge side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Circuit {
    /// For people.
    pub id: String,
    /// Tank to tank, or sump to tank.
    pub kind: CircuitKind,
    /// From intakes (or the sump) to the pump.
    pub suction: Vec<Run>,
    /// From the pump to nozzles.
    pub discharge: Vec<Run>,
    /// Measured: multiplies the losses of its pipes, fittings, entrances and screens, not those of nozzles and drum units;
    /// `slackwater calibrate` finds it. None is 1.
    #[serde(default)]
    pub loss_factor: Option<f64>,
}

/// The two kinds of circuit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CircuitKind {
    /// From the tank back to the tank; no static head.
    Closed,
    /// From the sump up to the tank; comes back over overflows and drains.
    Return,
}

/// A length of pipe of one size with the fittings on it, from one end to another.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Run {
    /// For people and sheets.
    pub id: String,
    /// Where the water comes from.
    pub from: End,
    /// Where it is meant to go.
    pub to: End,
    /// Nominal size and schedule, as in the catalogue: "2 in, schedule 40".
    pub pipe: String,
    /// Length of straight pipe.
    pub length: Length,
    /// Fittings and valves on it.
    #[serde(default)]
    pub fittings: Vec<Fitting>,
}

/// What a run can end at. Runs that name the same joint meet there.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum End {
    /// An intake, by id.
    Intake(String),
    /// A nozzle, by id.
    Nozzle(String),
    /// A pump, by id: its inlet where water comes to it, its outlet where water comes from it.
    Pump(String),
    /// The inlet of a drum unit, by id.
    Drum(String),
    /// An outlet of a drum unit, by id and number from 1.
    Outlet(String, u32),
    /// A tee, wye or manifold, by a name of the user's own. Describe it in `joints`, or give its loss as fittings on the runs that meet.
    Joint(String),
    /// The sump.
    Sump,
}

/// One kind of fitting or valve on a run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fitting {
    /// Name in the catalogue: "elbow 90", "ball valve".
    pub part: String,
    /// How many.
    #[serde(default = "one")]
    pub count: u32,
    /// Valves only: 1 is open, 0 is shut.
    #[serde(default = "full")]
    pub opening: f64,
    /// A loss coefficient of the user's own instead of the catalogue's, on the velocity in this run.
    #[serde(default)]
    pub k: Option<f64>,
    /// Head lost against flow instead of a coefficient, as the makers of coolers, lamps and filters print it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub curve: Vec<CurvePoint>,
    /// Reducers and enlargers only: the other pipe, as in the catalogue.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub other: Option<String>,
    /// Check valves only: in what state it is.
    #[serde(default, skip_serializing_if = "CheckState::holds")]
    pub check: CheckState,
}

/// What a check valve does against backward flow.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CheckState {
    /// As it should.
    #[default]
    Holds,
    /// Lets this flow back under 1 m of head.
    Leaks(VolumeFlow),
    /// Stands open both ways.
    StuckOpen,
}

impl CheckState {
    fn holds(&self) -> bool {
        *self == Self::Holds
    }
}

fn one() -> u32 {
    1
}

/// Where the flow of a nozzle or an intake comes from.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Supply {
    /// From the circuits.
    #[default]
    Plumbed,
    /// Plumbing not drawn: this flow, always.
    Fixed(VolumeFlow),
}

/// Where water enters the tank as a jet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Nozzle {
    /// For people, sheets and references.
    pub id: String,
    /// How it is held.
    pub mount: Mount,
    /// Where it points.
    pub aim: Aim,
    /// Bore at its end.
    pub bore: Length,
    /// What kind it is.
    #[serde(default)]
    pub kind: NozzleKind,
    /// A loss coefficient of the user's own instead of the kind's, on the exit velocity and on top of the velocity head.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub k: Option<f64>,
    /// Where its flow comes from.
    #[serde(default)]
    pub supply: Supply,
}

/// Kinds of nozzle.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum NozzleKind {
    /// A plain pipe end.
    #[default]
    Plain,
    /// A smooth taper down to the bore.
    Reducing,
    /// A slot of this width; the bore is its height.
    FlatFan {
        /// Of the slot.
        width: Length,
    },
    /// Ball-and-socket hose with a round end.
    BallHose,
    /// Two ends of this bore, turned apart by this angle in the horizontal.
    TwinWye {
        /// Between the two jets.
        spread: Angle,
    },
    /// A jet pump: drags in several times its own flow from the tank.
    Eductor {
        /// Total flow over motive flow.
        ratio: f64,
    },
}

/// Where water leaves the tank into a pipe.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Intake {
    /// For people, sheets and references.
    pub id: String,
    /// How it is held.
    pub mount: Mount,
    /// Which way the screen looks into the water; needed on a pipe end only.
    #[serde(default)]
    pub facing: Option<Aim>,
    /// Bore behind the screen.
    pub bore: Length,
    /// Its screen; none is a fault.
    #[serde(default)]
    pub screen: Option<Screen>,
    /// Where its flow goes.
    #[serde(default)]
    pub supply: Supply,
}

/// A guard over an intake.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Screen {
    /// Size of the whole face.
    pub face: Face,
    /// Open share of it, 0 to 1.
    pub open: f64,
    /// Share of the face that no water reaches because rock stands before it: 0.5 for one that sees water from one side only.
    #[serde(default, skip_serializing_if = "is_none")]
    pub hidden: f64,
    /// Share of what is left that dirt has blocked.
    #[serde(default, skip_serializing_if = "is_none")]
    pub blocked: f64,
}

fn is_none(share: &f64) -> bool {
    *share == 0.0
}

impl Screen {
    /// Area of its face that water reaches, m².
    pub fn free_face(&self) -> f64 {
        self.face.area() * (1.0 - self.hidden.clamp(0.0, 1.0)) * (1.0 - self.blocked.clamp(0.0, 1.0))
    }

    /// Area that water can pass, m².
    pub fn free_area(&self) -> f64 {
        self.free_face() * self.open
    }
}

/// Forms of a screen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Face {
    /// Diameter.
    Round(Length),
    /// Width and height.
    Rectangle(Length, Length),
}

impl Face {
    /// Whole area, m².
    pub fn area(&self) -> f64 {
        match self {
            Self::Round(diameter) => std::f64::consts::FRAC_PI_4 * diameter.si().powi(2),
            Self::Rectangle(width, height) => width.si() * height.si(),
        }
    }
}

/// An overflow box: water goes over its lip and down its drains.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Overflow {
    /// For people.
    pub id: String,
    /// Footprint: one corner, x and y.
    pub from: (Length, Length),
    /// Footprint: the opposite corner, x and y.
    pub to: (Length, Length),
    /// Height of the lip above the inside floor.
    pub crest: Length,
    /// Length of lip, teeth and all.
    pub lip: Length,
    /// Share of the lip that comb teeth leave open, 0 to 1.
    #[serde(default = "whole", skip_serializing_if = "is_whole")]
    pub open: f64,
    /// Pipes down to the sump.
    #[serde(default)]
    pub drains: Vec<Drain>,
}

/// A drain of an overflow box.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Drain {
    /// For people.
    pub id: String,
    /// Nominal size and schedule, as in the catalogue.
    pub pipe: String,
    /// How it runs.
    pub kind: DrainKind,
    /// Height from the water in the box to the sump's water.
    pub drop: Length,
    /// Length of pipe.
    pub length: Length,
    /// Water over its mouth in the box while it runs, if it has to stay free of air.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub depth: Option<Length>,
}

/// How a drain runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DrainKind {
    /// Full of water, throttled by a valve.
    FullSiphon,
    /// Water clings to the wall round a core of air.
    OpenStack,
    /// Dry until the others fail.
    Emergency,
}

/// The vessel below, from which return loops draw.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sump {
    /// Its water surface, above the tank's inside floor (so usually negative).
    pub level: Length,
    /// Room above that surface before it spills.
    pub free_volume: Volume,
    /// Water over the middle of the opening that return loops draw from, at that surface.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub suction_depth: Option<Length>,
}

fn whole() -> f64 {
    1.0
}

fn is_whole(share: &f64) -> bool {
    *share == 1.0
}
