//! How long a cell had which speed: time in bins of speed, four to an octave.

use serde::{Deserialize, Serialize};

/// Bins: one under the lowest edge, then 31 over 7¾ octaves.
const BINS: usize = 32;
/// Upper edge of the first bin, m/s: 2⁻⁷, 0.8 cm/s. The last bin begins at 1.5 m/s and has no end.
const LOWEST: f32 = 0.007_812_5;
/// Bits of a float below its exponent and the two highest bits of its mantissa: what is left counts quarter octaves.
const BELOW: u32 = 21;

/// Time at each range of speed, in units that the owner chooses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Histogram([u16; BINS]);

impl Histogram {
    /// Adds `units` of time at a speed (m/s).
    #[inline(always)]
    pub fn add(&mut self, speed: f32, units: u16) {
        let bin = &mut self.0[bin(speed)];
        *bin = bin.saturating_add(units);
    }

    /// Halves all times, to make room.
    pub fn halve(&mut self) {
        self.0.iter_mut().for_each(|units| *units /= 2);
    }

    /// The speed (m/s) that is not exceeded for this share of the time; `peak` (m/s) is the fastest. Straight between the edges of a bin: good
    /// to the width of a bin, at most a quarter of the speed. 0 without any time.
    pub fn quantile(&self, share: f64, peak: f32) -> f64 {
        let total: u64 = self.0.iter().map(|&units| u64::from(units)).sum();
        let mut over = (1.0 - share) * total as f64;
        for bin in (0..BINS).rev().filter(|&bin| self.0[bin] > 0) {
            let inside = f64::from(self.0[bin]);
            if inside >= over {
                let (low, high) = (f64::from(edge(bin)), f64::from(edge(bin + 1).min(peak.max(edge(bin)))));
                return high - (high - low) * over / inside;
            }
            over -= inside;
        }
        0.0
    }
}

#[inline(always)]
fn bin(speed: f32) -> usize {
    let above = (speed.to_bits() >> BELOW).saturating_sub((LOWEST.to_bits() >> BELOW) - 1);
    (above as usize).min(BINS - 1)
}

/// Lower edge of a bin, m/s.
fn edge(bin: usize) -> f32 {
    match bin {
        0 => 0.0,
        BINS.. => f32::INFINITY,
        _ => f32::from_bits(((LOWEST.to_bits() >> BELOW) + bin as u32 - 1) << BELOW),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges_are_quarters_of_octaves() {
        assert_eq!((edge(0), edge(1), edge(2), edge(5)), (0.0, LOWEST, 1.25 * LOWEST, 2.0 * LOWEST));
        for speed in [0.0, 0.005, LOWEST, 0.02, 0.03, 0.1, 0.77, 1.49, 1.6, 50.0] {
            let bin = bin(speed);
            assert!(edge(bin) <= speed && speed < edge(bin + 1), "{speed} in bin {bin}");
        }
    }

    /// Speeds spread evenly from 0 to 0.8 m/s: 95 % of the time under 0.76 m/s, half of it under 0.4 m/s. Within a bin the spread is even, so
    /// straight lines are exact but for the sampling.
    #[test]
    fn an_even_spread_has_its_quantiles() {
        let mut histogram = Histogram::default();
        (0..8000).for_each(|i| histogram.add((i as f32 + 0.5) * 1e-4, 1));
        for (share, expected) in [(0.95, 0.76), (0.5, 0.4), (0.05, 0.04)] {
            let got = histogram.quantile(share, 0.8);
            assert!((got - expected).abs() < 1e-3, "{share}: {got}");
        }
        histogram.halve();
        assert!((histogram.quantile(0.95, 0.8) - 0.76).abs() < 2e-3);
    }

    #[test]
    fn a_steady_speed_is_its_own_quantile() {
        let mut histogram = Histogram::default();
        histogram.add(0.1, 500);
        let got = histogram.quantile(0.95, 0.1);
        assert!((0.09375..=0.1).contains(&got), "{got}");
        assert_eq!(Histogram::default().quantile(0.95, 0.0), 0.0);
    }
}
