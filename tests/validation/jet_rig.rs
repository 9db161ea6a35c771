//! A rig to measure jets with: runs a flow, gathers time means per cell, and reads centrelines, widths and momentum fluxes off them.
//! Shared by the tests and by the bench `jets`, which runs more cases for longer.

use slackwater::flow::{Flow, Grid, Jet, JetClosure, JetRate, NearField, Physics, Ports, Rates, Scratch, Side, Sink, step};

/// A scene: all lengths in cells, speeds in mouth speeds of 1 m/s.
#[derive(Clone)]
pub struct Scene {
    pub n: [usize; 3],
    pub sides: [Side; 6],
    pub mouths: Vec<Mouth>,
    pub sinks: Vec<(Sink, f32)>,
    /// Signed distance to solids, in cells.
    pub solid: fn([f32; 3]) -> f32,
    /// Velocity at the start and of the water that flows past.
    pub stream: [f32; 3],
    pub courant: f32,
    pub closure: JetClosure,
}

/// A jet: place, direction, bore in cells, speed in m/s.
#[derive(Clone, Copy)]
pub struct Mouth {
    pub at: [f32; 3],
    pub direction: [f32; 3],
    pub bore: f32,
    pub speed: f32,
    /// A propeller has momentum and no flow.
    pub propeller: bool,
}

pub const WALL: Side = Side::Wall { roughness: 0.0 };
/// Cell edge, m.
pub const H: f32 = 0.025;

pub fn no_solid(_: [f32; 3]) -> f32 {
    1e6
}

pub fn mouth(at: [f32; 3], direction: [f32; 3], bore: f32) -> Mouth {
    let length = norm(direction);
    Mouth { at, direction: direction.map(|d| d / length), bore, speed: 1.0, propeller: false }
}

pub fn norm(v: [f32; 3]) -> f32 {
    v.iter().map(|c| c * c).sum::<f32>().sqrt()
}

/// An open box with a wall at x = 0.
pub fn open_box(n: [usize; 3], mouths: Vec<Mouth>) -> Scene {
    let sides = [WALL, Side::Open, Side::Open, Side::Open, Side::Open, Side::Open];
    Scene { n, sides, mouths, sinks: vec![], solid: no_solid, stream: [0.0; 3], courant: 0.7, closure: Physics::tank(1e-6, 3).jet_closure }
}

/// A run in progress.
pub struct Rig {
    pub flow: Flow,
    pub near: NearField,
    pub rates: Rates,
    scratch: Scratch,
    velocity: Vec<[f32; 3]>,
    pressure: Vec<f32>,
    pub steps: usize,
}

/// Sums over time per cell.
pub struct Means {
    pub n: [usize; 3],
    pub seconds: f64,
    pub velocity: Vec<[f64; 3]>,
    /// Mean products u², v², w², uv, uw, vw.
    pub products: Vec<[f64; 6]>,
    pub pressure: Vec<f64>,
    /// With the near field laid over.
    pub seen: Vec<[f64; 3]>,
    pub variance: Vec<f64>,
    pub fastest: Vec<f32>,
}

impl Rig {
    pub fn new(scene: &Scene) -> Self {
        let jets = scene.mouths.iter().map(|m| Jet { at: m.at.map(|x| x * H), direction: m.direction, bore: m.bore * H }).collect();
        let rate = |m: &Mouth| {
            let flow = std::f32::consts::FRAC_PI_4 * (m.bore * H).powi(2) * m.speed;
            JetRate { flow: if m.propeller { 0.0 } else { flow }, momentum: flow * m.speed }
        };
        let sink = |s: &Sink| Sink { at: s.at.map(|x| x * H), size: s.size.map(|x| x * H), ..*s };
        let rates = Rates { jets: scene.mouths.iter().map(rate).collect(), sinks: scene.sinks.iter().map(|s| s.1).collect() };
        let ports = Ports { jets, sinks: scene.sinks.iter().map(|s| sink(&s.0)).collect() };
        let grid = Grid { n: scene.n, h: H };
        let physics =
            Physics { sides: scene.sides, noise: 1e-3, courant: scene.courant, jet_closure: scene.closure, ..Physics::tank(1e-6, 3) };
        let solid = scene.solid;
        let mut flow = Flow::new(grid, &move |p| H * solid(p.map(|x| x / H)), ports, physics);
        if norm(scene.stream) > 0.0 {
            let stream = scene.stream;
            flow.set_velocity(&move |_| stream);
        }
        Self {
            near: NearField::new(&flow),
            scratch: Scratch::new(&flow),
            velocity: vec![[0.0; 3]; grid.cells()],
            pressure: vec![0.0; grid.cells()],
            rates,
            flow,
            steps: 0,
        }
    }

    /// Runs for so long (in cells per mouth speed) without measuring.
    pub fn run(&mut self, span: f32) {
        let end = self.flow.time() + f64::from(span * H);
        while self.flow.time() < end {
            self.step();
        }
    }

    pub fn step(&mut self) -> f32 {
        self.step_telling(&self.rates.clone())
    }

    /// The same, with a near field of these jets alone.
    pub fn step_telling(&mut self, told: &Rates) -> f32 {
        let dt = step(&mut self.flow, &mut self.scratch, &self.rates, 1.0).dt;
        self.near.pass(&self.flow, told, dt);
        self.steps += 1;
        dt
    }

    /// Runs for so long and gathers means, every so many steps.
    pub fn measure(&mut self, span: f32, every: usize) -> Means {
        let cells = self.flow.grid().cells();
        let mut means = Means {
            n: self.flow.grid().n,
            seconds: 0.0,
            velocity: vec![[0.0; 3]; cells],
            products: vec![[0.0; 6]; cells],
            pressure: vec![0.0; cells],
            seen: vec![[0.0; 3]; cells],
            variance: vec![0.0; cells],
            fastest: vec![0.0; cells],
        };
        let end = self.flow.time() + f64::from(span * H);
        while self.flow.time() < end {
            let dt: f32 = (0..every).map(|_| self.step()).sum();
            self.add(&mut means, f64::from(dt));
        }
        means
    }

    fn add(&mut self, means: &mut Means, dt: f64) {
        self.flow.velocity_at_cells(&mut self.velocity);
        self.flow.pressure_at_cells(&mut self.pressure);
        means.seconds += dt;
        for (cell, u) in self.velocity.iter().enumerate() {
            let u = u.map(f64::from);
            (0..3).for_each(|d| means.velocity[cell][d] += dt * u[d]);
            let products = [u[0] * u[0], u[1] * u[1], u[2] * u[2], u[0] * u[1], u[0] * u[2], u[1] * u[2]];
            (0..6).for_each(|d| means.products[cell][d] += dt * products[d]);
            means.pressure[cell] += dt * f64::from(self.pressure[cell]);
        }
        self.near.overlay(&self.flow, &mut self.velocity);
        for (cell, (u, gust)) in self.velocity.iter().zip(self.near.gusts()).enumerate() {
            (0..3).for_each(|d| means.seen[cell][d] += dt * f64::from(u[d]));
            means.variance[cell] += dt * f64::from(gust.variance);
            means.fastest[cell] = means.fastest[cell].max(gust.fastest);
        }
    }
}

/// What a jet is like at one distance from its mouth; speeds in m/s, lengths in cells.
#[derive(Debug, Clone, Copy, Default)]
pub struct Section {
    pub x: f32,
    /// Speed on the axis.
    pub centre: f32,
    pub half_width: f32,
    /// Distance of the axis from the straight line from the mouth.
    pub offset: f32,
    /// Momentum flux with pressure and fluctuations over that of the mouth.
    pub momentum: f32,
}

impl Means {
    fn centre_of(&self, cell: usize) -> [f32; 3] {
        let [nx, ny, _] = self.n;
        [cell % nx, cell / nx % ny, cell / (nx * ny)].map(|c| c as f32 + 0.5)
    }

    /// Cells near the plane across `along` at distance `x` from `at`: (index, ahead − x, off-axis coordinates, distance off).
    fn slab(&self, (at, along): ([f32; 3], [f32; 3]), x: f32, half: f32) -> Vec<(usize, f32, [f32; 2], f32)> {
        let [first, second] = across(along);
        let dot = |a: [f32; 3], b: [f32; 3]| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
        let found = (0..self.velocity.len()).filter_map(|cell| {
            let p = self.centre_of(cell);
            let from: [f32; 3] = std::array::from_fn(|d| p[d] - at[d]);
            let ahead = dot(from, along) - x;
            let off = [dot(from, first), dot(from, second)];
            (ahead.abs() < half).then(|| (cell, ahead, off, off[0].hypot(off[1])))
        });
        found.collect()
    }

    /// Mean of a field's component along a direction.
    fn along(field: &[[f64; 3]], seconds: f64, cell: usize, along: [f32; 3]) -> f64 {
        (0..3).map(|d| field[cell][d] * f64::from(along[d])).sum::<f64>() / seconds
    }

    /// A section of a free jet, by a Gaussian through the cells within 0.75 cells of the plane.
    pub fn section(&self, mouth: &Mouth, x: f32) -> Section {
        let line = (mouth.at, mouth.direction);
        let cells = self.slab(line, x, 0.75);
        let speed = |cell: usize| Self::along(&self.velocity, self.seconds, cell, mouth.direction);
        let near: Vec<([f32; 2], f64)> =
            cells.iter().filter(|c| c.3 < 0.35 * x + 3.0).map(|c| (c.2, speed(c.0) * f64::from(1.0 + c.1 / x))).collect();
        let (centre, middle, half_width) = gaussian(&near);
        Section { x, centre, half_width, offset: middle[0].hypot(middle[1]), momentum: self.momentum(mouth, x) }
    }

    /// ∫ <u²> + p over the plane, over the mouth's; planes are averaged with a tent of four cells, whose weights add up to 1 on any grid line.
    pub fn momentum(&self, mouth: &Mouth, x: f32) -> f32 {
        let t = mouth.direction.map(f64::from);
        let flux = |cell: usize| {
            let p = &self.products[cell];
            let square = p[0] * t[0] * t[0] + p[1] * t[1] * t[1] + p[2] * t[2] * t[2];
            let mixed = 2.0 * (p[3] * t[0] * t[1] + p[4] * t[0] * t[2] + p[5] * t[1] * t[2]);
            (square + mixed + self.pressure[cell]) / self.seconds
        };
        let cells = self.slab((mouth.at, mouth.direction), x, 2.0);
        let tent = |ahead: f32| f64::from((1.0 - 0.5 * ahead.abs()) / 2.0);
        let reach = 0.3 * x + 5.0;
        let sum: f64 = cells.iter().filter(|c| c.3 < reach).map(|c| tent(c.1) * flux(c.0)).sum();
        (sum / (std::f64::consts::FRAC_PI_4 * f64::from(mouth.bore * mouth.speed).powi(2))) as f32
    }

    /// Fastest mean speed in the plane x cells ahead of a mouth, from the cells themselves and a parabola through the neighbours.
    pub fn fastest_across(&self, mouth: &Mouth, x: f32) -> f32 {
        let cells = self.slab((mouth.at, mouth.direction), x, 0.75);
        cells.iter().map(|c| Self::along(&self.velocity, self.seconds, c.0, mouth.direction)).fold(0.0, f64::max) as f32
    }

    /// Mean velocity in the cell that holds a place.
    pub fn at(&self, place: [f32; 3]) -> [f32; 3] {
        let c: [usize; 3] = std::array::from_fn(|d| (place[d].max(0.0) as usize).min(self.n[d] - 1));
        self.velocity[c[0] + self.n[0] * (c[1] + self.n[1] * c[2])].map(|u| (u / self.seconds) as f32)
    }
}

/// Two directions across a third.
pub fn across(along: [f32; 3]) -> [[f32; 3]; 2] {
    let cross = |a: [f32; 3], b: [f32; 3]| [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
    let other = if along[2].abs() < 0.9 { [0.0, 0.0, 1.0] } else { [0.0, 1.0, 0.0] };
    let first = cross(other, along);
    let first = first.map(|c| c / norm(first));
    [first, cross(along, first)]
}

/// Peak, middle and half-width of a Gaussian through points (offsets, speed): least squares of the logarithm, weighted with speed².
fn gaussian(points: &[([f32; 2], f64)]) -> (f32, [f32; 2], f32) {
    let most = points.iter().map(|p| p.1).fold(0.0, f64::max);
    let mut normal = nalgebra::Matrix4::<f64>::zeros();
    let mut right = nalgebra::Vector4::<f64>::zeros();
    for (off, u) in points.iter().filter(|p| p.1 > 0.25 * most) {
        let (y, z) = (f64::from(off[0]), f64::from(off[1]));
        let row = nalgebra::Vector4::new(1.0, y, z, y * y + z * z);
        normal += u * u * row * row.transpose();
        right += u * u * u.ln() * row;
    }
    let Some(c) = normal.lu().solve(&right) else { return Default::default() };
    let curvature = -c[3];
    let middle = [c[1] / (2.0 * curvature), c[2] / (2.0 * curvature)];
    let peak = (c[0] + (c[1] * c[1] + c[2] * c[2]) / (4.0 * curvature)).exp();
    (peak as f32, middle.map(|m| m as f32), (std::f64::consts::LN_2 / curvature).sqrt() as f32)
}
