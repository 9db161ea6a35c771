//! The layout as a list of its parts, and the fields of the selected one.

use super::{Seen, guide, properties, theme};
use crate::app::action::Action;
use crate::app::document::Edit;
use crate::app::fresh::Fresh;
use crate::app::part::{List, Part, ids};
use bevy_egui::egui::{Button, CollapsingHeader, Frame, Id, Label, Panel, RichText, ScrollArea, TextEdit, TextStyle, Ui};

/// The list follows a new selection for so many passes.
const FOLLOWED: u8 = 10;

/// The panel.
pub fn panel(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    if let Some(part) = seen.model.desk.selected {
        let frame = Frame::new();
        let most = ui.available_height() * 0.68;
        // Name above, two rows of buttons below, and two lines of words where several are selected.
        let around = if seen.model.desk.also.is_empty() { 120.0 } else { 176.0 };
        let shown = Panel::bottom("properties").resizable(false).min_size(120.0_f32.min(most)).max_size(most).frame(frame).show(ui, |ui| {
            ui.add_space(theme::GAP);
            if most > around + 90.0 {
                properties::panel(ui, part, most - around, seen, out);
            } else {
                // Too low for fields of their own: all of it is scrolled.
                ScrollArea::vertical().id_salt("low").show(ui, |ui| properties::panel(ui, part, f32::INFINITY, seen, out));
            }
        });
        settle(ui, part, shown.response.rect.height());
    }
    if seen.model.desk.selected.is_none() && ui.available_height() > 260.0 {
        Panel::bottom("guide").resizable(false).frame(Frame::new()).show(ui, |ui| guide::panel(ui, seen, out));
    }
    name(ui, seen, out);
    ui.menu_button("Add a part", |ui| {
        let most = ui.ctx().content_rect().height() - 110.0;
        ScrollArea::vertical().max_height(most).min_scrolled_height(most).show(ui, |ui| kinds(ui, out));
    });
    // Above the list, where it keeps its place while fields come and go.
    if let Some(step) = seen.model.desk.selected.and_then(|_| guide::next(seen)) {
        guide::line(ui, step, seen, out);
    }
    let picked = just_picked(ui, seen);
    ScrollArea::vertical().auto_shrink(false).id_salt("parts").show(ui, |ui| {
        for list in List::ALL {
            section(ui, list, picked, seen, out);
        }
    });
}

/// The selected part, for a moment: the list opens there and keeps it in sight while the fields below find their height.
fn just_picked(ui: &Ui, seen: &Seen) -> Option<Part> {
    let (part, key) = (seen.model.desk.selected, Id::new("picked"));
    let before = ui.ctx().data(|d| d.get_temp::<(Option<Part>, u8)>(key)).unwrap_or_default();
    let passes = if before.0 == part { before.1.saturating_add(1) } else { 0 };
    ui.ctx().data_mut(|d| d.insert_temp(key, (part, passes)));
    part.filter(|_| passes < FOLLOWED)
}

/// Fields that were just opened take a few passes to find their height; nobody should aim at one that is about to move.
fn settle(ui: &Ui, part: Part, height: f32) {
    let key = Id::new("fields settled");
    if ui.ctx().data(|d| d.get_temp(key)) != Some((part, height)) {
        ui.ctx().data_mut(|d| d.insert_temp(key, (part, height)));
        ui.ctx().request_discard("fields find their height");
    }
}

fn kinds(ui: &mut Ui, out: &mut Vec<Action>) {
    for fresh in Fresh::ALL {
        if ui.button(fresh.name()).clicked() {
            out.push(Action::Add(fresh));
            ui.close();
        }
    }
    if ui.button("Rock from a mesh file…").clicked() {
        out.push(Action::ImportRock);
        ui.close();
    }
}

/// The layout's name, which can be written over.
fn name(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let mut name = seen.model.document.layout().name.clone();
    let field = TextEdit::singleline(&mut name).font(TextStyle::Heading).frame(Frame::new()).desired_width(f32::INFINITY);
    if ui.add(field).on_hover_text("Name of the layout; click to change it").changed() {
        out.push(Action::Edit(Edit::Name(name)));
    }
}

fn section(ui: &mut Ui, list: List, picked: Option<Part>, seen: &Seen, out: &mut Vec<Action>) {
    let layout = seen.model.document.layout();
    let names = ids(layout, list);
    if names.is_empty() {
        return;
    }
    if matches!(list, List::Tank | List::Sand | List::Sump) {
        entry(ui, list.title(), Part { list, index: 0 }, picked, seen, out);
        return;
    }
    let heading = RichText::new(format!("{}  {}", list.title(), names.len())).color(seen.theme().text);
    let open = matches!(list, List::Nozzles | List::Intakes | List::Sequences);
    let shown = picked.filter(|part| part.list == list).map(|_| true);
    CollapsingHeader::new(heading).id_salt(list.key()).default_open(open).open(shown).show(ui, |ui| {
        for (index, name) in names.iter().enumerate() {
            entry(ui, name, Part { list, index }, picked, seen, out);
        }
    });
}

fn entry(ui: &mut Ui, name: &str, part: Part, picked: Option<Part>, seen: &Seen, out: &mut Vec<Action>) {
    let layout = seen.model.document.layout();
    let selected = seen.model.desk.is_selected(part);
    ui.horizontal(|ui| {
        let response = ui.add(Button::selectable(selected, name).truncate()).on_hover_text("Click to select, click twice to look closely");
        if picked == Some(part) {
            response.scroll_to_me(None);
        }
        if part.list == List::Sequences && layout.active_sequence().is_some_and(|s| s.id == name) {
            ui.add(Label::new(RichText::new("in use").small().color(seen.theme().accent)).selectable(false));
        }
        if response.double_clicked() {
            out.extend([Action::Select(Some(part)), Action::Frame]);
        } else if response.clicked() {
            let adding = ui.input(|i| i.modifiers.shift || i.modifiers.command);
            out.push(if adding { Action::SelectAlso(part) } else { Action::Select((!selected).then_some(part)) });
        }
    });
}
