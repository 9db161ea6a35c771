//! Velocity between the faces, and points that move with it.

use super::Flow;

impl Flow {
    /// Velocity at a place by interpolation between faces, m/s; `None` outside the box or inside a solid.
    pub fn sample(&self, place: [f32; 3]) -> Option<[f32; 3]> {
        self.cell_at(place).filter(|cell| self.solids.water[self.grid.index(*cell)] > 0.0)?;
        Some(std::array::from_fn(|component| self.sample_component(component, place)))
    }

    /// The cell that holds a place.
    fn cell_at(&self, place: [f32; 3]) -> Option<[usize; 3]> {
        let inside = (0..3).all(|d| place[d] >= 0.0 && place[d] < self.grid.n[d] as f32 * self.grid.h);
        inside.then(|| std::array::from_fn(|d| ((place[d] / self.grid.h) as usize).min(self.grid.n[d] - 1)))
    }

    fn sample_component(&self, component: usize, place: [f32; 3]) -> f32 {
        let mut low = [0isize; 3];
        let mut part = [0.0; 3];
        for d in 0..3 {
            let x = place[d] / self.grid.h - if d == component { 0.0 } else { 0.5 };
            let last = self.grid.n[d] as f32 - if d == component { 0.0 } else { 1.0 };
            let x = x.clamp(0.0, last.max(0.0));
            low[d] = (x as isize).min((last as isize - 1).max(0));
            part[d] = x - low[d] as f32;
        }
        let at = self.lattice.at(low[0], low[1], low[2]);
        let array = &self.velocity[component];
        let mut value = 0.0;
        for corner in 0..8 {
            let mut weight = 1.0;
            let mut offset = 0;
            for d in 0..3 {
                let high = corner >> d & 1 == 1;
                weight *= if high { part[d] } else { 1.0 - part[d] };
                offset += if high { self.lattice.stride[d] } else { 0 };
            }
            // A corner without weight may lie outside the box.
            value += if weight > 0.0 { weight * array[at + offset] } else { 0.0 };
        }
        value
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
