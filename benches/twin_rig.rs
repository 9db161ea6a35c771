//! A run of a case on the tank's grid or on the twin's, and what is read off it.

use crate::jet_rig::{H, Mouth, Rig, Scene, mouth, open_box};
use crate::stirred::{self, Inflow, Stirrers, Stirring};
use crate::twin_field::Field;
use slackwater::flow::{JetClosure, JetRate, Rates, Side};

/// Bore in cells of the tank's grid, and cells of the twin to one of them.
pub const BORE: f32 = 2.0;
pub const FINER: usize = 4;
/// Bores per mouth speed until the means begin, and that they last.
const SPANS: [f32; 2] = [90.0, 190.0];
/// Steps between two samples.
const EVERY: usize = 6;

/// Where the mouths are and what is round them, in cells of the tank's grid.
pub struct Scenery {
    pub n: [usize; 3],
    pub mouths: &'static [[f32; 3]],
    pub direction: [f32; 3],
    pub sides: [Side; 6],
    /// Speed of the water that comes in along x, in mouth speeds.
    pub stream: f32,
    /// Is the jet watched as it starts and after it is shut off?
    pub in_time: bool,
}

/// What one run has to say: means; then the speed along the axis at times after the start and after the jet is shut off.
pub struct Outcome {
    pub mean: Field,
    pub told: Field,
    /// At every time, for every stretch of the axis: computed, told.
    pub starting: Vec<[[f32; 2]; 4]>,
    pub stopping: Vec<[[f32; 2]; 4]>,
}

/// Bores per mouth speed at which a jet that starts or stops is looked at.
pub const TIMES: [f32; 4] = [12.5, 25.0, 50.0, 100.0];
/// Stretches of its axis, in bores.
pub const STRETCHES: [[f32; 2]; 4] = [[4.0, 8.0], [8.0, 12.0], [12.0, 16.0], [16.0, 20.0]];

/// Runs it on the tank's grid (`finer` 1) or one so many times as fine.
pub fn run(scenery: &Scenery, finer: usize) -> Outcome {
    let mut run = Driven::new(scenery, finer);
    let bore = finer as f32 * BORE;
    let starting = if scenery.in_time { watch(&mut run, finer, bore) } else { vec![] };
    run.run(bore * SPANS[0] - run.time() as f32 / H);
    let [mean, told] = means(&mut run, finer, bore * SPANS[1]);
    run.is_on = false;
    let stopping = if scenery.in_time { watch(&mut run, finer, bore) } else { vec![] };
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
    fn new(scenery: &Scenery, finer: usize) -> Self {
        let scale = finer as f32;
        let bore = scale * BORE;
        let mut mouths: Vec<Mouth> = scenery.mouths.iter().map(|at| mouth(at.map(|x| scale * x), scenery.direction, bore)).collect();
        let stirring = stirring(scenery, finer);
        let count = mouths.len();
        mouths.extend(
            stirring.ports().jets.iter().map(|jet| Mouth { speed: 0.0, ..mouth(jet.at.map(|x| x / H), jet.direction, jet.bore / H) }),
        );
        let mut scene: Scene = open_box(scenery.n.map(|n| finer * n), mouths);
        scene.sides = scenery.sides;
        scene.stream = [scenery.stream, 0.0, 0.0];
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

fn stirring(scenery: &Scenery, finer: usize) -> Stirring {
    let scale = finer as f32 * H;
    let (bore, [_, ny, nz]) = (scale * BORE, scenery.n.map(|n| scale * n as f32));
    let (first, last) = (scenery.mouths[0].map(|x| scale * x), scenery.mouths[scenery.mouths.len() - 1].map(|x| scale * x));
    let mouths = [scenery.n[1] / 2, scenery.n[2] / 2];
    let inflow =
        (scenery.stream > 0.0).then_some(Inflow { face: [[0.0; 3], [0.0, ny, nz]], mouths, speed: scenery.stream, profile: stirred::even });
    let reach: [[f32; 2]; 3] = scenery.direction.map(|ahead| if ahead > 0.0 { [0.5 * bore, bore] } else { [-0.6 * bore, 0.6 * bore] });
    let corner = |at: [f32; 3], end: usize| std::array::from_fn(|d| at[d] + reach[d][end]);
    let mut along = scenery.direction.map(|ahead| if ahead > 0.0 { 1 } else { 3 });
    along[1] += 2 * (scenery.mouths.len() - 1);
    let places = if finer > 1 { along } else { [0; 3] };
    Stirring { inflow, block: [corner(first, 0), corner(last, 1)], places, push: PUSH * bore * bore, memory: 0.5 * bore }
}
