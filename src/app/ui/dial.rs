//! A drum unit seen along its axis: outlets round the body, windows of the drum as arcs that can be dragged.

use super::{Seen, theme};
use crate::layout::{Drum, Window};
use crate::units::Angle;
use bevy_egui::egui::{Align2, FontId, Painter, Pos2, Sense, Shape, Stroke, Ui, Vec2, vec2};
use std::f32::consts::{PI, TAU};

const SIDE: f32 = 128.0;
/// Windows snap to multiples of this, degrees.
const STEP: f64 = 5.0;

/// What of a window is dragged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Held {
    Middle(usize),
    End(usize),
}

/// The dial; true when a window was dragged. The middle of a window moves it, its ends widen it.
pub fn dial(ui: &mut Ui, drum: &mut Drum, seen: &Seen) -> bool {
    let (rect, response) = ui.allocate_exact_size(vec2(SIDE, SIDE), Sense::click_and_drag());
    let centre = rect.center();
    let held = ui.id().with("held window");
    if response.drag_started() {
        let from = ui.input(|i| i.pointer.press_origin()).unwrap_or(centre);
        let taken = taken(drum, angle_of(from - centre));
        ui.ctx().data_mut(|d| d.insert_temp(held, taken));
    }
    let mut changed = false;
    if let Some(at) = response.interact_pointer_pos().filter(|_| response.dragged() || response.drag_stopped()) {
        let taken: Option<Held> = ui.ctx().data(|d| d.get_temp(held)).unwrap_or_default();
        changed = taken.is_some_and(|held| drag(drum, held, angle_of(at - centre)));
    }
    draw(ui.painter(), centre, drum, seen);
    response.on_hover_text(
        "Drag a window to move it, its ends to widen it. Outlets that a window uncovers are open; the arc of a port and of \
        the window together must span more than the way from outlet to outlet, or the pump is shut off between them",
    );
    changed
}

/// Anticlockwise from the right, as outlets are counted, degrees from 0 to 360.
fn angle_of(v: Vec2) -> f64 {
    f64::from((-v.y).atan2(v.x).rem_euclid(TAU)).to_degrees()
}

/// From -180 to 180.
fn between(a: f64, b: f64) -> f64 {
    (a - b + 180.0).rem_euclid(360.0) - 180.0
}

fn taken(drum: &Drum, at: f64) -> Option<Held> {
    const NEAR_END: f64 = 14.0;
    let found = drum.windows.iter().enumerate().find_map(|(i, w)| {
        let off = between(at, w.centre.in_unit("deg")).abs();
        let half = w.arc.in_unit("deg") / 2.0;
        if (off - half).abs() < NEAR_END.min(half * 0.6) {
            return Some(Held::End(i));
        }
        (off < half).then_some(Held::Middle(i))
    });
    found.or((drum.windows.len() == 1).then_some(Held::Middle(0)))
}

fn drag(drum: &mut Drum, held: Held, to: f64) -> bool {
    let snapped = |degrees: f64| (degrees / STEP).round() * STEP;
    let (Held::Middle(i) | Held::End(i)) = held;
    let Some(window) = drum.windows.get_mut(i) else { return false };
    let before = window.clone();
    match held {
        Held::Middle(_) => window.centre = Angle::new(snapped(to).rem_euclid(360.0), "deg"),
        Held::End(_) => {
            let half = between(to, window.centre.in_unit("deg")).abs();
            window.arc = Angle::new(snapped(2.0 * half).clamp(STEP, 360.0), "deg");
        }
    }
    *window != before
}

fn draw(painter: &Painter, centre: Pos2, drum: &Drum, seen: &Seen) {
    let theme = seen.theme();
    let (body, ring) = (SIDE * 0.34, SIDE * 0.25);
    painter.circle_stroke(centre, body, Stroke::new(2.0, theme.muted));
    painter.circle_stroke(centre, ring, Stroke::new(1.0, theme.line));
    drum.windows.iter().for_each(|w| arc(painter, centre, ring, w, Stroke::new(7.0, theme.accent)));
    let port = drum.port_arc.in_unit("deg");
    for n in 0..drum.outlets {
        let at = 360.0 * f64::from(n) / f64::from(drum.outlets.max(1));
        let opening = Window { centre: Angle::new(at, "deg"), arc: Angle::new(port.clamp(1.0, 360.0), "deg") };
        arc(painter, centre, body, &opening, Stroke::new(3.0, theme.jet));
        let a = at.to_radians() as f32;
        let place = centre + vec2(a.cos(), -a.sin()) * (SIDE * 0.44);
        painter.text(place, Align2::CENTER_CENTER, (n + 1).to_string(), FontId::proportional(theme::SMALL), theme.text);
    }
}

fn arc(painter: &Painter, centre: Pos2, radius: f32, window: &Window, stroke: Stroke) {
    let (middle, half) = (window.centre.si() as f32, (window.arc.si() / 2.0) as f32);
    let half = half.clamp(0.01, PI);
    let points = (0..=32).map(|i| middle - half + 2.0 * half * i as f32 / 32.0).map(|a| centre + vec2(a.cos(), -a.sin()) * radius);
    painter.add(Shape::line(points.collect(), stroke));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn windows_are_dragged_by_middle_and_end() {
        let mut drum = crate::app::fresh_loop::drum("unit", crate::units::Length::new(32.0, "mm"));
        assert_eq!(taken(&drum, 10.0), Some(Held::Middle(0)));
        assert_eq!(taken(&drum, 302.0), Some(Held::End(0)));
        assert!(drag(&mut drum, Held::Middle(0), 92.0));
        assert_eq!(drum.windows[0].centre.text(), "90 deg");
        assert!(drag(&mut drum, Held::End(0), 131.0));
        assert_eq!(drum.windows[0].arc.text(), "80 deg");
    }
}
