//! What is typed into fields is theirs: chords of a text don't reach the layout, and Escape leaves things as they were.

use super::{press, window};
use bevy_egui::egui::accesskit::Role;
use bevy_egui::egui::{Event, Key, Modifiers, PointerButton};
use egui_kittest::kittest::{NodeT, Queryable};
use egui_kittest::{Harness, Node};
use slackwater::app::action::Action;
use slackwater::app::desk::{Desk, Prompt};
use slackwater::app::model::Model;
use slackwater::app::part::{List, Part};
use slackwater::units::Display;

/// The name of the first nozzle, clicked.
fn naming() -> Harness<'static, Model> {
    let mut window = window([1280.0, 720.0]);
    window.state_mut().apply(Action::Select(Some(Part { list: List::Nozzles, index: 0 })));
    window.run_steps(10);
    let is_name = |node: &Node| node.accesskit_node().value().as_deref() == Some("A1");
    let at = window.get_all_by_role(Role::TextInput).find(is_name).unwrap().rect().center();
    window.hover_at(at);
    for pressed in [true, false] {
        window.event(Event::PointerButton { pos: at, button: PointerButton::Primary, pressed, modifiers: Modifiers::NONE });
    }
    window.run_steps(3);
    window
}

fn names(window: &Harness<Model>) -> Vec<String> {
    window.state().document.layout().nozzles.iter().map(|nozzle| nozzle.id.clone()).collect()
}

fn write(window: &mut Harness<Model>, text: &str) {
    window.event(Event::Text(text.into()));
    window.run_steps(2);
}

#[test]
fn a_click_and_a_word_rename_a_part() {
    let mut window = naming();
    write(&mut window, "high left");
    press(&mut window, Key::Enter, Modifiers::NONE);
    assert_eq!(names(&window)[0], "high left");
    press(&mut window, Key::Z, Modifiers::COMMAND);
    assert_eq!(names(&window)[0], "A1");
}

#[test]
fn a_field_keeps_its_own_chords_and_its_escape() {
    let mut window = naming();
    press(&mut window, Key::A, Modifiers::COMMAND);
    assert!(window.state().desk.also.is_empty(), "all of the name was chosen, not all of the nozzles");
    write(&mut window, "other");
    press(&mut window, Key::Escape, Modifiers::NONE);
    assert_eq!((names(&window)[0].as_str(), window.state().desk.selected.is_some()), ("A1", true));
    press(&mut window, Key::Escape, Modifiers::NONE);
    assert_eq!(window.state().desk.selected, None);
}

/// A slow picture may hold two strokes of a key.
#[test]
fn two_strokes_within_a_picture_are_two_steps() {
    let mut window = window([1280.0, 720.0]);
    window.run_steps(2);
    for _ in 0..2 {
        press(&mut window, Key::Q, Modifiers::NONE);
        press(&mut window, Key::Enter, Modifiers::NONE);
    }
    for pressed in [true, false, true, false] {
        window.event(Event::Key { key: Key::Z, physical_key: None, pressed, repeat: false, modifiers: Modifiers::COMMAND });
    }
    window.run_steps(2);
    assert!(!window.state().document.unsaved());
}

#[test]
fn an_action_is_found_by_its_words_and_done_with_return() {
    let mut window = window([1280.0, 720.0]);
    window.run_steps(2);
    window.state_mut().apply(Action::Prompt(Some(Prompt::Help)));
    // In the first picture of the list already.
    for letter in "slowly".chars() {
        window.event(Event::Text(letter.into()));
        let key = Key::from_name(&letter.to_uppercase().to_string()).unwrap();
        window.event(Event::Key { key, physical_key: None, pressed: true, repeat: false, modifiers: Modifiers::NONE });
    }
    window.run_steps(2);
    assert_eq!((window.state().desk.search.as_str(), window.state().desk.shown), ("slowly", Desk::new(Display::Us).shown));
    press(&mut window, Key::Enter, Modifiers::NONE);
    assert!(window.state().desk.orbiting && window.state().desk.prompt.is_none());
}
