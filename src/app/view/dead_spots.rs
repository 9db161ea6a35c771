//! Dead spots as soft volumes.

use crate::app::desk::Look;
use crate::app::kept::Side;
use crate::app::scene::finish::Finish;
use crate::app::space::{colour, layer, place_f32};
use crate::app::ui::theme::Theme;
use crate::app::{Desktop, Phase};
use crate::setup::surface::surface;
use crate::study::Fields;
use bevy::asset::RenderAssetUsages;
use bevy::mesh::{Indices, PrimitiveTopology};
use bevy::prelude::*;
use std::sync::Arc;

/// Dead spots.
pub fn plugin(app: &mut App) {
    app.add_systems(Update, rebuild.in_set(Phase::View));
}

/// One drawn dead spot.
#[derive(Component)]
struct Spot(Side);

/// What is drawn just now.
#[derive(Default)]
struct Drawn {
    fields: Option<Arc<Fields>>,
    look: Look,
    picked: Option<u16>,
    shown: bool,
}

fn rebuild(
    mut commands: Commands,
    desktop: Res<Desktop>,
    old: Query<(Entity, &Spot)>,
    mut drawn: Local<[Drawn; 2]>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut materials: ResMut<Assets<Finish>>,
) {
    let desk = &desktop.desk;
    for (side, drawn) in Side::ALL.into_iter().zip(drawn.iter_mut()) {
        let stage = desktop.stage(side).filter(|stage| stage.live.verdict().is_some());
        let known = stage.and_then(|stage| stage.live.fields.as_ref());
        let same_fields = match (&drawn.fields, known) {
            (Some(a), Some(b)) => Arc::ptr_eq(a, b),
            (None, None) => true,
            _ => false,
        };
        if same_fields && drawn.look == desk.look && drawn.picked == desk.dead_spot && drawn.shown == desk.shown.dead_spots {
            continue;
        }
        *drawn = Drawn { fields: known.cloned(), look: desk.look, picked: desk.dead_spot, shown: desk.shown.dead_spots };
        old.iter().filter(|(_, spot)| spot.0 == side).for_each(|(entity, _)| commands.entity(entity).despawn());
        let Some(fields) = drawn.fields.as_ref().filter(|_| drawn.shown) else { continue };
        for rank in 1..=fields.dead.iter().copied().max().unwrap_or(0) {
            let Some(mesh) = volume(fields, rank) else { continue };
            // Numbers are those of the open layout.
            let picked = side == Side::Own && desk.dead_spot == Some(rank);
            let haze = materials.add(haze(Theme::of(desk.look), picked));
            commands.spawn((Spot(side), layer(side), Mesh3d(meshes.add(mesh)), MeshMaterial3d(haze), Transform::IDENTITY));
        }
    }
}

fn haze(theme: Theme, picked: bool) -> Finish {
    Finish::lit(colour(theme.dead, if picked { 0.62 } else { 0.34 }), theme.look)
}

/// The smoothed outline of one dead spot's cells.
fn volume(fields: &Fields, rank: u16) -> Option<Mesh> {
    let cells: Vec<[usize; 3]> = (0..fields.len()).filter(|&c| fields.dead[c] == rank).map(|c| fields.cell(c)).collect();
    let low: [usize; 3] = std::array::from_fn(|a| cells.iter().map(|c| c[a]).min().unwrap_or(0));
    let high: [usize; 3] = std::array::from_fn(|a| cells.iter().map(|c| c[a]).max().unwrap_or(0));
    if cells.is_empty() {
        return None;
    }
    let n: [usize; 3] = std::array::from_fn(|a| high[a] - low[a] + 5);
    let mut inside = vec![0f32; n[0] * n[1] * n[2]];
    for c in &cells {
        let at: [usize; 3] = std::array::from_fn(|a| c[a] - low[a] + 2);
        inside[at[0] + n[0] * (at[1] + n[1] * at[2])] = 1.0;
    }
    let samples: Vec<f32> = blur(&inside, n).into_iter().map(|s| 0.4 - s).collect();
    let outline = surface(n, &samples);
    let h = fields.h as f32;
    let points = outline.points.iter().map(|p| place_f32(std::array::from_fn(|a| (p[a] - 1.5 + low[a] as f32) * h)));
    let mesh = Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::RENDER_WORLD | RenderAssetUsages::MAIN_WORLD)
        .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, points.collect::<Vec<_>>())
        .with_inserted_indices(Indices::U32(outline.triangles));
    Some(mesh.with_computed_smooth_normals())
}

/// A mean over each cell and its six neighbours, weighted to the cell itself.
fn blur(inside: &[f32], n: [usize; 3]) -> Vec<f32> {
    let stride = [1, n[0], n[0] * n[1]];
    let value = |c: usize, axis: usize, i: usize| {
        let (back, on) = (if i > 0 { inside[c - stride[axis]] } else { 0.0 }, if i + 1 < n[axis] { inside[c + stride[axis]] } else { 0.0 });
        back + on
    };
    (0..inside.len())
        .map(|c| {
            let at = [c % n[0], c / n[0] % n[1], c / (n[0] * n[1])];
            let around: f32 = (0..3).map(|axis| value(c, axis, at[axis])).sum();
            0.4 * inside[c] + 0.1 * around
        })
        .collect()
}
