//! The layout as entities: thrown away and built again whenever the layout or the look changes.

mod colony;
mod hole;
mod jet;
mod kit;
mod rock;
mod tank;

use super::Desktop;
use super::desk::Look;
use super::kept::Side;
use super::ui::theme::Theme;
use crate::layout::Layout;
use bevy::camera::visibility::RenderLayers;
use bevy::prelude::*;
use kit::Kit;

pub use kit::Prop;

/// The picture of the document.
pub fn plugin(app: &mut App) {
    app.add_systems(Update, (rebuild, jet::follow, show_water).chain());
    app.init_resource::<rock::Cuts>();
}

/// What the scene was built from.
#[derive(PartialEq, Clone, Copy)]
struct Built {
    revision: u64,
    look: Look,
}

/// Marks what the water switch hides.
#[derive(Component)]
struct WaterBody;

fn rebuild(
    mut commands: Commands,
    desktop: Res<Desktop>,
    old: Query<(Entity, &Prop)>,
    mut built: Local<[Option<Built>; 2]>,
    mut cuts: ResMut<rock::Cuts>,
    (mut meshes, mut materials): (ResMut<Assets<Mesh>>, ResMut<Assets<StandardMaterial>>),
) {
    let look = desktop.desk.look;
    for side in Side::ALL {
        let stage = desktop.stage(side);
        let now = stage.map(|stage| Built { revision: stage.revision, look });
        if std::mem::replace(&mut built[side as usize], now) == now {
            continue;
        }
        old.iter().filter(|(_, prop)| prop.0 == side).for_each(|(entity, _)| commands.entity(entity).despawn());
        if let Some(stage) = stage {
            let kit = Kit { commands: &mut commands, meshes: &mut meshes, materials: &mut materials, theme: Theme::of(look), side };
            build(kit, stage.layout, &mut cuts.0[side as usize]);
        }
    }
}

fn build(mut kit: Kit, layout: &Layout, cut: &mut rock::Cut) {
    if kit.side == Side::Own {
        light(&mut kit);
    }
    tank::build(&mut kit, layout);
    rock::build(&mut kit, layout, cut);
    hole::build(&mut kit, layout);
    jet::build(&mut kit, layout);
    colony::build(&mut kit, layout);
}

fn light(kit: &mut Kit) {
    let lux = if kit.theme.look == Look::Dark { 5_500.0 } else { 5_000.0 };
    let down = Transform::from_xyz(-0.6, 2.0, 1.1).looking_at(Vec3::ZERO, Vec3::Y);
    let both = RenderLayers::from_layers(&[0, 1]);
    kit.commands.spawn((Prop(kit.side), DirectionalLight { illuminance: lux, ..default() }, down, both));
    kit.commands.insert_resource(GlobalAmbientLight { brightness: if kit.theme.look == Look::Dark { 350.0 } else { 520.0 }, ..default() });
}

fn show_water(desktop: Res<Desktop>, mut bodies: Query<&mut Visibility, With<WaterBody>>) {
    let wanted = if desktop.desk.shown.water { Visibility::Inherited } else { Visibility::Hidden };
    bodies.iter_mut().for_each(|mut v| {
        v.set_if_neq(wanted);
    });
}
