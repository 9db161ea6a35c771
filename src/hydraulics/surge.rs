//! Pressure when flow in a pipe is stopped.

use crate::water::GRAVITY;

/// What the wall of a pipe does to a pressure wave.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wall {
    /// Inside diameter, m.
    pub bore: f64,
    /// Wall thickness, m.
    pub thickness: f64,
    /// Young's modulus, Pa.
    pub stiffness: f64,
    /// Poisson's ratio.
    pub poisson: f64,
}

/// Stiffness of PVC for a quick load, Pa: 400 000 psi. Published 2.4 to 3.5 GPa, which moves the wave speed by about 10 %.
pub const PVC_STIFFNESS: f64 = 2.76e9;
/// Poisson's ratio of PVC.
pub const PVC_POISSON: f64 = 0.38;

/// Speed of a pressure wave in a full pipe held along its length, m/s: Korteweg 1878 with the thick-wall factor of Wylie and
/// Streeter 1993, c1 = 2e/D (1 + ν) + D (1 - ν²)/(D + e). `sound_speed` and `bulk_modulus` are the fluid's.
pub fn wave_speed(wall: &Wall, sound_speed: f64, bulk_modulus: f64) -> f64 {
    let slim = wall.bore / wall.thickness;
    let held = 2.0 / slim * (1.0 + wall.poisson) + wall.bore * (1.0 - wall.poisson.powi(2)) / (wall.bore + wall.thickness);
    sound_speed / (1.0 + held * bulk_modulus / wall.stiffness * slim).sqrt()
}

/// Most that a sudden stop can raise the pressure, as head, m: a ΔV/g (Joukowsky 1898).
pub fn sudden_stop(wave_speed: f64, speed_change: f64) -> f64 {
    wave_speed * speed_change / GRAVITY
}

/// Rise when a valve shuts slowly, longer than one return of the wave, as head, m: 2 L V/(g t) (Michaud 1878). Never more
/// than the sudden stop.
pub fn slow_stop(length: f64, speed_change: f64, closing_time: f64, wave_speed: f64) -> f64 {
    let slow = 2.0 * length * speed_change / (GRAVITY * closing_time);
    slow.min(sudden_stop(wave_speed, speed_change))
}

/// Pressure that a plain pipe is rated for, Pa: 2 S e/(D - e) on its outside diameter, S the wall stress allowed (ASTM D1785, ISO 161).
pub fn rating(outside: f64, thickness: f64, stress: f64) -> f64 {
    2.0 * stress * thickness / (outside - thickness)
}
