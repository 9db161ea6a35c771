//! Water drawn to faces in walls, against potential flow: at rest before, it is potential flow from the first step on.

use super::{Outcome, Row, all_water, laminar};
use slackwater::flow::{Flow, Grid, Ports, Rates, Recorder, Scratch, Side, Sink, Stream, step};
use std::f64::consts::PI;

const H: f32 = 0.02;

/// Steps until the pressure, which starts from nothing, has settled.
const STEPS: usize = 15;

/// Water that is drawn to some sinks.
pub struct Drawn {
    pub flow: Flow,
    pub stream: Stream,
}

/// `sinks`: place in cells, out of the face, size in cells, water taken (m³/s).
pub fn drawn(n: [usize; 3], sides: [Side; 6], sinks: &[(Sink, f32)]) -> Drawn {
    let scaled = |s: &Sink| Sink { at: s.at.map(|x| x * H), size: s.size.map(|x| x * H), ..*s };
    let ports = Ports { jets: vec![], sinks: sinks.iter().map(|(sink, _)| scaled(sink)).collect() };
    let rates = Rates { jets: vec![], sinks: sinks.iter().map(|(_, rate)| *rate).collect() };
    let mut flow = Flow::new(Grid { n, h: H }, &all_water, ports, laminar(1e-6, sides));
    let mut scratch = Scratch::new(&flow);
    let mut recorder = Recorder::new(&flow);
    for number in 1..=STEPS {
        let report = step(&mut flow, &mut scratch, &rates, 1e-3);
        if number == STEPS {
            recorder.add(&flow, &scratch, report.dt);
        }
    }
    Drawn { stream: recorder.take(&flow, &mut scratch), flow }
}

impl Drawn {
    /// Velocity at a place in cells.
    pub fn at(&self, place: [f64; 3]) -> [f64; 3] {
        self.flow.sample(place.map(|x| x as f32 * H)).map_or([f64::NAN; 3], |u| u.map(f64::from))
    }

    /// Water that crosses the faces of a block of cells inward, m³/s: cells `from` to `to`, the latter not among them.
    pub fn drawn_into(&self, from: [usize; 3], to: [usize; 3]) -> f64 {
        let grid = self.flow.grid();
        let mut sum = 0.0;
        for axis in 0..3 {
            let mut faces = grid.n;
            faces[axis] += 1;
            let (first, second) = ((axis + 1) % 3, (axis + 2) % 3);
            for a in from[first]..to[first] {
                for b in from[second]..to[second] {
                    let at = |along: usize| {
                        let mut face = [0; 3];
                        (face[axis], face[first], face[second]) = (along, a, b);
                        f64::from(self.stream.at_face[axis][face[0] + faces[0] * (face[1] + faces[1] * face[2])])
                    };
                    sum += at(from[axis]) - at(to[axis]);
                }
            }
        }
        sum * f64::from(H * H)
    }
}

fn length(v: [f64; 3]) -> f64 {
    v.iter().map(|c| c * c).sum::<f64>().sqrt()
}

/// A face that draws evenly: place and size in cells, along which axis it looks, water taken (m³/s).
#[derive(Clone, Copy)]
struct Face {
    at: [f64; 3],
    size: f64,
    normal: usize,
    rate: f64,
}

/// Velocity at `place` of faces in a wall: Q/(2πr²) toward each part of each (reference 6.17). Places in cells, m/s.
fn potential(faces: &[Face], place: [f64; 3]) -> [f64; 3] {
    const PARTS: usize = 8;
    let mut sum = [0.0; 3];
    for face in faces {
        let part = |n: usize| ((n as f64 + 0.5) / PARTS as f64 - 0.5) * face.size;
        for (a, b) in (0..PARTS * PARTS).map(|n| (part(n % PARTS), part(n / PARTS))) {
            let mut to: [f64; 3] = std::array::from_fn(|d| face.at[d] - place[d]);
            to[(face.normal + 1) % 3] += a;
            to[(face.normal + 2) % 3] += b;
            let to = to.map(|x| x * f64::from(H));
            let speed = face.rate / (PARTS * PARTS) as f64 / (2.0 * PI * length(to).powi(2));
            (0..3).for_each(|d| sum[d] += speed * to[d] / length(to));
        }
    }
    sum
}

/// Largest difference of the speed from potential flow, over it, at places in cells.
fn off(drawn: &Drawn, faces: &[Face], places: impl IntoIterator<Item = [f64; 3]>) -> f64 {
    let one = |place: [f64; 3]| (length(drawn.at(place)) / length(potential(faces, place)) - 1.0).abs();
    places.into_iter().map(one).fold(0.0, |most: f64, part| if part.is_nan() { part } else { most.max(part) })
}

/// Places on a half ball over the floor.
fn dome(middle: [f64; 3], radius: f64) -> impl Iterator<Item = [f64; 3]> {
    let directions = [[0.0, 0.0, 1.0], [0.6, 0.0, 0.8], [0.48, 0.64, 0.6], [-0.8, 0.36, 0.48], [0.0, -0.8, 0.6]];
    directions.into_iter().map(move |d| std::array::from_fn(|axis| middle[axis] + radius * d[axis]))
}

fn largest(case: String, source: &'static str, tolerance: f64, got: f64) -> Row {
    Row { case, source, wanted: 0.0, tolerance, got }
}

fn over_a_slip_floor() -> [Side; 6] {
    let mut sides = [Side::Open; 6];
    sides[4] = Side::Slip;
    sides
}

fn in_the_floor(at: [f32; 3], size: f32) -> Sink {
    Sink { at, normal: [0.0, 0.0, 1.0], size: [size; 2] }
}

/// A face in a wall, `size` cells wide, in five directions.
pub fn narrow(n: usize, size: f32, distances: &[f64]) -> Outcome {
    // One cell wide it fills a cell; two wide it lies astride four.
    let middle = (n / 2) as f32 + if size as usize % 2 == 1 { 0.5 } else { 0.0 };
    let at = [middle, middle, 0.0];
    let drawn = drawn([n, n, n / 2], over_a_slip_floor(), &[(in_the_floor(at, size), 1e-4)]);
    let faces = [Face { at: at.map(f64::from), size: f64::from(size), normal: 2, rate: 1e-4 }];
    let row = |r: f64| {
        let case = format!("face {size} cells wide in a wall, {r} cells away, largest difference of speed");
        largest(case, "Q/(2πr²) over the face (6.17)", 0.03, off(&drawn, &faces, dome(faces[0].at, r)))
    };
    Outcome { rows: distances.iter().map(|r| row(*r)).collect(), plots: vec![] }
}

/// A wide face in the floor, drawing evenly, on its axis: as a disc of the same area.
pub fn wide(n: usize) -> Outcome {
    let (size, speed) = (7.0f32, 0.02f32);
    let radius = f64::from(size) / PI.sqrt();
    let middle = [(n / 2) as f32 + 0.5, (n / 2) as f32 + 0.5, 0.0];
    let drawn = drawn([n, n, n / 2], over_a_slip_floor(), &[(in_the_floor(middle, size), speed * (size * H).powi(2))]);
    let law = |z: f64| 1.0 - z / z.hypot(radius);
    let got = |z: f64| -drawn.at([f64::from(middle[0]), f64::from(middle[1]), z])[2] / f64::from(speed);
    let row = |z: f64| Row {
        case: format!("wide face, {z} cells out ({:.2} radii): speed over that in the face", z / radius),
        source: "disc of even suction, 1 − z/√(z² + R²) (6.18)",
        wanted: law(z),
        tolerance: 0.03 * law(z),
        got: got(z),
    };
    let curve = (2..4 * size as usize).map(|z| [z as f64 / radius, got(z as f64)]).collect();
    let plot = super::Plot {
        name: format!("wide face {n}"),
        axes: ["distance over radius", "speed over that in the face"],
        computed: curve,
        published: [0.5, 1.0, 1.5, 2.0, 3.0, 4.0].map(|z: f64| [z, 1.0 - z / z.hypot(1.0)]).to_vec(),
    };
    Outcome { rows: vec![row(4.0), row(5.0), row(6.0), row(8.0), row(12.0)], plots: vec![plot] }
}

/// Two sinks in one wall with the flows that a pump draws through them.
pub fn pair(n: usize, rates: [f64; 2], distances: &[f64]) -> Outcome {
    let (middle, quarter) = ((n / 2) as f32, (n / 4) as f32);
    let middles = [[middle - quarter / 2.0, middle, 0.0], [middle + quarter / 2.0, middle, 0.0]];
    let sinks: Vec<(Sink, f32)> = middles.iter().zip(rates).map(|(at, rate)| (in_the_floor(*at, 2.0), rate as f32)).collect();
    let drawn = drawn([n, n, n / 2], over_a_slip_floor(), &sinks);
    let face = |(at, rate): (&[f32; 3], f64)| Face { at: at.map(f64::from), size: 2.0, normal: 2, rate };
    let faces: Vec<Face> = middles.iter().zip(rates).map(face).collect();
    let row = |r: f64| {
        let case = format!("two faces that share a flow, {r} cells from either, largest difference of speed");
        let places = faces.iter().flat_map(|face| dome(face.at, r));
        largest(case, "sum of Q/(2πr²) (6.17)", 0.03, off(&drawn, &faces, places))
    };
    let taken = |(at, rate): (&[f32; 3], f64)| {
        let cell = at.map(|x| x as usize);
        drawn.drawn_into([cell[0] - 4, cell[1] - 4, 0], [cell[0] + 4, cell[1] + 4, 4]) / rate - 1.0
    };
    let worst = middles.iter().zip(rates).map(taken).fold(0.0, |most: f64, part| most.max(part.abs()));
    let block = largest("water into a block round each, over its own flow".to_owned(), "conservation", 1e-5, worst);
    Outcome { rows: distances.iter().map(|r| row(*r)).chain([block]).collect(), plots: vec![] }
}

/// Water that runs off at the edge of the surface: two mirrors, the wall and the surface.
pub fn skimming(n: usize, distances: &[f64]) -> Outcome {
    let mut sides = [Side::Open; 6];
    (sides[0], sides[5]) = (Side::Slip, Side::Slip);
    let top = n / 2;
    // Two cells wide along the edge and two deep, as the mouth of a small overflow.
    let at = [0.0, (n / 2) as f32, top as f32 - 1.0];
    let sink = Sink { at, normal: [1.0, 0.0, 0.0], size: [2.0, 2.0] };
    let drawn = drawn([n / 2, n, top], sides, &[(sink, 1e-4)]);
    let below = Face { at: at.map(f64::from), size: 2.0, normal: 0, rate: 1e-4 };
    let mirrored = Face { at: [0.0, f64::from(at[1]), top as f64 + 1.0], ..below };
    // Along the surface: the highest layer of cells.
    let row = |r: f64| {
        let case = format!("skimming: {r} cells away along the surface, largest difference of speed");
        let places = [[1.0, 0.0], [0.8, 0.6], [0.6, -0.8]].map(|[x, y]| [r * x, f64::from(at[1]) + r * y, top as f64 - 0.5]);
        largest(case, "wall and surface as mirrors (6.17)", 0.03, off(&drawn, &[below, mirrored], places))
    };
    let toward = |place: [f64; 3]| {
        let u = drawn.at(place);
        u[0] * (f64::from(at[0]) - place[0]) + u[1] * (f64::from(at[1]) - place[1]) > 0.0
    };
    let near = (0..n / 4).flat_map(|i| (0..n / 2).map(move |j| [i as f64 + 0.5, (n / 4 + j) as f64 + 0.5, top as f64 - 0.5]));
    let (all, drawn_in) = near.fold((0, 0), |(all, inward), place| (all + 1, inward + usize::from(toward(place))));
    let share = Row {
        case: format!("skimming: share of the surface within {} cells that is drawn toward the edge", n / 4),
        source: "potential flow",
        wanted: 1.0,
        tolerance: 0.0,
        got: f64::from(drawn_in as u32) / f64::from(all as u32),
    };
    Outcome { rows: distances.iter().map(|r| row(*r)).chain([share]).collect(), plots: vec![] }
}
