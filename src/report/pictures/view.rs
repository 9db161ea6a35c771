//! Ways to look at a tank, and the plane of numbers that each shows.

use crate::study::Fields;
use glam::DVec3;

/// Where the viewer stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Over the tank: the length to the right, the back up.
    Above,
    /// At the front: the length to the right, up is up.
    Front,
    /// At the right end: the front at the left hand, up is up.
    Right,
}

/// Which water along the line of sight is shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Depth {
    /// One layer, at this distance along the line of sight's axis, m.
    Cut(f64),
    /// The mean of all of it.
    Mean,
}

/// A way to look at the tank.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// From where.
    pub side: Side,
    /// Which water.
    pub depth: Depth,
}

impl Side {
    /// The tank's axes (0 x, 1 y, 2 z) that run right and up in the picture, and along the line of sight.
    pub fn axes(self) -> [usize; 3] {
        match self {
            Self::Above => [0, 1, 2],
            Self::Front => [0, 2, 1],
            Self::Right => [1, 2, 0],
        }
    }

    /// For titles.
    pub fn words(self) -> &'static str {
        match self {
            Self::Above => "seen from above",
            Self::Front => "seen from the front",
            Self::Right => "seen from the right end",
        }
    }

    /// What lies at the left, right, lower and upper edge of the picture.
    pub fn edges(self) -> [&'static str; 4] {
        match self {
            Self::Above => ["left end", "right end", "front", "back"],
            Self::Front => ["left end", "right end", "floor", ""],
            Self::Right => ["front", "back", "floor", ""],
        }
    }

    /// A vector's or point's parts right, up, and away from the viewer.
    pub fn project(self, p: DVec3) -> [f64; 3] {
        match self {
            Self::Above => [p.x, p.y, -p.z],
            Self::Front => [p.x, p.z, p.y],
            Self::Right => [p.y, p.z, -p.x],
        }
    }

    /// The point of the tank at `right`, `up` of the picture and `along` the line of sight's axis.
    pub fn point(self, right: f64, up: f64, along: f64) -> DVec3 {
        match self {
            Self::Above => DVec3::new(right, up, along),
            Self::Front => DVec3::new(right, along, up),
            Self::Right => DVec3::new(along, right, up),
        }
    }
}

/// A plane of cells: what a view shows, ready to be sampled. Row 0 is the lowest.
#[derive(Debug, Clone)]
pub struct Plane {
    /// Cells right and up.
    pub n: [usize; 2],
    /// Cell edge, m.
    pub h: f64,
    /// Share of the cell that is water (of the layer, or of all layers).
    pub water: Vec<f32>,
    /// Time-mean speed, m/s.
    pub speed: Vec<f32>,
    /// Time-mean velocity right and up, m/s.
    pub velocity: Vec<[f32; 2]>,
    /// Lowest rank of a dead spot in the shown layers, 0 for none.
    pub dead: Vec<u16>,
    /// Lowest rank of a dead spot anywhere along the line of sight, 0 for none.
    pub dead_anywhere: Vec<u16>,
}

impl Plane {
    /// Read the fields as `view` sees them.
    pub fn new(fields: &Fields, view: View) -> Self {
        let [a, b, c] = view.side.axes();
        let n = [fields.n[a], fields.n[b]];
        let layers = layers(fields, view.depth, c);
        let cells = n[0] * n[1];
        let mut plane = Self {
            n,
            h: fields.h,
            water: vec![0.0; cells],
            speed: vec![0.0; cells],
            velocity: vec![[0.0; 2]; cells],
            dead: vec![0; cells],
            dead_anywhere: vec![0; cells],
        };
        for row in 0..n[1] {
            for column in 0..n[0] {
                let index = |layer| cell_index(fields, [a, b, c], [column, row, layer]);
                plane.fill(column + n[0] * row, fields, [a, b], &mut layers.clone().map(index));
                plane.dead_anywhere[column + n[0] * row] = lowest_rank((0..fields.n[c]).map(|layer| fields.dead[index(layer)]));
            }
        }
        plane
    }

    fn fill(&mut self, at: usize, fields: &Fields, [a, b]: [usize; 2], cells: &mut (impl Iterator<Item = usize> + Clone)) {
        let (mut water, mut speed, mut velocity, mut count) = (0.0, 0.0, [0.0; 2], 0);
        for cell in cells.clone() {
            let w = fields.water[cell];
            water += w;
            speed += w * fields.mean_speed[cell];
            velocity[0] += w * fields.mean_velocity[cell][a];
            velocity[1] += w * fields.mean_velocity[cell][b];
            count += 1;
        }
        self.water[at] = water / count.max(1) as f32;
        if water > 0.0 {
            self.speed[at] = speed / water;
            self.velocity[at] = velocity.map(|v| v / water);
        }
        self.dead[at] = lowest_rank(cells.map(|cell| fields.dead[cell]));
    }

    /// Speed at a place of the plane, m, between cell middles by straight lines over the water only; `None` in rock.
    pub fn speed_at(&self, right: f64, up: f64) -> Option<f64> {
        let (mut sum, mut weight) = (0.0, 0.0);
        for (cell, share) in self.corners(right, up) {
            let w = share * f64::from(self.water[cell]);
            sum += w * f64::from(self.speed[cell]);
            weight += w;
        }
        (weight > 1e-6).then(|| sum / weight)
    }

    /// The four nearest cells and their shares.
    fn corners(&self, right: f64, up: f64) -> [(usize, f64); 4] {
        let place = |x: f64, n: usize| {
            let x = (x / self.h - 0.5).clamp(0.0, (n - 1) as f64);
            let low = (x.floor() as usize).min(n.saturating_sub(2));
            (low, (low + 1).min(n - 1), x - low as f64)
        };
        let ((i0, i1, s), (j0, j1, t)) = (place(right, self.n[0]), place(up, self.n[1]));
        let at = |i, j| i + self.n[0] * j;
        [(at(i0, j0), (1.0 - s) * (1.0 - t)), (at(i1, j0), s * (1.0 - t)), (at(i0, j1), (1.0 - s) * t), (at(i1, j1), s * t)]
    }
}

fn layers(fields: &Fields, depth: Depth, axis: usize) -> std::ops::Range<usize> {
    match depth {
        Depth::Mean => 0..fields.n[axis],
        Depth::Cut(at) => {
            let layer = ((at / fields.h).floor().max(0.0) as usize).min(fields.n[axis].saturating_sub(1));
            layer..layer + 1
        }
    }
}

fn cell_index(fields: &Fields, axes: [usize; 3], place: [usize; 3]) -> usize {
    let mut cell = [0; 3];
    for (axis, at) in axes.into_iter().zip(place) {
        cell[axis] = at;
    }
    fields.index(cell)
}

fn lowest_rank(ranks: impl Iterator<Item = u16>) -> u16 {
    ranks.filter(|rank| *rank > 0).min().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fields() -> Fields {
        let n = [3, 2, 2];
        let speed = (0..12).map(|i| i as f32).collect();
        let mut dead = vec![0; 12];
        dead[11] = 2;
        Fields { n, h: 0.1, water: vec![1.0; 12], mean_velocity: vec![[1.0, 2.0, 3.0]; 12], mean_speed: speed, dead, ..Fields::default() }
    }

    #[test]
    fn each_side_picks_its_own_axes() {
        let plane = Plane::new(&fields(), View { side: Side::Right, depth: Depth::Cut(0.25) });
        assert_eq!((plane.n, plane.speed.as_slice()), ([2, 2], [2.0, 5.0, 8.0, 11.0].as_slice()));
        assert_eq!(plane.velocity[0], [2.0, 3.0]);
        let mean = Plane::new(&fields(), View { side: Side::Above, depth: Depth::Mean });
        assert_eq!((mean.speed[0], mean.dead_anywhere[5]), (3.0, 2));
    }

    #[test]
    fn speed_is_linear_between_middles() {
        let plane = Plane::new(&fields(), View { side: Side::Front, depth: Depth::Cut(0.0) });
        assert!((plane.speed_at(0.10, 0.05).unwrap() - 0.5).abs() < 1e-9);
        assert!((plane.speed_at(0.05, 0.10).unwrap() - 3.0).abs() < 1e-9);
    }
}
