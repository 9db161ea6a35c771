//! Drum geometry and step tables over time.

use proptest::prelude::*;
use slackwater::sequence::{Arc, Motion, Unit, joint_cycle};

fn degrees(x: f64) -> f64 {
    x.to_radians()
}

fn turning(outlets: usize, port: f64, windows: &[(f64, f64)], period: f64) -> Unit {
    let windows = windows.iter().map(|(c, a)| Arc { centre: degrees(*c), length: degrees(*a) }).collect();
    Unit { outlets, port_arc: degrees(port), windows, motion: Motion::Turning(period), phase: 0.0, reverse: false }
}

fn open(unit: &Unit, t: f64) -> Vec<f64> {
    let mut out = vec![0.0; unit.outlets];
    unit.open(t, &mut out);
    out
}

/// Least and most of the sum of open shares over a turn.
fn open_area(unit: &Unit) -> (f64, f64) {
    let period = unit.period().unwrap();
    let times = unit.corners().into_iter().chain((0..1000).map(|i| f64::from(i) * period / 1000.0));
    times.map(|t| open(unit, t).iter().sum::<f64>()).fold((f64::INFINITY, 0.0), |(a, b), x| (a.min(x), b.max(x)))
}

#[test]
fn open_area_by_hand() {
    // By hand, exact. Four ports of 60 deg leave gaps of 30 deg; six of 40 deg leave 20.
    let cases = [
        ("window of one pitch covers one port's worth, wherever it stands", turning(4, 60.0, &[(0.0, 90.0)], 40.0), 1.0, 1.0),
        ("150 deg over four: 60 to 120 deg of ports", turning(4, 60.0, &[(0.0, 150.0)], 40.0), 1.5, 2.0),
        ("120 deg over six: two pitches, two ports' worth", turning(6, 40.0, &[(0.0, 120.0)], 40.0), 2.0, 2.0),
        ("36 deg over ports of 50 with gaps of 40: shut at times", turning(4, 50.0, &[(0.0, 36.0)], 40.0), 0.0, 0.72),
        ("two windows opposite", turning(4, 60.0, &[(0.0, 60.0), (180.0, 60.0)], 40.0), 1.0, 2.0),
    ];
    for (case, unit, least, most) in cases {
        let (a, b) = open_area(&unit);
        assert!((a - least).abs() < 1e-9 && (b - most).abs() < 1e-9, "{case}: {a} to {b}");
    }
}

#[test]
fn a_turn_gives_every_outlet_its_share() {
    // Mean open share over a turn = window arc / 360 deg, whatever the port: each point of a port is uncovered for that long.
    let unit = turning(5, 37.0, &[(10.0, 100.0)], 30.0);
    let n = 20_000;
    let mean: f64 = (0..n).map(|i| open(&unit, f64::from(i) * 30.0 / f64::from(n))[3]).sum::<f64>() / f64::from(n);
    assert!((mean - 100.0 / 360.0).abs() < 1e-6, "{mean}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn shares_stay_in_range_and_repeat(
        outlets in 1usize..8, port in 1.0f64..90.0, windows in prop::collection::vec((-720.0f64..720.0, 0.0f64..400.0), 0..4),
        period in 0.5f64..100.0, phase in -50.0f64..50.0, reverse: bool, t in -500.0f64..500.0,
    ) {
        let unit = Unit { phase, reverse, ..turning(outlets, port, &windows, period) };
        let (now, later) = (open(&unit, t), open(&unit, t + 3.0 * period));
        for (a, b) in now.iter().zip(&later) {
            prop_assert!((0.0..=1.0).contains(a) && (a - b).abs() < 1e-6, "{a} {b}");
        }
    }

    #[test]
    fn between_corners_shares_change_linearly(port in 5.0f64..90.0, centre in 0.0f64..360.0, arc in 1.0f64..200.0, reverse: bool, phase in 0.0f64..40.0) {
        let unit = Unit { reverse, phase, ..turning(4, port, &[(centre, arc)], 40.0) };
        for pair in unit.corners().windows(2) {
            let at = |s: f64| open(&unit, pair[0] + s * (pair[1] - pair[0]));
            let (a, middle, b) = (at(0.01), at(0.5), at(0.99));
            for i in 0..4 {
                prop_assert!((0.5 * (a[i] + b[i]) - middle[i]).abs() < 1e-7);
            }
        }
    }

    #[test]
    fn everything_repeats_after_the_joint_cycle(periods in prop::collection::vec(1u32..60, 1..4), t in 0.0f64..100.0) {
        let units: Vec<Unit> = periods.iter().map(|p| turning(4, 60.0, &[(0.0, 150.0)], f64::from(*p))).collect();
        let cycle = joint_cycle(&units);
        prop_assume!(cycle.exact);
        for unit in &units {
            for (a, b) in open(unit, t).iter().zip(open(unit, t + cycle.period_s)) {
                prop_assert!((a - b).abs() < 1e-6);
            }
        }
    }
}
