//! Questions: which file, and what about unsaved changes.

use super::{Seen, full_study, help, sheets};
use crate::app::action::Action;
use crate::app::desk::{Next, Prompt};
use crate::app::shelf::Rescued;
use crate::app::template::Template;
use bevy_egui::egui::{Align2, Context, Grid, Id, Key, RichText, TextEdit, Ui, Window};
use std::path::PathBuf;

/// Whatever lies over the window.
pub fn show(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let ctx = ui.ctx().clone();
    match &seen.model.desk.prompt {
        None | Some(Prompt::Clip) => {}
        Some(Prompt::Help) => help::window(&ctx, seen, out),
        Some(Prompt::Open(path)) => ask_path(&ctx, &OPEN, path, seen, out),
        Some(Prompt::SaveAs(path)) => ask_path(&ctx, &SAVE, path, seen, out),
        Some(Prompt::Beside(path)) => ask_path(&ctx, &BESIDE, path, seen, out),
        Some(Prompt::Import(path)) => ask_path(&ctx, &IMPORT, path, seen, out),
        Some(Prompt::Unsaved(next)) => unsaved(&ctx, next, seen, out),
        Some(Prompt::Study(wish)) => full_study::ask(&ctx, *wish, seen, out),
        Some(Prompt::Studied) => full_study::result(&ctx, seen, out),
        Some(Prompt::Sheets(page)) => sheets::show(&ctx, *page, seen, out),
        Some(Prompt::New) => begin(&ctx, seen, out),
        Some(Prompt::Changed) => changed(&ctx, seen, out),
        Some(Prompt::Rescue(rescued)) => rescue(&ctx, rescued, seen, out),
    }
}

/// A question in the middle of the window.
pub fn window(title: &'static str) -> Window<'static> {
    Window::new(title).collapsible(false).resizable(false).anchor(Align2::CENTER_CENTER, [0.0, -40.0])
}

/// A question for a path.
struct Ask {
    title: &'static str,
    label: &'static str,
    word: &'static str,
    use_it: fn(PathBuf) -> Action,
    browse: Action,
}

static OPEN: Ask = Ask {
    title: "Open a layout",
    label: "File to read; dropping one on the window does the same",
    word: "Open",
    use_it: Action::OpenPath,
    browse: Action::BrowseOpen,
};
static SAVE: Ask =
    Ask { title: "Save the layout", label: "File to write", word: "Save", use_it: Action::SavePath, browse: Action::BrowseSave };
static BESIDE: Ask = Ask {
    title: "Compare with a layout",
    label: "File that becomes A, beside the open layout",
    word: "Compare",
    use_it: Action::KeepPath,
    browse: Action::BrowseBeside,
};
static IMPORT: Ask = Ask {
    title: "Import rock",
    label: "STL, OBJ or GLB file; dropping one on the window does the same",
    word: "Import",
    use_it: Action::ImportPath,
    browse: Action::BrowseRock,
};

/// The typed path lives in egui's memory until it is used.
fn ask_path(ctx: &Context, ask: &Ask, start: &str, seen: &Seen, out: &mut Vec<Action>) {
    let id = Id::new(("path", ask.title));
    let mut path: String = ctx.data(|d| d.get_temp(id)).unwrap_or_else(|| start.to_owned());
    let mut done = false;
    window(ask.title).show(ctx, |ui| {
        let label = ui.label(ask.label);
        let field = ui.add(TextEdit::singleline(&mut path).desired_width(420.0)).labelled_by(label.id);
        if !field.lost_focus() && ctx.data(|d| d.get_temp::<String>(id)).is_none() {
            field.request_focus();
        }
        let opening = ask.title == OPEN.title;
        if opening {
            recent(ui, seen, out);
        }
        ui.horizontal(|ui| {
            let entered = field.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
            if (ui.button(ask.word).clicked() || entered) && !path.trim().is_empty() {
                out.extend([Action::Prompt(None), (ask.use_it)(path.trim().into())]);
                done = true;
            }
            if ui.button("Browse…").clicked() {
                out.extend([Action::Prompt(None), ask.browse.clone()]);
                done = true;
            }
            if opening && ui.button("The demo").clicked() {
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
                out.push(Action::SaveFirst);
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

/// Files opened or saved lately.
pub fn recent(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    for path in &seen.model.desk.recent {
        let name = path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned());
        if ui.button(name).on_hover_text(path.display().to_string()).clicked() {
            out.extend([Action::Prompt(None), Action::OpenPath(path.clone())]);
            ui.close();
        }
    }
}

/// Where a new layout starts.
fn begin(ctx: &Context, seen: &Seen, out: &mut Vec<Action>) {
    window("New layout").show(ctx, |ui| {
        ui.label("Start from");
        Grid::new("templates").num_columns(2).spacing([12.0, 6.0]).show(ui, |ui| {
            for template in Template::ALL {
                if ui.button(template.name()).clicked() {
                    out.extend([Action::Prompt(None), Action::NewFrom(template)]);
                }
                ui.label(RichText::new(template.help()).small().color(seen.theme().muted));
                ui.end_row();
            }
        });
        if ui.button("Cancel").clicked() {
            out.push(Action::Prompt(None));
        }
    });
}

fn changed(ctx: &Context, seen: &Seen, out: &mut Vec<Action>) {
    window("Changed by another program").show(ctx, |ui| {
        let path = seen.model.path_text();
        ui.label(format!("{path} was changed by another program, and the window has changes that no file holds."));
        ui.horizontal(|ui| {
            if ui.button("Read the file").on_hover_text("Undo brings your changes back").clicked() {
                out.push(Action::Reload);
            }
            if ui.button("Keep mine").on_hover_text("Saving will then write over what the other program wrote").clicked() {
                out.push(Action::KeepMine);
            }
            if ui.button("Save mine elsewhere…").clicked() {
                out.extend([Action::KeepMine, Action::SaveAs]);
            }
        });
    });
}

fn rescue(ctx: &Context, rescued: &Rescued, seen: &Seen, out: &mut Vec<Action>) {
    window("Left by a window that ended").show(ctx, |ui| {
        let of = rescued.path.as_ref().map_or_else(|| "a layout that had no file yet".to_owned(), |p| p.display().to_string());
        ui.label(format!("A window was ended before its changes were saved: {of}."));
        ui.label(
            RichText::new("Taken up, they are unsaved changes again; undo shows what the file holds.").small().color(seen.theme().muted),
        );
        ui.horizontal(|ui| {
            if ui.button("Take them up").clicked() {
                out.extend([Action::Prompt(None), Action::TakeUp(rescued.clone())]);
            }
            if ui.button("Throw them away").clicked() {
                out.push(Action::ThrowAway(rescued.clone()));
            }
            if ui.button("Later").on_hover_text("Asked again at the next start").clicked() {
                out.push(Action::Prompt(None));
            }
        });
    });
}
