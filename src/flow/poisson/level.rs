//! One of the coarser grids of the multigrid: coefficients, unknowns and right side, split by colour.

use crate::flow::field::{merge_row, row, row_mut};
use crate::flow::grid::whole;

/// A red-black pair of arrays.
pub type Colours = [Vec<f32>; 2];

/// How the unknowns of one grid lie in memory. Cell (i, j, k) of colour (i+j+k) mod 2 is entry ⌊i/2⌋ of row (j, k).
#[derive(Debug, Clone, Copy)]
pub struct Layout {
    /// Cells along each axis.
    pub n: [usize; 3],
    /// Entries of a row, with one ghost below and two above.
    pub row: usize,
    /// Entries of a plane, with a ghost row on either side.
    pub plane: usize,
    /// Entries of a row that loops run over: cells, and padding whose coefficients are zero.
    pub width: usize,
}

impl Layout {
    pub fn new(n: [usize; 3]) -> Self {
        let width = whole((n[0] + 1).div_ceil(2));
        Self { n, row: width + 3, plane: (width + 3) * (n[1] + 2), width }
    }

    pub fn len(&self) -> usize {
        self.plane * (self.n[2] + 2)
    }

    /// First entry (⌊i/2⌋ = 0) of a row; j and k from −1 to n.
    pub fn row_at(&self, j: isize, k: isize) -> usize {
        (k + 1) as usize * self.plane + (j + 1) as usize * self.row + 1
    }

    /// Colour and entry of a cell; i, j and k from −1 to n.
    pub fn at(&self, [i, j, k]: [isize; 3]) -> (usize, usize) {
        let colour = (i + j + k).rem_euclid(2) as usize;
        (colour, self.row_at(j, k).wrapping_add_signed(i.div_euclid(2)))
    }
}

/// A value in the plain copy of the unknowns that is set from its neighbours: solids, and cells outside the box.
#[derive(Debug, Clone, Copy)]
struct Filled {
    at: u32,
    /// How many neighbours.
    count: u32,
    scale: f32,
}

/// One grid.
#[derive(Debug)]
pub struct Level {
    pub layout: Layout,
    /// Unknown.
    pub x: Colours,
    /// Right side.
    pub b: Colours,
    /// Residual of the red cells.
    pub residual: Vec<f32>,
    /// Coefficient of the low face of each cell, per axis.
    pub face: [Colours; 3],
    /// 1 / Σ of the six coefficients; 0 in solids.
    pub inverse: Colours,
    /// The unknowns in one plain array with a ghost all round, for interpolation.
    pub plain: Vec<f32>,
    fills: Vec<Filled>,
    /// Places of the neighbours, fill after fill.
    fill_from: Vec<u32>,
    /// Axes that are joined end to end.
    pub periodic: [bool; 3],
}

/// What the sides of a box do to the pressure: joined, or at fixed pressure (low, high).
#[derive(Debug, Clone, Copy)]
pub struct Ends {
    pub periodic: [bool; 3],
    pub open: [[bool; 2]; 3],
}

impl Level {
    /// From the coefficients of low faces; `coefficient(axis, [i, j, k])` with i, j, k up to and including n.
    pub fn new(n: [usize; 3], ends: Ends, coefficient: &dyn Fn(usize, [usize; 3]) -> f32) -> Self {
        let layout = Layout::new(n);
        let zero = || [vec![0.0; layout.len()], vec![0.0; layout.len()]];
        let mut face = [zero(), zero(), zero()];
        for axis in 0..3 {
            let mut last = n;
            last[axis] += 1;
            for cell in cells(last) {
                let (colour, at) = layout.at(cell.map(|c| c as isize));
                face[axis][colour][at] = coefficient(axis, cell);
            }
        }
        let mut level = Self {
            layout,
            x: zero(),
            b: zero(),
            residual: vec![0.0; layout.len()],
            face,
            inverse: zero(),
            plain: vec![0.0; plain_row(n) * (n[1] + 2) * (n[2] + 2)],
            fills: Vec::new(),
            fill_from: Vec::new(),
            periodic: ends.periodic,
        };
        level.set_inverse();
        level.find_fills(ends);
        level
    }

    /// Coefficient of the low face of a cell.
    pub fn coefficient(&self, axis: usize, cell: [usize; 3]) -> f32 {
        let (colour, at) = self.layout.at(cell.map(|c| c as isize));
        self.face[axis][colour][at]
    }

    fn set_inverse(&mut self) {
        for cell in cells(self.layout.n) {
            let mut sum = 0.0;
            for axis in 0..3 {
                let mut high = cell;
                high[axis] += 1;
                sum += self.coefficient(axis, cell) + self.coefficient(axis, high);
            }
            let (colour, at) = self.layout.at(cell.map(|c| c as isize));
            self.inverse[colour][at] = if sum > 0.0 { 1.0 / sum } else { 0.0 };
        }
    }

    fn is_water(&self, cell: [isize; 3]) -> bool {
        let inside = (0..3).all(|d| cell[d] >= 0 && cell[d] < self.layout.n[d] as isize);
        let (colour, at) = self.layout.at(cell);
        inside && self.inverse[colour][at] > 0.0
    }

    /// Place of a cell in `plain`; i, j, k from −1 to n.
    pub fn plain_at(&self, [i, j, k]: [isize; 3]) -> usize {
        let n = self.layout.n;
        (i + 1) as usize + plain_row(n) * ((j + 1) as usize + (n[1] + 2) * (k + 1) as usize)
    }

    fn find_fills(&mut self, ends: Ends) {
        let n = self.layout.n;
        for padded in cells(n.map(|c| c + 2)) {
            let cell = padded.map(|c| c as isize - 1);
            if let Some((from, scale)) = Some(cell).filter(|cell| !self.is_water(*cell)).and_then(|cell| self.fill_of(cell, ends)) {
                self.fills.push(Filled { at: self.plain_at(cell) as u32, count: from.len() as u32, scale });
                self.fill_from.extend(from);
            }
        }
    }

    /// From across a joined end; else minus the neighbour inside a fixed-pressure end; else the mean of the nearest water cells.
    fn fill_of(&self, cell: [isize; 3], ends: Ends) -> Option<(Vec<u32>, f32)> {
        let n = self.layout.n.map(|c| c as isize);
        let mut source = cell;
        let mut scale = 1.0;
        for d in 0..3 {
            if ends.periodic[d] {
                source[d] = cell[d].rem_euclid(n[d]);
            } else if cell[d] < 0 && ends.open[d][0] {
                (source[d], scale) = (0, -scale);
            } else if cell[d] >= n[d] && ends.open[d][1] {
                (source[d], scale) = (n[d] - 1, -scale);
            }
        }
        if self.is_water(source) {
            return Some((vec![self.plain_at(source) as u32], scale));
        }
        for distance in 1..=3 {
            let from: Vec<u32> = neighbours(source, distance)
                .map(|near| std::array::from_fn(|d| if ends.periodic[d] { near[d].rem_euclid(n[d]) } else { near[d] }))
                .filter(|near: &[isize; 3]| (0..3).all(|d| near[d] >= -1 && near[d] <= n[d]) && self.is_water(*near))
                .map(|near| self.plain_at(near) as u32)
                .collect();
            if !from.is_empty() {
                let scale = scale / from.len() as f32;
                return Some((from, scale));
            }
        }
        None
    }

    /// Writes the unknowns to `plain`, solids and ghosts filled from their neighbours.
    pub fn spread_to_plain(&mut self) {
        let [nx, ny, nz] = self.layout.n;
        for k in 0..nz {
            for j in 0..ny {
                let from = self.layout.row_at(j as isize, k as isize);
                let to = self.plain_at([0, j as isize, k as isize]);
                let (colour, pairs) = ((j + k) & 1, whole(nx) / 2);
                let out = row_mut(&mut self.plain, to, 2 * pairs);
                merge_row(row(&self.x[colour], from, pairs), row(&self.x[1 - colour], from, pairs), out);
            }
        }
        let mut from = self.fill_from.iter();
        for fill in &self.fills {
            let sum: f32 = from.by_ref().take(fill.count as usize).map(|at| self.plain[*at as usize]).sum();
            self.plain[fill.at as usize] = fill.scale * sum;
        }
    }
}

/// Copies the unknowns across joined ends.
pub fn wrap(x: &mut Colours, layout: Layout, periodic: [bool; 3], colour: usize) {
    let n = layout.n.map(|c| c as isize);
    for axis in (0..3).filter(|d| periodic[*d]) {
        let (first, second) = ((axis + 1) % 3, (axis + 2) % 3);
        for b in 0..n[second] {
            for a in 0..n[first] {
                for (ghost, inside) in [(-1, n[axis] - 1), (n[axis], 0)] {
                    let mut cell = [0; 3];
                    (cell[first], cell[second], cell[axis]) = (a, b, ghost);
                    let (to_colour, to) = layout.at(cell);
                    cell[axis] = inside;
                    let (from_colour, from) = layout.at(cell);
                    if to_colour == colour {
                        x[to_colour][to] = x[from_colour][from];
                    }
                }
            }
        }
    }
}

/// Entries of a row of the plain copy: as many as the loops over the finer grid's rows read.
fn plain_row(n: [usize; 3]) -> usize {
    whole(n[0] + 1) + 2
}

fn neighbours(cell: [isize; 3], distance: isize) -> impl Iterator<Item = [isize; 3]> {
    (0..27)
        .map(|q| [q % 3 - 1, q / 3 % 3 - 1, q / 9 - 1])
        .filter(move |o: &[isize; 3]| o.iter().map(|c| c.abs()).sum::<isize>() == distance)
        .map(move |o| [cell[0] + o[0], cell[1] + o[1], cell[2] + o[2]])
}

/// All cells of a box, x fastest.
pub fn cells(n: [usize; 3]) -> impl Iterator<Item = [usize; 3]> {
    (0..n[2]).flat_map(move |k| (0..n[1]).flat_map(move |j| (0..n[0]).map(move |i| [i, j, k])))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbours_have_the_other_colour_and_adjacent_entries() {
        let layout = Layout::new([5, 4, 3]);
        let (colour, at) = layout.at([2, 1, 1]);
        assert_eq!(layout.at([3, 1, 1]), (1 - colour, at));
        assert_eq!(layout.at([1, 1, 1]), (1 - colour, at - 1));
        assert_eq!(layout.at([2, 2, 1]), (1 - colour, at + layout.row));
        assert_eq!(layout.at([2, 1, 0]), (1 - colour, at - layout.plane));
    }

    #[test]
    fn the_last_ghost_is_inside_the_array() {
        for n in [[1, 1, 1], [5, 4, 3], [6, 2, 9]] {
            let layout = Layout::new(n);
            assert!(layout.at(n.map(|c| c as isize)).1 < layout.len());
        }
    }
}
