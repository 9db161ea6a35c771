//! The layout as entities: thrown away and built again whenever the layout or the look changes.

mod colony;
mod hole;
mod jet;
mod kit;
mod rock;
mod tank;

use super::Desktop;
use super::desk::Look;
use super::ui::theme::Theme;
use bevy::prelude::*;
use kit::Kit;

pub use kit::Prop;

/// The picture of the document.
pub fn plugin(app: &mut App) {
    app.add_systems(Update, (rebuild, jet::follow, show_water).chain());
    app.init_resource::<rock::Cut>();
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
    old: Query<Entity, With<Prop>>,
    mut built: Local<Option<Built>>,
    mut cut: ResMut<rock::Cut>,
    (mut meshes, mut materials): (ResMut<Assets<Mesh>>, ResMut<Assets<StandardMaterial>>),
) {
    let now = Built { revision: desktop.document.revision(), look: desktop.desk.look };
    if *built == Some(now) {
        return;
    }
    *built = Some(now);
    old.iter().for_each(|entity| commands.entity(entity).despawn());
    let theme = Theme::of(now.look);
    let layout = desktop.document.layout();
    let mut kit = Kit { commands: &mut commands, meshes: &mut meshes, materials: &mut materials, theme };
    light(&mut kit);
    tank::build(&mut kit, layout);
    rock::build(&mut kit, layout, &mut cut);
    hole::build(&mut kit, layout);
    jet::build(&mut kit, layout);
    colony::build(&mut kit, layout);
}

fn light(kit: &mut Kit) {
    let lux = if kit.theme.look == Look::Dark { 5_500.0 } else { 5_000.0 };
    let down = Transform::from_xyz(-0.6, 2.0, 1.1).looking_at(Vec3::ZERO, Vec3::Y);
    kit.commands.spawn((Prop, DirectionalLight { illuminance: lux, ..default() }, down));
    kit.commands.insert_resource(GlobalAmbientLight { brightness: if kit.theme.look == Look::Dark { 350.0 } else { 520.0 }, ..default() });
}

fn show_water(desktop: Res<Desktop>, mut bodies: Query<&mut Visibility, With<WaterBody>>) {
    let wanted = if desktop.desk.shown.water { Visibility::Inherited } else { Visibility::Hidden };
    bodies.iter_mut().for_each(|mut v| {
        v.set_if_neq(wanted);
    });
}
