//! Reading and saving layouts.

use super::problem::{Problem, Problems};
use super::text::Node;
use super::{Layout, read as reader};
use std::path::{Path, PathBuf};
use std::{fs, io};

/// The embedded layout that the program opens without a file.
pub const DEMO: &str = include_str!("../../layouts/peninsula.ron");

/// A layout with the text that it came from.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// The design.
    pub layout: Layout,
    /// As read (after migration, if the file was older).
    pub text: String,
    /// Where it came from, if from a file.
    pub path: Option<PathBuf>,
    root: Node,
}

impl Loaded {
    /// Line and column, from 1, of a part named as findings name it: `nozzles/N3`, `circuits/loop/suction/S1`, `tank/bracing/front`.
    pub fn location(&self, part: &str) -> Option<(usize, usize)> {
        reader::location(&self.text, &self.root, part)
    }
}

/// Reads a layout; `name` is for messages.
///
/// # Errors
/// With everything that is wrong with the text.
pub fn read(name: &str, bytes: &[u8]) -> Result<Loaded, Problems> {
    let (layout, text, root) = reader::read(name, bytes)?;
    Ok(Loaded { layout, text, path: None, root })
}

/// Reads a layout file.
///
/// # Errors
/// When it can't be opened, or with everything that is wrong with its text.
pub fn load(path: &Path) -> Result<Loaded, Problems> {
    let name = path.display().to_string();
    let bytes = fs::read(path).map_err(|error| Problems::new(&name, "", vec![cannot_open(&error)]))?;
    Ok(Loaded { path: Some(path.to_owned()), ..read(&name, &bytes)? })
}

fn cannot_open(error: &io::Error) -> Problem {
    let mend = match error.kind() {
        io::ErrorKind::NotFound => "check the name, or make a new layout with `slackwater new FILE`",
        io::ErrorKind::PermissionDenied => "ask for the right to read it",
        _ => "check that it is a file",
    };
    Problem::whole("the file can't be opened", error.to_string(), mend)
}

/// The embedded layout.
///
/// # Panics
/// Never: a test reads it.
pub fn demo() -> Layout {
    read("the embedded layout", DEMO.as_bytes()).unwrap_or_else(|problems| panic!("{problems}")).layout
}
