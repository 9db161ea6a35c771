//! Names of parts and numbers of dead spots over the picture, kept from lying on each other. A click selects, a drag moves.

use super::{Seen, grab, handles, rulers, theme};
use crate::app::action::Action;
use crate::app::part::{List, Part, ids};
use crate::report::shown::shortened;
use bevy_egui::egui::{Align2, Color32, CursorIcon, FontId, Id, Pos2, Rect, Sense, Stroke, StrokeKind, Ui, Vec2, pos2, vec2};
use glam::DVec3;

/// What a mark stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    DeadSpot(u16),
    Name(Part),
}

/// A text at a place of the picture.
struct Mark {
    at: Pos2,
    text: String,
    kind: Kind,
    strong: bool,
}

/// Longer names are cut in the picture; letters.
const LONGEST_NAME: usize = 30;
/// Smaller dead spots than the largest so many get no number.
const MOST_SPOTS: usize = 12;

/// All of them that find room.
pub fn draw(ui: &mut Ui, free: Rect, seen: &Seen, out: &mut Vec<Action>) {
    let mut marks = collect(seen);
    marks.sort_by_key(|m| (!m.strong, order(m.kind)));
    let overlays = ["see", "legend"].map(|name| ui.ctx().memory(|m| m.area_rect(Id::new(name))));
    let mut taken: Vec<Rect> = overlays.into_iter().flatten().collect();
    taken.extend(handles::held(seen));
    let mut placed = Vec::new();
    for mark in &marks {
        let font = FontId::proportional(if matches!(mark.kind, Kind::DeadSpot(_)) { theme::BODY } else { theme::SMALL });
        let text = ui.painter().layout_no_wrap(mark.text.clone(), font.clone(), Color32::PLACEHOLDER);
        let rect = room(mark, text.size());
        let fits = free.contains_rect(rect) && !taken.iter().any(|t| t.intersects(rect));
        if !free.contains(mark.at) || (!fits && !mark.strong) {
            continue;
        }
        taken.push(rect);
        placed.push((rect, mark, font));
    }
    // Lines lie under names, and their words beside them.
    rulers::draw(ui, free, seen, taken);
    let names: Vec<Rect> = placed.iter().map(|(rect, ..)| *rect).collect();
    for (rect, mark, font) in placed {
        paint(ui, rect, mark, font, seen);
        touch(ui, rect, mark, seen, out);
    }
    handles::draw(ui, free, &names, seen, out);
}

fn collect(seen: &Seen) -> Vec<Mark> {
    let model = seen.model;
    let (layout, desk) = (model.document.layout(), &model.desk);
    let Some(sight) = desk.sight else { return Vec::new() };
    let mut marks = Vec::new();
    let mut put = |place: DVec3, text: String, kind: Kind, strong: bool| {
        if let Some([x, y]) = sight.project(place) {
            marks.push(Mark { at: pos2(x, y), text, kind, strong });
        }
    };
    if desk.shown.dead_spots {
        for spot in model.live.verdict().iter().flat_map(|r| &r.dead_spots).take(MOST_SPOTS) {
            let rank = spot.rank as u16;
            put(DVec3::from_array(spot.centre_m), rank.to_string(), Kind::DeadSpot(rank), desk.dead_spot == Some(rank));
        }
    }
    for list in [List::Nozzles, List::Intakes, List::Propellers, List::Colonies] {
        for index in 0..ids(layout, list).len() {
            let part = Part { list, index };
            let strong = desk.is_selected(part);
            if let Some(at) = part.place(layout).filter(|_| desk.shown.labels || strong) {
                put(at, name(seen, part), Kind::Name(part), strong);
            }
        }
    }
    for part in desk.all_selected().filter(|p| !matches!(p.list, List::Nozzles | List::Intakes | List::Propellers | List::Colonies)) {
        if let Some(at) = part.place(layout) {
            put(at, name(seen, part), Kind::Name(part), true);
        }
    }
    marks
}

/// A colony's name comes with its verdict, in words.
fn name(seen: &Seen, part: Part) -> String {
    let label = part.label(seen.model.document.layout());
    let short = shortened(&label, LONGEST_NAME);
    let judged = seen.model.live.verdict().filter(|_| part.list == List::Colonies);
    let verdict = judged.and_then(|r| r.colonies.iter().find(|c| c.id == label && c.kind == "colony")).map(|c| c.verdict.as_str());
    match verdict {
        Some(words) => format!("{short}: {words}"),
        None => short,
    }
}

fn order(kind: Kind) -> u8 {
    match kind {
        Kind::DeadSpot(_) => 1,
        Kind::Name(part) if part.list == List::Nozzles => 2,
        Kind::Name(part) if part.list == List::Intakes => 3,
        Kind::Name(_) => 4,
    }
}

/// Dead spots and tips: on the spot. Names: just above their part.
fn room(mark: &Mark, text: Vec2) -> Rect {
    match mark.kind {
        Kind::DeadSpot(_) => Rect::from_center_size(mark.at, vec2(text.x.max(text.y) + 8.0, text.y + 4.0)),
        Kind::Name(_) => Rect::from_center_size(mark.at - vec2(0.0, 16.0), text + vec2(8.0, 2.0)),
    }
}

fn paint(ui: &Ui, rect: Rect, mark: &Mark, font: FontId, seen: &Seen) {
    let theme = seen.theme();
    let painter = ui.painter();
    let (fill, ink, rounding) = match (mark.kind, mark.strong) {
        (Kind::DeadSpot(_), _) => (theme.dead, theme.canvas, rect.height() / 2.0),
        (Kind::Name(_), true) => (theme.accent, theme.on_accent, 3.0),
        (Kind::Name(_), false) => (theme.panel, theme.text, 3.0),
    };
    painter.rect_filled(rect, rounding, fill);
    if mark.strong {
        painter.rect_stroke(rect.expand(2.0), rounding, Stroke::new(1.5, theme.text), StrokeKind::Outside);
    }
    painter.text(rect.center(), Align2::CENTER_CENTER, &mark.text, font, ink);
}

fn touch(ui: &mut Ui, rect: Rect, mark: &Mark, seen: &Seen, out: &mut Vec<Action>) {
    let response = ui.interact(rect, id(mark.kind), Sense::click_and_drag());
    match mark.kind {
        Kind::DeadSpot(rank) if response.clicked() => out.push(Action::ShowDeadSpot(rank)),
        Kind::DeadSpot(_) => {}
        Kind::Name(part) if response.clicked() => out.push(grab::pick(ui, part)),
        Kind::Name(part) => grab::part(ui, &response, mark.at, part, seen, out),
    }
    let help = match mark.kind {
        Kind::DeadSpot(_) => "Water that stays slow; click to look closely",
        Kind::Name(part) => grab::help(seen, part),
    };
    if response.dragged() {
        ui.ctx().set_cursor_icon(CursorIcon::Grabbing);
    } else if !help.is_empty() {
        response.on_hover_text(help);
    }
}

fn id(kind: Kind) -> Id {
    match kind {
        Kind::DeadSpot(rank) => Id::new(("dead spot", rank)),
        Kind::Name(part) => Id::new(("name", part)),
    }
}
