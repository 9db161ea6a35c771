//! A blob that spreads, and one that is turned about, against exact answers (reference 12.1).

use slackwater::study::{
    recording::Recording,
    scalar::{Brought, Feed, Scalar},
};
use std::f64::consts::TAU;

const N: usize = 64;
const H: f64 = 0.02;
const PLAIN: Feed = Feed { gain: 0.0, brought: Brought::Fixed(0.0) };

/// Gaussian of this width round a place, in a layer of one cell.
fn blob([x, y]: [f64; 2], width: f64) -> Vec<f64> {
    let centre = |n: usize| (n as f64 + 0.5) * H;
    let at = |cell: usize| (centre(cell % N) - x).powi(2) + (centre(cell / N) - y).powi(2);
    (0..N * N).map(|cell| (-0.5 * at(cell) / (width * width)).exp()).collect()
}

/// Sum, middle and variance along both axes.
fn moments(value: &[f64]) -> (f64, [f64; 2], [f64; 2]) {
    let sum: f64 = value.iter().sum();
    let place = |cell: usize| [cell % N, cell / N].map(|n| (n as f64 + 0.5) * H);
    let mean = |of: &dyn Fn([f64; 2]) -> f64| value.iter().enumerate().map(|(cell, v)| v * of(place(cell))).sum::<f64>() / sum;
    let middle = [0, 1].map(|d| mean(&|p| p[d]));
    (sum, middle, [0, 1].map(|d| mean(&|p| (p[d] - middle[d]).powi(2))))
}

/// Variance grows by 2 D t along each axis: 1 %.
#[test]
fn a_blob_spreads_by_twice_its_diffusivity() {
    let (diffusivity, time, middle) = (1e-3, 5.0, 0.5 * N as f64 * H);
    let recording = Recording::steady([N, N, 1], H, |_, _| 0.0);
    let mut dye = Scalar::new(&recording, blob([middle, middle], 0.08), diffusivity);
    let (mass, _, before) = moments(&dye.value);
    dye.carry_for(&recording.streams[0], time, PLAIN);
    let (left, _, after) = moments(&dye.value);
    for axis in 0..2 {
        let growth = (after[axis] - before[axis]) / (2.0 * diffusivity * time);
        println!("blob, axis {axis}: variance grew by {growth:.4} of 2 D t");
        assert!((growth - 1.0).abs() < 0.01, "{growth}");
    }
    assert!((left / mass - 1.0).abs() < 1e-12, "{left} of {mass}");
}

/// Once round like a solid: back in its place to 1 % of the way gone, as all that is carried (reference 11.2), nothing lost, no new extremes. The limiter wears the crest down: printed.
#[test]
fn a_blob_turned_once_comes_back() {
    let (middle, inner, outer) = (0.5 * N as f64 * H, 0.45, 0.6);
    // ψ′ = r within, falls to nothing further out: the water at the walls is at rest. Velocities are differences of ψ: no divergence.
    let stream = |x: f64, y: f64| {
        let r = (x - middle).hypot(y - middle);
        let beyond = (r.min(outer) - inner).max(0.0);
        -0.5 * r.min(inner).powi(2) - inner * (beyond - 0.5 * beyond * beyond / (outer - inner))
    };
    let recording = Recording::steady([N, N, 1], H, |axis, p| match axis {
        0 => (stream(p[0], p[1] + 0.5 * H) - stream(p[0], p[1] - 0.5 * H)) / H,
        1 => -(stream(p[0] + 0.5 * H, p[1]) - stream(p[0] - 0.5 * H, p[1])) / H,
        _ => 0.0,
    });
    let place = [middle + 0.22, middle];
    let start = blob(place, 0.06);
    let most = start.iter().copied().fold(0.0, f64::max);
    let mut dye = Scalar::new(&recording, start, 0.0);
    let mass = moments(&dye.value).0;
    dye.carry_for(&recording.streams[0], TAU, PLAIN);
    let (left, back, _) = moments(&dye.value);
    let (least, crest) = dye.value.iter().fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(*v), high.max(*v)));
    let (off, way) = ((back[0] - place[0]).hypot(back[1] - place[1]) / H, TAU * 0.22 / H);
    println!("blob turned once: {off:.3} cells off after {way:.0}, crest {:.3} of what it was, least value {least:.1e}", crest / most);
    assert!(off < 0.01 * way, "{back:?}, not {place:?}");
    assert!((left / mass - 1.0).abs() < 1e-6, "{left} of {mass}");
    assert!(least > -1e-9 && crest <= most, "{least} to {crest}");
}
