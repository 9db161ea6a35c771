//! Lengths as people at a bench read them: millimetres and inch fractions side by side.

use crate::units::Display;

const INCH_MM: f64 = 25.4;

/// Millimetres without their unit, to a tenth where it matters: "170", "76.2".
pub fn mm(length_mm: f64) -> String {
    let tenths = (length_mm * 10.0).round() / 10.0;
    if tenths == tenths.trunc() { format!("{:.0}", tenths + 0.0) } else { format!("{tenths:.1}") }
}

/// Inches to the nearest 1/32, as read off a tape: "6 11/16", "3", "23/32".
pub fn inches(length_mm: f64) -> String {
    let parts = (length_mm.abs() / INCH_MM * 32.0).round() as u64;
    let sign = if length_mm < 0.0 && parts > 0 { "-" } else { "" };
    let (whole, rest) = (parts / 32, parts % 32);
    let shared = 1u64 << rest.trailing_zeros().min(5);
    match (whole, rest) {
        (_, 0) => format!("{sign}{whole}"),
        (0, _) => format!("{sign}{}/{}", rest / shared, 32 / shared),
        _ => format!("{sign}{whole} {}/{}", rest / shared, 32 / shared),
    }
}

/// Both, to a millimetre and an eighth of an inch, for what is set by eye: "2403 mm (94 5/8 in)".
pub fn near(length_mm: f64) -> String {
    format!("{} mm ({} in)", mm(length_mm.round()), inches((length_mm / INCH_MM * 8.0).round() / 8.0 * INCH_MM))
}

/// In the display's own unit: "170 mm", or "6 11/16 in".
pub fn one(length_mm: f64, display: Display) -> String {
    match display {
        Display::Us => format!("{} in", inches(length_mm)),
        Display::Metric => format!("{} mm", mm(length_mm)),
    }
}

/// Both: "170 mm (6 11/16 in)".
pub fn both(length_mm: f64) -> String {
    format!("{} mm ({} in)", mm(length_mm), inches(length_mm))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fractions_are_reduced_and_rounded() {
        let cases = [
            (25.4, "1"),
            (170.0, "6 11/16"),
            (12.7, "1/2"),
            (76.2, "3"),
            (0.0, "0"),
            (0.3, "0"),
            (25.3, "1"),
            (-12.7, "-1/2"),
            (120.65, "4 3/4"),
        ];
        for (length, expected) in cases {
            assert_eq!(inches(length), expected, "{length}");
        }
    }

    #[test]
    fn millimetres_keep_a_tenth() {
        assert_eq!([mm(170.0), mm(76.2), mm(9.96), mm(-0.01)], ["170", "76.2", "10", "0"]);
    }
}
