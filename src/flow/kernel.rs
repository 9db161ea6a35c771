//! Weights that spread a source over the cells and faces of one body of water; they add up to 1.

use super::{
    grid::{Grid, Lattice},
    solids::{NO_REGION, Solids},
};
use serde::{Deserialize, Serialize};

/// What one cell or face gets of a whole.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(super) struct Share {
    /// Index in the padded arrays.
    pub at: u32,
    /// Its part of 1.
    pub weight: f32,
}

/// Where a source acts.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(super) struct Kernel {
    /// Cells, for what comes in or goes out.
    pub cells: Vec<Share>,
    /// Faces of each axis, for what pushes.
    pub faces: [Vec<Share>; 3],
    /// Body of water it lies in; `NO_REGION` when it found no water.
    pub region: u16,
}

/// Half a cosine: 1 at 0, 0 from 1 on.
pub(super) fn bell(x: f32) -> f32 {
    if x.abs() < 1.0 { 0.5 * (1.0 + (std::f32::consts::PI * x).cos()) } else { 0.0 }
}

/// A box of cells around a place.
pub(super) fn cells_around(grid: &Grid, place: [f32; 3], reach: f32) -> impl Iterator<Item = [usize; 3]> + use<> {
    let range = |d: usize| {
        let low = ((place[d] - reach) / grid.h).floor().max(0.0) as usize;
        let high = ((place[d] + reach) / grid.h).ceil().max(0.0) as usize;
        low.min(grid.n[d])..high.saturating_add(1).min(grid.n[d])
    };
    let (x, y, z) = (range(0), range(1), range(2));
    z.flat_map(move |k| {
        let x = x.clone();
        y.clone().flat_map(move |j| x.clone().map(move |i| [i, j, k]))
    })
}

impl Kernel {
    /// Shares of water around `place` after `weight` (of a place), kept to the body of water that gets most of it.
    pub fn new((grid, lattice): (&Grid, &Lattice), solids: &Solids, place: [f32; 3], reach: f32, weight: &dyn Fn([f32; 3]) -> f32) -> Self {
        let region = heaviest_region(grid, solids, place, reach, weight);
        let mut kernel = Self { region, ..Self::default() };
        if region == NO_REGION {
            return kernel;
        }
        for cell in cells_around(grid, place, reach).filter(|c| solids.region[grid.index(*c)] == region) {
            let at = lattice.cell(cell);
            push(&mut kernel.cells, at, weight(grid.centre(cell)));
            for axis in 0..3 {
                for (face, offset) in [(at, -0.5), (at + lattice.stride[axis], 0.5)] {
                    let last = cell[axis] + 1 == grid.n[axis];
                    // A high face is the next cell's low face; count it here only where there is no next cell of this water.
                    let counted_by_next = offset > 0.0 && !last;
                    if counted_by_next || !solids.is_open(axis, face) {
                        continue;
                    }
                    let mut centre = grid.centre(cell);
                    centre[axis] += offset * grid.h;
                    push(&mut kernel.faces[axis], face, weight(centre));
                }
            }
        }
        normalise(&mut kernel.cells);
        kernel.faces.iter_mut().for_each(|face| normalise(face));
        kernel
    }
}

fn push(shares: &mut Vec<Share>, at: usize, weight: f32) {
    if weight > 0.0 {
        shares.push(Share { at: at as u32, weight });
    }
}

fn normalise(shares: &mut [Share]) {
    let sum: f64 = shares.iter().map(|s| f64::from(s.weight)).sum();
    shares.iter_mut().for_each(|s| s.weight = (f64::from(s.weight) / sum) as f32);
}

fn heaviest_region(grid: &Grid, solids: &Solids, place: [f32; 3], reach: f32, weight: &dyn Fn([f32; 3]) -> f32) -> u16 {
    let mut sums: Vec<(u16, f32)> = Vec::new();
    for cell in cells_around(grid, place, reach) {
        let region = solids.region[grid.index(cell)];
        let share = weight(grid.centre(cell));
        if region == NO_REGION || share <= 0.0 {
            continue;
        }
        match sums.iter_mut().find(|s| s.0 == region) {
            Some(sum) => sum.1 += share,
            None => sums.push((region, share)),
        }
    }
    sums.into_iter().fold((NO_REGION, 0.0), |best, sum| if sum.1 > best.1 { sum } else { best }).0
}

#[cfg(test)]
mod tests {
    use super::{
        super::{physics::Physics, solids::distances},
        *,
    };

    #[test]
    fn shares_add_up_to_one_beside_a_solid() {
        let grid = Grid { n: [8, 8, 8], h: 1.0 };
        let lattice = Lattice::new(grid.n);
        let solids = Solids::new(&grid, &lattice, &Physics::tank(1e-6, 0), &distances(&grid, &|p| p[0] - 3.0));
        let kernel = Kernel::new((&grid, &lattice), &solids, [3.2, 4.0, 4.0], 2.0, &|p| bell((p[0] - 3.2).hypot(p[1] - 4.0) / 2.0));
        let sum = |shares: &[Share]| shares.iter().map(|s| s.weight).sum::<f32>();
        assert!((sum(&kernel.cells) - 1.0).abs() < 1e-6);
        assert!(kernel.faces.iter().all(|f| (sum(f) - 1.0).abs() < 1e-6));
    }

    #[test]
    fn no_water_no_region() {
        let grid = Grid { n: [4, 4, 4], h: 1.0 };
        let lattice = Lattice::new(grid.n);
        let solids = Solids::new(&grid, &lattice, &Physics::tank(1e-6, 0), &[-1.0; 64]);
        assert_eq!(Kernel::new((&grid, &lattice), &solids, [2.0; 3], 2.0, &|_| 1.0).region, NO_REGION);
    }
}
