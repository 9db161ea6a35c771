//! What a jet loses to something that it passes through, a canopy of branches say.
//!
//! A drag (a + b |u|) u takes from a jet's momentum flux M = ∫ u² dA at dM/dx = −∫ (a u + b u²) dA. The second part is b M whatever the
//! profile; the first is a times the flow, for a Gaussian 2 a M/Uc. The width is left as it is in free water, so that the speed on the axis
//! falls as √M: with half of (b + 2 a/Uc) per length. Where only part of the jet passes through something, the mean over its momentum counts.
//!
//! What would take the momentum within the jet's own half-width turns it aside, as a solid does: rubble, packed rock.

use super::{Flow, Jet, Resistance, axis::turned_ring, round_jet};

/// Gauss and Laguerre's two points for the momentum of a Gaussian jet, which goes as e^(−s) in s = 2 r²/w²: s and weight.
const RINGS: [[f32; 2]; 2] = [[0.585_786_4, 0.853_553_4], [3.414_213_6, 0.146_446_6]];

/// Would what is at a place `n` cells from the mouth stop a jet of so fast a mouth (m/s)?
pub(super) fn stops(flow: &Flow, jet: &Jet, n: usize, place: [f32; 3], speed: f32) -> bool {
    let x = n as f32 * flow.grid.h / jet.bore;
    is_wall(flow.resistance_at(place), speed * round_jet::centreline(x), round_jet::half_width(x) * jet.bore)
}

/// Share of a jet's speed that is left after the cell round a place half a cell beyond the `n`th station.
pub(super) fn left(flow: &Flow, jet: &Jet, n: usize, (place, along): ([f32; 3], [f32; 3]), speed: f32) -> f32 {
    if !flow.has_resistance() {
        return 1.0;
    }
    let h = flow.grid.h;
    let x = (n as f32 + 0.5) * h / jet.bore;
    let (fast, half_width) = (speed * round_jet::centreline(x), round_jet::half_width(x) * jet.bore);
    let width = half_width / std::f32::consts::LN_2.sqrt();
    let loss_at = |from: [f32; 3]| {
        let resistance = flow.resistance_at(std::array::from_fn(|d| place[d] + from[d]));
        if is_wall(resistance, fast, half_width) { 0.0 } else { loss(resistance, fast) }
    };
    let mean = |[s, weight]: [f32; 2]| weight / 8.0 * turned_ring(along, width * (0.5 * s).sqrt(), 0.5).map(loss_at).sum::<f32>();
    (-0.5 * h * RINGS.map(mean).iter().sum::<f32>()).exp()
}

/// Share of the momentum lost per length, 1/m, where the axis has this speed (m/s).
fn loss(resistance: Resistance, fast: f32) -> f32 {
    resistance.quadratic + if resistance.linear > 0.0 { 2.0 * resistance.linear / fast.max(1e-6) } else { 0.0 }
}

fn is_wall(resistance: Resistance, fast: f32, half_width: f32) -> bool {
    loss(resistance, fast) * half_width > 1.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::{Grid, JetRate, NearField, Physics, Ports, Rates};

    const BORE: f32 = 0.025;

    /// What is told on the axis of a jet of 25 mm at 1 m/s, which has blown for long, through something that begins 15 cm from its mouth.
    /// The water is given the law's own speed or more everywhere, so that the jet is seen; on its axis only the law is told.
    fn told(resistance: &dyn Fn([f32; 3]) -> Resistance, at: [f32; 3]) -> f32 {
        let grid = Grid { n: [40, 16, 16], h: 0.025 };
        let jet = Jet { at: [0.0, 0.2, 0.2], direction: [1.0, 0.0, 0.0], bore: BORE };
        let mut flow = Flow::new(grid, &|_| 1.0, Ports { jets: vec![jet], sinks: vec![] }, Physics::tank(1e-6, 1));
        flow.set_velocity(&|_| [1.0, 0.0, 0.0]);
        flow.set_resistance(resistance);
        let mut near = NearField::new(&flow);
        let momentum = std::f32::consts::FRAC_PI_4 * BORE * BORE;
        near.pass(&flow, &Rates { jets: vec![JetRate { flow: momentum, momentum }], sinks: vec![] }, 1e4);
        near.trace(&flow);
        near.at(&flow, at).unwrap().0[0]
    }

    fn law(x: f32) -> f32 {
        6.0 * BORE / x
    }

    /// Quadratic drag all across: the momentum falls as e^(−b x) exactly, the speed with half of that.
    #[test]
    fn a_canopy_slows_the_axis_with_half_its_drag() {
        let canopy = |p: [f32; 3]| if p[0] > 0.15 { Resistance::canopy(1.0, 10.0) } else { Resistance::default() };
        for x in [0.1f32, 0.15, 0.2, 0.3, 0.4] {
            let wanted = law(x).min(1.0) * (-0.5 * 5.0 * (x - 0.15).max(0.0)).exp();
            let got = told(&canopy, [x, 0.2, 0.2]);
            assert!((got / wanted - 1.0).abs() < 2e-3, "{x} m: {got}, not {wanted} m/s");
        }
    }

    /// Linear drag: d ln M/dx = −2a/Uc with Uc = √(M/M₀) 6 U₀ D/x has √(M/M₀) = 1 − a (x² − x₀²)/(12 U₀ D); marched in steps of a cell.
    #[test]
    fn linear_drag_takes_from_the_flow() {
        let a = 0.5;
        let gel = |p: [f32; 3]| if p[0] > 0.15 { Resistance { linear: a, quadratic: 0.0 } } else { Resistance::default() };
        for x in [0.2f32, 0.3, 0.4] {
            let wanted = law(x) * (1.0 - a * (x * x - 0.15 * 0.15) / (12.0 * BORE));
            let got = told(&gel, [x, 0.2, 0.2]);
            assert!((got / wanted - 1.0).abs() < 0.02, "{x} m: {got}, not {wanted} m/s");
        }
    }

    /// A canopy on one side of the axis takes half; Gauss and Laguerre's rings see it exactly.
    #[test]
    fn a_canopy_beside_the_axis_takes_its_share() {
        let half = |p: [f32; 3]| if p[0] > 0.15 && p[1] > 0.2 { Resistance::canopy(1.0, 10.0) } else { Resistance::default() };
        let wanted = law(0.4) * (-0.25 * 5.0 * 0.25f32).exp();
        let got = told(&half, [0.4, 0.2, 0.2]);
        assert!((got / wanted - 1.0).abs() < 0.02, "{got}, not {wanted} m/s");
    }

    /// Rubble of 10 mm takes a jet's momentum in half a millimetre: the law ends before it, and the computed water is told behind.
    #[test]
    fn rubble_ends_the_law_like_a_solid() {
        let rubble = |p: [f32; 3]| if p[0] > 0.3 { Resistance::grains(0.4, 0.01, 1e-6) } else { Resistance::default() };
        assert!((told(&rubble, [0.2, 0.2, 0.2]) / law(0.2) - 1.0).abs() < 1e-3);
        assert_eq!(told(&rubble, [0.35, 0.2, 0.2]), 1.0);
    }
}
