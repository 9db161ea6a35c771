//! Jets on a tank's grid beside their twins: the same code with the jet resolved, eight cells across the bore and no jet closure.
//! `cargo bench --no-default-features --bench jet_twins [-- free wall surface pair struck stream weak oblique]`
//!
//! Both are compared on the tank's grid, two cells across the bore: the twin's means are averaged over the blocks of cells that make up
//! one of the tank's, and over both halves of a box that is symmetric about its middle. The first row says how far the twin itself is
//! from the published law of a free jet. Lengths are in cells of the tank's grid, speeds in mouth speeds.

#[path = "../tests/validation/jet_rig.rs"]
#[allow(dead_code, reason = "the tests use other parts of it")]
mod jet_rig;
#[path = "../tests/validation/cases/stirred.rs"]
mod stirred;
mod twin_field;
mod twin_rig;
mod wall_jet;

use jet_rig::{WALL, norm};
use slackwater::flow::Side;
use twin_field::Field;
use twin_rig::{BORE, FINER, Outcome, STRETCHES, Scenery, TIMES, run};
use wall_jet::{half_widths, outward};

/// A case, and what is compared.
struct Case {
    name: &'static str,
    scenery: Scenery,
    rows: fn(&Pair) -> Vec<Row>,
}

const OPEN: [Side; 6] = [WALL, Side::Open, Side::Open, Side::Open, Side::Open, Side::Open];
const AHEAD: [f32; 3] = [1.0, 0.0, 0.0];
const OBLIQUE: [f32; 3] = [std::f32::consts::FRAC_1_SQRT_2, 0.0, std::f32::consts::FRAC_1_SQRT_2];

fn cases() -> Vec<Case> {
    let with = |side: usize, what: Side| std::array::from_fn(|n| if n == side { what } else { OPEN[n] });
    let straight = |name, n, mouths, sides, rows| {
        let scenery = Scenery { n, mouths, direction: AHEAD, sides, stream: 0.0, in_time: name == "free" };
        Case { name, scenery, rows }
    };
    let struck = std::array::from_fn(|n| if n == 1 { WALL } else { Side::Open });
    let channel = [Side::Slip, Side::Open, Side::Slip, Side::Slip, Side::Slip, Side::Slip];
    let across = |name, stream| {
        let (n, direction) = ([40, 32, 36], [0.0, 0.0, 1.0]);
        let scenery = Scenery { n, mouths: &[[10.0, 16.0, 0.0]], direction, sides: channel, stream, in_time: false };
        Case { name, scenery, rows: bent }
    };
    let oblique = Scenery { n: [36, 32, 44], mouths: &[[0.0, 16.0, 12.0]], direction: OBLIQUE, sides: OPEN, stream: 0.0, in_time: false };
    vec![
        Case { name: "oblique: out of a wall at 45 degrees", scenery: oblique, rows: drawn_aside },
        straight("free", [48, 32, 32], &[[0.0, 16.0, 16.0]], OPEN, decay),
        straight("wall: 1 D from a smooth wall", [48, 42, 22], &[[0.0, 21.0, 2.0]], with(4, WALL), beside_a_wall),
        straight("surface: 1.5 D under a slip surface", [48, 36, 24], &[[0.0, 18.0, 21.0]], with(5, Side::Slip), decay),
        straight("pair: two mouths 2 D apart", [48, 38, 32], &[[0.0, 17.0, 16.0], [0.0, 21.0, 16.0]], OPEN, decay),
        straight("struck: a wall 12 D away", [28, 42, 42], &[[4.0, 21.0, 21.0]], struck, along_the_struck_wall),
        across("stream: across a sixth of its speed", 1.0 / 6.0),
        across("weak stream: across a fifteenth", 1.0 / 15.0),
    ]
}

fn main() {
    let wanted: Vec<String> = std::env::args().skip(1).filter(|arg| !arg.starts_with('-')).collect();
    let cases: Vec<Case> =
        cases().into_iter().filter(|c| wanted.is_empty() || wanted.iter().any(|w| c.name.starts_with(w.as_str()))).collect();
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        for case in &cases {
            let pool = rayon::ThreadPoolBuilder::new().num_threads((cores / cases.len()).max(1)).build().expect("a thread pool");
            scope.spawn(move || pool.install(|| print(case)));
        }
    });
}

fn print(case: &Case) {
    let pair = Pair { stream: case.scenery.stream, tank: run(&case.scenery, 1), twin: run(&case.scenery, FINER) };
    let mut text = format!("{}\n", case.name);
    for row in (case.rows)(&pair).into_iter().chain(pair.in_time()) {
        let off = |got: f32| 100.0 * (got / row.twin - 1.0);
        text += &format!(
            "    {:<42} twin {:.4}  computed {:.4} {:+.0} %  told {:.4} {:+.0} %{}\n",
            row.what,
            row.twin,
            row.computed,
            off(row.computed),
            row.told,
            off(row.told),
            row.law.map_or(String::new(), |law| format!("  law {law:.4}: twin {:+.0} %", 100.0 * (row.twin / law - 1.0)))
        );
    }
    print!("{text}");
}

/// One figure of both.
struct Row {
    what: String,
    twin: f32,
    computed: f32,
    told: f32,
    law: Option<f32>,
}

/// A case on the tank's grid, and its twin.
struct Pair {
    stream: f32,
    tank: Outcome,
    twin: Outcome,
}

impl Pair {
    fn row(&self, what: String, of: impl Fn(&Field) -> f32) -> Row {
        Row { what, twin: of(&self.twin.mean), computed: of(&self.tank.mean), told: of(&self.tank.told), law: None }
    }

    fn in_time(&self) -> Vec<Row> {
        let each = |what: &'static str, tank: &Vec<[[f32; 2]; 4]>, twin: &Vec<[[f32; 2]; 4]>| -> Vec<Row> {
            let of = |n: usize, s: usize| {
                let ([from, to], [computed, told]) = (STRETCHES[s], tank[n][s]);
                Row { what: format!("{what} {} D/U0, {from} to {to} D", TIMES[n]), twin: twin[n][s][0], computed, told, law: None }
            };
            (0..tank.len()).flat_map(|n| (0..4).map(move |s| (n, s))).map(|(n, s)| of(n, s)).collect()
        };
        let mut rows = each("on for", &self.tank.starting, &self.twin.starting);
        rows.extend(each("off for", &self.tank.stopping, &self.twin.stopping));
        rows
    }
}

const PLANES: [usize; 6] = [12, 16, 20, 24, 30, 40];

/// Fastest cell of planes across the jet, and momentum of the mean flow.
fn decay(pair: &Pair) -> Vec<Row> {
    let fastest = |x: usize| {
        let row = pair.row(format!("fastest {x} h away"), |field| field.across(x).fold(0.0, f32::max));
        Row { law: Some(6.0 * BORE / x as f32), ..row }
    };
    let momentum = |x: usize| pair.row(format!("momentum of the mean flow {x} h away"), |field| field.across(x).map(|u| u * u.abs()).sum());
    PLANES.into_iter().map(fastest).chain([20, 30, 40].into_iter().map(momentum)).collect()
}

/// How far a jet at 45 degrees is drawn to the wall that its nozzle sits in, on the way from 12 h.
fn drawn_aside(pair: &Pair) -> Vec<Row> {
    let row = |x: f32| pair.row(format!("drawn to the wall from 12 to {x} h away, h"), |field| drawn(field, x) - drawn(field, 12.0));
    [16.0, 20.0, 24.0, 28.0].map(row).into()
}

/// Middle of the cube of the speed along the jet, in cells from its straight axis, positive to the wall.
fn drawn(field: &Field, x: f32) -> f32 {
    let root = OBLIQUE[0];
    let [nx, ny, nz] = field.n;
    let (mut sum, mut moment) = (0.0, 0.0);
    for (i, k) in (0..nx).flat_map(|i| (0..nz).map(move |k| (i, k))) {
        let (across, up) = (i as f32 + 0.5, k as f32 + 0.5 - 12.0);
        let (ahead, aside) = (root * (across + up), root * (up - across));
        if (ahead - x).abs() > 0.75 || aside.abs() > 0.3 * x {
            continue;
        }
        for j in ny / 2 - 3..ny / 2 + 3 {
            let [u, _, w] = field.at([i, j, k]);
            let weight = (root * (u + w)).max(0.0).powi(3);
            sum += weight;
            moment += weight * aside;
        }
    }
    moment / sum
}

/// Fastest cells and momentum, and half-widths off the wall and along it.
fn beside_a_wall(pair: &Pair) -> Vec<Row> {
    let mut rows = decay(pair);
    for x in [20, 30, 40] {
        rows.push(pair.row(format!("half-width off the wall {x} h away"), |field| widths_along_floor(field, x)[0]));
        rows.push(pair.row(format!("half-width along it {x} h away"), |field| widths_along_floor(field, x)[1]));
    }
    rows
}

/// Half-widths of a jet along the floor, at a plane across x.
fn widths_along_floor(field: &Field, x: usize) -> [f32; 2] {
    let [_, ny, nz] = field.n;
    half_widths([ny / 2, nz], |j, k| field.at_plane(x, ny / 2 + j, k))
}

/// Fastest radial speed over the three cells before the wall, at distances from where the jet strikes.
fn along_the_struck_wall(pair: &Pair) -> Vec<Row> {
    let radial = |field: &Field, r: f32| {
        let [nx, ny, nz] = field.n;
        let place = |i: usize, y: f32, z: f32| [i, (0.5 * ny as f32 + y) as usize, (0.5 * nz as f32 + z) as usize];
        (nx - 3..nx).map(|i| outward(r, 0.5, |[y, z]| field.at(place(i, y, z)))).fold(0.0, f32::max)
    };
    let row = |r: f32| Row {
        law: Some(1.03 * BORE / r),
        ..pair.row(format!("fastest along it {r} h from the middle"), |field| radial(field, r))
    };
    [4.0, 6.0, 8.0, 12.0, 16.0, 20.0].map(row).into()
}

/// Where the fastest water is over the floor downstream of the mouth, how fast, and the fastest in planes over the mouth.
fn bent(pair: &Pair) -> Vec<Row> {
    let speed = |field: &Field, i: usize, k: usize| norm(field.at([i, field.n[1] / 2, k]));
    let line = |field: &Field, x: usize| -> Vec<f32> {
        (0..field.n[2]).map(|k| 0.5 * (speed(field, 9 + x, k) + speed(field, 10 + x, k))).collect()
    };
    let height = |field: &Field, x: usize| {
        let line = line(field, x);
        let most = (2..line.len() - 1).max_by(|a, b| line[*a].total_cmp(&line[*b])).unwrap_or(2);
        let (low, here, high) = (line[most - 1], line[most], line[most + 1]);
        most as f32 + 0.5 + 0.5 * (low - high) / (low - 2.0 * here + high)
    };
    let fastest = |field: &Field, k: usize| {
        let plane = |k: usize| (0..field.n[0]).map(move |i| speed(field, i, k));
        0.5 * (plane(k - 1).fold(0.0, f32::max) + plane(k).fold(0.0, f32::max))
    };
    let mut rows = Vec::new();
    for x in [3, 6, 12, 18, 24] {
        let ratio = 1.0 / pair.stream;
        let law = Some(ratio * 1.6 * BORE * (x as f32 / (ratio * BORE)).cbrt());
        rows.push(Row { law, ..pair.row(format!("height of the axis {x} h downstream"), |field| height(field, x)) });
    }
    for k in [6, 8, 10, 12, 14, 16, 18, 20, 24, 28] {
        let law = Some((6.0 * BORE / k as f32).min(1.0));
        rows.push(Row { law, ..pair.row(format!("fastest {k} h over the floor"), |field| fastest(field, k)) });
    }
    rows
}
