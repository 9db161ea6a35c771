//! Puts right the modifiers of keys. `bevy_egui` gives all keys of a frame the modifiers held at the frame's end; when pictures take
//! a tenth of a second, Ctrl is often let go in the same frame, and Ctrl+Z would arrive as Z.

use bevy::input::ButtonState;
use bevy::input::keyboard::{Key, KeyboardInput};
use bevy_egui::egui::{self, Event, Modifiers};
use bevy_egui::helpers::bevy_to_egui_key;

/// A key as it was pressed or let go.
type Stroke = (egui::Key, bool, Modifiers);

/// The keys of a frame in their order, each with the modifiers of its own moment; `held` carries over to the next frame.
pub fn strokes<'a>(messages: impl Iterator<Item = &'a KeyboardInput>, held: &mut Modifiers) -> Vec<Stroke> {
    let mut strokes = Vec::new();
    for message in messages {
        let down = message.state == ButtonState::Pressed;
        match &message.logical_key {
            Key::Control => held.ctrl = down,
            Key::Shift => held.shift = down,
            Key::Alt => held.alt = down,
            Key::Super => held.mac_cmd = down && cfg!(target_os = "macos"),
            key => strokes.extend(bevy_to_egui_key(key).map(|k| (k, down, *held))),
        }
        held.command = if cfg!(target_os = "macos") { held.mac_cmd } else { held.ctrl };
    }
    strokes
}

/// Give each key event the modifiers of its stroke.
pub fn mend(events: &mut [Event], strokes: &[Stroke]) {
    let mut rest = strokes.iter();
    for event in events {
        if let Event::Key { key, pressed, modifiers, .. } = event
            && let Some((_, _, held)) = rest.find(|(k, down, _)| k == key && down == pressed)
        {
            *modifiers = *held;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use bevy::prelude::{Entity, KeyCode};

    fn message(logical_key: Key, state: ButtonState) -> KeyboardInput {
        KeyboardInput { key_code: KeyCode::KeyZ, logical_key, state, text: None, repeat: false, window: Entity::PLACEHOLDER }
    }

    #[test]
    fn a_chord_within_one_frame_stays_a_chord() {
        let z = || Key::Character("z".into());
        let pressed = [(Key::Control, true), (z(), true), (z(), false), (Key::Control, false), (z(), true)];
        let messages: Vec<_> = pressed.map(|(k, down)| message(k, if down { ButtonState::Pressed } else { ButtonState::Released })).into();
        let mut held = Modifiers::NONE;
        let strokes = strokes(messages.iter(), &mut held);
        let key = |pressed| Event::Key { key: egui::Key::Z, physical_key: None, pressed, repeat: false, modifiers: Modifiers::NONE };
        let mut events = [key(true), key(false), key(true)];
        mend(&mut events, &strokes);
        let commands = events.map(|e| matches!(e, Event::Key { modifiers, .. } if modifiers.command));
        assert_eq!(commands, [true, true, false]);
    }
}
