//! The keyboard.

use super::Seen;
use crate::app::action::{Action, COMMANDS};
use bevy_egui::egui::{Key, Modifiers, Ui};

/// Every command's key, unless somebody is typing.
pub fn keys(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    if ui.input_mut(|i| i.consume_key(Modifiers::NONE, Key::Escape)) {
        out.push(escape(seen));
    }
    let typing = ui.ctx().egui_wants_keyboard_input();
    for command in COMMANDS {
        let Some(key) = command.key else { continue };
        let chord = key.modifiers.command && key.logical_key != Key::Z;
        if (chord || !typing) && ui.input_mut(|i| i.consume_shortcut(&key)) {
            out.push(command.action.clone());
        }
    }
}

/// Escape closes what is open, then lets go of what is selected.
fn escape(seen: &Seen) -> Action {
    let desk = &seen.model.desk;
    if desk.prompt.is_some() {
        return Action::Prompt(None);
    }
    if desk.recording.is_some() {
        return Action::StopRecording;
    }
    if desk.picking {
        return Action::Select(desk.selected);
    }
    if !desk.shown.panels {
        return Action::Toggle(crate::app::desk::Layer::Panels);
    }
    if desk.notice.is_some() { Action::Dismiss } else { Action::Select(None) }
}
