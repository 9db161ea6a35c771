//! How long a step may be, and the Adams-Bashforth weights for it.
//!
//! u* = uⁿ + dt ((1 + r/2) Nⁿ − r/2 Nⁿ⁻¹), r = dt/dtⁿ⁻¹: second order for steps of changing length. Linear theory bears Σ|u|dt/h
//! of 0.49; with the limiter in N it held to about 0.9 (measured with third order upwind, which by itself bears 0.58); the default is 0.7.

use super::{physics::Physics, sources::Demands};
use serde::{Deserialize, Serialize};

/// A step is at most this many times the one before.
const GROWTH: f32 = 1.2;
/// A step shorter than this part of the one before starts the scheme afresh, as after switching.
const AFRESH: f32 = 0.25;
/// Greatest ν dt/h²: the scheme bears 1/12.
const MOST_DIFFUSION: f32 = 0.06;

/// What the last step left for the next one.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub(super) struct History {
    /// Length of the last step, s; 0 before the first.
    pub dt: f32,
    /// Largest Σ|u| over the cells, m/s.
    pub courant_speed: f32,
    /// Fastest speed that ports have asked for so far, m/s.
    pub fastest_port: f32,
    /// Cycles that the pressure gets at first.
    pub cycles: u32,
}

/// Longest stable step, s.
pub(super) fn step_length(history: &History, physics: &Physics, demands: &Demands, h: f32, dt_max: f32) -> f32 {
    let courant = physics.courant.clamp(0.05, 0.9);
    // Pushed for a time dt from its present speed, water must not cross more than the Courant number of cells: c h = (v + a dt) dt.
    let (v, a) = (history.courant_speed, demands.acceleration);
    let reach = courant * h;
    let pushed = 2.0 * reach / (v + (v * v + 4.0 * a * reach).sqrt()).max(1e-9);
    let inflow = reach / demands.inflow.max(1e-9);
    let viscous = MOST_DIFFUSION * h * h / physics.viscosity.max(1e-12);
    let growth = if history.dt > 0.0 { GROWTH * history.dt } else { f32::MAX };
    pushed.min(inflow).min(viscous).min(growth).min(dt_max).max(1e-9)
}

/// Weights of the present and the previous rates.
pub(super) fn weights(history: &History, dt: f32) -> (f32, f32) {
    let afresh = history.dt <= 0.0 || dt < AFRESH * history.dt;
    let half = if afresh { 0.0 } else { 0.5 * dt / history.dt };
    (1.0 + half, -half)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_steps_give_three_halves_and_minus_a_half() {
        let history = History { dt: 0.1, ..History::default() };
        assert_eq!(weights(&history, 0.1), (1.5, -0.5));
        assert_eq!(weights(&History::default(), 0.1), (1.0, 0.0));
    }

    #[test]
    fn still_water_that_is_pushed_moves_no_farther_than_the_courant_number() {
        let demands = Demands { acceleration: 8.0, ..Demands::default() };
        let dt = step_length(&History::default(), &Physics::tank(1e-6, 0), &demands, 0.02, 10.0);
        assert!((8.0 * dt * dt / 0.02 - 0.7).abs() < 1e-3);
    }
}
