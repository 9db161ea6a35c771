//! Face values: half way between quadratic upwind and central cubic for velocity, third order upwind without new extremes for what is carried.

use super::field::{max, min};

/// Limited slope of Koren (1993): with a = upstream difference and b = downstream difference, (a + 2b)/3 held between 0, 2a and 2b. Halved,
/// it is added to the upstream value. No new extremes, at the price of first order at those that there are.
#[inline(always)]
pub(super) fn koren(a: f32, b: f32) -> f32 {
    let third = (a + 2.0 * b) * (1.0 / 3.0);
    let (a2, b2) = (2.0 * a, 2.0 * b);
    max(0.0, min(third, min(a2, b2))) + min(0.0, max(third, max(a2, b2)))
}

/// What is added to the upstream value: half way between the parabola through it and both its neighbours (Leonard 1979), a/8 + 3b/8, and the
/// cubic through two values on each side, (a + 8b - c)/16, which has no diffusion of its own; a, b, c are the differences upstream of the
/// face, across it and downstream. Held to the smaller of a and b, also at extremes, so that smooth ones are not worn down.
#[inline(always)]
pub(super) fn half_slope(a: f32, b: f32, c: f32) -> f32 {
    let most = min(a.abs(), b.abs());
    max(min(a * (3.0 / 32.0) + b * (7.0 / 16.0) - c * (1.0 / 32.0), most), -most)
}

/// Value between q1 and q2 carried by `speed` (positive from q1 to q2).
#[inline(always)]
pub(super) fn carried(speed: f32, q: [f32; 4]) -> f32 {
    let forward = speed > 0.0;
    let (first, across, last) = (q[1] - q[0], q[2] - q[1], q[3] - q[2]);
    let (upstream, before, after) = if forward { (q[1], first, last) } else { (q[2], last, first) };
    // The slope of the water that comes the other way has the other sign: one limiter does for both.
    upstream + half_slope(before, across, after) * 1f32.copysign(speed)
}

/// As [`carried`], for one forward Euler step at Courant number `courant` (signed): total variation does not grow.
#[inline(always)]
pub(super) fn carried_in_step(courant: f32, q: [f32; 4]) -> f32 {
    let forward = courant > 0.0;
    let far = if forward { q[1] - q[0] } else { q[2] - q[3] };
    let across = q[2] - q[1];
    let (up, near) = if forward { (q[1], across) } else { (q[2], -across) };
    up + 0.5 * (1.0 - courant.abs()) * koren(far, near)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_line_is_met_exactly() {
        for speed in [1.0, -1.0] {
            assert!((carried(speed, [1.0, 2.0, 3.0, 4.0]) - 2.5).abs() < 1e-6);
        }
    }

    #[test]
    fn an_extreme_is_not_exceeded() {
        assert_eq!(carried_in_step(0.5, [0.0, 1.0, 0.0, 0.0]), 1.0);
        assert_eq!(carried_in_step(-0.5, [0.0, 0.0, 1.0, 0.0]), 1.0);
    }

    #[test]
    fn a_parabola_is_met_exactly_and_a_spike_is_not_passed() {
        // 1 - x² at x = -1, 0, 1, 2; at the face x = ½ it is ¾.
        let crest = [-1.0f32, 0.0, 1.0, 2.0].map(|x| 1.0 - x * x);
        assert!((carried(1.0, crest) - 0.75).abs() < 1e-6);
        let passed = carried(1.0, [0.0, 1.0, 0.0, 0.0]);
        assert!((0.0..1.0).contains(&passed), "{passed}");
    }

    /// x³ at x = -1, 0, 1, 2; at the face x = ½ it is ⅛, the parabola upstream says ½, the cubic ⅛.
    #[test]
    fn of_a_cubic_the_mean_of_parabola_and_cubic_is_carried() {
        let cube = [-1.0f32, 0.0, 1.0, 2.0].map(|x| x * x * x);
        assert!((carried(1.0, cube) - 0.3125).abs() < 1e-6);
        assert!((carried(-1.0, [8.0, 1.0, 0.0, -1.0]) - 0.3125).abs() < 1e-6);
    }

    #[test]
    fn a_full_cell_a_step_is_pure_upwind() {
        assert_eq!(carried_in_step(1.0, [0.0, 1.0, 3.0, 9.0]), 1.0);
        assert_eq!(carried_in_step(-1.0, [0.0, 1.0, 3.0, 9.0]), 3.0);
    }
}
