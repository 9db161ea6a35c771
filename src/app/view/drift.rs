//! Specks that drift with the water: where they are born, how they move, when they go. No drawing here.

use crate::layout::Layout;
use crate::session::Snapshot;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use std::sync::Arc;

/// Tracers per parallel piece of work.
pub const PIECE: usize = 2048;
/// Shortest and longest life, s of tank time.
const LIFE: (f32, f32) = (3.0, 9.0);
/// Share born at running nozzles rather than anywhere in the water.
const AT_NOZZLES: f32 = 0.18;

/// One speck.
#[derive(Debug, Clone, Copy, Default)]
pub struct Tracer {
    /// Where, m.
    pub at: [f32; 3],
    /// How it moves, m/s.
    pub velocity: [f32; 3],
    /// Time left, s.
    pub life: f32,
}

/// Where and how strongly new water comes in.
#[derive(Debug, Clone, Copy)]
pub struct Source {
    /// Middle of the opening, m.
    pub at: [f32; 3],
    /// Half its width, m.
    pub radius: f32,
    /// Its weight among the sources.
    pub weight: f32,
}

/// All specks.
#[derive(Debug, Clone)]
pub struct Drift {
    /// The specks.
    pub tracers: Vec<Tracer>,
    round: u64,
    wet: Wet,
}

/// The cells with water in them, and of what they were found.
#[derive(Debug, Clone, Default)]
struct Wet {
    of: Arc<Vec<f32>>,
    cells: Vec<u32>,
}

impl Wet {
    fn look(&mut self, water: &Arc<Vec<f32>>) {
        if !Arc::ptr_eq(&self.of, water) {
            self.of = water.clone();
            self.cells = (0..water.len() as u32).filter(|&c| water[c as usize] > 0.5).collect();
        }
    }
}

impl Drift {
    /// `count` specks that are born with the first step.
    pub fn new(count: usize) -> Self {
        Self { tracers: vec![Tracer::default(); count], round: 0, wet: Wet::default() }
    }

    /// So many from now on; those that there are go on.
    pub fn resize(&mut self, count: usize) {
        self.tracers.resize(count, Tracer::default());
    }

    /// Move all of them on by `dt` (s) of tank time; `room` is the water's length, width and depth, m.
    pub fn advance(&mut self, flow: &Snapshot, room: [f32; 3], sources: &[Source], dt: f32) {
        self.round += 1;
        self.wet.look(&flow.water);
        let wet = &self.wet.cells;
        if wet.is_empty() {
            return;
        }
        let (round, weight) = (self.round, sources.iter().map(|s| s.weight).sum::<f32>());
        self.tracers.par_chunks_mut(PIECE).enumerate().for_each(|(piece, tracers)| {
            let mut rng = ChaCha8Rng::seed_from_u64(round.wrapping_mul(0x9e37_79b9) ^ piece as u64);
            for tracer in tracers {
                let fresh = tracer.life == 0.0 && round == 1;
                step(tracer, flow, dt);
                if tracer.life <= 0.0 || !is_wet(flow, room, tracer.at) {
                    *tracer = born(flow, room, wet, (sources, weight), &mut rng);
                    if fresh {
                        tracer.life *= rng.random::<f32>();
                    }
                }
            }
        });
    }
}

fn step(tracer: &mut Tracer, flow: &Snapshot, dt: f32) {
    tracer.life -= dt;
    let here = velocity(flow, tracer.at);
    let middle = std::array::from_fn(|a| tracer.at[a] + 0.5 * dt * here[a]);
    let there = velocity(flow, middle);
    tracer.velocity = there;
    (0..3).for_each(|a| tracer.at[a] += dt * there[a]);
}

fn born(flow: &Snapshot, room: [f32; 3], wet: &[u32], (sources, weight): (&[Source], f32), rng: &mut ChaCha8Rng) -> Tracer {
    let life = LIFE.0 + (LIFE.1 - LIFE.0) * rng.random::<f32>();
    let spread: [f32; 3] = std::array::from_fn(|_| rng.random::<f32>() * 2.0 - 1.0);
    let at: [f32; 3] = match weight > 0.0 && rng.random::<f32>() < AT_NOZZLES {
        true => {
            let source = pick(sources, weight * rng.random::<f32>());
            std::array::from_fn(|a| source.at[a] + source.radius * spread[a])
        }
        false => {
            let cell = wet[rng.random_range(0..wet.len())] as usize;
            let index = [cell % flow.n[0], cell / flow.n[0] % flow.n[1], cell / (flow.n[0] * flow.n[1])];
            std::array::from_fn(|a| (index[a] as f32 + 0.5 + 0.5 * spread[a]) * flow.h as f32)
        }
    };
    // The outermost cells, and nozzles close to a panel, may reach beyond the glass.
    let at: [f32; 3] = std::array::from_fn(|a| at[a].clamp(0.0, room[a]));
    Tracer { at, velocity: velocity(flow, at), life }
}

fn pick(sources: &[Source], mut mark: f32) -> Source {
    for source in sources {
        if mark < source.weight {
            return *source;
        }
        mark -= source.weight;
    }
    sources[sources.len() - 1]
}

/// The share of its trail, `back` (m) from its head, that lies between the panels and under the surface.
pub fn trail(at: [f32; 3], back: [f32; 3], room: [f32; 3]) -> f32 {
    let share = |a: usize| match back[a] {
        d if at[a] - d < 0.0 => at[a] / d,
        d if at[a] - d > room[a] => (at[a] - room[a]) / d,
        _ => 1.0,
    };
    (0..3).map(share).fold(1.0, f32::min).max(0.0)
}

fn is_wet(flow: &Snapshot, room: [f32; 3], at: [f32; 3]) -> bool {
    let (n, per_metre) = (flow.n, 1.0 / flow.h as f32);
    let cell = at.map(|x| (x * per_metre) as usize);
    let inside = (0..3).all(|a| at[a] >= 0.0 && at[a] <= room[a] && cell[a] < n[a]);
    inside && flow.water[cell[0] + n[0] * (cell[1] + n[1] * cell[2])] > 0.5
}

/// Velocity between the middles of cells, m/s.
pub fn velocity(flow: &Snapshot, at: [f32; 3]) -> [f32; 3] {
    let (n, per_metre) = (flow.n, 1.0 / flow.h as f32);
    let (mut low, mut part) = ([0; 3], [0.0; 3]);
    for a in 0..3 {
        let s = (at[a] * per_metre - 0.5).clamp(0.0, (n[a] - 1) as f32);
        low[a] = (s as usize).min(n[a].saturating_sub(2));
        part[a] = s - low[a] as f32;
    }
    // Steps to the next cell along x, y, z; none where there is only one.
    let next = [1, n[0], n[0] * n[1]];
    let next: [usize; 3] = std::array::from_fn(|a| if n[a] > 1 { next[a] } else { 0 });
    let first = low[0] + n[0] * (low[1] + n[1] * low[2]);
    let row = |from: usize| mix(flow.velocity[from], flow.velocity[from + next[0]], part[0]);
    let sheet = |from: usize| mix(row(from), row(from + next[1]), part[1]);
    mix(sheet(first), sheet(first + next[2]), part[2])
}

/// `share` of the way from `a` to `b`.
fn mix(a: [f32; 3], b: [f32; 3], share: f32) -> [f32; 3] {
    std::array::from_fn(|i| a[i] + share * (b[i] - a[i]))
}

/// Nozzles that run at `time` with these flows (m³/s), as sources.
pub fn sources(layout: &Layout, flow_of: impl Fn(usize) -> f64) -> Vec<Source> {
    let size = layout.tank.size();
    let running = layout.nozzles.iter().enumerate().map(|(i, n)| (n, flow_of(i))).filter(|(_, flow)| *flow > 1e-6);
    running
        .map(|(n, flow)| {
            let mouth = n.mount.centre(size);
            let at = mouth + n.aim.direction(mouth) * n.bore.si();
            Source { at: at.to_array().map(|x| x as f32), radius: (n.bore.si() * 0.5) as f32, weight: flow as f32 }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    pub(super) fn stream(n: [usize; 3], u: [f32; 3]) -> Snapshot {
        let cells = n.iter().product();
        Snapshot {
            time: 0.0,
            averaged: 0.0,
            n,
            h: 0.1,
            water: Arc::new(vec![1.0; cells]),
            velocity: vec![u; cells],
            fields: None,
            record: None,
            real_time_factor: 1.0,
            cell_steps_per_s: 0.0,
            paused: false,
            problem: Vec::new(),
            layouts: 0,
            generation: 0,
        }
    }

    #[test]
    fn specks_go_with_the_stream_and_stay_in_the_water() {
        let flow = stream([10, 8, 6], [0.2, 0.0, 0.0]);
        let room = [1.0, 0.75, 0.57];
        let mut drift = Drift::new(500);
        drift.advance(&flow, room, &[], 0.0);
        let before = drift.tracers.clone();
        drift.advance(&flow, room, &[], 0.1);
        let moved = before.iter().zip(&drift.tracers).filter(|(b, a)| (a.at[0] - b.at[0] - 0.02).abs() < 1e-5 && a.at[1] == b.at[1]);
        assert!(moved.count() > 400);
        (0..100).for_each(|_| drift.advance(&flow, room, &[], 0.1));
        assert!(drift.tracers.iter().all(|t| is_wet(&flow, room, t.at)));
        let tail = |t: &Tracer| t.at[0] - 0.2 * trail(t.at, [0.2, 0.0, 0.0], room);
        assert!(drift.tracers.iter().all(|t| tail(t) > -1e-6), "no trail comes through the glass");
    }

    #[test]
    fn more_or_fewer_specks_leave_the_others_where_they_are() {
        let flow = stream([10, 8, 6], [0.2, 0.0, 0.0]);
        let room = [1.0, 0.75, 0.57];
        let mut drift = Drift::new(50);
        drift.advance(&flow, room, &[], 0.1);
        let before: Vec<[f32; 3]> = drift.tracers.iter().map(|t| t.at).collect();
        drift.resize(20);
        drift.resize(70);
        drift.advance(&flow, room, &[], 0.0);
        assert!(drift.tracers.iter().zip(&before).take(20).all(|(t, at)| t.at == *at));
        assert!(drift.tracers.len() == 70 && drift.tracers.iter().all(|t| t.life > 0.0 && is_wet(&flow, room, t.at)));
    }

    #[test]
    fn trails_end_at_panels_and_surface() {
        let room = [2.0, 1.0, 0.5];
        assert_eq!(trail([1.0, 0.5, 0.2], [0.1, 0.1, 0.1], room), 1.0);
        assert_eq!(trail([0.05, 0.5, 0.2], [0.1, 0.0, 0.0], room), 0.5);
        assert!((trail([1.0, 0.5, 0.45], [0.0, 0.0, -0.2], room) - 0.25).abs() < 1e-6);
        assert_eq!(trail([-0.01, 0.5, 0.2], [0.1, 0.0, 0.0], room), 0.0);
    }
}
