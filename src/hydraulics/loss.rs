//! Loss coefficients K that follow from a shape, on the velocity named with each: h = K V²/2g.

/// Sudden narrowing, on the velocity in the narrow pipe: 0.5 (1 - β²), β = narrow bore over wide bore (Crane TP-410).
/// Other published forms are up to 40 % higher at β = 0.7 (Rennels and Hudson 2012).
pub fn contraction(beta: f64) -> f64 {
    0.5 * (1.0 - beta.clamp(0.0, 1.0).powi(2))
}

/// Sudden widening, on the velocity in the narrow pipe: (1 - β²)² (Borda-Carnot).
pub fn expansion(beta: f64) -> f64 {
    (1.0 - beta.clamp(0.0, 1.0).powi(2)).powi(2)
}

/// Narrowing along a cone, on the velocity in the narrow pipe, by the cone's whole angle θ, rad: 0.8 sin(θ/2) (1 - β²) to 45 deg, above
/// 0.5 √sin(θ/2) (1 - β²), which at 180 deg is [`contraction`] (Crane TP-410).
pub fn gradual_contraction(beta: f64, angle: f64) -> f64 {
    let half = (0.5 * angle).sin();
    let factor = if angle <= std::f64::consts::FRAC_PI_4 { 1.6 * half } else { half.sqrt() };
    factor * contraction(beta)
}

/// Widening along a cone, on the velocity in the narrow pipe, by the cone's whole angle θ, rad: 2.6 sin(θ/2) (1 - β²)² to 45 deg, above
/// that as a sudden one (Crane TP-410).
pub fn gradual_expansion(beta: f64, angle: f64) -> f64 {
    let factor = if angle <= std::f64::consts::FRAC_PI_4 { 2.6 * (0.5 * angle).sin() } else { 1.0 };
    factor * expansion(beta)
}

/// Sharp thin orifice in a straight pipe, on the pipe's velocity, by area ratio: (0.707 (1-a)^0.375 + 1 - a)²/a²
/// (Idelchik, Handbook of Hydraulic Resistance, diagrams 4-14 and 4-15). Published forms differ by about 10 %.
/// Infinite for a closed one.
pub fn thin_orifice(area_ratio: f64) -> f64 {
    let shut = 1.0 - area_ratio.clamp(0.0, 1.0);
    let jet = 0.707 * shut.powf(0.375) + shut;
    (jet / (1.0 - shut)).powi(2)
}

/// Free area of a port of which `open` (0 to 1) is uncovered and that leaks `leakage` of its area when covered.
pub fn port_area_ratio(open: f64, leakage: f64) -> f64 {
    let leak = leakage.clamp(0.0, 1.0);
    leak + (1.0 - leak) * open.clamp(0.0, 1.0)
}

/// Square-edged perforated plate, on the approach velocity, by open share of its face.
///
/// Between 0.3 and 0.8 the table of Blevins 1984 (Applied Fluid Dynamics Handbook), interpolated in ln K against ln(open);
/// outside it the thin orifice, scaled to meet the table. Good to about 20 %. Infinite for a blocked one.
pub fn screen(open: f64) -> f64 {
    const OPEN: [f64; 6] = [0.3, 0.4, 0.5, 0.6, 0.7, 0.8];
    const K: [f64; 6] = [17.0, 7.7, 3.8, 2.0, 1.1, 0.53];
    let open = open.clamp(0.0, 1.0);
    let scaled = |edge: usize| thin_orifice(open) * K[edge] / thin_orifice(OPEN[edge]);
    if open <= OPEN[0] {
        return scaled(0);
    }
    if open >= OPEN[5] {
        return scaled(5);
    }
    let i = OPEN.iter().rposition(|&o| o <= open).unwrap_or(0).min(4);
    let share = (open / OPEN[i]).ln() / (OPEN[i + 1] / OPEN[i]).ln();
    (K[i].ln() + share * (K[i + 1] / K[i]).ln()).exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn screen_meets_its_table_and_falls_with_open_area() {
        assert!((screen(0.5) - 3.8).abs() < 1e-12);
        assert!((1..100).all(|i| screen(f64::from(i) / 100.0) > screen(f64::from(i + 1) / 100.0)));
        assert_eq!(screen(0.0), f64::INFINITY);
    }

    #[test]
    fn an_open_port_costs_nothing_and_a_shut_one_leaks() {
        assert_eq!(thin_orifice(1.0), 0.0);
        assert_eq!(port_area_ratio(0.0, 0.02), 0.02);
        assert_eq!(port_area_ratio(1.0, 0.02), 1.0);
    }
}
