//! The bar at the top: menus made of the table of commands, the layout's name, units and look.

use super::{Seen, prompts};
use crate::app::action::{Action, COMMANDS, Menu};
use crate::app::desk::Look;
use crate::units::Display;
use bevy_egui::egui::{Align, Button, Color32, Label, Layout, RichText, ScrollArea, Stroke, Ui};

/// The bar.
pub fn bar(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let theme = seen.theme();
    ui.horizontal(|ui| {
        ui.label(RichText::new("Slackwater").strong().color(theme.accent));
        ui.add_space(6.0);
        for menu in Menu::ALL {
            ui.scope(|ui| {
                ui.visuals_mut().widgets.inactive.weak_bg_fill = Color32::TRANSPARENT;
                ui.visuals_mut().widgets.inactive.bg_stroke = Stroke::NONE;
                ui.menu_button(menu.word(), |ui| {
                    let most = ui.ctx().content_rect().height() - 60.0;
                    ScrollArea::vertical().max_height(most).min_scrolled_height(most).show(ui, |ui| entries(ui, menu, seen, out));
                });
            });
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            switches(ui, seen, out);
            name(ui, seen);
        });
    });
}

fn entries(ui: &mut Ui, menu: Menu, seen: &Seen, out: &mut Vec<Action>) {
    ui.set_min_width(210.0);
    for command in COMMANDS.iter().filter(|c| c.menu == menu) {
        let key = command.key.map(|k| ui.ctx().format_shortcut(&k)).unwrap_or_default();
        let button = Button::new(command.name).shortcut_text(RichText::new(key).color(seen.theme().muted)).frame(false);
        let possible = possible(&command.action, seen);
        if ui.add_enabled(possible, button.min_size([200.0, 20.0].into())).on_hover_text(command.help).clicked() {
            out.push(command.action.clone());
            ui.close();
        }
    }
    if menu == Menu::File && !seen.model.desk.recent.is_empty() {
        ui.separator();
        ui.label(RichText::new("Recent").small().color(seen.theme().muted));
        prompts::recent(ui, seen, out);
    }
}

fn possible(action: &Action, seen: &Seen) -> bool {
    let model = seen.model;
    match action {
        Action::Undo => model.document.can_undo(),
        Action::Redo => model.document.can_redo(),
        Action::Duplicate | Action::Delete | Action::Frame | Action::SelectList | Action::PickAim => model.desk.selected.is_some(),
        Action::Mirror(_) | Action::MirrorCopy(_) | Action::Nudge(_) | Action::Spin(_) | Action::Grow(_) => model.desk.selected.is_some(),
        Action::Reload => model.document.path.is_some(),
        Action::NextFinding => !model.live.findings.is_empty(),
        _ => true,
    }
}

fn switches(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let desk = &seen.model.desk;
    let look = if desk.look == Look::Dark { "Light" } else { "Dark" };
    if ui.button(look).on_hover_text("Dark or light colours, whichever reads better where you are (K)").clicked() {
        out.push(Action::Look);
    }
    for (display, word) in [(Display::Metric, "metric"), (Display::Us, "US")] {
        let picked = desk.display == display;
        if ui.selectable_label(picked, word).on_hover_text("Units on screen (U); the file keeps what you wrote").clicked() && !picked {
            out.push(Action::Units);
        }
    }
}

fn name(ui: &mut Ui, seen: &Seen) {
    let theme = seen.theme();
    let document = &seen.model.document;
    ui.add_space(12.0);
    if document.unsaved() {
        ui.label(RichText::new("unsaved").small().color(theme.caution)).on_hover_text("Ctrl+S saves");
    }
    let from = document.path.as_ref().map_or_else(|| "not in a file yet".to_owned(), |p| p.display().to_string());
    ui.add(Label::new(RichText::new(&document.layout().name).strong()).truncate()).on_hover_text(from);
}
