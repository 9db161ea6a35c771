//! Writing the sheets: each file beside its place first, then renamed, so that no half a sheet is ever found.

use super::page::{Document, Drawing, outlined_svg};
use crate::layout::file::new_file_in;
use crate::study::Control;
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
    /// What is on it.
    pub content: Content,
    /// Whom it is for and what they do with it, for the index.
    pub purpose: &'static str,
}

/// What is on a sheet, before it is turned into the bytes of a file: drawing is quick, converting is not.
#[derive(Debug, Clone, PartialEq)]
pub enum Content {
    /// The file as it is.
    Bytes(Vec<u8>),
    /// Pages to read, for a PDF.
    Pages(Document),
    /// Parts of one large drawing, cut to office paper, for a PDF.
    Tiles(Document),
    /// One drawing, for an SVG whose text is outlines.
    Outlined(Drawing),
}

impl Sheet {
    /// From a name and its content.
    pub fn new(name: impl Into<String>, content: Content) -> Self {
        Self { name: name.into(), content, purpose: "" }
    }

    /// A file whose text or bytes are ready.
    pub fn ready(name: impl Into<String>, bytes: impl Into<Vec<u8>>) -> Self {
        Self::new(name, Content::Bytes(bytes.into()))
    }

    /// The same, with what it is for.
    pub fn purpose(mut self, words: &'static str) -> Self {
        self.purpose = words;
        self
    }

    /// The file's bytes.
    ///
    /// # Errors
    /// When a drawing can't be converted; the text says why.
    pub fn bytes(&self) -> Result<Vec<u8>, String> {
        match &self.content {
            Content::Bytes(bytes) => Ok(bytes.clone()),
            Content::Pages(document) | Content::Tiles(document) => document.pdf(),
            Content::Outlined(drawing) => outlined_svg(drawing).map(String::into_bytes),
        }
    }
}

/// Writes sheets into a folder, which is made if need be; returns their paths.
///
/// # Errors
/// With the file's name, when a sheet can't be converted, or the folder or a file can't be written.
pub fn write(folder: &Path, sheets: &[Sheet]) -> io::Result<Vec<PathBuf>> {
    write_watched(folder, sheets, &mut |_, _| Control::Go)
}

/// The same; `see` is told which share is done and which file comes next, and says whether to go on.
///
/// All sheets are converted and written under other names first, and only then take their places.
///
/// # Errors
/// As `write`, and `Interrupted` when it was stopped; the folder's sheets are as they were then.
pub fn write_watched(folder: &Path, sheets: &[Sheet], see: &mut dyn FnMut(f64, &str) -> Control) -> io::Result<Vec<PathBuf>> {
    let paths: Vec<PathBuf> = sheets.iter().map(|sheet| folder.join(&sheet.name)).collect();
    if let Some(path) = paths.iter().find(|path| path.is_dir()) {
        return Err(io::Error::new(io::ErrorKind::AlreadyExists, format!("{}: a folder of that name is in the way", path.display())));
    }
    fs::create_dir_all(folder).map_err(|error| named(folder, &error))?;
    let mut ready = Vec::new();
    for (at, (sheet, path)) in sheets.iter().zip(paths).enumerate() {
        if see(at as f64 / sheets.len() as f64, &sheet.name) == Control::Stop {
            return Err(io::Error::new(io::ErrorKind::Interrupted, "stopped; nothing was written"));
        }
        ready.push((beside(folder, sheet, &path)?, path));
    }
    let paths = ready.into_iter().map(|(file, path)| persist(file, path)).collect();
    see(1.0, "written");
    paths
}

/// A sheet's bytes in a file of another name, which goes away by itself unless it is persisted.
fn beside(folder: &Path, sheet: &Sheet, path: &Path) -> io::Result<NamedTempFile> {
    let bytes = sheet.bytes().map_err(|why| io::Error::new(io::ErrorKind::InvalidData, format!("{}: {why}", path.display())))?;
    let mut file = new_file_in(folder).map_err(|error| named(folder, &error))?;
    io::Write::write_all(&mut file, &bytes).map_err(|error| named(path, &error))?;
    Ok(file)
}

fn persist(file: NamedTempFile, path: PathBuf) -> io::Result<PathBuf> {
    file.persist(&path).map_err(|error| named(&path, &error.error))?;
    Ok(path)
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
            let paths = write(&inner, &[Sheet::ready("a.txt", text)]).unwrap();
            assert_eq!(fs::read_to_string(&paths[0]).unwrap(), text);
        }
        assert_eq!(fs::read_dir(&inner).unwrap().count(), 1);
        assert!(write(&inner.join("a.txt"), &[]).unwrap_err().to_string().contains("a.txt"));
    }
    #[test]
    fn a_stop_or_a_folder_in_the_way_leaves_all_as_it_was() {
        let folder = tempfile::tempdir().unwrap();
        let both = |text: &str| ["a.txt", "b.txt"].map(|name| Sheet::ready(name, text));
        write(folder.path(), &both("old")).unwrap();
        let stop = write_watched(folder.path(), &both("new"), &mut |share, _| if share > 0.0 { Control::Stop } else { Control::Go });
        assert_eq!(stop.unwrap_err().kind(), io::ErrorKind::Interrupted);
        fs::create_dir(folder.path().join("c.txt")).unwrap();
        let mut more = both("new").to_vec();
        more.push(Sheet::ready("c.txt", "new"));
        assert!(write(folder.path(), &more).unwrap_err().to_string().contains("c.txt"));
        assert_eq!(fs::read_to_string(folder.path().join("a.txt")).unwrap(), "old");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 3);
    }
}
