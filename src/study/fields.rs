//! The fields of a study: one number per cell, x fastest.

use serde::{Deserialize, Serialize};

/// Time averages per cell. Every array has `n[0] * n[1] * n[2]` entries, index `i + n[0] * (j + n[1] * k)`; cell (i, j, k) has
/// its middle at `((i + 0.5) h, (j + 0.5) h, (k + 0.5) h)`. Entries of cells without water are zero.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Fields {
    /// Cells along x, y, z.
    pub n: [usize; 3],
    /// Cell edge, m.
    pub h: f64,
    /// Share of the cell that is open water, 0 to 1.
    pub water: Vec<f32>,
    /// Time-mean velocity, m/s.
    pub mean_velocity: Vec<[f32; 3]>,
    /// Time-mean speed, m/s: the mean of |u|, not the size of the mean.
    pub mean_speed: Vec<f32>,
    /// Root mean square of the velocity's fluctuation, all three components together, turbulence of jets included, m/s.
    pub rms: Vec<f32>,
    /// Highest speed of all samples, m/s; in jets with three standard deviations of their turbulence.
    pub peak: Vec<f32>,
    /// Share of the time under the dead speed, 0 to 1.
    pub share_still: Vec<f32>,
    /// Speed that is not exceeded for 95 % of the time, m/s; empty when it wasn't gathered.
    #[serde(default)]
    pub p95: Vec<f32>,
    /// Longest time without a sample over the dead speed, s; empty when it wasn't gathered.
    #[serde(default)]
    pub longest_still: Vec<f32>,
    /// Turns of the direction by more than a right angle per joint cycle; empty when it wasn't gathered.
    #[serde(default)]
    pub reversals: Vec<f32>,
    /// Standard error of the time-mean speed by batch means, m/s; empty when fewer than two batches were averaged.
    #[serde(default)]
    pub standard_error: Vec<f32>,
    /// Mean age of the water since it left a nozzle, s; empty when it wasn't asked for.
    #[serde(default)]
    pub age: Vec<f32>,
    /// Share of all detritus followed that lies in the cell at the end; empty when it wasn't asked for.
    #[serde(default)]
    pub settled: Vec<f32>,
    /// Dead spot that the cell belongs to: 0 none, else its rank.
    pub dead: Vec<u16>,
}

impl Fields {
    /// All cells, with water or without.
    pub fn len(&self) -> usize {
        self.n[0] * self.n[1] * self.n[2]
    }

    /// No cells at all.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Index of cell (i, j, k).
    pub fn index(&self, cell: [usize; 3]) -> usize {
        cell[0] + self.n[0] * (cell[1] + self.n[1] * cell[2])
    }

    /// Cell (i, j, k) of an index.
    pub fn cell(&self, index: usize) -> [usize; 3] {
        [index % self.n[0], index / self.n[0] % self.n[1], index / (self.n[0] * self.n[1])]
    }

    /// Middle of a cell, m.
    pub fn centre(&self, index: usize) -> [f64; 3] {
        self.cell(index).map(|c| (c as f64 + 0.5) * self.h)
    }

    /// Open water in a cell, m³.
    pub fn volume(&self, index: usize) -> f64 {
        f64::from(self.water[index]) * self.h.powi(3)
    }

    /// Open water in all cells, m³.
    pub fn water_volume(&self) -> f64 {
        self.water.iter().map(|&w| f64::from(w)).sum::<f64>() * self.h.powi(3)
    }

    /// Takes cells out of the water: nothing of theirs counts any more.
    pub fn take_out(&mut self, cells: &[usize]) {
        let scalars = [
            &mut self.water,
            &mut self.mean_speed,
            &mut self.rms,
            &mut self.peak,
            &mut self.share_still,
            &mut self.p95,
            &mut self.longest_still,
            &mut self.reversals,
            &mut self.standard_error,
        ];
        for values in scalars.into_iter().filter(|values| !values.is_empty()) {
            cells.iter().for_each(|&cell| values[cell] = 0.0);
        }
        if !self.mean_velocity.is_empty() {
            cells.iter().for_each(|&cell| self.mean_velocity[cell] = [0.0; 3]);
        }
    }

    /// The volume mean over the open water of a number per cell; 0 without water.
    pub fn volume_mean(&self, value: impl Fn(usize) -> f64) -> f64 {
        let (mut sum, mut water) = (0.0, 0.0);
        for (index, &w) in self.water.iter().enumerate().filter(|&(_, &w)| w > 0.0) {
            sum += f64::from(w) * value(index);
            water += f64::from(w);
        }
        if water > 0.0 { sum / water } else { 0.0 }
    }

    /// The cell that holds a point, m; `None` outside the grid.
    pub fn cell_at(&self, point: [f64; 3]) -> Option<usize> {
        let cell: [Option<usize>; 3] = std::array::from_fn(|axis| {
            let c = (point[axis] / self.h).floor();
            (c >= 0.0 && c < self.n[axis] as f64).then_some(c as usize)
        });
        Some(self.index([cell[0]?, cell[1]?, cell[2]?]))
    }

    /// Cells that share a face with a cell.
    pub fn neighbours(&self, index: usize) -> impl Iterator<Item = usize> + use<> {
        let (n, cell) = (self.n, self.cell(index));
        let stride = [1, n[0], n[0] * n[1]];
        let low = (0..3).filter(move |&axis| cell[axis] > 0).map(move |axis| index - stride[axis]);
        low.chain((0..3).filter(move |&axis| cell[axis] + 1 < n[axis]).map(move |axis| index + stride[axis]))
    }

    /// Change of direction, 1 − |⟨u⟩|/⟨|u|⟩: 0 in water that always goes one way, 1 in water that comes back; 0 in water at rest.
    pub fn direction_change(&self, index: usize) -> f64 {
        let size: f64 = self.mean_velocity[index].iter().map(|&u| f64::from(u).powi(2)).sum::<f64>().sqrt();
        let speed = f64::from(self.mean_speed[index]);
        if speed > 0.0 { (1.0 - size / speed).clamp(0.0, 1.0) } else { 0.0 }
    }

    /// Standard error of the time-mean speed of a cell, m/s; `None` when it isn't known.
    pub fn error(&self, index: usize) -> Option<f64> {
        self.standard_error.get(index).map(|&error| f64::from(error))
    }

    /// Half the time-mean of |u|² in a cell, m²/s²: half of the mean velocity squared and of the fluctuation squared.
    pub fn kinetic_energy(&self, index: usize) -> f64 {
        let mean: f64 = self.mean_velocity[index].iter().map(|&u| f64::from(u).powi(2)).sum();
        0.5 * (mean + f64::from(self.rms[index]).powi(2))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn indices_and_points_agree() {
        let fields = Fields { n: [4, 3, 2], h: 0.1, water: vec![1.0; 24], ..Fields::default() };
        for index in 0..fields.len() {
            assert_eq!(fields.index(fields.cell(index)), index);
            assert_eq!(fields.cell_at(fields.centre(index)), Some(index));
        }
        assert_eq!(fields.cell_at([0.41, 0.1, 0.1]), None);
        assert_eq!(fields.cell_at([f64::NAN, 0.1, 0.1]), None);
        assert!((fields.water_volume() - 0.024).abs() < 1e-12);
    }

    #[test]
    fn volume_means_count_water_only() {
        let fields = Fields { n: [3, 1, 1], h: 1.0, water: vec![1.0, 0.5, 0.0], ..Fields::default() };
        assert_eq!(fields.volume_mean(|index| [3.0, 6.0, 100.0][index]), 4.0);
    }
}
