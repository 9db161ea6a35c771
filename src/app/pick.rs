//! What lies under the pointer in the tank.

use super::part::{List, Part};
use super::sight::Ray;
use crate::layout::Layout;
use crate::layout::solid::Solid;
use glam::DVec3;

/// Solids that can be picked: rock, braces, overflow boxes.
pub fn solids(layout: &Layout) -> Vec<(Part, Solid)> {
    let part = |list: List| move |index: usize| Part { list, index };
    let rim = layout.tank.height.si();
    let rocks = layout.rocks.iter().enumerate().map(|(i, r)| (part(List::Rocks)(i), Solid::rock(r)));
    let bars = layout.tank.bracing.iter().enumerate().map(|(i, b)| (part(List::Bracing)(i), Solid::bar(b)));
    let boxes = layout.overflows.iter().enumerate().map(|(i, o)| (part(List::Overflows)(i), Solid::overflow(o, rim)));
    rocks.chain(bars).chain(boxes).collect()
}

/// The first of some solids that a line of sight meets, and where, m.
pub fn first(solids: &[(Part, Solid)], ray: Ray, farthest: f64) -> Option<(Part, DVec3)> {
    let hits = solids.iter().filter_map(|(part, solid)| Some((*part, meets(solid, ray, farthest)?)));
    hits.min_by(|a, b| a.1.distance(ray.from).total_cmp(&b.1.distance(ray.from)))
}

/// Where a line of sight first meets a solid, m.
pub fn meets(solid: &Solid, ray: Ray, farthest: f64) -> Option<DVec3> {
    const CLOSE: f64 = 1e-3;
    let mut along = 0.0;
    // Distances are never more than the true ones, so that stepping by them can't jump over the surface.
    for _ in 0..300 {
        let at = ray.from + ray.along * along;
        let distance = solid.distance(at);
        if distance < CLOSE {
            return Some(at);
        }
        along += distance;
        if along > farthest {
            return None;
        }
    }
    None
}

/// What a jet can be aimed at under the pointer: rock, or else the sand, the floor or the far panel, m.
pub fn target(layout: &Layout, ray: Ray) -> Option<DVec3> {
    target_among(layout, &solids(layout), ray)
}

/// The same with solids that are known already.
pub fn target_among(layout: &Layout, solids: &[(Part, Solid)], ray: Ray) -> Option<DVec3> {
    let size = layout.tank.size();
    let farthest = (ray.from - size / 2.0).length() + size.length();
    first(solids, ray, farthest).map(|(_, at)| at).or_else(|| leaves(layout, ray))
}

/// Where a line of sight leaves the water's box, m.
fn leaves(layout: &Layout, ray: Ray) -> Option<DVec3> {
    let floor = layout.sand.as_ref().map_or(0.0, |s| s.depth.si());
    let (low, high) = (DVec3::new(0.0, 0.0, floor), layout.tank.size());
    let (a, b) = ((low - ray.from) / ray.along, (high - ray.from) / ray.along);
    let (enter, exit) = (a.min(b).max_element(), a.max(b).min_element());
    (enter < exit && exit > 0.0).then(|| ray.from + ray.along * exit)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearer_rock_is_picked() {
        let layout = crate::layout::demo();
        let solids = solids(&layout);
        let rock = layout.rocks[0].at.metres();
        let above = Ray { from: rock + DVec3::Z * 3.0, along: -DVec3::Z };
        let (part, at) = first(&solids, above, 10.0).expect("met");
        let distance = solids.iter().find(|(p, _)| *p == part).map(|(_, s)| s.distance(at)).expect("there");
        assert!(distance.abs() < 2e-3);
        assert!(first(&solids, Ray { from: above.from, along: DVec3::Z }, 10.0).is_none());
    }

    #[test]
    fn past_all_rock_the_far_panel_is_met() {
        let mut layout = crate::layout::demo();
        layout.rocks.clear();
        layout.overflows.clear();
        layout.tank.bracing.clear();
        let size = layout.tank.size();
        let ray = Ray { from: DVec3::new(size.x * 0.5, -3.0, size.z * 0.5), along: DVec3::Y };
        let at = target(&layout, ray).expect("met");
        assert!(at.distance(DVec3::new(size.x * 0.5, size.y, size.z * 0.5)) < 1e-9, "{at}");
    }
}
