//! What the colours mean. Both ends of the scale can be dragged, on the bar or in their fields.

use super::{Seen, theme, words};
use crate::app::action::Action;
use crate::app::desk::Quantity;
use crate::app::model::Model;
use crate::app::palette::{colour, difference, tick, ticks_between};
use bevy_egui::egui::{
    Align, Align2, Area, Color32, CursorIcon, DragValue, FontId, Frame, Id, Layout, Margin, Mesh, Pos2, Rect, RichText, Sense, Shape,
    Stroke, TextStyle, Ui, pos2, vec2,
};

const BAR: [f32; 2] = [230.0, 10.0];

/// The legend.
pub fn overlay(ui: &mut Ui, free: Rect, seen: &Seen, out: &mut Vec<Action>) {
    if !is_wanted(seen.model) || seen.model.live.snapshot.is_none() || free.height() < 160.0 || free.width() < 260.0 {
        return;
    }
    // Beside the switches where there is room, else low in the left corner.
    let wide = free.width() > super::see::WIDTH + BAR[0] + 70.0;
    let at = if wide { pos2(free.right() - BAR[0] - 32.0, free.top() + 10.0) } else { pos2(free.left() + 12.0, free.bottom() - 76.0) };
    let colours = seen.theme();
    Area::new(Id::new("legend")).fixed_pos(at).show(ui.ctx(), |ui| {
        let frame = Frame::new().fill(colours.panel).corner_radius(6).inner_margin(Margin::symmetric(10, 6));
        frame.show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 3.0;
            head(ui, seen, out);
            scale(ui, seen, out);
            if let Some(words) = averaged(seen) {
                ui.label(RichText::new(words).small().color(colours.muted));
            }
        });
    });
}

/// What of the picture shows the mean flow while the title speaks of another quantity.
fn averaged(seen: &Seen) -> Option<&'static str> {
    let shown = seen.model.desk.shown;
    let words = match (shown.streams, shown.film) {
        (true, true) => "Streamlines and film: mean flow",
        (true, false) => "Streamlines: mean flow",
        (false, true) => "Film: mean flow",
        (false, false) => return None,
    };
    (title(seen.model) != Quantity::Mean.title()).then_some(words)
}

/// Something in the picture has colours of the scale.
pub fn is_wanted(model: &Model) -> bool {
    let (desk, shown) = (&model.desk, model.desk.shown);
    desk.colours_surfaces() || shown.tracers || shown.arrows || shown.film || shown.streams
}

/// The colours stand for a share.
fn share(model: &Model) -> bool {
    model.desk.colours_surfaces() && model.desk.quantity.is_share()
}

/// They stand for a difference.
pub fn differs(model: &Model) -> bool {
    model.difference().is_some() && model.desk.colours_surfaces()
}

/// Name and size of what the numbers count.
pub fn unit(model: &Model) -> (&'static str, f64) {
    if share(model) { ("%", 0.01) } else { words::tank_speed_unit(model.desk.display) }
}

/// What the colours stand for.
pub fn title(model: &Model) -> String {
    let desk = &model.desk;
    // Streamlines and the drift of the film are those of the mean flow.
    let quantity = match desk.shown {
        _ if desk.colours_surfaces() => desk.quantity.title(),
        shown if shown.tracers || shown.arrows => Quantity::Now.title(),
        _ => Quantity::Mean.title(),
    };
    if differs(model) { format!("B less A: {}", quantity.to_lowercase().replace("rms", "RMS")) } else { quantity.to_owned() }
}

fn head(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let desk = &seen.model.desk;
    let (unit, factor) = unit(seen.model);
    ui.horizontal(|ui| {
        ui.set_width(BAR[0]);
        ui.label(RichText::new(format!("{}, {unit}", title(seen.model))).small().strong());
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if share(seen.model) && !differs(seen.model) {
                return;
            }
            let is_set = desk.top.is_some() || desk.low > 0.0;
            if is_set && ui.small_button("fit").on_hover_text("Fit the scale to the picture again").clicked() {
                out.extend([Action::Top(None), Action::Low(0.0)]);
            }
            ui.style_mut().override_text_style = Some(TextStyle::Small);
            let mut top = f64::from(desk.scale[1]) / factor;
            let field = DragValue::new(&mut top).speed(0.005 / factor).range(0.01 / factor..=5.0 / factor).clamp_existing_to_range(false);
            let field = field.max_decimals(2).prefix("to ");
            if ui.add(field).on_hover_text("Top of the colour scale: drag or type; the ends of the bar can be dragged too").changed() {
                out.push(Action::Top(Some((top * factor) as f32)));
            }
        });
    });
}

fn scale(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let theme = seen.theme();
    let (_, factor) = unit(seen.model);
    let [low, top] = seen.model.desk.scale.map(|end| f64::from(end) / factor);
    let (rect, _) = ui.allocate_exact_size(vec2(BAR[0], BAR[1] + 16.0), Sense::hover());
    let bar = Rect::from_min_size(rect.min, vec2(BAR[0], BAR[1]));
    ramp(ui, bar, if differs(seen.model) { difference } else { colour });
    if !share(seen.model) || differs(seen.model) {
        grips(ui, bar, seen, out);
    }
    for t in ticks_between(low, top) {
        let x = bar.left() + bar.width() * ((t - low) / (top - low)) as f32;
        ui.painter().line_segment([pos2(x, bar.bottom()), pos2(x, bar.bottom() + 3.0)], Stroke::new(1.0, theme.muted));
        let anchor = if x < bar.left() + 8.0 {
            Align2::LEFT_TOP
        } else if x > bar.right() - 8.0 {
            Align2::RIGHT_TOP
        } else {
            Align2::CENTER_TOP
        };
        let text = tick(t, top, differs(seen.model));
        ui.painter().text(pos2(x, bar.bottom() + 3.0), anchor, text, FontId::proportional(theme::SMALL), theme.text);
    }
}

/// The ends of the bar: dragged along, they stretch the scale.
fn grips(ui: &mut Ui, bar: Rect, seen: &Seen, out: &mut Vec<Action>) {
    let desk = &seen.model.desk;
    let (low, top) = (desk.low, desk.top.unwrap_or(desk.scale[1]));
    for (is_top, x) in [(false, bar.left()), (true, bar.right())] {
        if !is_top && differs(seen.model) {
            continue;
        }
        let grip = Rect::from_center_size(pos2(x, bar.center().y), vec2(16.0, bar.height() + 6.0));
        let response = ui.interact(grip, Id::new(("scale", is_top)), Sense::drag()).on_hover_cursor(CursorIcon::ResizeHorizontal);
        let hot = response.hovered() || response.dragged();
        let knob = Rect::from_center_size(pos2(x, bar.center().y), vec2(3.0, bar.height() + 4.0));
        ui.painter().rect_filled(knob, 1.5, if hot { seen.theme().accent } else { seen.theme().text });
        let by = response.drag_delta().x / bar.width();
        if by == 0.0 {
            continue;
        }
        if is_top {
            out.push(Action::Top(Some((top * (1.0 + 1.5 * by)).clamp(0.01, 5.0))));
        } else {
            out.push(Action::Low((low + by * top).clamp(0.0, 0.9 * top)));
        }
    }
}

fn ramp(ui: &Ui, bar: Rect, colour: fn(f32) -> [u8; 3]) {
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
