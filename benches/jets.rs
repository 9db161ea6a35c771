//! Jets against published relations: the full tables, and plots into target/jets.
//! `cargo bench --no-default-features --bench jets [-- free out-of-plane near other switch]`, or words of the title of one of the others

mod chart;
#[path = "../tests/validation/jet_rig.rs"]
#[allow(dead_code, reason = "the tests use other parts of it")]
mod jet_rig;

use chart::{Chart, Curve};
use jet_rig::{H, Means, Mouth, Rig, Scene, Section, WALL, mouth, norm, open_box};
use slackwater::flow::Side;
use std::{
    path::Path,
    sync::{
        Mutex,
        atomic::{AtomicUsize, Ordering},
    },
};

fn main() {
    let wanted: Vec<String> = std::env::args().skip(1).filter(|arg| !arg.starts_with('-')).collect();
    let asked = |name: &str| wanted.is_empty() || wanted.iter().any(|w| w == name);
    if asked("free") || asked("out-of-plane") {
        free_jets(&|case| asked("free") || case.rise > 0.0);
    }
    if asked("near") {
        near_fields();
    }
    other_jets(&|title| asked("other") || wanted.iter().any(|w| title.contains(w.as_str())));
    if asked("switch") {
        switching();
    }
}

/// Runs all of these, each on one thread, as many at once as there are cores.
fn all<T: Sync, R: Send>(cases: &[T], run: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let results: Mutex<Vec<(usize, R)>> = Mutex::new(Vec::new());
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..cores.min(cases.len()) {
            scope.spawn(|| {
                let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("a thread pool");
                while let Some(case) = cases.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let index = (case as *const T as usize - cases.as_ptr() as usize) / size_of::<T>().max(1);
                    let result = pool.install(|| run(case));
                    results.lock().expect("no case panics").push((index, result));
                }
            });
        }
    });
    let mut results = results.into_inner().expect("no case panics");
    results.sort_by_key(|(index, _)| *index);
    results.into_iter().map(|(_, result)| result).collect()
}

/// A free jet: bore in cells, angles in degrees about z and up.
#[derive(Clone, Copy)]
struct Free {
    bore: f32,
    turn: f32,
    rise: f32,
}

const STATIONS: [f32; 7] = [12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0];

impl Free {
    fn scene(&self) -> (Scene, Mouth) {
        let (turn, rise) = (self.turn.to_radians(), self.rise.to_radians());
        let direction = [turn.cos() * rise.cos(), turn.sin() * rise.cos(), rise.sin()];
        // Wide enough that an oblique jet with all that it draws in fits until 50 h.
        let wide = if self.rise > 0.0 { 80 } else { 56 };
        let side = |tilted: bool| if tilted { (0.22 * wide as f32).floor() } else { 0.5 * wide as f32 };
        let m = mouth([0.0, side(self.turn > 0.0) + 0.02, side(self.rise > 0.0)], direction, self.bore);
        (open_box([96, wide, wide], vec![m]), m)
    }

    fn sections(&self) -> Vec<Section> {
        let (scene, m) = self.scene();
        let mut rig = Rig::new(&scene);
        let span = 900.0 / self.bore.max(1.0);
        rig.run(span);
        let means = rig.measure(span, 5);
        STATIONS.map(|x| means.section(&m, x)).to_vec()
    }

    fn name(&self) -> String {
        format!("D {:.2} h {:>2}+{:<2} deg", self.bore, self.turn, self.rise)
    }
}

fn grid_of_jets() -> Vec<Free> {
    let bores = [2.0 / 3.0, 1.0, 1.5, 2.0, 3.0];
    let angles = [(0.0, 0.0), (15.0, 0.0), (30.0, 0.0), (45.0, 0.0), (30.0, 30.0)];
    bores.iter().flat_map(|&bore| angles.map(|(turn, rise)| Free { bore, turn, rise })).collect()
}

/// Rows of issue part 1: centreline within 8 % of 6 D/x from 20 h (5 % aligned), half-width 0.094 to 0.106 x, momentum within 2 %, offset < 0.5 h.
fn free_jets(is_asked: &dyn Fn(&Free) -> bool) {
    let cases: Vec<Free> = grid_of_jets().into_iter().filter(is_asked).collect();
    let found = all(&cases, Free::sections);
    plot_decay(&cases, &found);
    println!("free jets, x/h = {STATIONS:?}: centreline error %, half-width/x, momentum/M0, offset/h");
    for (case, sections) in cases.iter().zip(found) {
        let list = |of: &dyn Fn(&Section) -> String| sections.iter().map(of).collect::<Vec<_>>().join(" ");
        println!(
            "{} | {} | {} | {} | {}",
            case.name(),
            list(&|s| format!("{:+5.1}", 100.0 * (s.centre * s.x / (6.0 * case.bore) - 1.0))),
            list(&|s| format!("{:.3}", s.half_width / s.x)),
            list(&|s| format!("{:.3}", s.momentum)),
            list(&|s| format!("{:.2}", s.offset)),
        );
    }
}

/// Decay along the axis of all bores at one angle, and half-widths, beside the published laws.
fn plot_decay(cases: &[Free], found: &[Vec<Section>]) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/jets");
    for (turn, rise) in [(0.0, 0.0), (30.0, 0.0), (45.0, 0.0), (30.0, 30.0)] {
        let curves = |of: &dyn Fn(&Free, &Section) -> [f64; 2]| -> Vec<Curve> {
            let here = cases.iter().zip(found).filter(|(case, _)| case.turn == turn && case.rise == rise);
            here.map(|(case, sections)| Curve {
                name: format!("D = {:.2} h", case.bore),
                points: sections.iter().map(|s| of(case, s)).collect(),
            })
            .collect()
        };
        let law = |of: fn(f64) -> f64| (2..=20).map(|n| [4.0 * f64::from(n), of(4.0 * f64::from(n))]).collect::<Vec<_>>();
        let chart = |what: &str, axes, curves: Vec<Curve>, published| {
            if !curves.is_empty() {
                Chart { name: format!("{what} at {turn} and {rise} degrees"), axes, curves, published }.write(&folder);
            }
        };
        let decay = curves(&|case, s| [f64::from(s.x / case.bore), f64::from(s.centre)]);
        chart("decay of free jets", ["x/D", "Uc/U0"], decay, law(|x| 6.0 / x));
        let widths = curves(&|case, s| [f64::from(s.x / case.bore), f64::from(s.half_width / case.bore)]);
        chart("half-width of free jets", ["x/D", "half-width/D"], widths, law(|x| 0.098 * x));
    }
}

/// Row 2: what is told near the nozzle, along the straight axis, over the law.
fn near_fields() {
    let cases = grid_of_jets();
    let told = |case: &Free| {
        let (scene, m) = case.scene();
        let mut rig = Rig::new(&scene);
        rig.run(300.0 / case.bore.max(1.0));
        let places: Vec<f32> =
            [6.0, 8.0, 10.0].map(|x| x * case.bore).into_iter().chain([12.5, 15.0, 17.5, 20.0, 22.5, 25.0, 30.0]).collect();
        let mut sums = vec![0.0f32; places.len()];
        let samples = 40;
        for _ in 0..samples {
            for _ in 0..8 {
                rig.step();
            }
            rig.near.trace(&rig.flow);
            for (x, sum) in places.iter().zip(&mut sums) {
                let place = std::array::from_fn(|d| H * (m.at[d] + x * m.direction[d]));
                *sum += rig.near.at(&rig.flow, place).map_or(0.0, |(u, _)| norm(u)) / samples as f32;
            }
        }
        let errors = places.iter().zip(sums).map(|(x, u)| format!("{:+.0}", 100.0 * (u / (6.0 * case.bore / x).min(1.0) - 1.0)));
        errors.collect::<Vec<_>>().join(" ")
    };
    println!("told near the nozzle, % off the law at x = 6 D, 8 D, 10 D, then 12.5 15 17.5 20 22.5 25 30 h");
    for (case, errors) in cases.iter().zip(all(&cases, told)) {
        println!("{} | {errors}", case.name());
    }
}

/// One measured number against what is wanted.
#[derive(Clone)]
struct Row {
    what: String,
    wanted: f32,
    got: f32,
}

fn row(what: impl Into<String>, wanted: f32, got: f32) -> Row {
    Row { what: what.into(), wanted, got }
}

type Case = (&'static str, fn() -> Vec<Row>);

/// Row 3: jets that are not free, or not straight.
fn other_jets(is_asked: &dyn Fn(&str) -> bool) {
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

fn pair() -> Vec<Row> {
    let at = |y: f32| mouth([0.0, y, 28.0], [1.0, 0.0, 0.0], 1.0);
    let means = means_of(&open_box([96, 56, 56], vec![at(26.0), at(30.0)]), 900.0);
    let middle = at(28.0);
    let mut rows = decay(&means, &middle, 2f32.sqrt());
    rows.push(row("momentum at 40 h", 2.0, means.momentum(&middle, 40.0)));
    rows
}

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

fn under_surface() -> Vec<Row> {
    let m = mouth([0.0, 28.0, 37.0], [1.0, 0.0, 0.0], 1.0);
    let mut scene = open_box([96, 56, 40], vec![m]);
    scene.sides[5] = Side::Slip;
    decay(&means_of(&scene, 900.0), &m, 2f32.sqrt())
}

fn along_wall() -> Vec<Row> {
    let m = mouth([0.0, 28.0, 2.0], [1.0, 0.0, 0.0], 1.0);
    let mut scene = open_box([96, 56, 40], vec![m]);
    scene.sides[4] = WALL;
    let means = means_of(&scene, 900.0);
    let ([near, far], slope) =
        ([30.0, 55.0].map(|x| half_widths(&means, x)), |d: usize, near: [f32; 2], far: [f32; 2]| (far[d] - near[d]) / 25.0);
    let mut rows = decay(&means, &m, 1.2);
    rows.push(row("growth of its half-width off the wall, 30 to 55 h (Launder and Rodi 1983)", 0.048, slope(0, near, far)));
    rows.push(row("of that along the wall", 0.26, slope(1, near, far)));
    rows
}

/// Where a jet along the floor has half of its fastest speed at x: height over the floor, and distance sideways at the height of the fastest.
fn half_widths(means: &Means, x: f32) -> [f32; 2] {
    let speed = |y: f32, z: f32| (0..5).map(|n| means.at([x - 1.0 + 0.5 * n as f32, y, z])[0]).sum::<f32>() / 5.0;
    let up: Vec<f32> = (0..30).map(|k| 0.5 * (speed(27.5, k as f32 + 0.5) + speed(28.5, k as f32 + 0.5))).collect();
    let highest = (0..30).max_by(|a, b| up[*a].total_cmp(&up[*b])).unwrap_or(0);
    let aside: Vec<f32> =
        (0..27).map(|j| 0.5 * (speed(28.5 + j as f32, highest as f32 + 0.5) + speed(27.5 - j as f32, highest as f32 + 0.5))).collect();
    let half = |line: &[f32], from: usize| {
        let at = (from + 1..line.len()).find(|n| line[*n] < 0.5 * up[highest]).unwrap_or(line.len() - 1);
        at as f32 + 0.5 - (0.5 * up[highest] - line[at]) / (line[at - 1] - line[at])
    };
    [half(&up, highest), half(&aside, 0)]
}

/// Fastest radial speed over the height above a wall, at a distance from where a jet along x strikes; the middle of the box lies on its axis.
fn radial(means: &Means, wall: f32, r: f32) -> f32 {
    let middle = 0.5 * means.n[1] as f32;
    let mut most = 0.0f32;
    for back in 0..6 {
        let mut sum = 0.0;
        for n in 0..16 {
            let (sine, cosine) = (n as f32 * std::f32::consts::TAU / 16.0).sin_cos();
            let u = means.at([wall - back as f32 - 0.5, middle + r * cosine, middle + r * sine]);
            sum += (u[1] * cosine + u[2] * sine) / 16.0;
        }
        most = most.max(sum);
    }
    most
}

fn striking() -> Vec<Row> {
    // Open behind the mouth, as where it was measured: between two walls the water goes round and slows the jet.
    let m = mouth([16.0, 40.0, 40.0], [1.0, 0.0, 0.0], 1.0);
    let mut scene = open_box([40, 80, 80], vec![m]);
    scene.sides[0] = Side::Open;
    scene.sides[1] = WALL;
    let means = means_of(&scene, 600.0);
    [6.0f32, 8.0, 12.0, 16.0, 20.0].map(|r| row(format!("Um/U0 at r = {r} h"), 1.03 / r, radial(&means, 40.0, r))).to_vec()
}

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

fn propeller() -> Vec<Row> {
    let m = Mouth { propeller: true, ..mouth([12.0, 28.0, 28.0], [1.0, 0.0, 0.0], 2.0) };
    let mut scene = open_box([96, 56, 56], vec![m]);
    scene.sides[0] = Side::Open;
    decay(&means_of(&scene, 500.0), &m, 1.0)
}

/// A jet up from the floor into a stream along x, in a channel that is closed round on itself along x.
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

/// Row 7: a jet that starts and stops; whole-cycle means with the step halved.
fn switching() {
    let m = mouth([0.0, 20.0, 20.0], [1.0, 0.0, 0.0], 1.0);
    println!(
        "front of a jet that starts: place where the axis has half of the law's speed, against (8 U0 D t)^1/2 (Hill and Ouellette 1999, from memory)"
    );
    let mut rig = Rig::new(&open_box([64, 40, 40], vec![m]));
    for t in [25.0f32, 50.0, 100.0, 200.0] {
        rig.run(t - rig.flow.time() as f32 / H);
        rig.near.trace(&rig.flow);
        let speed = |x: f32| rig.flow.sample([x * H, 20.0 * H, 20.0 * H]).map_or(0.0, |u| u[0]);
        let told = |x: f32| rig.near.at(&rig.flow, [x * H, 20.0 * H, 20.0 * H]).map_or(0.0, |(u, _)| u[0]);
        let front = |speed: &dyn Fn(f32) -> f32| (6..120).map(|n| 0.5 * n as f32).filter(|x| speed(*x) > 3.0 / x).fold(0.0, f32::max);
        println!("    t = {t} h/U0: wanted {:.1}  computed {:.1}  told {:.1}", (8.0 * t).sqrt(), front(&speed), front(&told));
    }
    let cycle = |courant: &f32| {
        let mut scene = open_box([64, 40, 40], vec![m]);
        scene.courant = *courant;
        let mut rig = Rig::new(&scene);
        let (on, off) = (rig.rates.clone(), slackwater::flow::Rates::shut(rig.flow.ports()));
        let mut sums = [0.0f64; 5];
        let (period, cycles) = (80.0f32, 10);
        for n in 0..cycles {
            for half in [&on, &off] {
                rig.rates = half.clone();
                let end = rig.flow.time() + f64::from(0.5 * period * H);
                while rig.flow.time() < end {
                    let dt = f64::from(rig.step());
                    for (sum, x) in sums.iter_mut().zip([10.0f32, 15.0, 20.0, 25.0, 30.0]).filter(|_| n >= 2) {
                        *sum += dt * rig.flow.sample([x * H, 20.0 * H, 20.0 * H]).map_or(0.0, |u| f64::from(norm(u)));
                    }
                }
            }
        }
        sums.map(|s| s / f64::from(period * H * (cycles - 2) as f32))
    };
    let courants = [0.7f32, 0.35, 0.175];
    println!("mean speed on the axis of a jet that is on and off for 40 h/U0 each, x/h = 10 15 20 25 30");
    for (courant, means) in courants.iter().zip(all(&courants, cycle)) {
        println!("    Courant {courant}: {means:.4?}");
    }
}
