//! Statistics of courses in time whose answer is known in closed form.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use slackwater::study::{Fields, batches, statistics::Statistics};
use std::f64::consts::{PI, TAU};

const DT: f64 = 0.1;

/// Averages of a velocity over `seconds`, sampled every 0.1 s, in joint cycles of `cycle` seconds.
fn averages(cycle: f64, seconds: f64, velocity: impl Fn(f64) -> [f64; 3]) -> (Fields, Statistics) {
    let mut statistics = Statistics::new(1, 0.02).watching(cycle, Vec::new());
    let steps = (seconds / DT).round() as usize;
    for step in 0..steps {
        let t = (step as f64 + 0.5) * DT;
        statistics.add(&[velocity(t).map(|u| u as f32)], &[1.0], DT);
    }
    (statistics.fields([1, 1, 1], 0.1, &[1.0]), statistics)
}

/// U cos(2πt/T) along y with U = 20 cm/s and T = 30 s for ten periods; and a current that turns once in T.
#[test]
fn percentile_spells_and_turns() {
    let (fastest, period) = (0.2, 30.0);
    let (swing, _) = averages(period, 10.0 * period, |t| [0.0, fastest * (TAU * t / period).cos(), 0.0]);
    let (turning, _) = averages(period, 10.0 * period, |t| [fastest * (TAU * t / period).cos(), fastest * (TAU * t / period).sin(), 0.0]);
    let (steady, _) = averages(period, 10.0 * period, |_| [0.1, 0.0, 0.0]);
    let get = |values: &[f32]| f64::from(values[0]);
    // |cos| is under sin(0.95 π/2) for 95 % of the time, and under a for (2/π) asin(a/U): two spells a period.
    let percentile = fastest * (0.95 * PI / 2.0).sin();
    let spell = period * (0.02f64 / fastest).asin() / PI;
    // Case, source, got, expected, tolerance (a bin of speed there is 12 % wide; spells to two samples).
    let cases = [
        ("swing, 95th percentile", "arcsine law", get(&swing.p95), percentile, 0.04 * percentile),
        ("swing, longest still", "arcsine law", get(&swing.longest_still), spell, 2.0 * DT),
        ("swing, reversals", "two a period; the first goes unseen", get(&swing.reversals), 2.0, 0.11),
        ("swing, direction change", "mean of a cosine is 0", swing.direction_change(0), 1.0, 1e-4),
        ("turning, reversals", "one for every right angle", get(&turning.reversals), 4.0, 0.11),
        ("turning, longest still", "never still", get(&turning.longest_still), 0.0, 1e-9),
        ("steady, 95th percentile", "itself", get(&steady.p95), 0.1, 0.001),
        ("steady, reversals", "none", get(&steady.reversals), 0.0, 1e-9),
        ("steady, direction change", "none", steady.direction_change(0), 0.0, 1e-5),
        ("steady, standard error", "none", get(&steady.standard_error), 0.0, 1e-6),
    ];
    for (case, source, got, expected, tolerance) in cases {
        assert!((got - expected).abs() <= tolerance, "{case} ({source}): {got}, not {expected}");
    }
}

/// A noise that forgets itself within τ (first-order autoregressive, ρ = e^(−Δt/τ)) has a mean with the variance σ² (1 + ρ)/(1 − ρ)/N:
/// batches must find that, although neighbouring samples are alike. 2000 samples' worth of batches: good to 1/√(2·49) = 10 %, three times that allowed.
#[test]
fn batch_means_see_through_correlation() {
    let (sigma, memory, batch, seconds) = (0.01, 1.0, 20.0, 1000.0);
    let rho = (-DT / memory).exp();
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let mut normal = || {
        let (a, b): (f64, f64) = (random.random(), random.random());
        (-2.0 * (1.0 - a).ln()).sqrt() * (TAU * b).cos()
    };
    let mut state = sigma * normal();
    let n = (seconds / DT) as usize;
    let series: Vec<f64> = (0..n)
        .map(|_| {
            state = rho * state + sigma * (1.0 - rho * rho).sqrt() * normal();
            0.1 + state
        })
        .collect();
    let exact = sigma * ((1.0 + rho) / (1.0 - rho) / n as f64).sqrt();
    let naive = sigma / (n as f64).sqrt();
    let found = batches::standard_error(series.iter().map(|&u| (DT, u)), batch).unwrap();
    assert!((found / exact - 1.0).abs() < 0.3, "{found}, not {exact} (naive {naive})");

    let (fields, statistics) = averages(batch, seconds, |t| [series[(t / DT) as usize], 0.0, 0.0]);
    assert_eq!(statistics.batches(), 50);
    assert!((f64::from(fields.standard_error[0]) / found - 1.0).abs() < 1e-3);
    assert!((statistics.standard_error().unwrap() / found - 1.0).abs() < 1e-3);
}

/// Whole cycles in a batch: a swing that repeats exactly has no error, however large it is.
#[test]
fn a_repeating_cycle_is_certain() {
    let (fields, statistics) = averages(25.0, 250.0, |t| [0.2 + 0.1 * (TAU * t / 25.0).sin(), 0.0, 0.0]);
    assert_eq!(statistics.batches(), 10);
    assert!(fields.standard_error[0] < 1e-5, "{:?}", fields.standard_error);
    let (short, statistics) = averages(25.0, 40.0, |_| [0.2, 0.0, 0.0]);
    assert_eq!((statistics.batches(), short.standard_error.len()), (1, 0));
}

/// Histograms of long runs make room by coarser units: five hours at 10 and 30 cm/s keep their percentile.
#[test]
fn long_runs_keep_their_percentile() {
    let mut statistics = Statistics::new(1, 0.02).watching(60.0, Vec::new());
    for step in 0..36_000 {
        let speed = if step % 10 == 0 { 0.3 } else { 0.1 };
        statistics.add(&[[speed, 0.0, 0.0]], &[1.0], 0.5);
    }
    let fields = statistics.fields([1, 1, 1], 0.1, &[1.0]);
    assert!((0.25..=0.3).contains(&fields.p95[0]), "{:?}", fields.p95);
}
