//! Laws of links: the head a flow loses in them. Every law rises with the flow, which is what makes a network's answer unique.

use super::curve::{Curve, LossCurve};
use super::friction::friction_factor;
use super::loss::{port_area_ratio, thin_orifice};
use crate::water::GRAVITY;

/// Least slope of any law, s/m²: a link without resistance (zero length, no fittings) gets this one, 1e-7 m of head at 10 L/s.
pub(super) const LEAST_RESISTANCE: f64 = 1e-5;
/// Velocity under which a K loss turns over from square to linear, m/s, as it does in creeping flow.
const CREEP: f64 = 1e-4;
/// Free share under which a port or valve counts as shut.
const SHUT_BELOW: f64 = 1e-4;

/// Flow over which a spring-loaded valve comes open, m³/s.
const DROPS: f64 = 1e-5;

/// How a link loses head.
#[derive(Debug, Clone, PartialEq)]
pub enum Law {
    /// Straight round pipe running full: Darcy-Weisbach, h = f L/D V²/2g.
    Pipe {
        /// Inside diameter, m.
        bore: f64,
        /// Length, m.
        length: f64,
        /// Equivalent sand grain of the wall, m.
        roughness: f64,
    },
    /// Fittings: h = K V²/2g.
    Minor {
        /// Loss coefficient.
        k: f64,
        /// Area that V belongs to, m².
        area: f64,
    },
    /// h = r Q|Q|.
    Quadratic {
        /// r, s²/m⁵.
        resistance: f64,
    },
    /// A port that is partly covered: a thin orifice by its free share, on top of the body's own loss.
    Port {
        /// Area of the whole port, m².
        area: f64,
        /// Uncovered share, 0 to 1.
        open: f64,
        /// Share of the area that leaks when covered.
        leakage: f64,
        /// K of the body on the velocity in the whole port.
        body_k: f64,
    },
    /// Lets water through one way only, but for a leak.
    OneWay {
        /// Linear resistance against backward flow, s/m².
        leak: f64,
        /// Head that it takes to open it, m; lost as long as water flows.
        opens_at: f64,
    },
    /// Head lost through given points.
    Table(LossCurve),
    /// Adds head.
    Pump {
        /// At full speed.
        curve: Curve,
        /// Share of full speed.
        speed: f64,
    },
    /// No flow.
    Shut,
    /// One after the other with the same flow.
    Series(Vec<Law>),
}

/// Head lost and its slope by flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loss {
    /// m, negative where head is added.
    pub head: f64,
    /// m per m³/s.
    pub slope: f64,
}

impl Law {
    /// K on a round bore.
    pub fn minor(k: f64, bore: f64) -> Self {
        Self::Minor { k, area: circle(bore) }
    }

    /// Head lost at this flow, m³/s, positive along the link.
    pub fn loss(&self, flow: f64, viscosity: f64) -> Loss {
        match self {
            Self::Pipe { bore, length, roughness } => pipe(flow, *bore, *length, *roughness, viscosity),
            Self::Minor { k, area } => square(flow, k / (2.0 * GRAVITY * area * area), CREEP * area),
            Self::Quadratic { resistance } => square(flow, *resistance, 1e-7),
            Self::Port { area, open, leakage, body_k } => {
                let k = body_k + thin_orifice(port_area_ratio(*open, *leakage));
                square(flow, k / (2.0 * GRAVITY * area * area), CREEP * area)
            }
            Self::OneWay { leak, .. } if flow < 0.0 => Loss { head: leak * flow, slope: *leak },
            Self::OneWay { opens_at, .. } => opening(flow, *opens_at),
            Self::Table(curve) => {
                let (head, slope) = curve.loss(flow);
                Loss { head, slope }
            }
            Self::Pump { curve, speed } => {
                let (head, slope) = curve.gain(flow, *speed);
                Loss { head: -head, slope: -slope }
            }
            Self::Shut => Loss { head: 0.0, slope: f64::INFINITY },
            Self::Series(laws) => {
                let zero = Loss { head: 0.0, slope: 0.0 };
                laws.iter().map(|l| l.loss(flow, viscosity)).fold(zero, |a, b| Loss { head: a.head + b.head, slope: a.slope + b.slope })
            }
        }
    }

    /// No water can pass.
    pub fn is_shut(&self) -> bool {
        match self {
            Self::Shut => true,
            Self::Port { open, leakage, .. } => port_area_ratio(*open, *leakage) < SHUT_BELOW,
            Self::Minor { k, area } => k.is_infinite() || *area <= 0.0,
            Self::Series(laws) => laws.iter().any(Self::is_shut),
            _ => false,
        }
    }

    /// All numbers make sense.
    pub fn is_sound(&self) -> bool {
        let good = |x: f64| x.is_finite() && x >= 0.0;
        match self {
            Self::Pipe { bore, length, roughness } => good(*bore) && *bore > 0.0 && good(*length) && good(*roughness) && roughness < bore,
            Self::Minor { k, area } => *k >= 0.0 && good(*area),
            Self::Quadratic { resistance } => good(*resistance),
            Self::Port { area, open, leakage, body_k } => *area > 0.0 && [*area, *open, *leakage, *body_k].into_iter().all(good),
            Self::OneWay { leak, opens_at } => good(*leak) && good(*opens_at),
            Self::Table(_) => true,
            Self::Pump { speed, .. } => good(*speed),
            Self::Shut => true,
            Self::Series(laws) => laws.iter().all(Self::is_sound),
        }
    }

    /// The pump in it, if any.
    pub fn pump(&self) -> Option<(&Curve, f64)> {
        match self {
            Self::Pump { curve, speed } => Some((curve, *speed)),
            Self::Series(laws) => laws.iter().find_map(Self::pump),
            _ => None,
        }
    }

    /// A flow of the usual size for it, to start from.
    pub(super) fn usual_flow(&self) -> f64 {
        match self {
            Self::Pipe { bore, .. } => circle(*bore),
            Self::Minor { area, .. } | Self::Port { area, .. } => *area,
            Self::Quadratic { resistance } => 1.0 / (1.0 + resistance.sqrt()),
            Self::Pump { curve, speed } => 0.6 * curve.last_flow() * speed.max(0.1),
            Self::Table(curve) => curve.last_flow(),
            Self::OneWay { .. } | Self::Shut => f64::INFINITY,
            Self::Series(laws) => laws.iter().map(Self::usual_flow).fold(f64::INFINITY, f64::min),
        }
    }
}

/// Head of a spring that gives way over the first drops of flow.
fn opening(flow: f64, opens_at: f64) -> Loss {
    let rest = (-flow / DROPS).exp();
    Loss { head: opens_at * (1.0 - rest), slope: opens_at * rest / DROPS }
}

fn circle(bore: f64) -> f64 {
    std::f64::consts::FRAC_PI_4 * bore * bore
}

/// r Q √(Q² + q²): r Q|Q|, with a slope at rest.
fn square(flow: f64, resistance: f64, creep_flow: f64) -> Loss {
    let size = (flow * flow + creep_flow * creep_flow).sqrt();
    Loss { head: resistance * flow * size, slope: resistance * (size + flow * flow / size) }
}

fn pipe(flow: f64, bore: f64, length: f64, roughness: f64, viscosity: f64) -> Loss {
    let per_speed = bore / viscosity / circle(bore);
    let reynolds = flow.abs() * per_speed;
    let scale = length / bore / (2.0 * GRAVITY * circle(bore).powi(2));
    if reynolds < 1.0 {
        let slope = scale * 64.0 / per_speed;
        return Loss { head: slope * flow, slope };
    }
    let f = friction_factor(reynolds, roughness / bore);
    Loss { head: scale * f.value * flow * flow.abs(), slope: scale * flow.abs() * (2.0 * f.value + f.slope * reynolds) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_law_is_odd_but_pumps_and_one_ways_and_its_slope_is_the_derivative() {
        let laws = [
            Law::Pipe { bore: 0.05, length: 3.0, roughness: 1.5e-6 },
            Law::minor(2.0, 0.05),
            Law::Quadratic { resistance: 4e5 },
            Law::Port { area: 1e-3, open: 0.4, leakage: 0.02, body_k: 1.5 },
            Law::Table(LossCurve::new(&[(1e-3, 0.2), (5e-3, 3.0)]).unwrap()),
        ];
        for law in laws {
            for flow in [1e-6, 3e-5, 1e-4, 1e-3, 6e-3] {
                let (ahead, back) = (law.loss(flow, 1e-6), law.loss(-flow, 1e-6));
                assert_eq!(ahead.head, -back.head);
                let d = 1e-6 * flow;
                let numeric = (law.loss(flow + d, 1e-6).head - law.loss(flow - d, 1e-6).head) / (2.0 * d);
                assert!((numeric / ahead.slope - 1.0).abs() < 1e-4, "{law:?} {flow} {numeric} {}", ahead.slope);
            }
        }
    }

    #[test]
    fn knows_what_is_shut() {
        assert!(Law::Port { area: 1e-3, open: 0.0, leakage: 0.0, body_k: 1.0 }.is_shut());
        assert!(!Law::Port { area: 1e-3, open: 0.0, leakage: 0.02, body_k: 1.0 }.is_shut());
        assert!(Law::Series(vec![Law::minor(1.0, 0.02), Law::Shut]).is_shut());
    }
}
