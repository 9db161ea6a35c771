//! How solids are painted: one colour, shaded by how they face the light, or not at all. Bevy's own material computes reflections that nothing
//! here has, and where the processor draws that is most of a picture's time.

use crate::app::desk::Look;
use bevy::asset::uuid_handle;
use bevy::prelude::*;
use bevy::render::render_resource::{AsBindGroup, ShaderType};
use bevy::shader::ShaderRef;

const SHADER: Handle<Shader> = uuid_handle!("2f0a6a57-2f4c-4d0c-9e0b-6d0c64b1a004");

/// The paint of solids.
pub fn plugin(app: &mut App) {
    let mut shaders = app.world_mut().resource_mut::<Assets<Shader>>();
    let _ = shaders.insert(&SHADER, Shader::from_wgsl(include_str!("../../../assets/shaders/finish.wgsl"), "finish.wgsl"));
    app.add_plugins(MaterialPlugin::<Finish>::default());
}

#[derive(ShaderType, Clone, Copy, Debug)]
struct Coat {
    colour: Vec4,
    /// Brightness of faces in the shade, and what light adds to it.
    shade: f32,
    light: f32,
}

/// How a solid is painted.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug)]
pub struct Finish {
    #[uniform(0)]
    coat: Coat,
}

impl Finish {
    /// The same brightness all over. Solids are closed and only faces toward the viewer are drawn, as dense as if the far ones were too.
    pub fn flat(colour: Color) -> Self {
        let through = 1.0 - colour.alpha();
        let colour = colour.with_alpha(1.0 - through * through);
        Self { coat: Coat { colour: colour.to_linear().to_vec4(), shade: 1.0, light: 0.0 } }
    }

    /// Brighter where it faces the light.
    pub fn lit(colour: Color, look: Look) -> Self {
        let (shade, light) = if look == Look::Dark { (0.35, 1.75) } else { (0.52, 1.59) };
        Self { coat: Coat { colour: colour.to_linear().to_vec4(), shade, light } }
    }
}

impl Material for Finish {
    fn fragment_shader() -> ShaderRef {
        SHADER.into()
    }
    fn alpha_mode(&self) -> AlphaMode {
        if self.coat.colour.w < 1.0 { AlphaMode::Blend } else { AlphaMode::Opaque }
    }
    fn enable_prepass() -> bool {
        false
    }
    fn enable_shadows() -> bool {
        false
    }
}
