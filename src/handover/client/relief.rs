//! Rock and sand as they look from above and from the front: for each pixel the first solid surface along the line of sight.

use crate::layout::Layout;
use crate::layout::solid::{Solid, solids};
use glam::DVec3;
use rayon::prelude::*;

/// From where.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Over the tank: the back up.
    Above,
    /// At the front.
    Front,
}

/// Water without anything solid behind it.
const WATER: [f64; 3] = [18.0, 34.0, 46.0];
const ROCK: [f64; 3] = [150.0, 138.0, 126.0];
const SAND: [f64; 3] = [120.0, 110.0, 90.0];
const FITTED: [f64; 3] = [84.0, 98.0, 108.0];
/// Shortest step along the line of sight, m.
const LEAST_STEP: f64 = 1e-3;

/// A picture of what is solid.
#[derive(Debug, Clone)]
pub struct Relief {
    /// From where it is seen.
    pub side: Side,
    /// Pixels to a metre.
    pub scale: f64,
    /// Pixels across.
    pub width: usize,
    /// Pixels up.
    pub height: usize,
    /// sRGB of each pixel, from the top left.
    pub colours: Vec<[u8; 3]>,
    /// Distance from the viewer's side of the tank to the first solid, m.
    pub depths: Vec<f32>,
}

impl Side {
    /// Sizes of the picture and along the line of sight, m, of a tank of this size.
    pub fn sizes(self, size: DVec3) -> [f64; 3] {
        match self {
            Self::Above => [size.x, size.y, size.z],
            Self::Front => [size.x, size.z, size.y],
        }
    }

    /// Right, up and depth of a place in a tank of this size, m.
    pub fn seen(self, place: DVec3, size: DVec3) -> [f64; 3] {
        match self {
            Self::Above => [place.x, place.y, size.z - place.z],
            Self::Front => [place.x, place.z, place.y],
        }
    }

    fn place(self, [right, up, depth]: [f64; 3], size: DVec3) -> DVec3 {
        match self {
            Self::Above => DVec3::new(right, up, size.z - depth),
            Self::Front => DVec3::new(right, depth, up),
        }
    }

    fn along(self) -> DVec3 {
        match self {
            Self::Above => DVec3::NEG_Z,
            Self::Front => DVec3::Y,
        }
    }
}

impl Relief {
    /// Of a layout, from a side, with so many pixels to a metre.
    pub fn new(layout: &Layout, side: Side, scale: f64) -> Self {
        let size = layout.tank.size();
        let [across, up, far] = side.sizes(size);
        let (width, height) = ((across * scale).round().max(1.0) as usize, (up * scale).round().max(1.0) as usize);
        let parts: Vec<Solid> = solids(layout).into_iter().filter(|part| !part.part.starts_with("tank/")).collect();
        let pixel = |index: usize| {
            let right = (index % width) as f64 + 0.5;
            let down = (index / width) as f64 + 0.5;
            sight(&parts, side, [right / scale, up - down / scale], far, size)
        };
        let (colours, depths) = (0..width * height).into_par_iter().map(pixel).unzip();
        Self { side, scale, width, height, colours, depths }
    }

    /// Whether a place with this right, up and depth (m) can be seen.
    pub fn shows(&self, [right, up, depth]: [f64; 3]) -> bool {
        let (column, row) = ((right * self.scale) as usize, (self.height as f64 - up * self.scale) as usize);
        column < self.width && row < self.height && depth <= f64::from(self.depths[column + self.width * row]) + 0.01
    }
}

fn sight(parts: &[Solid], side: Side, [right, up]: [f64; 2], far: f64, size: DVec3) -> ([u8; 3], f32) {
    let mut depth = 0.0;
    while depth < far {
        let at = side.place([right, up, depth], size);
        let Some((part, away)) = nearest(parts, at) else { break };
        if away < LEAST_STEP {
            return (lit(parts, part, at, side, depth / far), depth as f32);
        }
        depth += away;
    }
    (WATER.map(|x| x as u8), far as f32)
}

fn nearest(parts: &[Solid], at: DVec3) -> Option<(&Solid, f64)> {
    parts.iter().map(|part| (part, part.distance(at))).min_by(|a, b| a.1.total_cmp(&b.1))
}

fn lit(parts: &[Solid], part: &Solid, at: DVec3, side: Side, depth: f64) -> [u8; 3] {
    const REACH: f64 = 2e-3;
    let slope = |axis: DVec3| part.distance(at + axis * REACH) - part.distance(at - axis * REACH);
    let normal = DVec3::new(slope(DVec3::X), slope(DVec3::Y), slope(DVec3::Z)).normalize_or(DVec3::Z);
    let open = (nearest(parts, at + normal * 0.05).map_or(1.0, |(_, away)| away / 0.05)).clamp(0.0, 1.0);
    let light = 0.26 + 0.5 * normal.dot(DVec3::new(-0.35, -0.45, 0.82)).max(0.0) + 0.3 * normal.dot(-side.along()).max(0.0);
    let ground = match part.part.as_str() {
        "sand" => SAND,
        p if p.starts_with("rocks/") => ROCK,
        _ => FITTED,
    };
    let shade = light * (0.5 + 0.5 * open) * (1.0 - 0.35 * depth);
    ground.map(|x| (x * shade).clamp(0.0, 255.0) as u8)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sides_see_what_is_nearest() {
        let size = DVec3::new(2.0, 1.0, 0.8);
        for side in [Side::Above, Side::Front] {
            let place = DVec3::new(0.3, 0.2, 0.1);
            assert!((side.place(side.seen(place, size), size) - place).length() < 1e-12);
        }
        let mut layout = crate::layout::demo();
        layout.overflows.clear();
        layout.rocks = ron::from_str(r#"[(id:"block",shape:box(size:("0.2 m","0.2 m","0.2 m")),at:("0.5 m","0.3 m","0.1 m"))]"#).unwrap();
        let size = layout.tank.size();
        let relief = Relief::new(&layout, Side::Front, 200.0);
        assert!(relief.shows([0.5, 0.2, 0.19]) && !relief.shows([0.5, 0.2, 0.25]));
        let above = Relief::new(&layout, Side::Above, 200.0);
        assert!(above.shows([0.5, 0.3, size.z - 0.31]) && !above.shows([0.5, 0.3, size.z - 0.2]));
    }
}
