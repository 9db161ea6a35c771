//! Mixing of dye against the exact decay of a diffusing wave, and what a carried scalar must never do (reference 12.1).

use slackwater::study::{Control, mixing, recording::Recording, scalar::Scalar};
use std::f64::consts::PI;

/// c = 1 + A cos(πx/L) between closed ends decays by e^(−π²Dt/L²): its variation A/√2 is down to 5 % at t = ln(A/(0.05 √2)) L²/(π²D).
#[test]
fn a_diffusing_wave_is_mixed_in_its_time() {
    let (cells, length, diffusivity) = (40, 1.0, 1e-3);
    let h = length / cells as f64;
    for amplitude in [0.3, 0.5, 0.9f64] {
        let recording = Recording::steady([cells, 1, 1], h, |_, _| 0.0);
        let value = (0..cells).map(|i| 1.0 + amplitude * (PI * (i as f64 + 0.5) * h / length).cos()).collect();
        let found = mixing::follow(Scalar::new(&recording, value, diffusivity), &recording, 1000.0, &mut |_, _| Control::Go);
        let exact = (amplitude / (mixing::MIXED * 2f64.sqrt())).ln() * length * length / (PI * PI * diffusivity);
        let got = found.mixed_s.unwrap();
        assert!((got / exact - 1.0).abs() < 0.01, "A = {amplitude}: {got} s, not {exact} s");
    }
}

/// A closed loop: a channel whose sink feeds its nozzle. The dye goes round, spreads, and none is lost.
#[test]
fn dye_that_comes_back_is_not_lost() {
    let (cells, h, speed) = (30, 0.05, 0.1);
    let mut recording =
        Recording::steady([cells, 1, 1], h, |axis, p| if axis == 0 && p[0] > 0.5 * h && p[0] < 29.5 * h { speed } else { 0.0 });
    recording.jets = vec![vec![(0, 1.0)]];
    recording.sinks = vec![vec![(cells - 1, 1.0)]];
    recording.streams[0].jets = vec![(speed * h * h) as f32];
    recording.streams[0].sinks = recording.streams[0].jets.clone();
    let found = mixing::mixing(&recording, &[(0, 1.0)], 200.0, &mut |_, _| Control::Go);
    assert!(found.course.len() > 2 && found.course.iter().all(|point| point[1].is_finite()));
    let falls = found.course.windows(2).all(|pair| pair[1][1] <= pair[0][1] * 1.001);
    assert!(falls, "the variation grows: {:?}", found.course);

    let mut value = vec![0.0; cells];
    value[0] = 1.0;
    let mut dye = Scalar::new(&recording, value, 0.0);
    let feed = slackwater::study::scalar::Feed { gain: 0.0, brought: slackwater::study::scalar::Brought::Returned };
    for _ in 0..20 {
        dye.carry(&recording.streams[0], feed);
        assert!((dye.mean() * cells as f64 - 1.0).abs() < 1e-5, "{}", dye.mean() * cells as f64);
        assert!(dye.value.iter().all(|&c| c > -1e-9));
    }
}

#[test]
fn somebody_can_stop_it() {
    let recording = Recording::steady([4, 1, 1], 0.1, |_, _| 0.0);
    let mut looks = 0;
    let stop = &mut |_: f64, _: f64| {
        looks += 1;
        if looks > 3 { Control::Stop } else { Control::Go }
    };
    let found = mixing::mixing(&recording, &[(0, 1.0)], 1e9, stop);
    assert!(found.mixed_s.is_none() && found.followed_s == 30.0, "{found:?}");
}
