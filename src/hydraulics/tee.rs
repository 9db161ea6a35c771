//! Joints whose loss depends on how the flow divides: three legs, of which two run straight through and one branches off.
//!
//! Coefficients are of total head on the velocity of the combined flow. They may be negative: the slower stream is dragged along.

use crate::water::GRAVITY;
use std::f64::consts::FRAC_PI_4;

/// Share of the combined flow under which a leg counts as changing its sense; between, the losses of both senses are blended.
const TURNING: f64 = 0.05;

/// A joint of three legs in a network.
#[derive(Debug, Clone, PartialEq)]
pub struct Tee {
    /// The straight way, one end and the other; `None` where it is capped.
    pub straight: [Option<Leg>; 2],
    /// The branch.
    pub branch: Option<Leg>,
    /// Between the branch and the straight way, rad.
    pub angle: f64,
    /// Multiplies its losses; 1: as published.
    pub factor: f64,
}

/// A link that ends at a joint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// Number of the link.
    pub link: usize,
    /// The joint is where the link's positive flow goes to, not where it comes from.
    pub is_end: bool,
    /// Inside diameter there, m.
    pub bore: f64,
}

impl Tee {
    /// Its legs: straight, straight, branch.
    pub fn legs(&self) -> [Option<Leg>; 3] {
        [self.straight[0], self.straight[1], self.branch]
    }

    /// All bores make sense.
    pub fn is_sound(&self) -> bool {
        self.angle.is_finite() && self.factor.is_finite() && self.legs().iter().flatten().all(|leg| leg.bore.is_finite() && leg.bore > 0.0)
    }

    /// Head of each leg over the flow-weighted mean of all three, m, by the flows that come in along them, m³/s (out: negative).
    pub fn heads(&self, inflow: [f64; 3]) -> [f64; 3] {
        let rest = inflow.iter().sum::<f64>() / 3.0;
        let flow = inflow.map(|q| q - rest);
        let combined = 0.5 * flow.iter().map(|q| q.abs()).sum::<f64>();
        if combined < 1e-12 {
            return [0.0; 3];
        }
        let least = (0..3).min_by(|a, b| flow[*a].abs().total_cmp(&flow[*b].abs())).unwrap_or(0);
        let share = flow[least] / combined;
        if share.abs() >= TURNING {
            return self.steady(flow);
        }
        let at = |sense: f64| {
            let change = sense * TURNING * combined - flow[least];
            let mut turned = flow.map(|q| q - 0.5 * change);
            turned[least] = sense * TURNING * combined;
            self.steady(turned)
        };
        let (back, ahead) = (at(-1.0), at(1.0));
        let part = (share + TURNING) / (2.0 * TURNING);
        [0, 1, 2].map(|i| back[i] + part * (ahead[i] - back[i]))
    }

    /// The same with every leg's sense clear.
    fn steady(&self, flow: [f64; 3]) -> [f64; 3] {
        let main = (0..3).max_by(|a, b| flow[*a].abs().total_cmp(&flow[*b].abs())).unwrap_or(0);
        let areas = self.areas();
        let velocity_head = self.factor * (flow[main] / areas[main]).powi(2) / (2.0 * GRAVITY);
        let sign = if flow[main] > 0.0 { -1.0 } else { 1.0 };
        let k = [0, 1, 2].map(|leg| if leg == main { 0.0 } else { self.k(leg, main, flow, areas) });
        let over = k.map(|k| sign * k * velocity_head);
        let all: f64 = flow.iter().map(|q| q.abs()).sum();
        let mean: f64 = over.iter().zip(flow).map(|(h, q)| h * q.abs() / all).sum();
        over.map(|h| h - mean)
    }

    fn areas(&self) -> [f64; 3] {
        let legs = self.legs();
        let other = [legs[1].or(legs[2]), legs[0].or(legs[2]), legs[0].or(legs[1])];
        [0, 1, 2].map(|i| legs[i].or(other[i]).map_or(1.0, |leg| FRAC_PI_4 * leg.bore * leg.bore))
    }

    /// Loss coefficient between `leg` and the leg of the combined flow, on the latter's velocity.
    fn k(&self, leg: usize, main: usize, flow: [f64; 3], areas: [f64; 3]) -> f64 {
        let divides = flow[main] > 0.0;
        if main == 2 {
            let share = (flow[leg] / flow[main]).abs();
            let wider = areas[main] / areas[leg];
            return if divides { symmetric_dividing(share * wider) } else { symmetric_combining(share, wider) };
        }
        let share = (flow[2] / flow[main]).abs();
        let area = areas[2] / areas[main];
        match (divides, leg == 2) {
            (true, true) => dividing_branch(share, area, self.angle),
            (true, false) => dividing_run(share, area),
            (false, true) => combining_branch(share, area, self.angle),
            (false, false) => combining_run(share, area, self.angle),
        }
    }
}

/// From the branch into the combined flow, by the branch's share of it and the area of the branch over that of the run (Crane TP-410, 2009,
/// Eq. 2-35): C (1 + (y/a)² - 2 (1 - y)² - F y²/a), F = 0 at 90 deg, 2 cos θ at smaller angles. C is 1 for narrow branches (a ≤ 0.35), else
/// 0.9 (1 - y) and no less than 0.55: the printed table steps from 0.54 to 0.55 at y = 0.4.
pub fn combining_branch(share: f64, area: f64, angle: f64) -> f64 {
    let c = if area <= 0.35 { 1.0 } else { (0.9 * (1.0 - share)).max(0.55) };
    c * (1.0 + (share / area).powi(2) - 2.0 * (1.0 - share).powi(2) - 2.0 * angle.cos().max(0.0) * share * share / area)
}

/// From the run into the combined flow, by the branch's share: 1.55 y - y² at 90 deg (Crane TP-410, 2009); at smaller angles
/// 1 - (1 - y)² - 2 cos θ y²/a.
pub fn combining_run(share: f64, area: f64, angle: f64) -> f64 {
    if is_square(angle) {
        return 1.55 * share - share * share;
    }
    1.0 - (1.0 - share).powi(2) - 2.0 * angle.cos() * share * share / area
}

/// From the combined flow into the branch (Crane TP-410, 2009, Eq. 2-37): G (1 + H (y/a)² - J (y/a) cos θ). At 90 deg H = 0.3, J = 0,
/// G = 1 + 0.3 y² for branches nearly as wide as the run (a > 2/3), else 1, and H = 1 where the bore is under 2/3 of the run's. At smaller
/// angles H = 1, J = 2, and G falls with y; where the printed table steps, its two lines are followed to where they cross.
pub fn dividing_branch(share: f64, area: f64, angle: f64) -> f64 {
    let ratio = share / area;
    if is_square(angle) {
        let g = if area > 2.0 / 3.0 { 1.0 + 0.3 * share * share } else { 1.0 };
        let h = if area.sqrt() <= 2.0 / 3.0 { 1.0 } else { 0.3 };
        return g * (1.0 + h * ratio * ratio);
    }
    let g = if area <= 0.35 { (1.1 - 0.7 * share).max(0.85) } else { (1.0 - 0.6 * share).max(0.6) };
    g * (1.0 + ratio * ratio - 2.0 * ratio * angle.cos())
}

/// From the combined flow along the run (Crane TP-410, 2009, Eq. 2-38): M y²; M = 0.4 for narrow branches (a ≤ 0.4), else 2 (2y - 1) up to
/// half the flow and 0.3 (2y - 1) above.
pub fn dividing_run(share: f64, area: f64) -> f64 {
    let m = match share {
        _ if area <= 0.4 => 0.4,
        y if y <= 0.5 => 2.0 * (2.0 * y - 1.0),
        y => 0.3 * (2.0 * y - 1.0),
    };
    m * share * share
}

/// From the branch to both sides, by the velocity in the leg over that in the branch: 1 + 0.3 (w/wc)² (Idelchik, Handbook of Hydraulic
/// Resistance, symmetrical tees; value from memory).
pub fn symmetric_dividing(velocity_ratio: f64) -> f64 {
    1.0 + 0.3 * velocity_ratio * velocity_ratio
}

/// From one side into the branch, by its share of the flow and the area of the branch over its own: 1 + a² + 3 a² (x² - x) (Levin, in
/// Idelchik, Handbook of Hydraulic Resistance; value from memory).
pub fn symmetric_combining(share: f64, wider: f64) -> f64 {
    let square = wider * wider;
    1.0 + square + 3.0 * square * (share * share - share)
}

fn is_square(angle: f64) -> bool {
    angle > 75_f64.to_radians()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tee(branch_bore: f64) -> Tee {
        let leg = |link, bore| Some(Leg { link, is_end: true, bore });
        Tee { straight: [leg(0, 0.05), leg(1, 0.05)], branch: leg(2, branch_bore), angle: std::f64::consts::FRAC_PI_2, factor: 1.0 }
    }

    #[test]
    fn water_always_loses_energy() {
        for bore in [0.05, 0.035] {
            let tee = tee(bore);
            for i in 0..400 {
                let angle = f64::from(i) * std::f64::consts::TAU / 400.0;
                let (a, b) = (angle.cos() * 1e-3, angle.sin() * 1e-3);
                let flow = [a, b, -a - b];
                let power: f64 = tee.heads(flow).iter().zip(flow).map(|(h, q)| h * q).sum();
                assert!(power > -1e-9, "{flow:?} {power}");
            }
        }
    }

    #[test]
    fn losses_have_no_steps() {
        let tee = tee(0.035);
        let at = |angle: f64| tee.heads([angle.cos() * 1e-3, angle.sin() * 1e-3, -(angle.cos() + angle.sin()) * 1e-3]);
        let size = at(0.3).iter().map(|h| h.abs()).fold(0.0, f64::max);
        for i in 0..20_000 {
            let (a, b) = (at(f64::from(i) * 3e-4), at(f64::from(i + 1) * 3e-4));
            assert!((0..3).all(|leg| (a[leg] - b[leg]).abs() < 0.3 * size), "{i} {a:?} {b:?}");
        }
    }

    #[test]
    fn twice_the_flow_loses_four_times_the_head() {
        let tee = tee(0.05);
        let (one, two) = (tee.heads([3e-4, -1e-4, -2e-4]), tee.heads([6e-4, -2e-4, -4e-4]));
        assert!((0..3).all(|i| (two[i] - 4.0 * one[i]).abs() < 1e-12));
    }
}
