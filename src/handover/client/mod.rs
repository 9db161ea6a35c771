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
    tank_speed(metres_per_second, display)
}
