//! From an empty tank on: what the window proposes next, and how far a number goes with the pointer.

use super::*;

fn empty() -> Harness<'static, Model> {
    let mut window = window([1280.0, 720.0]);
    window.state_mut().apply(Action::NewFrom(Template::Empty));
    window.run_steps(3);
    window.get_by_label("Set the tank's sizes").click();
    window.run_steps(8);
    assert_eq!(window.state().desk.selected, Some(Part { list: List::Tank, index: 0 }));
    window
}

#[test]
fn the_next_step_stays_in_sight_while_a_part_is_selected() {
    let mut window = empty();
    window.get_by_label("Add a closed loop").click();
    window.run_steps(8);
    assert_eq!(window.state().document.layout().nozzles.len(), 4);
    assert!(window.state().desk.selected.is_some());
    let (step, below) = (window.get_by_label("Add a sand bed").rect(), window.get_by_label("Pause").rect());
    assert!(step.bottom() < below.top(), "{step:?} over {below:?}");
}

/// A hundred points to the left take at least a sixth of two metres, in one step of the history.
#[test]
fn a_tank_is_sized_with_one_drag() {
    let mut window = empty();
    let before = window.state().document.layout().tank.length.si();
    // The name of the field, and the field, which is called by it.
    let field = window.query_all_by_label("Length").map(|node| node.rect()).max_by(|a, b| a.left().total_cmp(&b.left())).unwrap();
    let from = [field.center().x, field.center().y];
    drag(&mut window, from, [from[0] - 100.0, from[1]], egui::Modifiers::NONE);
    let after = window.state().document.layout().tank.length.si();
    assert!(after < before * 5.0 / 6.0 && after > before / 2.0, "{before} m to {after} m");
    press(&mut window, egui::Key::Z, egui::Modifiers::COMMAND);
    assert_eq!(window.state().document.layout().tank.length.si(), before);
}

#[test]
fn the_list_of_actions_is_typed_into_at_once() {
    let mut window = window([1280.0, 720.0]);
    window.run_steps(2);
    press(&mut window, egui::Key::F1, egui::Modifiers::NONE);
    window.run_steps(2);
    window.input_mut().events.push(egui::Event::Text("mirror".into()));
    window.run_steps(2);
    assert_eq!(window.state().desk.search, "mirror");
    press(&mut window, egui::Key::T, egui::Modifiers::NONE);
    assert!(window.state().desk.shown.tracers, "letters are no keys while they are typed");
    press(&mut window, egui::Key::Escape, egui::Modifiers::NONE);
    assert_eq!(window.state().desk.prompt, None);
}
