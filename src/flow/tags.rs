//! Marks that jet water carries: how much of it is jet water, and how far it has come since its nozzle.
//!
//! Three scalars move with the water: c (`mark`, 1/(5D) at the nozzle, 1/m), c s (`travel`, with s the distance gone) and c U₀D
//! (`drive`, so that jets of different strength may share a box). They fade with a time that goes as 1/(U₀D), so that old jet water
//! becomes plain water. One forward Euler step with a limiter that makes no new extremes.

use super::{
    field::{Faces, max, min, row, row_mut},
    grid::{LOW, Lattice},
    limiter::carried_in_step,
};
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

/// The marks, padded, and which rows hold any.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Tags {
    pub mark: Vec<f32>,
    pub travel: Vec<f32>,
    pub drive: Vec<f32>,
    /// One for each row (j, k), with a row of padding all round.
    pub marked: Vec<bool>,
    /// Rows of a plane in `marked`.
    pub rows: usize,
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
        let marked = vec![false; (lattice.n[1] + 2) * (lattice.n[2] + 2)];
        Self { mark: zero(), travel: zero(), drive: zero(), marked, rows: lattice.n[1] + 2 }
    }

    /// Is any water marked?
    pub fn any(&self) -> bool {
        self.marked.contains(&true)
    }

    fn marks(&self) -> [&[f32]; 3] {
        [&self.mark, &self.travel, &self.drive]
    }

    pub fn row_is_marked(&self, j: usize, k: usize) -> bool {
        self.marked[(k + 1) * self.rows + j + 1]
    }

    /// Of the water in a cell: how far it counts as jet water (0 to 1), its way since the nozzle (m), mouth speed × bore of its jet (m²/s).
    pub fn jet_water(&self, at: usize, h: f32) -> (f32, f32, f32) {
        let mark = max(self.mark[at], 1e-20);
        let way = self.travel[at] / mark;
        let aged = 1.0 + way * way / undo_length_squared(h);
        let strength = self.travel[at] * aged.powi(4);
        (((strength - 0.15) / 0.15).clamp(0.0, 1.0), way, self.drive[at] / mark)
    }

    /// Are there marks in this row or one beside it?
    fn row_matters(&self, j: usize, k: usize) -> bool {
        let at = (k + 1) * self.rows + j + 1;
        self.marked[at] || self.marked[at - 1] || self.marked[at + 1] || self.marked[at - self.rows] || self.marked[at + self.rows]
    }

    /// Marks a row as holding marks: called where a source is added.
    pub fn touch(&mut self, lattice: &Lattice, at: usize) {
        let (k, rest) = (at / lattice.stride[2], at % lattice.stride[2]);
        let j = rest / lattice.stride[1];
        self.marked[(k - LOW + 1) * self.rows + j - LOW + 1] = true;
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
#[inline(always)]
pub(super) fn advance_plane(
    carrier: &Carrier,
    now: &Tags,
    k: usize,
    viscosity: [&[f32]; 3],
    next: [&mut [f32]; 3],
    marked: &mut [bool],
    rows: &mut Rows,
) {
    let lattice = carrier.lattice;
    let (n, [sx, sy, sz]) = (lattice.width(), lattice.stride);
    let [mark, travel, drive] = next;
    let [along, south, north, bottom, top] = &mut rows.0;
    let mut last_north = usize::MAX;
    for j in 0..lattice.n[1] {
        let (at, out) = (lattice.row(j, k), lattice.row_in_plane(j));
        let (mark, travel, drive) = (row_mut(mark, out, n), row_mut(travel, out, n), row_mut(drive, out, n));
        let flag = &mut marked[j + 1];
        if !now.row_matters(j, k) {
            if *flag {
                mark.fill(0.0);
                travel.fill(0.0);
                drive.fill(0.0);
                *flag = false;
            }
            continue;
        }
        let [below, here, above] = viscosity;
        carrier.fluxes(now, 0, at, (&here[out - sx..], &here[out..]), along);
        if last_north == j {
            std::mem::swap(south, north);
        } else {
            carrier.fluxes(now, 1, at, (&here[out - sy..], &here[out..]), south);
        }
        carrier.fluxes(now, 1, at + sy, (&here[out..], &here[out + sy..]), north);
        carrier.fluxes(now, 2, at, (&below[out..], &here[out..]), bottom);
        carrier.fluxes(now, 2, at + sz, (&here[out..], &above[out..]), top);
        last_north = j + 1;
        for (q, (old, next)) in now.marks().into_iter().zip([&mut *mark, &mut *travel, &mut *drive]).enumerate() {
            let (old, next) = (row(old, at, n), row_mut(next, 0, n));
            let (west, east) = (row(&along[q], 0, n), row(&along[q], 1, n));
            let (south, north) = (row(&south[q], 0, n), row(&north[q], 0, n));
            let (bottom, top) = (row(&bottom[q], 0, n), row(&top[q], 0, n));
            for i in 0..n {
                next[i] = old[i] + ((west[i] - east[i]) + (south[i] - north[i]) + (bottom[i] - top[i]));
            }
        }
        *flag = grow_and_fade(carrier, at, mark, travel, drive);
    }
}

impl Carrier<'_> {
    /// Fluxes of the marks in one step, over h, through the row of low faces across axis d that starts at `at`; viscosity on both sides of them.
    #[inline(always)]
    fn fluxes(&self, now: &Tags, d: usize, at: usize, (before, after): (&[f32], &[f32]), out: &mut Fluxes) {
        let (n, s) = (self.lattice.width(), self.lattice.stride[d]);
        let (courant, spread) = (self.dt / self.h, 0.5 * self.dt / (SCHMIDT * self.h * self.h));
        let (u, before, after) = (row(&self.velocity[d], at, n), row(before, 0, n), row(after, 0, n));
        for (q, out) in now.marks().into_iter().zip(out) {
            let rows: [&[f32]; 4] = std::array::from_fn(|m| row(q, at + m * s - 2 * s, n));
            let out = row_mut(out, 0, n);
            for i in 0..n {
                let a = courant * u[i];
                let spread = spread * max(before[i] + after[i], 0.0);
                let carried = carried_in_step(a, [rows[0][i], rows[1][i], rows[2][i], rows[3][i]]);
                out[i] = a * carried - spread * (rows[2][i] - rows[1][i]);
            }
        }
    }
}

/// Distance grows with speed, marks fade with age, faint ones are dropped. Is any mark left in the row?
#[inline(always)]
fn grow_and_fade(carrier: &Carrier, at: usize, mark: &mut [f32], travel: &mut [f32], drive: &mut [f32]) -> bool {
    let (nx, n) = (carrier.lattice.n[0], carrier.lattice.width());
    let (mark, travel, drive) = (row_mut(mark, 0, n), row_mut(travel, 0, n), row_mut(drive, 0, n));
    let pair = |d: usize| (row(&carrier.velocity[d], at, n), row(&carrier.velocity[d], at + carrier.lattice.stride[d], n));
    let (u, v, w) = (pair(0), pair(1), pair(2));
    let (h, dt) = (carrier.h, carrier.dt);
    let undo = 1.0 / undo_length_squared(h);
    for i in 0..n {
        let (a, b, c) = (u.0[i] + u.1[i], v.0[i] + v.1[i], w.0[i] + w.1[i]);
        let speed = 0.5 * (a * a + b * b + c * c).sqrt();
        let gone = travel[i] + dt * speed * mark[i];
        let s = gone / max(mark[i], 1e-20);
        let age = min(max(s / (FADE_FROM * h) - 1.0, 0.0), 1.0);
        let pace = drive[i] / max(mark[i], 1e-20) / (FADE_TIME * h * h);
        let keep = 1.0 / (1.0 + dt * age * pace);
        let aged = 1.0 + s * s * undo;
        let strength = gone * (aged * aged) * (aged * aged);
        let alive = if strength + 5.0 * h * mark[i] >= FAINTEST { 1.0 } else { 0.0 };
        let keep = if s <= FARTHEST * h && i < nx { keep * alive } else { 0.0 };
        mark[i] = max(mark[i] * keep, 0.0);
        travel[i] = max(gone * keep, 0.0);
        drive[i] = max(drive[i] * keep, 0.0);
    }
    // Apart from the loop above, which would not be vectorised with a running greatest value in it.
    mark.iter().any(|mark| *mark > 0.0)
}
