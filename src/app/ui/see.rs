//! What is shown: a small bar high in the picture, and where the slice is.

use super::{Seen, words};
use crate::app::action::Action;
use crate::app::desk::{Axis, Layer, Quantity, Slice};
use bevy_egui::egui::{Area, Frame, Id, Margin, Rect, RichText, Slider, Ui, pos2};

/// Room that it takes, points.
pub const WIDTH: f32 = 400.0;

/// The bar.
pub fn overlay(ui: &mut Ui, free: Rect, seen: &Seen, out: &mut Vec<Action>) {
    if free.width() < 300.0 || free.height() < 160.0 {
        return;
    }
    let colours = seen.theme();
    Area::new(Id::new("see")).fixed_pos(pos2(free.left() + 12.0, free.top() + 10.0)).show(ui.ctx(), |ui| {
        let frame = Frame::new().fill(colours.panel).corner_radius(6).inner_margin(Margin::symmetric(8, 5));
        frame.show(ui, |ui| {
            ui.set_max_width((free.width() - 40.0).min(WIDTH));
            layers(ui, seen, out);
            if seen.model.desk.colours_surfaces() || seen.model.desk.shown.arrows {
                quantities(ui, seen, out);
            }
            if seen.model.desk.shown.slice || seen.model.desk.shown.arrows {
                slice(ui, seen, out);
            }
        });
    });
}

fn layers(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let shown = seen.model.desk.shown;
    let switches = [
        (shown.tracers, "Tracers", Layer::Tracers, "Specks that drift with the water, coloured by speed (T)"),
        (shown.slice, "Slice", Layer::Slice, "A coloured plane through the water (C)"),
        (shown.skin, "Skin", Layer::Skin, "Rock and sand coloured by the water just off them: what lives there feels (I)"),
        (shown.arrows, "Arrows", Layer::Arrows, "Which way the water goes on the slice's place, longer where it is faster (Y)"),
        (shown.film, "Film", Layer::Film, "Which way the surface film drifts on average: toward the overflow, or into a trap"),
        (shown.streams, "Streams", Layer::Streams, "Streamlines of the mean flow, from a rake of points over the slice's place (J)"),
        (shown.dead_spots, "Dead spots", Layer::DeadSpots, "Water that stays slow, numbered by size (D)"),
        (shown.labels, "Labels", Layer::Labels, "Names of nozzles, intakes and colonies (L)"),
        (shown.water, "Surface", Layer::Water, "The water's surface (W)"),
    ];
    ui.horizontal_wrapped(|ui| {
        for (on, word, layer, help) in switches {
            if ui.selectable_label(on, word).on_hover_text(help).clicked() {
                out.push(Action::Toggle(layer));
            }
        }
    });
}

fn quantities(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let desk = &seen.model.desk;
    ui.horizontal_wrapped(|ui| {
        for quantity in Quantity::ALL {
            if ui.selectable_label(desk.quantity == quantity, quantity.word()).on_hover_text(quantity.help()).clicked() {
                out.push(Action::Show(quantity));
            }
        }
    });
    let none = seen.model.live.snapshot.as_ref().is_none_or(|s| s.averaged <= 0.0);
    if desk.quantity != Quantity::Now && none {
        ui.label(RichText::new("Nothing is averaged yet: the flow is still starting up.").small().color(seen.theme().muted));
    }
}

fn slice(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let desk = &seen.model.desk;
    ui.horizontal_wrapped(|ui| {
        for axis in Axis::ALL {
            if ui.selectable_label(desk.slice.axis == axis, axis.word()).on_hover_text("How the slice stands (X turns it)").clicked() {
                out.push(Action::Slice(Slice { axis, ..desk.slice }));
            }
        }
        ui.separator();
        let mut share = desk.slice.share;
        ui.spacing_mut().slider_width = 130.0;
        let slider = ui.add(Slider::new(&mut share, 0.0..=1.0).show_value(false)).on_hover_text("Move the slice ([ and ])");
        if slider.changed() {
            out.push(Action::Slice(Slice { share, ..desk.slice }));
        }
    });
    ui.horizontal(|ui| {
        let tank = &seen.model.document.layout().tank;
        let size = tank.size().with_z(tank.water_level.si());
        let at = size[desk.slice.axis.index()] * f64::from(desk.slice.share);
        let from = ["from left", "from front", "above floor"][desk.slice.axis.index()];
        ui.label(RichText::new(format!("{} {from}", words::length(at, desk.display))).small());
        if ui.small_button("Pin").on_hover_text("Leave this slice here and move another (N)").clicked() {
            out.push(Action::PinSlice);
        }
        if !desk.pinned.is_empty() && ui.small_button("Unpin").on_hover_text("Take the pinned slices away").clicked() {
            out.push(Action::UnpinSlices);
        }
    });
}
