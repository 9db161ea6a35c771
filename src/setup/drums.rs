//! The layout's drum units as moving units.

use crate::layout::{Direction, Drive, Drum, Layout, Motion};
use crate::sequence::{self, Arc, Step, Unit};

/// One unit for each drum of the layout, in its order, moving as the active sequence says. A drum that it doesn't list stands still.
pub fn units(layout: &Layout) -> Vec<Unit> {
    let drives = layout.active_sequence().map_or(&[][..], |s| &s.drives);
    layout.drums.iter().map(|drum| unit(drum, drives.iter().find(|d| d.drum == drum.id))).collect()
}

fn unit(drum: &Drum, drive: Option<&Drive>) -> Unit {
    Unit {
        outlets: drum.outlets as usize,
        port_arc: drum.port_arc.si(),
        windows: drum.windows.iter().map(|w| Arc { centre: w.centre.si(), length: w.arc.si() }).collect(),
        motion: drive.map_or(sequence::Motion::Held(0.0), |d| motion(&d.motion, d.slip.clamp(0.0, 1.0))),
        phase: drive.map_or(0.0, |d| d.phase.si()),
        reverse: drive.is_some_and(|d| d.direction == Direction::Reverse),
    }
}

/// A slipping drum turns slower, or not at all.
fn motion(motion: &Motion, slip: f64) -> sequence::Motion {
    match motion {
        Motion::Turning { .. } if slip >= 1.0 => sequence::Motion::Held(0.0),
        Motion::Turning { period } if slip > 0.0 => sequence::Motion::Turning(period.si() / (1.0 - slip)),
        Motion::Turning { period } => sequence::Motion::Turning(period.si()),
        Motion::Held { turn } => sequence::Motion::Held(*turn),
        Motion::Steps(steps) => sequence::Motion::Steps(steps.iter().map(step).collect()),
    }
}

fn step(step: &crate::layout::Step) -> Step {
    let open = step.open.iter().filter_map(|n| (*n as usize).checked_sub(1)).collect();
    Step { open, dwell: step.dwell.si(), change_over: step.change_over.si() }
}
