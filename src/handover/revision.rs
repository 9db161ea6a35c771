//! What every sheet repeats, so that sheets of two designs can't be mixed: name, revision, date.

use crate::layout::Layout;
pub use crate::layout::revision;

/// Name, revision and date of a set of sheets.
#[derive(Debug, Clone, PartialEq)]
pub struct Stamp {
    /// Name of the layout.
    pub name: String,
    /// Content hash of the layout, for people: "3f9a 12c4".
    pub revision: String,
    /// As given: "2026-03-01".
    pub date: String,
}

impl Stamp {
    /// The stamp of a layout on a date.
    pub fn new(layout: &Layout, date: &str) -> Self {
        let name = if layout.name.trim().is_empty() { "Layout without a name".to_owned() } else { layout.name.trim().to_owned() };
        Self { name, revision: revision(layout), date: date.to_owned() }
    }
}
