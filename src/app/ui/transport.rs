//! Play, pause, pace, sequence, and what the pumps do at the playhead.

use super::{Seen, words};
use crate::app::action::{Action, PACES};
use crate::app::desk::Lower;
use crate::app::document::Edit;
use crate::app::fresh::Fresh;
use bevy_egui::egui::{
    Align, Button, Color32, ComboBox, Layout, Rect, Response, RichText, Sense, Shape, Stroke, Ui, WidgetInfo, WidgetType, pos2, vec2,
};

/// The row over the timeline.
pub fn row(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let desk = &seen.model.desk;
    let theme = seen.theme();
    ui.horizontal(|ui| {
        let (word, help) = if desk.playing { ("Pause", "Hold the water (Space)") } else { ("Play", "Let the water go on (Space)") };
        if play_button(ui, desk.playing, word, theme.on_accent, theme.accent).on_hover_text(help).clicked() {
            out.push(Action::PlayPause);
        }
        for pace in PACES {
            let picked = (desk.pace - pace).abs() < 1e-9;
            let help = "Seconds of tank time per second, as far as this machine can follow";
            if ui.selectable_label(picked, format!("{pace}×")).on_hover_text(help).clicked() {
                out.push(Action::Pace(pace));
            }
        }
        ui.separator();
        for lower in Lower::ALL {
            let help = "What this panel shows: which outlet is open when (S), or the pipework with its flows (G)";
            if ui.selectable_label(desk.lower == lower, lower.word()).on_hover_text(help).clicked() {
                out.push(Action::Lower(lower));
            }
        }
        ui.separator();
        sequence(ui, seen, out);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.label(RichText::new(flows(seen)).small().color(theme.muted));
        });
    });
}

fn play_button(ui: &mut Ui, playing: bool, word: &str, ink: Color32, fill: Color32) -> Response {
    let (rect, response) = ui.allocate_exact_size(vec2(30.0, 22.0), Sense::click());
    let fill = if response.hovered() { fill.lerp_to_gamma(ink, 0.15) } else { fill };
    ui.painter().rect_filled(rect, 4.0, fill);
    let c = rect.center();
    if playing {
        for dx in [-3.5, 3.5] {
            ui.painter().rect_filled(Rect::from_center_size(pos2(c.x + dx, c.y), vec2(3.5, 11.0)), 0.5, ink);
        }
    } else {
        let points = vec![pos2(c.x - 4.0, c.y - 6.0), pos2(c.x + 6.0, c.y), pos2(c.x - 4.0, c.y + 6.0)];
        ui.painter().add(Shape::convex_polygon(points, ink, Stroke::NONE));
    }
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, word));
    response
}

fn sequence(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let layout = seen.model.document.layout();
    let Some(active) = layout.active_sequence() else {
        if !layout.drums.is_empty() {
            ui.label(RichText::new("No sequence: every drum unit stands still").small().color(seen.theme().muted));
        }
        return;
    };
    if layout.sequences.len() < 2 {
        ui.label(RichText::new(&active.id).strong());
        copy(ui, out);
        return;
    }
    ComboBox::from_id_salt("sequence").selected_text(&active.id).width(130.0).show_ui(ui, |ui| {
        for sequence in &layout.sequences {
            if ui.selectable_label(sequence.id == active.id, &sequence.id).clicked() {
                out.push(Action::Edit(Edit::UseSequence(sequence.id.clone())));
            }
        }
    });
    if ui.add(Button::new("Next").small()).on_hover_text("The layout's next sequence (Q)").clicked() {
        out.push(Action::NextSequence);
    }
    copy(ui, out);
}

fn copy(ui: &mut Ui, out: &mut Vec<Action>) {
    if ui.add(Button::new("Another").small()).on_hover_text("Another sequence that begins as this one, to change and compare").clicked() {
        out.push(Action::Add(Fresh::Sequence));
    }
}

/// Flow of all nozzles together at the playhead.
fn flows(seen: &Seen) -> String {
    let model = seen.model;
    let Some(schedule) = &model.live.schedule else { return String::new() };
    let now = model.desk.playhead;
    let all: f64 = (0..model.document.layout().nozzles.len()).map(|i| schedule.nozzle_at(i, now).0.max(0.0)).sum();
    format!("{:.1} s of {:.0} s   all nozzles {}", now.rem_euclid(schedule.period), schedule.period, words::flow(all, model.desk.display))
}
