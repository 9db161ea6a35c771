//! The window. Bevy from here down; nothing else in the library knows of it.
//!
//! [`model::Model`] holds the document, the desk (how it is looked at) and what is known of it; [`action::Action`] is everything a
//! person can do, and `Model::apply` the only place where it is done. `scene` and `view` make pictures of the model, `ui` draws
//! panels that see the model and answer with actions, `worker` keeps the running flow.

pub mod action;
mod beats;
mod camera;
pub mod caption;
mod chords;
pub mod clip;
mod clock;
pub mod desk;
pub mod document;
mod editing;
mod files;
pub mod fineness;
pub mod fresh;
mod fresh_loop;
pub mod full_study;
mod history;
pub mod job;
pub mod jobs;
pub mod kept;
mod lens;
pub mod live;
pub mod machine;
pub mod mirror;
pub mod model;
mod opening;
pub mod palette;
mod panes;
pub mod part;
mod pick;
pub mod reach;
mod reading;
mod reel;
mod refer;
mod scans;
mod scene;
pub mod sheets;
pub mod shelf;
mod shell;
pub mod sight;
mod snap;
mod space;
mod still;
pub mod template;
mod thrift;
pub mod ui;
pub mod view;
mod worker;

pub use machine::no_window;

use crate::layout::Loaded;
use action::Action;
use bevy::camera::RenderTarget;
use bevy::light::{DirectionalLightShadowMap, PointLightShadowMap};
use bevy::log::LogPlugin;
use bevy::prelude::*;
use bevy::render::RenderPlugin;
use bevy::window::{ExitCondition, WindowResolution};
use bevy::winit::{UpdateMode, WinitSettings};
use document::Document;
use model::Model;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::Duration;
use worker::Worker;

/// The model, and actions that wait for their turn.
#[derive(Resource, Deref, DerefMut)]
pub struct Desktop {
    /// The model.
    #[deref]
    pub model: Model,
    /// From outside the panels.
    pub queue: Vec<Action>,
}

/// What the panels leave free, in points, pixels per point, and whether the pointer is on a handle there.
#[derive(Resource, Default)]
pub struct Free(pub Option<bevy_egui::egui::Rect>, pub f32, pub bool);

/// Where cameras draw; `None`: the window.
#[derive(Resource, Default)]
pub struct Target(pub Option<RenderTarget>);

/// Open the window on a layout and stay until it is closed.
///
/// # Errors
/// One sentence when the window or the graphics can't be had.
pub fn run(loaded: Loaded) -> Result<(), String> {
    run_with(loaded, |_| ())
}

/// The same, where `more` adds to it before it begins.
///
/// # Errors
/// As [`run`].
pub fn run_with(loaded: Loaded, more: impl FnOnce(&mut App)) -> Result<(), String> {
    if let Some(why) = no_window() {
        return Err(why);
    }
    let document = Document::new(loaded.layout, loaded.path, Some(loaded.text));
    guarded(|| {
        let mut app = App::new();
        app.add_plugins(
            DefaultPlugins
                .set(WindowPlugin { primary_window: Some(window()), close_when_requested: false, ..default() })
                .set(RenderPlugin { render_creation: machine::graphics().into(), ..default() })
                .set(LogPlugin { filter: "error".into(), ..default() }),
        );
        app
    })
    .map(|mut app| {
        app.insert_resource(WinitSettings {
            focused_mode: rhythm(),
            unfocused_mode: UpdateMode::reactive_low_power(Duration::from_millis(100)),
        });
        furnish(&mut app, document, None);
        app.world_mut().resource_mut::<Desktop>().begin_with(shelf::Shelf::of_user());
        more(&mut app);
        app.run();
    })
}

/// The whole program without a window: drawn into an image by calling `update`. Cameras draw into `target`.
pub fn off_screen(document: Document, size: [u32; 2]) -> (App, Handle<Image>) {
    unseen(document, size, false, |_| ())
}

/// The same, where as in a window one picture is drawn while the next is prepared; `more` adds to it before it begins.
pub fn off_screen_in_step(document: Document, size: [u32; 2], more: impl FnOnce(&mut App)) -> (App, Handle<Image>) {
    unseen(document, size, true, more)
}

fn unseen(document: Document, size: [u32; 2], in_step: bool, more: impl FnOnce(&mut App)) -> (App, Handle<Image>) {
    let mut app = App::new();
    let plugins = DefaultPlugins
        .set(WindowPlugin { primary_window: None, exit_condition: ExitCondition::DontExit, ..default() })
        .set(RenderPlugin { render_creation: machine::graphics().into(), synchronous_pipeline_compilation: true, ..default() })
        .disable::<bevy::winit::WinitPlugin>()
        .disable::<LogPlugin>();
    match in_step {
        true => app.add_plugins(plugins),
        false => app.add_plugins(plugins.disable::<bevy::render::pipelined_rendering::PipelinedRenderingPlugin>()),
    };
    let picture = Image::new_target_texture(size[0], size[1], bevy::render::render_resource::TextureFormat::Rgba8UnormSrgb, None);
    let picture = app.world_mut().resource_mut::<Assets<Image>>().add(picture);
    furnish(&mut app, document, Some(RenderTarget::from(picture.clone())));
    more(&mut app);
    app.finish();
    app.cleanup();
    (app, picture)
}

/// In which order the systems of a picture run that touch the same things.
#[derive(SystemSet, Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Phase {
    /// What the world outside says: files, dialogs.
    Hear,
    /// The ends of the colour scale.
    Scale,
    /// The eye.
    Look,
    /// How finely it draws.
    Fineness,
    /// The layout as solids.
    Scene,
    /// The flow as pictures.
    View,
    /// Stills, then clips.
    Still,
    Clip,
    /// The window's title.
    Title,
}

fn furnish(app: &mut App, document: Document, target: Option<RenderTarget>) {
    if machine::draws_in_software() {
        machine::keep_memory();
    }
    let model = Model::new(document);
    app.set_error_handler(bevy::ecs::error::error);
    app.insert_resource(Worker::start(&model));
    app.insert_resource(Desktop { model, queue: Vec::new() });
    app.init_resource::<Free>().insert_resource(Target(target));
    // Nothing throws a shadow here; by default 40 MB are kept for them.
    app.insert_resource(PointLightShadowMap { size: 1 }).insert_resource(DirectionalLightShadowMap { size: 1 });
    app.add_plugins((
        clock::plugin,
        fineness::plugin,
        still::plugin,
        clip::plugin,
        worker::plugin,
        files::plugin,
        camera::plugin,
        scene::plugin,
        view::plugin,
        shell::plugin,
        thrift::plugin,
    ));
    use Phase::{Clip, Fineness, Hear, Look, Scale, Scene, Still, Title, View};
    app.configure_sets(Update, (Hear, Scale, Look, Fineness, Scene, View, Still, Clip, Title).chain());
    app.add_systems(Update, title.in_set(Title));
}

fn window() -> Window {
    Window { title: "Slackwater".into(), resolution: WindowResolution::new(1280, 720), ..default() }
}

/// Software drawing leaves the processor to the flow between pictures.
fn rhythm() -> UpdateMode {
    let wait = if machine::draws_in_software() { 50 } else { 16 };
    UpdateMode::reactive(Duration::from_millis(wait))
}

fn title(desktop: Res<Desktop>, mut windows: Query<&mut Window>) {
    for mut window in &mut windows {
        let star = if desktop.document.unsaved() { " (unsaved)" } else { "" };
        let title = format!("{}{star}, Slackwater", desktop.document.layout().name);
        if window.title != title {
            window.title = title;
        }
    }
}

/// Building the window as the second line of defence: a panic becomes one sentence.
fn guarded(build: impl FnOnce() -> App) -> Result<App, String> {
    let hook = std::panic::take_hook();
    std::panic::set_hook(Box::new(|_| {}));
    let built = catch_unwind(AssertUnwindSafe(build));
    std::panic::set_hook(hook);
    built.map_err(|payload| {
        let text = payload.downcast_ref::<String>().cloned().or_else(|| payload.downcast_ref::<&str>().map(|s| (*s).to_owned()));
        let first = text.unwrap_or_default().lines().next().unwrap_or_default().to_owned();
        format!("the window could not be opened: {first}")
    })
}
