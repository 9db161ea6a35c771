//! Divergence and speeds of a velocity field: sums over planes, added up in the same order for any number of threads.

use super::{
    field::{Faces, max, row},
    grid::{LANES, Lattice},
};

/// Sums over one plane or all.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Sums {
    /// Of (∇·u − q)².
    pub square: f64,
    /// Of ∇·u − q.
    pub sum: f64,
    /// Largest |∇·u − q|.
    pub most: f32,
    /// Largest Σ|u| and largest u².
    pub courant_speed: f32,
    pub speed_squared: f32,
}

impl Sums {
    /// Of all planes.
    pub fn of(planes: &[Self]) -> Self {
        planes.iter().fold(Self::default(), |a, b| Self {
            square: a.square + b.square,
            sum: a.sum + b.sum,
            most: max(a.most, b.most),
            courant_speed: max(a.courant_speed, b.courant_speed),
            speed_squared: max(a.speed_squared, b.speed_squared),
        })
    }
}

/// Values at the two faces of a row of cells across each axis.
pub(super) struct Pairs<'a> {
    low: [&'a [f32]; 3],
    high: [&'a [f32]; 3],
}

impl<'a> Pairs<'a> {
    #[inline(always)]
    pub fn of(velocity: &'a Faces, lattice: &Lattice, at: usize) -> Self {
        let n = lattice.width();
        Self {
            low: std::array::from_fn(|d| row(&velocity[d], at, n)),
            high: std::array::from_fn(|d| row(&velocity[d], at + lattice.stride[d], n)),
        }
    }

    /// From planes: `here` of all components and the one above of the last, rows at `out` within them.
    #[inline(always)]
    pub fn of_planes(here: [&'a [f32]; 3], above: &'a [f32], lattice: &Lattice, out: usize) -> Self {
        let n = lattice.width();
        let high = [row(here[0], out + 1, n), row(here[1], out + lattice.stride[1], n), row(above, out, n)];
        Self { low: std::array::from_fn(|d| row(here[d], out, n)), high }
    }

    /// h (∇·u − q) into `out`; closed faces have no velocity.
    #[inline(always)]
    pub fn divergence(&self, (nx, h): (usize, f32), source: &[f32], out: &mut [f32]) {
        let n = out.len();
        let of = |rows: [&'a [f32]; 3]| [row(rows[0], 0, n), row(rows[1], 0, n), row(rows[2], 0, n)];
        let (low, high) = (of(self.low), of(self.high));
        let source = row(source, 0, n);
        for i in 0..n {
            let divergence = ((high[0][i] - low[0][i]) + (high[1][i] - low[1][i]) + (high[2][i] - low[2][i])) - h * source[i];
            out[i] = if i < nx { divergence } else { 0.0 };
        }
    }
}

/// Running values side by side, so that the order of adding doesn't depend on the width of the vectors.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Lanes {
    sum: [f32; LANES],
    square: [f32; LANES],
    most: [f32; LANES],
    courant: [f32; LANES],
    speed: [f32; LANES],
}

impl Lanes {
    /// Takes in the squares of a row of divergences.
    #[inline(always)]
    pub fn add_squares(&mut self, divergence: &[f32]) {
        for divergence in divergence.as_chunks::<LANES>().0 {
            for lane in 0..LANES {
                self.square[lane] += divergence[lane] * divergence[lane];
            }
        }
    }

    /// Takes in a row of divergences and the speeds of its cells.
    #[inline(always)]
    pub fn add(&mut self, divergence: &[f32], pairs: &Pairs) {
        let divergence = divergence.as_chunks::<LANES>().0;
        let count = divergence.len();
        fn of(row: &[f32], count: usize) -> &[[f32; LANES]] {
            &row.as_chunks::<LANES>().0[..count]
        }
        let (low, high) = (pairs.low, pairs.high);
        let low = [of(low[0], count), of(low[1], count), of(low[2], count)];
        let high = [of(high[0], count), of(high[1], count), of(high[2], count)];
        for c in 0..count {
            for lane in 0..LANES {
                let d = divergence[c][lane];
                self.sum[lane] += d;
                self.square[lane] += d * d;
                self.most[lane] = max(self.most[lane], d.abs());
                let (mut square, mut across) = (0.0, 0.0);
                for axis in 0..3 {
                    let (a, b) = (low[axis][c][lane], high[axis][c][lane]);
                    let middle = 0.5 * (a + b);
                    square += middle * middle;
                    across += max(a.abs(), b.abs());
                }
                self.speed[lane] = max(self.speed[lane], square);
                self.courant[lane] = max(self.courant[lane], across);
            }
        }
    }

    /// All lanes together, for cells of edge h.
    pub fn sums(&self, h: f32) -> Sums {
        let per_h = 1.0 / f64::from(h);
        let mut sums = Sums::default();
        for lane in 0..LANES {
            sums.sum += f64::from(self.sum[lane]) * per_h;
            sums.square += f64::from(self.square[lane]) * per_h * per_h;
            sums.most = max(sums.most, self.most[lane] / h);
            sums.courant_speed = max(sums.courant_speed, self.courant[lane]);
            sums.speed_squared = max(sums.speed_squared, self.speed[lane]);
        }
        sums
    }
}
