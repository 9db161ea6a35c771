//! What a factor may become, and how well the readings must tell it before it is fitted. Common practice, no source, unless one is named.

use super::factor::Factor;
use std::ops::RangeInclusive;

/// Standard normal quantile of a two-sided 95 % interval.
pub const Z95: f64 = 1.959_964;

/// Beyond these nothing is believed: the cause is then something that the layout doesn't have.
pub fn bounds(factor: &Factor) -> RangeInclusive<f64> {
    match factor {
        Factor::Losses(_) => 0.3..=4.0,
        Factor::Head(_) => 0.5..=1.3,
        Factor::Leakage(_) => 0.0..=0.3,
    }
}

/// Largest standard error with which a factor is still worth fitting: beyond it the design's own number is as good. Losses by the 10 to
/// 30 % of coefficients; heads by the 7 % of ISO 9906 grade 3 (value from memory).
pub fn widest_error(factor: &Factor) -> f64 {
    match factor {
        Factor::Losses(_) => 0.15,
        Factor::Head(_) => 0.07,
        Factor::Leakage(_) => 0.02,
    }
}

/// Step for a derivative.
pub fn step(factor: &Factor) -> f64 {
    match factor {
        Factor::Losses(_) | Factor::Head(_) => 1e-3,
        Factor::Leakage(_) => 5e-4,
    }
}

/// Correlation from which two factors count as one.
pub const SAME: f64 = 0.98;

/// How many times its stated uncertainty (95 %) a reading may be off before it disagrees: 1.5 is three standard deviations.
pub const DISAGREES: f64 = 1.5;
