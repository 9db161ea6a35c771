//! Step tables and windows: outlets that don't exist, and moments when every outlet is shut.

use super::fault;
use crate::finding::Finding;
use crate::layout::{Drum, Layout, Motion, Step};
use std::f64::consts::TAU;

const WHY: &str = "with every outlet shut the pump is dead-headed: it churns the same water, heats it, and may break its seal";

pub(super) fn check(layout: &Layout) -> Vec<Finding> {
    let mut found = Vec::new();
    for sequence in &layout.sequences {
        for drive in &sequence.drives {
            let Some(drum) = layout.drums.iter().find(|drum| drum.id == drive.drum) else { continue };
            let part = format!("sequences/{}/drives/{}", sequence.id, drive.drum);
            match &drive.motion {
                Motion::Steps(steps) => found.extend(step_table(&part, drum, steps)),
                Motion::Turning { .. } => found.extend(shut_somewhere(&part, drum, (0..720).map(|half| f64::from(half) * TAU / 720.0))),
                Motion::Held { turn } => found.extend(shut_somewhere(&part, drum, std::iter::once(turn * TAU))),
            }
        }
    }
    let driven = |drum: &&Drum| layout.active_sequence().is_some_and(|active| active.drives.iter().any(|drive| drive.drum == drum.id));
    for drum in layout.drums.iter().filter(|drum| !driven(drum)) {
        found.extend(shut_somewhere(&format!("drums/{}", drum.id), drum, std::iter::once(0.0)));
    }
    found
}

fn step_table(part: &str, drum: &Drum, steps: &[Step]) -> Vec<Finding> {
    let mut found = Vec::new();
    if steps.is_empty() {
        found.push(fault("no-steps", part.into(), "its step table is empty".into(), "nothing says what is open", "add a step").blocking());
    }
    for (number, step) in (1..).zip(steps) {
        for outlet in step.open.iter().filter(|outlet| !(1..=drum.outlets).contains(outlet)) {
            let what = format!("step {number} opens outlet {outlet}; `{}` has outlets 1 to {}", drum.id, drum.outlets);
            found.push(fault("no-outlet", part.into(), what, "there is nothing to open", "correct the number").blocking());
        }
        if step.open.is_empty() {
            found.push(fault(
                "dead-head",
                part.into(),
                format!("step {number} opens no outlet"),
                WHY,
                "open at least one outlet in every step",
            ));
        }
    }
    found
}

/// One finding when some of these drum angles leave no outlet open.
fn shut_somewhere(part: &str, drum: &Drum, angles: impl Iterator<Item = f64>) -> Option<Finding> {
    if !(1..=24).contains(&drum.outlets) {
        return None;
    }
    let angles: Vec<f64> = angles.collect();
    let shut = angles.iter().filter(|angle| !any_open(drum, **angle)).count();
    let first = angles.iter().find(|angle| !any_open(drum, **angle))?.to_degrees();
    let share = 100.0 * shut as f64 / angles.len() as f64;
    let what = if angles.len() > 1 {
        format!("no window meets an outlet in {share:.0} % of a turn, first at {first:.0} deg")
    } else {
        format!("it stands at {first:.0} deg, where no window meets an outlet")
    };
    Some(fault("dead-head", part.into(), what, WHY, "widen the windows, add one, or turn the drum"))
}

/// Whether a window overlaps an outlet's port with the drum turned by `angle`.
fn any_open(drum: &Drum, angle: f64) -> bool {
    drum.windows.iter().any(|window| {
        (0..drum.outlets).any(|outlet| {
            let apart = window.centre.si() + angle - TAU * f64::from(outlet) / f64::from(drum.outlets);
            let apart = (apart + TAU / 2.0).rem_euclid(TAU) - TAU / 2.0;
            apart.abs() < (window.arc.si() + drum.port_arc.si()) / 2.0 - 1e-9
        })
    })
}
