//! The searchable list of all actions; a click does one, Return the one that fits best.

use super::Seen;
use crate::app::action::{Action, COMMANDS, Command, Menu};
use bevy_egui::egui::{Align2, Button, Context, Grid, Id, Key, RichText, ScrollArea, TextEdit, Ui, Window};

/// The list.
pub fn window(ctx: &Context, seen: &Seen, out: &mut Vec<Action>) {
    let mut open = true;
    let size = ctx.content_rect().size();
    let window = Window::new("All actions").collapsible(false).resizable(false).open(&mut open);
    window.anchor(Align2::CENTER_CENTER, [0.0, 0.0]).default_width((size.x - 80.0).min(620.0)).show(ctx, |ui| {
        let mut words = seen.model.desk.search.clone();
        let id = Id::new("search actions");
        // Typed into at once, from the first pass on.
        if ui.memory(|m| m.focused().is_none()) {
            ui.memory_mut(|m| m.request_focus(id));
        }
        let hint = "Search; Return does the marked one";
        let field = ui.add(TextEdit::singleline(&mut words).id(id).hint_text(hint).desired_width(260.0));
        // A field doesn't say that it changed while its window finds its size.
        if words != seen.model.desk.search {
            out.push(Action::Search(words.clone()));
        }
        if let Some(command) = best(&words).filter(|_| field.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter))) {
            out.extend([Action::Prompt(None), command.action.clone()]);
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
    let (theme, best) = (seen.theme(), best(words).map(|command| command.name));
    if best.is_none() && !words.trim().is_empty() {
        ui.label(RichText::new("No action has these words in its name or its help.").color(theme.muted));
    }
    Grid::new("actions").num_columns(3).spacing([14.0, 4.0]).show(ui, |ui| {
        for menu in Menu::ALL {
            let found: Vec<_> = COMMANDS.iter().filter(|c| c.menu == menu && matches(c.name, c.help, words)).collect();
            if found.is_empty() {
                continue;
            }
            ui.label(RichText::new(menu.word()).strong().color(theme.accent));
            ui.end_row();
            for command in found {
                if ui.add(Button::new(command.name).selected(best == Some(command.name))).clicked() {
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

/// The command that the words fit best: by its name rather than by its help. None while nothing was typed.
fn best(words: &str) -> Option<&'static Command> {
    let words = words.to_lowercase();
    let by = |of: fn(&Command) -> &str| COMMANDS.iter().find(|command| matches(command.name, of(command), &words));
    (!words.trim().is_empty()).then(|| by(|_| "").or_else(|| by(|command| command.help)))?
}

fn matches(name: &str, help: &str, words: &str) -> bool {
    let text = format!("{name} {help}").to_lowercase();
    words.split_whitespace().all(|w| text.contains(w))
}
