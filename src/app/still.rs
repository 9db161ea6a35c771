//! Large pictures of the tank, drawn off screen from where the eye is.

use super::caption::Caption;
use super::lens::{self, Lens, Seeing};
use super::{Desktop, Phase};
use crate::finding::Grade;
use bevy::prelude::*;
use bevy::render::view::screenshot::{Screenshot, ScreenshotCaptured};
use std::path::{Path, PathBuf};

/// Pixels of a still.
const SIZE: [u32; 2] = [3840, 2160];
/// Pictures that a new camera needs until everything is drawn.
pub const WARM_UP: u32 = 4;

/// The still that is wanted, if any.
#[derive(Resource, Default)]
pub struct Still(pub Option<PathBuf>);

/// Stills.
pub fn plugin(app: &mut App) {
    app.init_resource::<Still>();
    app.add_systems(Update, (set_up, shoot).chain().in_set(Phase::Still));
}

/// A still that is being made.
#[derive(Component)]
struct Making {
    lens: Lens,
    path: PathBuf,
    caption: Option<Caption>,
    drawn: u32,
}

fn set_up(
    mut commands: Commands,
    mut still: ResMut<Still>,
    mut images: ResMut<Assets<Image>>,
    desktop: Res<Desktop>,
    eyes: Query<Seeing, lens::Window>,
    making: Query<&Making>,
) {
    let (Some(path), Ok(eye), true) = (still.0.clone(), eyes.single(), making.is_empty()) else { return };
    still.0 = None;
    let lens = Lens::new(&mut commands, &mut images, &desktop, eye, SIZE);
    let wish = &desktop.desk.clip;
    let caption = wish.captions.then(|| Caption::new(&desktop, &wish.words, &lens.rooms));
    commands.spawn(Making { lens, path, caption, drawn: 0 });
}

fn shoot(mut commands: Commands, mut making: Query<(Entity, &mut Making)>) {
    for (entity, mut still) in &mut making {
        still.drawn += 1;
        if still.drawn == WARM_UP {
            let (lens, path, caption) = (still.lens.clone(), still.path.clone(), still.caption.clone());
            commands.spawn(Screenshot::image(lens.picture.clone())).observe(
                move |shot: On<ScreenshotCaptured>, mut desktop: ResMut<Desktop>, mut commands: Commands| {
                    match save(&shot.image, caption.as_ref(), &path) {
                        Ok(()) => desktop.say(Grade::Note, format!("Picture saved: {}", path.display())),
                        Err(error) => desktop.say(Grade::Fault, format!("No picture: {}: {error}", path.display())),
                    }
                    lens.put_away(&mut commands);
                    commands.entity(entity).despawn();
                },
            );
        }
    }
}

fn save(image: &Image, caption: Option<&Caption>, path: &Path) -> Result<(), String> {
    let mut picture = image.clone().try_into_dynamic().map_err(|e| e.to_string())?.to_rgb8();
    let size = [picture.width(), picture.height()];
    if let Some(caption) = caption {
        caption.put_on(&mut picture, size)?;
    }
    picture.save(path).map_err(|e| e.to_string())
}
