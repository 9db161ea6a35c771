//! How finely pictures are drawn. Where the processor draws them, edges are left as they are, all eyes and the panels draw into one canvas, and
//! there are fewer tracers, unless the user wants it otherwise.

use super::camera::{Eye, OtherEye};
use super::{Desktop, Phase, machine};
use bevy::camera::CameraOutputMode;
use bevy::prelude::*;
use bevy::render::render_resource::BlendState;
use bevy_egui::PrimaryEguiContext;

/// Tracers of the full picture, and of the light one. Two layouts share them, and are as dense as one would be.
pub const TRACERS: [usize; 2] = [100_000, 40_000];

/// Follows the machine and the user's wish.
pub fn plugin(app: &mut App) {
    app.world_mut().resource_mut::<Desktop>().desk.software = machine::draws_in_software();
    app.add_systems(Update, follow.in_set(Phase::Fineness));
}

type Eyes = Or<(With<Eye>, With<OtherEye>)>;
type Panels = (With<PrimaryEguiContext>, Without<Eye>, Without<OtherEye>);

fn follow(
    desktop: Res<Desktop>,
    mut drawn: Local<Option<bool>>,
    mut commands: Commands,
    mut eyes: Query<(Entity, &mut Camera), Eyes>,
    mut panels: Query<&mut Camera, Panels>,
) {
    let light = desktop.desk.light();
    if *drawn == Some(light) || eyes.is_empty() || panels.is_empty() {
        return;
    }
    *drawn = Some(light);
    for (eye, mut camera) in &mut eyes {
        commands.entity(eye).insert(if light { Msaa::Off } else { Msaa::Sample4 });
        camera.output_mode = if light { CameraOutputMode::Skip } else { CameraOutputMode::default() };
    }
    for mut camera in &mut panels {
        (camera.clear_color, camera.output_mode) = over(light);
    }
}

/// Panels go straight onto the canvas of the eyes, which is then shown, or onto one of their own, which is laid over what the eyes show.
fn over(light: bool) -> (ClearColorConfig, CameraOutputMode) {
    let (clear, blend) = match light {
        true => (ClearColorConfig::None, BlendState::REPLACE),
        false => (ClearColorConfig::Custom(Color::NONE), BlendState::PREMULTIPLIED_ALPHA_BLENDING),
    };
    (clear, CameraOutputMode::Write { blend_state: Some(blend), clear_color: ClearColorConfig::None })
}
