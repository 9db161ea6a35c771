//! Lines through the water as ribbons that face the viewer: thin lines of dark colours would be lost on a dark ground.

use crate::app::desk::Look;
use crate::app::space::{colour, place_f32};
use crate::app::ui::theme::Theme;
use bevy::asset::{RenderAssetUsages, uuid_handle};
use bevy::mesh::{Indices, PrimitiveTopology};
use bevy::prelude::*;
use bevy::render::render_resource::AsBindGroup;

const SHADER: Handle<Shader> = uuid_handle!("2f0a6a57-2f4c-4d0c-9e0b-6d0c64b1a005");

/// The paint of ribbons.
pub fn plugin(app: &mut App) {
    let mut shaders = app.world_mut().resource_mut::<Assets<Shader>>();
    let _ = shaders.insert(&SHADER, Shader::from_wgsl(include_str!("../../../assets/shaders/streams.wgsl"), "streams.wgsl"));
    app.add_plugins(MaterialPlugin::<Ribbon>::default());
}

/// How ribbons are drawn: each point in its own colour, between rims.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug)]
pub struct Ribbon {
    #[uniform(0)]
    rim: Vec4,
}

impl Ribbon {
    /// With rims lighter than most lines, which keep them apart from the ground and from each other.
    pub fn on(theme: &Theme) -> Self {
        let rim = if theme.look == Look::Dark { theme.muted } else { theme.panel };
        Self { rim: colour(rim, 1.0).to_linear().to_vec4() }
    }
}

drawn_by!(Ribbon, SHADER);

/// Ribbons along lines of places (m) with their linear colours.
pub fn mesh(lines: &[Vec<([f32; 3], [f32; 4])>]) -> Mesh {
    let (mut places, mut ways, mut sides, mut colours, mut corners) = (Vec::new(), Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for line in lines.iter().filter(|line| line.len() > 1) {
        let points: Vec<Vec3> = line.iter().map(|(place, _)| place_f32(*place)).collect();
        for (i, at) in points.iter().enumerate() {
            let way = (points[(i + 1).min(points.len() - 1)] - points[i.saturating_sub(1)]).normalize_or_zero();
            let first = places.len() as u32;
            if i + 1 < points.len() {
                corners.extend([0, 2, 3, 0, 3, 1].map(|corner| first + corner));
            }
            places.extend([*at; 2]);
            ways.extend([way; 2]);
            sides.extend([[-1.0_f32, 0.0], [1.0, 0.0]]);
            colours.extend([line[i].1; 2]);
        }
    }
    Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::RENDER_WORLD)
        .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, places)
        .with_inserted_attribute(Mesh::ATTRIBUTE_NORMAL, ways)
        .with_inserted_attribute(Mesh::ATTRIBUTE_UV_0, sides)
        .with_inserted_attribute(Mesh::ATTRIBUTE_COLOR, colours)
        .with_inserted_indices(Indices::U32(corners))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_of_three_points_has_two_pieces() {
        let line = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [1.0, 1.0, 0.0]].map(|place| (place, [1.0; 4]));
        let mesh = mesh(&[line.to_vec(), line[..1].to_vec()]);
        assert_eq!((mesh.count_vertices(), mesh.indices().map(Indices::len)), (6, Some(12)));
    }
}
