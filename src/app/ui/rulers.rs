//! Dimension lines of the selected part: from a hole to the floor and to the nearer edge of its panel; and how far its jet reaches.

use super::{Seen, theme, words};
use crate::app::part::{Item, Part};
use crate::layout::{Mount, PanelName};
use bevy_egui::egui::{Align2, FontId, Pos2, Rect, Stroke, Ui, pos2};
use glam::DVec3;

/// Speed at which a jet's reach ends, m/s.
const REACH_SPEED: f64 = 0.2;
/// Centreline speed of a round jet: u = DECAY · U · d / x. Measured decay constants lie between 5.8 and 6.1 (Pope 2000, "Turbulent
/// flows", table 5.1).
const DECAY: f64 = 6.0;

/// Dimension lines, if a part is selected.
pub fn draw(ui: &Ui, free: Rect, seen: &Seen) {
    let model = seen.model;
    let layout = model.document.layout();
    let Some((part, item)) = model.desk.selected.and_then(|p| Some((p, p.get(layout)?))) else { return };
    let size = layout.tank.size();
    let mount = match &item {
        Item::Nozzle(nozzle) => Some(&nozzle.mount),
        Item::Intake(intake) => Some(&intake.mount),
        _ => None,
    };
    if let Some(Mount::Hole { panel, .. }) = mount {
        let middle = mount.map_or(DVec3::ZERO, |m| m.centre(size));
        for (foot, length) in feet(*panel, middle, size) {
            line(ui, free, seen, middle, foot, &words::length(length, model.desk.display));
        }
    }
    reach(ui, free, seen, part, &item);
}

/// Feet of the two dimension lines and their lengths, m.
fn feet(panel: PanelName, p: DVec3, size: DVec3) -> [(DVec3, f64); 2] {
    let nearer = |x: f64, whole: f64| if x <= whole / 2.0 { (0.0, x) } else { (whole, whole - x) };
    let (ex, dx) = nearer(p.x, size.x);
    let (ey, dy) = nearer(p.y, size.y);
    match panel {
        PanelName::Front | PanelName::Back => [(p.with_z(0.0), p.z), (p.with_x(ex), dx)],
        PanelName::Left | PanelName::Right => [(p.with_z(0.0), p.z), (p.with_y(ey), dy)],
        PanelName::Bottom => [(p.with_x(ex), dx), (p.with_y(ey), dy)],
    }
}

fn line(ui: &Ui, free: Rect, seen: &Seen, a: DVec3, b: DVec3, text: &str) {
    let Some(sight) = seen.model.desk.sight else { return };
    let on_screen = |p: DVec3| sight.project(p).map(|[x, y]| pos2(x, y));
    let (Some(from), Some(to)) = (on_screen(a), on_screen(b)) else { return };
    let theme = seen.theme();
    let painter = ui.painter().with_clip_rect(free);
    painter.line_segment([from, to], Stroke::new(1.5, theme.accent));
    painter.circle_filled(to, 2.5, theme.accent);
    label(&painter, from + (to - from) / 2.0, text, seen);
}

fn label(painter: &bevy_egui::egui::Painter, at: Pos2, text: &str, seen: &Seen) {
    let theme = seen.theme();
    let galley = painter.layout_no_wrap(text.to_owned(), FontId::proportional(theme::SMALL), theme.text);
    let rect = Rect::from_center_size(at, galley.size()).expand2([4.0, 1.0].into());
    painter.rect_filled(rect, 3.0, theme.raised);
    painter.text(rect.center(), Align2::CENTER_CENTER, text, FontId::proportional(theme::SMALL), theme.text);
}

/// Where the jet's centreline falls to [`REACH_SPEED`] in open water, at its strongest over the cycle.
fn reach(ui: &Ui, free: Rect, seen: &Seen, part: Part, item: &Item) {
    let (Item::Nozzle(nozzle), Some(schedule)) = (item, &seen.model.live.schedule) else { return };
    let layout = seen.model.document.layout();
    let from = nozzle.mount.centre(layout.tank.size());
    let speeds = schedule.times.iter().map(|t| schedule.nozzle_at(part.index, *t));
    let fastest = speeds.map(|(flow, momentum)| if flow > 1e-9 { momentum / flow } else { 0.0 }).fold(0.0, f64::max);
    let length = DECAY * fastest * nozzle.bore.si() / REACH_SPEED;
    if length > 0.01 {
        let display = seen.model.desk.display;
        let text = format!("{} until {}", words::length(length, display), words::speed(REACH_SPEED, display));
        let along = nozzle.aim.direction(from);
        line(ui, free, seen, from, from + along * length.min(to_the_wall(from, along, layout.tank.size())), &text);
    }
}

/// Distance to where a line from inside leaves the tank, m.
fn to_the_wall(from: DVec3, along: DVec3, size: DVec3) -> f64 {
    let exits = (0..3).filter(|&a| along[a].abs() > 1e-9).map(|a| ((if along[a] > 0.0 { size[a] } else { 0.0 }) - from[a]) / along[a]);
    exits.filter(|d| *d > 1e-6).fold(f64::INFINITY, f64::min).min(size.length())
}
