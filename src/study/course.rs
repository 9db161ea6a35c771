//! How a cell's water behaves in the course of time: still spells, and turns of its direction.

use super::side_by_side::{LANES, Lanes};
use serde::{Deserialize, Serialize};

/// Still spells and turns of a group of cells.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Courses {
    still: Lanes,
    longest: Lanes,
    toward: [[i8; LANES]; 3],
    turns: [u16; LANES],
}

impl Courses {
    /// One sample: velocities and their sizes (m/s), standing for `seconds`; slower than `limit` (m/s) is still.
    #[inline(always)]
    pub fn add(&mut self, velocity: &[Lanes; 3], speed: &Lanes, seconds: f32, limit: f32) {
        for m in 0..LANES {
            let (is_still, spell, longest) = (speed[m] < limit, self.still[m], self.longest[m]);
            self.longest[m] = if !is_still & (spell > longest) { spell } else { longest };
            self.still[m] = if is_still { spell + seconds } else { 0.0 };
        }
        let [mut along, mut size] = [[0.0; LANES]; 2];
        for (u, toward) in velocity.iter().zip(&self.toward) {
            for m in 0..LANES {
                let toward = f32::from(toward[m]);
                along[m] += u[m] * toward;
                size[m] += toward.abs();
            }
        }
        let (mut turned, mut any) = ([0; LANES], 0);
        for m in 0..LANES {
            turned[m] = u32::from((speed[m] >= limit) & ((along[m] < 0.0) | (size[m] == 0.0)));
            any |= turned[m];
        }
        // Turns are rare.
        if any > 0 {
            (0..LANES).filter(|m| turned[*m] > 0).for_each(|m| self.turn(m, velocity.map(|u| u[m]), speed[m]));
        }
    }

    fn turn(&mut self, cell: usize, velocity: [f32; 3], speed: f32) {
        let first = self.toward.iter().all(|toward| toward[cell] == 0);
        self.turns[cell] = self.turns[cell].saturating_add(u16::from(!first));
        self.toward.iter_mut().zip(velocity).for_each(|(toward, u)| toward[cell] = (u / speed * 127.0) as i8);
    }

    /// The longest spell of a cell without a sample over the limit, s; spells that the ends of the averaging cut count as far as they were seen.
    pub fn longest_still(&self, cell: usize) -> f64 {
        f64::from(self.longest[cell].max(self.still[cell]))
    }

    /// How often a cell's direction, while not still, had come to be more than a right angle away from where it was after the turn before.
    pub fn turns(&self, cell: usize) -> u16 {
        self.turns[cell]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(value: f32) -> Lanes {
        [value; LANES]
    }

    /// u = U cos(2πt/T): the direction turns twice a period, and |u| is under U/2 for a sixth of the period twice: two spells of T/6.
    #[test]
    fn an_oscillation_turns_twice_a_period() {
        let (period, dt) = (12.0f32, 0.01f32);
        let mut course = Courses::default();
        for step in 0..12_000 {
            let t = (step as f32 + 0.5) * dt;
            let u = (std::f32::consts::TAU * t / period).cos();
            course.add(&[0.0, u, 0.0].map(all), &all(u.abs()), dt, 0.5);
        }
        assert_eq!(course.turns(7), 20);
        assert!((course.longest_still(7) - 2.0).abs() < 0.02, "{}", course.longest_still(7));
    }

    #[test]
    fn swaying_by_less_than_a_right_angle_is_no_turn() {
        let mut course = Courses::default();
        for step in 0..100 {
            let angle = if step % 2 == 0 { 0.7f32 } else { -0.7 };
            course.add(&[angle.cos(), angle.sin(), 0.0].map(all), &all(1.0), 0.1, 0.02);
        }
        assert_eq!((course.turns(7), course.longest_still(7)), (0, 0.0));
    }

    #[test]
    fn water_that_never_moves_is_still_all_the_time() {
        let mut course = Courses::default();
        (0..300).for_each(|_| course.add(&[0.001, 0.0, 0.0].map(all), &all(0.001), 0.1, 0.02));
        assert!((course.longest_still(7) - 30.0).abs() < 1e-3);
        assert_eq!(course.turns(7), 0);
    }
}
