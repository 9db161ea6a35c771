//! Surfaces coloured by a quantity: planes through the water that can be moved, and the skins of rock and sand.

use super::sample::{Cells, difference};
use super::scale::Scale;
use super::tracers::stops;
use crate::app::desk::{Axis, Quantity, Slice};
use crate::app::kept::Side;
use crate::app::palette::{self, STOPS};
use crate::app::scene::finish::Finish;
use crate::app::space::{colour, layer, place};
use crate::app::ui::theme::Theme;
use crate::app::{Desktop, Phase};
use crate::study::skin;
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
use rayon::prelude::*;

const SHADER: Handle<Shader> = uuid_handle!("2f0a6a57-2f4c-4d0c-9e0b-6d0c64b1a002");
/// More slices than this are not drawn.
pub const MOST: usize = 6;

/// Slices and skins.
pub fn plugin(app: &mut App) {
    let mut shaders = app.world_mut().resource_mut::<Assets<Shader>>();
    let _ = shaders.insert(&SHADER, Shader::from_wgsl(include_str!("../../../assets/shaders/slice.wgsl"), "slice.wgsl"));
    app.add_plugins(MaterialPlugin::<Paint>::default());
    app.add_systems(Startup, spawn);
    app.add_systems(Update, (turn, fill, dress).chain().in_set(Phase::View).after(super::tracers::advance));
}

#[derive(ShaderType, Clone, Copy, Debug)]
struct PaintLook {
    colours: [Vec4; STOPS],
    bare: Vec4,
    size: Vec3,
    low: f32,
    top: f32,
    lift: f32,
}

/// How a coloured surface is drawn.
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
        if self.look.lift > 0.0 { AlphaMode::Opaque } else { AlphaMode::Blend }
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

/// The paints of a side: of its slices, and of its skins.
struct Paints {
    slice: Handle<Paint>,
    skin: Handle<Paint>,
    filled: Option<Filled>,
}

/// Those of both.
#[derive(Resource)]
struct Palettes([Paints; 2]);

/// A plane that is drawn: which of the slices it is, on which side.
#[derive(Component)]
pub(super) struct Plane(usize, Side);

/// Rock or sand, whose skin can show a quantity.
#[derive(Component)]
pub struct Skinned {
    /// Of which layout.
    pub side: Side,
    /// What it looks like otherwise.
    pub plain: Handle<Finish>,
}

fn spawn(mut commands: Commands, mut meshes: ResMut<Assets<Mesh>>, mut paints: ResMut<Assets<Paint>>, mut images: ResMut<Assets<Image>>) {
    let look = PaintLook { colours: stops(palette::colour), bare: Vec4::ONE, size: Vec3::ONE, low: 0.0, top: 0.2, lift: 0.0 };
    let quad = meshes.add(Rectangle::new(1.0, 1.0));
    let palettes = Side::ALL.map(|side| {
        let field = images.add(texture([1, 1, 1], vec![0; 4]));
        let skin = paints.add(Paint { field: field.clone(), look: PaintLook { lift: 1.0, ..look } });
        let slice = paints.add(Paint { field, look });
        for number in 0..MOST {
            let seen = (Transform::default(), Visibility::Hidden, layer(side));
            commands.spawn((Plane(number, side), Mesh3d(quad.clone()), MeshMaterial3d(slice.clone()), seen));
        }
        Paints { slice, skin, filled: None }
    });
    commands.insert_resource(Palettes(palettes));
}

fn texture(n: [usize; 3], bytes: Vec<u8>) -> Image {
    let size = Extent3d { width: n[0] as u32, height: n[1] as u32, depth_or_array_layers: n[2] as u32 };
    let mut image = Image::new(size, TextureDimension::D3, bytes, TextureFormat::Rg16Float, RenderAssetUsages::default());
    let linear = ImageSamplerDescriptor { mag_filter: ImageFilterMode::Linear, min_filter: ImageFilterMode::Linear, ..default() };
    image.sampler = ImageSampler::Descriptor(linear);
    image
}

/// Put the planes where the desk says.
pub(super) fn turn(desktop: Res<Desktop>, mut planes: Query<(&mut Transform, &mut Visibility, &Plane)>) {
    for (mut transform, mut visibility, plane) in &mut planes {
        let stage = desktop.stage(plane.1).filter(|stage| desktop.desk.shown.slice && stage.live.flow().is_some());
        let slice = stage.and_then(|stage| Some((stage, desktop.desk.all_slices().nth(plane.0)?)));
        visibility.set_if_neq(if slice.is_some() { Visibility::Inherited } else { Visibility::Hidden });
        if let Some((stage, slice)) = slice {
            let tank = &stage.layout.tank;
            transform.set_if_neq(upright(slice, tank.size().with_z(tank.water_level.si())));
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
#[derive(PartialEq, Clone, Copy)]
struct Filled {
    quantity: Quantity,
    differs: bool,
    generation: u64,
    time: f64,
    averaged: f64,
    look: crate::app::desk::Look,
    scale: Scale,
}

fn fill(
    desktop: Res<Desktop>,
    scale: Res<Scale>,
    palettes: Option<ResMut<Palettes>>,
    mut paints: ResMut<Assets<Paint>>,
    mut images: ResMut<Assets<Image>>,
) {
    let Some(mut palettes) = palettes.filter(|_| desktop.desk.colours_surfaces()) else { return };
    for (side, own) in Side::ALL.into_iter().zip(&mut palettes.0) {
        let (desk, stage) = (&desktop.desk, desktop.stage(side));
        let Some(flow) = stage.and_then(|stage| stage.live.flow()) else { continue };
        let differs = desktop.difference().is_some();
        let averages = desk.quantity != Quantity::Now;
        let now = Filled {
            quantity: desk.quantity,
            differs,
            generation: flow.generation,
            time: if averages { 0.0 } else { flow.time },
            averaged: if averages { flow.averaged } else { 0.0 },
            look: desk.look,
            scale: *scale,
        };
        if own.filled == Some(now) {
            continue;
        }
        own.filled = Some(now);
        let field = field(&desktop, side, &paints, own, &mut images);
        for handle in [&own.slice, &own.skin] {
            let Some(mut paint) = paints.get_mut(handle) else { continue };
            if let Some((image, size)) = &field {
                (paint.field, paint.look.size) = (image.clone(), *size);
            }
            (paint.look.low, paint.look.top) = (scale.slice.low, scale.slice.top);
            paint.look.colours = stops(if differs { palette::difference } else { palette::colour });
            if paint.look.lift > 0.0 {
                paint.look.lift = skin::off(flow.h) as f32;
            }
            paint.look.bare = colour(Theme::of(desk.look).rock, 1.0).to_linear().to_vec4();
        }
    }
}

/// The texture with the newest numbers, and its size, m.
fn field(desktop: &Desktop, side: Side, paints: &Assets<Paint>, own: &Paints, images: &mut Assets<Image>) -> Option<(Handle<Image>, Vec3)> {
    let (n, h, bytes) = bytes(desktop, side)?;
    let size = Vec3::new(n[0] as f32, n[1] as f32, n[2] as f32) * h as f32;
    let before = &paints.get(&own.slice)?.field;
    let same = images.get(before).is_some_and(|i| i.texture_descriptor.size == texture_size(n));
    if !same {
        return Some((images.add(texture(n, bytes)), size));
    }
    images.get_mut(before)?.data = Some(bytes);
    Some((before.clone(), size))
}

fn texture_size(n: [usize; 3]) -> Extent3d {
    Extent3d { width: n[0] as u32, height: n[1] as u32, depth_or_array_layers: n[2] as u32 }
}

/// Number times water, and water, as half floats.
fn bytes(desktop: &Desktop, side: Side) -> Option<([usize; 3], f64, Vec<u8>)> {
    let quantity = desktop.desk.quantity;
    let pair = |value: f32, water: f32| [f16::from_f32(value * water), f16::from_f32(water)];
    if let Some((first, second)) = desktop.difference() {
        let (first, second) = (Cells::new(first, quantity)?, Cells::new(second, quantity)?);
        let halves: Vec<[f16; 2]> = difference(&first, &second).into_iter().map(|(value, water)| pair(value, water)).collect();
        return Some((second.n, second.h, bytemuck::cast_slice(&halves).to_vec()));
    }
    let cells = Cells::new(desktop.stage(side)?.live, quantity)?;
    let halves: Vec<[f16; 2]> = cells.water.par_iter().enumerate().map(|(c, w)| pair(cells.at(c), *w)).collect();
    Some((cells.n, cells.h, bytemuck::cast_slice(&halves).to_vec()))
}

type Plain<'a> = (Entity, &'a Skinned, Has<MeshMaterial3d<Paint>>);

/// Skins on, or off.
fn dress(mut commands: Commands, desktop: Res<Desktop>, palettes: Option<Res<Palettes>>, solids: Query<Plain>) {
    let Some(palettes) = palettes else { return };
    for (entity, solid, painted) in &solids {
        let known = desktop.stage(solid.side).is_some_and(|stage| Cells::new(stage.live, desktop.desk.quantity).is_some());
        let wanted = desktop.desk.shown.skin && known;
        if wanted && !painted {
            let skin = MeshMaterial3d(palettes.0[solid.side as usize].skin.clone());
            commands.entity(entity).remove::<MeshMaterial3d<Finish>>().insert(skin);
        } else if !wanted && painted {
            commands.entity(entity).remove::<MeshMaterial3d<Paint>>().insert(MeshMaterial3d(solid.plain.clone()));
        }
    }
}
