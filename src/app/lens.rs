//! Eyes that draw what is in sight into an image of any size, for stills and clips.

use super::camera::Eye;
use super::kept::Side;
use super::{Desktop, space};
use bevy::camera::{RenderTarget, Viewport};
use bevy::core_pipeline::tonemapping::Tonemapping;
use bevy::prelude::*;
use bevy::render::render_resource::TextureFormat;
use bevy_egui::egui::{Pos2, Rect};
use bevy_panorbit_camera::PanOrbitCamera;

/// A pair of eyes, or one, and what they draw into.
#[derive(Debug, Clone)]
pub struct Lens {
    /// What they draw.
    pub picture: Handle<Image>,
    /// The eyes.
    pub eyes: Vec<Entity>,
    /// Lower left corners of what each sees, shares of the picture.
    pub rooms: Vec<(Side, [f32; 2])>,
    /// From where the tank is seen, and around what the eye turns.
    pub from: Transform,
    /// The middle of what is looked at.
    pub focus: Vec3,
}

/// The eye of the window.
pub type Seeing<'a> = (&'a Transform, &'a Projection, &'a Msaa, &'a PanOrbitCamera);

impl Lens {
    /// As the window sees the tank now.
    pub fn new(
        commands: &mut Commands,
        images: &mut Assets<Image>,
        desktop: &Desktop,
        (place, projection, smooth, orbit): Seeing,
        size: [u32; 2],
    ) -> Self {
        let mut image = Image::new_target_texture(size[0], size[1], TextureFormat::Rgba8UnormSrgb, None);
        image.texture_descriptor.usage |= bevy::render::render_resource::TextureUsages::COPY_SRC;
        let picture = images.add(image);
        let whole = Rect::from_min_max(Pos2::ZERO, Pos2::new(size[0] as f32, size[1] as f32));
        let panes = desktop.panes(whole);
        let rooms: Vec<(Side, Rect)> = panes.kept.map(|room| (Side::Kept, room)).into_iter().chain([(Side::Own, panes.own)]).collect();
        let eye = |(order, (side, room)): (usize, &(Side, Rect))| {
            let viewport = Viewport {
                physical_position: UVec2::new(room.min.x as u32, room.min.y as u32),
                physical_size: UVec2::new(room.width() as u32, room.height() as u32),
                ..default()
            };
            let clear_color = if order == 0 { ClearColorConfig::Default } else { ClearColorConfig::None };
            let camera = Camera { order: order as isize - 8, viewport: Some(viewport), clear_color, ..default() };
            let target = RenderTarget::from(picture.clone());
            let seen = (Camera3d::default(), camera, Tonemapping::None, projection.clone(), *smooth, *place, target, space::layer(*side));
            commands.spawn((seen, OffScreen)).id()
        };
        let eyes = rooms.iter().enumerate().map(eye).collect();
        let low = |room: &Rect| [room.min.x / size[0] as f32, room.max.y / size[1] as f32];
        let rooms = rooms.iter().map(|(side, room)| (*side, low(room))).collect();
        Self { picture, eyes, rooms, from: *place, focus: orbit.focus }
    }

    /// Take it away.
    pub fn put_away(&self, commands: &mut Commands) {
        self.eyes.iter().for_each(|eye| commands.entity(*eye).despawn());
    }
}

/// Marks eyes that draw no window.
#[derive(Component)]
pub struct OffScreen;

/// The window's own eye.
pub type Window = With<Eye>;
