//! The sequence over its joint cycle: a row for each outlet, as high as the outlet is open, and the playhead.

use super::{Seen, theme};
use crate::app::action::Action;
use crate::app::palette::ticks;
use crate::layout::{End, Layout};
use crate::setup::schedule::Schedule;
use bevy_egui::egui::{Align2, FontId, Mesh, Pos2, Rect, RichText, ScrollArea, Sense, Shape, Stroke, Ui, pos2, vec2};

/// Least and most height of a row, points.
const ROW: (f32, f32) = (9.0, 15.0);
const NAMES: f32 = 112.0;
const AXIS: f32 = 16.0;

/// Height that the rows of all outlets want, points.
pub fn height(seen: &Seen) -> f32 {
    let drums = &seen.model.document.layout().drums;
    let rows: u32 = drums.iter().map(|d| d.outlets).sum();
    let wanted = 76.0 + rows as f32 * 15.0 + drums.len() as f32 * 3.0;
    wanted.clamp(theme::BOTTOM.0, theme::BOTTOM.1)
}

/// The panel.
pub fn panel(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let layout = seen.model.document.layout();
    let Some(schedule) = seen.model.live.schedule.clone() else {
        let text = "The sequence appears here once the plumbing can be computed: mend what the verdict calls a fault.";
        ui.label(RichText::new(text).color(seen.theme().muted));
        return;
    };
    if layout.drums.is_empty() {
        let text = "No drum units: every nozzle runs all the time. A drum unit's outlets would appear here as bars over its cycle.";
        ui.label(RichText::new(text).color(seen.theme().muted));
        return;
    }
    let whole = ui.available_rect_before_wrap();
    let axis = Rect::from_min_max(pos2(whole.left() + NAMES, whole.top()), pos2(whole.right() - 10.0, whole.top() + AXIS));
    draw_axis(ui, axis, &schedule, seen);
    ui.add_space(AXIS);
    ScrollArea::vertical().auto_shrink(false).id_salt("timeline").show(ui, |ui| rows(ui, axis, layout, &schedule, seen));
    scrub(ui, whole, axis, &schedule, out);
    playhead(ui, whole, axis, &schedule, seen);
}

fn x_of(axis: Rect, schedule: &Schedule, t: f64) -> f32 {
    axis.left() + axis.width() * (t / schedule.period) as f32
}

fn draw_axis(ui: &Ui, axis: Rect, schedule: &Schedule, seen: &Seen) {
    let theme = seen.theme();
    for t in ticks(schedule.period) {
        let x = x_of(axis, schedule, t);
        ui.painter().line_segment([pos2(x, axis.bottom() - 4.0), pos2(x, axis.bottom())], Stroke::new(1.0, theme.muted));
        let text = if t == 0.0 { "0 s".to_owned() } else { format!("{t:.0}") };
        ui.painter().text(pos2(x + 3.0, axis.top() - 1.0), Align2::LEFT_TOP, text, FontId::proportional(10.5), theme.muted);
    }
}

fn rows(ui: &mut Ui, axis: Rect, layout: &Layout, schedule: &Schedule, seen: &Seen) {
    let theme = seen.theme();
    ui.spacing_mut().item_spacing.y = 1.0;
    let count: u32 = layout.drums.iter().map(|d| d.outlets).sum();
    let room = ui.available_height() - 3.0 * layout.drums.len() as f32 - 4.0;
    let high = (room / count.max(1) as f32 - 1.0).clamp(ROW.0, ROW.1);
    for (d, drum) in layout.drums.iter().enumerate() {
        for outlet in 0..drum.outlets as usize {
            let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), high), Sense::hover());
            let bar = Rect::from_min_max(pos2(axis.left(), rect.top()), pos2(axis.right(), rect.bottom()));
            ui.painter().rect_filled(bar, 2.0, theme.raised);
            let series: Vec<f64> = schedule.open.iter().filter_map(|at| at.get(d)?.get(outlet).copied()).collect();
            area(ui, bar, schedule, &series, seen);
            let name = row_name(layout, &drum.id, outlet as u32 + 1);
            let font = FontId::proportional(10.5);
            let clip = ui.painter().with_clip_rect(Rect::from_min_max(rect.min, pos2(axis.left() - 4.0, rect.bottom())));
            clip.text(rect.left_center(), Align2::LEFT_CENTER, name, font, theme.text);
        }
        ui.add_space(3.0);
    }
}

/// Unit, outlet, and where its water goes.
fn row_name(layout: &Layout, drum: &str, outlet: u32) -> String {
    let from = End::Outlet(drum.to_owned(), outlet);
    let runs = layout.circuits.iter().flat_map(|c| &c.discharge);
    let goes: Vec<&str> = runs
        .filter(|r| r.from == from)
        .map(|r| match &r.to {
            End::Nozzle(id) | End::Joint(id) => id.as_str(),
            _ => "",
        })
        .collect();
    if goes.is_empty() { format!("{drum}, {outlet}") } else { format!("{drum}, {outlet}: {}", goes.join(", ")) }
}

/// Open fraction as a filled band.
fn area(ui: &Ui, bar: Rect, schedule: &Schedule, series: &[f64], seen: &Seen) {
    if series.len() != schedule.times.len() || series.is_empty() {
        return;
    }
    let theme = seen.theme();
    let mut points: Vec<(f32, f32)> = schedule
        .times
        .iter()
        .zip(series)
        .map(|(t, open)| (x_of(bar, schedule, *t), bar.bottom() - bar.height() * (*open).clamp(0.0, 1.0) as f32))
        .collect();
    points.push((bar.right(), points[0].1));
    let mut mesh = Mesh::default();
    for (i, (x, y)) in points.iter().enumerate() {
        mesh.colored_vertex(Pos2::new(*x, *y), theme.tint(0.72));
        mesh.colored_vertex(Pos2::new(*x, bar.bottom()), theme.tint(0.72));
        if i > 0 {
            let v = 2 * i as u32;
            mesh.add_triangle(v - 2, v - 1, v);
            mesh.add_triangle(v - 1, v, v + 1);
        }
    }
    ui.painter().add(Shape::mesh(mesh));
}

fn scrub(ui: &mut Ui, whole: Rect, axis: Rect, schedule: &Schedule, out: &mut Vec<Action>) {
    let place = Rect::from_min_max(pos2(axis.left(), whole.top()), pos2(axis.right(), whole.bottom()));
    let response = ui.interact(place, ui.id().with("scrub"), Sense::click_and_drag());
    let response = response.on_hover_text_at_pointer("Drag to hold time and see which outlets are open; Space goes on");
    if let Some(at) = response.interact_pointer_pos().filter(|_| response.dragged() || response.clicked()) {
        let share = f64::from((at.x - axis.left()) / axis.width()).clamp(0.0, 0.9999);
        out.push(Action::Scrub(share * schedule.period));
    }
}

fn playhead(ui: &Ui, whole: Rect, axis: Rect, schedule: &Schedule, seen: &Seen) {
    let theme = seen.theme();
    let x = x_of(axis, schedule, seen.model.desk.playhead.rem_euclid(schedule.period));
    ui.painter().line_segment([pos2(x, axis.bottom() - 6.0), pos2(x, whole.bottom())], Stroke::new(1.5, theme.text));
    let tip = vec![pos2(x - 5.0, axis.bottom() - 11.0), pos2(x + 5.0, axis.bottom() - 11.0), pos2(x, axis.bottom() - 4.0)];
    ui.painter().add(Shape::convex_polygon(tip, theme.text, Stroke::NONE));
}
