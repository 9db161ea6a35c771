//! Moving tracers: one mesh of quads, placed in the vertex shader from a buffer that is renewed each frame.

use super::drift::{Drift, sources};
use super::scale::{Scale, length};
use crate::app::palette::{STOPS, colour};
use crate::app::{Desktop, clock::Clock, machine};
use bevy::asset::{RenderAssetUsages, uuid_handle};
use bevy::camera::visibility::NoFrustumCulling;
use bevy::mesh::{Indices, PrimitiveTopology};
use bevy::prelude::*;
use bevy::render::render_resource::{AsBindGroup, ShaderType};
use bevy::render::storage::ShaderBuffer;
use bevy::shader::ShaderRef;

/// Tracers on a graphics card, and when the processor draws.
const COUNT: (usize, usize) = (100_000, 14_000);
/// Length of a trail, s of tank time.
const TRAIL: f32 = 0.22;

const SHADER: Handle<Shader> = uuid_handle!("2f0a6a57-2f4c-4d0c-9e0b-6d0c64b1a001");

/// Moving tracers.
pub fn plugin(app: &mut App) {
    let mut shaders = app.world_mut().resource_mut::<Assets<Shader>>();
    let _ = shaders.insert(&SHADER, Shader::from_wgsl(include_str!("../../../assets/shaders/tracers.wgsl"), "tracers.wgsl"));
    app.add_plugins(MaterialPlugin::<Ink>::default());
    app.add_systems(Startup, spawn);
    app.add_systems(Update, advance);
}

#[derive(ShaderType, Clone, Copy, Debug)]
struct Look {
    colours: [Vec4; STOPS],
    size: f32,
    count: u32,
    top: f32,
    trail: f32,
}

/// How tracers are drawn.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug)]
pub struct Ink {
    #[storage(0, read_only)]
    points: Handle<ShaderBuffer>,
    #[uniform(1)]
    look: Look,
}

impl Material for Ink {
    fn vertex_shader() -> ShaderRef {
        SHADER.into()
    }
    fn fragment_shader() -> ShaderRef {
        SHADER.into()
    }
    fn enable_prepass() -> bool {
        false
    }
    fn enable_shadows() -> bool {
        false
    }
}

/// The drawn tracers.
#[derive(Resource)]
struct Cloud {
    drift: Drift,
    points: Handle<ShaderBuffer>,
    ink: Handle<Ink>,
    entity: Entity,
    generation: Option<u64>,
    scale: f32,
    length: f32,
}

/// Linear colours of the map, for shaders.
pub fn stops() -> [Vec4; STOPS] {
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
    let count = if machine::draws_in_software() { COUNT.1 } else { COUNT.0 };
    // Two vec4 for each: place and speed, velocity and life. Full length from the start: an empty buffer stops the renderer.
    let points = buffers.add(ShaderBuffer::with_size(count * 32, RenderAssetUsages::MAIN_WORLD | RenderAssetUsages::RENDER_WORLD));
    let look = Look { colours: stops(), size: 0.004, count: count as u32, top: 0.2, trail: TRAIL };
    let ink = inks.add(Ink { points: points.clone(), look });
    let cloud = (Mesh3d(meshes.add(quads(count))), MeshMaterial3d(ink.clone()), NoFrustumCulling, Visibility::Hidden);
    let entity = commands.spawn(cloud).id();
    commands.insert_resource(Cloud { drift: Drift::new(count), points, ink, entity, generation: None, scale: 0.0, length: 0.0 });
}

/// `count` quads; a vertex holds its corner and, in z, the number of its tracer (exact to 16 million).
fn quads(count: usize) -> Mesh {
    const CORNERS: [[f32; 2]; 4] = [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]];
    let vertices: Vec<[f32; 3]> = (0..count).flat_map(|i| CORNERS.map(|c| [c[0], c[1], i as f32])).collect();
    let indices: Vec<u32> = (0..count as u32).flat_map(|i| [0, 1, 2, 0, 2, 3].map(|v| 4 * i + v)).collect();
    Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::RENDER_WORLD)
        .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, vertices)
        .with_inserted_indices(Indices::U32(indices))
}

fn advance(
    desktop: Res<Desktop>,
    clock: Res<Clock>,
    scale: Res<Scale>,
    cloud: Option<ResMut<Cloud>>,
    mut inks: ResMut<Assets<Ink>>,
    mut buffers: ResMut<Assets<ShaderBuffer>>,
    mut seen: Query<&mut Visibility>,
) {
    let Some(mut cloud) = cloud else { return };
    let flow = desktop.live.snapshot.as_ref().filter(|s| !s.velocity.is_empty() && s.velocity.len() == s.water.len());
    let shown = desktop.desk.shown.tracers && flow.is_some();
    if let Ok(mut visibility) = seen.get_mut(cloud.entity) {
        visibility.set_if_neq(if shown { Visibility::Inherited } else { Visibility::Hidden });
    }
    let Some(flow) = flow.filter(|_| shown) else { return };
    restyle(&mut cloud, &mut inks, &scale, desktop.document.layout().tank.size().max_element() as f32);
    let anew = cloud.generation != Some(flow.generation);
    if anew {
        cloud.generation = Some(flow.generation);
        cloud.drift = Drift::new(cloud.drift.tracers.len());
    }
    if clock.step > 0.0 || anew {
        let schedule = desktop.live.schedule.as_deref();
        let running = sources(desktop.document.layout(), |i| schedule.map_or(0.0, |s| s.nozzle_at(i, flow.time).0));
        cloud.drift.advance(flow, &running, clock.step);
        upload(&cloud, &mut buffers);
    }
}

fn restyle(cloud: &mut Cloud, inks: &mut Assets<Ink>, scale: &Scale, length: f32) {
    if cloud.scale == scale.tracers && cloud.length == length {
        return;
    }
    (cloud.scale, cloud.length) = (scale.tracers, length);
    if let Some(mut ink) = inks.get_mut(&cloud.ink) {
        ink.look.top = scale.tracers;
        ink.look.size = length * 0.0011;
    }
}

fn upload(cloud: &Cloud, buffers: &mut Assets<ShaderBuffer>) {
    let rows: Vec<[f32; 8]> = cloud
        .drift
        .tracers
        .iter()
        .map(|t| {
            let (p, v) = (t.at, t.velocity);
            [p[0], p[2], -p[1], length(v), v[0], v[2], -v[1], t.life]
        })
        .collect();
    if let Some(mut buffer) = buffers.get_mut(&cloud.points) {
        buffer.data = Some(bytemuck::cast_slice(&rows).to_vec());
    }
}
