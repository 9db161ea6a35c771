//! The fields of a sequence: how each drum unit moves.

use super::{Seen, fields};
use crate::layout::{Direction, Drive, Drum, Motion, Sequence, Step};
use crate::units::{Display, Time};
use bevy_egui::egui::{RichText, Ui};

/// One block for each drum unit; true when something changed.
pub fn edit(ui: &mut Ui, sequence: &mut Sequence, seen: &Seen) -> bool {
    let layout = seen.model.document.layout();
    let display = seen.model.desk.display;
    let mut changed = false;
    for drive in &mut sequence.drives {
        let drum = layout.drums.iter().find(|d| d.id == drive.drum);
        ui.push_id(drive.drum.clone(), |ui| ui.label(RichText::new(&drive.drum).strong()));
        ui.end_row();
        changed |= edit_drive(ui, drive, drum, display);
    }
    for drum in layout.drums.iter().filter(|d| !sequence.drives.iter().any(|v| v.drum == d.id)).collect::<Vec<_>>() {
        ui.label(&drum.id);
        if ui.small_button("Let it turn").clicked() {
            sequence.drives.push(turning(&drum.id));
            changed = true;
        }
        ui.end_row();
    }
    changed
}

/// A unit that turns once a minute.
fn turning(drum: &str) -> Drive {
    Drive {
        drum: drum.to_owned(),
        motion: Motion::Turning { period: seconds(60.0) },
        phase: seconds(0.0),
        direction: Direction::Forward,
        slip: 0.0,
    }
}

fn seconds(s: f64) -> Time {
    Time::new(s, "s")
}

fn edit_drive(ui: &mut Ui, drive: &mut Drive, drum: Option<&Drum>, display: Display) -> bool {
    let chosen = motion(ui, "  moves by", drive, drum);
    let moved = match &mut drive.motion {
        Motion::Turning { period } => fields::quantity(ui, "  one turn", period, display),
        Motion::Held { turn } => fields::percent(ui, "  held at", turn, 1.0),
        Motion::Steps(list) => steps(ui, list, drum.map_or(0, |d| d.outlets), display),
    };
    let phase = fields::quantity(ui, "  phase", &mut drive.phase, display);
    let mut reverse = drive.direction == Direction::Reverse;
    let turned = fields::tick(ui, "  backwards", &mut reverse);
    if turned {
        drive.direction = if reverse { Direction::Reverse } else { Direction::Forward };
    }
    chosen | moved | phase | turned
}

/// Turning, steps or held; what was written for one is not kept for another.
pub fn motion(ui: &mut Ui, label: &str, drive: &mut Drive, drum: Option<&Drum>) -> bool {
    let outlets = drum.map_or(4, |d| d.outlets);
    let mut kind = match &drive.motion {
        Motion::Turning { .. } => 0,
        Motion::Steps(_) => 1,
        Motion::Held { .. } => 2,
    };
    ui.push_id(&drive.drum, |ui| ui.label(label));
    let changed = fields::pick(ui, ("motion", &drive.drum), &mut kind, &[(0, "turning"), (1, "steps"), (2, "held")]).changed();
    ui.end_row();
    if changed {
        drive.motion = match kind {
            0 => Motion::Turning { period: seconds(60.0) },
            1 => Motion::Steps((1..=outlets).map(|n| Step { open: vec![n], dwell: seconds(15.0), change_over: seconds(3.0) }).collect()),
            _ => Motion::Held { turn: 0.0 },
        };
    }
    changed
}

fn steps(ui: &mut Ui, list: &mut Vec<Step>, outlets: u32, display: Display) -> bool {
    let mut changed = false;
    let mut gone = None;
    for (i, step) in list.iter_mut().enumerate() {
        ui.label(format!("  step {}", i + 1));
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 2.0;
            changed |= opens(ui, step, outlets);
            if ui.small_button("x").on_hover_text("Take this step out").clicked() {
                gone = Some(i);
            }
        });
        ui.end_row();
        changed |= fields::quantity(ui, "    dwell", &mut step.dwell, display);
        changed |= fields::quantity(ui, "    change-over", &mut step.change_over, display);
    }
    if let Some(i) = gone.filter(|_| list.len() > 1) {
        list.remove(i);
        changed = true;
    }
    ui.label("");
    if ui.small_button("Add a step").clicked() {
        let last = list.last().cloned();
        list.push(last.unwrap_or(Step { open: vec![1], dwell: seconds(15.0), change_over: seconds(3.0) }));
        changed = true;
    }
    ui.end_row();
    changed
}

/// A button for each outlet of the unit, pressed in while it is open.
pub fn opens(ui: &mut Ui, step: &mut Step, outlets: u32) -> bool {
    let mut changed = false;
    for n in 1..=outlets {
        let open = step.open.contains(&n);
        if ui.selectable_label(open, n.to_string()).on_hover_text("Outlet open in this step").clicked() {
            if open {
                step.open.retain(|o| *o != n);
            } else {
                step.open.push(n);
                step.open.sort_unstable();
            }
            changed = true;
        }
    }
    changed
}
