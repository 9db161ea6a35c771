//! Names of parts and numbers of dead spots over the picture, kept from lying on each other.

use super::{Seen, theme};
use crate::app::action::Action;
use crate::app::part::Part;
use bevy_egui::egui::{Align2, Color32, FontId, Id, Pos2, Rect, Sense, Stroke, Ui, vec2};

/// What a mark stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs, reason = "the names say it")]
pub enum Kind {
    Nozzle,
    Intake,
    Colony,
    DeadSpot(u16),
    Other,
}

/// A text at a place of the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Where, points.
    pub at: Pos2,
    /// What it says.
    pub text: String,
    /// What it stands for.
    pub kind: Kind,
    /// Selected or pointed out.
    pub strong: bool,
    /// The part it names.
    pub part: Option<Part>,
}

/// All of them that find room; a click selects.
pub fn draw(ui: &mut Ui, free: Rect, seen: &Seen, out: &mut Vec<Action>) {
    let mut order: Vec<&Mark> = seen.marks.iter().collect();
    order.sort_by_key(|m| (!m.strong, rank(m.kind)));
    let overlays = ["see", "legend"].map(|name| ui.ctx().memory(|m| m.area_rect(Id::new(name))));
    let mut taken: Vec<Rect> = overlays.into_iter().flatten().collect();
    for (index, mark) in order.into_iter().enumerate() {
        let font = FontId::proportional(if matches!(mark.kind, Kind::DeadSpot(_)) { theme::BODY } else { theme::SMALL });
        let text = ui.painter().layout_no_wrap(mark.text.clone(), font.clone(), Color32::PLACEHOLDER);
        let rect = room(mark, text.size());
        let fits = free.contains_rect(rect) && !taken.iter().any(|t| t.intersects(rect));
        if !fits && !mark.strong {
            continue;
        }
        taken.push(rect);
        paint(ui, rect, mark, font, seen);
        let response = ui.interact(rect, Id::new(("mark", index)), Sense::click());
        if response.clicked() {
            out.push(match (mark.kind, mark.part) {
                (Kind::DeadSpot(rank), _) => Action::ShowDeadSpot(rank),
                (_, part) => Action::Select(part),
            });
        }
    }
}

fn rank(kind: Kind) -> u8 {
    match kind {
        Kind::DeadSpot(_) => 0,
        Kind::Other => 1,
        Kind::Nozzle => 2,
        Kind::Intake => 3,
        Kind::Colony => 4,
    }
}

/// Dead spots: on the spot. Names: just above their part.
fn room(mark: &Mark, text: bevy_egui::egui::Vec2) -> Rect {
    match mark.kind {
        Kind::DeadSpot(_) => Rect::from_center_size(mark.at, vec2(text.x.max(text.y) + 8.0, text.y + 4.0)),
        _ => Rect::from_center_size(mark.at - vec2(0.0, 16.0), text + vec2(8.0, 2.0)),
    }
}

fn paint(ui: &Ui, rect: Rect, mark: &Mark, font: FontId, seen: &Seen) {
    let theme = seen.theme();
    let painter = ui.painter();
    let spot = matches!(mark.kind, Kind::DeadSpot(_));
    let (fill, ink) = match (spot, mark.strong) {
        (true, _) => (theme.dead, theme.canvas),
        (false, true) => (theme.accent, theme.on_accent),
        (false, false) => (theme.panel, theme.text),
    };
    let rounding = if spot { rect.height() / 2.0 } else { 3.0 };
    painter.rect_filled(rect, rounding, fill);
    if mark.strong {
        painter.rect_stroke(rect.expand(2.0), rounding, Stroke::new(1.5, theme.text), bevy_egui::egui::StrokeKind::Outside);
    }
    painter.text(rect.center(), Align2::CENTER_CENTER, &mark.text, font, ink);
}
