//! Scanned or modelled rock from a mesh file: read, made into a field of signed distances once, and asked from then on.

mod field;
mod glb;
mod obj;
mod stl;
mod triangle;
mod winding;

pub use field::Field;

use super::{Layout, Shape};
use glam::{DVec3, Vec3};
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// More triangles than this are refused.
pub const MOST_TRIANGLES: usize = 4_000_000;

/// Which axis of the file points up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Up {
    /// As in the tank.
    #[default]
    Z,
    /// As in glTF, and in many programs for drawing.
    Y,
}

/// What was read of the file that a shape names. Files of the same name are taken to be equal.
#[derive(Debug, Clone, Default)]
pub struct Scan {
    /// Distances in the file's own unit, if the file could be read.
    pub field: Option<Arc<Field>>,
    /// Grown outward by this, m.
    pub grown: f64,
    /// Why the file could not be read.
    pub problem: Option<String>,
}

impl PartialEq for Scan {
    fn eq(&self, other: &Self) -> bool {
        self.grown == other.grown
    }
}

/// Triangles of a file, in its own unit and axes.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Mesh {
    /// Corners.
    pub points: Vec<Vec3>,
    /// Three corners each, anticlockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
}

/// Why a mesh can't be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{file}: {why}")]
pub struct ScanError {
    /// Which file.
    pub file: String,
    /// What is wrong with it, and what would help.
    pub why: String,
}

/// Read a mesh file: STL (binary or text), OBJ, or glTF binary, by its ending.
///
/// # Errors
/// When it can't be read, is of another kind, or holds no triangle or too many.
pub fn read(path: &Path) -> Result<Mesh, ScanError> {
    let fail = |why: String| ScanError { file: path.display().to_string(), why };
    let bytes = std::fs::read(path).map_err(|error| fail(format!("can't be opened: {error}")))?;
    let kind = path.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
    let mesh = match kind.as_str() {
        "stl" => stl::read(&bytes),
        "obj" => obj::read(&bytes),
        "glb" => glb::read(&bytes),
        _ => Err("only STL, OBJ and GLB files can be read; export one of these".to_owned()),
    }
    .map_err(&fail)?;
    sound(mesh).map_err(fail)
}

/// Without triangles that have no area or corners that are no numbers.
fn sound(mut mesh: Mesh) -> Result<Mesh, String> {
    let points = &mesh.points;
    mesh.triangles.retain(|t| {
        let [a, b, c] = t.map(|i| points.get(i as usize).copied().unwrap_or(Vec3::NAN));
        (b - a).cross(c - a).length_squared() > 0.0 && a.is_finite() && b.is_finite() && c.is_finite()
    });
    match mesh.triangles.len() {
        0 => Err("it holds no triangles".to_owned()),
        n if n > MOST_TRIANGLES => Err(format!("it holds {n} triangles; {MOST_TRIANGLES} at most. Thin the mesh out and export it again")),
        _ => Ok(mesh),
    }
}

impl Mesh {
    /// With the tank's axes, standing on the middle of its underside.
    pub fn upright(mut self, up: Up) -> Self {
        if up == Up::Y {
            self.points.iter_mut().for_each(|p| *p = Vec3::new(p.x, -p.z, p.y));
        }
        let used = || self.triangles.iter().flatten().map(|i| self.points[*i as usize]);
        let low = used().fold(Vec3::INFINITY, Vec3::min);
        let high = used().fold(Vec3::NEG_INFINITY, Vec3::max);
        let foot = Vec3::new((low.x + high.x) / 2.0, (low.y + high.y) / 2.0, low.z);
        self.points.iter_mut().for_each(|p| *p -= foot);
        self
    }
}

/// Read the files that a layout's rocks name, unless they were read already. `folder`: where relative names start.
/// What could not be read is noted with the rock, for the check to say.
pub fn fetch(layout: &mut Layout, folder: &Path) {
    for rock in &mut layout.rocks {
        if let Shape::Scan { file, up, scan, .. } = &mut rock.shape
            && scan.field.is_none()
        {
            match read(&folder.join(&*file)) {
                Ok(mesh) => *scan = Scan { field: Some(Arc::new(Field::new(&mesh.upright(*up)))), grown: scan.grown, problem: None },
                Err(error) => scan.problem = Some(error.why),
            }
        }
    }
}

/// Let relative names of mesh files that started at `from` start at `to`.
pub fn moved(layout: &mut Layout, from: &Path, to: &Path) {
    for rock in &mut layout.rocks {
        if let Shape::Scan { file, .. } = &mut rock.shape {
            let whole = from.join(&*file);
            let whole = whole.canonicalize().unwrap_or(whole);
            *file = name_from(&whole, to).display().to_string();
        }
    }
}

/// The name of a file seen from a folder: relative where it lies in it.
pub fn name_from(file: &Path, folder: &Path) -> PathBuf {
    let folder = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    file.strip_prefix(&folder).map_or_else(|_| file.to_owned(), Path::to_owned)
}

/// The unit of the file, in m, with which a thing of this size in it is most likely meant: the largest of common units with which it
/// fits into a tank of this length, m.
pub fn likely_unit(largest: f64, tank: f64) -> (f64, &'static str) {
    let units = [(1.0, "m"), (0.0254, "in"), (0.01, "cm"), (0.001, "mm")];
    units.into_iter().find(|(unit, _)| largest * unit <= tank).unwrap_or((0.001, "mm"))
}

impl Scan {
    /// Size along the tank's axes before turning, in the file's unit.
    pub fn size(&self) -> DVec3 {
        self.field.as_ref().map_or(DVec3::ZERO, |f| f.size())
    }

    /// Signed distance, m, of a place in the rock's own axes, m; `unit`: of the file, m. Infinite where there is no file.
    pub fn distance(&self, place: DVec3, unit: f64) -> f64 {
        self.field.as_ref().map_or(f64::INFINITY, |f| f.distance(place / unit) * unit - self.grown)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_guessed_from_the_tank() {
        assert_eq!(likely_unit(620.0, 2.4).1, "mm");
        assert_eq!(likely_unit(0.62, 2.4).1, "m");
        assert_eq!(likely_unit(24.0, 2.4).1, "in");
    }

    /// A text file of a block 2 by 1 by 0.5 in inches, in a layout that names it.
    #[test]
    fn a_layout_fetches_its_scans_and_their_distances_are_metres() {
        let folder = tempfile::tempdir().unwrap();
        let corner = |i: usize| format!("v {} {} {}\n", 5 + 2 * (i & 1), 7 + (i >> 1 & 1), 0.5 * (i >> 2 & 1) as f32);
        let faces = "f 1 3 4 2\nf 5 6 8 7\nf 1 2 6 5\nf 3 7 8 4\nf 1 5 7 3\nf 2 4 8 6\n";
        let text = (0..8).map(corner).collect::<String>() + faces;
        std::fs::write(folder.path().join("block.obj"), text).unwrap();
        let mut layout = crate::layout::demo();
        let rock = r#"(id:"block",shape:scan(file:"block.obj",unit:"1 in"),at:("1 m","0.4 m","0.2 m"))"#;
        layout.rocks = vec![ron::from_str(rock).unwrap(), ron::from_str(&rock.replace("block.obj", "gone.obj")).unwrap()];
        fetch(&mut layout, folder.path());
        let solids: Vec<_> = layout.rocks.iter().map(crate::layout::solid::Solid::rock).collect();
        let inch = 0.0254;
        let cases = [([0.0, 0.0, 0.25], -0.25), ([0.0, 0.0, 0.52], 0.02), ([0.8, 0.0, 0.25], -0.2), ([0.0, 0.515, 0.2], 0.015)];
        for (at, expected) in cases {
            let place = DVec3::new(1.0, 0.4, 0.2) + DVec3::from_array(at) * inch;
            assert!((solids[0].distance(place) - expected * inch).abs() < 0.012 * inch, "{at:?}: {}", solids[0].distance(place) / inch);
        }
        assert_eq!(solids[1].distance(DVec3::ZERO), f64::INFINITY);
        let found = crate::layout::check(&layout, crate::catalog::Catalog::builtin());
        assert!(found.iter().any(|f| f.rule == "scan-missing" && f.blocks));
        moved(&mut layout, folder.path(), &folder.path().join("elsewhere"));
        let Shape::Scan { file, .. } = &layout.rocks[0].shape else { panic!("no scan") };
        assert!(std::path::Path::new(file).is_absolute());
    }

    #[test]
    fn unreadable_files_are_said() {
        let folder = tempfile::tempdir().unwrap();
        for (name, bytes) in [("a.stl", &b"solid nothing"[..]), ("b.obj", b"v 1 2"), ("c.glb", b"glTF"), ("d.ply", b"ply"), ("e.stl", b"")]
        {
            let path = folder.path().join(name);
            std::fs::write(&path, bytes).unwrap();
            let error = read(&path).unwrap_err();
            assert!(error.file.ends_with(name) && !error.why.is_empty());
        }
        assert!(read(&folder.path().join("not there.stl")).is_err());
    }
}
