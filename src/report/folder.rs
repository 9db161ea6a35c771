//! The folder a study is written into: each file appears whole or not at all, and replaces the one before it.

use crate::layout::file::new_file_in;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// A folder for results.
#[derive(Debug, Clone)]
pub struct Folder {
    path: PathBuf,
}

impl Folder {
    /// The folder at `path`, made if it is not there.
    ///
    /// # Errors
    /// When it can't be made.
    pub fn new(path: &Path) -> io::Result<Self> {
        std::fs::create_dir_all(path)?;
        Ok(Self { path: path.to_owned() })
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Write a file beside its place, then move it there.
    ///
    /// # Errors
    /// When the disk says no; the old file, if any, then still stands.
    pub fn write(&self, name: &str, bytes: &[u8]) -> io::Result<()> {
        let mut file = new_file_in(&self.path)?;
        file.write_all(bytes)?;
        file.as_file().sync_all()?;
        file.persist(self.path.join(name)).map_err(|e| e.error)?;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn replaces_and_leaves_nothing_behind() {
        let place = tempfile::tempdir().unwrap();
        let folder = Folder::new(&place.path().join("a/b")).unwrap();
        folder.write("x.txt", b"one").unwrap();
        folder.write("x.txt", b"two").unwrap();
        assert_eq!(std::fs::read(folder.path().join("x.txt")).unwrap(), b"two");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
