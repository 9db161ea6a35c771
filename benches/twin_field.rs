//! A velocity field on a tank's grid, from one as fine or finer.

/// Velocity on the tank's grid; both halves of a symmetric box averaged.
pub struct Field {
    pub n: [usize; 3],
    pub velocity: Vec<[f32; 3]>,
}

impl Field {
    /// Mean of a cell and of its mirror image.
    pub fn at(&self, [i, j, k]: [usize; 3]) -> [f32; 3] {
        let [nx, ny, _] = self.n;
        let (here, there) = (self.velocity[i + nx * (j + ny * k)], self.velocity[i + nx * (ny - 1 - j + ny * k)]);
        [0.5 * (here[0] + there[0]), 0.5 * (here[1] - there[1]), 0.5 * (here[2] + there[2])]
    }

    /// Mean along x of the cells on both sides of a plane across x.
    pub fn at_plane(&self, x: usize, j: usize, k: usize) -> f32 {
        0.5 * (self.at([x - 1, j, k])[0] + self.at([x, j, k])[0])
    }

    /// All of a plane across x.
    pub fn across(&self, x: usize) -> impl Iterator<Item = f32> + '_ {
        (0..self.n[2]).flat_map(move |k| (0..self.n[1]).map(move |j| self.at_plane(x, j, k)))
    }

    /// Averages blocks of so many cells a side.
    pub fn coarser(&self, by: usize) -> Field {
        let n = self.n.map(|n| n / by);
        let share = 1.0 / (by * by * by) as f32;
        let mut velocity = vec![[0.0; 3]; n.iter().product()];
        for (cell, u) in self.velocity.iter().enumerate() {
            let [i, j, k] = [cell % self.n[0], cell / self.n[0] % self.n[1], cell / (self.n[0] * self.n[1])].map(|c| c / by);
            (0..3).for_each(|d| velocity[i + n[0] * (j + n[1] * k)][d] += share * u[d]);
        }
        Field { n, velocity }
    }
}
