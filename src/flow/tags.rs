//! Marks that jet water carries: how much of it is jet water, how far it has come since its nozzle, and how strong that was.
//!
//! The amount c (`mark`, 1/(5D) at the nozzle, 1/m) moves with the water, one forward Euler step at a time, with a limiter that makes no new
//! extremes. Way s (m) and drive U₀D (m²/s) belong to the marked water itself: in a cell they are the mean of what was there and of
//! what comes in, each weighed with its amount, so that they never leave the range of their neighbours. Amounts fade with a time that goes as
//! 1/(U₀D), so that old jet water becomes plain water.

use super::{
    field::{max, min},
    grid::{LANES, Lattice},
};
use serde::{Deserialize, Serialize};

/// Fading time × U₀D / h².
pub(super) const FADE_TIME: f32 = 220.0;

/// Square of the length over which fading is undone: (1 + s²/L²)⁴ is what an ideal jet has lost at s.
fn undo_length_squared(h: f32) -> f32 {
    32.0 * FADE_TIME * h * h
}

/// Strength of water with this amount of marks (1/m) that has come this way (m), fading undone: about 1 in a young jet.
#[inline(always)]
pub(super) fn strength(mark: f32, way: f32, h: f32) -> f32 {
    let aged = 1.0 + way * way * (1.0 / undo_length_squared(h));
    mark * way * (aged * aged) * (aged * aged)
}

/// How far such water counts as jet water, 0 to 1.
#[inline(always)]
pub(super) fn jet_share(mark: f32, way: f32, h: f32) -> f32 {
    min(max((strength(mark, way, h) - 0.15) * (1.0 / 0.15), 0.0), 1.0)
}

/// The marks, padded, and where there are any; all 0 elsewhere.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Tags {
    /// Amount, 1/m.
    pub mark: Vec<f32>,
    /// Way that the marked water has gone since its nozzle, m.
    pub way: Vec<f32>,
    /// Mouth speed × bore of its jet, m²/s.
    pub drive: Vec<f32>,
    /// One for each row (j, k), with a row of padding all round.
    pub marked: Vec<Chunks>,
    /// Rows of a plane in `marked`.
    pub rows: usize,
    /// Entries of a row that one bit of it stands for.
    pub chunk: usize,
}

/// Which pieces of a row hold marks: one bit each.
pub(super) type Chunks = u64;

/// Runs of pieces: first entry and length.
pub(super) fn runs(chunks: Chunks, chunk: usize) -> impl Iterator<Item = (usize, usize)> {
    let mut left = chunks;
    std::iter::from_fn(move || {
        if left == 0 {
            return None;
        }
        let first = left.trailing_zeros();
        let count = (left >> first).trailing_ones();
        left = if first + count == Chunks::BITS { 0 } else { left >> (first + count) << (first + count) };
        Some((first as usize * chunk, count as usize * chunk))
    })
}

impl Tags {
    pub fn new(lattice: &Lattice) -> Self {
        let zero = || vec![0.0; lattice.len];
        let marked = vec![0; (lattice.n[1] + 2) * (lattice.n[2] + 2)];
        let chunk = LANES * (lattice.width() / LANES).div_ceil(Chunks::BITS as usize);
        Self { mark: zero(), way: zero(), drive: zero(), marked, rows: lattice.n[1] + 2, chunk }
    }

    /// Is any water marked?
    pub fn any(&self) -> bool {
        self.marked.iter().any(|chunks| *chunks != 0)
    }

    pub fn row_is_marked(&self, j: usize, k: usize) -> bool {
        self.chunks(j, k) != 0
    }

    /// Pieces of a row that hold marks.
    pub fn chunks(&self, j: usize, k: usize) -> Chunks {
        self.marked[(k + 1) * self.rows + j + 1]
    }

    /// Marks a part of the water of a cell afresh: `kept` is the share that stays of the old amount, to which comes `added`.
    pub fn refresh(&mut self, lattice: &Lattice, at: usize, kept: f32, (added, way, drive): (f32, f32, f32)) {
        let old = kept * self.mark[at];
        let new = old + added;
        self.mark[at] = new;
        if added > 0.0 {
            self.way[at] = (old * self.way[at] + added * way) / new;
            self.drive[at] = (old * self.drive[at] + added * drive) / new;
            self.touch(lattice, at);
        }
    }

    /// Of the water in a cell: how far it counts as jet water (0 to 1), its way since the nozzle (m), mouth speed × bore of its jet (m²/s).
    pub fn jet_water(&self, at: usize, h: f32) -> (f32, f32, f32) {
        (jet_share(self.mark[at], self.way[at], h), self.way[at], self.drive[at])
    }

    /// Pieces of a row that marks may reach in a step: those that hold some, and all beside them.
    pub fn reached(&self, j: usize, k: usize, width: usize) -> Chunks {
        let at = (k + 1) * self.rows + j + 1;
        let here = self.marked[at];
        let beside = self.marked[at - 1] | self.marked[at + 1] | self.marked[at - self.rows] | self.marked[at + self.rows];
        let all = Chunks::MAX >> (Chunks::BITS as usize - width.div_ceil(self.chunk));
        (here | here << 1 | here >> 1 | beside) & all
    }

    /// Notes that a cell holds marks: called where a source is added.
    fn touch(&mut self, lattice: &Lattice, at: usize) {
        let [i, j, k] = lattice.place(at);
        self.marked[(k + 1) * self.rows + j + 1] |= 1 << (i / self.chunk);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_of_a_row_come_as_runs() {
        let found: Vec<_> = runs(0b0110_1001, 16).collect();
        assert_eq!(found, vec![(0, 16), (48, 16), (80, 32)]);
        assert_eq!(runs(Chunks::MAX, 16).collect::<Vec<_>>(), vec![(0, 1024)]);
        assert_eq!(runs(0, 16).count(), 0);
    }
}
