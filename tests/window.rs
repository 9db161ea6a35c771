//! The window: every edit can be undone, panels answer clicks and keys, and the whole program draws a picture without a display.

mod beside;
mod drawing;
mod holdings;
mod order;
mod random;
mod real;
mod steps;
mod typing;

use beside::read;
use bevy::prelude::*;
use bevy_egui::egui;
use egui_kittest::{Harness, kittest::Queryable};
use proptest::prelude::*;
use slackwater::app::action::{Action, COMMANDS};
use slackwater::app::clip::Form;
use slackwater::app::desk::{Layer, Lower, Prompt, Quantity};
use slackwater::app::document::{Document, Edit};
use slackwater::app::fresh::Fresh;
use slackwater::app::kept::{Compare, Keep, Side};
use slackwater::app::mirror::Mirror;
use slackwater::app::model::{Errand, Model};
use slackwater::app::part::{List, Part, ids};
use slackwater::app::sight::Sight;
use slackwater::app::template::Template;
use slackwater::app::{machine, ui};
use slackwater::layout::{Layout, demo};
use slackwater::units::{Display, Length};

fn document() -> Document {
    Document::new(demo(), None, None)
}

/// The shell with a model behind it, as the window runs it.
fn window(size: [f32; 2]) -> Harness<'static, Model> {
    Harness::builder().with_size(size).build_ui_state(
        |ui, model: &mut Model| {
            let mut actions = Vec::new();
            ui::shell(ui, &ui::Seen { model }, &mut actions);
            for action in actions {
                model.apply(action);
            }
            model.refresh();
        },
        Model::new(document()),
    )
}

fn press(harness: &mut Harness<Model>, key: egui::Key, modifiers: egui::Modifiers) {
    harness.key_press_modifiers(modifiers, key);
    harness.run_steps(2);
}

#[test]
fn buttons_do_what_they_say() {
    let mut window = window([1280.0, 720.0]);
    window.run_steps(2);
    assert!(window.state().desk.playing);
    window.get_by_label("Pause").click();
    window.run_steps(2);
    assert!(!window.state().desk.playing);
    window.get_by_label("Slice").click();
    window.run_steps(2);
    assert!(window.state().desk.shown.slice);
    window.get_by_label("Mean").click();
    window.run_steps(2);
    assert_eq!(window.state().desk.quantity, Quantity::Mean);
    window.get_by_label("metric").click();
    window.run_steps(2);
    assert_eq!(window.state().desk.display, Display::Metric);
}

#[test]
fn a_part_is_picked_copied_and_the_copy_undone() {
    let mut window = window([1280.0, 720.0]);
    window.run_steps(2);
    let nozzles = demo().nozzles.len();
    window.get_by_label("A1").click();
    window.run_steps(2);
    assert_eq!(window.state().desk.selected, Some(Part { list: List::Nozzles, index: 0 }));
    // The fields' panel takes a few passes to find its height.
    window.run_steps(6);
    window.get_by_label("Copy").click();
    window.run_steps(2);
    assert_eq!(window.state().document.layout().nozzles.len(), nozzles + 1);
    press(&mut window, egui::Key::Z, egui::Modifiers::COMMAND);
    assert_eq!(**window.state().document.layout(), demo());
    assert!(!window.state().document.unsaved());
}

#[test]
fn keys_do_what_the_list_says() {
    let mut window = window([1280.0, 720.0]);
    window.run_steps(2);
    press(&mut window, egui::Key::Space, egui::Modifiers::NONE);
    assert!(!window.state().desk.playing);
    press(&mut window, egui::Key::T, egui::Modifiers::NONE);
    assert!(!window.state().desk.shown.tracers);
    press(&mut window, egui::Key::Q, egui::Modifiers::NONE);
    assert_ne!(window.state().document.layout().sequence, demo().sequence);
    press(&mut window, egui::Key::F1, egui::Modifiers::NONE);
    assert_eq!(window.state().desk.prompt, Some(Prompt::Help));
    assert!(COMMANDS.iter().all(|c| !c.help.is_empty()));
    press(&mut window, egui::Key::Escape, egui::Modifiers::NONE);
    assert_eq!(window.state().desk.prompt, None);
}

#[test]
fn small_and_large_windows_hold_together() {
    for size in [[320.0, 200.0], [640.0, 400.0], [1024.0, 600.0], [2560.0, 1440.0]] {
        let mut window = window(size);
        window.run_steps(3);
        for layer in [Layer::Slice, Layer::Panels] {
            window.state_mut().apply(Action::Toggle(layer));
            window.run_steps(2);
        }
    }
}

/// However many parts are selected, and however low the window: the last button of a part lies above the lower panel.
#[test]
fn buttons_of_a_part_stay_in_sight() {
    for (high, all) in [(720.0, false), (720.0, true), (900.0, true)] {
        let mut window = window([1280.0, high]);
        window.state_mut().apply(Action::Select(Some(Part { list: List::Nozzles, index: 0 })));
        if all {
            window.state_mut().apply(Action::SelectList);
        }
        window.run_steps(10);
        let (button, below) = (window.get_by_label("Delete").rect(), window.get_by_label("Pause").rect());
        assert!(button.bottom() < below.top(), "{high} high, several {all}: {button:?} under {below:?}");
    }
}

#[test]
fn long_names_hold_together() {
    let long = "a name that somebody wrote without thinking of how much room there is on a screen, and then some more of it";
    let mut window = window([1024.0, 420.0]);
    for part in [Part { list: List::Nozzles, index: 0 }, Part { list: List::Rocks, index: 0 }] {
        window.state_mut().apply(Action::Edit(Edit::Rename(part, long.into())));
        window.state_mut().apply(Action::Select(Some(part)));
        window.run_steps(4);
    }
    window.state_mut().apply(Action::Edit(Edit::Name(long.into())));
    window.state_mut().apply(Action::Lower(Lower::Plumbing));
    window.run_steps(4);
    let units = window.get_by_label("metric").rect();
    assert!(units.right() < 1024.0 && units.left() > 600.0, "the bar keeps its switches: {units:?}");
}

#[test]
fn unsaved_changes_are_asked_about() {
    let mut model = Model::new(document());
    assert!(model.apply(Action::Quit).iter().any(|e| matches!(e, Errand::Quit)));
    model.apply(Action::Edit(Edit::Name("Another".into())));
    assert!(model.apply(Action::Quit).is_empty());
    assert!(matches!(model.desk.prompt, Some(Prompt::Unsaved(_))));
    assert!(model.apply(Action::Discard).iter().any(|e| matches!(e, Errand::Quit)));
}

#[test]
fn saving_and_opening_gives_the_same_layout() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("changed.ron");
    let mut model = Model::new(document());
    model.apply(Action::Edit(Edit::Name("Changed".into())));
    let changed = model.document.layout().clone();
    model.apply(Action::SavePath(path.clone()));
    assert!(!model.document.unsaved());
    model.apply(Action::Demo);
    assert_eq!(**model.document.layout(), demo());
    model.apply(Action::OpenPath(path));
    read(&mut model);
    assert_eq!(*model.document.layout(), changed);
    model.apply(Action::OpenPath(folder.path().join("not there.ron")));
    read(&mut model);
    assert!(model.desk.notice.is_some(), "a file that isn't there is said so");
    assert_eq!(*model.document.layout(), changed);
}

/// An edit chosen by three numbers.
fn any_edit(layout: &Layout, kind: u8, list: usize, index: usize) -> Edit {
    let list = List::ALL[list % List::ALL.len()];
    let count = ids(layout, list).len();
    let part = Part { list, index: if count == 0 { 0 } else { index % count } };
    match (kind % 5, part.get(layout)) {
        (0, Some(item)) => Edit::Add(Box::new(item)),
        (1, _) => Edit::Remove(part),
        (2, Some(mut item)) => {
            if let Some(id) = item.id_mut() {
                id.push('x');
            }
            Edit::Put(part.index, Box::new(item))
        }
        (3, _) => Edit::UseSequence(layout.sequences.get(index % layout.sequences.len().max(1)).map_or(String::new(), |s| s.id.clone())),
        _ => Edit::Name(format!("name {index}")),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn any_edits_are_undone_and_redone(steps in prop::collection::vec((any::<u8>(), any::<usize>(), any::<usize>()), 1..25)) {
        let mut document = document();
        let first = document.layout().clone();
        for (i, (kind, list, index)) in steps.into_iter().enumerate() {
            let edit = any_edit(document.layout(), kind, list, index);
            document.apply(edit, 10.0 * i as f64);
        }
        let last = document.layout().clone();
        while document.undo() {}
        prop_assert_eq!(document.layout(), &first);
        while document.redo() {}
        prop_assert_eq!(document.layout(), &last);
    }
}

#[test]
fn a_drag_is_one_undo_step() {
    let mut document = document();
    for i in 0..10 {
        let mut nozzle = document.layout().nozzles[0].clone();
        nozzle.bore = Length::new(30.0 + f64::from(i), "mm");
        document.apply(Edit::Put(0, Box::new(slackwater::app::part::Item::Nozzle(nozzle))), 0.1 * f64::from(i));
    }
    assert!(document.undo());
    assert_eq!(**document.layout(), demo());
}

/// An action chosen by three numbers, of those that change the layout or what is selected.
fn any_action(layout: &Layout, kind: u8, list: usize, index: usize) -> Action {
    let list = List::ALL[list % List::ALL.len()];
    let part = Part { list, index: index % ids(layout, list).len().max(1) };
    let mirror = if index.is_multiple_of(2) { Mirror::LeftRight } else { Mirror::FrontBack };
    let small = (index % 7) as i8 - 3;
    match kind % 19 {
        15 => Action::Text(1.1),
        16 => Action::PickAim,
        17 => Action::Units,
        0 => Action::Select(Some(part)),
        1 => Action::SelectAlso(part),
        2 => Action::SelectList,
        3 => Action::Duplicate,
        4 => Action::Delete,
        5 => Action::Mirror(mirror),
        6 => Action::MirrorCopy(mirror),
        7 => Action::Nudge([small, -small, 1]),
        8 => Action::Spin(f64::from(small) * 5.0),
        9 => Action::Grow(1.05),
        10 => Action::Add(Fresh::ALL[index % Fresh::ALL.len()]),
        11 => Action::AimAt([0.3, 0.2, 0.1 * f64::from(small)]),
        12 => Action::NextSequence,
        13 => Action::Press,
        14 => Action::Edit(Edit::Rename(part, format!("renamed {index}"))),
        _ => Action::Edit(any_edit(layout, kind / 19, index, kind.into())),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn any_actions_are_undone_and_redone(steps in prop::collection::vec((any::<u8>(), any::<usize>(), any::<usize>()), 1..30)) {
        let mut model = Model::new(document());
        let first = model.document.layout().clone();
        for (i, (kind, list, index)) in steps.into_iter().enumerate() {
            model.now = 10.0 * i as f64;
            let action = any_action(model.document.layout(), kind, list, index);
            model.apply(action);
            let layout = model.document.layout();
            prop_assert!(model.desk.all_selected().all(|p| p.get(layout).is_some()), "what is selected is there");
        }
        let last = model.document.layout().clone();
        while model.document.undo() {}
        prop_assert_eq!(model.document.layout(), &first);
        while model.document.redo() {}
        prop_assert_eq!(model.document.layout(), &last);
    }
}

/// The tank seen square from the front, without perspective to speak of.
fn from_the_front(layout: &Layout) -> Sight {
    use glam::{DMat4, DVec3};
    let size = layout.tank.size();
    let eye = DMat4::look_at_rh(size / 2.0 - DVec3::Y * 40.0, size / 2.0, DVec3::Z);
    let lens = DMat4::perspective_infinite_reverse_rh(0.09, 1.4, 0.02);
    Sight::new(lens * eye, [250.0, 60.0], [700.0, 500.0])
}

fn drag(window: &mut Harness<Model>, from: [f32; 2], to: [f32; 2], modifiers: egui::Modifiers) {
    let button =
        |pos: [f32; 2], pressed| egui::Event::PointerButton { pos: pos.into(), button: egui::PointerButton::Primary, pressed, modifiers };
    let step = |window: &mut Harness<Model>, event| {
        window.input_mut().events.push(event);
        window.run_steps(2);
    };
    step(window, egui::Event::PointerMoved(from.into()));
    step(window, button(from, true));
    for i in 1..=6 {
        let at = [0, 1].map(|a| from[a] + (to[a] - from[a]) * i as f32 / 6.0);
        step(window, egui::Event::PointerMoved(at.into()));
    }
    step(window, button(to, false));
}

fn click(window: &mut Harness<Model>, at: [f32; 2]) {
    let button = |pressed| egui::Event::PointerButton {
        pos: at.into(),
        button: egui::PointerButton::Primary,
        pressed,
        modifiers: egui::Modifiers::NONE,
    };
    for event in [egui::Event::PointerMoved(at.into()), button(true), button(false)] {
        window.input_mut().events.push(event);
        window.run_steps(1);
    }
    window.run_steps(1);
}

/// A nozzle in the back panel is dragged by its body onto the centre line; one undo brings it back.
#[test]
fn a_hole_is_dragged_on_its_panel_in_one_step() {
    let mut window = window([1280.0, 720.0]);
    window.state_mut().apply(Action::Add(Fresh::Nozzle));
    window.state_mut().apply(Action::Nudge([40, 0, -10]));
    // Aimed aside, so that the tip of its jet doesn't lie on its body as seen from the front.
    window.state_mut().apply(Action::Spin(60.0));
    let start = window.state().document.layout().clone();
    let sight = from_the_front(&start);
    window.state_mut().desk.sight = Some(sight);
    window.run_steps(3);
    let part = window.state().desk.selected.unwrap();
    let at = part.place(&start).unwrap();
    let (from, size) = (sight.project(at).unwrap(), start.tank.size());
    let to = sight.project(glam::DVec3::new(size.x / 2.0 + 0.003, at.y, at.z + 0.051)).unwrap();
    drag(&mut window, from, to, egui::Modifiers::NONE);
    let moved = part.place(window.state().document.layout()).unwrap();
    // Written in inches to five digits: half of the last one is 0.0005 in.
    assert!((moved.x - size.x / 2.0).abs() < 1.3e-5 && moved.y == at.y, "{moved} is on the centre line");
    assert!((moved.z - at.z - 0.05).abs() < 0.02, "{moved} went up with the pointer");
    press(&mut window, egui::Key::Z, egui::Modifiers::COMMAND);
    assert_eq!(*window.state().document.layout(), start);
}

/// The tip of a jet is dragged, then the jet aimed at a rock with a click.
#[test]
fn a_jet_is_aimed_by_its_tip_and_at_a_point() {
    let mut window = window([1280.0, 720.0]);
    let part = Part { list: List::Nozzles, index: 0 };
    window.state_mut().apply(Action::Select(Some(part)));
    let start = window.state().document.layout().clone();
    let sight = from_the_front(&start);
    window.state_mut().desk.sight = Some(sight);
    window.run_steps(3);
    let from = part.place(&start).unwrap();
    let tip = from + start.nozzles[0].aim.direction(from) * start.tank.size().max_element() * 0.16;
    let at = sight.project(tip).unwrap();
    drag(&mut window, at, [at[0], at[1] - 20.0], egui::Modifiers::NONE);
    let aimed = window.state().document.layout().nozzles[0].aim.direction(from);
    assert!(aimed.z > start.nozzles[0].aim.direction(from).z + 0.02, "{aimed} points higher");
    press(&mut window, egui::Key::A, egui::Modifiers::NONE);
    assert!(window.state().desk.picking);
    let rock = sight.project(start.rocks[0].at.metres() + glam::DVec3::Z * 0.05).unwrap();
    click(&mut window, rock);
    let aim = window.state().document.layout().nozzles[0].aim.clone();
    let slackwater::layout::Aim::Toward(target) = aim else { panic!("not aimed at a point: {aim:?}") };
    let solid = slackwater::setup::rock::Solids::new(&start);
    assert!(solid.distance(target.metres()).abs() < 5e-3, "{target:?} lies on something solid");
}

#[test]
fn an_empty_tank_becomes_a_running_one() {
    let mut model = Model::new(document());
    model.apply(Action::NewFrom(Template::Empty));
    model.refresh();
    assert!(model.document.layout().nozzles.is_empty() && model.live.blocked().is_none());
    model.apply(Action::Add(Fresh::Loop));
    model.refresh();
    assert!(model.live.blocked().is_none());
    let schedule = model.live.schedule.clone().unwrap();
    assert!((0..4).all(|n| schedule.times.iter().any(|t| schedule.nozzle_at(n, *t).0 > 1e-4)), "every nozzle runs at some time");
    model.apply(Action::Undo);
    assert!(model.document.layout().pumps.is_empty(), "the whole loop is one step");
}

#[test]
fn plumbing_and_sequence_are_drawn_for_every_template() {
    for template in Template::ALL {
        let mut window = window([1280.0, 720.0]);
        window.state_mut().apply(Action::NewFrom(template));
        for lower in Lower::ALL {
            window.state_mut().apply(Action::Lower(lower));
            window.run_steps(3);
        }
    }
}

/// A click on a pipe opens its fields, and the list of sizes inside them can be used; it has the layout's own catalogue.
#[test]
fn a_pipe_gets_another_size_in_the_diagram() {
    let folder = tempfile::tempdir().unwrap();
    let own = r#"(pipes: [(name: "house hose", outside: "50 mm", wall: "3 mm", source: "measured")])"#;
    std::fs::write(folder.path().join("own.ron"), own).unwrap();
    let mut window = window([1280.0, 720.0]);
    let layout = Layout { catalogue: "own.ron".into(), ..demo() };
    window.state_mut().document = Document::new(layout.clone(), Some(folder.path().join("tank.ron")), None);
    window.state_mut().apply(Action::Lower(Lower::Plumbing));
    window.run_steps(4);
    let run = &layout.circuits[0].suction[0];
    window.get_by_label(&format!("{} {}", layout.circuits[0].id, run.id)).click();
    window.run_steps(5);
    window.get_by_role_and_label(egui::accesskit::Role::ComboBox, "  pipe").click();
    window.run_steps(4);
    window.get_by_label("house hose").click_accesskit();
    window.run_steps(4);
    assert_eq!(window.state().document.layout().circuits[0].suction[0].pipe, "house hose");
}

#[test]
fn another_program_may_change_the_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("tank.ron");
    let mut model = Model::new(document());
    model.apply(Action::SavePath(path.clone()));
    assert!(!model.document.changed_on_disk());
    let changed = Layout { name: "Changed elsewhere, and longer".into(), ..demo() };
    slackwater::layout::save(&path, &changed, None).unwrap();
    assert!(model.document.changed_on_disk());
    model.changed_on_disk();
    assert_eq!(model.document.layout().name, changed.name);
    assert!(!model.document.unsaved() && !model.document.changed_on_disk());
    model.apply(Action::Undo);
    assert_eq!(**model.document.layout(), demo());
    model.apply(Action::Redo);
    model.apply(Action::Edit(Edit::Name("Mine".into())));
    slackwater::layout::save(&path, &changed, None).unwrap();
    model.changed_on_disk();
    assert_eq!(model.desk.prompt, Some(Prompt::Changed));
    model.apply(Action::KeepMine);
    assert_eq!(model.document.layout().name, "Mine");
}

#[test]
fn a_crash_loses_nothing_that_was_kept() {
    let folder = tempfile::tempdir().unwrap();
    let shelf = slackwater::app::shelf::Shelf::at(folder.path());
    let kept = folder.path().join("open-4200000.ron");
    let text = slackwater::layout::write(&Layout { name: "Rescued".into(), ..demo() }, None);
    std::fs::write(&kept, format!("// Slackwater rescued this from: \n{text}")).unwrap();
    let mut model = Model::new(document());
    model.begin_with(shelf);
    let Some(Prompt::Rescue(rescued)) = model.desk.prompt.clone() else { panic!("nothing is offered") };
    model.apply(Action::TakeUp(rescued));
    assert_eq!(model.document.layout().name, "Rescued");
    assert!(model.document.unsaved() && !kept.exists());
}

#[test]
fn a_mesh_becomes_rock_and_is_found_again() {
    let folder = tempfile::tempdir().unwrap();
    let mesh = folder.path().join("wedge.obj");
    std::fs::write(&mesh, "v 0 0 0\nv 300 0 0\nv 0 300 0\nv 0 0 300\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 3 1 4\n").unwrap();
    let mut model = Model::new(document());
    let path = folder.path().join("tank.ron");
    model.apply(Action::SavePath(path.clone()));
    model.apply(Action::ImportPath(mesh));
    read(&mut model);
    let rock = model.document.layout().rocks.last().unwrap().clone();
    assert!((slackwater::app::reach::extent(&rock.shape).max_element() - 0.3).abs() < 1e-3);
    model.apply(Action::Save);
    let again = slackwater::layout::load(&path).unwrap().layout;
    let solid = slackwater::layout::solid::Solid::rock(again.rocks.last().unwrap());
    let inside = rock.at.metres() + glam::DVec3::new(-0.1, -0.1, 0.03);
    assert!(solid.distance(inside) < -0.01 && solid.distance(rock.at.metres() + glam::DVec3::Z * 0.5) > 0.1);
    model.apply(Action::Undo);
    assert_eq!(model.document.layout().rocks.len(), demo().rocks.len());
}

#[test]
fn a_layout_is_kept_changed_and_compared() {
    let mut window = window([1280.0, 720.0]);
    window.run_steps(2);
    press(&mut window, egui::Key::E, egui::Modifiers::NONE);
    assert!(window.state().kept.is_some() && window.state().stage(Side::Kept).is_some());
    window.get_by_label_contains("Nothing yet: B is the same as A");
    let start = window.state().document.layout().clone();
    window.state_mut().apply(Action::Select(Some(Part { list: List::Nozzles, index: 0 })));
    window.state_mut().apply(Action::Spin(30.0));
    window.run_steps(2);
    window.get_by_label_contains("nozzle A1: aim");
    window.get_by_label("Difference").click();
    window.run_steps(2);
    assert!(window.state().desk.compare == Compare::Difference && window.state().desk.shown.slice);
    assert!(window.state().difference().is_some() && window.state().stage(Side::Kept).is_none());
    press(&mut window, egui::Key::Tab, egui::Modifiers::NONE);
    assert_eq!(window.state().desk.compare, Compare::Alone);
    window.get_by_label("Back to A").click();
    window.run_steps(2);
    assert_eq!(*window.state().document.layout(), start);
    press(&mut window, egui::Key::Z, egui::Modifiers::COMMAND);
    assert_ne!(*window.state().document.layout(), start, "going back to A is a step that can be undone");
    window.get_by_label("Stop").click();
    window.run_steps(2);
    assert!(window.state().kept.is_none());
}

#[test]
fn before_another_sequence_and_a_file_are_kept_too() {
    let folder = tempfile::tempdir().unwrap();
    let mut model = Model::new(document());
    assert!(model.apply(Action::Keep(Keep::Before)).is_empty() && model.kept.is_none(), "nothing was changed yet");
    model.apply(Action::Edit(Edit::Name("Changed".into())));
    let errands = model.apply(Action::Keep(Keep::Before));
    assert!(errands.iter().any(|e| matches!(e, Errand::Fork(Some(layout)) if **layout == demo())));
    let errands = model.apply(Action::Keep(Keep::OtherSequence));
    let other = |e: &Errand| matches!(e, Errand::Fork(Some(layout)) if layout.active_sequence().unwrap().id != demo().active_sequence().unwrap().id);
    assert!(errands.iter().any(other));
    let path = folder.path().join("other.ron");
    slackwater::layout::save(&path, &Layout { name: "Other".into(), ..demo() }, None).unwrap();
    let errands = model.apply(Action::KeepPath(path));
    assert!(errands.iter().any(|e| matches!(e, Errand::Beside(layout, _) if layout.name == "Other")));
    assert_eq!(model.kept.as_ref().unwrap().name, "other.ron");
    assert!(model.apply(Action::KeepPath(folder.path().join("none.ron"))).is_empty());
    assert!(model.desk.notice.is_some(), "a file that isn't there is said so");
    assert!(model.apply(Action::LetGo).iter().any(|e| matches!(e, Errand::Unfork)));
}

#[test]
fn a_clip_is_asked_for() {
    let mut window = window([1280.0, 720.0]);
    window.run_steps(2);
    assert!(window.state_mut().apply(Action::Record).is_empty(), "there is no water yet");
    window.state_mut().live.snapshot = Some(std::sync::Arc::new(still_water()));
    press(&mut window, egui::Key::F10, egui::Modifiers::NONE);
    assert_eq!(window.state().desk.prompt, Some(Prompt::Clip));
    window.get_by_label("Numbered pictures").click();
    window.run_steps(2);
    window.get_by_label("24 s").click();
    window.run_steps(2);
    assert_eq!((window.state().desk.clip.form, window.state().desk.clip.length), (Form::Pictures, 24.0));
    let errands = window.state_mut().apply(Action::Record);
    assert!(matches!(&errands[..], [Errand::Record(path)] if path.extension().is_some_and(|e| e == "clip-1")), "{errands:?}");
    assert_eq!(window.state().desk.prompt, None);
}

#[test]
fn the_ends_of_the_scale_are_dragged() {
    let mut window = window([1280.0, 720.0]);
    window.state_mut().live.snapshot = Some(std::sync::Arc::new(still_water()));
    window.run_steps(3);
    let area = window.ctx.memory(|m| m.area_rect(egui::Id::new("legend"))).unwrap();
    let y = area.bottom() - 24.0;
    drag(&mut window, [area.right() - 10.0, y], [area.right() - 60.0, y], egui::Modifiers::NONE);
    let top = window.state().desk.top.expect("the top is set");
    assert!(top < 0.2 && top > 0.05, "{top}");
    drag(&mut window, [area.left() + 10.0, y], [area.left() + 50.0, y], egui::Modifiers::NONE);
    assert!(window.state().desk.low > 0.01);
    window.get_by_label("fit").click();
    window.run_steps(2);
    assert_eq!((window.state().desk.top, window.state().desk.low), (None, 0.0));
}

fn still_water() -> slackwater::session::Snapshot {
    slackwater::session::Snapshot {
        time: 0.0,
        averaged: 0.0,
        n: [2, 2, 2],
        h: 0.1,
        water: std::sync::Arc::new(vec![1.0; 8]),
        velocity: vec![[0.0; 3]; 8],
        fields: None,
        record: None,
        real_time_factor: 1.0,
        cell_steps_per_s: 0.0,
        paused: false,
        problem: Vec::new(),
        layouts: 0,
        generation: 1,
    }
}
