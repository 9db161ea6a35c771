//! The Darcy friction factor of a full pipe.

/// Reynolds number up to which the flow is taken as laminar. Pipes laid by hand rarely stay laminar above it.
pub const LAMINAR_UP_TO: f64 = 2000.0;
/// Reynolds number from which the flow is taken as turbulent.
pub const TURBULENT_FROM: f64 = 4000.0;

/// A friction factor and its slope.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrictionFactor {
    /// Darcy's f, dimensionless.
    pub value: f64,
    /// df/dRe.
    pub slope: f64,
}

/// Darcy's friction factor for a Reynolds number above zero and a relative roughness (grain size over bore).
///
/// Laminar 64/Re (Hagen-Poiseuille) to Re 2000; Colebrook-White from Re 4000; between them a cubic in Re with the
/// values and slopes of both ends, so that the head loss and its slope have no step. No law holds in that region:
/// real flow there flips between both states.
pub fn friction_factor(reynolds: f64, relative_roughness: f64) -> FrictionFactor {
    if reynolds <= LAMINAR_UP_TO {
        FrictionFactor { value: 64.0 / reynolds, slope: -64.0 / (reynolds * reynolds) }
    } else if reynolds >= TURBULENT_FROM {
        colebrook(reynolds, relative_roughness)
    } else {
        between(reynolds, relative_roughness)
    }
}

/// Colebrook-White (Colebrook 1939, J. Inst. Civ. Eng. 11:133): 1/√f = -2 log10(ε/3.7D + 2.51/(Re √f)), by Newton's
/// method on 1/√f until it moves by less than 1e-12 of itself.
pub fn colebrook(reynolds: f64, relative_roughness: f64) -> FrictionFactor {
    const PER_LN: f64 = 2.0 / std::f64::consts::LN_10;
    let grain = relative_roughness / 3.7;
    // Haaland 1983, good to about 2 %, as the start.
    let mut x = -1.8 * ((grain).powf(1.11) + 6.9 / reynolds).log10();
    for _ in 0..20 {
        let inside = grain + 2.51 * x / reynolds;
        let step = (x + PER_LN * inside.ln()) / (1.0 + PER_LN * 2.51 / (reynolds * inside));
        x -= step;
        if step.abs() <= 1e-12 * x {
            break;
        }
    }
    let inside = grain + 2.51 * x / reynolds;
    let shared = PER_LN * 2.51 / (reynolds * inside);
    let slope_of_x = shared * x / (reynolds * (1.0 + shared));
    FrictionFactor { value: 1.0 / (x * x), slope: -2.0 * slope_of_x / (x * x * x) }
}

fn between(reynolds: f64, relative_roughness: f64) -> FrictionFactor {
    let span = TURBULENT_FROM - LAMINAR_UP_TO;
    let s = (reynolds - LAMINAR_UP_TO) / span;
    let (low, low_slope) = (64.0 / LAMINAR_UP_TO, -64.0 / (LAMINAR_UP_TO * LAMINAR_UP_TO) * span);
    let high = colebrook(TURBULENT_FROM, relative_roughness);
    let high_slope = high.slope * span;
    let rise = high.value - low;
    let (b, c) = (3.0 * rise - 2.0 * low_slope - high_slope, low_slope + high_slope - 2.0 * rise);
    FrictionFactor { value: low + s * (low_slope + s * (b + s * c)), slope: (low_slope + s * (2.0 * b + s * 3.0 * c)) / span }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slope_is_the_derivative_everywhere() {
        for rough in [0.0, 1e-4, 0.05] {
            for reynolds in [300.0, 1999.0, 2001.0, 2700.0, 3999.0, 4001.0, 1e5, 1e7] {
                let d = 1e-5 * reynolds;
                let numeric = (friction_factor(reynolds + d, rough).value - friction_factor(reynolds - d, rough).value) / (2.0 * d);
                let exact = friction_factor(reynolds, rough).slope;
                assert!((numeric - exact).abs() <= 2e-3 * exact.abs() + 1e-9, "{reynolds} {rough}: {numeric} {exact}");
            }
        }
    }

    #[test]
    fn head_loss_rises_with_flow_through_the_transition() {
        for rough in [0.0, 1e-3, 0.05] {
            let loss = |re: f64| friction_factor(re, rough).value * re * re;
            assert!((1500..5000).all(|re| loss(f64::from(re + 1)) > loss(f64::from(re))));
        }
    }
}
