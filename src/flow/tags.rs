//! Marks that jet water carries: how much of it is jet water, how far it has come since its nozzle, and how strong that was.
//!
//! The amount c (`mark`, 1/(5D) at the nozzle, 1/m) moves with the water, one forward Euler step at a time, with a limiter that makes no new
//! extremes. Way s (m) and drive U₀D (m²/s) belong to the marked water itself: in a cell they are the mean of what was there and of
//! what comes in, each weighed with its amount, so that they never leave the range of their neighbours. Amounts fade with a time that goes as
//! 1/(U₀D), so that old jet water becomes plain water.

use super::{
    field::{Faces, lanes, lanes_from, lanes_mut, max, min, row_mut},
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
fn undo_length_squared(h: f32) -> f32 {
    32.0 * FADE_TIME * h * h
}

/// Strength of water with this amount of marks (1/m) that has come this way (m), fading undone: about 1 in a young jet.
#[inline(always)]
fn strength(mark: f32, way: f32, h: f32) -> f32 {
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
    fn reached(&self, j: usize, k: usize, width: usize) -> Chunks {
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

/// What passes one row of faces, or a plane of them, in a step, over h.
#[derive(Debug)]
struct Fluxes {
    /// Net flux of the amount.
    net: Vec<f32>,
    /// Water that turbulence exchanges, each way.
    exchange: Vec<f32>,
}

impl Fluxes {
    fn new(len: usize) -> Self {
        Self { net: vec![0.0; len], exchange: vec![0.0; len] }
    }
}

/// Working memory of one thread: fluxes through the low faces along x; low and high along y; low and high along z, by plane.
#[derive(Debug)]
pub(super) struct Rows {
    along: Fluxes,
    south: Fluxes,
    north: Fluxes,
    bottom: Fluxes,
    top: Fluxes,
    /// Where `bottom` and `top` were found, row by row.
    found: [Vec<Chunks>; 2],
}

impl Rows {
    pub fn new(lattice: &Lattice) -> Self {
        let row = || Fluxes::new(lattice.pitch());
        let plane = || Fluxes::new(lattice.stride[2]);
        let found = || vec![0; lattice.n[1]];
        Self { along: row(), south: row(), north: row(), bottom: plane(), top: plane(), found: [found(), found()] }
    }

    /// The next plane is not the one above the last.
    pub fn begin(&mut self) {
        self.found[1].fill(0);
    }
}

/// One step of the marks of plane k with the water, into `next`; `viscosity` of the planes below, here and above. Planes must be taken
/// upwards, one after the other.
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
    let [mark, way, drive] = next;
    let Rows { along, south, north, bottom, top, found: [found_below, found_above] } = rows;
    std::mem::swap(bottom, top);
    std::mem::swap(found_below, found_above);
    let [below, here, above] = viscosity;
    // Where the fluxes that now stand in `north` were found, for the row before.
    let mut found: Chunks = 0;
    for j in 0..lattice.n[1] {
        let (at, out) = (lattice.row(j, k), lattice.row_in_plane(j));
        let mut next = [row_mut(mark, out, n), row_mut(way, out, n), row_mut(drive, out, n)];
        let (flags, reached) = (&mut marked[j + 1], now.reached(j, k, n));
        for (from, len) in runs(*flags & !reached, now.chunk) {
            next.iter_mut().for_each(|marks| marks[from..][..len.min(n - from)].fill(0.0));
        }
        *flags = 0;
        std::mem::swap(south, north);
        for (from, len) in runs(reached & !found, now.chunk) {
            carrier.fluxes(now, 1, (from, at, len.min(n - from)), (&here[out - sy..], &here[out..]), (south, 0));
        }
        found = reached;
        for (from, len) in runs(reached & !found_below[j], now.chunk) {
            carrier.fluxes(now, 2, (from, at, len.min(n - from)), (&below[out..], &here[out..]), (bottom, out));
        }
        found_above[j] = reached;
        for (from, len) in runs(reached, now.chunk) {
            let len = len.min(n - from);
            carrier.fluxes(now, 0, (from, at, len), (&here[out - sx..], &here[out..]), (along, 0));
            // The next piece holds no marks, nor does the last one of this run; or the row ends.
            (along.net[from + len], along.exchange[from + len]) = (0.0, 0.0);
            carrier.fluxes(now, 1, (from, at + sy, len), (&here[out..], &here[out + sy..]), (north, 0));
            carrier.fluxes(now, 2, (from, at + sz, len), (&here[out..], &above[out..]), (top, out));
            for from in (from..from + len).step_by(LANES) {
                let faces = [(&*along, from), (along, from + 1), (south, from), (north, from), (bottom, out + from), (top, out + from)];
                let (after, any) = carrier.mix_and_age(now, (at + from, from), faces);
                next.iter_mut().zip(after).for_each(|(next, after)| *lanes_mut(next, from) = after);
                *flags |= Chunks::from(any) << (from / now.chunk);
            }
        }
    }
}

impl Carrier<'_> {
    /// What passes `len` low faces across axis d, from entry `from` of the row that starts at `at`; viscosity on both sides of that row.
    /// It goes to entry `to` + `from` of `out`.
    #[inline(always)]
    fn fluxes(
        &self,
        now: &Tags,
        d: usize,
        (from, at, len): (usize, usize, usize),
        (before, after): (&[f32], &[f32]),
        (out, to): (&mut Fluxes, usize),
    ) {
        let s = self.lattice.stride[d];
        let (courant, spread) = (self.dt / self.h, 0.5 * self.dt / (SCHMIDT * self.h * self.h));
        for from in (from..from + len).step_by(LANES) {
            let first = at + from;
            let (u, before, after) = (lanes(&self.velocity[d], first), lanes(before, from), lanes(after, from));
            let q = lanes_from(&now.mark, [first - 2 * s, first - s, first, first + s]);
            let [mut net, mut exchange] = [[0.0; LANES]; 2];
            for i in 0..LANES {
                let a = courant * u[i];
                exchange[i] = spread * max(before[i] + after[i], 0.0);
                net[i] = a * carried_in_step(a, [q[0][i], q[1][i], q[2][i], q[3][i]]) - exchange[i] * (q[2][i] - q[1][i]);
            }
            *lanes_mut(&mut out.net, to + from) = net;
            *lanes_mut(&mut out.exchange, to + from) = exchange;
        }
    }

    /// What cells from index `at` (entry `from` of their row) hold after what passed their six faces: amounts add up, way and drive mix,
    /// the way grows with the speed, old amounts fade, faint ones are dropped. Is anything left?
    #[inline(always)]
    fn mix_and_age(&self, now: &Tags, (at, from): (usize, usize), faces: [(&Fluxes, usize); 6]) -> ([[f32; LANES]; 3], bool) {
        let [sx, sy, sz] = self.lattice.stride;
        let round = [at - sx, at + sx, at - sy, at + sy, at - sz, at + sz, at];
        let (marks, ways, drives) = (lanes_from(&now.mark, round), lanes_from(&now.way, round), lanes_from(&now.drive, round));
        let (mut net, mut exchange) = ([lanes(&faces[0].0.net, faces[0].1); 6], [lanes(&faces[0].0.exchange, faces[0].1); 6]);
        for (n, (flux, at)) in faces.into_iter().enumerate().skip(1) {
            (net[n], exchange[n]) = (lanes(&flux.net, at), lanes(&flux.exchange, at));
        }
        let pair = |d: usize| (lanes(&self.velocity[d], at), lanes(&self.velocity[d], at + self.lattice.stride[d]));
        let (u, v, w) = (pair(0), pair(1), pair(2));
        let inside = self.lattice.n[0].saturating_sub(from);
        let (h, dt) = (self.h, self.dt);
        let (per_fade, per_start) = (dt / (FADE_TIME * h * h), 1.0 / (FADE_FROM * h));
        let [mut mark, mut way, mut drive] = [[0.0; LANES]; 3];
        for i in 0..LANES {
            let gains = [net[0][i], -net[1][i], net[2][i], -net[3][i], net[4][i], -net[5][i]];
            let (own, s, r) = (marks[6][i], ways[6][i], drives[6][i]);
            let amount = own + ((gains[0] + gains[1]) + (gains[2] + gains[3]) + (gains[4] + gains[5]));
            // What comes in: with the stream, and the neighbour's part of the exchange.
            let gain: [f32; 6] = std::array::from_fn(|d| {
                let exchanged = exchange[d][i] * marks[d][i];
                max(gains[d] - exchanged + exchange[d][i] * own, 0.0) + exchanged
            });
            let mean = |of: [&[f32; LANES]; 7], own: f32| {
                let part = |d: usize| gain[d] * (of[d][i] - own);
                (part(0) + part(1)) + (part(2) + part(3)) + (part(4) + part(5))
            };
            let incoming = (gain[0] + gain[1]) + (gain[2] + gain[3]) + (gain[4] + gain[5]);
            // Where more comes in than is there in the end, what comes in decides alone.
            let per_amount = 1.0 / max(max(amount, incoming), 1e-20);
            let (a, b, c) = (u.0[i] + u.1[i], v.0[i] + v.1[i], w.0[i] + w.1[i]);
            let s = s + mean(ways, s) * per_amount + dt * 0.5 * (a * a + b * b + c * c).sqrt();
            let r = r + mean(drives, r) * per_amount;
            let age = min(max(s * per_start - 1.0, 0.0), 1.0);
            let left = amount / (1.0 + age * r * per_fade);
            let alive = (strength(amount, s, h) + 5.0 * h * amount >= FAINTEST) & (s <= FARTHEST * h) & (i < inside);
            mark[i] = if alive { left } else { 0.0 };
            way[i] = if alive { s } else { 0.0 };
            drive[i] = if alive { r } else { 0.0 };
        }
        ([mark, way, drive], mark.iter().any(|mark| *mark > 0.0))
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
