//! Calibration: known factors come back from noisy readings, with intervals that hold them as often as they say; what can't be told is said.

use assert_cmd::Command;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use slackwater::calibrate::{Calibration, Factor, applied, calibrate};
use slackwater::catalog::Catalog;
use slackwater::layout::{Gauge, Layout, Reading, load, read};
use slackwater::units::Time;
use std::f64::consts::TAU;

/// Half width of a 95 % interval over the standard deviation (normal distribution).
const Z95: f64 = 1.959_964;

/// A layout of two drum positions measured by bucket, flow meter and head gauge, three times over; values are filled in.
fn measured(name: &str, circuit: &str, drum: &str, nozzles: [&str; 2], pump: &str) -> Layout {
    let mut layout = load(format!("{}/layouts/{name}.ron", env!("CARGO_MANIFEST_DIR")).as_ref()).unwrap().layout;
    assert!(layout.circuits.iter().any(|c| c.id == circuit));
    for round in 0..3 {
        for (outlet, nozzle) in nozzles.iter().enumerate() {
            let held = format!("[(drum: {drum:?}, open: [{}])]", outlet + 1);
            for value in [
                format!("bucket(nozzle: {nozzle:?}, volume: \"20 L\", time: \"20 s\", within: \"0.4 s\")"),
                format!("pump_flow(pump: {pump:?}, flow: \"4000 L/h\", within: \"80 L/h\")"),
                format!("pump_head(pump: {pump:?}, head: \"2 m\", within: \"4 cm\")"),
            ] {
                let id = format!("{round} {outlet} {value}");
                let text = format!("(id: {id:?}, date: \"2026-03-14\", held: {held}, value: {value})");
                let options = ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME);
                layout.measured.push(options.from_str::<Reading>(&text).unwrap());
            }
        }
    }
    layout
}

/// Sets every reading to what the layout says with these factors, plus noise of its own uncertainty.
fn synthetic(layout: &Layout, truth: &[(Factor, f64)], seed: u64, noise: f64) -> Layout {
    let mut set = layout.clone();
    for (factor, value) in truth {
        match factor {
            Factor::Losses(id) => set.circuits.iter_mut().filter(|c| c.id == *id).for_each(|c| c.loss_factor = Some(*value)),
            Factor::Head(id) => set.pumps.iter_mut().filter(|p| p.id == *id).for_each(|p| p.head_factor = Some(*value)),
            Factor::Leakage(id) => set.drums.iter_mut().filter(|d| d.id == *id).for_each(|d| d.leakage = *value),
        }
    }
    let exact = calibrate(&set, Catalog::builtin()).unwrap();
    let mut noisy = layout.clone();
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    for (reading, compared) in noisy.measured.iter_mut().zip(&exact.readings) {
        let sigma = compared.within / Z95;
        change(reading, compared.before + noise * sigma * normal(&mut random));
    }
    noisy
}

/// As a person writes it: what is written is the value.
fn change(reading: &mut Reading, si: f64) {
    match &mut reading.value {
        Gauge::Bucket { time, .. } | Gauge::Drift { time, .. } => *time = format!("{si:.6} s").parse().unwrap(),
        Gauge::PumpFlow { flow, .. } | Gauge::NozzleFlow { flow, .. } => *flow = format!("{:.6} L/s", 1e3 * si).parse().unwrap(),
        Gauge::PumpHead { head, .. } => *head = format!("{si:.6} m").parse().unwrap(),
        Gauge::Pressure { .. } => unreachable!("not used here"),
    }
}

/// Box and Muller.
fn normal(random: &mut ChaCha8Rng) -> f64 {
    let (a, b): (f64, f64) = (1.0 - random.random::<f64>(), random.random());
    (-2.0 * a.ln()).sqrt() * (TAU * b).cos()
}

fn alcove() -> Layout {
    measured("alcove", "loop", "unit", ["N1", "N3"], "loop pump")
}

fn truth() -> Vec<(Factor, f64)> {
    vec![(Factor::Losses("loop".into()), 1.25), (Factor::Head("loop pump".into()), 0.92), (Factor::Leakage("unit".into()), 0.035)]
}

fn fitted<'a>(calibration: &'a Calibration, factor: &Factor) -> &'a slackwater::calibrate::Fitted {
    calibration.factors.iter().find(|fitted| fitted.factor == *factor).unwrap_or_else(|| panic!("{factor:?} in {:?}", calibration.left))
}

#[test]
fn exact_readings_give_the_exact_factors() {
    let layout = synthetic(&alcove(), &truth(), 1, 0.0);
    let found = calibrate(&layout, Catalog::builtin()).unwrap();
    for (factor, value) in truth() {
        assert!((fitted(&found, &factor).value - value).abs() < 2e-3, "{factor:?}: {}", fitted(&found, &factor).value);
    }
    assert!(found.agreement.chi_square < 0.1 && found.agreement.degrees_of_freedom == 15, "{:?}", found.agreement);
}

/// Of 100 sets of readings, about 95 intervals hold the true factor: the binomial distribution gives 87 to 100 with a chance of 99.9 %. The spread of
/// the factors must be what their standard errors say, within a quarter (its own standard deviation is 7 %).
#[test]
fn intervals_hold_the_truth_as_often_as_they_say() {
    let (layout, truth) = (alcove(), truth());
    let mut held = vec![0; truth.len()];
    let mut ratios = vec![Vec::new(); truth.len()];
    for seed in 0..100 {
        let found = calibrate(&synthetic(&layout, &truth, seed, 1.0), Catalog::builtin()).unwrap();
        for (k, (factor, value)) in truth.iter().enumerate() {
            let fitted = fitted(&found, factor);
            held[k] += usize::from((fitted.interval_95[0]..=fitted.interval_95[1]).contains(value));
            ratios[k].push((fitted.value - value) / fitted.standard_error);
        }
    }
    for (k, (factor, _)) in truth.iter().enumerate() {
        let spread = (ratios[k].iter().map(|r| r * r).sum::<f64>() / 100.0).sqrt();
        println!("{factor:?}: {} of 100 intervals hold the truth; spread over standard error {spread:.2}", held[k]);
        assert!((87..=100).contains(&held[k]), "{factor:?}: {} of 100", held[k]);
        assert!((0.75..=1.25).contains(&spread), "{factor:?}: {spread}");
    }
}

#[test]
fn a_wrong_reading_is_named() {
    let mut layout = synthetic(&alcove(), &truth(), 3, 1.0);
    let Gauge::Bucket { time, .. } = &mut layout.measured[0].value else { panic!("the first is a bucket") };
    *time = Time::new(1.4 * time.si(), "s");
    let found = calibrate(&layout, Catalog::builtin()).unwrap();
    let worst = found.readings.iter().max_by(|a, b| a.off.abs().total_cmp(&b.off.abs())).unwrap();
    assert!(worst.id == layout.measured[0].id && worst.disagrees() && worst.off > 0.0, "{worst:?}");
    let without = found.without_worst.as_ref().unwrap();
    assert!(without.agreement.chi_square < 0.3 * found.agreement.chi_square, "{without:?}");
}

#[test]
fn flows_alone_do_not_tell_losses_and_head_apart() {
    let mut layout = alcove();
    layout.measured.retain(|reading| matches!(reading.value, Gauge::Bucket { .. }));
    layout.measured.retain(|reading| reading.held[0].open == [1]);
    let found = calibrate(&synthetic(&layout, &truth(), 5, 1.0), Catalog::builtin()).unwrap();
    assert!(found.left.iter().any(|left| matches!(left.factor, Factor::Head(_)) && !left.why.is_empty()), "{found:?}");
    layout.measured.truncate(1);
    let one = calibrate(&layout, Catalog::builtin()).unwrap();
    assert!(one.factors.len() <= 1 && one.factors.len() + one.left.len() == 3, "{one:?}");
    assert!(!one.factors.iter().any(|fitted| matches!(fitted.factor, Factor::Leakage(_))), "{one:?}");
}

#[test]
fn the_fitted_layout_says_what_was_fitted() {
    let layout = synthetic(&alcove(), &truth(), 7, 1.0);
    let found = calibrate(&layout, Catalog::builtin()).unwrap();
    let again = calibrate(&applied(&layout, &found), Catalog::builtin()).unwrap();
    for (first, second) in found.readings.iter().zip(&again.readings) {
        assert!((first.after - second.before).abs() < 1e-9, "{}", first.id);
    }
    assert!(!found.change.numbers.is_empty());
}

/// Only the factors change; comments and everything else stay.
#[test]
fn writing_keeps_the_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("tank.ron");
    let layout = synthetic(&alcove(), &truth(), 11, 1.0);
    let original = std::fs::read_to_string(format!("{}/layouts/alcove.ron", env!("CARGO_MANIFEST_DIR"))).unwrap();
    std::fs::write(&path, slackwater::layout::write(&layout, Some(&original))).unwrap();
    let program = || Command::cargo_bin("slackwater").unwrap();
    let json = program().args(["calibrate", "--json"]).arg(&path).output().unwrap();
    let said: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
    program().args(["calibrate", "--write"]).arg(&path).assert().success();
    let text = std::fs::read_to_string(&path).unwrap();
    let written = read("", text.as_bytes()).unwrap().layout;
    assert_eq!(written.circuits[0].loss_factor, said["factors"][0]["value"].as_f64());
    assert!(written.pumps[0].head_factor.is_some());
    let comments = |text: &str| text.lines().filter(|line| line.trim_start().starts_with("//")).count();
    assert_eq!(comments(&text), comments(&original));
    assert_eq!(written.measured, layout.measured);
}

#[test]
fn bad_readings_are_told() {
    let told = |measured: &str| {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("tank.ron");
        let original = std::fs::read_to_string(format!("{}/layouts/alcove.ron", env!("CARGO_MANIFEST_DIR"))).unwrap();
        let end = original.rfind(')').unwrap();
        std::fs::write(&path, format!("{}    measured: [{measured}],\n)\n", &original[..end])).unwrap();
        let out = Command::cargo_bin("slackwater").unwrap().arg("calibrate").arg(&path).output().unwrap();
        assert_eq!(out.status.code(), Some(2), "{measured}");
        String::from_utf8(out.stderr).unwrap()
    };
    assert!(told("").contains("no readings"));
    let bucket = |nozzle: &str, time: &str| format!("bucket(nozzle: {nozzle:?}, volume: \"20 L\", time: {time:?}, within: \"1 s\")");
    assert!(told(&format!("(id: \"a\", value: {})", bucket("N7", "20 s"))).contains("there is no nozzle `N7`"));
    assert!(told(&format!("(id: \"a\", value: {})", bucket("N1", "20 s"))).contains("drum unit `unit` stood"));
    assert!(told(&format!("(id: \"a\", value: {})", bucket("N1", "-3 s"))).contains("above zero"));
    let dated = format!("(id: \"a\", date: \"14.3.2026\", held: [(drum: \"unit\", open: [1])], value: {})", bucket("N1", "20 s"));
    assert!(told(&dated).contains("is no date"));
}
