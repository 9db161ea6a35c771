//! Layouts from files.

use super::output::complain;
use crate::layout::{self, Loaded, Problems};
use std::path::Path;

/// A layout, or nothing after everything that is wrong with the file has been told on standard error.
pub fn layout(path: &Path) -> Option<Loaded> {
    layout::load(path).inspect_err(tell).ok()
}

/// Tell what is wrong with a file, with its lines.
pub fn tell(problems: &Problems) {
    complain(format!("{:?}", miette::Report::new(problems.clone())).trim_end());
}
