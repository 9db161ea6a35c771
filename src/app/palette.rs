//! The colour map of every picture of speed: cividis (Nuñez, Anderton, Renslow 2018, PLoS ONE 13:e0199239), perceptually
//! uniform and the same to readers with and without red-green colour blindness.

use crate::report::pictures::difference_colour;

/// Entries that shaders interpolate between.
pub const STOPS: usize = 32;

/// sRGB of a share of the scale, 0 to 1.
pub fn colour(share: f32) -> [u8; 3] {
    let c = colorous::CIVIDIS.eval_continuous(f64::from(share.clamp(0.0, 1.0)));
    [c.r, c.g, c.b]
}

/// sRGB of a share of a scale of differences: 0 much slower, half the same, 1 much faster.
pub fn difference(share: f32) -> [u8; 3] {
    difference_colour(2.0 * f64::from(share.clamp(0.0, 1.0)) - 1.0)
}

/// A round number that the scale can end at, in the shown unit: `speed` or a little more.
pub fn round_top(speed: f32) -> f32 {
    let speed = speed.max(0.01);
    let decade = 10f32.powf(speed.log10().floor());
    let steps = [1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0];
    steps.into_iter().map(|s| s * decade).find(|s| *s >= speed * 0.999).unwrap_or(10.0 * decade)
}

/// Four or five round ticks from 0 to `top`.
pub fn ticks(top: f64) -> Vec<f64> {
    let decade = 10f64.powf((top / 4.0).log10().floor());
    let step = [1.0, 2.0, 2.5, 5.0, 10.0].into_iter().map(|s| s * decade).find(|s| top / s <= 5.01).unwrap_or(10.0 * decade);
    (0..).map(|i| f64::from(i) * step).take_while(|t| *t <= top * 1.0001).collect()
}

/// Round ticks between two ends.
pub fn ticks_between(low: f64, top: f64) -> Vec<f64> {
    let step = ticks(top - low).get(1).copied().unwrap_or(1.0);
    let first = (low / step - 1e-6).ceil() as i64;
    (first..).map(|i| i as f64 * step).take_while(|t| *t <= top + 1e-4 * (top - low)).collect()
}

/// A tick of a scale that ends at `top`; of a scale of differences with its sign.
pub fn tick(t: f64, top: f64, differs: bool) -> String {
    let digits = match top {
        top if top >= 8.0 => 0,
        top if top >= 0.8 => 1,
        _ => 2,
    };
    let sign = if differs && t > 1e-9 { "+" } else { "" };
    format!("{sign}{t:.digits$}").replace('-', "\u{2212}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_end_at_round_numbers() {
        assert_eq!(round_top(0.17), 0.2);
        assert_eq!(round_top(0.2), 0.2);
        assert!((round_top(0.41) - 0.5).abs() < 1e-6);
        assert_eq!(ticks(20.0), vec![0.0, 5.0, 10.0, 15.0, 20.0]);
        assert_eq!(ticks_between(0.0, 20.0), ticks(20.0));
        assert_eq!(ticks_between(-10.0, 10.0), vec![-10.0, -5.0, 0.0, 5.0, 10.0]);
        assert_eq!(ticks_between(4.0, 14.0), vec![4.0, 6.0, 8.0, 10.0, 12.0, 14.0]);
        assert_eq!([tick(-2.0, 10.0, true), tick(0.0, 10.0, true), tick(0.5, 1.0, true)], ["\u{2212}2", "0", "+0.5"]);
        assert_eq!(ticks(1.0), vec![0.0, 0.2, 0.4, 0.6000000000000001, 0.8, 1.0]);
    }

    #[test]
    fn the_map_gets_lighter_all_the_way() {
        let light = |s: f32| colour(s).iter().map(|&c| u32::from(c)).sum::<u32>();
        assert!((0..20).all(|i| light(i as f32 / 20.0) < light((i + 1) as f32 / 20.0)));
    }
}
