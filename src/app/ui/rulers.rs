//! Dimension lines of the selected part: from a hole to the edges of its panel, the floor and the nearest hole; how far its jet reaches;
//! and which rule it breaks.

use super::{Seen, theme, words};
use crate::app::part::{Item, Part};
use crate::app::snap;
use crate::finding::Finding;
use crate::layout::{Mount, PanelName};
use bevy_egui::egui::{FontId, Painter, Pos2, Rect, Shape, Stroke, Ui, Vec2, pos2, vec2};
use glam::DVec3;

/// Rules about where a part stands, as the check of the layout names them.
const GEOMETRY: [&str; 13] = [
    "hole-off-panel",
    "hole-edge",
    "hole-corner",
    "hole-size",
    "holes-overlap",
    "hole-spacing",
    "toughened-hole",
    "outside",
    "above-water",
    "in-solid",
    "against-solid",
    "breaks-surface",
    "short-jet",
];

/// Speed at which a jet's reach ends, m/s.
const REACH_SPEED: f64 = 0.2;
/// Centreline speed of a round jet: u = DECAY · U · d / x. Measured decay constants lie between 5.8 and 6.1 (Pope 2000, "Turbulent
/// flows", table 5.1).
const DECAY: f64 = 6.0;

/// The picture, and the places of it that have words on them already.
struct Board<'a> {
    ui: &'a Ui,
    free: Rect,
    seen: Seen<'a>,
    taken: Vec<Rect>,
}

/// Dimension lines, if a part is selected; their words keep clear of what is `taken`.
pub fn draw(ui: &Ui, free: Rect, seen: &Seen, taken: Vec<Rect>) {
    let board = &mut Board { ui, free, seen: *seen, taken };
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
        if ui.input(|i| i.pointer.primary_down()) {
            board.guides(part, *panel, middle);
        }
        for (foot, length) in feet(*panel, middle, size) {
            board.line(middle, foot, &words::length(length, model.desk.display));
        }
        board.nearest(part, *panel, middle);
    }
    board.reach(part, &item);
    board.warnings(part);
}

/// Feet of the dimension lines and their lengths, m: both edges of the panel, and the floor, or the two other edges of the floor.
fn feet(panel: PanelName, p: DVec3, size: DVec3) -> Vec<(DVec3, f64)> {
    let along = [(p.with_x(0.0), p.x), (p.with_x(size.x), size.x - p.x)];
    let across = [(p.with_y(0.0), p.y), (p.with_y(size.y), size.y - p.y)];
    let down = [(p.with_z(0.0), p.z)];
    match panel {
        PanelName::Front | PanelName::Back => along.into_iter().chain(down).collect(),
        PanelName::Left | PanelName::Right => across.into_iter().chain(down).collect(),
        PanelName::Bottom => along.into_iter().chain(across).collect(),
    }
}

impl Board<'_> {
    /// Centre to centre to the nearest other hole of the panel.
    fn nearest(&mut self, part: Part, panel: PanelName, middle: DVec3) {
        let seen = self.seen;
        let layout = seen.model.document.layout();
        let at = snap::on_panel(panel, middle);
        let others = snap::others(layout, panel, part);
        let Some(near) = others.into_iter().min_by(|a, b| a.at.distance(at).total_cmp(&b.at.distance(at))) else { return };
        let text = format!("{} to {}", words::length(near.at.distance(at), seen.model.desk.display), near.part.label(layout));
        self.line(middle, snap::in_tank(panel, near.at, layout.tank.size()), &text);
    }

    /// The guides that the hole stands on, over the whole panel, while it is dragged.
    fn guides(&mut self, part: Part, panel: PanelName, middle: DVec3) {
        let seen = self.seen;
        let Some(sight) = seen.model.desk.sight else { return };
        let layout = seen.model.document.layout();
        let (size, at) = (layout.tank.size(), snap::on_panel(panel, middle));
        let extent = snap::on_panel(panel, size);
        let painter = self.painter();
        for guide in snap::met(layout, panel, part, at) {
            let end = |share: f64| {
                let mut p = at;
                p[guide.axis] = guide.at;
                p[1 - guide.axis] = extent[1 - guide.axis] * share;
                sight.project(snap::in_tank(panel, p, size)).map(|[x, y]| pos2(x, y))
            };
            let (Some(from), Some(to)) = (end(0.0), end(1.0)) else { continue };
            painter.extend(Shape::dashed_line(&[from, to], Stroke::new(1.2, seen.theme().jet), 6.0, 4.0));
            self.label(to + (from - to) * 0.12, from, guide.why.word());
        }
    }

    /// What breaks a rule about the selected part, with mark and word, under it.
    fn warnings(&self, part: Part) {
        let (seen, free) = (self.seen, self.free);
        let layout = seen.model.document.layout();
        let Some(at) = part.place(layout).and_then(|p| seen.model.desk.sight?.project(p)).map(|[x, y]| pos2(x, y)) else { return };
        let name = format!("{}/{}", part.list.key(), part.label(layout));
        let about = |f: &&Finding| GEOMETRY.contains(&f.rule.as_str()) && (f.part == name || f.what.contains(&name));
        let painter = self.painter();
        let theme = seen.theme();
        let mut top = at.y + 16.0;
        for finding in seen.model.live.checks.iter().filter(about).take(3) {
            let text = format!("{}: {}", finding.grade.word(), finding.what);
            let galley = painter.layout(text, FontId::proportional(theme::SMALL), theme.text, 260.0);
            let size = galley.size();
            let left = (at.x - size.x / 2.0 - 10.0).clamp(free.left() + 4.0, (free.right() - size.x - 30.0).max(free.left() + 4.0));
            let rect = Rect::from_min_size(pos2(left, top), size + vec2(26.0, 6.0));
            let ink = theme.grade(finding.grade);
            painter.rect(rect, 3.0, theme.panel, Stroke::new(1.5, ink), bevy_egui::egui::StrokeKind::Inside);
            words::mark(&painter, pos2(rect.left() + 11.0, rect.top() + 10.0), finding.grade, ink);
            painter.galley(rect.min + vec2(21.0, 3.0), galley, theme.text);
            top = rect.bottom() + 3.0;
        }
    }

    fn painter(&self) -> Painter {
        self.ui.painter().with_clip_rect(self.free)
    }

    fn line(&mut self, a: DVec3, b: DVec3, text: &str) {
        let Some(sight) = self.seen.model.desk.sight else { return };
        let on_screen = |p: DVec3| sight.project(p).map(|[x, y]| pos2(x, y));
        let (Some(from), Some(to)) = (on_screen(a), on_screen(b)) else { return };
        let theme = self.seen.theme();
        let painter = self.painter();
        painter.line_segment([from, to], Stroke::new(1.5, theme.accent));
        painter.circle_filled(to, 2.5, theme.accent);
        self.label(from, to, text);
    }

    /// In the middle between two points, or as near to it as there is room.
    fn label(&mut self, from: Pos2, to: Pos2, text: &str) {
        let theme = self.seen.theme();
        let painter = self.painter();
        let galley = painter.layout_no_wrap(text.to_owned(), FontId::proportional(theme::SMALL), theme.text);
        let rect = room(from, to, galley.size() + vec2(8.0, 2.0), self.free, &self.taken);
        self.taken.push(rect);
        painter.rect_filled(rect, 3.0, theme.raised);
        painter.galley(rect.min + vec2(4.0, 1.0), galley, theme.text);
    }

    /// Where the jet's centreline falls to [`REACH_SPEED`] in open water, at its strongest over the cycle.
    fn reach(&mut self, part: Part, item: &Item) {
        let seen = self.seen;
        let (Item::Nozzle(nozzle), Some(schedule)) = (item, &seen.model.live.schedule) else { return };
        let layout = seen.model.document.layout();
        let from = nozzle.mount.centre(layout.tank.size());
        let speeds = schedule.times.iter().map(|t| schedule.nozzle_at(part.index, *t));
        let fastest = speeds.map(|(flow, momentum)| if flow > 1e-9 { momentum / flow } else { 0.0 }).fold(0.0, f64::max);
        let length = DECAY * fastest * nozzle.bore.si() / REACH_SPEED;
        if length > 0.01 {
            let display = seen.model.desk.display;
            let text = format!("reach {}, down to {}", words::length(length, display), words::tank_speed(REACH_SPEED, display));
            let along = nozzle.aim.direction(from);
            self.line(from, from + along * length.min(to_the_wall(from, along, layout.tank.size())), &text);
        }
    }
}

/// Where a text of this size lies over the line between two points: in its middle, else along it, beyond its end, above or below.
fn room(from: Pos2, to: Pos2, size: Vec2, free: Rect, taken: &[Rect]) -> Rect {
    let way = to - from;
    let beyond = way.normalized() * (size / 2.0 + vec2(6.0, 6.0));
    let along = [0.5, 0.36, 0.64, 0.22, 0.78].map(|share| from + way * share);
    let aside = (1..5).flat_map(|rows| [-1.0, 1.0].map(|side| from + way * 0.5 + vec2(0.0, side * rows as f32 * (size.y + 2.0))));
    let places = along.into_iter().chain([to + beyond]).chain(aside).map(|at| Rect::from_center_size(at, size));
    let fits = |rect: &Rect| free.contains_rect(*rect) && !taken.iter().any(|t| t.intersects(*rect));
    places.into_iter().find(fits).unwrap_or(Rect::from_center_size(from + way * 0.5, size))
}

/// Distance to where a line from inside leaves the tank, m.
fn to_the_wall(from: DVec3, along: DVec3, size: DVec3) -> f64 {
    let exits = (0..3).filter(|&a| along[a].abs() > 1e-9).map(|a| ((if along[a] > 0.0 { size[a] } else { 0.0 }) - from[a]) / along[a]);
    exits.filter(|d| *d > 1e-6).fold(f64::INFINITY, f64::min).min(size.length())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_keep_off_each_other_and_inside_the_picture() {
        let free = Rect::from_min_max(pos2(0.0, 0.0), pos2(600.0, 400.0));
        let corner = pos2(40.0, 50.0);
        let mut taken = vec![Rect::from_center_size(corner - vec2(0.0, 16.0), vec2(60.0, 16.0))];
        for foot in [pos2(5.0, 50.0), pos2(560.0, 50.0), pos2(40.0, 20.0), pos2(48.0, 62.0)] {
            let rect = room(corner, foot, vec2(50.0, 15.0), free, &taken);
            assert!(free.contains_rect(rect) && !taken.iter().any(|t| t.intersects(rect)), "{rect}");
            taken.push(rect);
        }
    }
}
