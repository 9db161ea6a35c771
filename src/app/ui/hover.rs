//! The number under the pointer: on a slice its quantity, elsewhere the speed in front of the rock, sand or panel that is pointed at.

use super::{Seen, theme, words};
use crate::app::desk::{Quantity, Slice};
use crate::app::pick;
use crate::app::sight::Ray;
use crate::app::view::sample::{difference_at, value_at};
use crate::study::skin;
use crate::units::Display;
use bevy_egui::egui::{Align2, FontId, Rect, Ui, vec2};
use glam::DVec3;

/// Draw it beside the pointer.
pub fn draw(ui: &Ui, free: Rect, seen: &Seen) {
    let desk = &seen.model.desk;
    let Some(at) = ui.input(|i| i.pointer.hover_pos()).filter(|at| free.contains(*at)) else { return };
    let on_handle = ui.ctx().interaction_snapshot(|i| !i.hovered.is_empty());
    let busy = on_handle || ui.input(|i| i.pointer.any_down()) || ui.ctx().layer_id_at(at).is_some_and(|layer| layer != ui.layer_id());
    let (Some(sight), false) = (desk.sight, busy || desk.picking || !desk.shown.panels) else { return };
    let Some(text) = said(seen, sight.ray([at.x, at.y])) else { return };
    let theme = seen.theme();
    let galley = ui.painter().layout_no_wrap(text.clone(), FontId::proportional(theme::SMALL), theme.text);
    let left = at.x + 34.0 + galley.size().x > free.right();
    let corner = at + vec2(if left { -14.0 - galley.size().x } else { 18.0 }, 14.0);
    let rect = Rect::from_min_size(corner, galley.size()).expand2(vec2(5.0, 2.0));
    ui.painter().rect_filled(rect, 3.0, theme.panel);
    ui.painter().text(rect.center(), Align2::CENTER_CENTER, text, FontId::proportional(theme::SMALL), theme.text);
}

fn said(seen: &Seen, ray: Ray) -> Option<String> {
    let (model, desk) = (seen.model, &seen.model.desk);
    let layout = model.document.layout();
    let sliced = desk.shown.slice.then(|| desk.all_slices().filter_map(|s| on_slice(seen, s, ray)).min_by(|a, b| nearer(ray, a, b)));
    let (place, quantity) = match sliced.flatten() {
        Some(place) => (place, desk.quantity),
        // A little off the surface: what lives on it feels that.
        None => {
            let quantity = if desk.shown.skin { desk.quantity } else { Quantity::Now };
            let off = skin::off(model.live.flow()?.h);
            (pick::target_among(layout, &model.live.solids, ray)? - ray.along * off, quantity)
        }
    };
    let height = words::length(place.z, desk.display);
    if let Some(both) = model.difference() {
        let change = difference_at(both, quantity, place)?;
        let sign = if change < 0.0 { "\u{2212}" } else { "+" };
        return Some(format!("{sign}{} in B  {height} up", number(change.abs(), quantity, desk.display)));
    }
    let value = value_at(&model.live, quantity, place)?;
    let word = if quantity == Quantity::Now { "now" } else { quantity.word() };
    Some(format!("{} {word}  {height} up", number(value, quantity, desk.display)))
}

fn number(value: f32, quantity: Quantity, display: Display) -> String {
    if quantity.is_share() { format!("{:.0} %", value * 100.0) } else { words::tank_speed(f64::from(value), display) }
}

fn nearer(ray: Ray, a: &DVec3, b: &DVec3) -> std::cmp::Ordering {
    a.distance(ray.from).total_cmp(&b.distance(ray.from))
}

/// Where a line of sight meets a slice, inside the water.
fn on_slice(seen: &Seen, slice: Slice, ray: Ray) -> Option<DVec3> {
    let tank = &seen.model.document.layout().tank;
    let size = tank.size().with_z(tank.water_level.si());
    let axis = slice.axis.index();
    let mut on = size / 2.0;
    on[axis] = size[axis] * f64::from(slice.share);
    let place = ray.meets(on, DVec3::AXES[axis])?;
    let inside = place.cmpge(DVec3::splat(-1e-6)).all() && place.cmple(size + 1e-6).all();
    inside.then_some(place)
}
