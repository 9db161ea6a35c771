//! Conjugate gradients on the finest grid alone: slow, but it can't diverge. For when a multigrid cycle has made things worse.
//!
//! A x = −b with A = Σ of the coefficients less the linked neighbours, symmetric and not negative; preconditioned by the diagonal
//! (Hestenes and Stiefel 1952). One thread, sums in f64: the same bits for any number of threads.

use super::{
    finest::Finest,
    level::{Colours, wrap},
};
use crate::flow::field::row;
use crate::flow::grid::LANES;

/// Most iterations at once: twice what a tank of 200 000 cells with rock needs to get to [`GOOD`].
const MOST: usize = 400;
/// Part of the right side's root mean square at which it is good.
const GOOD: f64 = 1e-3;

/// Solves for the finest grid's unknowns from 0; its right side must stand in `b`.
pub fn solve(finest: &mut Finest) {
    let like = |array: &Colours| array.each_ref().map(|half| vec![0.0f32; half.len()]);
    let (mut x, mut residual, mut applied) = (like(&finest.x), like(&finest.x), like(&finest.x));
    for_cells(finest, |colour, at| residual[colour][at] = -finest.b[colour][at]);
    // The search direction lies in the grid's own unknowns, whose neighbours it knows.
    finest.x.iter_mut().for_each(|half| half.fill(0.0));
    let (mut weight, mut first) = (0.0f64, 0.0);
    for iteration in 0..MOST {
        let before = weight;
        let mut size = 0.0f64;
        weight = 0.0;
        for_cells(finest, |colour, at| {
            let r = f64::from(residual[colour][at]);
            size += r * r;
            weight += r * r * f64::from(finest.inverse[colour][at]);
        });
        first = if iteration == 0 { size } else { first };
        if size <= GOOD * GOOD * first || weight <= 0.0 || !weight.is_finite() {
            break;
        }
        let turn = if before > 0.0 { (weight / before) as f32 } else { 0.0 };
        search(finest, &residual, turn);
        let Some(step) = step_along(finest, &mut applied, weight) else { break };
        for_cells(finest, |colour, at| {
            x[colour][at] += step * finest.x[colour][at];
            residual[colour][at] -= step * applied[colour][at];
        });
    }
    finest.x = x;
}

/// The next direction: the preconditioned residual and `turn` times the last one.
fn search(finest: &mut Finest, residual: &Colours, turn: f32) {
    let mut direction = std::mem::take(&mut finest.x);
    for_cells(finest, |colour, at| {
        direction[colour][at] = residual[colour][at] * finest.inverse[colour][at] + turn * direction[colour][at];
    });
    finest.x = direction;
}

/// A times the direction, and how far to go along it; `None` when it leads nowhere.
fn step_along(finest: &mut Finest, applied: &mut Colours, weight: f64) -> Option<f32> {
    let mut along = 0.0f64;
    for colour in [0, 1] {
        wrap(&mut finest.x, finest.layout, finest.ends.periodic, 1 - colour);
        let layout = finest.layout;
        for (j, k) in rows(finest) {
            let at = layout.row_at(j as isize, k as isize);
            let (p, inverse) = (row(&finest.x[colour], at, layout.width), row(&finest.inverse[colour], at, layout.width));
            let applied = &mut applied[colour][at..at + layout.width];
            for from in (0..layout.width).step_by(LANES) {
                for (m, neighbours) in (from..).zip(finest.gather(colour, (j, k), from)) {
                    applied[m] = if inverse[m] > 0.0 { p[m] / inverse[m] - neighbours } else { 0.0 };
                    along += f64::from(p[m]) * f64::from(applied[m]);
                }
            }
        }
    }
    (along > 0.0 && along.is_finite()).then(|| (weight / along) as f32)
}

fn rows(finest: &Finest) -> impl Iterator<Item = (usize, usize)> + use<> {
    let [_, ny, nz] = finest.layout.n;
    (0..nz).flat_map(move |k| (0..ny).map(move |j| (j, k)))
}

/// Calls `work(colour, index)` for all cells with water.
fn for_cells(finest: &Finest, mut work: impl FnMut(usize, usize)) {
    for colour in [0, 1] {
        for (j, k) in rows(finest) {
            let at = finest.layout.row_at(j as isize, k as isize);
            (at..at + finest.layout.width).filter(|at| finest.inverse[colour][*at] > 0.0).for_each(|at| work(colour, at));
        }
    }
}
