//! Single pipes and fittings: friction factor, head loss, loss coefficients, pumps against systems.

use slackwater::hydraulics::{Fluid, Law, Network, Node, Solution, friction_factor, screen, thin_orifice};
use std::f64::consts::FRAC_PI_4;

pub const GPM: f64 = 6.309_019_64e-5;

/// Rows of a table in tests/data, as numbers where they are numbers.
pub fn rows(text: &str) -> Vec<Vec<String>> {
    text.lines().skip(1).filter(|l| !l.starts_with('#')).map(|l| l.split(',').map(str::to_owned).collect()).collect()
}

pub fn number(row: &[String], column: usize) -> f64 {
    row[column].parse().unwrap()
}

pub fn assert_near(case: &str, value: f64, expected: f64, relative: f64) {
    assert!((value / expected - 1.0).abs() <= relative, "{case}: {value} instead of {expected} (within {relative})");
}

#[test]
fn friction_factor_grid() {
    // References 1.1 (exact) and 1.2 (Colebrook 1939, each cell solved by two methods). The table has 8 decimals.
    let table = rows(include_str!("../data/friction_factor_grid.csv"));
    assert_eq!(table.len(), 168);
    for row in &table {
        let (reynolds, rough, expected) = (number(row, 0), number(row, 1), number(row, 3));
        let relative = if row[2].starts_with("laminar") { 1e-9 } else { 1e-6 };
        assert_near(&row.join(","), friction_factor(reynolds, rough).value, expected, relative);
    }
}

#[test]
fn pvc_pipe_against_both_formulas() {
    // References 1.6 and 1.7. Darcy-Weisbach with ε 1.5 µm must agree within 0.5 %. Hazen-Williams with C 150 is what the
    // trade uses; it is 0.914 to 1.054 of Darcy-Weisbach over this table: the formula, not the solver, differs.
    let (fresh, sea) = (1.0034e-6, 9.373e-7);
    let mut ratio = (f64::INFINITY, 0.0_f64);
    for row in rows(include_str!("../data/hazen_williams_pvc.csv")) {
        let (bore, flow) = (number(&row, 2) / 1000.0, number(&row, 4) / 1000.0);
        let loss = |viscosity| Law::Pipe { bore, length: 100.0, roughness: 1.5e-6 }.loss(flow, viscosity).head;
        assert_near(&format!("fresh {row:?}"), loss(fresh), number(&row, 12), 0.005);
        assert_near(&format!("sea {row:?}"), loss(sea), number(&row, 15), 0.005);
        let hazen_williams = 100.0 * 10.67 * flow.powf(1.852) / (150.0_f64.powf(1.852) * bore.powf(4.8704));
        assert_near(&format!("HW {row:?}"), hazen_williams, number(&row, 7), 0.001);
        let r = hazen_williams / loss(fresh);
        ratio = (ratio.0.min(r), ratio.1.max(r));
    }
    assert_near("least HW/DW", ratio.0, 0.914, 0.005);
    assert_near("most HW/DW", ratio.1, 1.054, 0.005);
}

#[test]
fn orifice_and_screen_tables() {
    // Reference 1.15 (Idelchik, exponent 0.375; three published forms agree within about 10 %) and 1.16 (Blevins 1984).
    for row in rows(include_str!("../data/orifice_in_pipe_K.csv")) {
        let (ratio, expected) = (number(&row, 0), number(&row, 1));
        assert!((thin_orifice(ratio) - expected).abs() <= 1e-4 * expected + 1e-12, "{row:?}: {}", thin_orifice(ratio));
    }
    for row in rows(include_str!("../data/screen_K.csv")) {
        assert_near(&format!("{row:?}"), screen(number(&row, 0)), number(&row, 2), 1e-9);
    }
}

/// A pump between two reservoirs through a system.
fn duty(curve: &[(f64, f64)], system: Law, lift: f64, viscosity: f64) -> (f64, f64, Solution) {
    let mut net = Network::default();
    let (low, high) = (net.node(Node::Fixed(0.0)), net.node(Node::Fixed(lift)));
    let outlet = net.node(Node::Joint(0.0));
    net.link(low, outlet, Law::Pump { curve: slackwater::hydraulics::Curve::new(curve).unwrap(), speed: 1.0 });
    net.link(outlet, high, system);
    let solution = net.solve(&Fluid { density: 1023.3, kinematic_viscosity: viscosity }, None);
    (solution.flow[0], solution.head[outlet], solution)
}

/// H = 12 - 4e5 Q², as a table of points (the curve type takes points only).
fn parabola() -> Vec<(f64, f64)> {
    (0..=540).map(|i| f64::from(i) * 1e-5).map(|q| (q, 12.0 - 4e5 * q * q)).collect()
}

#[test]
fn pump_against_system() {
    // References 1.21 (closed form) and 1.22 (solved by Brent's method).
    let cases = [(0.0, 3.162_277_66e-3, 8.0), (2.0, 2.886_751_35e-3, 8.666_666_67)];
    for (lift, flow, head) in cases {
        let (q, h, solution) = duty(&parabola(), Law::Quadratic { resistance: 8e5 }, lift, 1e-6);
        assert!(solution.report.converged);
        assert_near("flow", q, flow, 1e-6);
        assert_near("head", h, head, 1e-6);
    }
    let bore = 2.067 * 0.0254;
    let system = Law::Series(vec![Law::Pipe { bore, length: 12.0, roughness: 1.5e-6 }, Law::minor(5.034, bore)]);
    let (q, h, _) = duty(&parabola(), system, 0.0, 9.4e-7);
    let speed = q / (FRAC_PI_4 * bore * bore);
    let reynolds = speed * bore / 9.4e-7;
    let cases = [
        ("Q, L/s", q * 1000.0, 4.909_787),
        ("Q, gpm", q / GPM, 77.8217),
        ("V", speed, 2.267_902),
        ("Re", reynolds, 126_669.1),
        ("f", friction_factor(reynolds, 1.5e-6 / bore).value, 0.017_309_18),
        ("H", h, 2.357_598),
        ("water power, W", 1023.3 * 9.80665 * q * h, 116.1598),
    ];
    cases.iter().for_each(|(name, value, expected)| assert_near(name, *value, *expected, 5e-4));
}
