//! How long until a shot of dye at a nozzle is mixed through the tank.
//!
//! The dye starts in the water at the nozzle's mouth, goes with the recorded motion, and what intakes take comes back through the nozzles at once.
//! It counts as mixed to 95 % when the root mean square of c/c̄ − 1 over the water is down to 5 %.

use super::{
    Control,
    recording::Recording,
    scalar::{Brought, Feed, Scalar},
};

/// Coefficient of variation of mixed water.
pub const MIXED: f64 = 0.05;
/// Longest time that is followed, s.
pub const HORIZON: f64 = 7200.0;

/// How a shot of dye mixed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Mixing {
    /// When it was mixed, s; `None` when it was not within the time followed.
    pub mixed_s: Option<f64>,
    /// Time followed, s.
    pub followed_s: f64,
    /// Coefficient of variation over time: (s, value).
    pub course: Vec<[f64; 2]>,
}

/// Follows a shot of dye in some cells (with shares) until it is mixed, `horizon` (s) is over, or `watch` (seconds so far, horizon) stops it.
pub fn mixing(recording: &Recording, shot: &[(usize, f32)], horizon: f64, watch: &mut dyn FnMut(f64, f64) -> Control) -> Mixing {
    let mut value = vec![0.0; recording.water.len()];
    shot.iter().for_each(|&(cell, share)| value[cell] += f64::from(share) / recording.volume(cell).max(1e-12));
    follow(Scalar::new(recording, value, 0.0), recording, horizon, watch)
}

/// Follows any scalar; for exact cases with a diffusivity.
pub fn follow(mut scalar: Scalar, recording: &Recording, horizon: f64, watch: &mut dyn FnMut(f64, f64) -> Control) -> Mixing {
    let mut mixing = Mixing { course: vec![[0.0, scalar.variation()]], ..Mixing::default() };
    for stream in recording.streams.iter().cycle() {
        if mixing.followed_s >= horizon || !scalar.mean().is_normal() || watch(mixing.followed_s, horizon) == Control::Stop {
            break;
        }
        scalar.carry(stream, Feed { gain: 0.0, brought: Brought::Returned });
        let before = mixing.course[mixing.course.len() - 1];
        let now = [before[0] + stream.seconds, scalar.variation()];
        mixing.followed_s = now[0];
        mixing.course.push(now);
        if now[1] <= MIXED {
            mixing.mixed_s = Some(crossing(before, now));
            break;
        }
    }
    mixing
}

/// When the variation, which falls exponentially between two moments, passed the limit.
fn crossing(before: [f64; 2], now: [f64; 2]) -> f64 {
    let fall = (before[1] / now[1].max(1e-12)).ln();
    if fall <= 0.0 { now[0] } else { before[0] + (now[0] - before[0]) * ((before[1] / MIXED).ln() / fall).clamp(0.0, 1.0) }
}

/// Published time to 95 % for one jet in a tank, s: 3.0 Z²/(U d) with Z the free path of the jet (m) and U d = √(4 M/π) from its momentum flux over
/// density M (m⁴/s²). After Grenville and Tilton 1996, Trans IChemE 74A:390; constant not seen in print, good to 30 % at best, poor for jets off the middle.
pub fn published(path: f64, momentum: f64) -> Option<f64> {
    let strength = (4.0 * momentum / std::f64::consts::PI).sqrt();
    (strength > 0.0 && path > 0.0).then(|| 3.0 * path * path / strength)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Reference 5.12: a 25 mm nozzle with 1 L/s (2.037 m/s), free paths of 1, 1.5, 2 and 2.5 m: 59, 133, 236 and 368 s.
    #[test]
    fn published_times_come_out() {
        let momentum = 1e-3 * 2.0372;
        for (path, expected) in [(1.0, 59.0), (1.5, 133.0), (2.0, 236.0), (2.5, 368.0)] {
            let got = published(path, momentum).unwrap();
            assert!((got - expected).abs() < 0.5, "{path} m: {got}");
        }
        assert_eq!(published(1.0, 0.0), None);
    }

    #[test]
    fn the_crossing_lies_on_the_exponential() {
        assert!((crossing([10.0, 0.2], [12.0, 0.0125]) - 11.0).abs() < 1e-12);
    }
}
