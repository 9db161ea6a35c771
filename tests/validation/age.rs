//! Water age against exact answers: what leaves has the mean age V/Q (Danckwerts 1953; reference 11.1), plug flow and perfect mixing (11.2).

use slackwater::{
    flow::Stream,
    study::{
        Control,
        age::{Aged, age},
        recording::Recording,
        scalar::{Brought, Feed, Scalar},
    },
};

/// Layers of plug flow along x, each `speeds[k]` m/s: in at the first cells, out at the last.
fn layers(cells: usize, h: f64, speeds: &[f64]) -> Recording {
    let count = speeds.len();
    let mut recording = Recording::steady([cells, 1, count], h, |axis, p| {
        let inside = p[0] > 0.5 * h && p[0] < (cells as f64 - 0.5) * h;
        if axis == 0 && inside { speeds[((p[2] / h) as usize).min(count - 1)] } else { 0.0 }
    });
    recording.jets = (0..count).map(|k| vec![(k * cells, 1.0)]).collect();
    recording.sinks = (0..count).map(|k| vec![(k * cells + cells - 1, 1.0)]).collect();
    let flows: Vec<f32> = speeds.iter().map(|u| (u * h * h) as f32).collect();
    recording.streams[0].jets.clone_from(&flows);
    recording.streams[0].sinks = flows;
    recording
}

/// The same motion at another pace.
fn paced(stream: &Stream, by: f32, seconds: f64) -> Stream {
    let scale = |values: &Vec<f32>| values.iter().map(|u| by * u).collect::<Vec<f32>>();
    Stream { seconds, at_face: std::array::from_fn(|d| scale(&stream.at_face[d])), jets: scale(&stream.jets), sinks: scale(&stream.sinks) }
}

#[test]
fn ages_of_exact_flows() {
    let plug = layers(120, 0.05, &[0.1]);
    let mixed = layers(1, 0.05, &[0.01]);
    let short = layers(120, 0.05, &[0.18, 0.02]);
    let mut paced_flow = layers(60, 0.05, &[0.1]);
    let steady = paced_flow.streams[0].clone();
    paced_flow.streams = vec![paced(&steady, 0.5, 7.0), paced(&steady, 2.0, 3.0)];
    // V/Q of each layer; its own mean age is half of that.
    let own = |speed: f64| 120.0 * 0.05 / speed;
    let short_mean = 0.25 * (own(0.18) + own(0.02));
    let mean_pace = 0.1 * (0.5 * 7.0 + 2.0 * 3.0) / 10.0;
    // Case, motion, V/Q, volume-mean age, tolerance of that (1 %, reference 11.2; a cell more for the mixing in the first one).
    let cases = [
        ("plug flow", &plug, own(0.1), Some(own(0.1) / 2.0), 0.01),
        ("perfect mixing", &mixed, 5.0, Some(5.0), 0.01),
        ("short circuit beside a slow layer", &short, 120.0 * 0.05 / 0.1, Some(short_mean), 0.01),
        ("a flow that changes pace", &paced_flow, 60.0 * 0.05 / mean_pace, None, 0.0),
    ];
    for (case, recording, nominal, mean, tolerance) in cases {
        let Aged { record, at_cell, by_sink } = age(recording, &mut |_, _| Control::Go).unwrap();
        assert!(record.settled, "{case}: {record:?}");
        assert!((record.nominal_s / nominal - 1.0).abs() < 1e-5, "{case}: {record:?}, V/Q is {nominal}");
        // Reference 11.1: half a percent.
        assert!((record.outlets_s / nominal - 1.0).abs() < 0.005, "{case}: {record:?}");
        if let Some(mean) = mean {
            assert!((record.mean_s / mean - 1.0).abs() < tolerance, "{case}: {record:?}, not {mean}");
            assert!((record.exchange_efficiency / (nominal / 2.0 / mean) - 1.0).abs() < 1.1 * tolerance, "{case}: {record:?}");
        }
        assert_eq!((at_cell.len(), by_sink.len()), (recording.water.len(), recording.sinks.len()));
    }
}

/// Two layers that don't mix: what leaves each has gone its own way, 6 m at its own speed, within the cell in which it is mixed; weighed by
/// their flows the two make V/Q.
#[test]
fn each_outlet_has_the_age_of_its_own_way() {
    let speeds = [0.18, 0.02];
    let found = age(&layers(120, 0.05, &speeds), &mut |_, _| Control::Go).unwrap();
    for (taken, speed) in found.by_sink.iter().zip(speeds) {
        let (got, wanted) = (taken.mean().unwrap(), 6.0 / speed);
        assert!((got / wanted - 1.0).abs() < 0.01, "{got} s, not {wanted} s");
    }
    let [fast, slow] = found.by_sink[..] else { panic!("{:?}", found.by_sink) };
    let weighed = fast.with(slow);
    assert!((weighed.mean().unwrap() / found.record.outlets_s - 1.0).abs() < 1e-12);
    assert!((weighed.mean().unwrap() / 60.0 - 1.0).abs() < 0.005 && (fast.water / weighed.water - 0.9).abs() < 1e-5);
}

#[test]
fn without_inflow_there_is_no_age() {
    assert!(age(&Recording::steady([4, 4, 4], 0.1, |_, _| 0.0), &mut |_, _| Control::Go).is_none());
}

/// Washout of a stirred tank: 1 − F(θ) = e^(−θ) (reference 11.3), here at θ = 0.5, 1 and 2.
#[test]
fn a_stirred_tank_washes_out_exponentially() {
    let mut recording = layers(1, 0.05, &[0.01]);
    recording.streams[0].seconds = 2.5;
    let mut dye = Scalar::new(&recording, vec![1.0], 0.0);
    for (theta, left) in [(0.5, 0.606531), (1.0, 0.367879), (1.5, 0.223130), (2.0, 0.135335f64)] {
        // Half a second a step by the Courant limit would be coarse; a hundred short streams keep the step at a 200th of V/Q.
        for _ in 0..100 {
            dye.carry_for(&recording.streams[0], 0.025, Feed { gain: 0.0, brought: Brought::Fixed(0.0) });
        }
        assert!((dye.value[0] / left - 1.0).abs() < 0.01, "θ = {theta}: {}", dye.value[0]);
    }
}
