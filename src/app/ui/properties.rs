//! The selected part: its name, its fields, what can be done with it.

use super::{Seen, edit_part, fields, theme, words};
use crate::app::action::Action;
use crate::app::document::Edit;
use crate::app::mirror::Mirror;
use crate::app::part::{Item, List, Part};
use crate::app::reach;
use bevy_egui::egui::text::{CCursor, CCursorRange};
use bevy_egui::egui::{Grid, Id, Key, Response, RichText, ScrollArea, TextEdit, Ui};

/// The panel; `room`: height for the fields, points.
pub fn panel(ui: &mut Ui, part: Part, room: f32, seen: &Seen, out: &mut Vec<Action>) {
    let Some(mut item) = part.get(seen.model.document.layout()) else { return };
    let many = 1 + seen.model.desk.also.len();
    if many > 1 {
        ui.label(RichText::new(format!("{many} parts selected")).strong());
        ui.label(RichText::new("Drag one to move them all. The fields change the first of them.").small().color(seen.theme().muted));
    }
    name(ui, part, seen, out);
    let mut changed = false;
    ScrollArea::vertical().id_salt("fields").auto_shrink([false, true]).max_height(room).show(ui, |ui| {
        Grid::new(("fields", part)).num_columns(2).spacing([8.0, 4.0]).show(ui, |ui| {
            known(ui, part, seen);
            changed = edit_part::edit(ui, &mut item, seen);
        });
    });
    if changed {
        out.push(Action::Edit(Edit::Put(part.index, Box::new(item))));
    }
    buttons(ui, part, seen, out);
}

/// Its id, which can be written over; what refers to it follows. Taken or empty ids are not accepted.
fn name(ui: &mut Ui, part: Part, seen: &Seen, out: &mut Vec<Action>) {
    let label = part.label(seen.model.document.layout());
    ui.horizontal(|ui| {
        if matches!(part.list, List::Tank | List::Sand | List::Sump) {
            ui.label(RichText::new(label).strong());
            return;
        }
        let key = Id::new(("id", part));
        let mut text: String = ui.ctx().data(|d| d.get_temp(key)).unwrap_or_else(|| label.clone());
        let field = ui
            .add(TextEdit::singleline(&mut text).id(key.with("field")).desired_width(130.0))
            .on_hover_text("Its name; pipes and sequences follow a new one");
        choose_all(ui, &field, text.chars().count());
        if field.lost_focus() {
            if !ui.input(|i| i.key_pressed(Key::Escape)) && text.trim() != label {
                out.push(Action::Edit(Edit::Rename(part, text.trim().to_owned())));
            }
            ui.ctx().data_mut(|d| d.remove_temp::<String>(key));
        } else if field.has_focus() {
            ui.ctx().data_mut(|d| d.insert_temp(key, text));
        }
        ui.label(RichText::new(kind_of(part.list)).small().color(seen.theme().muted));
    });
}

/// The click that opens a name chooses all of it, so that typing writes another; the next sets the cursor.
fn choose_all(ui: &Ui, field: &Response, letters: usize) {
    let opened = field.id.with("opened");
    if field.gained_focus() {
        ui.ctx().data_mut(|d| d.insert_temp(opened, true));
    }
    if field.clicked() && ui.ctx().data_mut(|d| d.remove_temp::<bool>(opened)).is_some() {
        let mut state = TextEdit::load_state(ui.ctx(), field.id).unwrap_or_default();
        state.cursor.set_char_range(Some(CCursorRange::two(CCursor::default(), CCursor::new(letters))));
        TextEdit::store_state(ui.ctx(), field.id, state);
    }
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
        List::Tank | List::Sand | List::Sump => "",
    }
}

fn buttons(ui: &mut Ui, part: Part, seen: &Seen, out: &mut Vec<Action>) {
    let layout = seen.model.document.layout();
    ui.add_space(theme::GAP);
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        if part.list == List::Sequences
            && ui.button("Use this").on_hover_text("Run the drum units by this sequence (Q takes the next)").clicked()
        {
            out.push(Action::Edit(Edit::UseSequence(part.label(layout))));
        }
        if part.get(layout).is_some_and(|mut item| reach::aim_of(&mut item).is_some())
            && ui.button("Aim at…").on_hover_text("Then click the rock, the sand or a panel: the jet blows at that point (A)").clicked()
        {
            out.push(Action::PickAim);
        }
        let stands = part.place(layout).is_some();
        if stands && ui.button("Look").on_hover_text("Take the camera there (Z)").clicked() {
            out.push(Action::Frame);
        }
        if !matches!(part.list, List::Tank | List::Sand | List::Sump) && ui.button("Copy").on_hover_text("Add a copy (Ctrl+D)").clicked() {
            out.push(Action::Duplicate);
        }
        if stands && !matches!(part.list, List::Tank | List::Sand) {
            mirrors(ui, out);
        }
        if part.list != List::Tank && ui.button("Delete").on_hover_text("Take it out; undo brings it back").clicked() {
            out.push(Action::Delete);
        }
    });
}

fn mirrors(ui: &mut Ui, out: &mut Vec<Action>) {
    ui.menu_button("Mirror", |ui| {
        let choices = [
            ("Left and right", Action::Mirror(Mirror::LeftRight)),
            ("Front and back", Action::Mirror(Mirror::FrontBack)),
            ("Add the image, left and right", Action::MirrorCopy(Mirror::LeftRight)),
            ("Add the image, front and back", Action::MirrorCopy(Mirror::FrontBack)),
        ];
        for (word, action) in choices {
            if ui.button(word).clicked() {
                out.push(action);
                ui.close();
            }
        }
    });
}

/// What the plumbing says about it at the playhead.
fn known(ui: &mut Ui, part: Part, seen: &Seen) {
    let (model, display) = (seen.model, seen.model.desk.display);
    let Some(schedule) = &model.live.schedule else { return };
    let now = model.desk.playhead;
    match part.get(model.document.layout()) {
        Some(Item::Nozzle(_)) => {
            let (flow, momentum) = schedule.nozzle_at(part.index, now);
            fields::fact(ui, "Flow now", words::flow(flow, display));
            let speed = if flow > 1e-9 { momentum / flow } else { 0.0 };
            fields::fact(ui, "Exit speed now", words::speed(speed, display));
        }
        Some(Item::Intake(_)) => fields::fact(ui, "Flow now", words::flow(schedule.intake_at(part.index, now), display)),
        Some(Item::Pump(_)) => {
            fields::fact(ui, "Flow now", words::flow(schedule.at(now, |d| d.pumps.get(part.index).map_or(0.0, |p| p.flow)), display));
            fields::fact(ui, "Head now", words::head(schedule.at(now, |d| d.pumps.get(part.index).map_or(0.0, |p| p.head)), display));
        }
        Some(Item::Sequence(_)) => fields::fact(ui, "Joint cycle", format!("{:.0} s", schedule.period)),
        _ => {}
    }
}
