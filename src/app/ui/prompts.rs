//! Questions: which file, and what about unsaved changes.

use super::{Seen, help};
use crate::app::action::Action;
use crate::app::desk::{Next, Prompt};
use bevy_egui::egui::{Align2, Context, Id, Key, TextEdit, Ui, Window};

/// Whatever lies over the window.
pub fn show(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let ctx = ui.ctx().clone();
    match &seen.model.desk.prompt {
        None => {}
        Some(Prompt::Help) => help::window(&ctx, seen, out),
        Some(Prompt::Open(path)) => ask_path(&ctx, "Open a layout", path, true, out),
        Some(Prompt::SaveAs(path)) => ask_path(&ctx, "Save the layout", path, false, out),
        Some(Prompt::Unsaved(next)) => unsaved(&ctx, next, seen, out),
    }
}

fn window(title: &'static str) -> Window<'static> {
    Window::new(title).collapsible(false).resizable(false).anchor(Align2::CENTER_CENTER, [0.0, -40.0])
}

/// The typed path lives in egui's memory until it is used.
fn ask_path(ctx: &Context, title: &'static str, start: &str, open: bool, out: &mut Vec<Action>) {
    let id = Id::new(("path", title));
    let mut path: String = ctx.data(|d| d.get_temp(id)).unwrap_or_else(|| start.to_owned());
    let mut done = false;
    window(title).show(ctx, |ui| {
        let label = ui.label(if open { "File to read; dropping one on the window does the same" } else { "File to write" });
        let field = ui.add(TextEdit::singleline(&mut path).desired_width(420.0)).labelled_by(label.id);
        if !field.lost_focus() && ctx.data(|d| d.get_temp::<String>(id)).is_none() {
            field.request_focus();
        }
        ui.horizontal(|ui| {
            let word = if open { "Open" } else { "Save" };
            let entered = field.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
            if (ui.button(word).clicked() || entered) && !path.trim().is_empty() {
                let file = path.trim().into();
                out.extend([Action::Prompt(None), if open { Action::OpenPath(file) } else { Action::SavePath(file) }]);
                done = true;
            }
            if ui.button("Browse…").clicked() {
                out.extend([Action::Prompt(None), if open { Action::BrowseOpen } else { Action::BrowseSave }]);
                done = true;
            }
            if open && ui.button("The demo").clicked() {
                out.extend([Action::Prompt(None), Action::Demo]);
                done = true;
            }
            if ui.button("Cancel").clicked() {
                out.push(Action::Prompt(None));
                done = true;
            }
        });
    });
    if done || ctx.input(|i| i.key_pressed(Key::Escape)) {
        ctx.data_mut(|d| d.remove_temp::<String>(id));
    } else {
        ctx.data_mut(|d| d.insert_temp(id, path));
    }
}

fn unsaved(ctx: &Context, next: &Next, seen: &Seen, out: &mut Vec<Action>) {
    window("Unsaved changes").show(ctx, |ui| {
        ui.label(format!("{} has changes that no file holds yet.", seen.model.document.layout().name));
        let lose = if *next == Next::Quit { "Quit without saving" } else { "Go on without saving" };
        ui.horizontal(|ui| {
            if ui.button("Save first").clicked() {
                out.extend([Action::Prompt(None), Action::Save]);
            }
            if ui.button(lose).clicked() {
                out.push(Action::Discard);
            }
            if ui.button("Stay").clicked() {
                out.push(Action::Prompt(None));
            }
        });
    });
}
