//! Writing the sheets: each file beside its place first, then renamed, so that no half a sheet is ever found.

use std::{
    fs, io,
    path::{Path, PathBuf},
};
use tempfile::NamedTempFile;

/// A sheet to write.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// File name.
    pub name: String,
    /// What goes in it.
    pub bytes: Vec<u8>,
    /// Whom it is for and what they do with it, for the index.
    pub purpose: &'static str,
}

impl Sheet {
    /// From a name and its content.
    pub fn new(name: impl Into<String>, bytes: impl Into<Vec<u8>>) -> Self {
        Self { name: name.into(), bytes: bytes.into(), purpose: "" }
    }

    /// The same, with what it is for.
    pub fn purpose(mut self, words: &'static str) -> Self {
        self.purpose = words;
        self
    }
}

/// Writes sheets into a folder, which is made if need be; returns their paths.
///
/// # Errors
/// With the file's name, when the folder or a file can't be written.
pub fn write(folder: &Path, sheets: &[Sheet]) -> io::Result<Vec<PathBuf>> {
    fs::create_dir_all(folder).map_err(|error| named(folder, &error))?;
    let mut ready = Vec::new();
    for sheet in sheets {
        let mut file = NamedTempFile::new_in(folder).map_err(|error| named(folder, &error))?;
        io::Write::write_all(&mut file, &sheet.bytes).map_err(|error| named(&folder.join(&sheet.name), &error))?;
        ready.push((file, folder.join(&sheet.name)));
    }
    ready.into_iter().map(|(file, path)| persist(file, path)).collect()
}

fn persist(file: NamedTempFile, path: PathBuf) -> io::Result<PathBuf> {
    make_readable(&file)?;
    file.persist(&path).map_err(|error| named(&path, &error.error))?;
    Ok(path)
}

/// Temporary files are for their owner alone; sheets are for everyone who may read the folder.
#[cfg(unix)]
fn make_readable(file: &NamedTempFile) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.as_file().set_permissions(fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn make_readable(_: &NamedTempFile) -> io::Result<()> {
    Ok(())
}

fn named(path: &Path, error: &io::Error) -> io::Error {
    io::Error::new(error.kind(), format!("{}: {error}", path.display()))
}

/// Rows as comma-separated values (RFC 4180).
pub fn csv(head: &[&str], rows: &[Vec<String>]) -> String {
    let line = |cells: &mut dyn Iterator<Item = &str>| cells.map(quoted).collect::<Vec<_>>().join(",") + "\r\n";
    let mut text = line(&mut head.iter().copied());
    for row in rows {
        text.push_str(&line(&mut row.iter().map(String::as_str)));
    }
    text
}

fn quoted(cell: &str) -> String {
    if cell.contains(['"', ',', '\n', '\r']) { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn csv_quotes_what_it_must() {
        assert_eq!(csv(&["a", "b"], &[vec!["1, 2".into(), "3\" pipe".into()]]), "a,b\r\n\"1, 2\",\"3\"\" pipe\"\r\n");
    }

    #[test]
    fn writes_and_replaces() {
        let folder = tempfile::tempdir().unwrap();
        let inner = folder.path().join("made");
        for text in ["one", "two"] {
            let paths = write(&inner, &[Sheet::new("a.txt", text)]).unwrap();
            assert_eq!(fs::read_to_string(&paths[0]).unwrap(), text);
        }
        assert_eq!(fs::read_dir(&inner).unwrap().count(), 1);
        assert!(write(&inner.join("a.txt"), &[]).unwrap_err().to_string().contains("a.txt"));
    }
}
