//! Measures of a study on flows whose answer is known in closed form, and the balance of the ports.

use glam::DVec3;
use slackwater::{
    catalog::Catalog,
    layout::Layout,
    setup::{Schedule, basin::Basin, port::JetSource},
    study::{Fields, cause, dead_spots, exposure, statistics::Statistics},
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

/// A current of 10 cm/s along the tank over a block; behind it the water stands. One nozzle blows with the current over the block, one stands at the far end
/// and looks away. By construction: the block shelters the spot, the first jet passes 6 to 9 cm over it (a ring of 2 cm about its axis, and a cell), its
/// straight line is blocked, and the second has a clear one, 90° off its aim.
#[test]
fn a_dead_spot_behind_a_block_has_its_cause() {
    let panel = r#"(material: glass, thickness: "10 mm")"#;
    let layout = read(&format!(
        r#"(version: 1, name: "Lee", tank: (length: "600 mm", width: "400 mm", height: "400 mm", water_level: "360 mm",
            panels: (front: {panel}, back: {panel}, left: {panel}, right: {panel}, bottom: {panel})),
            rocks: [(id: "block", shape: box(size: ("160 mm", "160 mm", "200 mm")), at: ("360 mm", "200 mm", "0 mm"))],
            nozzles: [(id: "over", mount: hole(panel: left, along: "200 mm", up: "280 mm"), aim: angles(azimuth: "0 deg", elevation: "0 deg"), bore: "20 mm"),
                (id: "aside", mount: hole(panel: right, along: "200 mm", up: "90 mm"), aim: angles(azimuth: "90 deg", elevation: "0 deg"), bore: "20 mm")])"#
    ));
    let solids = slackwater::setup::rock::Solids::new(&layout);
    let (n, h) = ([30, 20, 18], 0.02);
    let count = n.iter().product();
    let mut fields = Fields { n, h, water: vec![1.0; count], dead: vec![0; count], ..Fields::default() };
    let still = |p: [f64; 3]| p[0] > 0.44 && p[0] < 0.54 && (p[1] - 0.2).abs() < 0.06 && p[2] < 0.18;
    let places: Vec<[f64; 3]> = (0..count).map(|cell| fields.centre(cell)).collect();
    fields.water = places.iter().map(|p| if solids.distance(DVec3::from_array(*p)) < 0.0 { 0.0 } else { 1.0 }).collect();
    fields.mean_speed = places.iter().map(|p| if still(*p) { 0.001 } else { 0.1 }).collect();
    fields.mean_velocity = fields.mean_speed.iter().map(|&u| [if u > 0.01 { u } else { 0.0 }, 0.0, 0.0]).collect();
    fields.share_still = fields.mean_speed.iter().map(|&u| if u < 0.01 { 1.0 } else { 0.0 }).collect();
    let spots = dead_spots::find(&mut fields, dead_spots::Limits { speed: 0.02, share: 0.9 });
    assert_eq!(spots.len(), 1);
    let line = |index: usize, at: [f64; 3], direction: DVec3| cause::Line {
        source: JetSource::Nozzle(index),
        at: DVec3::from_array(at),
        direction,
        momentum: 3e-4,
    };
    let jets = [line(0, [0.0, 0.2, 0.28], DVec3::X), line(1, [0.6, 0.2, 0.09], DVec3::Y)];
    let paths = cause::paths(&fields, &jets);
    let found = cause::of(&cause::Scene { fields: &fields, layout: &layout, solids: &solids, jets: &jets, paths: &paths }, &spots[0]);
    assert_eq!(found.lee_of.as_deref(), Some("rocks/block"), "{found:?}");
    let over = found.passes.iter().find(|passing| passing.jet == "nozzle over").unwrap_or_else(|| panic!("{found:?}"));
    assert!((0.06..0.10).contains(&over.distance_m) && (over.speed_m_s - 0.1).abs() < 1e-6, "{found:?}");
    let reach = found.reach.as_ref().unwrap();
    // From the right wall the middle of the spot is 11 cm away, straight along −x: 90° from its aim; 5.8 √(4M/π)/x.
    assert!(reach.jet == "nozzle aside" && (reach.turn_rad - std::f64::consts::FRAC_PI_2).abs() < 0.1, "{reach:?}");
    let arrival = 5.8 * (4.0 * 3e-4 / std::f64::consts::PI).sqrt() / reach.distance_m;
    assert!((reach.distance_m - 0.11).abs() < 0.015 && (reach.speed_m_s / arrival - 1.0).abs() < 1e-6, "{reach:?}");
    assert!(found.words.contains("lee of the block") && found.words.contains("nozzle aside"), "{}", found.words);
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
