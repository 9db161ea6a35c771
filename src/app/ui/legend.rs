//! What the colours mean.

use super::{Seen, theme, words};
use crate::app::action::Action;
use crate::app::desk::Quantity;
use crate::app::palette::{colour, ticks};
use bevy_egui::egui::{
    Align, Align2, Area, Color32, DragValue, FontId, Frame, Id, Layout, Margin, Mesh, Pos2, Rect, RichText, Sense, Shape, Stroke,
    TextStyle, Ui, pos2, vec2,
};

const BAR: [f32; 2] = [210.0, 10.0];

/// The legend.
pub fn overlay(ui: &mut Ui, free: Rect, seen: &Seen, out: &mut Vec<Action>) {
    let desk = &seen.model.desk;
    let coloured = desk.shown.slice || desk.shown.tracers;
    if !coloured || seen.model.live.snapshot.is_none() || free.height() < 160.0 || free.width() < 260.0 {
        return;
    }
    // Beside the switches where there is room, else low in the left corner.
    let wide = free.width() > 680.0;
    let at = if wide { pos2(free.right() - BAR[0] - 32.0, free.top() + 10.0) } else { pos2(free.left() + 12.0, free.bottom() - 76.0) };
    let colours = seen.theme();
    Area::new(Id::new("legend")).fixed_pos(at).show(ui.ctx(), |ui| {
        let frame = Frame::new().fill(colours.panel).corner_radius(6).inner_margin(Margin::symmetric(10, 6));
        frame.show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 3.0;
            head(ui, seen, out);
            scale(ui, seen);
        });
    });
}

/// The colours stand for a share of time.
fn share(seen: &Seen) -> bool {
    seen.model.desk.shown.slice && seen.model.desk.quantity == Quantity::Still
}

/// Name and size of what the numbers count.
fn unit(seen: &Seen) -> (&'static str, f64) {
    if share(seen) { ("%", 0.01) } else { words::speed_unit(seen.model.desk.display) }
}

fn head(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let desk = &seen.model.desk;
    let (unit, factor) = unit(seen);
    let still = share(seen);
    let title = if desk.shown.slice { desk.quantity.title() } else { "Speed of the tracers" };
    ui.horizontal(|ui| {
        ui.set_width(BAR[0]);
        ui.label(RichText::new(format!("{title}, {unit}")).small().strong());
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if still {
                return;
            }
            if desk.top.is_some() && ui.small_button("fit").on_hover_text("Fit the scale to the picture again").clicked() {
                out.push(Action::Top(None));
            }
            ui.style_mut().override_text_style = Some(TextStyle::Small);
            let mut top = f64::from(desk.scale_top) / factor;
            let field = DragValue::new(&mut top).speed(0.005 / factor).range(0.01 / factor..=5.0 / factor).max_decimals(2).prefix("to ");
            if ui.add(field).on_hover_text("Top of the colour scale: drag or type").changed() {
                out.push(Action::Top(Some((top * factor) as f32)));
            }
        });
    });
}

fn scale(ui: &mut Ui, seen: &Seen) {
    let theme = seen.theme();
    let (_, factor) = unit(seen);
    let top = f64::from(seen.model.desk.scale_top) / factor;
    let (rect, _) = ui.allocate_exact_size(vec2(BAR[0], BAR[1] + 16.0), Sense::hover());
    let bar = Rect::from_min_size(rect.min, vec2(BAR[0], BAR[1]));
    ramp(ui, bar);
    for t in ticks(top) {
        let x = bar.left() + bar.width() * (t / top) as f32;
        ui.painter().line_segment([pos2(x, bar.bottom()), pos2(x, bar.bottom() + 3.0)], Stroke::new(1.0, theme.muted));
        let anchor = if t == 0.0 {
            Align2::LEFT_TOP
        } else if t > 0.97 * top {
            Align2::RIGHT_TOP
        } else {
            Align2::CENTER_TOP
        };
        ui.painter().text(pos2(x, bar.bottom() + 3.0), anchor, short(t, top), FontId::proportional(theme::SMALL - 0.5), theme.text);
    }
}

fn ramp(ui: &Ui, bar: Rect) {
    const STEPS: u32 = 48;
    let mut mesh = Mesh::default();
    for i in 0..=STEPS {
        let share = i as f32 / STEPS as f32;
        let [r, g, b] = colour(share);
        let (x, ink) = (bar.left() + bar.width() * share, Color32::from_rgb(r, g, b));
        mesh.colored_vertex(Pos2::new(x, bar.top()), ink);
        mesh.colored_vertex(Pos2::new(x, bar.bottom()), ink);
        if i > 0 {
            mesh.add_triangle(2 * i - 2, 2 * i - 1, 2 * i);
            mesh.add_triangle(2 * i - 1, 2 * i, 2 * i + 1);
        }
    }
    ui.painter().add(Shape::mesh(mesh));
}

fn short(t: f64, top: f64) -> String {
    let digits = if top >= 8.0 {
        0
    } else if top >= 0.8 {
        1
    } else {
        2
    };
    format!("{t:.digits$}")
}
