//! Intakes with their screens, and the bodies of nozzles and propeller pumps.

use super::finish::Finish;
use super::kit::Kit;
use crate::layout::{Aim, Face, Intake, Layout, Mount, Nozzle};
use bevy::prelude::*;
use glam::DVec3;

/// Build all of them.
pub fn build(kit: &mut Kit, layout: &Layout) {
    let size = layout.tank.size();
    let pipe = kit.dull(kit.theme.pipe);
    let screen = kit.dull(kit.theme.screen);
    layout.nozzles.iter().for_each(|n| nozzle(kit, n, size, &pipe));
    layout.intakes.iter().for_each(|i| intake(kit, i, size, &screen, &pipe));
    for propeller in &layout.propellers {
        let at = propeller.at.metres();
        let along = propeller.aim.direction(at) * 0.05;
        kit.pipe(at - along, at, propeller.bore.si() / 2.0, &pipe);
    }
}

/// A stub of pipe that ends at the opening; through the panel where there is a hole.
fn nozzle(kit: &mut Kit, nozzle: &Nozzle, size: DVec3, pipe: &Handle<Finish>) {
    let at = nozzle.mount.centre(size);
    let radius = nozzle.bore.si() * 0.65;
    match nozzle.mount.panel() {
        Some(panel) => {
            kit.pipe(at - panel.inward() * 0.05, at + panel.inward() * 0.012, radius * 1.5, pipe);
            kit.pipe(at, at + nozzle.aim.direction(at) * (radius * 2.0), radius, pipe);
        }
        None => {
            let along = nozzle.aim.direction(at);
            kit.pipe(at - along * (radius * 5.0), at + along * 0.005, radius, pipe);
        }
    }
}

/// A barred face in front of its hole.
fn intake(kit: &mut Kit, intake: &Intake, size: DVec3, screen: &Handle<Finish>, pipe: &Handle<Finish>) {
    let at = intake.mount.centre(size);
    let normal = facing(intake, at);
    kit.pipe(at - normal * 0.05, at + normal * 0.004, intake.bore.si() * 0.65, pipe);
    let Some(guard) = &intake.screen else { return };
    let (right, up) = across(normal);
    let front = at + normal * 0.012;
    match &guard.face {
        Face::Round(diameter) => round(kit, front, normal, diameter.si() / 2.0, screen),
        Face::Rectangle(width, height) => barred(kit, front, right * width.si() / 2.0, up * height.si() / 2.0, screen),
    }
}

fn facing(intake: &Intake, at: DVec3) -> DVec3 {
    let aimed = intake.facing.as_ref().map(|aim: &Aim| aim.direction(at));
    match &intake.mount {
        Mount::Hole { panel, .. } => panel.inward(),
        Mount::PipeEnd(_) => aimed.filter(|d| *d != DVec3::ZERO).unwrap_or(DVec3::Z),
    }
}

/// Level and upward directions in the plane of a face; along x and y for a level face.
fn across(normal: DVec3) -> (DVec3, DVec3) {
    if normal.z.abs() > 0.9 {
        return (DVec3::X, DVec3::Y);
    }
    let right = DVec3::Z.cross(normal).normalize_or(DVec3::X);
    (right, normal.cross(right))
}

fn barred(kit: &mut Kit, middle: DVec3, right: DVec3, up: DVec3, material: &Handle<Finish>) {
    const BARS: i32 = 7;
    let thick = (right.length() / 28.0).clamp(0.002, 0.006) as f32;
    for i in 0..BARS {
        let s = f64::from(2 * i) / f64::from(BARS - 1) - 1.0;
        kit.beam(middle + right * s - up, middle + right * s + up, thick, material);
    }
    for s in [-1.0, 1.0] {
        kit.beam(middle - right + up * s, middle + right + up * s, thick * 1.6, material);
    }
}

fn round(kit: &mut Kit, middle: DVec3, normal: DVec3, radius: f64, material: &Handle<Finish>) {
    kit.pipe(middle - normal * 0.01, middle + normal * (radius * 0.4), radius, material);
}
