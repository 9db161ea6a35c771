//! Fittings and valves: loss coefficients on the velocity in their own run.

use crate::units::{Angle, Head};
use serde::Deserialize;

/// A kind of fitting or valve.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(try_from = "Entry")]
pub struct FittingKind {
    /// As layouts name it: "elbow 90".
    pub name: String,
    /// How it loses head.
    pub law: FittingLaw,
    /// Where the value comes from.
    pub source: String,
    /// What the value is good for.
    pub range: String,
}

/// How a fitting's loss coefficient K is found.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum FittingLaw {
    /// K is this many times the friction factor of fully rough flow.
    FullyRough {
        /// The number of times.
        multiple: f64,
    },
    /// K itself.
    Fixed {
        /// Loss coefficient.
        k: f64,
    },
    /// A valve that lets water through one way only: K as for `fully_rough`.
    Check {
        /// The number of times.
        multiple: f64,
        /// Head that it takes to lift it off its seat.
        #[serde(default = "nothing")]
        opens_at: Head,
    },
    /// Water goes from a wide pipe to a narrow one: `other` says which, beside the run's own. K is on the narrow one.
    Reducer {
        /// Whole angle of the cone; 180 deg for a step.
        angle: Angle,
    },
    /// Water goes from a narrow pipe to a wide one.
    Enlarger {
        /// Whole angle of the cone; 180 deg for a step.
        angle: Angle,
    },
    /// Opening (rising to 1 = open) and K; below the first opening the valve counts as shut.
    Valve {
        /// (opening, K).
        curve: Vec<(f64, f64)>,
    },
}

fn nothing() -> Head {
    Head::new(0.0, "m")
}

/// A change of bore, for those who compute its loss.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoreChange {
    /// From wide to narrow.
    pub narrows: bool,
    /// Whole angle of the cone, rad.
    pub angle: f64,
}

impl FittingKind {
    /// How it changes the bore; `None` where it doesn't.
    pub fn bore_change(&self) -> Option<BoreChange> {
        match &self.law {
            FittingLaw::Reducer { angle } => Some(BoreChange { narrows: true, angle: angle.si() }),
            FittingLaw::Enlarger { angle } => Some(BoreChange { narrows: false, angle: angle.si() }),
            _ => None,
        }
    }

    /// Head that it takes to open it, m; `None` for what is no check valve.
    pub fn opens_at(&self) -> Option<f64> {
        if let FittingLaw::Check { opens_at, .. } = &self.law { Some(opens_at.si()) } else { None }
    }

    /// Loss coefficient in pipe of this bore (m); `opening` (0 to 1) matters to valves only. `None`: shut. Nothing for a change of bore:
    /// see [`FittingKind::bore_change`].
    pub fn k(&self, bore_m: f64, opening: f64) -> Option<f64> {
        match &self.law {
            FittingLaw::FullyRough { multiple } | FittingLaw::Check { multiple, .. } => Some(multiple * rough_friction(bore_m)),
            FittingLaw::Fixed { k } => Some(*k),
            FittingLaw::Reducer { .. } | FittingLaw::Enlarger { .. } => Some(0.0),
            FittingLaw::Valve { curve } => valve_k(curve, opening),
        }
    }

    /// Whether its opening can be set.
    pub fn is_valve(&self) -> bool {
        matches!(self.law, FittingLaw::Valve { .. })
    }
}

/// Bores of schedule 40 steel pipe (in) and the Darcy friction factor fT of fully rough flow in it: Crane TP-410 p. A-26
/// (older edition); 8 and 12 in from memory.
const ROUGH: [(f64, f64); 12] = [
    (0.622, 0.027),
    (0.824, 0.025),
    (1.049, 0.023),
    (1.380, 0.022),
    (1.610, 0.021),
    (2.067, 0.019),
    (2.469, 0.018),
    (3.068, 0.018),
    (4.026, 0.017),
    (6.065, 0.015),
    (7.981, 0.014),
    (11.938, 0.013),
];

/// Crane's fT for a bore (m): the printed value at each nominal size, straight between them, the last one beyond them.
pub fn rough_friction(bore_m: f64) -> f64 {
    let inches = bore_m / 0.0254;
    interpolate(&ROUGH, inches)
}

fn valve_k(curve: &[(f64, f64)], opening: f64) -> Option<f64> {
    let (least, _) = *curve.first()?;
    if opening.is_nan() || opening < least {
        return None;
    }
    let next = curve.iter().position(|point| point.0 >= opening).unwrap_or(curve.len() - 1).max(1);
    let ((x0, k0), (x1, k1)) = (curve[next - 1], curve[next]);
    let share = ((opening - x0) / (x1 - x0)).clamp(0.0, 1.0);
    Some((k0.ln() + share * (k1.ln() - k0.ln())).exp())
}

/// Straight between points, level beyond the ends.
fn interpolate(points: &[(f64, f64)], x: f64) -> f64 {
    let next = points.iter().position(|point| point.0 >= x).unwrap_or(points.len() - 1).max(1);
    let ((x0, y0), (x1, y1)) = (points[next - 1], points[next]);
    y0 + ((x - x0) / (x1 - x0)).clamp(0.0, 1.0) * (y1 - y0)
}

/// As a catalogue file writes it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    name: String,
    law: FittingLaw,
    source: String,
    range: String,
}

impl TryFrom<Entry> for FittingKind {
    type Error = String;

    fn try_from(entry: Entry) -> Result<Self, String> {
        if !entry.law.is_sound() {
            return Err(format!(
                "fitting `{}`: a number is missing or out of range (K must not be negative, an angle lies between 0 and 180 deg), or a valve doesn't have two points or more with openings rising",
                entry.name
            ));
        }
        Ok(Self { name: entry.name, law: entry.law, source: entry.source, range: entry.range })
    }
}

impl FittingLaw {
    fn is_sound(&self) -> bool {
        match self {
            Self::FullyRough { multiple: k } | Self::Fixed { k } => k.is_finite() && *k >= 0.0,
            Self::Check { multiple, opens_at } => multiple.is_finite() && *multiple >= 0.0 && (0.0..100.0).contains(&opens_at.si()),
            Self::Reducer { angle } | Self::Enlarger { angle } => (0.0..=std::f64::consts::PI + 1e-9).contains(&angle.si()),
            Self::Valve { curve } => {
                let rising = curve.windows(2).all(|pair| pair[0].0 < pair[1].0);
                curve.len() >= 2 && rising && curve.iter().all(|(opening, k)| (0.0..=1.0).contains(opening) && *k > 0.0 && k.is_finite())
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::catalog::Catalog;

    fn k(name: &str, bore_in: f64, opening: f64) -> Option<f64> {
        Catalog::builtin().fitting(name).unwrap().k(bore_in * 0.0254, opening)
    }

    #[test]
    fn crane_at_two_inches() {
        // Crane TP-410: multiple times the printed fT of 2 in, 0.019. (With the newer edition's computed fT these come to
        // 0.565, 0.377, 1.131, 1.885: up to 1 % less.)
        let cases = [("elbow 90", 0.57), ("tee run", 0.38), ("tee branch", 1.14), ("swing check valve", 1.90), ("ball valve", 0.057)];
        for (name, expected) in cases {
            assert!((k(name, 2.067, 1.0).unwrap() - expected).abs() < 1e-9, "{name}");
        }
    }

    #[test]
    fn gate_valve_part_closed() {
        // Streeter's table: 1/4, 1/2, 3/4 closed, and open.
        for (opening, expected) in [(0.75, 0.26), (0.5, 2.1), (0.25, 17.0), (1.0, 0.15)] {
            assert!((k("gate valve", 1.6, opening).unwrap() - expected).abs() < 1e-9, "{opening}");
        }
        assert_eq!(k("gate valve", 1.6, 0.0), None);
    }

    #[test]
    fn valves_lose_less_the_wider_they_open() {
        for name in ["gate valve", "ball valve", "butterfly valve"] {
            let losses: Vec<_> = (0..=100).filter_map(|i| k(name, 2.0, f64::from(i) / 100.0)).collect();
            assert!(losses.len() > 75 && losses.windows(2).all(|pair| pair[1] < pair[0]), "{name}");
        }
    }
}
