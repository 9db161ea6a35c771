//! Rock from mesh files: importing one, and keeping their names right when the layout's file moves.

use super::document::Edit;
use super::model::{Errand, Model};
use super::part::Item;
use super::reading::Reading;
use crate::finding::Grade;
use crate::layout::scan::{self, Scan, Up};
use crate::layout::{Layout, Point, Rock, Shape, Turn};
use crate::units::Length;
use std::path::{Path, PathBuf};

impl Model {
    /// Where relative names of mesh files start.
    pub(super) fn folder(&self) -> PathBuf {
        folder_of(self.document.path.as_deref())
    }

    /// With what the question for a mesh file begins.
    pub(super) fn mesh_folder(&self) -> String {
        let folder = self.folder();
        let folder = folder.canonicalize().unwrap_or(folder);
        format!("{}{}", folder.display(), std::path::MAIN_SEPARATOR)
    }

    /// Add rock that was made of a mesh, and say what it was taken for.
    pub(super) fn place_scan(&mut self, rock: Rock) -> Vec<Errand> {
        let Shape::Scan { unit, scan, .. } = &rock.shape else { return Vec::new() };
        let (triangles, open) = scan.field.as_ref().map_or((0, 0.0), |field| (field.triangles, field.open));
        let holes = if open > 0.02 { ", with holes" } else { "" };
        let unit = unit.text().trim_start_matches("1 ");
        let told = format!("{triangles} triangles{holes}, taken to be in {unit}. Drag it into place; scale it if that is wrong");
        self.say(Grade::Note, told);
        self.add(vec![Edit::Add(Box::new(Item::Rock(rock)))])
    }

    /// Read scans that are not read yet.
    pub(super) fn fetch_scans(&mut self) {
        if self.jobs.reading.is_none() && self.document.layout().rocks.iter().any(waits) {
            let (mut layout, folder) = (self.document.layout().as_ref().clone(), self.folder());
            self.read(Path::new("rock from its mesh file"), move || {
                scan::fetch(&mut layout, &folder);
                Reading::Scans(layout.rocks)
            });
        }
    }

    /// Give what was read to the rocks that still wait for it.
    pub(super) fn take_scans(&mut self, read: &[Rock]) {
        self.document.touch_up(|layout| {
            for rock in layout.rocks.iter_mut().filter(|rock| waits(rock)) {
                if let Some(same) = read.iter().find(|other| same_file(rock, other)) {
                    rock.shape = same.shape.clone();
                }
            }
        });
    }

    /// Before the layout is written to `path`: names of mesh files start there.
    pub(super) fn move_scans(&mut self, path: &Path) {
        let (from, to) = (self.folder(), folder_of(Some(path)));
        let has = self.document.layout().rocks.iter().any(|r| matches!(r.shape, Shape::Scan { .. }));
        if has && self.document.path.as_deref() != Some(path) {
            self.document.touch_up(|layout| scan::moved(layout, &from, &to));
        }
    }
}

/// Its file was not looked at yet.
fn waits(rock: &Rock) -> bool {
    matches!(&rock.shape, Shape::Scan { scan, .. } if scan.field.is_none() && scan.problem.is_none())
}

/// Both are of the same file, with the same side up and in the same unit.
fn same_file(a: &Rock, b: &Rock) -> bool {
    a.shape == b.shape
}

/// Rock made of the mesh in this file, on the floor, in the middle of the tank, in the unit in which it fits. A million triangles take some
/// seconds.
///
/// # Errors
/// When the file can't be read; the text says why.
pub fn rock(path: &Path, layout: &Layout, folder: &Path) -> Result<Rock, String> {
    let up = if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("glb")) { Up::Y } else { Up::Z };
    let whole = path.canonicalize().unwrap_or_else(|_| path.to_owned());
    let file = scan::name_from(&whole, folder).display().to_string();
    let rock = Rock {
        id: path.file_stem().map_or_else(|| "scan 1".to_owned(), |n| n.to_string_lossy().into_owned()),
        shape: Shape::Scan { file, unit: Length::new(1.0, "mm"), up, scan: Scan::default() },
        at: middle(layout),
        turn: Turn::default(),
        porous: None,
    };
    let mut alone = Layout { rocks: vec![rock], ..layout.clone() };
    scan::fetch(&mut alone, folder);
    let mut rock = alone.rocks.remove(0);
    if let Shape::Scan { unit, scan, .. } = &mut rock.shape {
        let Some(field) = &scan.field else { return Err(scan.problem.clone().unwrap_or_default()) };
        let likely = scan::likely_unit(field.size().max_element(), layout.tank.size().max_element());
        *unit = Length::new(1.0, likely.1);
    }
    Ok(rock)
}

fn folder_of(path: Option<&Path>) -> PathBuf {
    let folder = path.and_then(Path::parent).filter(|p| !p.as_os_str().is_empty());
    folder.map_or_else(|| PathBuf::from("."), Path::to_owned)
}

fn middle(layout: &Layout) -> Point {
    let size = layout.tank.size();
    let mm = |metres: f64| Length::new((metres * 1e3).round(), "mm");
    Point(mm(size.x / 2.0), mm(size.y / 2.0), mm(layout.sand.as_ref().map_or(0.0, |s| s.depth.si())))
}
