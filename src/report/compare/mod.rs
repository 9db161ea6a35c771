//! A comparison of studies for people: text, one HTML page, pictures, JSON.

pub mod changed;
mod html;
pub mod said;
pub mod table;
mod text;

pub use html::page;
pub use text::summary;

use super::folder::Folder;
use super::{json, pictures};
use crate::study::compare::{Case, Comparison};
use crate::units::Display;
use std::io;

/// Width of the text report in a file.
const TEXT_WIDTH: usize = 80;

/// Write a comparison into a folder: `compare.html`, `.txt`, `.json` and its pictures.
///
/// # Errors
/// When the disk says no, or a form can't be made (a slip of ours, told in words).
pub fn write_all(comparison: &Comparison, cases: &[Case], folder: &Folder) -> io::Result<()> {
    folder.write("compare.json", json::text(comparison).map_err(io::Error::other)?.as_bytes())?;
    folder.write("compare.txt", summary(comparison, cases, TEXT_WIDTH).as_bytes())?;
    let drawn = pictures::compared::all(cases).and_then(pictures::drawn).map_err(io::Error::other)?;
    for each in &drawn {
        folder.write(&format!("{}.svg", each.picture.name), each.picture.svg.as_bytes())?;
        folder.write(&format!("{}.png", each.picture.name), &each.png)?;
    }
    folder.write("compare.html", page(comparison, cases, &drawn).as_bytes())
}

/// The first case's units.
pub fn display(cases: &[Case]) -> Display {
    cases.iter().find_map(|case| case.layout.as_ref()).map(|layout| layout.display).unwrap_or_default()
}
