//! Reading and saving layouts.

use super::problem::{Problem, Problems};
use super::text::Node;
use super::write::write;
use super::{Layout, read as reader, scan};
use crate::catalog::{Catalog, CatalogError};
use std::path::{Path, PathBuf};
use std::{fs, io, io::Write};
use tempfile::NamedTempFile;

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

    /// The builtin catalogue with the layout's own file over it, which is looked for beside the layout.
    ///
    /// # Errors
    /// When that file can't be opened or read.
    pub fn catalog(&self) -> Result<Catalog, CatalogError> {
        catalog_of(&self.layout, self.path.as_deref())
    }
}

/// The builtin catalogue with the own file of a layout over it; `path` is where the layout lies.
///
/// # Errors
/// When that file can't be opened or read.
pub fn catalog_of(layout: &Layout, path: Option<&Path>) -> Result<Catalog, CatalogError> {
    let builtin = Catalog::builtin();
    if layout.catalogue.is_empty() {
        return Ok(builtin.clone());
    }
    let folder = path.and_then(Path::parent).unwrap_or(Path::new(""));
    builtin.and_path(&folder.join(&layout.catalogue))
}

/// Reads a layout; `name` is for messages.
///
/// # Errors
/// With everything that is wrong with the text.
pub fn read(name: &str, bytes: &[u8]) -> Result<Loaded, Problems> {
    let (layout, text, root) = reader::read(name, bytes)?;
    Ok(Loaded { layout, text, path: None, root })
}

/// Reads a layout file, and the mesh files that its rocks name.
///
/// # Errors
/// When it can't be opened, or with everything that is wrong with its text.
pub fn load(path: &Path) -> Result<Loaded, Problems> {
    let name = path.display().to_string();
    let bytes = fs::read(path).map_err(|error| Problems::new(&name, "", vec![cannot_open(&error)]))?;
    let mut loaded = Loaded { path: Some(path.to_owned()), ..read(&name, &bytes)? };
    scan::fetch(&mut loaded.layout, path.parent().unwrap_or(Path::new(".")));
    Ok(loaded)
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

/// Saves a layout so that a crash leaves either the old file or the new one. `original` as for [`write()`].
///
/// # Errors
/// When the folder or the file can't be written.
pub fn save(path: &Path, layout: &Layout, original: Option<&str>) -> io::Result<()> {
    // A link keeps pointing at the file that it points at.
    let path = path.canonicalize().unwrap_or_else(|_| path.to_owned());
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut file = new_file_in(folder)?;
    file.write_all(write(layout, original).as_bytes())?;
    if let Ok(old) = fs::metadata(&path) {
        file.as_file().set_permissions(old.permissions())?;
    }
    file.as_file().sync_all()?;
    file.persist(&path).map_err(|error| error.error)?;
    Ok(())
}

/// A file in the folder of the one to be saved, which goes away by itself unless it is persisted. Temporary files are their owner's alone; this one
/// may be read by whoever may read new files.
///
/// # Errors
/// When the folder isn't there or isn't ours to write to.
pub fn new_file_in(folder: &Path) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".slackwater-").suffix(".tmp");
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.tempfile_in(folder)
}

/// A commented layout to start from: what `slackwater new` writes.
pub fn template() -> &'static str {
    include_str!("../../assets/template.ron")
}
