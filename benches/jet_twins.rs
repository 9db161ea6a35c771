//! Jets on a tank's grid beside their twins: the same code with the jet resolved, eight cells across the bore and no jet closure.
//! `cargo bench --no-default-features --bench jet_twins [-- free wall surface pair struck stream weak]`
//!
//! Both are compared on the tank's grid, two cells across the bore: the twin's means are averaged over the blocks of cells that make up
//! one of the tank's, and over both halves of a box that is symmetric about its middle. The first row says how far the twin itself is
//! from the published law of a free jet. Lengths are in cells of the tank's grid, speeds in mouth speeds.

#[path = "../tests/validation/jet_rig.rs"]
#[allow(dead_code, reason = "the tests use other parts of it")]
mod jet_rig;
#[path = "../tests/validation/cases/stirred.rs"]
mod stirred;

use jet_rig::{H, Mouth, Rig, Scene, WALL, mouth, norm, open_box};
use slackwater::flow::{JetClosure, JetRate, Rates, Side};
use stirred::{Inflow, Stirrers, Stirring};

/// Bore in cells of the tank's grid, and cells of the twin to one of them.
const BORE: f32 = 2.0;
const FINER: usize = 4;
/// Bores per mouth speed until the means begin, and that they last.
const SPANS: [f32; 2] = [90.0, 190.0];
/// Steps between two samples.
const EVERY: usize = 6;

/// A case, in cells of the tank's grid.
struct Case {
    name: &'static str,
    n: [usize; 3],
    mouths: &'static [[f32; 3]],
    direction: [f32; 3],
    sides: [Side; 6],
    stream: f32,
    rows: fn(&Pair) -> Vec<Row>,
}

const OPEN: [Side; 6] = [WALL, Side::Open, Side::Open, Side::Open, Side::Open, Side::Open];
const AHEAD: [f32; 3] = [1.0, 0.0, 0.0];

fn cases() -> Vec<Case> {
    let with = |side: usize, what: Side| std::array::from_fn(|n| if n == side { what } else { OPEN[n] });
    let straight = |name, n, mouths, sides, rows| Case { name, n, mouths, direction: AHEAD, sides, stream: 0.0, rows };
    let struck = std::array::from_fn(|n| if n == 1 { WALL } else { Side::Open });
    let channel = [Side::Slip, Side::Open, Side::Slip, Side::Slip, Side::Slip, Side::Slip];
    let across = |name, stream| {
        let up = [0.0, 0.0, 1.0];
        Case { stream, direction: up, ..straight(name, [40, 32, 36], &[[10.0, 16.0, 0.0]], channel, bent) }
    };
    vec![
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
    let pair = Pair { stream: case.stream, tank: run(case, 1), twin: run(case, FINER) };
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

/// A run whose twin's mouth is stirred, as water that comes out of a pipe is turbulent: without it the resolved jet stays whole for 12 bores.
struct Driven {
    rig: Rig,
    /// What stirs it and brings the stream; these ports come after the mouths.
    stirrers: Stirrers,
    mouths: usize,
    is_on: bool,
}

/// Push at each of nine places over a mouth, on U0² D². Chosen so that the free twin follows the law from ten bores on (0.003: 15 % too
/// slow there, and none: 60 % too fast); the other twins have the same.
const PUSH: f32 = 0.0008;

impl Driven {
    fn new(case: &Case, finer: usize) -> Self {
        let scale = finer as f32;
        let bore = scale * BORE;
        let mut mouths: Vec<Mouth> = case.mouths.iter().map(|at| mouth(at.map(|x| scale * x), case.direction, bore)).collect();
        let stirring = stirring(case, finer);
        let count = mouths.len();
        mouths.extend(
            stirring.ports().jets.iter().map(|jet| Mouth { speed: 0.0, ..mouth(jet.at.map(|x| x / H), jet.direction, jet.bore / H) }),
        );
        let mut scene: Scene = open_box(case.n.map(|n| finer * n), mouths);
        scene.sides = case.sides;
        scene.stream = [case.stream, 0.0, 0.0];
        if finer > 1 {
            scene.closure = JetClosure::None;
        }
        Self { rig: Rig::new(&scene), stirrers: Stirrers::new(stirring), mouths: count, is_on: true }
    }

    fn step(&mut self) -> f32 {
        self.rig.rates.jets[self.mouths..].copy_from_slice(&self.stirrers.rates.jets);
        if !self.is_on {
            self.rig.rates.jets[..].fill(JetRate::default());
        }
        // What brings the stream is no jet whose near field could be told.
        let told = Rates { jets: self.rig.rates.jets[..self.mouths].to_vec(), sinks: vec![] };
        let dt = self.rig.step_telling(&told);
        self.stirrers.advance(dt);
        dt
    }

    /// For so many cells per mouth speed.
    fn run(&mut self, span: f32) {
        let end = self.time() + f64::from(span * H);
        while self.time() < end {
            self.step();
        }
    }

    fn time(&self) -> f64 {
        self.rig.flow.time()
    }
}

fn stirring(case: &Case, finer: usize) -> Stirring {
    let scale = finer as f32 * H;
    let (bore, [_, ny, nz]) = (scale * BORE, case.n.map(|n| scale * n as f32));
    let (first, last) = (case.mouths[0].map(|x| scale * x), case.mouths[case.mouths.len() - 1].map(|x| scale * x));
    let mouths = [case.n[1] / 2, case.n[2] / 2];
    let inflow =
        (case.stream > 0.0).then_some(Inflow { face: [[0.0; 3], [0.0, ny, nz]], mouths, speed: case.stream, profile: stirred::even });
    let reach: [[f32; 2]; 3] = case.direction.map(|ahead| if ahead > 0.0 { [0.5 * bore, bore] } else { [-0.6 * bore, 0.6 * bore] });
    let corner = |at: [f32; 3], end: usize| std::array::from_fn(|d| at[d] + reach[d][end]);
    let mut along = case.direction.map(|ahead| if ahead > 0.0 { 1 } else { 3 });
    along[1] += 2 * (case.mouths.len() - 1);
    let places = if finer > 1 { along } else { [0; 3] };
    Stirring { inflow, block: [corner(first, 0), corner(last, 1)], places, push: PUSH * bore * bore, memory: 0.5 * bore }
}

/// Velocity on the tank's grid; both halves of a symmetric box averaged.
#[derive(Clone)]
struct Field {
    n: [usize; 3],
    velocity: Vec<[f32; 3]>,
}

impl Field {
    fn at(&self, [i, j, k]: [usize; 3]) -> [f32; 3] {
        let [nx, ny, _] = self.n;
        let (here, there) = (self.velocity[i + nx * (j + ny * k)], self.velocity[i + nx * (ny - 1 - j + ny * k)]);
        [0.5 * (here[0] + there[0]), 0.5 * (here[1] - there[1]), 0.5 * (here[2] + there[2])]
    }

    /// Mean of the cells on both sides of a plane across x.
    fn at_plane(&self, x: usize, j: usize, k: usize) -> f32 {
        0.5 * (self.at([x - 1, j, k])[0] + self.at([x, j, k])[0])
    }

    fn across(&self, x: usize) -> impl Iterator<Item = f32> + '_ {
        (0..self.n[2]).flat_map(move |k| (0..self.n[1]).map(move |j| self.at_plane(x, j, k)))
    }

    /// Averages blocks of so many cells a side.
    fn coarser(&self, by: usize) -> Field {
        let n = self.n.map(|n| n / by);
        let share = 1.0 / (by * by * by) as f32;
        let mut velocity = vec![[0.0; 3]; n.iter().product()];
        for (cell, u) in self.velocity.iter().enumerate() {
            let [i, j, k] = [cell % self.n[0], cell / self.n[0] % self.n[1], cell / (self.n[0] * self.n[1])].map(|c| c / by);
            (0..3).for_each(|d| velocity[i + n[0] * (j + n[1] * k)][d] += share * u[d]);
        }
        Field { n, velocity }
    }
}

/// What one run has to say: means; then the speed along the axis at times after the start and after the jet is shut off.
struct Outcome {
    mean: Field,
    told: Field,
    /// At every time, for every stretch of the axis: computed, told.
    starting: Vec<[[f32; 2]; 4]>,
    stopping: Vec<[[f32; 2]; 4]>,
}

/// Bores per mouth speed at which a jet that starts or stops is looked at.
const TIMES: [f32; 4] = [12.5, 25.0, 50.0, 100.0];
/// Stretches of its axis, in bores.
const STRETCHES: [[f32; 2]; 4] = [[4.0, 8.0], [8.0, 12.0], [12.0, 16.0], [16.0, 20.0]];

fn run(case: &Case, finer: usize) -> Outcome {
    let mut run = Driven::new(case, finer);
    let bore = finer as f32 * BORE;
    let in_time = case.name == "free";
    let starting = if in_time { watch(&mut run, finer, bore) } else { vec![] };
    run.run(bore * SPANS[0] - run.time() as f32 / H);
    let [mean, told] = means(&mut run, finer, bore * SPANS[1]);
    run.is_on = false;
    let stopping = if in_time { watch(&mut run, finer, bore) } else { vec![] };
    Outcome { mean, told, starting, stopping }
}

/// Means over a span of the computed and of the told velocity; the twin tells what it computes.
fn means(run: &mut Driven, finer: usize, span: f32) -> [Field; 2] {
    let n = run.rig.flow.grid().n;
    let mut now = vec![[0.0f32; 3]; run.rig.flow.grid().cells()];
    let mut sums = [now.clone(), if finer > 1 { vec![] } else { now.clone() }];
    let (begun, end) = (run.time(), run.time() + f64::from(span * H));
    let add = |sum: &mut Vec<[f32; 3]>, now: &[[f32; 3]], dt: f32| {
        sum.iter_mut().zip(now).for_each(|(sum, u)| (0..3).for_each(|d| sum[d] += dt * u[d]));
    };
    while run.time() < end {
        let dt = (0..EVERY).map(|_| run.step()).sum();
        run.rig.flow.velocity_at_cells(&mut now);
        add(&mut sums[0], &now, dt);
        if finer == 1 {
            run.rig.near.overlay(&run.rig.flow, &mut now);
            add(&mut sums[1], &now, dt);
        }
    }
    let share = 1.0 / (run.time() - begun) as f32;
    let field = |sum: &[[f32; 3]]| Field { n, velocity: sum.iter().map(|u| u.map(|u| share * u)).collect() }.coarser(finer);
    [field(&sums[0]), if finer > 1 { field(&sums[0]) } else { field(&sums[1]) }]
}

/// Speed along stretches of the axis, over a square of one bore, at some times from now.
fn watch(run: &mut Driven, finer: usize, bore: f32) -> Vec<[[f32; 2]; 4]> {
    let begun = run.time();
    let mut now = vec![[0.0f32; 3]; run.rig.flow.grid().cells()];
    let mut at = |time: &f32| {
        run.run(bore * time - (run.time() - begun) as f32 / H);
        let n = run.rig.flow.grid().n;
        run.rig.flow.velocity_at_cells(&mut now);
        let computed = Field { n, velocity: now.clone() }.coarser(finer);
        if finer == 1 {
            run.rig.near.overlay(&run.rig.flow, &mut now);
        }
        let told = Field { n, velocity: now.clone() }.coarser(finer);
        STRETCHES.map(|stretch| [on_axis(&computed, stretch), on_axis(&told, stretch)])
    };
    TIMES.iter().map(&mut at).collect()
}

fn on_axis(field: &Field, [from, to]: [f32; 2]) -> f32 {
    let ([ny, nz], cells) = ([field.n[1], field.n[2]], (from * BORE) as usize..(to * BORE) as usize);
    let count = 2 * cells.len();
    let sum: f32 = cells.flat_map(|i| [nz / 2 - 1, nz / 2].map(|k| field.at([i, ny / 2, k])[0])).sum();
    sum / count as f32
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

/// The same, and half-widths off the wall and along it.
fn beside_a_wall(pair: &Pair) -> Vec<Row> {
    let mut rows = decay(pair);
    for x in [20, 30, 40] {
        rows.push(pair.row(format!("half-width off the wall {x} h away"), |field| half_widths(field, x)[0]));
        rows.push(pair.row(format!("half-width along it {x} h away"), |field| half_widths(field, x)[1]));
    }
    rows
}

fn half_widths(field: &Field, x: usize) -> [f32; 2] {
    let middle = field.n[1] / 2;
    let up: Vec<f32> = (0..field.n[2]).map(|k| field.at_plane(x, middle, k)).collect();
    let highest = (0..up.len()).max_by(|a, b| up[*a].total_cmp(&up[*b])).unwrap_or(0);
    let aside: Vec<f32> = (middle..field.n[1]).map(|j| field.at_plane(x, j, highest)).collect();
    let half = |line: &[f32], from: usize| {
        let at = (from + 1..line.len()).find(|n| line[*n] < 0.5 * up[highest]).unwrap_or(line.len() - 1);
        at as f32 + 0.5 - (0.5 * up[highest] - line[at]) / (line[at - 1] - line[at])
    };
    [half(&up, highest), half(&aside, 0)]
}

/// Fastest radial speed over the three cells before the wall, at distances from where the jet strikes.
fn along_the_struck_wall(pair: &Pair) -> Vec<Row> {
    let radial = |field: &Field, r: f32| {
        let [nx, ny, nz] = field.n;
        let at = |i: usize, n: usize| {
            let (sine, cosine) = ((n as f32 + 0.5) * std::f32::consts::TAU / 16.0).sin_cos();
            let place = [0.5 * ny as f32 + r * cosine, 0.5 * nz as f32 + r * sine];
            let u = field.at([i, place[0] as usize, place[1] as usize]);
            (u[1] * cosine + u[2] * sine) / 16.0
        };
        (nx - 3..nx).map(|i| (0..16).map(|n| at(i, n)).sum()).fold(0.0, f32::max)
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
