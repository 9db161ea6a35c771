//! The window: every edit can be undone, panels answer clicks and keys, and the whole program draws a picture without a display.

use bevy::prelude::*;
use bevy::render::render_resource::PollType;
use bevy::render::renderer::RenderDevice;
use bevy::render::view::screenshot::{Screenshot, ScreenshotCaptured};
use bevy_egui::egui;
use egui_kittest::{Harness, kittest::Queryable};
use proptest::prelude::*;
use slackwater::app::action::{Action, COMMANDS};
use slackwater::app::desk::{Axis, Layer, Look, Prompt, Quantity, Slice};
use slackwater::app::document::{Document, Edit};
use slackwater::app::model::Model;
use slackwater::app::part::{List, Part, ids};
use slackwater::app::{Desktop, machine, off_screen, ui};
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

#[test]
fn unsaved_changes_are_asked_about() {
    let mut model = Model::new(document());
    assert!(model.apply(Action::Quit).iter().any(|e| matches!(e, slackwater::app::model::Errand::Quit)));
    model.apply(Action::Edit(Edit::Name("Another".into())));
    assert!(model.apply(Action::Quit).is_empty());
    assert!(matches!(model.desk.prompt, Some(Prompt::Unsaved(_))));
    assert!(model.apply(Action::Discard).iter().any(|e| matches!(e, slackwater::app::model::Errand::Quit)));
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
    assert_eq!(*model.document.layout(), changed);
    model.apply(Action::OpenPath(folder.path().join("not there.ron")));
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

#[derive(Resource, Default)]
struct Picture(Option<Image>);

fn frame(app: &mut App) {
    app.update();
    app.world().resource::<RenderDevice>().wgpu_device().poll(PollType::Wait { submission_index: None, timeout: None }).unwrap();
}

fn picture(app: &mut App, target: &Handle<Image>) -> Image {
    app.init_resource::<Picture>();
    app.world_mut()
        .spawn(Screenshot::image(target.clone()))
        .observe(|shot: On<ScreenshotCaptured>, mut picture: ResMut<Picture>| picture.0 = Some(shot.image.clone()));
    for _ in 0..20 {
        frame(app);
        if let Some(image) = app.world_mut().resource_mut::<Picture>().0.take() {
            return image;
        }
    }
    panic!("no picture after 20 frames");
}

/// Brightness over a part of the picture, given in shares of its size: mean and spread.
fn brightness(image: &Image, x: [f32; 2], y: [f32; 2]) -> (f32, f32) {
    let at = |share: f32, n: u32| (share * n as f32) as u32;
    let mut values = Vec::new();
    for py in (at(y[0], image.height())..at(y[1], image.height())).step_by(3) {
        for px in (at(x[0], image.width())..at(x[1], image.width())).step_by(3) {
            let c = image.get_color_at(px, py).unwrap().to_srgba();
            values.push((c.red + c.green + c.blue) / 3.0);
        }
    }
    let mean = values.iter().sum::<f32>() / values.len() as f32;
    let spread = (values.iter().map(|v| (v - mean).powi(2)).sum::<f32>() / values.len() as f32).sqrt();
    (mean, spread)
}

/// One App for all pictures: starting one costs seconds on a software driver.
#[test]
fn the_whole_program_draws_without_a_display() {
    if let Err(why) = machine::adapter() {
        eprintln!("SKIPPED, nothing was drawn: {why}");
        return;
    }
    let (mut app, target) = off_screen(document(), [960, 600]);
    (0..6).for_each(|_| frame(&mut app));
    let tank = [[0.3, 0.65], [0.25, 0.6]];
    let dark = picture(&mut app, &target);
    let (dark_mean, spread) = brightness(&dark, tank[0], tank[1]);
    assert!(spread > 0.02, "the tank's picture is blank: spread {spread}");

    app.world_mut().resource_mut::<Desktop>().apply(Action::Look);
    (0..4).for_each(|_| frame(&mut app));
    let light = picture(&mut app, &target);
    let (light_mean, _) = brightness(&light, tank[0], tank[1]);
    assert!(light_mean > dark_mean + 0.15, "light {light_mean} against dark {dark_mean}");
    assert_eq!(app.world().resource::<Desktop>().desk.look, Look::Light);

    wait_for_flow(&mut app);
    let before = picture(&mut app, &target);
    app.world_mut().resource_mut::<Desktop>().apply(Action::Slice(Slice { axis: Axis::Width, share: 0.15 }));
    (0..4).for_each(|_| frame(&mut app));
    let sliced = picture(&mut app, &target);
    assert!(changed(&before, &sliced) > 0.05, "the slice doesn't show");
}

fn wait_for_flow(app: &mut App) {
    for _ in 0..600 {
        frame(app);
        if app.world().resource::<Desktop>().live.snapshot.is_some() {
            return;
        }
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
    panic!("no flow after 30 s");
}

/// Share of pixels that differ clearly.
fn changed(a: &Image, b: &Image) -> f32 {
    let pixels = (0..a.height()).step_by(4).flat_map(|y| (0..a.width()).step_by(4).map(move |x| (x, y)));
    let (mut all, mut differ) = (0.0, 0.0);
    for (x, y) in pixels {
        let (p, q) = (a.get_color_at(x, y).unwrap().to_srgba(), b.get_color_at(x, y).unwrap().to_srgba());
        all += 1.0;
        if (p.red - q.red).abs() + (p.green - q.green).abs() + (p.blue - q.blue).abs() > 0.1 {
            differ += 1.0;
        }
    }
    differ / all
}
