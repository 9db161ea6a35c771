//! A plane through the water that can be moved, coloured by speed, mean, fluctuation or peak.

use super::scale::{Scale, length};
use super::tracers::stops;
use crate::app::Desktop;
use crate::app::desk::{Axis, Quantity, Slice};
use crate::app::live::Live;
use crate::app::palette::STOPS;
use crate::app::space::place;
use bevy::asset::{RenderAssetUsages, uuid_handle};
use bevy::image::{ImageFilterMode, ImageSampler, ImageSamplerDescriptor};
use bevy::mesh::MeshVertexBufferLayoutRef;
use bevy::pbr::{MaterialPipeline, MaterialPipelineKey};
use bevy::prelude::*;
use bevy::render::render_resource::{
    AsBindGroup, Extent3d, RenderPipelineDescriptor, ShaderType, SpecializedMeshPipelineError, TextureDimension, TextureFormat,
};
use bevy::shader::ShaderRef;
use glam::DVec3;
use half::f16;

const SHADER: Handle<Shader> = uuid_handle!("2f0a6a57-2f4c-4d0c-9e0b-6d0c64b1a002");

/// The slice.
pub fn plugin(app: &mut App) {
    let mut shaders = app.world_mut().resource_mut::<Assets<Shader>>();
    let _ = shaders.insert(&SHADER, Shader::from_wgsl(include_str!("../../../assets/shaders/slice.wgsl"), "slice.wgsl"));
    app.add_plugins(MaterialPlugin::<Paint>::default());
    app.add_systems(Startup, spawn);
    app.add_systems(Update, (turn, fill));
}

#[derive(ShaderType, Clone, Copy, Debug)]
struct PaintLook {
    colours: [Vec4; STOPS],
    size: Vec3,
    top: f32,
}

/// How the slice is drawn.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug)]
pub struct Paint {
    #[texture(0, dimension = "3d")]
    #[sampler(1)]
    field: Handle<Image>,
    #[uniform(2)]
    look: PaintLook,
}

impl Material for Paint {
    fn fragment_shader() -> ShaderRef {
        SHADER.into()
    }
    fn alpha_mode(&self) -> AlphaMode {
        AlphaMode::Blend
    }
    fn enable_prepass() -> bool {
        false
    }
    fn enable_shadows() -> bool {
        false
    }
    fn specialize(
        _: &MaterialPipeline,
        descriptor: &mut RenderPipelineDescriptor,
        _: &MeshVertexBufferLayoutRef,
        _: MaterialPipelineKey<Self>,
    ) -> Result<(), SpecializedMeshPipelineError> {
        descriptor.primitive.cull_mode = None;
        Ok(())
    }
}

/// More slices than this are not drawn.
pub const MOST: usize = 6;

/// A plane that is drawn: its paint, and which of the slices it is.
#[derive(Component)]
struct Plane(Handle<Paint>, usize);

fn spawn(mut commands: Commands, mut meshes: ResMut<Assets<Mesh>>, mut paints: ResMut<Assets<Paint>>, mut images: ResMut<Assets<Image>>) {
    let look = PaintLook { colours: stops(), size: Vec3::ONE, top: 0.2 };
    let paint = paints.add(Paint { field: images.add(texture([1, 1, 1], vec![0; 4])), look });
    let quad = meshes.add(Rectangle::new(1.0, 1.0));
    for number in 0..MOST {
        let plane = Plane(paint.clone(), number);
        commands.spawn((plane, Mesh3d(quad.clone()), MeshMaterial3d(paint.clone()), Transform::default(), Visibility::Hidden));
    }
}

fn texture(n: [usize; 3], bytes: Vec<u8>) -> Image {
    let size = Extent3d { width: n[0] as u32, height: n[1] as u32, depth_or_array_layers: n[2] as u32 };
    let mut image = Image::new(size, TextureDimension::D3, bytes, TextureFormat::Rg16Float, RenderAssetUsages::default());
    let linear = ImageSamplerDescriptor { mag_filter: ImageFilterMode::Linear, min_filter: ImageFilterMode::Linear, ..default() };
    image.sampler = ImageSampler::Descriptor(linear);
    image
}

/// Put the planes where the desk says.
fn turn(desktop: Res<Desktop>, mut planes: Query<(&mut Transform, &mut Visibility, &Plane)>) {
    let known = desktop.live.snapshot.as_ref().is_some_and(|s| !s.velocity.is_empty());
    let tank = &desktop.document.layout().tank;
    let size = tank.size().with_z(tank.water_level.si());
    for (mut transform, mut visibility, plane) in &mut planes {
        let slice = desktop.desk.all_slices().nth(plane.1).filter(|_| desktop.desk.shown.slice && known);
        visibility.set_if_neq(if slice.is_some() { Visibility::Inherited } else { Visibility::Hidden });
        if let Some(slice) = slice {
            transform.set_if_neq(upright(slice, size));
        }
    }
}

fn upright(slice: Slice, size: DVec3) -> Transform {
    let share = f64::from(slice.share.clamp(0.002, 0.998));
    let mut middle = size / 2.0;
    middle[slice.axis.index()] = size[slice.axis.index()] * share;
    let (wide, high, turn) = match slice.axis {
        Axis::Length => (size.y, size.z, Quat::from_rotation_y(std::f32::consts::FRAC_PI_2)),
        Axis::Width => (size.x, size.z, Quat::IDENTITY),
        Axis::Height => (size.x, size.y, Quat::from_rotation_x(-std::f32::consts::FRAC_PI_2)),
    };
    Transform::from_translation(place(middle)).with_rotation(turn).with_scale(Vec3::new(wide as f32, high as f32, 1.0))
}

/// What the texture holds just now.
#[derive(Default, PartialEq, Clone, Copy)]
struct Filled {
    quantity: Quantity,
    generation: u64,
    time: f64,
    averaged: f64,
    top: f32,
}

fn fill(
    desktop: Res<Desktop>,
    scale: Res<Scale>,
    planes: Query<&Plane>,
    mut paints: ResMut<Assets<Paint>>,
    mut images: ResMut<Assets<Image>>,
    mut filled: Local<Option<Filled>>,
) {
    let (live, desk) = (&desktop.live, &desktop.desk);
    let Some(flow) = live.snapshot.as_ref().filter(|s| desk.shown.slice && s.velocity.len() == s.water.len()) else { return };
    let averaged = if desk.quantity == Quantity::Now { 0.0 } else { flow.averaged };
    let time = if desk.quantity == Quantity::Now { flow.time } else { 0.0 };
    let now = Filled { quantity: desk.quantity, generation: flow.generation, time, averaged, top: scale.slice };
    if *filled == Some(now) {
        return;
    }
    let Some((n, h, bytes)) = bytes(live, desk.quantity) else { return };
    *filled = Some(now);
    if let Some(plane) = planes.iter().next() {
        let Some(mut paint) = paints.get_mut(&plane.0) else { return };
        paint.look.top = scale.slice;
        paint.look.size = Vec3::new(n[0] as f32, n[1] as f32, n[2] as f32) * h as f32;
        let same = images.get(&paint.field).is_some_and(|i| i.texture_descriptor.size == texture_size(n));
        if !same {
            paint.field = images.add(texture(n, bytes.clone()));
        } else if let Some(mut image) = images.get_mut(&paint.field) {
            image.data = Some(bytes.clone());
        }
    }
}

fn texture_size(n: [usize; 3]) -> Extent3d {
    Extent3d { width: n[0] as u32, height: n[1] as u32, depth_or_array_layers: n[2] as u32 }
}

/// Number times water, and water, as half floats.
fn bytes(live: &Live, quantity: Quantity) -> Option<([usize; 3], f64, Vec<u8>)> {
    let flow = live.snapshot.as_ref()?;
    let pairs = |water: &[f32], value: &dyn Fn(usize) -> f32| -> Vec<u8> {
        let halves: Vec<[f16; 2]> = water.iter().enumerate().map(|(c, w)| [f16::from_f32(value(c) * w), f16::from_f32(*w)]).collect();
        bytemuck::cast_slice(&halves).to_vec()
    };
    let Some(fields) = live.fields.as_ref().filter(|_| quantity != Quantity::Now) else {
        let empty = quantity != Quantity::Now;
        return Some((flow.n, flow.h, pairs(&flow.water, &|c| if empty { 0.0 } else { length(flow.velocity[c]) })));
    };
    let values = match quantity {
        Quantity::Rms => &fields.rms,
        Quantity::Peak => &fields.peak,
        Quantity::Still => &fields.share_still,
        Quantity::Now | Quantity::Mean => &fields.mean_speed,
    };
    Some((fields.n, fields.h, pairs(&fields.water, &|c| values[c])))
}
