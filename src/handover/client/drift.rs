//! Marks that drift with the recorded water: where they are born, how they move, when they go. No drawing here.

use super::scene::JetMark;
use crate::study::motion::Motion;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

/// Longest step, s.
const LONGEST_STEP: f64 = 0.1;
/// Shortest and longest life, s.
const LIFE: (f32, f32) = (3.0, 9.0);
/// Time of fading in and out, s.
const FADING: f32 = 0.8;
/// Share born at running nozzles rather than anywhere in the water.
const AT_JETS: f32 = 0.3;
/// Tries to find water for a new mark.
const TRIES: usize = 60;

/// One mark.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Mark {
    /// Where, m.
    pub at: [f32; 3],
    /// How it moves, m/s.
    pub velocity: [f32; 3],
    age: f32,
    life: f32,
}

impl Mark {
    /// 0 when it can't be seen, 1 in the middle of its life.
    pub fn fade(&self) -> f32 {
        (self.age / FADING).min((self.life - self.age) / FADING).clamp(0.0, 1.0)
    }
}

/// All marks in one recorded water.
#[derive(Debug)]
pub struct Drift<'a> {
    motion: &'a Motion,
    jets: &'a [JetMark],
    /// The marks.
    pub marks: Vec<Mark>,
    random: ChaCha8Rng,
}

impl<'a> Drift<'a> {
    /// So many marks at time zero, in every part of their lives.
    pub fn new(motion: &'a Motion, jets: &'a [JetMark], count: usize) -> Self {
        let mut drift = Self { motion, jets, marks: vec![Mark::default(); count], random: ChaCha8Rng::seed_from_u64(7) };
        let velocities = motion.velocities(0.0);
        for index in 0..count {
            let mut mark = drift.born(0.0, &velocities);
            mark.age = mark.life * drift.random.random::<f32>();
            drift.marks[index] = mark;
        }
        drift
    }

    /// Moves all marks from `time` (s after the first frame) on by `dt` (s).
    pub fn advance(&mut self, time: f64, dt: f64) {
        let steps = (dt / LONGEST_STEP).ceil().max(1.0);
        for step in 0..steps as usize {
            self.step(time + dt * step as f64 / steps, (dt / steps) as f32);
        }
    }

    fn step(&mut self, time: f64, dt: f32) {
        let motion = self.motion;
        let velocities = motion.velocities(time);
        self.marks.par_iter_mut().for_each(|mark| moved(mark, motion, &velocities, dt));
        for index in 0..self.marks.len() {
            if self.marks[index].age >= self.marks[index].life {
                self.marks[index] = self.born(time, &velocities);
            }
        }
    }

    fn born(&mut self, time: f64, velocities: &[[f32; 3]]) -> Mark {
        let at_jet = if self.random.random::<f32>() < AT_JETS { self.at_jet(time) } else { None };
        let at = at_jet.unwrap_or_else(|| self.anywhere());
        let life = LIFE.0 + (LIFE.1 - LIFE.0) * self.random.random::<f32>();
        Mark { at, velocity: self.motion.velocity_at(velocities, at), age: 0.0, life }
    }

    fn at_jet(&mut self, time: f64) -> Option<[f32; 3]> {
        let (frame, _) = self.motion.frame_at(time);
        let flows: Vec<f64> = self.jets.iter().map(|jet| jet.most * jet.share.get(frame).copied().unwrap_or(0.0)).collect();
        let mut mark = f64::from(self.random.random::<f32>()) * flows.iter().sum::<f64>();
        let index = flows.iter().position(|flow| {
            mark -= flow;
            mark < 0.0
        })?;
        let (at, aim, bore) = self.jets[index].mouth();
        let ahead = bore * (1.0 + 2.0 * self.random.random::<f32>());
        let place = std::array::from_fn(|axis| at[axis] + ahead * aim[axis] + bore * (self.random.random::<f32>() - 0.5));
        self.motion.is_wet(place).then_some(place)
    }

    fn anywhere(&mut self) -> [f32; 3] {
        let size = self.motion.grid.n.map(|cells| cells as f32 * self.motion.grid.h);
        for _ in 0..TRIES {
            let place = size.map(|edge| edge * self.random.random::<f32>());
            if self.motion.is_wet(place) {
                return place;
            }
        }
        size.map(|edge| 0.5 * edge)
    }
}

/// One midpoint step; a mark that would run into rock stays where it is and fades.
fn moved(mark: &mut Mark, motion: &Motion, velocities: &[[f32; 3]], dt: f32) {
    mark.age += dt;
    let here = motion.velocity_at(velocities, mark.at);
    let half = std::array::from_fn(|axis| mark.at[axis] + 0.5 * dt * here[axis]);
    mark.velocity = motion.velocity_at(velocities, half);
    let next = std::array::from_fn(|axis| mark.at[axis] + dt * mark.velocity[axis]);
    if motion.is_wet(next) {
        mark.at = next;
    } else {
        mark.age = mark.age.max(mark.life - FADING);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::Grid;
    use crate::study::motion::kept;

    /// A still record of one field on 24 x 24 x 4 blocks of 5 cm, with the cells of `dry` as rock.
    fn motion(field: impl Fn([f32; 3]) -> [f32; 3], dry: impl Fn([f32; 3]) -> bool) -> Motion {
        let grid = Grid { n: [24, 24, 4], h: 0.05 };
        let places: Vec<[f32; 3]> = (0..grid.cells()).map(|c| [c % 24, c / 24 % 24, c / 576].map(|i| (i as f32 + 0.5) * grid.h)).collect();
        let velocities: Vec<[f32; 3]> = places.iter().map(|p| if dry(*p) { [0.0; 3] } else { field(*p) }).collect();
        let top = velocities.iter().flatten().fold(0.0f32, |top, v| top.max(v.abs()));
        let frame: Vec<[i8; 3]> = velocities.iter().map(|v| v.map(|x| kept(x, top))).collect();
        Motion {
            n: grid.n,
            h: grid.h,
            water: places.iter().map(|p| if dry(*p) { 0.0 } else { 1.0 }).collect(),
            wet: places.iter().map(|p| !dry(*p)).collect(),
            grid,
            start: 0.0,
            times: vec![0.0, 60.0],
            top,
            frames: vec![frame.clone(), frame],
        }
    }

    /// Solid-body rotation about the middle: after one turn a mark is where it was, but for what keeping in three bytes can add up to.
    #[test]
    fn a_mark_in_a_rotation_comes_back() {
        let turn_rate = 0.5f32;
        let motion = motion(|p| [-turn_rate * (p[1] - 0.6), turn_rate * (p[0] - 0.6), 0.0], |_| false);
        let period = std::f32::consts::TAU / turn_rate;
        let velocities = motion.velocities(0.0);
        let start = [0.9, 0.6, 0.1];
        let mut mark = Mark { at: start, velocity: [0.0; 3], age: 0.0, life: 1e9 };
        for _ in 0..1000 {
            moved(&mut mark, &motion, &velocities, period / 1000.0);
        }
        let speed = turn_rate * 0.3;
        let off_by_at_most = 2f32.sqrt() * period * ((speed * motion.top).sqrt() / 127.0 + motion.top / (4.0 * 127.0 * 127.0));
        let off = (0..3).map(|axis| (mark.at[axis] - start[axis]).powi(2)).sum::<f32>().sqrt();
        assert!(off <= off_by_at_most, "off by {off} m, at most {off_by_at_most} m");
        assert!(off_by_at_most < 0.05);
    }

    /// A stream straight at a block: marks pass beside it or stop, none is in it.
    #[test]
    fn no_mark_ends_in_rock() {
        let is_rock = |p: [f32; 3]| (0.4..0.8).contains(&p[0]) && (0.3..0.9).contains(&p[1]);
        let motion = motion(|_| [0.3, 0.02, 0.0], is_rock);
        let jets = [JetMark::named("A", vec![1.0, 1.0])];
        let mut drift = Drift::new(&motion, &jets, 600);
        for step in 0..100 {
            drift.advance(f64::from(step) * 0.25, 0.25);
            assert!(drift.marks.iter().all(|mark| motion.is_wet(mark.at) && !is_rock(mark.at)));
        }
        assert!(drift.marks.iter().any(|mark| mark.fade() > 0.9));
    }
}
