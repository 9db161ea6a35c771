//! What the client is shown: one page that opens anywhere without a network, and a short clip.
//!
//! ```text
//! study + motion ─► scene ─► pack ─┐
//!                   words, lanes ──┴─► page   client.html
//!                   relief, drift ───► clip   clip.gif
//! ```

pub mod clip;
mod drift;
mod lanes;
mod pack;
mod page;
mod pair;
mod relief;
mod scene;
mod words;

pub use clip::{CLIP, clip};

use super::files::Sheet;
use crate::layout::Layout;
use crate::report::shown::tank_speed;
use crate::study::case::Case;
use crate::study::motion::Motion;
use crate::study::{Record, Study};
use crate::units::Display;

/// Everything that the client is shown.
#[derive(Debug, Clone)]
pub struct Shown<'a> {
    /// The solved layout.
    pub case: &'a Case,
    /// What was computed.
    pub study: &'a Study,
    /// One cycle of the moving water.
    pub motion: &'a Motion,
    /// Printed on the page: "2026-03-01".
    pub date: &'a str,
    /// Another layout to show beside this one.
    pub beside: Option<Beside>,
}

/// Another layout with its study, and how the two are called.
#[derive(Debug, Clone)]
pub struct Beside {
    /// Over both: "Before and after".
    pub heading: String,
    /// Under the other layout's picture: "Before".
    pub caption: String,
    /// Under this layout's picture: "After".
    pub own_caption: String,
    /// The other layout.
    pub layout: Layout,
    /// Its study.
    pub study: Study,
}

impl Shown<'_> {
    fn layout(&self) -> &Layout {
        &self.case.layout
    }

    fn record(&self) -> &Record {
        &self.study.record
    }
}

/// Name of the page's file.
pub const PAGE: &str = "client.html";

/// The page.
///
/// # Errors
/// When its data can't be written down: a slip of ours, told in words.
pub fn page(shown: &Shown) -> Result<Sheet, String> {
    page::page(shown).map(|text| Sheet::ready(PAGE, text).purpose("For the client: one page, opened in any browser."))
}

/// A speed of water in the tank.
fn speed(metres_per_second: f64, display: Display) -> String {
    rough(&tank_speed(metres_per_second, display))
}

/// A quantity to two figures, for someone who looks for two minutes: "4.95 in/s" is "5.0 in/s", "11157 gph" is "11000 gph".
fn rough(quantity: &str) -> String {
    let Some((number, unit)) = quantity.split_once(' ') else { return quantity.to_owned() };
    let Ok(value) = number.parse::<f64>() else { return quantity.to_owned() };
    let digits = if value == 0.0 { 0 } else { value.abs().log10().floor() as i32 - 1 };
    let step = 10f64.powi(digits);
    format!("{:.*} {unit}", usize::try_from(-digits).unwrap_or(0), (value / step).round() * step)
}

#[cfg(test)]
mod tests {
    use super::rough;

    #[test]
    fn two_figures_are_enough() {
        for (exact, rounded) in [
            ("4.95 in/s", "5.0 in/s"),
            ("11157 gph", "11000 gph"),
            ("15.75 in/s", "16 in/s"),
            ("0.123 m", "0.12 m"),
            ("0 L", "0 L"),
            ("at rest", "at rest"),
        ] {
            assert_eq!(rough(exact), rounded);
        }
    }
}
