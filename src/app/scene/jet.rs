//! Where nozzles and propeller pumps point: an arrow as long as the jet is fast at the playhead, faint while the outlet is shut.

use super::finish::Finish;
use super::kit::{Kit, Prop};
use crate::app::Desktop;
use crate::app::kept::Side;
use crate::app::space::{layer, place};
use crate::layout::Layout;
use bevy::prelude::*;

/// Arrow length per exit speed, s.
const LENGTH_PER_SPEED: f32 = 0.11;
/// Exit speed under which an outlet counts as shut, m/s.
const SHUT: f64 = 0.15;

/// An arrow; it points along its own y.
#[derive(Component)]
pub struct Arrow {
    side: Side,
    source: Source,
}

#[derive(Clone, Copy)]
enum Source {
    Nozzle(usize),
    Steady,
}

/// The two surfaces of arrows.
#[derive(Resource)]
pub struct Inks {
    running: Handle<Finish>,
    idle: Handle<Finish>,
}

/// An arrow for every jet.
pub fn build(kit: &mut Kit, layout: &Layout) {
    let inks = Inks { running: kit.flat(kit.theme.jet, 1.0), idle: kit.flat(kit.theme.idle, 0.55) };
    let size = layout.tank.size();
    let unit = size.max_element() as f32 / 2.4;
    for (index, nozzle) in layout.nozzles.iter().enumerate() {
        let at = nozzle.mount.centre(size);
        arrow(kit, at, nozzle.aim.direction(at), Source::Nozzle(index), unit, &inks);
    }
    for propeller in &layout.propellers {
        let at = propeller.at.metres();
        arrow(kit, at, propeller.aim.direction(at), Source::Steady, unit, &inks);
    }
    kit.commands.insert_resource(inks);
}

fn arrow(kit: &mut Kit, at: glam::DVec3, direction: glam::DVec3, source: Source, unit: f32, inks: &Inks) {
    let Some(along) = place(direction).try_normalize() else { return };
    let shaft = kit.meshes.add(Cylinder::new(0.006 * unit, 1.0).mesh().resolution(10));
    let head = kit.meshes.add(Cone { radius: 0.022 * unit, height: 0.07 * unit }.mesh().resolution(14));
    let turn = Quat::from_rotation_arc(Vec3::Y, along);
    let seen = layer(kit.side);
    let shafts = (Mesh3d(shaft), MeshMaterial3d(inks.running.clone()), Transform::default(), Shaft, seen.clone());
    let heads = (Mesh3d(head), MeshMaterial3d(inks.running.clone()), Transform::default(), Head, seen);
    let base = Transform::from_translation(place(at)).with_rotation(turn);
    let side = kit.side;
    kit.commands.spawn((Prop(side), Arrow { side, source }, base, Visibility::default(), children![shafts, heads]));
}

/// The straight part of an arrow.
#[derive(Component)]
pub struct Shaft;

/// The tip of an arrow.
#[derive(Component)]
pub struct Head;

type Piece<'a> = (&'a mut Transform, &'a mut MeshMaterial3d<Finish>, Has<Head>);

type OfArrow = Or<(With<Shaft>, With<Head>)>;

/// Follow the playhead.
pub fn follow(desktop: Res<Desktop>, inks: Option<Res<Inks>>, arrows: Query<(&Arrow, &Children)>, mut pieces: Query<Piece, OfArrow>) {
    let Some(inks) = inks else { return };
    for (arrow, children) in &arrows {
        let speed = speed(&desktop, arrow);
        let running = speed > SHUT;
        let ink = if running { &inks.running } else { &inks.idle };
        let length = (speed as f32 * LENGTH_PER_SPEED).clamp(0.06, 0.5);
        for child in children {
            let Ok((mut transform, mut material, head)) = pieces.get_mut(*child) else { continue };
            material.set_if_neq(MeshMaterial3d(ink.clone()));
            let wanted = if head { Transform::from_xyz(0.0, length, 0.0) } else { along(length) };
            transform.set_if_neq(wanted);
        }
    }
}

fn along(length: f32) -> Transform {
    Transform::from_xyz(0.0, length / 2.0, 0.0).with_scale(Vec3::new(1.0, length, 1.0))
}

/// Exit speed at the playhead, m/s.
fn speed(desktop: &Desktop, arrow: &Arrow) -> f64 {
    let Source::Nozzle(index) = arrow.source else { return 1.5 };
    let Some(schedule) = desktop.stage(arrow.side).and_then(|stage| stage.live.schedule.as_ref()) else { return 0.0 };
    let (flow, momentum) = schedule.nozzle_at(index, desktop.desk.playhead);
    if flow.abs() < 1e-9 { 0.0 } else { momentum / flow }
}
