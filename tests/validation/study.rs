//! Measures of a study on flows whose answer is known in closed form, and the balance of the ports.

use slackwater::{
    catalog::Catalog,
    layout::Layout,
    setup::{Schedule, basin::Basin, port::JetSource},
    study::{Fields, dead_spots, exposure, statistics::Statistics},
};

/// A steady channel between plates at z = 0 and z = 1, speed by height.
fn channel(speed: impl Fn(f64) -> f64) -> Fields {
    let (n, h) = ([40, 40, 200], 1.0 / 200.0);
    let cells = n[0] * n[1] * n[2];
    let mut statistics = Statistics::new(cells, 0.02);
    let height = |cell: usize| (cell / (n[0] * n[1])) as f64 * h + h / 2.0;
    let velocity: Vec<[f32; 3]> = (0..cells).map(|cell| [speed(height(cell)) as f32, 0.0, 0.0]).collect();
    for _ in 0..3 {
        statistics.add(&velocity, &vec![1.0; cells], 0.1);
    }
    statistics.fields(n, h, &vec![1.0; cells])
}

fn share_under(fields: &Fields, limit: f64) -> f64 {
    let shares = exposure::shares_under(fields);
    shares.iter().find(|share| share.limit_m_s == limit).unwrap().share
}

/// Largest speed in the channel, m/s.
const FASTEST: f64 = 0.12;

#[test]
fn measures_of_channel_flows() {
    let couette = channel(|z| FASTEST * z);
    let poiseuille = channel(|z| FASTEST * 4.0 * z * (1.0 - z));
    let mean = |fields: &Fields| fields.volume_mean(|cell| f64::from(fields.mean_speed[cell]));
    let energy = |fields: &Fields| fields.volume_mean(|cell| fields.kinetic_energy(cell));
    let slow_in_poiseuille = |limit: f64| 1.0 - (1.0 - limit / FASTEST).sqrt();
    // Case, source, got, expected, tolerance (one cell of 200 for the shares; the midpoint rule's h²/3 of U for the means).
    let cases = [
        ("plane Couette, mean", "linear profile", mean(&couette), FASTEST / 2.0, 2e-6),
        ("plane Couette, energy", "∫ ½u² = U²/6", energy(&couette), FASTEST * FASTEST / 6.0, 2e-6),
        ("plane Couette, under 3 cm/s", "linear profile", share_under(&couette, 0.03), 0.25, 5e-3),
        ("plane Poiseuille, mean", "u_max/u_mean = 1.5, reference 6.11", mean(&poiseuille), FASTEST / 1.5, 2e-6),
        ("plane Poiseuille, energy", "∫ ½u² = 4U²/15", energy(&poiseuille), 4.0 / 15.0 * FASTEST * FASTEST, 2e-6),
        ("plane Poiseuille, under 2 cm/s", "parabola", share_under(&poiseuille, 0.02), slow_in_poiseuille(0.02), 5e-3),
        ("plane Poiseuille, under 10 cm/s", "parabola", share_under(&poiseuille, 0.10), slow_in_poiseuille(0.10), 5e-3),
    ];
    for (case, source, got, expected, tolerance) in cases {
        assert!((got - expected).abs() < tolerance, "{case} ({source}): {got}, not {expected}");
    }
}

#[test]
fn dead_layers_of_poiseuille_flow() {
    let mut fields = channel(|z| FASTEST * 4.0 * z * (1.0 - z));
    let spots = dead_spots::find(&mut fields, dead_spots::Limits { speed: 0.02, share: 0.9 });
    let layer = 0.5 * (1.0 - (1.0 - 0.02 / FASTEST).sqrt());
    assert_eq!(spots.len(), 2, "one along each plate");
    for spot in spots.iter().map(|region| &region.spot) {
        assert!((spot.share - layer).abs() <= 1.0 / 200.0, "{spot:?}");
        assert!((spot.to_m[2] - spot.from_m[2] - layer).abs() <= 1.0 / 200.0, "{spot:?}");
        let middle = if spot.centre_m[2] < 0.5 { layer / 2.0 } else { 1.0 - layer / 2.0 };
        assert!((spot.centre_m[2] - middle).abs() <= 1.0 / 200.0, "{spot:?}");
    }
}

/// Oscillating flow U cos ωt (the outer flow of reference 6.21): mean 0, mean speed 2U/π, RMS U/√2, and under the limit a for a share (2/π) asin(a/U).
#[test]
fn averages_of_an_oscillation() {
    let (fastest, period) = (0.05f64, 2.0);
    let mut statistics = Statistics::new(1, 0.02);
    for step in 0..2000 {
        let t = 0.1 * f64::from(step) + 0.0137;
        let u = fastest * (std::f64::consts::TAU * t / period).cos();
        statistics.add(&[[0.0, u as f32, 0.0]], &[1.0], 0.1);
    }
    let fields = statistics.fields([1, 1, 1], 0.1, &[1.0]);
    let cases = [
        ("mean velocity", fields.mean_velocity[0][1], 0.0, 1e-6),
        // Twenty samples a period: |cos| has corners, so the sum is good to 1/20² of it.
        ("mean speed", fields.mean_speed[0], 2.0 / std::f64::consts::PI * fastest, 0.0025 * fastest),
        ("rms", fields.rms[0], fastest / 2f64.sqrt(), 1e-6),
        ("share still", fields.share_still[0], 2.0 / std::f64::consts::PI * (0.02 / fastest).asin(), 0.1),
    ];
    for (case, got, expected, tolerance) in cases {
        assert!((f64::from(got) - expected).abs() < tolerance, "{case}: {got}, not {expected}");
    }
}

fn read(text: &str) -> Layout {
    ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME).from_str(text).unwrap()
}

/// What the jets bring in leaves through the sinks at any instant, and nozzles give the water the flow and momentum that the plumbing says.
#[test]
fn ports_of_the_demos_are_balanced_and_carry_all_momentum() {
    let demos =
        [include_str!("../../layouts/alcove.ron"), include_str!("../../layouts/peninsula.ron"), include_str!("../../layouts/lagoon.ron")];
    for layout in demos.map(read) {
        let schedule = Schedule::new(&layout, Catalog::builtin()).unwrap();
        let basin = Basin::new(&layout, 0.03);
        for step in 0..50 {
            let t = schedule.period * f64::from(step) / 50.0 + 0.123;
            let rates = basin.rates(&schedule, t);
            let inflow: f64 = rates.jets.iter().map(|jet| f64::from(jet.flow)).sum();
            let outflow: f64 = rates.sinks.iter().map(|&flow| f64::from(flow)).sum();
            assert!(inflow > 0.0 && (outflow / inflow - 1.0).abs() < 1e-6, "{} at {t} s: {inflow} in, {outflow} out", layout.name);
            let of_nozzles = |index: usize| schedule.nozzle_at(index, t);
            let wanted = (0..layout.nozzles.len()).map(of_nozzles).fold((0.0, 0.0), |a, b| (a.0 + b.0.max(0.0), a.1 + b.1.max(0.0)));
            let nozzle_jets = rates.jets.iter().zip(basin.jet_sources()).filter(|(_, source)| matches!(source, JetSource::Nozzle(_)));
            let momentum: f64 = nozzle_jets.map(|(jet, _)| f64::from(jet.momentum)).sum();
            assert!((inflow / wanted.0 - 1.0).abs() < 1e-6 && (momentum / wanted.1 - 1.0).abs() < 1e-6, "{} at {t} s", layout.name);
        }
    }
}
