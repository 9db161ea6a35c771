//! Colour scales: of a speed, and of the difference of two.

use super::theme;
use crate::report::shown::trimmed;
use crate::units::{Display, LengthKind, Quantity};

/// What colours mean; speeds in m/s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scale {
    /// A speed from 0 to this.
    Speed(f64),
    /// A change of speed from less by this to more by this.
    Difference(f64),
}

impl Scale {
    /// The colour of a value.
    pub fn colour(self, value: f64) -> [u8; 3] {
        match self {
            Self::Speed(top) => theme::colour(value / top),
            Self::Difference(top) => theme::difference_colour(value / top),
        }
    }

    /// Lowest and highest value.
    pub fn ends(self) -> [f64; 2] {
        match self {
            Self::Speed(top) => [0.0, top],
            Self::Difference(top) => [-top, top],
        }
    }

    /// Colour of hatching and outlines that stand out on it.
    pub fn mark(self) -> &'static str {
        match self {
            Self::Speed(_) => theme::DEAD,
            Self::Difference(_) => theme::INK,
        }
    }

    /// Over the scale.
    pub fn words(self) -> &'static str {
        match self {
            Self::Speed(_) => "Mean speed",
            Self::Difference(_) => "Change",
        }
    }

    /// The number at a share of the scale; the ends also stand for what lies beyond them.
    pub fn tick(self, share: f64, display: Display) -> String {
        let [least, most] = self.ends();
        let number = trimmed((least + share * (most - least)) / unit_of(display), 2);
        match self {
            Self::Speed(_) if share == 1.0 => format!("{number} +"),
            Self::Speed(_) => number,
            Self::Difference(_) if share > 0.5 => format!("+{number}{}", if share == 1.0 { " +" } else { "" }),
            // The fonts that the pictures carry have no minus; this dash is as wide.
            Self::Difference(_) => number.replace('-', "\u{2013}"),
        }
    }
}

/// A round top of the scale, m/s, that `speed` (m/s) reaches nearly or quite; round in the reader's unit.
pub fn round_top(speed: f64, display: Display) -> f64 {
    let tops = [0.2, 0.4, 0.8, 1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 24.0, 32.0, 40.0, 60.0, 80.0, 100.0, 160.0, 200.0];
    let unit = unit_of(display);
    tops.into_iter().find(|top| unit * top >= 0.95 * speed).unwrap_or(200.0) * unit
}

/// The unit of tank speeds in m/s: an inch or a centimetre per second.
fn unit_of(display: Display) -> f64 {
    match display {
        Display::Us => Quantity::<LengthKind>::new(1.0, "in").si(),
        Display::Metric => 0.01,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tops_are_round_and_ticks_symmetric() {
        assert!((round_top(0.17, Display::Metric) - 0.20).abs() < 1e-12);
        assert!((round_top(0.158, Display::Metric) - 0.16).abs() < 1e-12);
        assert!((round_top(0.2, Display::Us) - 8.0 * 0.0254).abs() < 1e-12);
        let scale = Scale::Difference(0.04);
        assert_eq!([0.0, 0.25, 0.5, 1.0].map(|share| scale.tick(share, Display::Metric)), ["\u{2013}4", "\u{2013}2", "0", "+4 +"]);
        assert_eq!(Scale::Speed(0.2).tick(1.0, Display::Metric), "20 +");
    }

    /// As far on one side as on the other, the colour is as light; no change is nearly white.
    #[test]
    fn a_difference_reads_the_same_on_both_sides() {
        let light = |v: f64| Scale::Difference(1.0).colour(v).iter().map(|c| f64::from(*c)).sum::<f64>() / 3.0;
        assert!(light(0.0) > 235.0);
        for v in [0.25, 0.5, 0.75] {
            assert!((light(v) - light(-v)).abs() < 40.0, "{} and {}", light(v), light(-v));
        }
    }
}
