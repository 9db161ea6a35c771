//! The keyboard.

use super::{Seen, pop};
use crate::app::action::{Action, COMMANDS};
use bevy_egui::egui::{Id, Key, Modifiers, Ui};

/// Every command's key, unless somebody is typing.
pub fn keys(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let typing = ui.ctx().egui_wants_keyboard_input();
    // A field lets go of the keyboard before anybody else sees its Escape; fields over the sequence close by theirs.
    let before = ui.ctx().data_mut(|d| std::mem::replace(d.get_temp_mut_or_default::<bool>(Id::new("typing")), typing));
    let of_field = (before | pop::was_shown(ui.ctx())) && seen.model.desk.prompt.is_none();
    if !of_field && ui.input_mut(|i| i.consume_key(Modifiers::NONE, Key::Escape)) {
        out.push(escape(seen));
    }
    for command in COMMANDS {
        let Some(key) = command.key else { continue };
        // In a field these two are about its text.
        let chord = key.modifiers.command && !matches!(key.logical_key, Key::A | Key::Z);
        if chord || !(typing || seen.model.desk.prompt.is_some()) {
            // Where pictures are slow a key may be pressed twice within one.
            let times = ui.input_mut(|i| i.count_and_consume_key(key.modifiers, key.logical_key));
            out.extend(std::iter::repeat_n(command.action.clone(), times));
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
