//! The strip over a drum unit's rows: its steps or turns as blocks. Edges are dragged, blocks moved and clicked.

use super::edit_sequence::opens;
use super::timeline::Axis;
use super::{Seen, fields, pop, theme};
use crate::app::action::Action;
use crate::app::beats::{self, Kind, Piece};
use crate::app::document::Edit;
use crate::app::part::{Item, List, Part};
use crate::layout::{Direction, Drive, Drum, Motion, Sequence, Step};
use crate::units::Time;
use bevy_egui::egui::{Align2, CursorIcon, FontId, Grid, Id, Rect, Response, RichText, Sense, Shape, Stroke, Ui, pos2, vec2};

/// Height of the strip, points.
pub const HEIGHT: f32 = 17.0;
const GRIP: f32 = 7.0;

/// The strip of one unit.
pub fn strip(ui: &mut Ui, axis: &Axis, drum: &Drum, seen: &Seen, out: &mut Vec<Action>) {
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), HEIGHT), Sense::hover());
    let Some((index, sequence)) = active(seen) else { return };
    name(ui, rect.with_max_x(axis.rect.left() - 24.0), drum, seen, out);
    let bar = Rect::from_min_max(pos2(axis.rect.left(), rect.top()), pos2(axis.rect.right(), rect.bottom()));
    let Some(drive) = sequence.drives.iter().find(|d| d.drum == drum.id) else {
        return still(ui, bar, drum, "stands still; click to let it turn", seen, out);
    };
    let mut put = |changed: Drive| out.push(Action::Edit(edit(index, sequence, changed)));
    direction(ui, Rect::from_center_size(pos2(bar.left() - 12.0, bar.center().y), vec2(18.0, HEIGHT)), drive, seen, &mut put);
    let pieces = beats::pieces(drive, axis.span);
    if pieces.is_empty() {
        let response = block(ui, bar, Id::new(("held", &drum.id)), "held at one place; click to change", false, seen);
        popup(&response, drum, drive, 0, &mut put, seen);
        return;
    }
    let body = slide(ui, bar, axis, drum, drive, &mut put);
    for (i, piece) in pieces.iter().enumerate() {
        let (from, to) = (axis.x(piece.from).max(bar.left()), axis.x(piece.to).min(bar.right()));
        let place = Rect::from_min_max(pos2(from, bar.top() + 1.0), pos2(to, bar.bottom() - 1.0));
        draw(ui, place, piece, drive, seen);
        edge(ui, bar, axis, (drum, drive), (i, piece), &mut put);
    }
    let under = body.interact_pointer_pos().filter(|_| body.clicked());
    if let Some(at) = under {
        let hit = pieces.iter().find(|p| (axis.x(p.from)..axis.x(p.to)).contains(&at.x)).map_or(0, |p| p.step);
        ui.ctx().data_mut(|d| d.insert_temp(body.id.with("step"), hit));
    }
    let step = ui.ctx().data(|d| d.get_temp(body.id.with("step"))).unwrap_or(0);
    popup(&body, drum, drive, step, &mut put, seen);
}

/// The unit's name; a click shows its fields.
fn name(ui: &mut Ui, place: Rect, drum: &Drum, seen: &Seen, out: &mut Vec<Action>) {
    let colours = seen.theme();
    let response = ui.interact(place, Id::new(("unit", &drum.id)), Sense::click());
    let ink = if response.hovered() { colours.text } else { colours.accent };
    let painter = ui.painter().with_clip_rect(place);
    painter.text(place.left_center(), Align2::LEFT_CENTER, &drum.id, FontId::proportional(theme::SMALL), ink);
    let response = response.on_hover_cursor(CursorIcon::PointingHand).on_hover_text("Click for its drum: windows, ports and outlets");
    let drums = &seen.model.document.layout().drums;
    if let Some(index) = drums.iter().position(|other| other.id == drum.id).filter(|_| response.clicked()) {
        out.push(Action::Select(Some(Part { list: List::Drums, index })));
    }
}

/// The sequence in use and its place in the list.
fn active<'a>(seen: &Seen<'a>) -> Option<(usize, &'a Sequence)> {
    let layout = seen.model.document.layout();
    let active = layout.active_sequence()?;
    Some((layout.sequences.iter().position(|s| s.id == active.id)?, active))
}

/// The sequence with a changed drive.
fn edit(index: usize, sequence: &Sequence, changed: Drive) -> Edit {
    let mut sequence = sequence.clone();
    match sequence.drives.iter_mut().find(|d| d.drum == changed.drum) {
        Some(drive) => *drive = changed,
        None => sequence.drives.push(changed),
    }
    Edit::Put(index, Box::new(Item::Sequence(sequence)))
}

fn still(ui: &mut Ui, bar: Rect, drum: &Drum, text: &str, seen: &Seen, out: &mut Vec<Action>) {
    let Some((index, sequence)) = active(seen) else { return };
    if block(ui, bar, Id::new(("still", &drum.id)), text, false, seen).clicked() {
        let time = |s: f64| Time::new(s, "s");
        let motion = Motion::Turning { period: time(60.0) };
        let drive = Drive { drum: drum.id.clone(), motion, phase: time(0.0), direction: Direction::Forward, slip: 0.0 };
        out.push(Action::Edit(edit(index, sequence, drive)));
    }
}

fn block(ui: &mut Ui, place: Rect, id: Id, text: &str, strong: bool, seen: &Seen) -> Response {
    let theme = seen.theme();
    let response = ui.interact(place, id, Sense::click());
    let fill = if strong { theme.tint(0.45) } else { theme.raised };
    ui.painter().rect_filled(place, 3.0, fill);
    ui.painter().with_clip_rect(place).text(place.center(), Align2::CENTER_CENTER, text, FontId::proportional(10.5), theme.text);
    response
}

/// An arrow that says which way round the unit goes; a click turns it.
fn direction(ui: &mut Ui, place: Rect, drive: &Drive, seen: &Seen, put: &mut impl FnMut(Drive)) {
    let response = ui.interact(place, Id::new(("direction", &drive.drum)), Sense::click());
    let theme = seen.theme();
    let ink = if response.hovered() { theme.accent } else { theme.text };
    let (c, forward) = (place.center(), drive.direction == Direction::Forward);
    let tip = if forward { 5.0 } else { -5.0 };
    let points = vec![pos2(c.x + tip, c.y), pos2(c.x - tip * 0.6, c.y - 4.5), pos2(c.x - tip * 0.6, c.y + 4.5)];
    ui.painter().add(Shape::convex_polygon(points, ink, Stroke::NONE));
    if response.on_hover_text("Which way round the unit goes; click to turn it").clicked() {
        put(Drive { direction: if forward { Direction::Reverse } else { Direction::Forward }, ..drive.clone() });
    }
}

/// The whole strip, dragged: the phase.
fn slide(ui: &mut Ui, bar: Rect, axis: &Axis, drum: &Drum, drive: &Drive, put: &mut impl FnMut(Drive)) -> Response {
    let response = ui.interact(bar, Id::new(("strip", &drum.id)), Sense::click_and_drag());
    dragged(ui, &response, axis, drive, beats::delayed, put);
    response
        .on_hover_text("Drag to shift the phase; drag an edge to change a dwell or a change-over; click for the step's outlets and times")
}

/// The edge of a piece that its length moves.
fn edge(ui: &mut Ui, bar: Rect, axis: &Axis, (drum, drive): (&Drum, &Drive), (i, piece): (usize, &Piece), put: &mut impl FnMut(Drive)) {
    let reverse = drive.direction == Direction::Reverse;
    let at = axis.x(if reverse { piece.from } else { piece.to });
    if at < bar.left() - 1.0 || at > bar.right() + 1.0 {
        return;
    }
    let grip = Rect::from_center_size(pos2(at, bar.center().y), vec2(GRIP, bar.height()));
    let response = ui.interact(grip, Id::new(("edge", &drum.id, i)), Sense::drag());
    if response.hovered() || response.dragged() {
        ui.ctx().set_cursor_icon(CursorIcon::ResizeHorizontal);
    }
    let sign = if reverse { -1.0 } else { 1.0 };
    dragged(ui, &response, axis, drive, |start, by| beats::stretched(start, piece, sign * by), put);
}

/// The drive as it was when the drag began, changed by how far the pointer has gone since, s.
fn dragged(ui: &Ui, response: &Response, axis: &Axis, drive: &Drive, change: impl Fn(&Drive, f64) -> Drive, put: &mut impl FnMut(Drive)) {
    let key = response.id.with("start");
    if response.drag_started() {
        ui.ctx().data_mut(|d| d.insert_temp(key, drive.clone()));
        ui.ctx().data_mut(|d| d.insert_temp(Id::new("frozen axis"), axis.span));
    }
    if response.drag_stopped() {
        ui.ctx().data_mut(|d| d.remove_temp::<f64>(Id::new("frozen axis")));
    }
    let Some(to) = response.interact_pointer_pos().filter(|_| response.dragged() || response.drag_stopped()) else { return };
    let Some(from) = ui.input(|i| i.pointer.press_origin()) else { return };
    let Some(start) = ui.ctx().data(|d| d.get_temp::<Drive>(key)) else { return };
    let changed = change(&start, axis.seconds(to.x - from.x));
    if changed != *drive {
        put(changed);
    }
}

fn draw(ui: &Ui, place: Rect, piece: &Piece, drive: &Drive, seen: &Seen) {
    if place.width() < 1.0 {
        return;
    }
    let theme = seen.theme();
    let painter = ui.painter().with_clip_rect(place);
    match piece.kind {
        Kind::ChangeOver => {
            painter.rect_filled(place, 0.0, theme.raised);
            painter.line_segment([place.left_bottom(), place.right_top()], Stroke::new(1.2, theme.muted));
        }
        Kind::Dwell | Kind::Turn => {
            painter.rect_filled(place, 2.0, theme.tint(if piece.step.is_multiple_of(2) { 0.42 } else { 0.30 }));
            let text = match &drive.motion {
                Motion::Steps(steps) => steps.get(piece.step).map_or_else(String::new, named),
                _ => format!("one turn, {:.0} s", piece.to - piece.from),
            };
            painter.text(place.center(), Align2::CENTER_CENTER, text, FontId::proportional(10.5), theme.text);
        }
    }
    ui.painter().line_segment([place.right_top(), place.right_bottom()], Stroke::new(1.5, theme.panel));
}

fn named(step: &Step) -> String {
    let open: Vec<String> = step.open.iter().map(u32::to_string).collect();
    if open.is_empty() { "all shut".into() } else { open.join("+") }
}

/// Times and outlets of a step, or the period of a turn.
fn popup(response: &Response, drum: &Drum, drive: &Drive, step: usize, put: &mut impl FnMut(Drive), seen: &Seen) {
    pop::fields(response, |ui| {
        ui.set_min_width(210.0);
        let mut changed = drive.clone();
        let display = seen.model.desk.display;
        if let Motion::Steps(steps) = &changed.motion {
            ui.label(RichText::new(format!("{}, step {} of {}", drum.id, step + 1, steps.len())).strong());
        }
        Grid::new("step").num_columns(2).show(ui, |ui| {
            kind(ui, &mut changed, drum);
            match &mut changed.motion {
                Motion::Turning { period } => drop(fields::quantity(ui, "One turn", period, display)),
                Motion::Held { turn } => drop(fields::percent(ui, "Held at", turn, 1.0)),
                Motion::Steps(steps) => {
                    if let Some(step) = steps.get_mut(step) {
                        ui.label("Open");
                        ui.horizontal(|ui| opens(ui, step, drum.outlets));
                        ui.end_row();
                        fields::quantity(ui, "Dwell", &mut step.dwell, display);
                        fields::quantity(ui, "Change-over", &mut step.change_over, display);
                    }
                }
            }
            fields::quantity(ui, "Phase", &mut changed.phase, display);
        });
        if matches!(changed.motion, Motion::Steps(_)) {
            ui.horizontal(|ui| {
                if ui.button("Add a step after").clicked() {
                    changed = beats::with_step_after(&changed, step, drum.outlets);
                }
                if ui.button("Take it out").clicked() {
                    changed = beats::without_step(&changed, step);
                }
            });
        }
        if changed != *drive {
            put(changed);
        }
    });
}

/// Turning, steps or held.
fn kind(ui: &mut Ui, drive: &mut Drive, drum: &Drum) {
    super::edit_sequence::motion(ui, "Moves by", drive, Some(drum));
}
