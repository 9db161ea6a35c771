//! Marks that jet water carries: how much of it is jet water, and how far it has come since its nozzle.
//!
//! Three scalars move with the water: c (`mark`, 1/(5D) at the nozzle, 1/m), c s (`travel`, with s the distance gone) and c U₀D
//! (`drive`, so that jets of different strength may share a box). They fade with a time that goes as 1/(U₀D), so that old jet water
//! becomes plain water. One forward Euler step with a limiter that makes no new extremes.

use super::{
    field::{Faces, inner_mut, max, min, planes_per_task, row, row_mut},
    grid::{LOW, Lattice},
    limiter::carried_in_step,
};
use multiversion::multiversion;
use rayon::prelude::*;
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
    marked: Vec<bool>,
    rows: usize,
}

/// What the marks move with.
pub(super) struct Carrier<'a> {
    pub lattice: Lattice,
    pub h: f32,
    pub dt: f32,
    pub velocity: &'a Faces,
    pub viscosity: &'a [f32],
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

    /// One step with the water into `next`, which then becomes these marks.
    pub fn advance(&mut self, carrier: &Carrier, next: &mut Tags) {
        let lattice = carrier.lattice;
        let planes = planes_per_task(lattice.n[2]);
        let size = planes * lattice.stride[2];
        let now = &*self;
        let rows = now.rows;
        let chunks = inner_mut(&mut next.mark, &lattice)
            .par_chunks_mut(size)
            .zip(inner_mut(&mut next.travel, &lattice).par_chunks_mut(size))
            .zip(inner_mut(&mut next.drive, &lattice).par_chunks_mut(size))
            .zip(next.marked[rows..rows * (lattice.n[2] + 1)].par_chunks_mut(rows * planes));
        chunks.enumerate().for_each(|(task, (((mark, travel), drive), marked))| {
            advance_planes(carrier, now, task * planes, [mark, travel, drive], marked);
        });
        std::mem::swap(self, next);
    }
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn advance_planes(carrier: &Carrier, now: &Tags, first: usize, next: [&mut [f32]; 3], marked: &mut [bool]) {
    let lattice = carrier.lattice;
    let (ny, n) = (lattice.n[1], lattice.width());
    let [mark, travel, drive] = next;
    let planes = mark.len() / lattice.stride[2];
    for plane in 0..planes {
        let k = first + plane;
        for j in 0..ny {
            let at = lattice.row(j, k);
            let out = at - (first + LOW) * lattice.stride[2];
            let (mark, travel, drive) = (row_mut(mark, out, n), row_mut(travel, out, n), row_mut(drive, out, n));
            let flag = &mut marked[plane * now.rows + j + 1];
            if !now.row_matters(j, k) {
                if *flag {
                    mark.fill(0.0);
                    travel.fill(0.0);
                    drive.fill(0.0);
                    *flag = false;
                }
                continue;
            }
            carry(carrier, &now.mark, at, mark);
            carry(carrier, &now.travel, at, travel);
            carry(carrier, &now.drive, at, drive);
            *flag = grow_and_fade(carrier, at, mark, travel, drive);
        }
    }
}

/// q + dt (−∇·(u q) + ∇·(νₜ/0.8 ∇q)) for a row.
#[inline(always)]
fn carry(carrier: &Carrier, q: &[f32], at: usize, out: &mut [f32]) {
    let n = carrier.lattice.width();
    let out = row_mut(out, 0, n);
    out.copy_from_slice(row(q, at, n));
    let (courant, spread) = (carrier.dt / carrier.h, 0.5 * carrier.dt / (SCHMIDT * carrier.h * carrier.h));
    for d in 0..3 {
        let s = carrier.lattice.stride[d];
        let rows: [&[f32]; 5] = std::array::from_fn(|m| row(q, at + m * s - 2 * s, n));
        let (low, high) = (row(&carrier.velocity[d], at, n), row(&carrier.velocity[d], at + s, n));
        let nu: [&[f32]; 3] = std::array::from_fn(|m| row(carrier.viscosity, at + m * s - s, n));
        for i in 0..n {
            let (a, b) = (courant * low[i], courant * high[i]);
            let into = a * carried_in_step(a, [rows[0][i], rows[1][i], rows[2][i], rows[3][i]])
                - spread * max(nu[0][i] + nu[1][i], 0.0) * (rows[2][i] - rows[1][i]);
            let out_of = b * carried_in_step(b, [rows[1][i], rows[2][i], rows[3][i], rows[4][i]])
                - spread * max(nu[1][i] + nu[2][i], 0.0) * (rows[3][i] - rows[2][i]);
            out[i] += into - out_of;
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
