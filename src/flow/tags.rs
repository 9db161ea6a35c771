//! Marks that jet water carries: how much of it is jet water, and how far it has come since its nozzle.
//!
//! Three scalars move with the water: c (`mark`, 1/(5D) at the nozzle, 1/m), c s (`travel`, with s the distance gone) and c U₀D
//! (`drive`, so that jets of different strength may share a box). They fade with a time that goes as 1/(U₀D), so that old jet water
//! becomes plain water. One forward Euler step with a limiter that makes no new extremes.

use super::{
    field::{Faces, max, min, row, row_mut},
    grid::{LANES, Lattice},
    limiter::carried_in_step,
};
use multiversion::multiversion;
use serde::{Deserialize, Serialize};

/// Turbulent Schmidt number of the marks.
const SCHMIDT: f32 = 0.8;
/// Fading starts where s is this many cells, and is full at twice that.
const FADE_FROM: f32 = 15.0;
/// Fading time × U₀D / h².
const FADE_TIME: f32 = 220.0;
/// Marks are dropped beyond this many cells from the nozzle,
const FARTHEST: f32 = 100.0;
/// or where strength + 5 h c, both about 1 in a young jet, falls under this.
const FAINTEST: f32 = 0.01;

/// Square of the length over which fading is undone: (1 + s²/L²)⁴ is what an ideal jet has lost at s.
pub(super) fn undo_length_squared(h: f32) -> f32 {
    32.0 * FADE_TIME * h * h
}

/// The marks, padded, and where there are any.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Tags {
    pub mark: Vec<f32>,
    pub travel: Vec<f32>,
    pub drive: Vec<f32>,
    /// One for each row (j, k), with a row of padding all round.
    pub marked: Vec<Chunks>,
    /// Rows of a plane in `marked`.
    pub rows: usize,
    /// Entries of a row that one bit of it stands for.
    chunk: usize,
}

/// Which pieces of a row hold marks: one bit each.
pub(super) type Chunks = u64;

/// Runs of pieces: first entry and length.
fn runs(chunks: Chunks, chunk: usize) -> impl Iterator<Item = (usize, usize)> {
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

/// What the marks move with.
pub(super) struct Carrier<'a> {
    pub lattice: Lattice,
    pub h: f32,
    pub dt: f32,
    pub velocity: &'a Faces,
}

impl Tags {
    pub fn new(lattice: &Lattice) -> Self {
        let zero = || vec![0.0; lattice.len];
        let marked = vec![0; (lattice.n[1] + 2) * (lattice.n[2] + 2)];
        let chunk = LANES * (lattice.width() / LANES).div_ceil(Chunks::BITS as usize);
        Self { mark: zero(), travel: zero(), drive: zero(), marked, rows: lattice.n[1] + 2, chunk }
    }

    /// Is any water marked?
    pub fn any(&self) -> bool {
        self.marked.iter().any(|chunks| *chunks != 0)
    }

    fn marks(&self) -> [&[f32]; 3] {
        [&self.mark, &self.travel, &self.drive]
    }

    pub fn row_is_marked(&self, j: usize, k: usize) -> bool {
        self.marked[(k + 1) * self.rows + j + 1] != 0
    }

    /// Of the water in a cell: how far it counts as jet water (0 to 1), its way since the nozzle (m), mouth speed × bore of its jet (m²/s).
    pub fn jet_water(&self, at: usize, h: f32) -> (f32, f32, f32) {
        let mark = max(self.mark[at], 1e-20);
        let way = self.travel[at] / mark;
        let aged = 1.0 + way * way / undo_length_squared(h);
        let strength = self.travel[at] * aged.powi(4);
        (((strength - 0.15) / 0.15).clamp(0.0, 1.0), way, self.drive[at] / mark)
    }

    /// Pieces of a row that marks may reach in a step: those that hold some, and all beside them.
    fn reached(&self, j: usize, k: usize, width: usize) -> Chunks {
        let at = (k + 1) * self.rows + j + 1;
        let here = self.marked[at];
        let beside = self.marked[at - 1] | self.marked[at + 1] | self.marked[at - self.rows] | self.marked[at + self.rows];
        let all = Chunks::MAX >> (Chunks::BITS as usize - width.div_ceil(self.chunk));
        (here | here << 1 | here >> 1 | beside) & all
    }

    /// Notes that a cell holds marks: called where a source is added.
    pub fn touch(&mut self, lattice: &Lattice, at: usize) {
        let [i, j, k] = lattice.place(at);
        self.marked[(k + 1) * self.rows + j + 1] |= 1 << (i / self.chunk);
    }
}

/// Fluxes of the three marks through one row of faces.
pub(super) type Fluxes = [Vec<f32>; 3];

/// Working rows: fluxes through the low faces along x; low and high along y; low and high along z.
#[derive(Debug)]
pub(super) struct Rows([Fluxes; 5]);

impl Rows {
    pub fn new(lattice: &Lattice) -> Self {
        Self(std::array::from_fn(|_| std::array::from_fn(|_| vec![0.0; lattice.pitch()])))
    }
}

/// One step of the marks of plane k with the water, into `next`; `viscosity` of the planes below, here and above.
#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
pub(super) fn advance_plane(
    carrier: &Carrier,
    now: &Tags,
    k: usize,
    viscosity: [&[f32]; 3],
    next: [&mut [f32]; 3],
    marked: &mut [Chunks],
    rows: &mut Rows,
) {
    let lattice = carrier.lattice;
    let (n, [sx, sy, sz]) = (lattice.width(), lattice.stride);
    let [mark, travel, drive] = next;
    let [along, south, north, bottom, top] = &mut rows.0;
    let [below, here, above] = viscosity;
    // Where the fluxes that now stand in `north` were found, for the row before.
    let mut found: Chunks = 0;
    for j in 0..lattice.n[1] {
        let (at, out) = (lattice.row(j, k), lattice.row_in_plane(j));
        let mut next = [row_mut(mark, out, n), row_mut(travel, out, n), row_mut(drive, out, n)];
        let (flags, reached) = (&mut marked[j + 1], now.reached(j, k, n));
        for (from, len) in runs(*flags & !reached, now.chunk) {
            next.iter_mut().for_each(|marks| marks[from..][..len.min(n - from)].fill(0.0));
        }
        *flags = 0;
        std::mem::swap(south, north);
        for (from, len) in runs(reached & !found, now.chunk) {
            carrier.fluxes(now, 1, (from, at, len.min(n - from)), (&here[out - sy..], &here[out..]), south);
        }
        found = reached;
        for (from, len) in runs(reached, now.chunk) {
            let len = len.min(n - from);
            carrier.fluxes(now, 0, (from, at, len), (&here[out - sx..], &here[out..]), along);
            // The next piece holds no marks, nor does the last one of this run; or the row ends.
            along.iter_mut().for_each(|flux| flux[from + len] = 0.0);
            carrier.fluxes(now, 1, (from, at + sy, len), (&here[out..], &here[out + sy..]), north);
            carrier.fluxes(now, 2, (from, at, len), (&below[out..], &here[out..]), bottom);
            carrier.fluxes(now, 2, (from, at + sz, len), (&here[out..], &above[out..]), top);
            for q in 0..3 {
                let ends =
                    [&along[q][from..], &along[q][from + 1..], &south[q][from..], &north[q][from..], &bottom[q][from..], &top[q][from..]];
                gain(&mut next[q][from..][..len], &now.marks()[q][at + from..], ends);
            }
            let [mark, travel, drive] = next.each_mut().map(|marks| &mut marks[from..][..len]);
            grow_and_fade(carrier, (at + from, from), mark, travel, drive);
            for (piece, marks) in mark.chunks(now.chunk).enumerate() {
                *flags |= Chunks::from(marks.iter().any(|mark| *mark > 0.0)) << (from / now.chunk + piece);
            }
        }
    }
}

/// What a row of cells has after the fluxes through its six faces.
#[inline(always)]
fn gain(next: &mut [f32], old: &[f32], ends: [&[f32]; 6]) {
    let n = next.len();
    let old = row(old, 0, n);
    let [west, east, south, north, bottom, top] = ends.map(|flux| row(flux, 0, n));
    for i in 0..n {
        next[i] = old[i] + ((west[i] - east[i]) + (south[i] - north[i]) + (bottom[i] - top[i]));
    }
}

impl Carrier<'_> {
    /// Fluxes of the marks in one step, over h, through `len` low faces across axis d from entry `from` of the row that starts at `at`;
    /// viscosity on both sides of that row.
    #[inline(always)]
    fn fluxes(&self, now: &Tags, d: usize, (from, at, len): (usize, usize, usize), (before, after): (&[f32], &[f32]), out: &mut Fluxes) {
        // Pieces are whole runs of lanes: so much the compiler can't see.
        let len = len / LANES * LANES;
        let (first, s) = (at + from, self.lattice.stride[d]);
        let (courant, spread) = (self.dt / self.h, 0.5 * self.dt / (SCHMIDT * self.h * self.h));
        let (u, before, after) = (row(&self.velocity[d], first, len), row(before, from, len), row(after, from, len));
        for (q, out) in now.marks().into_iter().zip(out) {
            let rows: [&[f32]; 4] = std::array::from_fn(|m| row(q, first + m * s - 2 * s, len));
            flux_row(row_mut(out, from, len), rows, [u, before, after], courant, spread);
        }
    }
}

/// One mark's flux; a function of its own so that the compiler knows `out` to lie apart from the rest.
#[inline(always)]
fn flux_row(out: &mut [f32], q: [&[f32]; 4], [u, before, after]: [&[f32]; 3], courant: f32, spread: f32) {
    let n = out.len();
    let (q0, q1, q2, q3) = (row(q[0], 0, n), row(q[1], 0, n), row(q[2], 0, n), row(q[3], 0, n));
    let (u, before, after) = (row(u, 0, n), row(before, 0, n), row(after, 0, n));
    for i in 0..n {
        let a = courant * u[i];
        let spread = spread * max(before[i] + after[i], 0.0);
        out[i] = a * carried_in_step(a, [q0[i], q1[i], q2[i], q3[i]]) - spread * (q2[i] - q1[i]);
    }
}

/// Distance grows with speed, marks fade with age, faint ones are dropped. The marks stand for cells from index `at`, entry `from` of a row.
#[inline(always)]
fn grow_and_fade(carrier: &Carrier, (at, from): (usize, usize), mark: &mut [f32], travel: &mut [f32], drive: &mut [f32]) {
    let n = mark.len() / LANES * LANES;
    let inside = carrier.lattice.n[0].saturating_sub(from);
    let (mark, travel, drive) = (row_mut(mark, 0, n), row_mut(travel, 0, n), row_mut(drive, 0, n));
    let pair = |d: usize| (row(&carrier.velocity[d], at, n), row(&carrier.velocity[d], at + carrier.lattice.stride[d], n));
    let (u, v, w) = (pair(0), pair(1), pair(2));
    let (h, dt) = (carrier.h, carrier.dt);
    let undo = 1.0 / undo_length_squared(h);
    for i in 0..n {
        let (a, b, c) = (u.0[i] + u.1[i], v.0[i] + v.1[i], w.0[i] + w.1[i]);
        let speed = 0.5 * (a * a + b * b + c * c).sqrt();
        let gone = travel[i] + dt * speed * mark[i];
        let per_mark = 1.0 / max(mark[i], 1e-20);
        let s = gone * per_mark;
        let age = min(max(s / (FADE_FROM * h) - 1.0, 0.0), 1.0);
        let pace = drive[i] * per_mark / (FADE_TIME * h * h);
        let keep = 1.0 / (1.0 + dt * age * pace);
        let aged = 1.0 + s * s * undo;
        let strength = gone * (aged * aged) * (aged * aged);
        let alive = (strength + 5.0 * h * mark[i] >= FAINTEST) & (s <= FARTHEST * h) & (i < inside);
        let keep = if alive { keep } else { 0.0 };
        mark[i] = max(mark[i] * keep, 0.0);
        travel[i] = max(gone * keep, 0.0);
        drive[i] = max(drive[i] * keep, 0.0);
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
