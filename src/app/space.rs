//! Tank co-ordinates (z up) to the picture's (y up, the viewer in front), and theme colours to the picture's.

use super::kept::Side;
use bevy::camera::visibility::RenderLayers;
use bevy::prelude::{Color, Vec3};
use bevy_egui::egui::Color32;
use glam::{DMat4, DVec3, DVec4};

/// A place in the tank (m), as the picture has it.
pub fn place(p: DVec3) -> Vec3 {
    Vec3::new(p.x as f32, p.z as f32, -p.y as f32)
}

/// Where the eye of a side sees things.
pub fn layer(side: Side) -> RenderLayers {
    RenderLayers::layer(side as usize)
}

/// The same as a matrix.
pub fn picture_from_tank() -> DMat4 {
    DMat4::from_cols(DVec4::X, DVec4::NEG_Z, DVec4::Y, DVec4::W)
}

/// The same for a place in single precision.
pub fn place_f32(p: [f32; 3]) -> Vec3 {
    Vec3::new(p[0], p[2], -p[1])
}

/// A theme colour, at some opacity.
pub fn colour(c: Color32, opacity: f32) -> Color {
    Color::srgba_u8(c.r(), c.g(), c.b(), (opacity * 255.0) as u8)
}
