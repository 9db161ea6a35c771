//! Which cells are water, which faces are open, and which water hangs together.
//!
//! A face is open when both its cells are water. One byte per cell holds the three low faces: all that the loops need to know.

use super::{
    grid::{Grid, Lattice},
    physics::{Physics, Side},
};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// Region of a cell that is solid, or of water that was closed off.
pub(super) const NO_REGION: u16 = u16::MAX;

/// Geometry of the water, fixed for a run.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Solids {
    /// Share of each cell that is water (public order).
    pub water: Vec<f32>,
    /// For each cell (padded): bit d says whether its low face across axis d is open.
    pub open: Vec<u8>,
    /// Connected region of each cell (public order).
    pub region: Vec<u16>,
    /// For each region: does it touch an open side?
    pub region_is_open: Vec<bool>,
    /// Number of cells in each region.
    pub region_cells: Vec<usize>,
}

impl Solids {
    /// From the signed distance at every cell centre (public order). A distance that is not a number counts as solid.
    pub fn new(grid: &Grid, lattice: &Lattice, physics: &Physics, distance: &[f32]) -> Self {
        let water: Vec<f32> = distance.iter().map(|distance| if *distance >= 0.0 { 1.0 } else { 0.0 }).collect();
        let mut open = vec![0; lattice.len];
        (0..3).for_each(|axis| open_faces(&mut open, (grid, lattice, physics), &water, axis));
        let mut solids = Self { water, open, region: Vec::new(), region_is_open: Vec::new(), region_cells: Vec::new() };
        solids.label(grid, lattice, physics);
        solids
    }

    /// Is the face across `axis` with this (padded) index open?
    pub fn is_open(&self, axis: usize, face: usize) -> bool {
        self.open[face] >> axis & 1 == 1
    }

    /// Closes every region for which `keep` is false; returns the cells that this took.
    pub fn close(&mut self, grid: &Grid, lattice: &Lattice, keep: &[bool]) -> Vec<[usize; 3]> {
        let mut closed = Vec::new();
        for cell in lattice.cells() {
            let region = self.region[grid.index(cell)];
            if region == NO_REGION || keep[usize::from(region)] {
                continue;
            }
            self.region[grid.index(cell)] = NO_REGION;
            closed.push(cell);
            for axis in 0..3 {
                let at = lattice.cell(cell);
                self.open[at] &= !(1 << axis);
                self.open[at + lattice.stride[axis]] &= !(1 << axis);
            }
        }
        closed
    }

    /// Flood fill over open faces.
    fn label(&mut self, grid: &Grid, lattice: &Lattice, physics: &Physics) {
        self.region = vec![NO_REGION; grid.cells()];
        let mut stack = Vec::new();
        for seed in lattice.cells() {
            let at = grid.index(seed);
            if self.water[at] == 0.0 || self.region[at] != NO_REGION {
                continue;
            }
            // More regions than numbers: the rest share the last one and are closed with it.
            let label = self.region_cells.len().min(usize::from(NO_REGION) - 1);
            if label == self.region_cells.len() {
                self.region_cells.push(0);
                self.region_is_open.push(false);
            }
            self.region[at] = label as u16;
            stack.push(seed);
            while let Some(cell) = stack.pop() {
                self.region_cells[label] += 1;
                self.region_is_open[label] |= touches_open_side(grid, physics, cell);
                self.spread((grid, lattice, physics), cell, label as u16, &mut stack);
            }
        }
    }

    fn spread(&mut self, (grid, lattice, physics): (&Grid, &Lattice, &Physics), cell: [usize; 3], label: u16, stack: &mut Vec<[usize; 3]>) {
        for axis in 0..3 {
            for up in [false, true] {
                let face = lattice.cell(cell) + if up { lattice.stride[axis] } else { 0 };
                if !self.is_open(axis, face) {
                    continue;
                }
                let Some(next) = neighbour(grid, physics, cell, axis, up) else { continue };
                let at = grid.index(next);
                if self.water[at] > 0.0 && self.region[at] == NO_REGION {
                    self.region[at] = label;
                    stack.push(next);
                }
            }
        }
    }
}

/// True where opposite sides are both periodic.
pub(super) fn periodic(physics: &Physics, axis: usize) -> bool {
    physics.sides[2 * axis] == Side::Periodic && physics.sides[2 * axis + 1] == Side::Periodic
}

/// The next cell; round the end only where the axis is periodic.
fn neighbour(grid: &Grid, physics: &Physics, cell: [usize; 3], axis: usize, up: bool) -> Option<[usize; 3]> {
    grid.beside(cell, axis, up).or_else(|| {
        let mut far = cell;
        far[axis] = if up { 0 } else { grid.n[axis] - 1 };
        periodic(physics, axis).then_some(far)
    })
}

fn touches_open_side(grid: &Grid, physics: &Physics, cell: [usize; 3]) -> bool {
    (0..3).any(|axis| {
        cell[axis] == 0 && physics.sides[2 * axis] == Side::Open
            || cell[axis] + 1 == grid.n[axis] && physics.sides[2 * axis + 1] == Side::Open
    })
}

/// Signed distance at every cell centre (public order), m; farther from any surface than a few cells only its sign is right, and that it is
/// far: blocks of cells without a surface are asked once, in their middle. `signed_distance` must nowhere be more than the true distance.
pub(super) fn distances(grid: &Grid, signed_distance: &(dyn Fn([f32; 3]) -> f32 + Sync)) -> Vec<f32> {
    let mut distance = vec![0.0; grid.cells()];
    distance.par_chunks_mut(grid.n[0] * grid.n[1] * BLOCK).enumerate().for_each(|(slab, cells)| {
        let layers = cells.len() / (grid.n[0] * grid.n[1]);
        for low in blocks(grid) {
            let high = [(low[0] + BLOCK).min(grid.n[0]), (low[1] + BLOCK).min(grid.n[1]), layers];
            fill_block(grid, signed_distance, (cells, slab * BLOCK), (low, high));
        }
    });
    distance
}

/// Cells along the edge of a block.
const BLOCK: usize = 8;

/// First cells of the blocks of a slab.
fn blocks(grid: &Grid) -> impl Iterator<Item = [usize; 3]> {
    let [nx, ny, _] = grid.n;
    (0..ny).step_by(BLOCK).flat_map(move |j| (0..nx).step_by(BLOCK).map(move |i| [i, j, 0]))
}

/// One block of a slab whose lowest layer is layer `below` of the grid.
fn fill_block(
    grid: &Grid,
    signed_distance: &(dyn Fn([f32; 3]) -> f32 + Sync),
    (cells, below): (&mut [f32], usize),
    (low, high): ([usize; 3], [usize; 3]),
) {
    /// A surface so near, in cells, may count, or its distance be off by so much.
    const NEAR: f32 = 3.0;
    let reach = grid.h * (0.5 * 3.0f32.sqrt() * BLOCK as f32 + NEAR);
    let place = |cell: [usize; 3]| grid.centre([cell[0], cell[1], cell[2] + below]);
    let (first, last) = (place(low), place(high.map(|end| end - 1)));
    let middle = signed_distance(std::array::from_fn(|d| 0.5 * (first[d] + last[d])));
    for k in low[2]..high[2] {
        for j in low[1]..high[1] {
            for i in low[0]..high[0] {
                let slot = &mut cells[(k * grid.n[1] + j) * grid.n[0] + i];
                *slot = if middle.abs() > reach { middle } else { signed_distance(place([i, j, k])) };
            }
        }
    }
}

fn open_faces(open: &mut [u8], (grid, lattice, physics): (&Grid, &Lattice, &Physics), water: &[f32], axis: usize) {
    let n = grid.n[axis];
    let mut set = |face: usize, both: f32| open[face] |= u8::from(both > 0.0) << axis;
    for cell in lattice.cells() {
        let here = water[grid.index(cell)];
        let at = lattice.cell(cell);
        let mut far = cell;
        if cell[axis] > 0 {
            far[axis] -= 1;
            set(at, here * water[grid.index(far)]);
            continue;
        }
        far[axis] = n - 1;
        let end = lattice.cell(far) + lattice.stride[axis];
        let last = water[grid.index(far)];
        if periodic(physics, axis) {
            set(at, here * last);
            set(end, here * last);
            continue;
        }
        if physics.sides[2 * axis] == Side::Open {
            set(at, here);
        }
        if physics.sides[2 * axis + 1] == Side::Open {
            set(end, last);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn solids(n: [usize; 3], inside: impl Fn([f32; 3]) -> bool + Sync) -> Solids {
        let grid = Grid { n, h: 1.0 };
        let distance = distances(&grid, &|p| if inside(p) { -1.0 } else { 1.0 });
        Solids::new(&grid, &Lattice::new(n), &Physics::tank(1e-6, 0), &distance)
    }

    #[test]
    fn a_partition_makes_two_regions() {
        let two = solids([5, 3, 3], |p| p[0] > 2.0 && p[0] < 3.0);
        assert_eq!(two.region_cells, vec![18, 18]);
    }

    #[test]
    fn faces_between_two_water_cells_are_open_and_no_others() {
        let s = solids([3, 1, 1], |p| p[0] > 2.0);
        let lattice = Lattice::new([3, 1, 1]);
        let open: Vec<bool> = (0..=3).map(|i| s.is_open(0, lattice.at(i, 0, 0))).collect();
        assert_eq!(open, vec![false, true, false, false]);
        assert!((0..lattice.len).all(|face| !s.is_open(1, face)));
    }
}
