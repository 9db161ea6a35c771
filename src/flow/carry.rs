//! One step of the jet marks with the water: what passes the faces of a cell, and what the cell holds after it.

use super::{
    field::{Faces, lanes, lanes_from, lanes_mut, max, min, row_mut},
    grid::{LANES, Lattice},
    limiter::carried_in_step,
    tags::{Chunks, FADE_TIME, Tags, runs, strength},
};
use multiversion::multiversion;

/// Turbulent Schmidt number of the marks.
const SCHMIDT: f32 = 0.8;
/// Fading starts where s is this many cells, and is full at twice that.
const FADE_FROM: f32 = 15.0;
/// Marks are dropped beyond this many cells from the nozzle,
const FARTHEST: f32 = 100.0;
/// or where strength + 5 h c, both about 1 in a young jet, falls under this.
const FAINTEST: f32 = 0.01;

/// What the marks move with.
pub(super) struct Carrier<'a> {
    pub lattice: Lattice,
    pub h: f32,
    pub dt: f32,
    pub velocity: &'a Faces,
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
