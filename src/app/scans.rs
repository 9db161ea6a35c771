//! Rock from mesh files: importing one, and keeping their names right when the layout's file moves.

use super::document::Edit;
use super::model::{Errand, Model};
use super::part::Item;
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

    /// Add the mesh in this file as rock on the floor, in the middle of the tank, in the unit in which it fits.
    pub(super) fn import(&mut self, path: &Path) -> Vec<Errand> {
        let up = if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("glb")) { Up::Y } else { Up::Z };
        let whole = path.canonicalize().unwrap_or_else(|_| path.to_owned());
        let file = scan::name_from(&whole, &self.folder()).display().to_string();
        let mut rock = Rock {
            id: path.file_stem().map_or_else(|| "scan 1".to_owned(), |n| n.to_string_lossy().into_owned()),
            shape: Shape::Scan { file, unit: Length::new(1.0, "mm"), up, scan: Scan::default() },
            at: middle(self.document.layout()),
            turn: Turn::default(),
        };
        let mut alone = Layout { rocks: vec![rock.clone()], ..self.document.layout().as_ref().clone() };
        scan::fetch(&mut alone, &self.folder());
        rock = alone.rocks.remove(0);
        let Shape::Scan { unit, scan, .. } = &mut rock.shape else { return Vec::new() };
        let Some(field) = &scan.field else {
            let why = scan.problem.clone().unwrap_or_default();
            self.say(Grade::Fault, format!("{}: {why}", path.display()));
            return Vec::new();
        };
        let likely = scan::likely_unit(field.size().max_element(), self.document.layout().tank.size().max_element());
        *unit = Length::new(1.0, likely.1);
        let open = if field.open > 0.02 { ", with holes" } else { "" };
        let told =
            format!("{} triangles{open}, taken to be in {}. Drag it into place; scale it if that is wrong", field.triangles, likely.1);
        self.say(Grade::Note, told);
        self.add(vec![Edit::Add(Box::new(Item::Rock(rock)))])
    }

    /// Read scans that are not read yet.
    pub(super) fn fetch_scans(&mut self) {
        let waits = |r: &Rock| matches!(&r.shape, Shape::Scan { scan, .. } if scan.field.is_none() && scan.problem.is_none());
        if self.document.layout().rocks.iter().any(waits) {
            let folder = self.folder();
            self.document.touch_up(|layout| scan::fetch(layout, &folder));
        }
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

fn folder_of(path: Option<&Path>) -> PathBuf {
    let folder = path.and_then(Path::parent).filter(|p| !p.as_os_str().is_empty());
    folder.map_or_else(|| PathBuf::from("."), Path::to_owned)
}

fn middle(layout: &Layout) -> Point {
    let size = layout.tank.size();
    let mm = |metres: f64| Length::new((metres * 1e3).round(), "mm");
    Point(mm(size.x / 2.0), mm(size.y / 2.0), mm(layout.sand.as_ref().map_or(0.0, |s| s.depth.si())))
}
