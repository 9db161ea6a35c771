//! The fields of the selected part.

use super::{Seen, fields, theme, words};
use crate::app::action::Action;
use crate::app::document::Edit;
use crate::app::part::{Item, List, Part};
use crate::app::reach;
use crate::layout::{Aim, Circuit, Drive, Motion, Mount, PanelName, Point, PropellerOutput, Rock, Sequence, Shape, Turn};
use crate::units::Display;
use bevy_egui::egui::{ComboBox, Grid, RichText, ScrollArea, Ui};
use glam::DVec3;

/// The panel.
pub fn panel(ui: &mut Ui, part: Part, seen: &Seen, out: &mut Vec<Action>) {
    let model = seen.model;
    let Some(mut item) = part.get(model.document.layout()) else { return };
    ui.horizontal(|ui| {
        ui.label(RichText::new(part.label(model.document.layout())).strong());
        ui.label(RichText::new(kind_of(part.list)).small().color(seen.theme().muted));
    });
    let display = model.desk.display;
    let mut changed = false;
    ScrollArea::vertical().id_salt("fields").max_height(220.0).show(ui, |ui| {
        Grid::new("fields").num_columns(2).spacing([8.0, 4.0]).show(ui, |ui| {
            changed = edit(ui, &mut item, display, model.document.layout().tank.size());
            known(ui, part, seen);
        });
    });
    if changed {
        out.push(Action::Edit(Edit::Put(part.index, Box::new(item))));
    }
    buttons(ui, part, seen, out);
}

fn kind_of(list: List) -> &'static str {
    match list {
        List::Nozzles => "nozzle",
        List::Intakes => "intake",
        List::Rocks => "rock",
        List::Pumps => "pump",
        List::Drums => "drum unit",
        List::Circuits => "pipework",
        List::Sequences => "sequence",
        List::Propellers => "propeller pump",
        List::Overflows => "overflow box",
        List::Bracing => "brace",
        List::Colonies => "colony",
        List::Zones => "zone",
        List::Tank | List::Sand => "",
    }
}

fn buttons(ui: &mut Ui, part: Part, seen: &Seen, out: &mut Vec<Action>) {
    ui.add_space(theme::GAP);
    ui.horizontal_wrapped(|ui| {
        if part.list == List::Sequences {
            let id = part.label(seen.model.document.layout());
            if ui.button("Use this").on_hover_text("Run the drum units by this sequence").clicked() {
                out.push(Action::Edit(Edit::UseSequence(id)));
            }
        }
        if part.place(seen.model.document.layout()).is_some() && ui.button("Look").on_hover_text("Take the camera there (Z)").clicked() {
            out.push(Action::Frame);
        }
        if !matches!(part.list, List::Tank | List::Sand) && ui.button("Copy").on_hover_text("Add a copy (Ctrl+D)").clicked() {
            out.push(Action::Duplicate);
        }
        if part.list != List::Tank && ui.button("Delete").on_hover_text("Take it out; undo brings it back").clicked() {
            out.push(Action::Delete);
        }
    });
}

fn edit(ui: &mut Ui, item: &mut Item, display: Display, size: DVec3) -> bool {
    match item {
        Item::Tank(tank) => {
            fields::quantity(ui, "Length", &mut tank.length, display)
                | fields::quantity(ui, "Width", &mut tank.width, display)
                | fields::quantity(ui, "Height", &mut tank.height, display)
                | fields::quantity(ui, "Water level", &mut tank.water_level, display)
        }
        Item::Sand(sand) => {
            fields::quantity(ui, "Depth", &mut sand.depth, display) | fields::quantity(ui, "Grain", &mut sand.grain, Display::Metric)
        }
        Item::Bar(bar) => point(ui, "From", &mut bar.from, display) | point(ui, "To", &mut bar.to, display),
        Item::Rock(rock) => edit_rock(ui, rock, display),
        Item::Overflow(o) => {
            fields::quantity(ui, "Crest", &mut o.crest, display)
                | fields::quantity(ui, "Lip", &mut o.lip, display)
                | fields::quantity(ui, "Left", &mut o.from.0, display)
                | fields::quantity(ui, "Front", &mut o.from.1, display)
                | fields::quantity(ui, "Right", &mut o.to.0, display)
                | fields::quantity(ui, "Back", &mut o.to.1, display)
        }
        Item::Pump(pump) => fields::percent(ui, "Speed", &mut pump.speed, 1.2),
        Item::Drum(drum) => {
            fields::quantity(ui, "Bore", &mut drum.bore, display) | fields::quantity(ui, "Port arc", &mut drum.port_arc, display)
        }
        Item::Intake(intake) => {
            let bore = fields::quantity(ui, "Bore", &mut intake.bore, display);
            let open = intake.screen.as_mut().is_some_and(|s| fields::percent(ui, "Screen open", &mut s.open, 1.0));
            mount(ui, &mut intake.mount, display) | bore | open
        }
        Item::Nozzle(nozzle) => {
            let from = nozzle.mount.centre(size);
            mount(ui, &mut nozzle.mount, display)
                | aim(ui, &mut nozzle.aim, from, display)
                | fields::quantity(ui, "Bore", &mut nozzle.bore, display)
        }
        Item::Circuit(circuit) => edit_circuit(ui, circuit, display),
        Item::Propeller(propeller) => {
            let from = propeller.at.metres();
            let strength = match &mut propeller.output {
                PropellerOutput::Flow(flow) => fields::quantity(ui, "Flow", flow, display),
                PropellerOutput::Thrust(force) => fields::quantity(ui, "Thrust", force, display),
                PropellerOutput::Speed(speed) => fields::quantity(ui, "Speed", speed, display),
            };
            point(ui, "At", &mut propeller.at, display) | aim(ui, &mut propeller.aim, from, display) | strength
        }
        Item::Sequence(sequence) => edit_sequence(ui, sequence, display),
        Item::Colony(colony) => point(ui, "At", &mut colony.at, display) | fields::quantity(ui, "Size", &mut colony.size, display),
        Item::Zone(zone) => point(ui, "From", &mut zone.from, display) | point(ui, "To", &mut zone.to, display),
    }
}

fn point(ui: &mut Ui, label: &str, p: &mut Point, display: Display) -> bool {
    ui.label(RichText::new(label).strong());
    ui.end_row();
    fields::quantity(ui, "  from left", &mut p.0, display)
        | fields::quantity(ui, "  from front", &mut p.1, display)
        | fields::quantity(ui, "  above floor", &mut p.2, display)
}

fn mount(ui: &mut Ui, mount: &mut Mount, display: Display) -> bool {
    match mount {
        Mount::PipeEnd(at) => point(ui, "On a pipe end", at, display),
        Mount::Hole { panel, along, up, .. } => {
            let (a, u) = match panel {
                PanelName::Front | PanelName::Back => ("From left", "Above floor"),
                PanelName::Left | PanelName::Right => ("From front", "Above floor"),
                PanelName::Bottom => ("From left", "From front"),
            };
            choose_panel(ui, panel) | fields::quantity(ui, a, along, display) | fields::quantity(ui, u, up, display)
        }
    }
}

fn choose_panel(ui: &mut Ui, panel: &mut PanelName) -> bool {
    ui.label("Panel");
    let before = *panel;
    ComboBox::from_id_salt("panel").selected_text(panel.word()).show_ui(ui, |ui| {
        for name in PanelName::ALL {
            ui.selectable_value(panel, name, name.word());
        }
    });
    ui.end_row();
    before != *panel
}

fn aim(ui: &mut Ui, aim: &mut Aim, from: DVec3, display: Display) -> bool {
    match aim {
        Aim::Toward(target) => {
            let moved = point(ui, "Aimed at", target, display);
            ui.label("");
            let turn = ui.small_button("Aim by angles").clicked();
            ui.end_row();
            if turn {
                *aim = reach::angles(aim.direction(from));
            }
            moved | turn
        }
        Aim::Angles { azimuth, elevation } => {
            fields::quantity(ui, "Aim, level", azimuth, display) | fields::quantity(ui, "Aim, up", elevation, display)
        }
    }
}

fn edit_rock(ui: &mut Ui, rock: &mut Rock, display: Display) -> bool {
    let at = point(ui, "Stands at", &mut rock.at, display);
    at | edit_turn(ui, &mut rock.turn, display) | edit_shape(ui, &mut rock.shape, display)
}

fn edit_turn(ui: &mut Ui, turn: &mut Turn, display: Display) -> bool {
    fields::quantity(ui, "Turned", &mut turn.yaw, display)
        | fields::quantity(ui, "Nose up", &mut turn.pitch, display)
        | fields::quantity(ui, "Rolled", &mut turn.roll, display)
}

fn edit_shape(ui: &mut Ui, shape: &mut Shape, display: Display) -> bool {
    match shape {
        Shape::Ellipsoid { size } | Shape::Box { size } => {
            fields::quantity(ui, "Long", &mut size.0, display)
                | fields::quantity(ui, "Deep", &mut size.1, display)
                | fields::quantity(ui, "High", &mut size.2, display)
        }
        Shape::Cylinder { diameter, height } => {
            fields::quantity(ui, "Across", diameter, display) | fields::quantity(ui, "High", height, display)
        }
        Shape::Arch { span, height, depth, thickness } => {
            fields::quantity(ui, "Span", span, display)
                | fields::quantity(ui, "High", height, display)
                | fields::quantity(ui, "Deep", depth, display)
                | fields::quantity(ui, "Thick", thickness, display)
        }
        Shape::Shelf { length, depth, thickness } => {
            fields::quantity(ui, "Long", length, display)
                | fields::quantity(ui, "Deep", depth, display)
                | fields::quantity(ui, "Thick", thickness, display)
        }
        Shape::Pile { length, depth, height, .. } => {
            fields::quantity(ui, "Long", length, display)
                | fields::quantity(ui, "Deep", depth, display)
                | fields::quantity(ui, "High", height, display)
        }
    }
}

/// Lengths, and valves where a run has any.
fn edit_circuit(ui: &mut Ui, circuit: &mut Circuit, display: Display) -> bool {
    let mut changed = false;
    for run in circuit.suction.iter_mut().chain(&mut circuit.discharge) {
        ui.label(RichText::new(&run.id).strong());
        ui.label(RichText::new(&run.pipe).small());
        ui.end_row();
        changed |= fields::quantity(ui, "  length", &mut run.length, display);
        for fitting in run.fittings.iter_mut().filter(|f| f.part.contains("valve") && !f.part.contains("check")) {
            changed |= fields::percent(ui, &format!("  {} open", fitting.part), &mut fitting.opening, 1.0);
        }
    }
    changed
}

fn edit_sequence(ui: &mut Ui, sequence: &mut Sequence, display: Display) -> bool {
    sequence.drives.iter_mut().fold(false, |changed, drive| edit_drive(ui, drive, display) | changed)
}

fn edit_drive(ui: &mut Ui, drive: &mut Drive, display: Display) -> bool {
    ui.label(RichText::new(&drive.drum).strong());
    ui.end_row();
    let moved = match &mut drive.motion {
        Motion::Turning { period } => fields::quantity(ui, "  one turn", period, display),
        Motion::Held { turn } => fields::percent(ui, "  held at", turn, 1.0),
        Motion::Steps(steps) => steps.iter_mut().fold(false, |changed, step| {
            let open: Vec<String> = step.open.iter().map(u32::to_string).collect();
            let dwell = fields::quantity(ui, &format!("  open {}", open.join(", ")), &mut step.dwell, display);
            dwell | fields::quantity(ui, "  change-over", &mut step.change_over, display) | changed
        }),
    };
    let phase = fields::quantity(ui, "  phase", &mut drive.phase, display);
    let mut reverse = drive.direction == crate::layout::Direction::Reverse;
    ui.label("  backwards");
    let turned = ui.checkbox(&mut reverse, "").changed();
    ui.end_row();
    if turned {
        drive.direction = if reverse { crate::layout::Direction::Reverse } else { crate::layout::Direction::Forward };
    }
    moved | phase | turned
}

/// What the plumbing says about it at the playhead.
fn known(ui: &mut Ui, part: Part, seen: &Seen) {
    let (model, display) = (seen.model, seen.model.desk.display);
    let Some(schedule) = &model.live.schedule else { return };
    let now = model.desk.playhead;
    match part.list {
        List::Nozzles => {
            let (flow, momentum) = schedule.nozzle_at(part.index, now);
            fields::fact(ui, "Flow now", words::flow(flow, display));
            let speed = if flow > 1e-9 { momentum / flow } else { 0.0 };
            fields::fact(ui, "Exit speed now", words::speed(speed, display));
        }
        List::Intakes => fields::fact(ui, "Flow now", words::flow(schedule.intake_at(part.index, now), display)),
        List::Sequences => fields::fact(ui, "Joint cycle", format!("{:.0} s", schedule.period)),
        _ => {}
    }
}
