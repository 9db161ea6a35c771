//! The whole program draws pictures without a display.

use bevy::prelude::*;
use bevy::render::render_resource::PollType;
use bevy::render::renderer::RenderDevice;
use bevy::render::view::screenshot::{Screenshot, ScreenshotCaptured};
use bevy::window::FileDragAndDrop;
use slackwater::app::action::Action;
use slackwater::app::clip::Wish;
use slackwater::app::desk::{Axis, Layer, Look, Next, Prompt, Slice};
use slackwater::app::document::Document;
use slackwater::app::kept::Keep;
use slackwater::app::{Desktop, machine, off_screen};
use slackwater::layout::demo;

#[derive(Resource, Default)]
struct Picture(Option<Image>);

pub fn frame(app: &mut App) {
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
    let folder = tempfile::tempdir().unwrap();
    let document = Document::new(demo(), Some(folder.path().join("tank.ron")), None);
    let (mut app, target) = off_screen(document, [960, 600]);
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
    more_pictures(&mut app, &target, sliced);
    a_clip(&mut app, &folder.path().join("tank.clip-1.gif"));
    drops(&mut app, folder.path());
}

/// Every other way of seeing changes the picture, and compares draw two tanks.
fn more_pictures(app: &mut App, target: &Handle<Image>, mut before: Image) {
    let each = [
        (Action::Toggle(Layer::Slice), 0.02, "the slice stays"),
        (Action::Toggle(Layer::Skin), 0.02, "the skin doesn't show"),
        (Action::Toggle(Layer::Arrows), 0.002, "arrows don't show"),
        (Action::Keep(Keep::Now), 0.05, "the kept layout doesn't show"),
    ];
    for (action, least, otherwise) in each {
        app.world_mut().resource_mut::<Desktop>().queue.push(action);
        (0..8).for_each(|_| frame(app));
        let after = picture(app, target);
        assert!(changed(&before, &after) > least, "{otherwise}: {}", changed(&before, &after));
        before = after;
    }
    wait_for_fork(app);
    let (kept, own) = (brightness(&before, [0.3, 0.65], [0.1, 0.3]), brightness(&before, [0.3, 0.65], [0.4, 0.6]));
    assert!(kept.1 > 0.01 && own.1 > 0.01, "one of the two is blank: {kept:?} {own:?}");
}

/// Half a second of both tanks, as a file that other programs read.
fn a_clip(app: &mut App, file: &std::path::Path) {
    let wish = Wish { size: [320, 180], length: 0.4, words: "For you".into(), ..Wish::default() };
    app.world_mut().resource_mut::<Desktop>().queue.extend([Action::Wish(wish), Action::Record]);
    for _ in 0..400 {
        frame(app);
        if file.exists() {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(10));
    }
    let mut frames = gif::DecodeOptions::new().read_info(std::fs::File::open(file).unwrap()).unwrap();
    assert_eq!((frames.width(), frames.height()), (320, 180));
    let count = std::iter::from_fn(|| frames.read_next_frame().unwrap().map(|_| ())).count();
    assert_eq!(count, 5);
    (0..5).for_each(|_| frame(app));
    assert_eq!(app.world().resource::<Desktop>().desk.recording, None);
}

/// A mesh dropped on the window becomes rock; a layout dropped on it then asks about what is unsaved first.
fn drops(app: &mut App, folder: &std::path::Path) {
    let (mesh, layout) = (folder.join("wedge.obj"), folder.join("other.ron"));
    std::fs::write(&mesh, "v 0 0 0\nv 300 0 0\nv 0 300 0\nv 0 0 300\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 3 1 4\n").unwrap();
    std::fs::write(&layout, slackwater::layout::DEMO).unwrap();
    let rocks = |app: &App| app.world().resource::<Desktop>().document.layout().rocks.len();
    let before = rocks(app);
    drop_file(app, mesh);
    for _ in 0..200 {
        frame(app);
        if rocks(app) > before {
            break;
        }
    }
    assert_eq!(rocks(app), before + 1);
    drop_file(app, layout.clone());
    (0..4).for_each(|_| frame(app));
    let asked = app.world().resource::<Desktop>().desk.prompt.clone();
    assert_eq!(asked, Some(Prompt::Unsaved(Next::Open(Some(layout)))));
}

fn drop_file(app: &mut App, path_buf: std::path::PathBuf) {
    app.world_mut().write_message(FileDragAndDrop::DroppedFile { window: Entity::PLACEHOLDER, path_buf });
}

fn wait_for_fork(app: &mut App) {
    for _ in 0..200 {
        frame(app);
        let desktop = app.world().resource::<Desktop>();
        let times = desktop.kept.as_ref().and_then(|kept| Some((kept.live.flow()?.time, desktop.live.flow()?.time)));
        if times.is_some_and(|(kept, own)| kept > 0.0 && (kept - own).abs() < 1.0) {
            return;
        }
        std::thread::sleep(std::time::Duration::from_millis(30));
    }
    panic!("the two flows are not at the same time");
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
