//! The searchable list of all actions; a click does it.

use super::Seen;
use crate::app::action::{Action, COMMANDS, Menu};
use bevy_egui::egui::{Align2, Context, Grid, RichText, ScrollArea, TextEdit, Ui, Window};

/// The list.
pub fn window(ctx: &Context, seen: &Seen, out: &mut Vec<Action>) {
    let mut open = true;
    let size = ctx.content_rect().size();
    let window = Window::new("All actions").collapsible(false).resizable(false).open(&mut open);
    window.anchor(Align2::CENTER_CENTER, [0.0, 0.0]).default_width((size.x - 80.0).min(620.0)).show(ctx, |ui| {
        let mut words = seen.model.desk.search.clone();
        let field = ui.add(TextEdit::singleline(&mut words).hint_text("Search").desired_width(260.0));
        if field.changed() {
            out.push(Action::Search(words.clone()));
        }
        // Typed into at once: letters would else be taken for the keys of actions.
        if ui.memory(|m| m.focused().is_none()) {
            field.request_focus();
        }
        ScrollArea::vertical().max_height((size.y - 190.0).max(120.0)).show(ui, |ui| list(ui, &words.to_lowercase(), seen, out));
        ui.separator();
        let mouse =
            "Mouse over the tank: left button turns, right button shifts, wheel comes closer. A label selects its part. Escape closes.";
        ui.label(RichText::new(mouse).small().color(seen.theme().muted));
    });
    if !open {
        out.push(Action::Prompt(None));
    }
}

fn list(ui: &mut Ui, words: &str, seen: &Seen, out: &mut Vec<Action>) {
    let theme = seen.theme();
    Grid::new("actions").num_columns(3).spacing([14.0, 4.0]).show(ui, |ui| {
        for menu in Menu::ALL {
            let found: Vec<_> = COMMANDS.iter().filter(|c| c.menu == menu && matches(c.name, c.help, words)).collect();
            if found.is_empty() {
                continue;
            }
            ui.label(RichText::new(menu.word()).strong().color(theme.accent));
            ui.end_row();
            for command in found {
                if ui.button(command.name).clicked() {
                    out.extend([Action::Prompt(None), command.action.clone()]);
                }
                let key = command.key.map(|k| ui.ctx().format_shortcut(&k)).unwrap_or_default();
                ui.label(RichText::new(key).monospace());
                ui.label(RichText::new(command.help).small().color(theme.muted));
                ui.end_row();
            }
        }
    });
}

fn matches(name: &str, help: &str, words: &str) -> bool {
    let text = format!("{name} {help}").to_lowercase();
    words.split_whitespace().all(|w| text.contains(w))
}
