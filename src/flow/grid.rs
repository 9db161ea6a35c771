//! The box of cells, and how a cell finds its place in a padded array.

use serde::{Deserialize, Serialize};

/// A box of equal cubic cells with a corner at the origin. Cell (i, j, k) has its centre at ((i+½)h, (j+½)h, (k+½)h).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Grid {
    /// Cells along x, y and z; each at least 1.
    pub n: [usize; 3],
    /// Edge of a cell, m.
    pub h: f32,
}

impl Grid {
    /// Number of cells; the length of every public per-cell array (x fastest).
    pub fn cells(&self) -> usize {
        self.n.iter().product()
    }

    /// Place of a cell in a public per-cell array.
    pub fn index(&self, cell: [usize; 3]) -> usize {
        cell[0] + self.n[0] * (cell[1] + self.n[1] * cell[2])
    }

    /// The cell at a place in a public per-cell array.
    pub fn cell(&self, index: usize) -> [usize; 3] {
        [index % self.n[0], index / self.n[0] % self.n[1], index / (self.n[0] * self.n[1])]
    }

    /// The next cell along an axis, up or down; `None` at the end of the box.
    pub(super) fn beside(&self, cell: [usize; 3], axis: usize, up: bool) -> Option<[usize; 3]> {
        let mut next = cell;
        next[axis] = cell[axis].checked_add_signed(if up { 1 } else { -1 })?;
        (next[axis] < self.n[axis]).then_some(next)
    }

    /// The cell that holds a place (m), or the one nearest to it.
    pub(super) fn cell_at(&self, place: [f32; 3]) -> [usize; 3] {
        std::array::from_fn(|d| ((place[d] / self.h).max(0.0) as usize).min(self.n[d] - 1))
    }

    /// Centre of a cell, m.
    pub fn centre(&self, cell: [usize; 3]) -> [f32; 3] {
        cell.map(|c| (c as f32 + 0.5) * self.h)
    }
}

/// Cells kept below the first cell of each axis: the limiter looks two cells upstream.
pub(super) const LOW: usize = 2;
/// Cells kept above the last one: as below, and one for the last face.
pub(super) const HIGH: usize = 3;
/// Rows are worked through in runs of so many entries: a whole number of the widest vectors, so that no loop ends in single entries.
pub(super) const LANES: usize = 16;

/// The next multiple of [`LANES`].
pub(super) fn whole(entries: usize) -> usize {
    entries.div_ceil(LANES) * LANES
}

/// Indexing of the solver's padded arrays. A face carries the index of the cell on its high side.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(super) struct Lattice {
    /// Cells along each axis, padding not counted.
    pub n: [usize; 3],
    /// Distance in the array from a cell to its neighbour along x, y, z.
    pub stride: [usize; 3],
    /// Length of a padded array.
    pub len: usize,
}

impl Lattice {
    pub fn new(n: [usize; 3]) -> Self {
        let [px, py, pz] = n.map(|cells| cells + LOW + HIGH);
        let px = whole(px);
        Self { n, stride: [1, px, px * py], len: px * py * pz }
    }

    /// Index of cell (or low face of cell) (i, j, k); i, j, k from −2 to n+2.
    pub fn at(&self, i: isize, j: isize, k: isize) -> usize {
        let low = LOW as isize;
        ((k + low) as usize) * self.stride[2] + ((j + low) as usize) * self.stride[1] + (i + low) as usize
    }

    /// Index of the first cell of a row.
    pub fn row(&self, j: usize, k: usize) -> usize {
        (k + LOW) * self.stride[2] + (j + LOW) * self.stride[1] + LOW
    }

    /// Index of the first cell of a row within its plane.
    #[inline(always)]
    pub fn row_in_plane(&self, j: usize) -> usize {
        (j + LOW) * self.stride[1] + LOW
    }

    /// Entries of a row that loops run over: its cells, the face at its end, and padding.
    #[inline(always)]
    pub fn width(&self) -> usize {
        whole(self.n[0] + 1)
    }

    /// Length of a working row: [`Lattice::width`] entries, and one run more that stays zero.
    pub fn pitch(&self) -> usize {
        self.width() + LANES
    }

    /// All cells, x fastest.
    pub fn cells(&self) -> impl Iterator<Item = [usize; 3]> + use<> {
        let n = self.n;
        (0..n[2]).flat_map(move |k| (0..n[1]).flat_map(move |j| (0..n[0]).map(move |i| [i, j, k])))
    }

    /// The cell of an index that lies within the box.
    pub fn place(&self, at: usize) -> [usize; 3] {
        [at % self.stride[1] - LOW, at / self.stride[1] % (self.stride[2] / self.stride[1]) - LOW, at / self.stride[2] - LOW]
    }

    /// Index of a cell.
    pub fn cell(&self, cell: [usize; 3]) -> usize {
        self.row(cell[1], cell[2]) + cell[0]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn public_index_runs_x_fastest() {
        let grid = Grid { n: [3, 4, 5], h: 0.1 };
        assert_eq!(grid.index([1, 0, 0]), 1);
        assert_eq!(grid.index([0, 1, 0]), 3);
        assert_eq!(grid.index([2, 3, 4]) + 1, grid.cells());
        assert_eq!(grid.cell(grid.index([2, 1, 3])), [2, 1, 3]);
    }

    #[test]
    fn padding_keeps_two_below_and_three_above() {
        let lattice = Lattice::new([4, 5, 6]);
        assert_eq!(lattice.at(-2, -2, -2), 0);
        assert!(lattice.at(6, 7, 8) < lattice.len);
        assert!(lattice.row(4, 5) + lattice.width() <= lattice.at(-2, 7, 5));
        assert_eq!(lattice.at(0, 1, 2), lattice.row(1, 2));
        assert!(lattice.cells().all(|cell| lattice.place(lattice.cell(cell)) == cell));
    }
}
