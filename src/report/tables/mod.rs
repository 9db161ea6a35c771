//! The tables of a report, once for all forms: the terminal and the HTML page show the same rows.

mod plumbing;
mod trust;
mod water;
mod what_ifs;

pub use plumbing::{plumbing, screen_word};
pub use trust::trust;
pub use water::{dead_spots, water};
pub use what_ifs::what_ifs;

/// A table for people.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// Over it.
    pub title: String,
    /// One a column.
    pub headings: Vec<String>,
    /// Which way each column leans: a letter each, `l` or `r`.
    pub lean: &'static str,
    /// Cells, row by row.
    pub rows: Vec<Vec<String>>,
    /// Under it; may be empty.
    pub note: String,
}

impl Table {
    fn new(title: &str, headings: Vec<String>, lean: &'static str, rows: Vec<Vec<String>>) -> Self {
        Self { title: title.to_owned(), headings, lean, rows, note: String::new() }
    }

    fn with_note(mut self, note: &str) -> Self {
        self.note = note.to_owned();
        self
    }
}

fn with_unit(what: &str, unit: &str) -> String {
    format!("{what}, {unit}")
}
