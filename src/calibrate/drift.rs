//! How long a float takes between two marks on the axis of a jet. SI.

use crate::layout::NozzleKind;
use std::f64::consts::PI;

/// Centreline constant of a round free jet, U / U0 = B d / x: published fits are 5.8 with x counted from 4 d (Hussein, Capp and George, J. Fluid
/// Mech. 258, 1994) and 6.06 (Panchapakesan and Lumley, J. Fluid Mech. 246, 1993; from memory).
const DECAY: f64 = 6.0;

/// Bores from the nozzle within which the jet's core still runs at full speed.
const CORE: f64 = 6.0;

/// Uncertainty (95 %) of a float's time by this law, as a share: a float wanders off the axis, and walls and other jets are near
/// (common practice, no source).
pub const LAW_SHARE: f64 = 0.3;

/// Two marks, from the nozzle along the aim.
pub type Marks = [f64; 2];

/// Marks for a nozzle of this bore with so much free way before it, the far one `farthest` away if it can be, both on a grid; `None` when there is too little way.
pub fn marks(bore: f64, free: f64, farthest: f64, grid: f64) -> Option<Marks> {
    let last = on_grid(farthest.min(0.7 * free), grid);
    let first = on_grid((last / 3.0).max(CORE * bore), grid);
    (last - first >= 0.1).then_some([first, last])
}

/// To the nearest line of a grid that is easy to mark.
fn on_grid(length: f64, grid: f64) -> f64 {
    (length / grid).round() * grid
}

/// Whether the law of a round jet holds for a kind of nozzle.
pub fn is_round(kind: &NozzleKind) -> bool {
    !matches!(kind, NozzleKind::FlatFan { .. } | NozzleKind::TwinWye { .. })
}

/// Time along the axis between two marks for a jet of this momentum flux over density (m⁴/s²): the axis speed is B √(4 M / π) / x.
pub fn seconds(momentum: f64, [first, last]: Marks) -> Option<f64> {
    let strength = DECAY * (4.0 * momentum / PI).sqrt();
    (strength > 0.0).then(|| (last * last - first * first) / (2.0 * strength))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn worked_jet() {
        // 25 mm, 1 L/s: axis speed 0.611 m/s at 0.5 m and 0.306 m/s at 1 m (B 6, from the nozzle); the time lies between the bounds they give.
        let momentum = 1e-3 * 2.0372;
        let t = seconds(momentum, [0.5, 1.0]).unwrap();
        assert!((t - 1.2265).abs() < 0.002, "{t}");
        let axis = |x: f64| DECAY * (4.0 * momentum / PI).sqrt() / x;
        assert!((axis(0.5) - 0.611).abs() < 0.001 && (axis(1.0) - 0.306).abs() < 0.001);
        assert_eq!(seconds(0.0, [0.5, 1.0]), None);
    }

    #[test]
    fn marks_keep_out_of_the_core_and_off_the_wall() {
        assert_eq!(marks(0.025, 4.0, 1.5, 0.01).map(|m| m.map(|v| (v * 100.0).round())), Some([50.0, 150.0]));
        assert_eq!(marks(0.05, 1.0, 1.5, 0.01).map(|m| m.map(|v| (v * 100.0).round())), Some([30.0, 70.0]));
        assert_eq!(marks(0.05, 0.5, 1.5, 0.01), None);
    }
}
