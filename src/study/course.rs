//! How a cell's water behaves in the course of time: still spells, and turns of its direction.

use serde::{Deserialize, Serialize};

/// Still spells and turns of one cell.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Course {
    still: f32,
    longest: f32,
    toward: [i8; 3],
    turns: u16,
}

impl Course {
    /// One sample: velocity and its size (m/s), standing for `seconds`; slower than `limit` (m/s) is still.
    #[inline(always)]
    pub fn add(&mut self, velocity: &[f32; 3], speed: f32, seconds: f32, limit: f32) {
        if speed < limit {
            self.still += seconds;
            return;
        }
        if self.still > 0.0 {
            self.longest = self.longest.max(self.still);
            self.still = 0.0;
        }
        let along: f32 = (0..3).map(|axis| velocity[axis] * f32::from(self.toward[axis])).sum();
        let first = self.toward == [0; 3];
        if along < 0.0 || first {
            self.turns = self.turns.saturating_add(u16::from(!first));
            self.toward = velocity.map(|u| (u / speed * 127.0) as i8);
        }
    }

    /// The longest spell without a sample over the limit, s; spells that the ends of the averaging cut count as far as they were seen.
    pub fn longest_still(&self) -> f64 {
        f64::from(self.longest.max(self.still))
    }

    /// How often the direction, while not still, had come to be more than a right angle away from where it was after the turn before.
    pub fn turns(&self) -> u16 {
        self.turns
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// u = U cos(2πt/T): the direction turns twice a period, and |u| is under U/2 for a sixth of the period twice: two spells of T/6.
    #[test]
    fn an_oscillation_turns_twice_a_period() {
        let (period, dt) = (12.0f32, 0.01f32);
        let mut course = Course::default();
        for step in 0..12_000 {
            let t = (step as f32 + 0.5) * dt;
            let u = (std::f32::consts::TAU * t / period).cos();
            course.add(&[0.0, u, 0.0], u.abs(), dt, 0.5);
        }
        assert_eq!(course.turns(), 20);
        assert!((course.longest_still() - 2.0).abs() < 0.02, "{}", course.longest_still());
    }

    #[test]
    fn swaying_by_less_than_a_right_angle_is_no_turn() {
        let mut course = Course::default();
        for step in 0..100 {
            let angle = if step % 2 == 0 { 0.7f32 } else { -0.7 };
            course.add(&[angle.cos(), angle.sin(), 0.0], 1.0, 0.1, 0.02);
        }
        assert_eq!((course.turns(), course.longest_still()), (0, 0.0));
    }

    #[test]
    fn water_that_never_moves_is_still_all_the_time() {
        let mut course = Course::default();
        (0..300).for_each(|_| course.add(&[0.001, 0.0, 0.0], 0.001, 0.1, 0.02));
        assert!((course.longest_still() - 30.0).abs() < 1e-3);
        assert_eq!(course.turns(), 0);
    }
}
