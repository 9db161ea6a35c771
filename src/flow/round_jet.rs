//! The published free round jet, in bores and mouth speeds: what the water nearest to a nozzle does, where the grid can't hold it.
//!
//! Centreline Uc/U₀ = 6 D/x with the virtual origin at the mouth (Panchapakesan and Lumley 1993: 6.06; the generic law of the
//! references), a core at full speed up to 6 D, a Gaussian profile outside it, as wide as makes the momentum flux that of the mouth at
//! every distance: half-width 0.098 x (published 0.094 to 0.102).

use super::field::{max, min};
use std::f32::consts::PI;

/// Decay constant: Uc/U₀ = 6 D/x.
const DECAY: f32 = 6.0;
/// u′/Uc along a developed jet's axis (Panchapakesan and Lumley 1993, Hussein, Capp and George 1994: 0.24 to 0.28; value from memory).
const ALONG: f32 = 0.25;
/// v′/Uc and w′/Uc across it (the same: 0.19 to 0.22; value from memory).
const ACROSS: f32 = 0.20;
/// Distance in bores at which the turbulence is developed; it grows from nothing at the mouth (common practice, no source).
const DEVELOPED: f32 = 15.0;
/// Front of a jet that starts from rest: x² = 8 U₀ D t (Hill and Ouellette 1999: x = 3.0 M^¼ t^½; value from memory).
const FRONT: f32 = 8.0;

/// Speed on the axis over the mouth speed, `x` bores from the mouth.
#[inline(always)]
pub(super) fn centreline(x: f32) -> f32 {
    if x > DECAY { DECAY / x } else { 1.0 }
}

/// A stream across the jet shortens its core: by half at this share of the mouth speed (fitted to resolved twins at 1/6 and 1/15,
/// `cargo bench --bench jet_twins`; [`CORE_FALLS`] too).
const HALF_CORE: f32 = 0.165;
/// How steeply, as a power of the share.
const CORE_FALLS: f32 = 3.0;

/// Length of the core in bores when water crosses the jet at this share of the mouth speed.
#[inline(always)]
pub(super) fn core(share: f32) -> f32 {
    DECAY / (1.0 + (share / HALF_CORE).powf(CORE_FALLS))
}

/// Share of the free jet's speed on the axis that is left `x` bores from the mouth when water crosses it so.
#[inline(always)]
pub(super) fn crossed(x: f32, share: f32) -> f32 {
    let core = core(share);
    (core / x.max(core)) / centreline(x)
}

/// As [`turbulence`] where it is developed.
#[inline(always)]
pub(super) fn developed(share: f32) -> (f32, f32) {
    let along = ALONG * max(share, 0.0).sqrt();
    (along, along * along * (1.0 + 2.0 * (ACROSS / ALONG) * (ACROSS / ALONG)))
}

/// Speed on the axis at a distance `x` (m) well beyond the core of a jet with this mouth speed × bore (m²/s), m/s.
#[inline(always)]
pub(super) fn far_centreline(drive: f32, x: f32) -> f32 {
    DECAY * drive / x
}

/// Distance from the axis, in bores, at which the speed is half of that on the axis.
pub(super) fn half_width(x: f32) -> f32 {
    Profile::new(x).half_width()
}

/// Radius of the core and the 1/e width of the mixing layer round it, in bores.
#[inline(always)]
fn shape(x: f32) -> (f32, f32) {
    let x = x.max(0.0);
    if x >= DECAY {
        return (0.0, x / (DECAY * std::f32::consts::SQRT_2));
    }
    // Momentum: r² + 2 r w √(π/8) + w²/2 = 1/4.
    let core = 0.5 * (1.0 - x / DECAY);
    let p = 2.0 * core * (PI / 8.0).sqrt();
    (core, (-p + (p * p + 2.0 * (0.25 - core * core)).max(0.0).sqrt()).max(1e-3))
}

/// Speed over the speed on the axis, `x` bores from the mouth, at each of some distances from the axis (bores).
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Profile {
    core: f32,
    per_width: f32,
}

impl Profile {
    /// Across the jet at `x` bores.
    #[inline(always)]
    pub fn new(x: f32) -> Self {
        let (core, width) = shape(x);
        Self { core, per_width: 1.0 / width }
    }

    /// Distance from the axis, in bores, at which the speed is half of that on the axis.
    #[inline(always)]
    pub fn half_width(&self) -> f32 {
        self.core + std::f32::consts::LN_2.sqrt() / self.per_width
    }

    /// 1 on the axis, 0 far from it.
    #[inline(always)]
    pub fn at(&self, r: f32) -> f32 {
        let y = max(r - self.core, 0.0) * self.per_width;
        let share = exp_of_minus(min(y, 5.0) * min(y, 5.0));
        if y > 4.0 { 0.0 } else { share }
    }
}

/// e^(−x) for x from 0 to 80, right to 2e-7 of itself: 2^n times a Taylor series of what is left. The library's own can't be done for several
/// values at once.
#[inline(always)]
fn exp_of_minus(x: f32) -> f32 {
    let binary = -x * std::f32::consts::LOG2_E;
    let whole = (binary + 0.5).floor();
    let y = (binary - whole) * std::f32::consts::LN_2;
    let series = 1.0 + y * (1.0 + y * (1.0 / 2.0 + y * (1.0 / 6.0 + y * (1.0 / 24.0 + y * (1.0 / 120.0 + y * (1.0 / 720.0))))));
    f32::from_bits(((whole as i32 + 127) << 23) as u32) * series
}

/// Fluctuation along the jet over the local speed on the axis, where the mean is `share` of that speed: (rms along, variance of all three
/// components). About even up to the half-width, then falling with the root of the mean.
#[inline(always)]
pub(super) fn turbulence(x: f32, share: f32) -> (f32, f32) {
    let grown = (x / DEVELOPED).clamp(0.0, 1.0);
    let (along, variance) = developed(share);
    (grown * along, grown * grown * variance)
}

/// Mouth speed that has made itself felt at `x` (m), after a time `dt` (s) in which the mouth's own speed is `mouth`: a jet that starts
/// arrives when its front does; one that is shut off fades as 1/t.
pub(super) fn arrived(before: f32, mouth: f32, bore: f32, x: f32, dt: f32) -> f32 {
    let pace = FRONT * before.max(mouth) * bore * dt / (x * x).max(1e-9);
    (before + pace * mouth) / (1.0 + pace)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exponentials_are_right() {
        for x in (0..8000).map(|n| 0.01 * n as f32) {
            let exact = (-f64::from(x)).exp();
            assert!((f64::from(exp_of_minus(x)) / exact - 1.0).abs() < 2e-7 * (1.0 + f64::from(x)), "{x}");
        }
    }

    /// ∫ u² 2πr dr over that of the mouth.
    fn momentum(x: f32) -> f32 {
        let profile = Profile::new(x);
        let dr = 1e-3 * (1.0 + x);
        let ring = |n: i32| {
            let r = (n as f32 + 0.5) * dr;
            (centreline(x) * profile.at(r)).powi(2) * 2.0 * PI * r * dr
        };
        (0..2000).map(ring).sum::<f32>() / (PI / 4.0)
    }

    #[test]
    fn momentum_is_that_of_the_mouth_at_every_distance() {
        for x in [0.5, 2.0, 4.0, 6.0, 10.0, 40.0] {
            assert!((momentum(x) - 1.0).abs() < 0.01, "{x}: {}", momentum(x));
        }
    }

    /// References 5.1 to 5.3, file round_jet.csv: B 5.8 to 6.06, S 0.094 to 0.102.
    #[test]
    fn decay_and_width_lie_among_the_published_ones() {
        let (b, s) = (centreline(30.0) * 30.0, half_width(30.0) / 30.0);
        assert!((5.8..=6.06).contains(&b), "{b}");
        assert!((0.094..=0.102).contains(&s), "{s}");
        assert_eq!(centreline(5.9), 1.0);
    }

    /// Half of the core left where a stream has the share that the fit says; nothing lost without one, and nothing while the core lasts.
    #[test]
    fn a_stream_across_shortens_the_core() {
        assert!((core(HALF_CORE) - 3.0).abs() < 1e-5);
        for x in [0.5, 5.0, 20.0] {
            assert_eq!(crossed(x, 0.0), 1.0);
        }
        assert_eq!(crossed(2.9, HALF_CORE), 1.0);
        assert!((crossed(20.0, HALF_CORE) - 0.5).abs() < 1e-5);
    }

    #[test]
    fn nothing_jumps_at_the_end_of_the_core() {
        for r in [0.0, 0.3, 0.7, 1.5] {
            assert!((Profile::new(5.999).at(r) - Profile::new(6.001).at(r)).abs() < 2e-3);
        }
    }

    /// A jet of 25 mm at 1.5 m/s: its front is at 0.5 m after 0.5²/(8 × 1.5 × 0.025) = 0.83 s.
    #[test]
    fn a_jet_arrives_with_its_front_and_fades_slowly() {
        let mut speed = 0.0;
        let dt = 0.01;
        let after = |speed: &mut f32, mouth: f32, seconds: f32| {
            (0..(seconds / dt).round() as i32).for_each(|_| *speed = arrived(*speed, mouth, 0.025, 0.5, dt));
        };
        after(&mut speed, 1.5, 0.83);
        assert!((speed / 1.5 - (1.0 - (-1.0f32).exp())).abs() < 0.01, "{speed}");
        after(&mut speed, 1.5, 20.0);
        assert!((speed - 1.5).abs() < 1e-3);
        after(&mut speed, 0.0, 0.83);
        assert!((speed / 1.5 - 0.5).abs() < 0.01, "{speed}");
    }
}
