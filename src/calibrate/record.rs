//! What a calibration says, for people and for scripts.

use super::factor::Factor;
use super::limits::DISAGREES;
use crate::finding::Finding;
use crate::layout::Gauge;
use serde::{Deserialize, Serialize};

/// Version of the form of [`Calibration`] as JSON.
pub const CALIBRATION_VERSION: u32 = 1;

/// The whole result. SI throughout.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Calibration {
    /// [`CALIBRATION_VERSION`].
    pub calibration_version: u32,
    /// Name of the layout.
    pub layout: String,
    /// What was fitted.
    pub factors: Vec<Fitted>,
    /// What could not be fitted, and why.
    pub left: Vec<Left>,
    /// Every reading beside the layout before and after.
    pub readings: Vec<Compared>,
    /// How well the readings agree with each other.
    pub agreement: Agreement,
    /// The factors without the reading that disagrees most, if one does.
    pub without_worst: Option<Shift>,
    /// Readings that could not be used, and why.
    pub unused: Vec<Finding>,
    /// What the factors change.
    pub change: Change,
}

/// A factor that was fitted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Fitted {
    /// Which.
    pub factor: Factor,
    /// In the layout as it was.
    pub before: f64,
    /// Fitted.
    pub value: f64,
    /// Standard error.
    pub standard_error: f64,
    /// Interval that holds it in 95 % of cases, cut off at its limits.
    pub interval_95: [f64; 2],
    /// It lies at the end of what is believed; the interval means little then.
    pub at_limit: bool,
}

/// A factor that was left as it is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Left {
    /// Which.
    pub factor: Factor,
    /// In the layout.
    pub value: f64,
    /// Why the readings don't tell it.
    pub why: String,
}

/// Kinds of quantity that are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the names say it")]
pub enum Measure {
    BucketSeconds,
    Flow,
    Head,
    Pressure,
    FloatSeconds,
}

impl From<&Gauge> for Measure {
    fn from(value: &Gauge) -> Self {
        match value {
            Gauge::Bucket { .. } => Self::BucketSeconds,
            Gauge::NozzleFlow { .. } | Gauge::PumpFlow { .. } => Self::Flow,
            Gauge::PumpHead { .. } => Self::Head,
            Gauge::Pressure { .. } => Self::Pressure,
            Gauge::Drift { .. } => Self::FloatSeconds,
        }
    }
}

/// A reading beside what the layout says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Compared {
    /// Of the reading.
    pub id: String,
    /// Of the reading.
    pub date: String,
    /// What kind of quantity; the numbers below are in its SI unit.
    pub kind: Measure,
    /// Read.
    pub measured: f64,
    /// Its uncertainty (95 %), the law's own included.
    pub within: f64,
    /// The layout as it is.
    pub before: f64,
    /// The layout with the fitted factors.
    pub after: f64,
    /// Measured less fitted, in units of `within`, corrected for the reading's own pull on the fit.
    pub off: f64,
}

impl Compared {
    /// Off by more than its uncertainty can explain.
    pub fn disagrees(&self) -> bool {
        self.off.abs() > DISAGREES
    }
}

/// How well the readings agree with each other.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Agreement {
    /// Sum of squared differences over their variances.
    pub chi_square: f64,
    /// Readings less factors; 0: nothing is left to check the fit with.
    pub degrees_of_freedom: usize,
    /// Chance of so large a χ² when every uncertainty is honest; 1 without degrees of freedom.
    pub probability: f64,
    /// √(χ²/degrees of freedom) when the readings scatter more than they claim to, else 1; each factor's interval is widened by that of the readings that feel it.
    pub widening: f64,
    /// The search ended at a minimum.
    pub converged: bool,
}

impl Agreement {
    /// From χ².
    pub fn new(chi_square: f64, degrees_of_freedom: usize, converged: bool) -> Self {
        let probability = upper_tail(chi_square, degrees_of_freedom);
        let widening = if probability < 0.05 { (chi_square / degrees_of_freedom as f64).sqrt() } else { 1.0 };
        Self { chi_square, degrees_of_freedom, probability, widening, converged }
    }
}

/// Chance of a larger χ², by the cube-root normal approximation (Wilson and Hilferty, PNAS 17, 1931).
fn upper_tail(chi_square: f64, degrees: usize) -> f64 {
    if degrees == 0 || !chi_square.is_finite() {
        return if chi_square.is_finite() { 1.0 } else { 0.0 };
    }
    let spread = 2.0 / (9.0 * degrees as f64);
    normal_tail(((chi_square / degrees as f64).cbrt() - 1.0 + spread) / spread.sqrt())
}

/// Upper tail of the standard normal distribution (Abramowitz and Stegun 26.2.17, error under 7.5e-8).
fn normal_tail(z: f64) -> f64 {
    if z < 0.0 {
        return 1.0 - normal_tail(-z);
    }
    let t = 1.0 / (1.0 + 0.231_641_9 * z);
    let poly = t * (0.319_381_530 + t * (-0.356_563_782 + t * (1.781_477_937 + t * (-1.821_255_978 + t * 1.330_274_429))));
    (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt() * poly
}

/// The factors without one reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shift {
    /// Left out.
    pub reading: String,
    /// What the factors would be.
    pub factors: Vec<(String, f64)>,
    /// How well the others agree.
    pub agreement: Agreement,
    /// χ² with it.
    pub before: f64,
}

/// What the factors change in the plumbing and in what is said about it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Change {
    /// Before and after.
    pub numbers: Vec<Number>,
    /// Findings that come up.
    pub new: Vec<Finding>,
    /// Findings that go away.
    pub gone: Vec<Finding>,
    /// Findings that stay with other words: before, after.
    pub changed: Vec<(Finding, Finding)>,
}

/// One number before and after.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Number {
    /// What it is of: "pump A".
    pub part: String,
    /// Which: "mean flow".
    pub what: String,
    /// In SI.
    pub before: f64,
    /// In SI.
    pub after: f64,
    /// What kind of quantity.
    pub kind: NumberKind,
}

/// Kinds of quantity in [`Number`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the names say it")]
pub enum NumberKind {
    Flow,
    Head,
    Speed,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// χ² that is exceeded with 5 % and 50 % probability (tables of the χ² distribution: 3.841, 7.815, 18.307; medians 0.455, 9.342).
    #[test]
    fn chi_square_tables() {
        for (chi, degrees, tail) in [(3.841, 1, 0.05), (7.815, 3, 0.05), (18.307, 10, 0.05), (0.455, 1, 0.5), (9.342, 10, 0.5)] {
            let got = upper_tail(chi, degrees);
            assert!((got - tail).abs() < 0.02, "{chi} {degrees}: {got}");
        }
        assert_eq!(upper_tail(0.0, 0), 1.0);
    }

    #[test]
    fn intervals_widen_only_when_the_readings_scatter() {
        assert_eq!(Agreement::new(3.0, 3, true).widening, 1.0);
        assert!((Agreement::new(40.0, 10, true).widening - 2.0).abs() < 1e-12);
    }
}
