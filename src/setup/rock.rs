//! Everything in the tank that water can't fill, as one signed distance for the grid and for drawing.

use crate::layout::{
    Layout,
    solid::{self, Solid},
};
use glam::DVec3;

/// The solid parts of a layout: rocks, sand bed, overflow boxes, bracing. Walls and floor are the grid's own sides.
#[derive(Debug, Clone)]
pub struct Solids(Vec<Solid>);

impl Solids {
    /// Of a layout.
    pub fn new(layout: &Layout) -> Self {
        Self(solid::solids(layout))
    }

    /// Only what no water gets through: porous rocks left out.
    pub fn impervious(layout: &Layout) -> Self {
        let is_porous = |part: &str| layout.rocks.iter().any(|rock| rock.porous.is_some() && part == format!("rocks/{}", rock.id));
        Self(solid::solids(layout).into_iter().filter(|solid| !is_porous(&solid.part)).collect())
    }

    /// Signed distance to the nearest solid, m: negative inside, infinite when there is none.
    pub fn distance(&self, point: DVec3) -> f64 {
        solid::distance(&self.0, point)
    }

    /// Each part, to be asked or drawn by itself.
    pub fn parts(&self) -> &[Solid] {
        &self.0
    }

    /// The rocks nearest to a point first, with their signed distances, m.
    pub fn rocks_by_distance(&self, point: DVec3) -> Vec<(&str, f64)> {
        let rocks = self.0.iter().filter_map(|s| s.part.strip_prefix("rocks/").map(|name| (name, s.distance(point))));
        let mut sorted: Vec<_> = rocks.collect();
        sorted.sort_by(|a, b| a.1.total_cmp(&b.1));
        sorted
    }

    /// The first part that a straight line meets on its way `from` a point `to` another, m; `None` when the way is free.
    pub fn in_the_way(&self, from: DVec3, to: DVec3) -> Option<&Solid> {
        const LEAST_STEP: f64 = 2e-3;
        let length = (to - from).length();
        let direction = (to - from).normalize_or_zero();
        let mut along = 0.0;
        while along < length {
            let point = from + direction * along;
            let nearest = self.0.iter().map(|part| (part, part.distance(point))).min_by(|a, b| a.1.total_cmp(&b.1));
            let (part, distance) = nearest?;
            if distance < 0.0 {
                return Some(part);
            }
            along += distance.max(LEAST_STEP);
        }
        None
    }
}

/// Signed distance to everything solid in a layout, m.
pub fn signed_distance(layout: &Layout) -> impl Fn(DVec3) -> f64 + Send + Sync + use<> {
    let solids = Solids::new(layout);
    move |point| solids.distance(point)
}
