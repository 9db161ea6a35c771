//! Jets that are not free, or not straight: rows of published relations.

use crate::at_once::all;
use crate::jet_rig::{Means, Mouth, Rig, Scene, WALL, mouth, norm, open_box};
use crate::wall_jet::{half_widths, outward};
use slackwater::flow::Side;

/// One measured number against what is wanted.
#[derive(Clone)]
struct Row {
    what: String,
    wanted: f32,
    got: f32,
}

/// A row of these.
fn row(what: impl Into<String>, wanted: f32, got: f32) -> Row {
    Row { what: what.into(), wanted, got }
}

/// Title of a case, and what runs it.
type Case = (&'static str, fn() -> Vec<Row>);

/// Row 3: jets that are not free, or not straight.
pub fn other_jets(is_asked: &dyn Fn(&str) -> bool) {
    let cases: [Case; 10] = [
        ("two parallel jets 4 h apart: one of both momenta far away", pair),
        ("two unlike jets in one box: 6 D/x each", unlike),
        ("jet 3 h under a slip surface: sqrt 2 of the law far away (image)", under_surface),
        ("jet 2 h from a wall: between the law and sqrt 2 of it", along_wall),
        ("jet striking a wall at 24 h: 1.03 U0 D/r along it (Beltaos and Rajaratnam 1974, from memory)", striking),
        ("opposed jets 48 h apart: as one that strikes at 24 h", opposed),
        ("fan of four mouths: round jet of the same momentum far away", fan),
        ("eductor: round jet of the same momentum", eductor),
        ("propeller: round jet of the same momentum", propeller),
        ("cross-flow r = 6: 1.6 (y/rD)^1/3 (Margason 1968, from memory)", cross_flow),
    ];
    let cases: Vec<Case> = cases.into_iter().filter(|case| is_asked(case.0)).collect();
    for (case, rows) in cases.iter().zip(all(&cases, |case| case.1())) {
        println!("{}", case.0);
        for row in rows {
            println!("    {:<44} wanted {:.4}  got {:.4}  {:+.1} %", row.what, row.wanted, row.got, 100.0 * (row.got / row.wanted - 1.0));
        }
    }
}

/// Means over a span, in cells per mouth speed, after a run of the same length.
fn means_of(scene: &Scene, span: f32) -> Means {
    let mut rig = Rig::new(scene);
    rig.run(span);
    rig.measure(span, 5)
}

/// Fastest in the planes at 30, 40 and 50 h against `factor` × 6 D/x.
fn decay(means: &Means, m: &Mouth, factor: f32) -> Vec<Row> {
    let far = [30.0f32, 40.0, 50.0];
    far.map(|x| row(format!("Uc/U0 at {x} h"), factor * 6.0 * m.bore * m.speed / x, means.fastest_across(m, x))).to_vec()
}

/// Two side by side, that become one.
fn pair() -> Vec<Row> {
    let at = |y: f32| mouth([0.0, y, 28.0], [1.0, 0.0, 0.0], 1.0);
    let means = means_of(&open_box([96, 56, 56], vec![at(26.0), at(30.0)]), 900.0);
    let middle = at(28.0);
    let mut rows = decay(&means, &middle, 2f32.sqrt());
    rows.push(row("momentum at 40 h", 2.0, means.momentum(&middle, 40.0)));
    rows
}

/// A wide slow one and a narrow quick one, too far apart to feel each other.
fn unlike() -> Vec<Row> {
    let slow = mouth([0.0, 20.0, 20.0], [1.0, 0.0, 0.0], 2.0);
    let quick = mouth([0.0, 60.0, 20.0], [0.966, 0.259, 0.0], 1.0);
    let (slow, quick) = (Mouth { speed: 0.5, ..slow }, Mouth { speed: 3.0, ..quick });
    let means = means_of(&open_box([80, 96, 40], vec![slow, quick]), 700.0);
    let mut rows = Vec::new();
    for (name, m) in [("D 2 h 0.5 m/s", slow), ("D 1 h 3 m/s, 15 deg", quick)] {
        for x in [20.0, 30.0, 40.0] {
            rows.push(row(format!("{name}: U at {x} h"), 6.0 * m.bore * m.speed / x, means.section(&m, x).centre));
        }
    }
    rows
}

/// A jet close under water's surface, where nothing rubs.
fn under_surface() -> Vec<Row> {
    let m = mouth([0.0, 28.0, 37.0], [1.0, 0.0, 0.0], 1.0);
    let mut scene = open_box([96, 56, 40], vec![m]);
    scene.sides[5] = Side::Slip;
    decay(&means_of(&scene, 900.0), &m, 2f32.sqrt())
}

/// A jet close over a smooth floor.
fn along_wall() -> Vec<Row> {
    let m = mouth([0.0, 28.0, 2.0], [1.0, 0.0, 0.0], 1.0);
    let mut scene = open_box([96, 56, 40], vec![m]);
    scene.sides[4] = WALL;
    let means = means_of(&scene, 900.0);
    let [near, far] = [30.0, 55.0].map(|x| widths_along_floor(&means, x));
    let slope = |d: usize| (far[d] - near[d]) / 25.0;
    let mut rows = decay(&means, &m, 1.2);
    rows.push(row("growth of its half-width off the wall, 30 to 55 h (Launder and Rodi 1983)", 0.048, slope(0)));
    rows.push(row("of that along the wall", 0.26, slope(1)));
    rows
}

/// Half-widths of a jet along the floor, from mean speeds of five places from x - 1 to x + 1.
fn widths_along_floor(means: &Means, x: f32) -> [f32; 2] {
    let speed = |y: f32, z: f32| (0..5).map(|n| means.at([x - 1.0 + 0.5 * n as f32, y, z])[0]).sum::<f32>() / 5.0;
    half_widths([27, 30], |j, k| 0.5 * (speed(28.5 + j as f32, k as f32 + 0.5) + speed(27.5 - j as f32, k as f32 + 0.5)))
}

/// Fastest radial speed over the height above a wall, at a distance from where a jet along x strikes; the middle of the box lies on its axis.
fn radial(means: &Means, wall: f32, r: f32) -> f32 {
    let middle = 0.5 * means.n[1] as f32;
    let at = |back: usize| outward(r, 0.0, |[y, z]| means.at([wall - back as f32 - 0.5, middle + y, middle + z]));
    (0..6).map(at).fold(0.0, f32::max)
}

/// A jet straight at a wall.
fn striking() -> Vec<Row> {
    // Open behind the mouth, as where it was measured: between two walls the water goes round and slows the jet.
    let m = mouth([16.0, 40.0, 40.0], [1.0, 0.0, 0.0], 1.0);
    let mut scene = open_box([40, 80, 80], vec![m]);
    scene.sides[0] = Side::Open;
    scene.sides[1] = WALL;
    let means = means_of(&scene, 600.0);
    [6.0f32, 8.0, 12.0, 16.0, 20.0].map(|r| row(format!("Um/U0 at r = {r} h"), 1.03 / r, radial(&means, 40.0, r))).to_vec()
}

/// Two that meet halfway, beside one that strikes a slip wall there.
fn opposed() -> Vec<Row> {
    let near = mouth([0.0, 32.0, 32.0], [1.0, 0.0, 0.0], 1.0);
    let far = mouth([48.0, 32.0, 32.0], [-1.0, 0.0, 0.0], 1.0);
    let mut scene = open_box([48, 64, 64], vec![near, far]);
    scene.sides[1] = WALL;
    let means = means_of(&scene, 600.0);
    let mut slip = open_box([24, 64, 64], vec![near]);
    slip.sides[1] = Side::Slip;
    let one = means_of(&slip, 600.0);
    [6.0f32, 8.0, 12.0, 16.0, 20.0].map(|r| row(format!("Um/U0 at r = {r} h"), radial(&one, 24.0, r), radial(&means, 24.0, r))).to_vec()
}

/// Four small ones side by side, that become one.
fn fan() -> Vec<Row> {
    let mouths: Vec<Mouth> = [-1.5f32, -0.5, 0.5, 1.5].map(|y| mouth([0.0, 28.0 + 1.2 * y, 28.0], [1.0, 0.0, 0.0], 0.8)).to_vec();
    let middle = mouth([0.0, 28.0, 28.0], [1.0, 0.0, 0.0], 1.6);
    decay(&means_of(&open_box([96, 56, 56], mouths), 700.0), &middle, 1.0)
}

/// A wide mouth of low speed: what leaves an eductor that has taken in four times its own flow.
fn eductor() -> Vec<Row> {
    let m = Mouth { speed: 0.4, ..mouth([0.0, 28.0, 28.0], [1.0, 0.0, 0.0], 2.5) };
    decay(&means_of(&open_box([96, 56, 56], vec![m]), 900.0), &m, 1.0)
}

/// Momentum without water of its own.
fn propeller() -> Vec<Row> {
    let m = Mouth { propeller: true, ..mouth([12.0, 28.0, 28.0], [1.0, 0.0, 0.0], 2.0) };
    let mut scene = open_box([96, 56, 56], vec![m]);
    scene.sides[0] = Side::Open;
    decay(&means_of(&scene, 500.0), &m, 1.0)
}

/// A jet up from the floor into a stream along x, in a channel whose ends are open.
fn cross_flow() -> Vec<Row> {
    let m = mouth([16.0, 32.0, 0.0], [0.0, 0.0, 1.0], 1.0);
    let mut scene = open_box([96, 64, 48], vec![m]);
    scene.sides = [Side::Open, Side::Open, Side::Slip, Side::Slip, Side::Slip, Side::Slip];
    scene.stream = [1.0 / 6.0, 0.0, 0.0];
    let means = means_of(&scene, 300.0);
    let height = |x: f32| {
        let speed = |k: usize| norm(means.at([16.0 + x, 32.0, k as f32 + 0.5])) + norm(means.at([16.0 + x, 31.0, k as f32 + 0.5]));
        (1..40).max_by(|a, b| speed(*a).total_cmp(&speed(*b))).map_or(0.0, |k| k as f32 + 0.5)
    };
    [3.0f32, 6.0, 12.0].map(|x| row(format!("height of the axis {x} h downstream, h"), 6.0 * 1.6 * (x / 6.0).cbrt(), height(x))).to_vec()
}
