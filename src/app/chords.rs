//! Keys and clicks in the order in which they were made. `bevy_egui` tells the clicks of a picture before its keys and gives them all the
//! modifiers held at its end; when a picture takes a tenth of a second, Ctrl+Z would arrive as Z, and what is typed right after a click would
//! miss the field that the click opens.

use bevy::input::ButtonState;
use bevy::input::keyboard::{Key, KeyboardInput};
use bevy::window::WindowEvent;
use bevy_egui::egui::{self, Event, Modifiers, RawInput};
use bevy_egui::helpers::{bevy_to_egui_key, bevy_to_egui_physical_key};

/// Hears the keys of the window, in place of `bevy_egui`, and what of them still waits to be told.
#[derive(Default)]
pub struct Ear {
    held: Modifiers,
    waiting: Vec<Event>,
}

impl Ear {
    /// Puts what was typed among what the mouse did. What makes sense only once the panels have seen the rest waits for the next picture.
    pub fn hear<'a>(
        &mut self,
        input: &mut RawInput,
        heard: impl Iterator<Item = &'a WindowEvent>,
        mut clipboard: impl FnMut() -> Option<String>,
    ) {
        let mut told = std::mem::take(&mut input.events);
        for event in heard {
            match event {
                WindowEvent::KeyboardInput(key) => self.key(key, &mut clipboard),
                WindowEvent::MouseButtonInput(_) => self.button(&mut told),
                WindowEvent::KeyboardFocusLost(_) => self.held = Modifiers::NONE,
                _ => {}
            }
        }
        self.waiting.extend(told);
        input.events = self.waiting.drain(..turn(&self.waiting)).collect();
        let clicked = input.events.iter().rev().find_map(|event| match event {
            Event::PointerButton { modifiers, .. } => Some(*modifiers),
            _ => None,
        });
        input.events.push(Event::ModifiersChanged(clicked.unwrap_or(self.held)));
    }

    /// What the mouse did up to the next of its buttons.
    fn button(&mut self, told: &mut Vec<Event>) {
        let end = told.iter().position(|event| matches!(event, Event::PointerButton { .. })).map_or(0, |at| at + 1);
        for mut event in told.drain(..end) {
            if let Event::PointerButton { modifiers, .. } = &mut event {
                *modifiers = self.held;
            }
            self.waiting.push(event);
        }
    }

    fn key(&mut self, message: &KeyboardInput, clipboard: &mut impl FnMut() -> Option<String>) {
        let pressed = message.state == ButtonState::Pressed;
        match &message.logical_key {
            Key::Control => self.held.ctrl = pressed,
            Key::Shift => self.held.shift = pressed,
            Key::Alt => self.held.alt = pressed,
            Key::Super => self.held.mac_cmd = pressed && cfg!(target_os = "macos"),
            _ => {}
        }
        self.held.command = if cfg!(target_os = "macos") { self.held.mac_cmd } else { self.held.ctrl };
        let modifiers = self.held;
        if let Some(text) = letters(&message.logical_key).filter(|_| pressed && writes(modifiers)) {
            self.waiting.push(Event::Text(text));
        }
        let physical_key = bevy_to_egui_physical_key(&message.key_code);
        let Some(key) = bevy_to_egui_key(&message.logical_key).or(physical_key) else { return };
        self.waiting.push(Event::Key { key, physical_key, pressed, repeat: false, modifiers });
        self.waiting.extend(match key {
            egui::Key::C if pressed && modifiers.command => Some(Event::Copy),
            egui::Key::X if pressed && modifiers.command => Some(Event::Cut),
            egui::Key::V if pressed && modifiers.command => clipboard().map(Event::Paste),
            _ => None,
        });
    }
}

/// What a key writes.
fn letters(key: &Key) -> Option<String> {
    match key {
        Key::Character(text) if !text.chars().any(char::is_control) => Some(text.to_string()),
        Key::Space => Some(" ".to_owned()),
        _ => None,
    }
}

/// Keys write with these held. Ctrl with Alt is another Shift of some keyboards.
fn writes(held: Modifiers) -> bool {
    !held.mac_cmd && (!held.ctrl || held.alt)
}

/// How many of the events the panels can be told at once: up to the first key after a click or after a key that goes elsewhere, and up to the
/// first click, Tab or Escape after a key.
fn turn(events: &[Event]) -> usize {
    let (mut gone, mut typed) = (false, false);
    for (at, event) in events.iter().enumerate() {
        match event {
            Event::PointerButton { pressed: true, .. } if typed => return at,
            Event::PointerButton { pressed: false, .. } => gone = true,
            Event::Text(_) | Event::Paste(_) | Event::Key { pressed: true, .. } if gone => return at,
            // The panels let go of a field at the sight of these, before it has read what was typed.
            Event::Key { key: egui::Key::Tab | egui::Key::Escape, pressed: true, .. } if typed => return at,
            Event::Text(_) | Event::Paste(_) => typed = true,
            Event::Key { key, pressed: true, modifiers, .. } => (typed, gone) = (true, goes(*key, *modifiers)),
            _ => {}
        }
    }
    events.len()
}

/// The next key may belong to another field or list.
fn goes(key: egui::Key, held: Modifiers) -> bool {
    use egui::Key::{A, C, Enter, Escape, F1, F9, F10, Tab, V, X, Z};
    matches!(key, Tab | Enter | Escape | F1 | F9 | F10) || held.command && !matches!(key, A | C | V | X | Z)
}

#[cfg(test)]
mod tests {
    use super::*;
    use bevy::input::mouse::{MouseButton, MouseButtonInput};
    use bevy::prelude::{Entity, KeyCode};
    use bevy_egui::egui::{PointerButton, Pos2};

    const WINDOW: Entity = Entity::PLACEHOLDER;

    fn key(logical_key: Key, down: bool) -> WindowEvent {
        let state = if down { ButtonState::Pressed } else { ButtonState::Released };
        KeyboardInput { key_code: KeyCode::F35, logical_key, state, text: None, repeat: false, window: WINDOW }.into()
    }

    fn letter(letter: &str) -> WindowEvent {
        key(Key::Character(letter.into()), true)
    }

    fn button(down: bool) -> (WindowEvent, Event) {
        let state = if down { ButtonState::Pressed } else { ButtonState::Released };
        let told = Event::PointerButton { pos: Pos2::ZERO, button: PointerButton::Primary, pressed: down, modifiers: Modifiers::NONE };
        (MouseButtonInput { button: MouseButton::Left, state, window: WINDOW }.into(), told)
    }

    /// What the panels are told of one picture: letters, keys and buttons in short.
    fn picture(ear: &mut Ear, heard: &[WindowEvent], told: &[Event]) -> String {
        let mut input = RawInput { events: told.to_vec(), ..Default::default() };
        ear.hear(&mut input, heard.iter(), || Some("pasted".into()));
        let short = |event: &Event| match event {
            Event::Text(text) | Event::Paste(text) => format!("{text} "),
            Event::Key { key, pressed: true, modifiers, .. } => format!("{}{key:?} ", if modifiers.command { "^" } else { "" }),
            Event::PointerButton { pressed, modifiers, .. } => {
                format!("{}{} ", if modifiers.shift { "shift-" } else { "" }, if *pressed { "down" } else { "up" })
            }
            _ => String::new(),
        };
        input.events.iter().map(short).collect::<String>().trim_end().to_owned()
    }

    #[test]
    fn a_chord_within_one_picture_stays_a_chord() {
        let mut ear = Ear::default();
        let chord = |letter: &str| [key(Key::Control, true), self::letter(letter), key(Key::Control, false)];
        assert_eq!(picture(&mut ear, &[chord("z"), chord("v")].concat(), &[]), "^Z ^V pasted");
        assert_eq!(picture(&mut ear, &[letter("z")], &[]), "z Z");
    }

    #[test]
    fn what_is_typed_after_a_click_waits_for_the_field_that_it_opens() {
        let mut ear = Ear::default();
        let ((press, down), (release, up)) = (button(true), button(false));
        let heard =
            [letter("5"), key(Key::Shift, true), press, release, key(Key::Shift, false), letter("7"), key(Key::Tab, true), letter("8")];
        assert_eq!(picture(&mut ear, &heard, &[down, up]), "5 Num5");
        assert_eq!(picture(&mut ear, &[], &[]), "shift-down shift-up");
        assert_eq!(picture(&mut ear, &[letter("9")], &[]), "7 Num7");
        assert_eq!(picture(&mut ear, &[], &[]), "Tab");
        assert_eq!(picture(&mut ear, &[], &[]), "8 Num8 9 Num9");
        assert_eq!(picture(&mut ear, &[], &[]), "");
    }
}
