//! Large pictures of the tank, drawn off screen from where the eye is.

use super::Desktop;
use super::camera::Eye;
use crate::finding::Grade;
use bevy::camera::RenderTarget;
use bevy::prelude::*;
use bevy::render::render_resource::TextureFormat;
use bevy::render::view::screenshot::{Screenshot, ScreenshotCaptured};
use std::path::PathBuf;

/// Pixels of a still.
const SIZE: [u32; 2] = [3840, 2160];
/// Pictures that a new camera needs until everything is drawn.
const WARM_UP: u32 = 4;

/// The still that is being made, if any.
#[derive(Resource, Default)]
pub struct Still(pub Option<PathBuf>);

/// Stills.
pub fn plugin(app: &mut App) {
    app.init_resource::<Still>();
    app.add_systems(Update, (set_up, shoot).chain());
}

/// A second eye that draws into an image.
#[derive(Component)]
struct Lens {
    picture: Handle<Image>,
    path: PathBuf,
    drawn: u32,
}

type Seeing<'a> = (&'a Transform, &'a Projection, &'a Msaa);

fn set_up(
    mut commands: Commands,
    mut still: ResMut<Still>,
    mut images: ResMut<Assets<Image>>,
    eyes: Query<Seeing, With<Eye>>,
    lenses: Query<&Lens>,
) {
    let (Some(path), Ok((place, projection, smooth)), true) = (still.0.clone(), eyes.single(), lenses.is_empty()) else { return };
    still.0 = None;
    let picture = images.add(Image::new_target_texture(SIZE[0], SIZE[1], TextureFormat::Rgba8UnormSrgb, None));
    let mut projection = projection.clone();
    if let Projection::Perspective(lens) = &mut projection {
        lens.aspect_ratio = SIZE[0] as f32 / SIZE[1] as f32;
    }
    let camera = Camera { order: -1, ..default() };
    let flat = bevy::core_pipeline::tonemapping::Tonemapping::None;
    let lens = Lens { picture: picture.clone(), path, drawn: 0 };
    commands.spawn((lens, Camera3d::default(), camera, flat, projection, *smooth, *place, RenderTarget::from(picture)));
}

fn shoot(mut commands: Commands, mut lenses: Query<(Entity, &mut Lens)>) {
    for (entity, mut lens) in &mut lenses {
        lens.drawn += 1;
        if lens.drawn == WARM_UP {
            let path = lens.path.clone();
            commands.spawn(Screenshot::image(lens.picture.clone())).observe(
                move |shot: On<ScreenshotCaptured>, mut desktop: ResMut<Desktop>, mut commands: Commands| {
                    let saved = shot.image.clone().try_into_dynamic().map_err(|e| e.to_string());
                    let saved = saved.and_then(|image| image.to_rgb8().save(&path).map_err(|e| e.to_string()));
                    match saved {
                        Ok(()) => desktop.say(Grade::Note, format!("Picture saved: {}", path.display())),
                        Err(error) => desktop.say(Grade::Fault, format!("No picture: {}: {error}", path.display())),
                    }
                    commands.entity(entity).despawn();
                },
            );
        }
    }
}
