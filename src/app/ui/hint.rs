//! One quiet line under the picture: what the mouse does with what is selected.

use super::{Seen, theme};
use crate::app::part::{Item, Part};
use crate::layout::Mount;
use bevy_egui::egui::{Align2, FontId, Id, Rect, Ui, vec2};

/// The line, where nothing else stands there.
pub fn overlay(ui: &Ui, free: Rect, seen: &Seen) {
    let desk = &seen.model.desk;
    let room = free.width() > 480.0 && free.height() > 220.0;
    if !room || !desk.shown.panels || desk.notice.is_some() || desk.prompt.is_some() {
        return;
    }
    let text = said(seen);
    let theme = seen.theme();
    let galley = ui.painter().layout_no_wrap(text, FontId::proportional(theme::SMALL), theme.muted);
    let rect = Rect::from_center_size(free.center_bottom() - vec2(0.0, 16.0), galley.size());
    let back = rect.expand2(vec2(7.0, 3.0));
    let under = |name: &str| ui.ctx().memory(|m| m.area_rect(Id::new(name))).is_some_and(|area| area.intersects(back));
    let compared = seen.model.kept.is_some() && under("beside");
    if !free.contains_rect(back) || under("legend") || compared {
        return;
    }
    ui.painter().rect_filled(back, 4.0, theme.panel);
    ui.painter().galley_with_override_text_color(Align2::CENTER_CENTER.anchor_size(rect.center(), galley.size()).min, galley, theme.muted);
}

fn said(seen: &Seen) -> String {
    let desk = &seen.model.desk;
    if desk.picking {
        return "Click what the jet shall blow at: rock, sand or a panel. Esc: leave it as it is.".into();
    }
    if !desk.also.is_empty() {
        return "Drag one of them to move all. Shift and a click adds a part or lets go of it.".into();
    }
    let item = desk.selected.and_then(|part: Part| part.get(seen.model.document.layout()));
    match item {
        None => "Drag the water to turn the view, with the right button to shift it; the wheel comes closer. Click a part to change it.",
        Some(Item::Nozzle(nozzle)) => match nozzle.mount {
            Mount::Hole { .. } => "Drag the nozzle along its panel (Alt: without guides). Drag the round tip of its jet to aim it.",
            Mount::PipeEnd(_) => "Drag the nozzle, with Shift up and down. Drag the round tip of its jet to aim it.",
        },
        Some(Item::Intake(_)) => "Drag the intake along its panel (Alt: without guides).",
        Some(Item::Propeller(_)) => "Drag it, with Shift up and down. Drag the round tip to aim it.",
        Some(Item::Rock(_)) => "Drag the rock over the floor, with Shift up and down. The knobs turn and scale it.",
        Some(Item::Colony(_)) => "Drag the colony, with Shift up and down.",
        Some(_) => "Its numbers stand on the left: drag one, or click it and type with any unit.",
    }
    .into()
}
