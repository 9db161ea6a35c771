//! Colonies as soft balls, zones as wire boxes.

use super::kit::Kit;
use crate::app::space::place;
use crate::layout::Layout;
use bevy::prelude::*;

/// Build all of them.
pub fn build(kit: &mut Kit, layout: &Layout) {
    let flesh = kit.flat(kit.theme.colony, 0.45);
    for colony in &layout.colonies {
        let radius = (colony.size.si() / 2.0) as f32;
        if radius.is_finite() && radius > 0.0 {
            let ball = kit.meshes.add(Sphere::new(radius).mesh().uv(24, 14));
            kit.thing(ball, &flesh, Transform::from_translation(place(colony.at.metres())));
        }
    }
    let wire = kit.flat(kit.theme.colony, 0.5);
    for zone in &layout.zones {
        kit.edges(zone.from.metres(), zone.to.metres(), layout.tank.size().max_element() as f32 * 0.0008, &wire);
    }
}
