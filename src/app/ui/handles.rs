//! Handles on the picture: bodies of parts, tips of jets, and what turns and scales a rock. A click beside them picks rock.

use super::{Seen, grab, theme};
use crate::app::action::Action;
use crate::app::part::{Item, List, Part, ids};
use crate::app::{pick, reach};
use bevy_egui::egui::{CursorIcon, Id, Pos2, Rect, Response, Sense, Stroke, Ui, pos2, vec2};
use glam::DVec3;

/// Length of the handle that turns an aim, m for each metre of tank.
const TIP: f64 = 0.16;
/// Handles can be taken this near to their middle, points.
const HOLD: f32 = 9.0;

/// All of them; `names`: where names lie.
pub fn draw(ui: &mut Ui, free: Rect, names: &[Rect], seen: &Seen, out: &mut Vec<Action>) {
    click(ui, free, seen, out);
    if seen.model.desk.picking {
        return;
    }
    if let Some(part) = seen.model.desk.selected {
        stone(ui, free, part, seen, out);
    }
    bodies(ui, free, names, seen, out);
    if let Some(part) = seen.model.desk.selected {
        tip(ui, free, part, seen, out);
        rock(ui, free, part, seen, out);
    }
}

/// Where the selected part and the tip of its jet are taken hold of.
pub fn held(seen: &Seen) -> Vec<Rect> {
    let Some(part) = seen.model.desk.selected.filter(|p| p.list != List::Tank) else { return Vec::new() };
    let from = part.place(seen.model.document.layout()).and_then(|place| on_screen(seen, place));
    let tip = jet(seen, part).map(|(_, at, _)| at);
    let round = from.into_iter().chain(tip).map(|at| Rect::from_center_size(at, vec2(2.0 * HOLD, 2.0 * HOLD)));
    let knobs = knobs(seen, part).into_iter().filter_map(|(place, ..)| on_screen(seen, place));
    round.chain(knobs.map(|at| Rect::from_min_size(at - vec2(8.0, 10.0), vec2(54.0, 20.0)))).collect()
}

/// What turns and what scales a rock: place, name, help.
fn knobs(seen: &Seen, part: Part) -> Vec<(DVec3, &'static str, &'static str)> {
    let Some(Item::Rock(rock)) = part.get(seen.model.document.layout()) else { return Vec::new() };
    let foot = rock.at.metres();
    let out_there = rock.turn.yaw.si();
    let beside = foot + DVec3::new(out_there.cos(), out_there.sin(), 0.0) * (reach::girth(&rock.shape) + 0.04);
    let above = foot + DVec3::Z * reach::extent(&rock.shape).z;
    vec![(beside, "turn", "Drag round the rock to turn it"), (above, "scale", "Drag up or down to scale the rock")]
}

/// Root and tip of a part's jet on the screen, and how far apart they are, m.
fn jet(seen: &Seen, part: Part) -> Option<(Pos2, Pos2, f64)> {
    let layout = seen.model.document.layout();
    let reach = layout.tank.size().max_element() * TIP;
    let (from, mut item) = (part.place(layout)?, part.get(layout)?);
    let direction = reach::aim_of(&mut item)?.direction(from);
    Some((on_screen(seen, from)?, on_screen(seen, from + direction * reach)?, reach))
}

fn on_screen(seen: &Seen, place: DVec3) -> Option<Pos2> {
    seen.model.desk.sight?.project(place).map(|[x, y]| pos2(x, y))
}

/// Nozzles, intakes, propeller pumps and colonies can be taken by their bodies.
fn bodies(ui: &mut Ui, free: Rect, names: &[Rect], seen: &Seen, out: &mut Vec<Action>) {
    let layout = seen.model.document.layout();
    // A name is taken for itself, also where it lies over another part.
    let at = ui.input(|i| i.pointer.press_origin().or(i.pointer.hover_pos()));
    let named = at.is_some_and(|at| names.iter().any(|name| name.contains(at)));
    let sense = if named { Sense::hover() } else { Sense::click_and_drag() };
    for list in [List::Colonies, List::Propellers, List::Intakes, List::Nozzles] {
        for index in 0..ids(layout, list).len() {
            let part = Part { list, index };
            let Some(at) = part.place(layout).and_then(|p| on_screen(seen, p)).filter(|at| free.contains(*at)) else { continue };
            let response = handle(ui, at, Id::new(("body", part)), sense);
            ring(ui, at, &response, seen.model.desk.is_selected(part), seen);
            if response.clicked() {
                out.push(grab::pick(ui, part));
            }
            grab::part(ui, &response, at, part, seen, out);
            help(ui, response, grab::help(seen, part));
        }
    }
}

fn handle(ui: &mut Ui, at: Pos2, id: Id, sense: Sense) -> Response {
    ui.interact(Rect::from_center_size(at, vec2(2.0 * HOLD, 2.0 * HOLD)), id, sense)
}

fn ring(ui: &Ui, at: Pos2, response: &Response, selected: bool, seen: &Seen) {
    if selected || response.hovered() || response.dragged() {
        let theme = seen.theme();
        ui.painter().circle_stroke(at, HOLD, Stroke::new(if selected { 2.0 } else { 1.2 }, theme.accent));
    }
}

fn help(ui: &Ui, response: Response, text: &str) {
    if response.dragged() {
        ui.ctx().set_cursor_icon(CursorIcon::Grabbing);
    } else if !text.is_empty() {
        response.on_hover_text(text);
    }
}

/// The tip of the selected jet turns its aim.
fn tip(ui: &mut Ui, free: Rect, part: Part, seen: &Seen, out: &mut Vec<Action>) {
    let Some((root, at, reach)) = jet(seen, part) else { return };
    if !free.contains(at) {
        return;
    }
    let theme = seen.theme();
    ui.painter().line_segment([root, at], Stroke::new(1.5, theme.accent));
    ui.painter().circle(at, 6.0, theme.accent, Stroke::new(2.0, theme.text));
    let response = handle(ui, at, Id::new(("tip", part)), Sense::click_and_drag());
    if let Some(Some((sight, to))) = grab::pulled(ui, &response, at).map(|to| seen.model.desk.sight.map(|s| (s, to)))
        && let Some(item) = reach::aimed(seen.model.document.layout(), part, sight.ray([to.x, to.y]), reach)
    {
        out.push(Action::Edit(grab::put(part, item)));
    }
    help(ui, response, "");
}

/// The selected rock is taken anywhere on it.
fn stone(ui: &mut Ui, free: Rect, part: Part, seen: &Seen, out: &mut Vec<Action>) {
    let (model, id) = (seen.model, Id::new(("stone", part)));
    let Some((sight, at)) = model.desk.sight.zip(ui.input(|i| i.pointer.interact_pos())).filter(|_| part.list == List::Rocks) else {
        return;
    };
    let far = model.document.layout().tank.size().length() * 20.0;
    let under = || pick::first(&model.live.solids, sight.ray([at.x, at.y]), far).is_some_and(|(found, _)| found == part);
    let taken = ui.ctx().is_being_dragged(id) || free.contains(at) && under();
    if !taken {
        return;
    }
    let response = ui.interact(free, id, Sense::click_and_drag());
    if response.clicked() {
        out.push(grab::pick(ui, part));
    }
    if let Some(middle) = part.place(model.document.layout()).and_then(|place| on_screen(seen, place)) {
        grab::part(ui, &response, middle, part, seen, out);
    }
    help(ui, response, grab::help(seen, part));
}

/// The selected rock: its body moves it, a handle beside it turns it, one above it scales it.
fn rock(ui: &mut Ui, free: Rect, part: Part, seen: &Seen, out: &mut Vec<Action>) {
    let layout = seen.model.document.layout();
    let display = seen.model.desk.display;
    for (place, name, text) in knobs(seen, part) {
        let Some(at) = on_screen(seen, place).filter(|at| free.contains(*at)) else { continue };
        knob(ui, at, name, seen);
        let response = handle(ui, at, Id::new((name, part)), Sense::click_and_drag());
        if let Some(Some((sight, to))) = grab::pulled(ui, &response, at).map(|to| seen.model.desk.sight.map(|s| (s, to))) {
            let ray = sight.ray([to.x, to.y]);
            let item = if name == "turn" { reach::turned(layout, part, ray) } else { reach::scaled(layout, part, ray, display) };
            out.extend(item.map(|item| Action::Edit(grab::put(part, item))));
        }
        help(ui, response, text);
    }
}

/// A round knob turns, a square one scales.
fn knob(ui: &Ui, at: Pos2, name: &str, seen: &Seen) {
    let theme = seen.theme();
    let painter = ui.painter();
    if name == "turn" {
        painter.circle(at, 5.5, theme.panel, Stroke::new(2.0, theme.accent));
    } else {
        let rect = Rect::from_center_size(at, vec2(10.0, 10.0));
        painter.rect_filled(rect, 1.0, theme.panel);
        painter.rect_stroke(rect, 1.0, Stroke::new(2.0, theme.accent), bevy_egui::egui::StrokeKind::Middle);
    }
    let word = if name == "turn" { "turn" } else { "scale" };
    let font = bevy_egui::egui::FontId::proportional(theme::SMALL);
    let galley = painter.layout_no_wrap(word.to_owned(), font, theme.text);
    let place = Rect::from_min_size(at + vec2(11.0, -galley.size().y / 2.0), galley.size());
    painter.rect_filled(place.expand2(vec2(3.0, 1.0)), 3.0, theme.panel);
    painter.galley(place.min, galley, theme.text);
}

/// A click in the tank that no handle takes: it says what a jet is aimed at, or picks rock, or lets go.
fn click(ui: &mut Ui, free: Rect, seen: &Seen, out: &mut Vec<Action>) {
    let desk = &seen.model.desk;
    let Some(sight) = desk.sight else { return };
    let Some(at) = ui.input(|i| i.pointer.interact_pos()).filter(|at| free.contains(*at)) else { return };
    if desk.picking {
        ui.ctx().set_cursor_icon(CursorIcon::Crosshair);
    }
    let handled = ui.ctx().interaction_snapshot(|i| i.clicked.is_some() || i.drag_stopped.is_some());
    let taken = handled || ui.ctx().layer_id_at(at).is_some_and(|layer| layer != ui.layer_id());
    if taken || !ui.input(|i| i.pointer.primary_clicked()) {
        return;
    }
    let layout = seen.model.document.layout();
    let ray = sight.ray([at.x, at.y]);
    if desk.picking {
        out.extend(pick::target(layout, ray).map(|p| Action::AimAt(p.to_array())));
        return;
    }
    let picked = pick::first(&seen.model.live.solids, ray, layout.tank.size().length() * 20.0);
    match picked {
        Some((part, _)) => out.push(grab::pick(ui, part)),
        None if desk.selected.is_some() => out.push(Action::Select(None)),
        None => {}
    }
}
