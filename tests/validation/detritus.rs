//! Detritus against exact answers: settling laws, still water, the ideal settling basin, and the pull of a sink.

use super::seepage::tank;
use slackwater::{
    catalog::Catalog,
    study::{
        self, Control, Settings, Span,
        detritus::{Fate, Plan, ferguson_church, follow, stokes},
        recording::Recording,
    },
    water::WaterProperties,
};

fn run(recording: &Recording, settling: f64, seconds: f64, count: usize) -> Fate {
    let plan = Plan { settling, lifting: 0.15, count, seconds, seed: 5 };
    let fate = follow(recording, &[], &plan, &mut |_, _| Control::Go);
    assert_eq!(fate.settled + fate.afloat + fate.caught.iter().sum::<usize>(), count);
    fate
}

/// Three standard errors of a share found with so many particles.
fn three_errors(share: f64, count: usize) -> f64 {
    3.0 * (share * (1.0 - share) / count as f64).sqrt()
}

/// References 8.1 to 8.3 (Ferguson and Church, C₁ 18, C₂ 1.0) and 8.7 (Stokes), sea water of S 35 at 25 °C; 1 %.
#[test]
fn settling_speeds() {
    let water = WaterProperties::new(298.15, 35.0);
    let grains = |density: f64, mm: f64| ferguson_church(mm * 1e-3, density / water.density - 1.0, water.kinematic_viscosity());
    let flocs = |excess: f64, um: f64| stokes(um * 1e-6, excess, water.dynamic_viscosity);
    let cases = [
        ("aragonite 0.2 mm", grains(2930.0, 0.2), 0.026730),
        ("aragonite 0.5 mm", grains(2930.0, 0.5), 0.078406),
        ("aragonite 2 mm", grains(2930.0, 2.0), 0.210032),
        ("quartz 0.3 mm", grains(2650.0, 0.3), 0.040502),
        ("quartz 1 mm", grains(2650.0, 1.0), 0.124708),
        ("floc 100 µm, 50 kg/m³", flocs(50.0, 100.0), 2.839983e-4),
        ("floc 20 µm, 5 kg/m³", flocs(5.0, 20.0), 1.135993e-6),
        ("floc 50 µm, 100 kg/m³", flocs(100.0, 50.0), 1.419992e-4),
    ];
    for (case, got, expected) in cases {
        assert!((got / expected - 1.0).abs() < 0.01, "{case}: {got} m/s, not {expected} m/s");
    }
}

/// In still water of depth H the share w t/H has settled after t, whatever the cells.
#[test]
fn still_water_settles_evenly() {
    for (n, h) in [([4, 4, 4], 0.1), ([8, 8, 8], 0.05)] {
        let recording = Recording::steady(n, h, |_, _| 0.0);
        for (seconds, share) in [(20.0, 0.25), (60.0, 0.75), (100.0, 1.0)] {
            let settled = run(&recording, 0.005, seconds, 3000).settled as f64 / 3000.0;
            assert!((settled - share).abs() <= three_errors(share, 3000) + 1e-3, "{seconds} s on {h} m: {settled}, not {share}");
        }
    }
}

/// The ideal basin (Hazen 1904): in plug flow of speed U through length L and depth H a particle settles if it starts lower than w (L − x)/U. Spread over
/// all the water, the share w L/(2 U H) settles and the rest is caught. Two grids: the answer doesn't hang on the cells (one of them for the mixing at the ends).
#[test]
fn an_ideal_basin_settles_its_share_on_any_grid() {
    let (length, depth, speed, settling) = (2.0, 0.4, 0.05, 0.005);
    let exact = settling * length / (2.0 * speed * depth);
    let mut found = Vec::new();
    for refine in [1, 2] {
        let (n, h) = ([20 * refine, 2 * refine, 4 * refine], 0.1 / refine as f64);
        let mut recording =
            Recording::steady(n, h, |axis, p| if axis == 0 && p[0] > 0.5 * h && p[0] < length - 0.5 * h { speed } else { 0.0 });
        let face = (n[1] * n[2]) as f32;
        let cells = |i: usize| (0..n[1] * n[2]).map(|row| (i + n[0] * row, 1.0 / face)).collect::<Vec<_>>();
        (recording.jets, recording.sinks) = (vec![cells(0)], vec![cells(n[0] - 1)]);
        let flow = (speed * h * h) as f32 * face;
        (recording.streams[0].jets, recording.streams[0].sinks) = (vec![flow], vec![flow]);
        let fate = run(&recording, settling, 400.0, 4000);
        assert_eq!(fate.afloat, 0);
        let settled = fate.settled as f64 / 4000.0;
        assert!((settled - exact).abs() < three_errors(exact, 4000) + exact * h / length, "{settled} on {h} m, not {exact}");
        found.push(settled);
    }
    assert!((found[0] - found[1]).abs() < 1.5 * three_errors(exact, 4000), "{found:?} on two grids");
}

/// A sink that takes q from a cell of volume V catches 1 − e^(−q t/V) of what floats in it; two sinks share by their flows.
#[test]
fn sinks_catch_as_they_take() {
    let mut recording = Recording::steady([1, 1, 1], 0.1, |_, _| 0.0);
    recording.jets = vec![vec![(0, 1.0)]];
    recording.sinks = vec![vec![(0, 1.0)], vec![(0, 1.0)]];
    recording.streams[0].jets = vec![4e-5];
    recording.streams[0].sinks = vec![1e-5, 3e-5];
    recording.streams[0].seconds = 0.5;
    let count = 4000;
    let fate = run(&recording, 0.0, 25.0, count);
    let caught = 1.0 - (-25.0f64 * 4e-5 / 1e-3).exp();
    let all = fate.caught.iter().sum::<usize>() as f64 / count as f64;
    assert!((all - caught).abs() < three_errors(caught, count), "{all}, not {caught}");
    let first = fate.caught[0] as f64 / (all * count as f64);
    // The first sink is asked first: in half a second that favours it by 1 %.
    assert!((first - 0.25).abs() < three_errors(0.25, 2500) + 0.01, "{first}, not 0.25");
}

/// What lies is lifted by fast water and lies again when it slackens.
#[test]
fn fast_water_lifts_what_lies() {
    let still = Recording::steady([4, 4, 4], 0.1, |_, _| 0.0);
    let mut pulsing = still.clone();
    let mut fast = still.streams[0].clone();
    fast.at_face[0].iter_mut().for_each(|u| *u = 0.2);
    pulsing.streams = vec![still.streams[0].clone(); 8];
    pulsing.streams.push(fast);
    assert_eq!(run(&still, 0.01, 90.0, 200).settled, 200);
    assert!(run(&pulsing, 0.01, 90.0, 200).settled < 100);
    assert!(run(&pulsing, 0.01, 170.0, 200).settled > 190);
}

/// Half an hour in a bare tank with a jet and an intake, on cells of 50, 36 and 25 mm: shares that settle, by kind. Between the two finer grids they may
/// differ by 10 points of a hundred: three standard errors of the two numbers of particles are 5, the rest is the flow's (our own choice).
#[test]
fn shares_of_a_study_hardly_hang_on_its_cells() {
    let shares = |cell: f64| -> Vec<(String, [f64; 2])> {
        let mut settings = Settings { cell, spin_up: 40.0, span: Span::Seconds(60.0), threads: 2, ..Settings::default() };
        settings.extra.detritus_s = Some(1800.0);
        let record = study::run(&tank(), Catalog::builtin(), &settings, &mut |_| Control::Go).unwrap().record;
        let caught = |d: &study::record::DetritusRecord| d.caught.iter().map(|caught| caught.share).sum();
        record.detritus.iter().map(|d| (d.kind.clone(), [d.settled_share, caught(d)])).collect()
    };
    let found = [0.05, 0.036, 0.025].map(shares);
    for kind in 0..found[0].len() {
        let [coarse, middle, fine] = [0, 1, 2].map(|grid: usize| found[grid][kind].1);
        println!("{}: settled and caught on 50, 36, 25 mm: {coarse:.3?} {middle:.3?} {fine:.3?}", found[0][kind].0);
        for (middle, fine) in middle.into_iter().zip(fine) {
            assert!((middle - fine).abs() < 0.10, "{found:?}");
        }
    }
}
