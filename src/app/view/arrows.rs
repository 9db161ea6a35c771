//! Arrows over the slices, and over the surface of the water: which way it goes. One mesh, placed in the vertex shader from a buffer.

use super::drift::velocity;
use super::sample::mean_at;
use super::scale::{Scale, Span, length};
use super::tracers::{plain, stops};
use crate::app::desk::{Quantity, Slice};
use crate::app::kept::{Side, Stage};
use crate::app::palette::{self, STOPS};
use crate::app::space::layer;
use crate::app::ui::theme::Theme;
use crate::app::{Desktop, Phase};
use bevy::asset::{RenderAssetUsages, uuid_handle};
use bevy::camera::visibility::NoFrustumCulling;
use bevy::mesh::{Indices, PrimitiveTopology};
use bevy::prelude::*;
use bevy::render::render_resource::{AsBindGroup, ShaderType};
use bevy::render::storage::ShaderBuffer;
use glam::DVec3;

/// No more arrows than this.
const MOST: usize = 4096;
/// Arrows along the tank's longest side.
const ALONG: f64 = 30.0;
/// Length of an arrow at the top of the scale, in spaces between arrows.
const REACH: f32 = 1.5;
/// The film's arrows stand this far over the water, m.
const OVER: f64 = 0.004;

const SHADER: Handle<Shader> = uuid_handle!("2f0a6a57-2f4c-4d0c-9e0b-6d0c64b1a003");

/// Arrows.
pub fn plugin(app: &mut App) {
    let mut shaders = app.world_mut().resource_mut::<Assets<Shader>>();
    let _ = shaders.insert(&SHADER, Shader::from_wgsl(include_str!("../../../assets/shaders/arrows.wgsl"), "arrows.wgsl"));
    app.add_plugins(MaterialPlugin::<Barb>::default());
    app.add_systems(Startup, spawn);
    app.add_systems(Update, place.in_set(Phase::View).after(super::slice::turn));
}

#[derive(ShaderType, Clone, Copy, Debug)]
struct BarbLook {
    colours: [Vec4; STOPS],
    plain: Vec4,
    width: f32,
    count: u32,
    is_plain: u32,
    spare: u32,
}

/// How arrows are drawn.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug)]
pub struct Barb {
    #[storage(0, read_only)]
    arrows: Handle<ShaderBuffer>,
    #[uniform(1)]
    look: BarbLook,
}

drawn_by!(Barb, SHADER);

/// The arrows of a side.
#[derive(Component)]
struct Flock {
    side: Side,
    barb: Handle<Barb>,
    placed: Option<Placed>,
}

/// What the arrows were placed for.
#[derive(PartialEq)]
struct Placed {
    shown: [bool; 2],
    slices: Vec<Slice>,
    quantity: Quantity,
    span: Span,
    ink: Option<Color>,
    size: DVec3,
    generation: u64,
    time: f64,
    averaged: f64,
}

impl Placed {
    /// What they would be placed for now; `None` while there are none to see.
    fn now(desktop: &Desktop, stage: Stage, scale: &Scale) -> Option<Self> {
        let (desk, flow) = (&desktop.desk, stage.live.flow()?);
        let shown = [desk.shown.arrows, desk.shown.film];
        let tank = &stage.layout.tank;
        // On a coloured slice arrows of the same colours would not be seen.
        let ink = plain(desk).or(desk.shown.slice.then(|| crate::app::space::colour(Theme::of(desk.look).canvas, 1.0)));
        (shown != [false; 2]).then(|| Self {
            shown,
            slices: desk.all_slices().collect(),
            quantity: desk.quantity,
            span: scale.tracers,
            ink,
            size: tank.size().with_z(tank.water_level.si()),
            generation: flow.generation,
            time: flow.time,
            averaged: flow.averaged,
        })
    }
}

fn spawn(
    mut commands: Commands,
    mut meshes: ResMut<Assets<Mesh>>,
    mut barbs: ResMut<Assets<Barb>>,
    mut buffers: ResMut<Assets<ShaderBuffer>>,
) {
    let mesh = meshes.add(shapes());
    for side in Side::ALL {
        let arrows = buffers.add(ShaderBuffer::with_size(MOST * 32, RenderAssetUsages::MAIN_WORLD | RenderAssetUsages::RENDER_WORLD));
        let look = BarbLook { colours: stops(palette::colour), plain: Vec4::ONE, width: 0.004, count: 0, is_plain: 0, spare: 0 };
        let barb = barbs.add(Barb { arrows, look });
        let drawn = (Mesh3d(mesh.clone()), MeshMaterial3d(barb.clone()), NoFrustumCulling, Visibility::Hidden, layer(side));
        commands.spawn((Flock { side, barb, placed: None }, drawn));
    }
}

/// A shaft and a head for each; a vertex holds where along, how far across, and the number of its arrow.
fn shapes() -> Mesh {
    const CORNERS: [[f32; 2]; 7] = [[0.0, -1.0], [1.0, -1.0], [1.0, 1.0], [0.0, 1.0], [1.0, -3.6], [2.0, 0.0], [1.0, 3.6]];
    let vertices: Vec<[f32; 3]> = (0..MOST).flat_map(|i| CORNERS.map(|c| [c[0], c[1], i as f32])).collect();
    let indices: Vec<u32> = (0..MOST as u32).flat_map(|i| [0, 1, 2, 0, 2, 3, 4, 5, 6].map(|v| 7 * i + v)).collect();
    Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::RENDER_WORLD)
        .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, vertices)
        .with_inserted_indices(Indices::U32(indices))
}

fn place(
    desktop: Res<Desktop>,
    scale: Res<Scale>,
    mut flocks: Query<(&mut Flock, &mut Visibility)>,
    mut barbs: ResMut<Assets<Barb>>,
    mut buffers: ResMut<Assets<ShaderBuffer>>,
) {
    for (mut flock, mut visibility) in &mut flocks {
        let stage = desktop.stage(flock.side);
        let now = stage.and_then(|stage| Placed::now(&desktop, stage, &scale));
        if flock.placed == now {
            continue;
        }
        let mut rows = stage.zip(now.as_ref()).map_or(Vec::new(), |(stage, now)| arrows(stage, now));
        flock.placed = now;
        rows.truncate(MOST);
        visibility.set_if_neq(if rows.is_empty() { Visibility::Hidden } else { Visibility::Inherited });
        if let (Some(now), Some(mut barb), false) = (&flock.placed, barbs.get_mut(&flock.barb), rows.is_empty()) {
            dress(&mut barb.look, now, rows.len());
            rows.resize(MOST, [0.0; 8]);
            if let Some(mut buffer) = buffers.get_mut(&barb.arrows) {
                buffer.data = Some(bytemuck::cast_slice(&rows).to_vec());
            }
        }
    }
}

fn dress(look: &mut BarbLook, now: &Placed, count: usize) {
    look.count = count as u32;
    look.width = now.size.max_element() as f32 * 0.0024;
    look.is_plain = u32::from(now.ink.is_some());
    look.plain = now.ink.unwrap_or_default().to_linear().to_vec4();
}

/// Place, share of the scale and reach of each, as the picture has them.
fn arrows(stage: Stage, now: &Placed) -> Vec<[f32; 8]> {
    let size = now.size;
    let space = size.max_element() / ALONG;
    let row = |at: DVec3, u: [f32; 3]| {
        let (speed, p) = (length(u), at.as_vec3());
        let share = ((speed - now.span.low) / (now.span.top - now.span.low)).clamp(0.0, 1.0);
        let reach = REACH * space as f32 * (speed / now.span.top).clamp(0.12, 1.0) / speed.max(1e-6);
        (speed > 2e-4).then(|| [p.x, p.z, -p.y, share, u[0] * reach, u[2] * reach, -u[1] * reach, 0.0])
    };
    let mut rows = Vec::new();
    if now.shown[0] {
        for slice in &now.slices {
            rows.extend(grid(size, *slice, space).filter_map(|at| row(at, going(stage, now.quantity, at)?)));
        }
    }
    if now.shown[1] {
        let surface = Slice { axis: crate::app::desk::Axis::Height, share: 1.0 };
        // Over the water the film is carried level, on average.
        rows.extend(grid(size, surface, space).filter_map(|at| {
            let [u, v, _] = going(stage, Quantity::Mean, at.with_z(size.z * (1.0 - 1e-6)))?;
            row(at + DVec3::Z * OVER, [u, v, 0.0])
        }));
    }
    rows
}

/// Which way the water goes: now, or on average. `None` outside the water, or while it isn't known.
fn going(stage: Stage, quantity: Quantity, at: DVec3) -> Option<[f32; 3]> {
    let at = at.as_vec3().to_array();
    match stage.live.fields.as_deref().filter(|_| quantity != Quantity::Now) {
        Some(fields) => mean_at(fields, at),
        None => {
            let flow = stage.live.flow()?;
            let cell = super::sample::cell_of(flow.n, flow.h, at)?;
            (flow.water[cell] > 0.3).then(|| velocity(flow, at))
        }
    }
}

/// Points evenly over a slice of the water.
fn grid(size: DVec3, slice: Slice, space: f64) -> impl Iterator<Item = DVec3> {
    let axis = slice.axis.index();
    let (along, up) = [(1, 2), (0, 2), (0, 1)][axis];
    let count = |length: f64| (length / space).round().clamp(1.0, 64.0) as usize;
    let (columns, lines) = (count(size[along]), count(size[up]));
    (0..columns * lines).map(move |i| {
        let mut p = DVec3::ZERO;
        p[axis] = size[axis] * f64::from(slice.share);
        p[along] = size[along] * ((i % columns) as f64 + 0.5) / columns as f64;
        p[up] = size[up] * ((i / columns) as f64 + 0.5) / lines as f64;
        p
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::desk::Axis;

    #[test]
    fn arrows_stand_evenly_on_their_slice() {
        let size = DVec3::new(2.0, 1.0, 0.5);
        for (axis, expected) in [(Axis::Length, 200), (Axis::Width, 400), (Axis::Height, 800)] {
            let points: Vec<DVec3> = grid(size, Slice { axis, share: 0.25 }, 0.05).collect();
            assert_eq!(points.len(), expected);
            assert!(points.iter().all(|p| p[axis.index()] == 0.25 * size[axis.index()]));
            assert!(points.iter().all(|p| p.cmpge(DVec3::ZERO).all() && p.cmple(size).all()));
        }
    }
}
