//! The full study: what it shall be, how far it is, what it found.

use super::prompts::window;
use super::{Seen, theme, verdict, words};
use crate::app::action::Action;
use crate::app::desk::{Prompt, Wanted};
use crate::app::full_study::{CELLS_MM, MOST_CELLS, Studied, StudyWish};
use crate::report::shown::duration;
use bevy_egui::egui::{ComboBox, Context, Grid, Id, ProgressBar, RichText, ScrollArea, TextEdit, Ui, vec2};

/// A row that is always in sight: start one, how far it is, or what the last one is of.
pub fn row(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let jobs = &seen.model.jobs;
    let Some(job) = &jobs.study else {
        let (word, help) = match (&jobs.studied, seen.model.fresh_study()) {
            (_, Some(_)) => ("Full study: look at it", "Of the layout as it is"),
            (Some(_), None) => ("Full study again…", "The layout has changed since the last one"),
            (None, None) => ("Full study…", "Whole cycles on finer cells, beside the window: the verdict to drill by"),
        };
        if ui.button(word).on_hover_text(help).clicked() {
            out.push(Action::AskStudy);
        }
        return;
    };
    let (share, phase) = job.progress();
    let left = if share > 0.02 { format!(", {} left", duration(job.seconds() * (1.0 - share) / share)) } else { String::new() };
    let text = if job.is_stopping() { "stopping…".to_owned() } else { format!("Full study: {phase}{left}") };
    ui.add(ProgressBar::new(share as f32).desired_height(14.0).text(RichText::new(text).small()));
    let help = "End it here: the verdict is on what there is, and says so";
    if !job.is_stopping() && ui.small_button("Stop the study").on_hover_text(help).clicked() {
        out.push(Action::StopStudy);
    }
}

/// What it shall be.
pub fn ask(ctx: &Context, wish: StudyWish, seen: &Seen, out: &mut Vec<Action>) {
    window("Full study").show(ctx, |ui| {
        ui.set_width(380.0);
        let mut changed = wish;
        Grid::new("study").num_columns(2).spacing([12.0, 6.0]).show(ui, |ui| {
            ui.label("Cells");
            let name = |mm: u32| words::length(f64::from(mm) * 1e-3, seen.model.desk.display);
            ComboBox::from_id_salt("study cells").selected_text(name(wish.cell_mm)).show_ui(ui, |ui| {
                CELLS_MM.iter().for_each(|mm| drop(ui.selectable_value(&mut changed.cell_mm, *mm, name(*mm))));
            });
            ui.end_row();
            ui.label("Averages");
            ui.vertical(|ui| {
                ui.radio_value(&mut changed.until_settled, false, "whole cycles, three minutes or more");
                ui.radio_value(&mut changed.until_settled, true, "until they are sure, however long");
            });
            ui.end_row();
            ui.label("Besides");
            ui.checkbox(&mut changed.age, "age of the water").on_hover_text("Where water stays long; takes a third more time");
            ui.end_row();
        });
        let (text, possible) = estimate(changed, seen);
        ui.label(RichText::new(text).small().color(seen.theme().muted));
        ui.add_space(theme::GAP / 2.0);
        ui.horizontal(|ui| {
            if ui.add_enabled(possible, bevy_egui::egui::Button::new("Start")).clicked() {
                out.push(Action::StartStudy(changed));
            }
            if ui.button("Cancel").clicked() {
                out.push(Action::Prompt(None));
            }
        });
        if changed != wish {
            out.push(Action::Prompt(Some(Prompt::Study(changed))));
        }
    });
}

/// How many cells and about how long, and whether it can be started.
fn estimate(wish: StudyWish, seen: &Seen) -> (String, bool) {
    let (layout, live) = (seen.model.document.layout(), &seen.model.live);
    let cells = wish.cells(layout);
    let count = words::thousands(cells.round() as usize);
    if cells > MOST_CELLS {
        return (format!("{count} cells are too many to be started from here: take larger ones, or `slackwater study`."), false);
    }
    let (Some(schedule), None) = (&live.schedule, live.blocked()) else {
        return ("It can be started once the faults that stand in its way are mended.".into(), false);
    };
    let fastest = schedule.duties.iter().flat_map(|d| &d.nozzles).map(|n| n.speed).fold(0.5, f64::max);
    let about = live.snapshot.as_ref().filter(|s| s.cell_steps_per_s > 0.0).map_or(String::new(), |flow| {
        format!(", about {} here", duration(wish.seconds(layout, schedule.period, fastest, flow.cell_steps_per_s)))
    });
    (format!("{count} cells{about}. You can go on editing meanwhile; the study is of the layout as it is now."), true)
}

/// What it found.
pub fn result(ctx: &Context, seen: &Seen, out: &mut Vec<Action>) {
    let Some(studied) = &seen.model.jobs.studied else { return };
    window("Full study").show(ctx, |ui| {
        ui.set_width(440.0);
        ui.label(RichText::new(about(studied, seen)).small().color(seen.theme().muted));
        let room = (ui.ctx().content_rect().height() * 0.5).max(80.0);
        ScrollArea::vertical().max_height(room).id_salt("study findings").show(ui, |ui| {
            for finding in &studied.study.record.findings {
                verdict::told(ui, finding, seen);
            }
            if studied.study.record.findings.is_empty() {
                ui.label("Nothing to mend was found.");
            }
        });
        ui.separator();
        report(ui, seen, out);
        if ui.button("Another study…").clicked() {
            out.push(Action::Prompt(Some(Prompt::Study(StudyWish::default()))));
        }
    });
}

fn about(studied: &Studied, seen: &Seen) -> String {
    let run = &studied.study.record.run;
    let of = if seen.model.fresh_study().is_some() { "Of the layout as it is" } else { "Of the layout before the changes made since" };
    let cell = words::length(run.cell_m, seen.model.desk.display);
    let early = if run.interrupted { ", stopped early" } else { "" };
    format!("{of}: {:.0} s averaged on cells of {cell}{early}.", run.averaged_s)
}

fn report(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    if let Some(job) = &seen.model.jobs.report {
        ui.label(format!("Writing the report… {:.0} s", job.seconds()));
        return;
    }
    if let Some(folder) = folder(ui, "Report, pictures, tables and fields into", "study", Wanted::Report, seen, out) {
        out.push(Action::WriteReport(folder.into()));
    }
}

/// A field for a folder with its buttons; the folder when it shall be written.
pub fn folder(ui: &mut Ui, label: &str, what: &'static str, wanted: Wanted, seen: &Seen, out: &mut Vec<Action>) -> Option<String> {
    let key = Id::new(("folder", what, &seen.model.document.path));
    let mut text: String = ui.ctx().data(|d| d.get_temp(key)).unwrap_or_else(|| seen.model.folder_beside(what).display().to_string());
    let name = ui.label(label);
    let changed = ui.add(TextEdit::singleline(&mut text).desired_width(ui.available_width().min(430.0))).labelled_by(name.id).changed();
    if changed {
        ui.ctx().data_mut(|d| d.insert_temp(key, text.clone()));
    }
    let mut write = false;
    ui.allocate_ui(vec2(ui.available_width(), 24.0), |ui| {
        ui.horizontal(|ui| {
            write = ui.button("Write to the folder").clicked();
            if ui.button("Another folder…").clicked() {
                out.push(Action::BrowseFolder(wanted));
            }
            if ui.button("Close").clicked() {
                out.push(Action::Prompt(None));
            }
        });
    });
    (write && !text.trim().is_empty()).then(|| text.trim().to_owned())
}
