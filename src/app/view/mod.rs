//! The running flow as pictures; one picture, one file, one plugin.

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
