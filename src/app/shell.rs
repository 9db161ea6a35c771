//! Runs egui once a frame with its real root, so that it knows what the pointer is over, and carries out what the panels ask.

use super::camera::{Aim, Turn};
use super::clip::Order;
use super::desk::Look;
use super::files::{self, Dialogs};
use super::model::Errand;
use super::still::Still;
use super::ui::theme::Theme;
use super::{Desktop, Free, Target, Worker, chords, ui};
use crate::session::Command;
use bevy::camera::visibility::RenderLayers;
use bevy::core_pipeline::tonemapping::Tonemapping;
use bevy::prelude::*;
use bevy::window::WindowEvent;
use bevy_egui::render::EGUI_SHADER_HANDLE;
use bevy_egui::{
    EguiClipboard, EguiContext, EguiContextSettings, EguiFullOutput, EguiGlobalSettings, EguiInput, EguiPlugin, EguiPostUpdateSet,
    PrimaryEguiContext, capture_pointer_input_system, egui, end_pass_system, run_egui_context_pass_loop_system,
};

/// The panels.
pub fn plugin(app: &mut App) {
    app.add_plugins(EguiPlugin { bindless_mode_array_size: None });
    let mut shaders = app.world_mut().resource_mut::<Assets<Shader>>();
    let _ = shaders.insert(&EGUI_SHADER_HANDLE, Shader::from_wgsl(include_str!("../../assets/shaders/panels.wgsl"), "panels.wgsl"));
    app.insert_resource(EguiGlobalSettings { auto_create_primary_context: false, ..default() });
    app.add_systems(Startup, spawn);
    let run = run.in_set(EguiPostUpdateSet::EndPass).after(run_egui_context_pass_loop_system).after(end_pass_system);
    app.add_systems(PostUpdate, run.before(capture_pointer_input_system));
}

fn spawn(mut commands: Commands, target: Res<Target>) {
    let camera = Camera { order: 2, ..default() };
    let mut by_hand = EguiContextSettings { run_manually: true, ..default() };
    by_hand.input_system_settings.run_write_keyboard_input_messages_system = false;
    let mut shell = commands.spawn((PrimaryEguiContext, by_hand, Camera2d, Tonemapping::None, Msaa::Off, RenderLayers::none(), camera));
    if let Some(target) = &target.0 {
        shell.insert(target.clone());
    }
}

type Contexts<'a> = (&'a mut EguiContext, &'a mut EguiInput, &'a mut EguiFullOutput);

/// One pass of the panels; then what they asked for.
pub fn run(
    mut contexts: Query<Contexts>,
    mut desktop: ResMut<Desktop>,
    (mut free, mut dressed): (ResMut<Free>, Local<Option<Look>>),
    (mut heard, mut ear, mut clipboard): (MessageReader<WindowEvent>, Local<chords::Ear>, ResMut<EguiClipboard>),
    (mut worker, mut turn, mut dialogs): (ResMut<Worker>, ResMut<Turn>, ResMut<Dialogs>),
    (mut still, mut order): (ResMut<Still>, ResMut<Order>),
    mut exit: MessageWriter<AppExit>,
) {
    let Ok((mut context, mut input, mut output)) = contexts.single_mut() else { return };
    let context = context.get_mut();
    let theme = Theme::of(desktop.desk.look);
    if *dressed != Some(desktop.desk.look) {
        if dressed.replace(desktop.desk.look).is_none() {
            Theme::letters(context);
        }
        theme.dress(context);
    }
    if context.zoom_factor() != desktop.desk.text {
        context.set_zoom_factor(desktop.desk.text);
    }
    ear.hear(&mut input, heard.read(), || clipboard.get_text());
    // A repeated pass gets no events, so actions add up over the passes; they are not cleared.
    let (mut actions, mut rect) = (std::mem::take(&mut desktop.queue), egui::Rect::NOTHING);
    let full = context.run_ui(input.take(), |ui| rect = ui::shell(ui, &ui::Seen { model: &desktop }, &mut actions));
    **output = Some(full);
    let on_handle = context.interaction_snapshot(|i| i.clicked.is_some() || i.dragged.is_some() || !i.hovered.is_empty());
    let room = (Some(rect), context.pixels_per_point(), on_handle);
    if (free.0, free.1, free.2) != room {
        (free.0, free.1, free.2) = room;
    }
    let mut errands = desktop.attend();
    errands.extend(actions.into_iter().flat_map(|action| desktop.apply(action)));
    for errand in errands {
        match errand {
            Errand::Still(path) => still.0 = Some(path),
            Errand::Record(path) => *order = Order::Record(path),
            Errand::StopRecording => *order = Order::Cancel,
            errand => carry_out(errand, &desktop, &mut worker, &mut turn, &mut dialogs, &mut exit),
        }
    }
}

fn carry_out(
    errand: Errand,
    desktop: &Desktop,
    worker: &mut Worker,
    turn: &mut Turn,
    dialogs: &mut Dialogs,
    exit: &mut MessageWriter<AppExit>,
) {
    match errand {
        Errand::Tell(command) => worker.tell_all(command),
        Errand::Fork(layout) => worker.fork(layout),
        Errand::Beside(layout, catalog) => {
            let cell = desktop.live.snapshot.as_ref().map(|s| s.h).filter(|h| *h > 0.0);
            worker.beside(*layout, &catalog, cell.unwrap_or(0.05));
        }
        Errand::Unfork => {
            worker.unfork();
            worker.tell(Command::SetPace(desktop.desk.pace));
        }
        Errand::PickBeside => dialogs.start(files::pick_beside()),
        Errand::Turn(view) => turn.0 = Some(Aim::At(view)),
        Errand::Fly(place, around) => turn.0 = Some(Aim::Place(place, around)),
        Errand::PickOpen => dialogs.start(files::pick_open()),
        Errand::Still(_) | Errand::Record(_) | Errand::StopRecording => {}
        Errand::PickRock => dialogs.start(files::pick_rock()),
        Errand::PickFolder(wanted) => dialogs.start(files::pick_folder(wanted)),
        Errand::PickSave(name) => dialogs.start(files::pick_save(&name)),
        Errand::Quit => {
            exit.write(AppExit::Success);
        }
    }
}
