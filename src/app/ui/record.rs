//! The question what kind of clip, the bar while it is recorded, and the caption while only the tank is seen.

use super::prompts::window;
use super::{Seen, theme};
use crate::app::action::Action;
use crate::app::caption;
use crate::app::clip::{Form, LENGTHS, SIZES, Wish};
use crate::app::desk::Prompt;
use bevy_egui::egui::{Align2, Area, Color32, FontId, Frame, Grid, Id, Margin, ProgressBar, Rect, RichText, TextEdit, Ui, vec2};

/// All three, where they belong.
pub fn overlay(ui: &mut Ui, free: Rect, seen: &Seen, out: &mut Vec<Action>) {
    if seen.model.desk.prompt == Some(Prompt::Clip) {
        ask(ui, seen, out);
    }
    if seen.model.desk.recording.is_some() {
        bar(ui, free, seen, out);
    }
    if !seen.model.desk.shown.panels && seen.model.desk.clip.captions {
        words(ui, free, seen);
    }
}

fn ask(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let mut wish = seen.model.desk.clip.clone();
    window("Record a clip").show(ui.ctx(), |ui| {
        Grid::new("clip").num_columns(2).spacing([14.0, 7.0]).show(ui, |ui| {
            choices(ui, &mut wish);
        });
        let text = format!("{} It goes beside the layout's file.", takes(&wish, seen.model.desk.pace));
        ui.label(RichText::new(text).small().color(seen.theme().muted));
        ui.horizontal(|ui| {
            if ui.button("Record").clicked() {
                out.push(Action::Record);
            }
            if ui.button("Cancel").clicked() {
                out.push(Action::Prompt(None));
            }
        });
    });
    if wish != seen.model.desk.clip {
        out.insert(0, Action::Wish(wish));
    }
}

fn choices(ui: &mut Ui, wish: &mut Wish) {
    ui.label("As");
    ui.horizontal(|ui| {
        ui.selectable_value(&mut wish.form, Form::Gif, "GIF").on_hover_text("One file that plays in mail, messengers and slide shows");
        ui.selectable_value(&mut wish.form, Form::Pictures, "Numbered pictures").on_hover_text("A folder of PNG files for film programs");
    });
    ui.end_row();
    ui.label("Size");
    ui.horizontal(|ui| {
        for size in SIZES {
            ui.selectable_value(&mut wish.size, size, format!("{} × {}", size[0], size[1]));
        }
    });
    ui.end_row();
    ui.label("Plays");
    ui.horizontal(|ui| {
        for length in LENGTHS {
            ui.selectable_value(&mut wish.length, length, format!("{length:.0} s"));
        }
    });
    ui.end_row();
    ui.label("Camera");
    ui.checkbox(&mut wish.swing, "swings slowly to and fro");
    ui.end_row();
    ui.label("Words");
    ui.horizontal(|ui| {
        ui.checkbox(&mut wish.captions, "shown").on_hover_text("On clips, on stills, and on the screen while only the tank is seen");
        let field = TextEdit::singleline(&mut wish.words).hint_text("the layout's name").desired_width(220.0);
        ui.add_enabled(wish.captions, field);
    });
    ui.end_row();
}

fn takes(wish: &Wish, pace: f64) -> String {
    format!("{:.0} s of the tank at {pace}×, as the window shows it now.", wish.length * pace)
}

fn bar(ui: &mut Ui, free: Rect, seen: &Seen, out: &mut Vec<Action>) {
    let Some(recording) = seen.model.desk.recording else { return };
    // Under the switches and the legend, which reach the middle of a narrow picture.
    let area = |name: &str| ui.ctx().memory(|m| m.area_rect(Id::new(name))).map_or(free.top(), |area| area.bottom());
    let at = bevy_egui::egui::pos2(free.center().x, area("see").max(area("legend")) + 8.0);
    Area::new(Id::new("recording")).pivot(Align2::CENTER_TOP).fixed_pos(at).show(ui.ctx(), |ui| {
        Frame::new().fill(seen.theme().raised).corner_radius(6).inner_margin(Margin::symmetric(10, 6)).show(ui, |ui| {
            ui.horizontal(|ui| {
                let (dot, _) = ui.allocate_exact_size(vec2(12.0, 12.0), bevy_egui::egui::Sense::hover());
                ui.painter().circle_filled(dot.center(), 5.0, seen.theme().fault);
                ui.label(if recording.writing { "Writing the clip" } else { "Recording" });
                ui.add(ProgressBar::new(recording.done).desired_width(160.0).desired_height(8.0).fill(seen.theme().accent));
                if ui.button("Stop").on_hover_text("Stop and keep nothing").clicked() {
                    out.push(Action::StopRecording);
                }
            });
        });
    });
}

/// Low at the left, while there are no panels.
fn words(ui: &Ui, free: Rect, seen: &Seen) {
    let model = seen.model;
    let (wish, colours) = (&model.desk.clip, seen.theme());
    let lift = if model.kept.is_some() { 44.0 } else { 16.0 };
    let at = free.left_bottom() + vec2(18.0, -lift);
    let title = if wish.words.trim().is_empty() { model.document.layout().name.clone() } else { wish.words.clone() };
    let put = |at, size: f32, ink: Color32, text: String| {
        ui.painter().text(at, Align2::LEFT_BOTTOM, text, FontId::proportional(size), ink);
    };
    put(at, theme::SMALL + 1.0, colours.muted, caption::now(model));
    put(at - vec2(0.0, 18.0), theme::TITLE + 5.0, colours.text, title);
}
