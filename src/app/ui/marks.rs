//! Names of parts and numbers of dead spots over the picture, kept from lying on each other. A click selects, a drag moves.

use super::{Seen, rulers, theme};
use crate::app::action::Action;
use crate::app::document::Edit;
use crate::app::part::{Item, List, Part, ids};
use crate::app::reach;
use bevy_egui::egui::{Align2, Color32, CursorIcon, FontId, Id, Pos2, Rect, Response, Sense, Stroke, StrokeKind, Ui, Vec2, pos2, vec2};
use glam::DVec3;

/// What a mark stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    DeadSpot(u16),
    Tip(Part),
    Name(Part),
}

/// A text at a place of the picture.
struct Mark {
    at: Pos2,
    text: String,
    kind: Kind,
    strong: bool,
}

/// Smaller dead spots than the largest so many get no number.
const MOST_SPOTS: usize = 12;
/// Length of the handle that turns an aim, m for each metre of tank.
const HANDLE: f64 = 0.16;

/// All of them that find room.
pub fn draw(ui: &mut Ui, free: Rect, seen: &Seen, out: &mut Vec<Action>) {
    let mut marks = collect(seen);
    marks.sort_by_key(|m| (!m.strong, order(m.kind)));
    let overlays = ["see", "legend"].map(|name| ui.ctx().memory(|m| m.area_rect(Id::new(name))));
    let mut taken: Vec<Rect> = overlays.into_iter().flatten().collect();
    for mark in &marks {
        let font = FontId::proportional(if matches!(mark.kind, Kind::DeadSpot(_)) { theme::BODY } else { theme::SMALL });
        let text = ui.painter().layout_no_wrap(mark.text.clone(), font.clone(), Color32::PLACEHOLDER);
        let rect = room(mark, text.size());
        let fits = free.contains_rect(rect) && !taken.iter().any(|t| t.intersects(rect));
        if !free.contains(mark.at) || (!fits && !mark.strong) {
            continue;
        }
        taken.push(rect);
        paint(ui, rect, mark, font, seen);
        touch(ui, rect, mark, seen, out);
    }
    rulers::draw(ui, free, seen);
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
            let strong = desk.selected == Some(part);
            if let Some(at) = part.place(layout).filter(|_| desk.shown.labels || strong) {
                put(at, name(seen, part), Kind::Name(part), strong);
            }
        }
    }
    if let Some(part) = desk.selected {
        if !matches!(part.list, List::Nozzles | List::Intakes | List::Propellers | List::Colonies)
            && let Some(at) = part.place(layout)
        {
            put(at, name(seen, part), Kind::Name(part), true);
        }
        if let Some(tip) = tip(seen, part) {
            put(tip, String::new(), Kind::Tip(part), true);
        }
    }
    marks
}

/// A colony's name comes with its verdict, in words.
fn name(seen: &Seen, part: Part) -> String {
    let label = part.label(seen.model.document.layout());
    let judged = seen.model.live.verdict().filter(|_| part.list == List::Colonies);
    let verdict = judged.and_then(|r| r.colonies.iter().find(|c| c.id == label && c.kind == "colony")).map(|c| c.verdict.as_str());
    match verdict {
        Some(words) => format!("{label}: {words}"),
        None => label,
    }
}

/// Where the handle of a jet's aim stands.
fn tip(seen: &Seen, part: Part) -> Option<DVec3> {
    let layout = seen.model.document.layout();
    let from = part.place(layout)?;
    let direction = match part.get(layout)? {
        Item::Nozzle(nozzle) => nozzle.aim.direction(from),
        Item::Propeller(propeller) => propeller.aim.direction(from),
        _ => return None,
    };
    Some(from + direction * handle(seen))
}

fn handle(seen: &Seen) -> f64 {
    seen.model.document.layout().tank.size().max_element() * HANDLE
}

fn order(kind: Kind) -> u8 {
    match kind {
        Kind::Tip(_) => 0,
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
        Kind::Tip(_) => Rect::from_center_size(mark.at, vec2(16.0, 16.0)),
        Kind::Name(_) => Rect::from_center_size(mark.at - vec2(0.0, 16.0), text + vec2(8.0, 2.0)),
    }
}

fn paint(ui: &Ui, rect: Rect, mark: &Mark, font: FontId, seen: &Seen) {
    let theme = seen.theme();
    let painter = ui.painter();
    let (fill, ink, rounding) = match (mark.kind, mark.strong) {
        (Kind::Tip(_), _) => {
            painter.circle(rect.center(), 6.0, theme.accent, Stroke::new(2.0, theme.text));
            return;
        }
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
        Kind::Name(part) if response.clicked() => out.push(Action::Select(Some(part))),
        Kind::Name(part) => drag(ui, &response, mark.at, out, |at, lift| {
            let sight = seen.model.desk.sight?;
            let item = reach::moved(seen.model.document.layout(), part, sight.ray(at), lift, seen.model.desk.display)?;
            Some((part, item))
        }),
        Kind::Tip(part) => drag(ui, &response, mark.at, out, |at, _| {
            let sight = seen.model.desk.sight?;
            Some((part, reach::aimed(seen.model.document.layout(), part, sight.ray(at), handle(seen))?))
        }),
    }
    let help = match mark.kind {
        Kind::DeadSpot(_) => "Water that stays slow; click to look closely",
        Kind::Tip(_) => "Drag to aim the jet",
        Kind::Name(_) => "Click to select; drag to move, with Shift up and down",
    };
    if response.dragged() {
        ui.ctx().set_cursor_icon(CursorIcon::Grabbing);
    } else {
        response.on_hover_text(help);
    }
}

fn id(kind: Kind) -> Id {
    match kind {
        Kind::DeadSpot(rank) => Id::new(("dead spot", rank)),
        Kind::Tip(part) => Id::new(("tip", part)),
        Kind::Name(part) => Id::new(("name", part)),
    }
}

/// The pointer keeps its distance from the part's middle for the whole drag.
fn drag(ui: &Ui, response: &Response, middle: Pos2, out: &mut Vec<Action>, to: impl Fn([f32; 2], bool) -> Option<(Part, Item)>) {
    let Some(pointer) = response.interact_pointer_pos() else { return };
    let key = response.id.with("offset");
    if response.drag_started() {
        let start = ui.input(|i| i.pointer.press_origin()).unwrap_or(pointer);
        ui.ctx().data_mut(|d| d.insert_temp(key, start - middle));
    }
    if response.dragged() {
        let offset: Vec2 = ui.ctx().data(|d| d.get_temp(key)).unwrap_or_default();
        let at = pointer - offset;
        if let Some((part, item)) = to([at.x, at.y], ui.input(|i| i.modifiers.shift)) {
            out.extend([Action::Select(Some(part)), Action::Edit(Edit::Put(part.index, Box::new(item)))]);
        }
    }
}
