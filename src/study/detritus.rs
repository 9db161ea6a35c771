//! Where detritus goes: particles that sink through the recorded motion for hours.
//!
//! A particle moves with the water and falls through it at its settling speed. Where that takes it onto something solid it lies, as long as
//! the water of that cell is slower than the speed that lifts it again. A sink takes it with the probability with which it takes the
//! water of its cell: 1 − e^(−q Δt/V). What is taken is gone: what comes back through nozzles is left out.

use super::{Control, recording::Recording};
use crate::flow::Stream;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

/// A particle goes at most this part of a cell in a step.
const PART_OF_CELL: f64 = 0.4;
/// A particle that lands is put this part of a cell above what it lies on.
const OFF_THE_BED: f64 = 0.02;

/// What is followed, and for how long.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plan {
    /// Settling speed, m/s.
    pub settling: f64,
    /// Water at least this fast lifts what lies, m/s.
    pub lifting: f64,
    /// Particles.
    pub count: usize,
    /// Time followed, s.
    pub seconds: f64,
    /// Of the places, times and chances.
    pub seed: u64,
}

/// What became of all particles of a plan.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Fate {
    /// Particles.
    pub count: usize,
    /// Taken by each sink.
    pub caught: Vec<usize>,
    /// Lying when the time was over.
    pub settled: usize,
    /// Still in the water.
    pub afloat: usize,
    /// Cells of those that lie.
    pub resting: Vec<usize>,
    /// Time followed, s.
    pub followed_s: f64,
}

#[derive(Debug, Clone)]
struct Particle {
    at: [f64; 3],
    state: State,
    random: ChaCha8Rng,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    Afloat,
    Resting,
    Caught(usize),
}

/// Sinks that take water from a cell: (sink, share of the cell's water per second), sorted by cell.
type Intakes = Vec<(usize, usize, f64)>;

/// Follows particles that start all over the water, and as many just over the cells given (rock), until the time is over or `watch` (seconds so
/// far, seconds in all) stops it.
pub fn follow(recording: &Recording, over: &[usize], plan: &Plan, watch: &mut dyn FnMut(f64, f64) -> Control) -> Fate {
    let mut particles = release(recording, over, plan);
    let intakes: Vec<Intakes> = recording.streams.iter().map(|stream| intakes(recording, stream)).collect();
    let mut followed = 0.0;
    'rounds: loop {
        for (stream, intakes) in recording.streams.iter().zip(&intakes) {
            let seconds = stream.seconds.min(plan.seconds - followed);
            if seconds <= 1e-9 || watch(followed, plan.seconds) == Control::Stop {
                break 'rounds;
            }
            particles.par_iter_mut().with_min_len(16).for_each(|particle| particle.advance(recording, (stream, intakes), plan, seconds));
            followed += seconds;
        }
        if recording.streams.is_empty() {
            break;
        }
    }
    fate(recording, &particles, followed)
}

fn intakes(recording: &Recording, stream: &Stream) -> Intakes {
    let mut all = Intakes::new();
    for (sink, (cells, flow)) in recording.sinks.iter().zip(&stream.sinks).enumerate().filter(|(_, (_, flow))| **flow > 0.0) {
        let rate = |cell: usize, share: f32| f64::from(share * flow) / recording.volume(cell).max(1e-12);
        all.extend(cells.iter().map(|&(cell, share)| (cell, sink, rate(cell, share))));
    }
    all.sort_by_key(|&(cell, sink, _)| (cell, sink));
    all
}

/// Places drawn by volume, half of them from the cells in `over`.
fn release(recording: &Recording, over: &[usize], plan: &Plan) -> Vec<Particle> {
    let wet: Vec<usize> = (0..recording.water.len()).filter(|&cell| recording.water[cell] > 0.5).collect();
    let particle = |index: usize| {
        let mut random = ChaCha8Rng::seed_from_u64(plan.seed);
        random.set_stream(index as u64 + 1);
        let from = if index.is_multiple_of(2) || over.is_empty() { &wet } else { over };
        let cell = recording.cell(from[random.random_range(0..from.len())]);
        let at = cell.map(|c| (c as f64 + random.random::<f64>()) * recording.h);
        Particle { at, state: State::Afloat, random }
    };
    if wet.is_empty() { Vec::new() } else { (0..plan.count).map(particle).collect() }
}

impl Particle {
    fn advance(&mut self, recording: &Recording, (stream, intakes): (&Stream, &Intakes), plan: &Plan, seconds: f64) {
        if self.state == State::Resting && speed(recording, stream, self.at) >= plan.lifting {
            self.state = State::Afloat;
        }
        let mut left = seconds;
        while left > 1e-9 && self.state == State::Afloat {
            left -= self.step(recording, (stream, intakes), plan, left);
        }
    }

    /// One step of the midpoint rule; returns its length, s.
    fn step(&mut self, recording: &Recording, (stream, intakes): (&Stream, &Intakes), plan: &Plan, most: f64) -> f64 {
        let falling = |at: [f64; 3]| recording.velocity(stream, at).map(|u| [u[0], u[1], u[2] - plan.settling]);
        let Some(here) = falling(self.at) else {
            self.state = State::Resting;
            return most;
        };
        let fastest = here.iter().fold(0.0f64, |most, u| most.max(u.abs()));
        let dt = most.min(PART_OF_CELL * recording.h / fastest.max(1e-9));
        let middle = std::array::from_fn(|axis| self.at[axis] + 0.5 * dt * here[axis]);
        let there = falling(middle).unwrap_or(here);
        let end = std::array::from_fn(|axis| self.at[axis] + dt * there[axis]);
        let cell = recording.cell_at(self.at).unwrap_or_default();
        self.go(recording, stream, end, plan);
        self.be_taken(cell, intakes, dt);
        dt
    }

    /// Goes to a place as far as water reaches, one axis after the other, level first.
    fn go(&mut self, recording: &Recording, stream: &Stream, end: [f64; 3], plan: &Plan) {
        let before = self.at;
        for axis in 0..3 {
            let mut at = self.at;
            at[axis] = end[axis];
            if recording.cell_at(at).is_some_and(|cell| recording.water[cell] > 0.0) {
                self.at = at;
                continue;
            }
            let cell = (before[axis] / recording.h).floor();
            let wall = if end[axis] < before[axis] { cell + OFF_THE_BED } else { cell + 1.0 - OFF_THE_BED };
            self.at[axis] = wall * recording.h;
            let landed = axis == 2 && end[2] < before[2];
            if landed && speed(recording, stream, self.at) < plan.lifting {
                self.state = State::Resting;
            }
        }
    }

    fn be_taken(&mut self, cell: usize, intakes: &Intakes, dt: f64) {
        let first = intakes.partition_point(|&(at, _, _)| at < cell);
        for &(_, sink, rate) in intakes[first..].iter().take_while(|&&(at, _, _)| at == cell) {
            if self.random.random::<f64>() < -(-rate * dt).exp_m1() {
                self.state = State::Caught(sink);
                return;
            }
        }
    }
}

/// Level speed in the middle of the cell that holds a place, m/s.
fn speed(recording: &Recording, stream: &Stream, at: [f64; 3]) -> f64 {
    let middle = at.map(|x| ((x / recording.h).floor() + 0.5) * recording.h);
    recording.velocity(stream, middle).map_or(0.0, |u| u[0].hypot(u[1]))
}

fn fate(recording: &Recording, particles: &[Particle], followed_s: f64) -> Fate {
    let mut fate = Fate { count: particles.len(), caught: vec![0; recording.sinks.len()], followed_s, ..Fate::default() };
    for particle in particles {
        match particle.state {
            State::Afloat => fate.afloat += 1,
            State::Caught(sink) => fate.caught[sink] += 1,
            State::Resting => {
                fate.settled += 1;
                fate.resting.extend(recording.cell_at(particle.at));
            }
        }
    }
    fate
}

/// Settling speed of a small sphere after Stokes 1851, m/s: g Δρ d²/(18 μ), for diameter (m), excess density (kg/m³) and viscosity (Pa s). Under a Reynolds
/// number of about 0.1 good to 1 %.
pub fn stokes(diameter: f64, excess: f64, viscosity: f64) -> f64 {
    crate::water::GRAVITY * excess * diameter * diameter / (18.0 * viscosity)
}

/// Settling speed of natural grains, m/s: R g D²/(18 ν + √(0.75 R g D³)), with R the excess over the water's density (Ferguson and Church 2004).
pub fn ferguson_church(diameter: f64, excess: f64, kinematic_viscosity: f64) -> f64 {
    let pull = excess * crate::water::GRAVITY;
    pull * diameter * diameter / (18.0 * kinematic_viscosity + (0.75 * pull * diameter.powi(3)).sqrt())
}
