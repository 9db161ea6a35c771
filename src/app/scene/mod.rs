//! The layout as entities: thrown away and built again whenever the layout or the look changes.

mod colony;
pub mod finish;
mod hole;
mod jet;
mod kit;
mod rock;
mod tank;

use super::desk::Look;
use super::kept::Side;
use super::ui::theme::Theme;
use super::{Desktop, Phase};
use crate::layout::Layout;
use bevy::prelude::*;
use kit::Kit;

pub use kit::Prop;

/// The picture of the document.
pub fn plugin(app: &mut App) {
    app.add_plugins(finish::plugin);
    app.add_systems(Update, (rebuild, jet::follow, show_water).chain().in_set(Phase::Scene));
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
    (mut meshes, mut materials): (ResMut<Assets<Mesh>>, ResMut<Assets<finish::Finish>>),
) {
    let look = desktop.desk.look;
    for side in Side::ALL {
        let stage = desktop.stage(side);
        let now = stage.map(|stage| Built { revision: stage.revision, look });
        if cuts.0[side as usize].attend(stage.map(|stage| stage.layout), &mut meshes) {
            built[side as usize] = None;
        }
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
    tank::build(&mut kit, layout);
    rock::build(&mut kit, layout, cut);
    hole::build(&mut kit, layout);
    jet::build(&mut kit, layout);
    colony::build(&mut kit, layout);
}

fn show_water(desktop: Res<Desktop>, mut bodies: Query<&mut Visibility, With<WaterBody>>) {
    let wanted = if desktop.desk.shown.water { Visibility::Inherited } else { Visibility::Hidden };
    bodies.iter_mut().for_each(|mut v| {
        v.set_if_neq(wanted);
    });
}
