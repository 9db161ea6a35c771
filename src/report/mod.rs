//! A study's results for people and programs: text, pictures, HTML, JSON, CSV, VTK. Reads records and fields; computes no flow.

pub mod cautions;
pub mod check_record;
pub mod compare;
pub mod csv;
pub mod folder;
pub mod grouped;
pub mod html;
pub mod json;
pub mod pictures;
#[cfg(test)]
mod sample;
pub mod shown;
pub mod tables;
pub mod text;
pub mod verdict;
pub mod vtk;

use crate::layout::{Layout, write};
use crate::study::Study;
use folder::Folder;
use std::io;

/// Width of the text report in a file.
const TEXT_WIDTH: usize = 80;

/// Write every form of a study into a folder: `study.html`, `.txt`, `.json`, tables, pictures, `fields.vti`.
///
/// # Errors
/// When the disk says no, or a form can't be made (a slip of ours, told in words).
pub fn write_all(study: &Study, layout: &Layout, folder: &Folder) -> io::Result<()> {
    let record = &study.record;
    folder.write("study.json", json::text(record).map_err(io::Error::other)?.as_bytes())?;
    folder.write("study.txt", text::summary(record, layout.display, TEXT_WIDTH).as_bytes())?;
    folder.write("layout.ron", write(layout, None).as_bytes())?;
    folder.write("fields.vti", &vtk::file(&study.fields).map_err(io::Error::other)?)?;
    for (name, contents) in csv::all(record) {
        folder.write(name, contents.as_bytes())?;
    }
    let pictures = pictures::all(study, layout).and_then(pictures::drawn).map_err(io::Error::other)?;
    for drawn in &pictures {
        folder.write(&format!("{}.svg", drawn.picture.name), drawn.picture.svg.as_bytes())?;
        folder.write(&format!("{}.png", drawn.picture.name), &drawn.png)?;
    }
    folder.write("study.html", html::page(record, layout, &pictures).as_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The whole text of a made-up study keeps to 80 columns and says the verdict first. `SLACKWATER_PICTURES=folder` keeps all files.
    #[test]
    fn everything_is_written() {
        let layout = sample::peninsula();
        let study = sample::study(&layout, 0.1);
        let text = text::summary(&study.record, layout.display, 80);
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
        assert!(
            text.find("Verdict").unwrap() < text.find("FAULT").unwrap() && text.find("FAULT").unwrap() < text.find("CAUTION,").unwrap()
        );
        let place = tempfile::tempdir().unwrap();
        write_all(&study, &layout, &Folder::new(place.path()).unwrap()).unwrap();
        let read: crate::study::Record = serde_json::from_slice(&std::fs::read(place.path().join("study.json")).unwrap()).unwrap();
        let shape = |r: &crate::study::Record| (r.layout.clone(), r.findings.clone(), r.outlets.len(), r.dead_spots.len());
        assert_eq!(shape(&read), shape(&study.record));
        assert_eq!(std::fs::read_dir(place.path()).unwrap().count(), 22);
        if let Some(folder) = std::env::var_os("SLACKWATER_PICTURES") {
            write_all(&study, &layout, &Folder::new(std::path::Path::new(&folder)).unwrap()).unwrap();
        }
    }
}
