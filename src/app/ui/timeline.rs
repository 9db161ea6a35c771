//! The sequence over its joint cycle: a strip for each drum unit, a row for each outlet, as high as the outlet is open, and the playhead.

use super::{Seen, strip, theme};
use crate::app::action::Action;
use crate::app::palette::ticks;
use crate::layout::{End, Layout};
use crate::setup::schedule::Schedule;
use bevy_egui::egui::{Align2, FontId, Id, Mesh, Pos2, Rect, RichText, ScrollArea, Sense, Shape, Stroke, Ui, pos2, vec2};

/// Height of a row, points.
const ROW: f32 = 13.0;
const NAMES: f32 = 112.0;
const AXIS: f32 = 16.0;

/// Seconds along the screen.
pub struct Axis {
    /// Where the numbers stand; its sides are the ends of the rows.
    pub rect: Rect,
    /// So many seconds from side to side.
    pub span: f64,
}

impl Axis {
    /// Where a moment stands.
    pub fn x(&self, t: f64) -> f32 {
        self.rect.left() + self.rect.width() * (t / self.span) as f32
    }

    /// What so many points are, s.
    pub fn seconds(&self, points: f32) -> f64 {
        f64::from(points / self.rect.width().max(1.0)) * self.span
    }
}

/// Height that the rows of all outlets want, points.
pub fn height(seen: &Seen) -> f32 {
    let drums = &seen.model.document.layout().drums;
    let rows: u32 = drums.iter().map(|d| d.outlets).sum();
    let wanted = 76.0 + rows as f32 * (ROW + 1.0) + drums.len() as f32 * (strip::HEIGHT + 6.0);
    wanted.max(theme::BOTTOM.0)
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
        let runs = if layout.nozzles.is_empty() { "No drum units yet." } else { "No drum units: every nozzle runs all the time." };
        let text = format!("{runs} Add a closed loop, and its outlets appear here as bars over their cycle.");
        ui.label(RichText::new(text).color(seen.theme().muted));
        return;
    }
    let whole = ui.available_rect_before_wrap();
    let rect = Rect::from_min_max(pos2(whole.left() + NAMES, whole.top()), pos2(whole.right() - 12.0, whole.top() + AXIS));
    // While an edge is dragged the scale stays, though the joint cycle changes with it.
    let frozen: Option<f64> = ui.ctx().data(|d| d.get_temp(Id::new("frozen axis"))).filter(|_| ui.input(|i| i.pointer.any_down()));
    let axis = Axis { rect, span: frozen.unwrap_or(schedule.period) };
    draw_axis(ui, &axis, seen);
    ui.add_space(AXIS);
    scrub(ui, whole, &axis, &schedule, out);
    ScrollArea::vertical().auto_shrink(false).id_salt("timeline").show(ui, |ui| rows(ui, &axis, layout, &schedule, seen, out));
    playhead(ui, whole, &axis, &schedule, seen);
}

fn draw_axis(ui: &Ui, axis: &Axis, seen: &Seen) {
    let theme = seen.theme();
    for t in ticks(axis.span) {
        let (x, rect) = (axis.x(t), axis.rect);
        ui.painter().line_segment([pos2(x, rect.bottom() - 4.0), pos2(x, rect.bottom())], Stroke::new(1.0, theme.muted));
        let text = if t == 0.0 { "0 s".to_owned() } else { format!("{t:.0}") };
        ui.painter().text(pos2(x + 3.0, rect.top() - 1.0), Align2::LEFT_TOP, text, FontId::proportional(10.5), theme.muted);
    }
}

/// Rows that find no room are scrolled to.
fn rows(ui: &mut Ui, axis: &Axis, layout: &Layout, schedule: &Schedule, seen: &Seen, out: &mut Vec<Action>) {
    let theme = seen.theme();
    ui.spacing_mut().item_spacing.y = 1.0;
    for (d, drum) in layout.drums.iter().enumerate() {
        strip::strip(ui, axis, drum, seen, out);
        for outlet in 0..drum.outlets as usize {
            let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
            let bar = Rect::from_min_max(pos2(axis.rect.left(), rect.top()), pos2(axis.rect.right(), rect.bottom()));
            ui.painter().rect_filled(bar, 2.0, theme.raised);
            let series: Vec<f64> = schedule.open.iter().filter_map(|at| at.get(d)?.get(outlet).copied()).collect();
            area(ui, bar, axis, schedule, &series, seen);
            let name = row_name(layout, &drum.id, outlet as u32 + 1);
            let font = FontId::proportional(10.5);
            let clip = ui.painter().with_clip_rect(Rect::from_min_max(rect.min, pos2(axis.rect.left() - 4.0, rect.bottom())));
            clip.text(rect.left_center() + vec2(8.0, 0.0), Align2::LEFT_CENTER, name, font, theme.text);
        }
        ui.add_space(3.0);
    }
}

/// The outlet, and where its water goes.
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
    if goes.is_empty() { format!("{outlet}") } else { format!("{outlet}: {}", goes.join(", ")) }
}

/// Open fraction as a filled band.
fn area(ui: &Ui, bar: Rect, axis: &Axis, schedule: &Schedule, series: &[f64], seen: &Seen) {
    if series.len() != schedule.times.len() || series.is_empty() {
        return;
    }
    let theme = seen.theme();
    let high = |open: f64| bar.bottom() - bar.height() * open.clamp(0.0, 1.0) as f32;
    let repeats = (axis.span / schedule.period).ceil().clamp(1.0, 20.0) as usize;
    let again = (0..repeats).flat_map(|r| schedule.times.iter().zip(series).map(move |(t, open)| (r as f64 * schedule.period + t, *open)));
    let mut points: Vec<(f32, f32)> = again.filter(|(t, _)| *t < axis.span).map(|(t, open)| (axis.x(t), high(open))).collect();
    points.push((bar.right(), high(series[0])));
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

fn scrub(ui: &mut Ui, whole: Rect, axis: &Axis, schedule: &Schedule, out: &mut Vec<Action>) {
    let place = Rect::from_min_max(pos2(axis.rect.left(), whole.top()), pos2(axis.rect.right(), whole.bottom()));
    let response = ui.interact(place, ui.id().with("scrub"), Sense::click_and_drag());
    // Told at the numbers alone: over the rows it would hide what is looked at.
    let numbers = Rect::from_min_max(place.min, pos2(place.right(), axis.rect.bottom()));
    let response = if response.hover_pos().is_some_and(|at| numbers.contains(at)) {
        response.on_hover_text_at_pointer("Drag to hold time and see which outlets are open; Space goes on")
    } else {
        response
    };
    if let Some(at) = response.interact_pointer_pos().filter(|_| response.dragged() || response.clicked()) {
        let share = f64::from((at.x - axis.rect.left()) / axis.rect.width()).clamp(0.0, 0.9999);
        out.push(Action::Scrub(share * schedule.period));
    }
}

fn playhead(ui: &Ui, whole: Rect, axis: &Axis, schedule: &Schedule, seen: &Seen) {
    let theme = seen.theme();
    let x = axis.x(seen.model.desk.playhead.rem_euclid(schedule.period));
    let bottom = axis.rect.bottom();
    ui.painter().line_segment([pos2(x, bottom - 6.0), pos2(x, whole.bottom())], Stroke::new(1.5, theme.text));
    let tip = vec![pos2(x - 5.0, bottom - 11.0), pos2(x + 5.0, bottom - 11.0), pos2(x, bottom - 4.0)];
    ui.painter().add(Shape::convex_polygon(tip, theme.text, Stroke::NONE));
}
