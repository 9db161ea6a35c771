//! Moving tracers: one mesh of darts, placed in the vertex shader from a buffer that is renewed each frame.

use super::dart::{Pen, ROW, Style};
use super::drift::{Drift, PIECE, sources};
use super::scale::Scale;
use crate::app::desk::{Desk, Quantity};
use crate::app::kept::{Compare, Side, Stage};
use crate::app::palette::STOPS;
use crate::app::space::{colour, layer};
use crate::app::ui::theme::Theme;
use crate::app::{Desktop, Phase, clock::Clock, fineness};
use crate::session::Snapshot;
use bevy::asset::{RenderAssetUsages, uuid_handle};
use bevy::camera::visibility::NoFrustumCulling;
use bevy::mesh::PrimitiveTopology;
use bevy::prelude::*;
use bevy::render::render_resource::{AsBindGroup, ShaderType};
use bevy::render::storage::ShaderBuffer;
use rayon::prelude::*;

/// How many tracers there are in all, where it isn't left to [`fineness`].
#[derive(Resource)]
pub struct Tracers(pub usize);

const SHADER: Handle<Shader> = uuid_handle!("2f0a6a57-2f4c-4d0c-9e0b-6d0c64b1a001");

/// Moving tracers.
pub fn plugin(app: &mut App) {
    let mut shaders = app.world_mut().resource_mut::<Assets<Shader>>();
    let _ = shaders.insert(&SHADER, Shader::from_wgsl(include_str!("../../../assets/shaders/tracers.wgsl"), "tracers.wgsl"));
    app.add_plugins(MaterialPlugin::<Ink>::default());
    app.add_systems(Startup, spawn);
    app.add_systems(Update, (count, advance).chain().in_set(Phase::View));
}

#[derive(ShaderType, Clone, Copy, Debug)]
struct Look {
    count: u32,
}

/// How tracers are drawn.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug)]
pub struct Ink {
    #[storage(0, read_only)]
    points: Handle<ShaderBuffer>,
    #[uniform(1)]
    look: Look,
}

drawn_by!(Ink, SHADER);

/// The drawn tracers of both sides.
#[derive(Resource)]
pub(super) struct Clouds([Cloud; 2]);

/// The drawn tracers of a side.
struct Cloud {
    drift: Drift,
    points: Handle<ShaderBuffer>,
    ink: Handle<Ink>,
    entity: Entity,
    generation: Option<u64>,
    style: Option<Style>,
}

/// Linear colours of a map, for shaders.
pub fn stops(colour: fn(f32) -> [u8; 3]) -> [Vec4; STOPS] {
    std::array::from_fn(|i| {
        let [r, g, b] = colour(i as f32 / (STOPS - 1) as f32);
        Color::srgb_u8(r, g, b).to_linear().to_vec4()
    })
}

fn spawn(
    mut commands: Commands,
    mut meshes: ResMut<Assets<Mesh>>,
    mut inks: ResMut<Assets<Ink>>,
    mut buffers: ResMut<Assets<ShaderBuffer>>,
) {
    let mesh = meshes.add(darts(1));
    let clouds = Side::ALL.map(|side| {
        let points = buffers.add(room_for(1));
        let ink = inks.add(Ink { points: points.clone(), look: Look { count: 1 } });
        let cloud = (Mesh3d(mesh.clone()), MeshMaterial3d(ink.clone()), NoFrustumCulling, Visibility::Hidden, layer(side));
        let entity = commands.spawn(cloud).id();
        Cloud { drift: Drift::new(1), points, ink, entity, generation: None, style: None }
    });
    commands.insert_resource(Clouds(clouds));
}

/// Of full length from the start: an empty buffer stops the renderer.
fn room_for(count: usize) -> ShaderBuffer {
    ShaderBuffer::with_size(count * ROW, RenderAssetUsages::RENDER_WORLD)
}

/// As many as are wanted.
fn count(
    mut commands: Commands,
    (desktop, wanted): (Res<Desktop>, Option<Res<Tracers>>),
    clouds: Option<ResMut<Clouds>>,
    (mut meshes, mut inks): (ResMut<Assets<Mesh>>, ResMut<Assets<Ink>>),
    mut buffers: ResMut<Assets<ShaderBuffer>>,
) {
    let all = wanted.map_or(fineness::TRACERS[usize::from(desktop.desk.light())], |wanted| wanted.0);
    let count = (all / desktop.sides()).max(1);
    let Some(mut clouds) = clouds.filter(|clouds| clouds.0[0].drift.tracers.len() != count) else { return };
    let mesh = meshes.add(darts(count));
    for cloud in &mut clouds.0 {
        cloud.drift.resize(count);
        cloud.style = None;
        cloud.points = buffers.add(room_for(count));
        if let Some(mut ink) = inks.get_mut(&cloud.ink) {
            (ink.points, ink.look.count) = (cloud.points.clone(), count as u32);
        }
        commands.entity(cloud.entity).insert(Mesh3d(mesh.clone()));
    }
}

/// `count` triangles; a vertex holds its corner (along the trail, across it) and, in z, the number of its tracer (exact to 16 million). One
/// triangle each: where the processor draws, their number is most of a picture's time.
fn darts(count: usize) -> Mesh {
    const CORNERS: [[f32; 2]; 3] = [[0.0, 0.0], [1.0, -1.0], [1.0, 1.0]];
    let vertices: Vec<[f32; 3]> = (0..count).flat_map(|i| CORNERS.map(|c| [c[0], c[1], i as f32])).collect();
    Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::RENDER_WORLD).with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, vertices)
}

pub(super) fn advance(
    desktop: Res<Desktop>,
    clock: Res<Clock>,
    scale: Res<Scale>,
    clouds: Option<ResMut<Clouds>>,
    mut buffers: ResMut<Assets<ShaderBuffer>>,
    mut seen: Query<&mut Visibility>,
) {
    let Some(mut clouds) = clouds else { return };
    for (side, cloud) in Side::ALL.into_iter().zip(&mut clouds.0) {
        let stage = desktop.stage(side).filter(|_| desktop.desk.shown.tracers);
        let flow = stage.and_then(|stage| Some((stage, stage.live.flow()?)));
        if let Ok(mut visibility) = seen.get_mut(cloud.entity) {
            visibility.set_if_neq(if flow.is_some() { Visibility::Inherited } else { Visibility::Hidden });
        }
        let Some((stage, flow)) = flow else { continue };
        let (tank, plain) = (&stage.layout.tank, plain(&desktop.desk));
        let room = tank.size().with_z(tank.water_level.si()).as_vec3().to_array();
        let style = Style { span: scale.tracers, length: tank.size().max_element() as f32, plain, room };
        let moved = drift(cloud, (stage, flow), room, clock.step);
        if cloud.style.replace(style) != Some(style) || moved {
            upload(cloud, &Pen::new(style), &mut buffers);
        }
    }
}

/// Move them on by `step` (s of tank time); whether they moved.
fn drift(cloud: &mut Cloud, (stage, flow): (Stage, &Snapshot), room: [f32; 3], step: f32) -> bool {
    let anew = cloud.generation != Some(flow.generation);
    if anew {
        cloud.generation = Some(flow.generation);
        cloud.drift = Drift::new(cloud.drift.tracers.len());
    }
    // Without a style there are new ones, and they have to be born though the water stands still.
    if step > 0.0 || anew || cloud.style.is_none() {
        let schedule = stage.live.schedule.as_deref();
        let running = sources(stage.layout, |i| schedule.map_or(0.0, |s| s.nozzle_at(i, flow.time).0));
        cloud.drift.advance(flow, room, &running, step);
    }
    step > 0.0 || anew
}

/// One colour for specks and arrows while the legend's colours stand for something else than the speed now.
pub fn plain(desk: &Desk) -> Option<Color> {
    let theme = Theme::of(desk.look);
    let says_another = desk.colours_surfaces() && (desk.quantity != Quantity::Now || desk.compare == Compare::Difference);
    says_another.then(|| colour(theme.speck, 1.0))
}

fn upload(cloud: &Cloud, pen: &Pen, buffers: &mut Assets<ShaderBuffer>) {
    let tracers = &cloud.drift.tracers;
    let mut rows = vec![0; tracers.len() * ROW];
    rows.par_chunks_mut(PIECE * ROW).zip(tracers.par_chunks(PIECE)).for_each(|(rows, tracers)| {
        rows.chunks_exact_mut(ROW).zip(tracers).for_each(|(bytes, tracer)| bytes.copy_from_slice(bytemuck::bytes_of(&pen.row(tracer))));
    });
    if let Some(mut buffer) = buffers.get_mut(&cloud.points) {
        buffer.data = Some(rows);
    }
}
