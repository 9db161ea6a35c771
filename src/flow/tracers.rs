//! Velocity between the faces, and points that move with it.

use super::Flow;

impl Flow {
    /// Velocity at a place by interpolation between faces, m/s; `None` outside the box or inside a solid.
    pub fn sample(&self, place: [f32; 3]) -> Option<[f32; 3]> {
        self.cell_at(place).filter(|cell| self.solids.water[self.grid.index(*cell)] > 0.0)?;
        Some(std::array::from_fn(|component| self.sample_component(component, place)))
    }

    /// The same by straight lines, eight values for 64: for those who ask often.
    pub(super) fn sample_roughly(&self, place: [f32; 3]) -> Option<[f32; 3]> {
        self.cell_at(place).filter(|cell| self.solids.water[self.grid.index(*cell)] > 0.0)?;
        Some(std::array::from_fn(|component| self.straight(component, place)))
    }

    /// The cell that holds a place.
    fn cell_at(&self, place: [f32; 3]) -> Option<[usize; 3]> {
        let inside = (0..3).all(|d| place[d] >= 0.0 && place[d] < self.grid.n[d] as f32 * self.grid.h);
        inside.then(|| std::array::from_fn(|d| ((place[d] / self.grid.h) as usize).min(self.grid.n[d] - 1)))
    }

    /// By Catmull and Rom's cubic along each axis, exact for parabolas; never outside the range of the eight nearest values, so that nothing
    /// overshoots beside a wall.
    fn sample_component(&self, component: usize, place: [f32; 3]) -> f32 {
        let (low, part) = self.between(component, place);
        let weights = part.map(cubic);
        let array = &self.velocity[component];
        let (mut value, mut least, mut most) = (0.0, f32::MAX, f32::MIN);
        for k in 0..4 {
            for j in 0..4 {
                let at = self.lattice.at(low[0] - 1, low[1] + j as isize - 1, low[2] + k as isize - 1);
                let row = &array[at..][..4];
                let along: f32 = (0..4).map(|i| weights[0][i] * row[i]).sum();
                value += weights[1][j] * weights[2][k] * along;
                if (1..3).contains(&j) && (1..3).contains(&k) {
                    (least, most) = (least.min(row[1]).min(row[2]), most.max(row[1]).max(row[2]));
                }
            }
        }
        value.max(least).min(most)
    }

    fn straight(&self, component: usize, place: [f32; 3]) -> f32 {
        let (low, part) = self.between(component, place);
        let (at, array) = (self.lattice.at(low[0], low[1], low[2]), &self.velocity[component]);
        let [sx, sy, sz] = self.lattice.stride;
        let along = |at: usize| array[at] + part[0] * (array[at + sx] - array[at]);
        let across = |at: usize| along(at) + part[1] * (along(at + sy) - along(at));
        across(at) + part[2] * (across(at + sz) - across(at))
    }

    /// The nearest values of a component on the low side, and how far on a place lies, in cells.
    fn between(&self, component: usize, place: [f32; 3]) -> ([isize; 3], [f32; 3]) {
        let (mut low, mut part) = ([0; 3], [0.0; 3]);
        for d in 0..3 {
            let x = place[d] / self.grid.h - if d == component { 0.0 } else { 0.5 };
            let last = self.grid.n[d] as f32 - if d == component { 0.0 } else { 1.0 };
            let x = x.clamp(0.0, last.max(0.0));
            low[d] = (x as isize).min((last as isize - 1).max(0));
            part[d] = x - low[d] as f32;
        }
        (low, part)
    }

    /// Where a point that moves with the water is after `dt` seconds (midpoint rule); `None` once it has left the water.
    pub fn carry(&self, place: [f32; 3], dt: f32) -> Option<[f32; 3]> {
        let here = self.sample(place)?;
        let middle = std::array::from_fn(|d| place[d] + 0.5 * dt * here[d]);
        let there = self.sample(middle)?;
        let end = std::array::from_fn(|d| place[d] + dt * there[d]);
        self.sample(end).map(|_| end)
    }
}

/// Weights of four values, at −1, 0, 1 and 2, for the one at t between 0 and 1.
fn cubic(t: f32) -> [f32; 4] {
    let (t2, t3) = (t * t, t * t * t);
    [-t + 2.0 * t2 - t3, 2.0 - 5.0 * t2 + 3.0 * t3, t + 4.0 * t2 - 3.0 * t3, t3 - t2].map(|weight| 0.5 * weight)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::{Grid, Physics, Ports};

    #[test]
    fn parabolas_are_read_exactly_and_nothing_overshoots() {
        let (h, n) = (0.1, [8, 6, 6]);
        let mut flow = Flow::new(Grid { n, h }, &|_| 1.0, Ports::default(), Physics { noise: 0.0, ..Physics::tank(1e-6, 1) });
        let speed = |p: [f32; 3]| p[0] * p[0] + 0.5 * p[1] - p[2] * p[1];
        flow.set_velocity(&|p| [speed(p), 0.0, 0.0]);
        for place in [[0.31, 0.3, 0.3], [0.45, 0.22, 0.37], [0.4, 0.25, 0.35]] {
            let got = flow.sample(place).unwrap()[0];
            assert!((got - speed(place)).abs() < 2e-5, "{place:?}: {got}, not {}", speed(place));
        }
        flow.set_velocity(&|p| [if p[0] < 0.45 { 1.0 } else { 0.0 }, 0.0, 0.0]);
        for step in 0..30 {
            let got = flow.sample([0.3 + 0.01 * step as f32, 0.3, 0.3]).unwrap()[0];
            assert!((0.0..=1.0).contains(&got), "{got}");
        }
    }
}
