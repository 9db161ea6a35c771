//! Set-ups that nobody should draw and somebody will: none may break a run. Random ones are in `flow.rs`.

use slackwater::flow::{Flow, Grid, Jet, JetRate, Note, Physics, Ports, Rates, Scratch, Sink, step};

const H: f32 = 0.025;
const BORE: f32 = 0.025;

type Place = [f32; 3];
/// Case, cells, solid, mouth and direction of the jet, place of the sink, what the sink takes over what the jet brings.
type Case = (&'static str, [usize; 3], fn(Place) -> f32, [Place; 2], Place, f32);

fn none(_: Place) -> f32 {
    1.0
}

fn ball(p: Place, at: Place, radius: f32) -> f32 {
    (0..3).map(|d| (p[d] - at[d]).powi(2)).sum::<f32>().sqrt() - radius
}

/// Places in metres; the box is 0.4 × 0.3 × 0.25 m, but for the smallest.
const CASES: [Case; 9] = [
    ("jet inside a solid", [16, 12, 10], |p| ball(p, [0.2, 0.15, 0.12], 0.08), [[0.2, 0.15, 0.12], [1.0, 0.0, 0.0]], [0.4, 0.15, 0.1], 1.0),
    ("jet and sink in one cell", [16, 12, 10], none, [[0.0, 0.15, 0.12], [1.0, 0.0, 0.0]], [0.01, 0.15, 0.12], 1.0),
    ("jet along a wall one cell away", [16, 12, 10], none, [[0.05, 0.0125, 0.12], [1.0, 0.0, 0.0]], [0.4, 0.15, 0.1], 1.0),
    ("jet at a wall one cell away", [16, 12, 10], none, [[0.37, 0.15, 0.12], [1.0, 0.0, 0.0]], [0.0, 0.15, 0.1], 1.0),
    (
        "gap of one cell",
        [16, 12, 10],
        |p| ((p[0] - 0.2).abs() - 0.05).max(0.0125 - (p[1] - 0.1625).abs()),
        [[0.0, 0.16, 0.12], [1.0, 0.0, 0.0]],
        [0.4, 0.15, 0.1],
        1.0,
    ),
    ("sink takes three times as much", [16, 12, 10], none, [[0.0, 0.15, 0.12], [1.0, 0.2, 0.1]], [0.4, 0.15, 0.1], 3.0),
    ("nothing takes water out", [16, 12, 10], none, [[0.0, 0.15, 0.12], [1.0, 0.2, 0.1]], [0.4, 0.15, 0.1], 0.0),
    ("four cells a side", [4, 4, 4], none, [[0.0, 0.05, 0.05], [1.0, 0.0, 0.0]], [0.1, 0.05, 0.05], 1.0),
    (
        "jet in a sealed cave",
        [16, 12, 10],
        |p| ball(p, [0.2, 0.15, 0.12], 0.085).abs() - 0.02,
        [[0.2, 0.15, 0.12], [0.0, 0.0, 1.0]],
        [0.4, 0.15, 0.1],
        1.0,
    ),
];

/// No NaN, no speed above 1.1 of the fastest source, mass closed to 1e-6, at 0.1 and 10 m/s, through a stop and a new start.
#[test]
fn named_cases_stay_bounded() {
    for (name, n, solid, [at, direction], sink, share) in CASES {
        for speed in [0.1, 10.0] {
            let flow_rate = speed * std::f32::consts::FRAC_PI_4 * BORE * BORE;
            let normal = [if sink[0] > 0.2 { -1.0 } else { 1.0 }, 0.0, 0.0];
            let ports = Ports { jets: vec![Jet { at, direction, bore: BORE }], sinks: vec![Sink { at: sink, normal, size: [0.08; 2] }] };
            let mut flow = Flow::new(Grid { n, h: H }, &solid, ports, Physics::tank(1e-6, 3));
            let mut scratch = Scratch::new(&flow);
            let open = Rates { jets: vec![JetRate { flow: flow_rate, momentum: flow_rate * speed }], sinks: vec![share * flow_rate] };
            let shut = Rates::shut(flow.ports());
            for rates in [&open, &shut, &open] {
                for _ in 0..80 {
                    let report = step(&mut flow, &mut scratch, rates, 0.2);
                    assert!(report.max_speed.is_finite() && report.max_speed <= 1.1 * speed, "{name} at {speed} m/s: {report:?}");
                    assert!(report.mass_error <= 1e-6 && report.dt > 0.0, "{name} at {speed} m/s: {report:?}");
                }
            }
        }
    }
}

#[test]
fn what_could_not_be_done_is_noted() {
    let notes = |case: usize| {
        let (_, n, solid, [at, direction], sink, share) = CASES[case];
        let ports = Ports {
            jets: vec![Jet { at, direction, bore: BORE }],
            sinks: vec![Sink { at: sink, normal: [-1.0, 0.0, 0.0], size: [0.08; 2] }],
        };
        let mut flow = Flow::new(Grid { n, h: H }, &solid, ports, Physics::tank(1e-6, 3));
        let mut scratch = Scratch::new(&flow);
        step(&mut flow, &mut scratch, &Rates { jets: vec![JetRate { flow: 5e-4, momentum: 5e-4 }], sinks: vec![5e-4 * share] }, 0.1);
        flow.notes().to_vec()
    };
    assert!(notes(4).iter().any(|note| matches!(note, Note::NarrowGap { .. })));
    assert!(notes(6).contains(&Note::NoWayOut { jet: 0 }));
    assert!(notes(8).contains(&Note::NoWayOut { jet: 0 }) && notes(8).iter().any(|note| matches!(note, Note::ThinSolid { .. })));
}
