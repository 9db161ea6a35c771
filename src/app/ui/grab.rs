//! Dragging parts of the picture: the pointer keeps its distance from what it took hold of, and every drag is one step of the history.

use super::Seen;
use crate::app::action::Action;
use crate::app::document::Edit;
use crate::app::part::{Item, Part};
use crate::app::reach::{self, Pull};
use crate::app::sight::Ray;
use crate::app::snap::Grip;
use bevy_egui::egui::{Pos2, Response, Ui, Vec2};

/// Guides take a hole from this far away, points.
const NEAR: f32 = 8.0;

/// What can be done with a part of the picture. What can be done with a selected one is told under the picture, where it hides nothing.
pub fn help(seen: &Seen, part: Part) -> &'static str {
    if seen.model.desk.is_selected(part) { "" } else { "Click to select, drag to move" }
}

/// What a click on a part asks for.
pub fn pick(ui: &Ui, part: Part) -> Action {
    if ui.input(|i| i.modifiers.shift || i.modifiers.command) { Action::SelectAlso(part) } else { Action::Select(Some(part)) }
}

/// Where the pointer drags a thing that stood at `middle`; `None` while it isn't dragged.
pub fn pulled(ui: &Ui, response: &Response, middle: Pos2) -> Option<Pos2> {
    let pointer = response.interact_pointer_pos()?;
    let key = response.id.with("offset");
    if response.drag_started() {
        let start = ui.input(|i| i.pointer.press_origin()).unwrap_or(pointer);
        ui.ctx().data_mut(|d| d.insert_temp(key, start - middle));
    }
    let offset: Vec2 = ui.ctx().data(|d| d.get_temp(key)).unwrap_or_default();
    // Where pictures come slowly, the last of the way and the release lie in one picture.
    (response.dragged() || response.drag_stopped()).then_some(pointer - offset)
}

/// Drag a part, and whatever is selected with it.
pub fn part(ui: &Ui, response: &Response, middle: Pos2, part: Part, seen: &Seen, out: &mut Vec<Action>) {
    let Some(at) = pulled(ui, response, middle) else { return };
    let desk = &seen.model.desk;
    if !desk.is_selected(part) {
        out.push(Action::Select(Some(part)));
    }
    if let Some(edit) = moved(ui, at, part, seen) {
        out.push(Action::Edit(edit));
    }
}

fn moved(ui: &Ui, at: Pos2, part: Part, seen: &Seen) -> Option<Edit> {
    let (layout, desk) = (seen.model.document.layout(), &seen.model.desk);
    let sight = desk.sight?;
    let (shift, alt) = ui.input(|i| (i.modifiers.shift, i.modifiers.alt));
    let ray = sight.ray([at.x, at.y]);
    let near = if alt { 0.0 } else { points(seen, part, ray, [at.x + NEAR, at.y]).unwrap_or(0.0) };
    let item = reach::moved(layout, part, Pull { ray, lift: shift, grip: Grip { near, display: desk.display } })?;
    let others: Vec<Part> = desk.all_selected().filter(|p| *p != part && desk.is_selected(part)).collect();
    if others.is_empty() {
        return Some(put(part, item));
    }
    let by = item.place(layout.tank.size())? - part.place(layout)?;
    let with = others.into_iter().filter_map(|p| Some(put(p, reach::shifted(layout, p, by, desk.display)?)));
    Some(Edit::All([put(part, item)].into_iter().chain(with).collect()))
}

/// What so many points on the screen are at the part's panel, m.
fn points(seen: &Seen, part: Part, ray: Ray, beside: [f32; 2]) -> Option<f64> {
    let layout = seen.model.document.layout();
    let normal = match part.get(layout)? {
        Item::Nozzle(nozzle) => nozzle.mount.panel()?.inward(),
        Item::Intake(intake) => intake.mount.panel()?.inward(),
        _ => return None,
    };
    let on = part.place(layout)?;
    let there = seen.model.desk.sight?.ray(beside).meets(on, normal)?;
    Some(ray.meets(on, normal)?.distance(there).min(0.05))
}

/// A changed part in its place.
pub fn put(part: Part, item: Item) -> Edit {
    Edit::Put(part.index, Box::new(item))
}
