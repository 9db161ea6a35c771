//! The running flow as pictures; one picture, one file, one plugin.

/// Makes a type the material of what one shader places and colours, without a pass of its own for depth or shadows.
macro_rules! drawn_by {
    ($material:ty, $shader:expr) => {
        impl bevy::prelude::Material for $material {
            fn vertex_shader() -> bevy::shader::ShaderRef {
                $shader.into()
            }
            fn fragment_shader() -> bevy::shader::ShaderRef {
                $shader.into()
            }
            fn enable_prepass() -> bool {
                false
            }
            fn enable_shadows() -> bool {
                false
            }
        }
    };
}

pub mod arrows;
mod dart;
pub mod dead_spots;
pub mod drift;
mod ribbon;
pub mod sample;
pub mod scale;
pub mod slice;
pub mod streams;
pub mod tracers;

use bevy::prelude::*;

/// All pictures.
pub fn plugin(app: &mut App) {
    app.add_plugins((scale::plugin, tracers::plugin, slice::plugin, arrows::plugin, dead_spots::plugin, ribbon::plugin, streams::plugin));
}
