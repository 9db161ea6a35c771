//! The eye that looks at the tank, and how it turns, flies, and keeps out of the panels.

use super::action::View;
use super::desk::Look;
use super::kept::Side;
use super::sight::Sight;
use super::ui::theme::Theme;
use super::{Desktop, Free, Phase, space};
use bevy::camera::{CameraUpdateSystems, Viewport};
use bevy::core_pipeline::tonemapping::Tonemapping;
use bevy::prelude::*;
use bevy_egui::EguiPostUpdateSet;
use bevy_egui::egui::Rect;
use bevy_egui::input::EguiWantsInput;
use bevy_panorbit_camera::{ActiveCameraData, PanOrbitCamera, PanOrbitCameraPlugin, PanOrbitCameraSystemSet};
use glam::DVec3;
use std::f32::consts::{FRAC_PI_2, PI};

/// Vertical angle of view, radians.
const FIELD: f32 = 0.6;

/// The camera that sees the tank.
#[derive(Component)]
pub struct Eye;

/// The camera that sees the kept layout, from the same place.
#[derive(Component)]
pub struct OtherEye;

/// A wanted change of view, carried out once.
#[derive(Resource, Default)]
pub struct Turn(pub Option<Aim>);

/// Where to look.
#[derive(Debug, Clone, Copy)]
pub enum Aim {
    /// From a fixed side.
    At(View),
    /// At a place (m), from as far as shows this much around it (m).
    Place([f64; 3], f64),
}

/// The eye.
pub fn plugin(app: &mut App) {
    app.add_plugins(PanOrbitCameraPlugin);
    app.insert_resource(Turn(Some(Aim::At(View::Home))));
    app.add_systems(Startup, spawn);
    app.add_systems(Update, (gate, steer, turn, orbit, fit, backdrop).chain().in_set(Phase::Look));
    app.add_systems(
        PostUpdate,
        (
            follow.before(TransformSystems::Propagate).after(PanOrbitCameraSystemSet),
            see.after(TransformSystems::Propagate).after(CameraUpdateSystems).after(follow).before(EguiPostUpdateSet::EndPass),
        ),
    );
}

fn spawn(mut commands: Commands, view: Res<super::Target>) {
    let orbit = PanOrbitCamera {
        pitch_upper_limit: Some(FRAC_PI_2 - 0.01),
        pitch_lower_limit: Some(-0.35),
        zoom_lower_limit: 0.15,
        use_real_time: true,
        ..default()
    };
    let lens = Projection::Perspective(PerspectiveProjection { fov: FIELD, near: 0.02, far: 200.0, ..default() });
    let at = Transform::from_xyz(0.0, 1.0, 6.0);
    let mut eye = commands.spawn((Eye, Camera3d::default(), Tonemapping::None, lens.clone(), orbit, at));
    if let Some(target) = &view.0 {
        eye.insert(target.clone());
    }
    let off = Camera { order: 1, is_active: false, clear_color: ClearColorConfig::None, ..default() };
    let mut other = commands.spawn((OtherEye, Camera3d::default(), off, Tonemapping::None, lens, at, space::layer(Side::Kept)));
    if let Some(target) = &view.0 {
        other.insert(target.clone());
    }
}

/// Panels and handles keep the mouse to themselves.
fn gate(wants: Res<EguiWantsInput>, on: Res<Free>, mut eyes: Query<&mut PanOrbitCamera>) {
    for mut orbit in &mut eyes {
        let free = !wants.wants_any_pointer_input() && !on.2;
        if orbit.enabled != free {
            orbit.enabled = free;
        }
    }
}

/// The mouse turns the one eye wherever in the picture it is.
fn steer(free: Res<Free>, windows: Query<&Window>, eyes: Query<Entity, With<Eye>>, mut active: ResMut<ActiveCameraData>) {
    let (Some(rect), Ok(eye)) = (free.0, eyes.single()) else { return };
    let window = windows.iter().next().map_or(Vec2::new(rect.width(), rect.height()), |w| Vec2::new(w.width(), w.height()));
    let viewport_size = Some(Vec2::new(rect.width(), rect.height()));
    active.set_if_neq(ActiveCameraData { entity: Some(eye), viewport_size, window_size: Some(window), manual: true });
}

/// The kept layout is seen from the same place.
fn follow(eyes: Query<&Transform, (With<Eye>, Without<OtherEye>)>, mut others: Query<&mut Transform, With<OtherEye>>) {
    let Ok(eye) = eyes.single() else { return };
    others.iter_mut().for_each(|mut other| {
        other.set_if_neq(*eye);
    });
}

fn turn(mut wanted: ResMut<Turn>, desktop: Res<Desktop>, free: Res<Free>, mut eyes: Query<&mut PanOrbitCamera>) {
    let (Some(aim), Ok(mut orbit)) = (wanted.0, eyes.single_mut()) else { return };
    if !orbit.initialized {
        return;
    }
    wanted.0 = None;
    let size = desktop.document.layout().tank.size();
    let aspect = free.0.map(|r| desktop.panes(r).own).map_or(1.5, |r| r.width() / r.height().max(1.0));
    match aim {
        Aim::At(view) => {
            let (yaw, pitch) = angles(view);
            (orbit.target_yaw, orbit.target_pitch) = (yaw, pitch);
            orbit.target_focus = space::place(size / 2.0);
            orbit.target_radius = distance(size, yaw, pitch, aspect);
        }
        Aim::Place(at, around) => {
            orbit.target_focus = space::place(DVec3::from_array(at));
            orbit.target_radius = around as f32 * 2.6;
        }
    }
    orbit.zoom_upper_limit = Some(size.max_element() as f32 * 8.0);
    orbit.force_update = true;
}

/// Slow enough to look at: once round in a minute and a half.
fn orbit(desktop: Res<Desktop>, time: Res<Time<Real>>, mut eyes: Query<&mut PanOrbitCamera>) {
    if !desktop.desk.orbiting {
        return;
    }
    for mut eye in &mut eyes {
        eye.target_yaw += time.delta_secs().min(0.2) * std::f32::consts::TAU / 90.0;
    }
}

fn angles(view: View) -> (f32, f32) {
    match view {
        View::Home => (-0.42, 0.30),
        View::Front => (0.0, 0.0),
        View::Left => (-FRAC_PI_2, 0.0),
        View::Right => (FRAC_PI_2, 0.0),
        View::Back => (PI, 0.0),
        View::Top => (0.0, FRAC_PI_2 - 0.01),
    }
}

/// From where every corner of the tank is inside the picture, with some air around it.
fn distance(size: DVec3, yaw: f32, pitch: f32, aspect: f32) -> f32 {
    let turn = Quat::from_rotation_y(yaw) * Quat::from_rotation_x(-pitch);
    let (right, up, toward) = (turn * Vec3::X, turn * Vec3::Y, turn * Vec3::Z);
    let (tall, wide) = ((FIELD / 2.0).tan(), (FIELD / 2.0).tan() * aspect);
    let corners = (0..8).map(|i| {
        let sign = |bit: usize| if i & bit == 0 { -0.5 } else { 0.5 };
        Vec3::new(size.x as f32 * sign(1), size.z as f32 * sign(2), size.y as f32 * sign(4))
    });
    corners.map(|c| toward.dot(c) + (right.dot(c).abs() / wide).max(up.dot(c).abs() / tall)).fold(0.0, f32::max) * 1.12
}

type Cameras<'a> = (&'a mut Camera, Has<OtherEye>);

/// Both cameras that see a tank.
type Eyes = Or<(With<Eye>, With<OtherEye>)>;

/// The picture fills what the panels leave; two layouts share it.
fn fit(free: Res<Free>, desktop: Res<Desktop>, mut eyes: Query<Cameras, Eyes>) {
    let Some(rect) = free.0 else { return };
    let panes = desktop.panes(rect);
    for (mut camera, is_other) in &mut eyes {
        let room = if is_other { panes.kept } else { Some(panes.own) };
        if camera.is_active != room.is_some() {
            camera.is_active = room.is_some();
        }
        if let Some(room) = room {
            fill(&mut camera, room, free.1);
        }
    }
}

fn fill(camera: &mut Mut<Camera>, rect: Rect, scale: f32) {
    let from = UVec2::new((rect.min.x * scale).max(0.0) as u32, (rect.min.y * scale).max(0.0) as u32);
    let size = UVec2::new((rect.width() * scale).max(1.0) as u32, (rect.height() * scale).max(1.0) as u32);
    let Some(whole) = camera.physical_target_size() else { return };
    let size = size.min(whole.saturating_sub(from)).max(UVec2::ONE);
    let old = camera.viewport.as_ref().map(|v| (v.physical_position, v.physical_size));
    if from.x < whole.x && from.y < whole.y && old != Some((from, size)) {
        camera.viewport = Some(Viewport { physical_position: from, physical_size: size, ..default() });
    }
}

/// Tell the panels how the tank is seen.
fn see(mut desktop: ResMut<Desktop>, free: Res<Free>, eyes: Query<(&Camera, &GlobalTransform), With<Eye>>) {
    let (Some(rect), Ok((camera, place))) = (free.0, eyes.single()) else { return };
    let clip = camera.clip_from_view().as_dmat4() * place.to_matrix().as_dmat4().inverse() * space::picture_from_tank();
    let rect = desktop.panes(rect).own;
    desktop.desk.sight = Some(Sight::new(clip, [rect.min.x, rect.min.y], [rect.width(), rect.height()]));
}

fn backdrop(desktop: Res<Desktop>, mut clear: ResMut<ClearColor>, mut last: Local<Option<Look>>) {
    if *last != Some(desktop.desk.look) {
        *last = Some(desktop.desk.look);
        clear.0 = space::colour(Theme::of(desktop.desk.look).canvas, 1.0);
    }
}
