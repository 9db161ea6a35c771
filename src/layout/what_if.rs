//! What-ifs: named changes to a layout, for service and for the day something fails.

use super::{Aim, Direction, Drive, Face, Fitting, Layout, Motion, Rock, Screen, Shape};
use crate::units::{Angle, Display, Length, Time};
use serde::{Deserialize, Serialize};

/// A named set of changes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WhatIf {
    /// For people and the command line.
    pub id: String,
    /// What is different.
    pub changes: Vec<Change>,
}

/// One change to a layout. Parts are named by their ids.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Change {
    /// No water passes this run.
    ValveShut {
        /// The run.
        run: String,
    },
    /// A pump runs at this share of full speed; 0 is off.
    PumpSpeed {
        /// The pump.
        pump: String,
        /// Share of full speed.
        speed: f64,
    },
    /// A drum stands still.
    DrumStalled {
        /// The drum unit.
        drum: String,
        /// At this point of a turn, 0 to 1.
        turn: f64,
    },
    /// A part of a screen is clogged.
    ScreenBlocked {
        /// The intake.
        intake: String,
        /// Share of its face, 0 to 1.
        share: f64,
    },
    /// The check valves of a run stand open both ways.
    CheckValveFailed {
        /// The run.
        run: String,
    },
    /// A drain carries nothing.
    DrainBlocked {
        /// The drain.
        drain: String,
    },
    /// Less water in the tank.
    LevelLowered {
        /// By how much.
        by: Length,
    },
    /// Corals and algae have grown over the rock.
    RockGrown {
        /// Outward, on every side.
        by: Length,
    },
    /// A nozzle was knocked.
    AimOff {
        /// The nozzle.
        nozzle: String,
        /// Turned by this much in the horizontal, anticlockwise seen from above.
        angle: Angle,
    },
}

/// The layout with the changes made. Changes to parts that it doesn't have change nothing; see [`unknown_part`].
pub fn apply(layout: &Layout, what_if: &WhatIf) -> Layout {
    let mut changed = layout.clone();
    what_if.changes.iter().for_each(|change| make(&mut changed, change));
    changed
}

/// The part that a change names and the layout doesn't have.
pub fn unknown_part<'a>(layout: &Layout, change: &'a Change) -> Option<&'a str> {
    let runs = || layout.circuits.iter().flat_map(|c| c.suction.iter().chain(&c.discharge));
    let (id, known) = match change {
        Change::ValveShut { run } | Change::CheckValveFailed { run } => (run, runs().any(|r| r.id == *run)),
        Change::PumpSpeed { pump, .. } => (pump, layout.pumps.iter().any(|p| p.id == *pump)),
        Change::DrumStalled { drum, .. } => (drum, layout.drums.iter().any(|d| d.id == *drum)),
        Change::ScreenBlocked { intake, .. } => (intake, layout.intakes.iter().any(|i| i.id == *intake)),
        Change::DrainBlocked { drain } => (drain, layout.overflows.iter().any(|o| o.drains.iter().any(|d| d.id == *drain))),
        Change::AimOff { nozzle, .. } => (nozzle, layout.nozzles.iter().any(|n| n.id == *nozzle)),
        Change::LevelLowered { .. } | Change::RockGrown { .. } => return None,
    };
    (!known).then_some(id.as_str())
}

fn make(layout: &mut Layout, change: &Change) {
    match change {
        Change::ValveShut { run } => fittings_of(layout, run).for_each(shut),
        Change::CheckValveFailed { run } => {
            fittings_of(layout, run).for_each(|f| f.retain(|f| !f.part.to_lowercase().contains("check valve")))
        }
        Change::PumpSpeed { pump, speed } => {
            layout.pumps.iter_mut().filter(|p| p.id == *pump).for_each(|p| p.speed = *speed);
        }
        Change::DrumStalled { drum, turn } => stall(layout, drum, *turn),
        Change::ScreenBlocked { intake, share } => {
            layout.intakes.iter_mut().filter(|i| i.id == *intake).for_each(|i| block(&mut i.screen, &i.bore, *share));
        }
        Change::DrainBlocked { drain } => layout.overflows.iter_mut().for_each(|o| o.drains.retain(|d| d.id != *drain)),
        Change::LevelLowered { by } => layout.tank.water_level = metres(layout.tank.water_level.si() - by.si()),
        Change::RockGrown { by } => layout.rocks.iter_mut().for_each(|r| grow(r, by.si())),
        Change::AimOff { nozzle, angle } => turn_aside(layout, nozzle, angle.si()),
    }
}

fn fittings_of<'a>(layout: &'a mut Layout, run: &'a str) -> impl Iterator<Item = &'a mut Vec<Fitting>> {
    let runs = layout.circuits.iter_mut().flat_map(|c| c.suction.iter_mut().chain(&mut c.discharge));
    runs.filter(move |r| r.id == run).map(|r| &mut r.fittings)
}

fn shut(fittings: &mut Vec<Fitting>) {
    fittings.push(Fitting {
        part: "shut valve".into(),
        count: 1,
        opening: 0.0,
        k: Some(0.0),
        curve: Vec::new(),
        other: None,
        check: Default::default(),
    });
}

fn stall(layout: &mut Layout, drum: &str, turn: f64) {
    let named = layout.sequence.clone();
    let Some(active) = layout.sequences.iter_mut().find(|s| named.is_empty() || s.id == named) else { return };
    let motion = Motion::Held { turn };
    match active.drives.iter_mut().find(|d| d.drum == drum) {
        Some(drive) => drive.motion = motion,
        None => {
            active.drives.push(Drive { drum: drum.into(), motion, phase: Time::new(0.0, "s"), direction: Direction::Forward, slip: 0.0 })
        }
    }
}

/// Without a screen the bare opening is what gets covered.
fn block(screen: &mut Option<Screen>, bore: &Length, share: f64) {
    let left = (1.0 - share).clamp(0.0, 1.0);
    let screen = screen.get_or_insert_with(|| Screen { face: Face::Round(bore.clone()), open: 1.0, hidden: 0.0, blocked: 0.0 });
    match &mut screen.face {
        Face::Round(diameter) => *diameter = metres(diameter.si() * left.sqrt()),
        Face::Rectangle(_, height) => *height = metres(height.si() * left),
    }
}

fn grow(rock: &mut Rock, by: f64) {
    let wider = |length: &mut Length, sides: f64| *length = metres(length.si() + sides * by);
    match &mut rock.shape {
        Shape::Ellipsoid { size } | Shape::Box { size } => [&mut size.0, &mut size.1, &mut size.2].into_iter().for_each(|l| wider(l, 2.0)),
        Shape::Cylinder { diameter, height } => {
            wider(diameter, 2.0);
            wider(height, 1.0);
        }
        Shape::Arch { span, height, depth, thickness } => {
            wider(span, 2.0);
            wider(height, 1.0);
            wider(depth, 2.0);
            wider(thickness, 2.0);
        }
        Shape::Shelf { length, depth, thickness } => [length, depth, thickness].into_iter().for_each(|l| wider(l, 2.0)),
        Shape::Pile { length, depth, height, boulders, .. } => {
            [length, depth, &mut boulders.0, &mut boulders.1].into_iter().for_each(|l| wider(l, 2.0));
            wider(height, 1.0);
        }
        Shape::Scan { scan, .. } => scan.grown += by,
    }
}

fn turn_aside(layout: &mut Layout, nozzle: &str, angle: f64) {
    let size = layout.tank.size();
    for nozzle in layout.nozzles.iter_mut().filter(|n| n.id == nozzle) {
        let direction = nozzle.aim.direction(nozzle.mount.centre(size));
        let azimuth = direction.y.atan2(direction.x) + angle;
        let elevation = direction.z.clamp(-1.0, 1.0).asin();
        nozzle.aim =
            Aim::Angles { azimuth: Angle::from_si(azimuth, Display::Metric), elevation: Angle::from_si(elevation, Display::Metric) };
    }
}

fn metres(si: f64) -> Length {
    Length::from_si(si, Display::Metric)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn layout() -> Layout {
        let text = include_str!("../../layouts/peninsula.ron");
        ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME).from_str(text).unwrap()
    }

    fn change(change: Change) -> Layout {
        apply(&layout(), &WhatIf { id: "test".into(), changes: vec![change] })
    }

    #[test]
    fn each_change_changes_its_part() {
        assert_eq!(change(Change::PumpSpeed { pump: "return pump".into(), speed: 0.0 }).pumps[2].speed, 0.0);
        let blocked = change(Change::ScreenBlocked { intake: "intake A1".into(), share: 0.5 });
        let area = |l: &Layout| l.intakes[0].screen.as_ref().unwrap().face.area();
        assert!((area(&blocked) / area(&layout()) - 0.5).abs() < 1e-9);
        let shut = change(Change::ValveShut { run: "SA1".into() });
        assert_eq!(shut.circuits[0].suction[0].fittings.last().unwrap().opening, 0.0);
        let failed = change(Change::CheckValveFailed { run: "DR1".into() });
        assert!(!failed.circuits[2].discharge[0].fittings.iter().any(|f| f.part.contains("check")));
        let grown = change(Change::RockGrown { by: Length::new(2.0, "cm") });
        assert_ne!(grown.rocks, layout().rocks);
        let held = change(Change::DrumStalled { drum: "unit A".into(), turn: 0.25 });
        assert_eq!(held.active_sequence().unwrap().drives[0].motion, Motion::Held { turn: 0.25 });
        let off = change(Change::AimOff { nozzle: "A1".into(), angle: Angle::new(10.0, "deg") });
        let (was, is) = (layout().nozzles[0].aim.direction(glam::DVec3::ZERO), off.nozzles[0].aim.direction(glam::DVec3::ZERO));
        assert!((was.dot(is) - 10f64.to_radians().cos()).abs() < 1e-9);
    }

    #[test]
    fn unknown_parts_are_named() {
        let wrong = Change::ValveShut { run: "X9".into() };
        assert_eq!(unknown_part(&layout(), &wrong), Some("X9"));
        assert_eq!(change(wrong), layout());
    }
}
