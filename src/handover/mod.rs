//! The sheets with which a design leaves the desk: what is drilled, bought, glued and set.
//!
//! ```text
//! layout ─► numbering ─┬─► drilling   each panel at true scale: PDF, tiles, SVG, DXF; list of holes
//!           (one for   ├─► shop       cut list, stock to buy, fittings: PDF, CSV
//!            all)      ├─► circuit    drawing of each circuit with numbered runs
//!                      ├─► index      what lies in the folder
//!                      └─► commissioning  what to set, what to expect, what to try
//! ```
//!
//! Every drawing is made once in millimetres (`page`) and turned into SVG and PDF from there. Every sheet carries the layout's name,
//! its revision (a content hash) and a date, and the cautions. `previews` shows the same pages without writing a file.

pub mod circuit;
pub mod client;
pub mod commissioning;
pub mod drilling;
mod files;
mod index;
mod measure;
mod numbering;
mod page;
mod preview;
mod revision;
pub mod shop;

pub use files::{Content, Sheet, write as write_sheets, write_watched as write_sheets_watched};
pub use numbering::{Hole, Numbered, Numbering, Valve};
pub use page::{Document, Drawing, Paper};
pub use preview::{Preview, previews};
pub use revision::{Stamp, revision};

use crate::catalog::Catalog;
use crate::layout::Layout;
use crate::report::cautions::CAUTIONS;
use crate::units::Display;
use std::{
    io,
    path::{Path, PathBuf},
};

/// What a set of sheets needs to know besides the layout.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Folder to write into; made if need be.
    pub folder: PathBuf,
    /// Printed on every sheet: "2026-03-01".
    pub date: String,
}

/// Writes all sheets of a layout; returns their paths.
///
/// # Errors
/// When the tank's size is no size of a tank, or a file can't be written; the text names it. Nothing is written then, unless the disk fails half way.
pub fn write(layout: &Layout, catalog: &Catalog, options: &Options) -> io::Result<Vec<PathBuf>> {
    let sheets = sheets(layout, catalog, &options.date).map_err(|why| io::Error::new(io::ErrorKind::InvalidData, why))?;
    files::write(&options.folder, &sheets)
}

/// All sheets of a layout with their file names, drawn and not yet converted.
///
/// # Errors
/// When the tank's size is no size of a tank, or a drawing for machines can't be written; the text says why.
pub fn sheets(layout: &Layout, catalog: &Catalog, date: &str) -> Result<Vec<Sheet>, String> {
    check_size(layout)?;
    let stamp = Stamp::new(layout, date);
    let numbering = Numbering::new(layout, catalog);
    let (paper, foot) = (usual_paper(layout.display), foot());
    let mut all = drilling::sheets(layout, &numbering, &stamp, &foot)?;
    all.extend(shop::sheets(layout, catalog, &numbering, &stamp, paper, &foot));
    all.extend(circuit::sheets(layout, &numbering, &stamp, paper, &foot));
    all.extend(commissioning::sheets(layout, catalog, &numbering, &stamp, paper, &foot));
    all.insert(0, index::sheet(layout, &numbering, &all, &stamp, paper, &foot));
    Ok(all)
}

/// Sheets of another revision that lie in the folder too and must not be mixed with these: files named like ours that were not written now.
pub fn strays(folder: &Path, written: &[PathBuf]) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path());
    let is_ours = |name: &str| name.starts_with("drilling ") || name.starts_with("circuit ");
    let named_like_ours = |path: &PathBuf| path.file_name().is_some_and(|name| is_ours(&name.to_string_lossy()));
    entries.filter(|path| named_like_ours(path) && !written.contains(path)).collect()
}

/// Office paper where these units are used.
pub fn usual_paper(display: Display) -> Paper {
    match display {
        Display::Us => Paper::LETTER,
        Display::Metric => Paper::A4,
    }
}

/// Longest edge that is taken for a real tank's, m.
const LONGEST_EDGE: f64 = 20.0;

fn check_size(layout: &Layout) -> Result<(), String> {
    let size = layout.tank.size();
    let is_real = |edge: f64| (0.05..=LONGEST_EDGE).contains(&edge);
    if size.to_array().into_iter().all(is_real) {
        return Ok(());
    }
    Err(format!(
        "the tank's inside size ({} x {} x {} m) is not between 5 cm and {LONGEST_EDGE} m: mend tank length, width and height",
        size.x, size.y, size.z
    ))
}

/// The cautions, as one text for the foot of every page.
fn foot() -> String {
    CAUTIONS.iter().map(|(subject, text)| format!("{}: {text}", subject.to_uppercase())).collect::<Vec<_>>().join(" ")
}
