//! Pipe sizes and fittings with their sources: data that ships with the program and that a user's own file can add to.

mod fitting;
mod pipe;

pub use fitting::{BoreChange, FittingKind, FittingLaw, rough_friction};
pub use pipe::{Bore, PipeSize};

use serde::{Deserialize, de::DeserializeOwned};
use std::{path::Path, sync::LazyLock};

static BUILTIN: LazyLock<Catalog> = LazyLock::new(|| {
    let read = || -> Result<Catalog, CatalogError> {
        let pipes = parse("assets/catalog/pipes.ron", include_str!("../../assets/catalog/pipes.ron"))?;
        let fittings = parse("assets/catalog/fittings.ron", include_str!("../../assets/catalog/fittings.ron"))?;
        Ok(Catalog { pipes, fittings })
    };
    read().unwrap_or_else(|error| panic!("{error}"))
});

/// What can be bought: looked up by the names that a layout uses. Case and spaces don't matter.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Catalog {
    #[serde(default)]
    pipes: Vec<PipeSize>,
    #[serde(default)]
    fittings: Vec<FittingKind>,
}

/// Why a catalogue file can't be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{file}:{line}:{column}: {why}; see assets/catalog for how entries are written")]
pub struct CatalogError {
    /// As given.
    pub file: String,
    /// From 1.
    pub line: usize,
    /// From 1.
    pub column: usize,
    /// What is wrong there.
    pub why: String,
}

impl Catalog {
    /// What ships with the program.
    pub fn builtin() -> &'static Self {
        &BUILTIN
    }

    /// The builtin catalogue with a user's file laid over it: `(pipes: [...], fittings: [...])`, entries as in
    /// `assets/catalog`. An entry of the same name takes the builtin one's place.
    ///
    /// # Errors
    /// With the place in the file and what is wrong with it.
    pub fn with_file(file: &str, bytes: &[u8]) -> Result<Self, CatalogError> {
        Self::builtin().and_file(file, bytes)
    }

    /// This catalogue with a user's file laid over it.
    ///
    /// # Errors
    /// As [`Catalog::with_file`].
    pub fn and_file(&self, file: &str, bytes: &[u8]) -> Result<Self, CatalogError> {
        let text = std::str::from_utf8(bytes).map_err(|_| fail(file, (1, 1), "it is not UTF-8 text"))?;
        let own: Self = parse(file, text)?;
        Ok(Self { pipes: [own.pipes, self.pipes.clone()].concat(), fittings: [own.fittings, self.fittings.clone()].concat() })
    }

    /// This catalogue with a file from the disk laid over it.
    ///
    /// # Errors
    /// When it can't be opened; else as [`Catalog::with_file`].
    pub fn and_path(&self, path: &Path) -> Result<Self, CatalogError> {
        let name = path.display().to_string();
        let bytes = std::fs::read(path).map_err(|error| fail(&name, (1, 1), &format!("it can't be opened: {error}")))?;
        self.and_file(&name, &bytes)
    }

    /// A pipe size by name: "2 in, schedule 40".
    pub fn pipe(&self, name: &str) -> Option<&PipeSize> {
        self.pipes.iter().find(|pipe| same(&pipe.name, name))
    }

    /// A fitting by name: "elbow 90".
    pub fn fitting(&self, name: &str) -> Option<&FittingKind> {
        self.fittings.iter().find(|fitting| same(&fitting.name, name))
    }

    /// Names of all pipe sizes.
    pub fn pipe_names(&self) -> impl Iterator<Item = &str> {
        self.pipes.iter().map(|pipe| pipe.name.as_str())
    }

    /// Names of all fittings.
    pub fn fitting_names(&self) -> impl Iterator<Item = &str> {
        self.fittings.iter().map(|fitting| fitting.name.as_str())
    }
}

/// Whether two names differ in nothing but case and spaces.
fn same(a: &str, b: &str) -> bool {
    let plain = |text: &str| -> String { text.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect() };
    plain(a) == plain(b)
}

fn parse<T: DeserializeOwned>(file: &str, text: &str) -> Result<T, CatalogError> {
    let options = ron::Options::default().with_recursion_limit(32).with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME);
    options.from_str(text).map_err(|error| fail(file, (error.span.start.line, error.span.start.col), &error.code.to_string()))
}

fn fail(file: &str, (line, column): (usize, usize), why: &str) -> CatalogError {
    CatalogError { file: file.into(), line, column, why: why.into() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn names_are_unique_and_every_entry_has_a_source() {
        let catalog = Catalog::builtin();
        let names: Vec<_> = catalog.pipe_names().chain(catalog.fitting_names()).collect();
        assert_eq!(names.iter().collect::<HashSet<_>>().len(), names.len());
        assert!(catalog.pipes.iter().all(|p| !p.source.is_empty() && p.bore_average_m <= p.bore_min_wall_m));
        assert!(catalog.fittings.iter().all(|f| !f.source.is_empty() && !f.range.is_empty()));
    }

    #[test]
    fn a_file_is_laid_over_it() {
        let own = r#"(pipes: [(name: "50 mm, hose", outside: "60 mm", wall: "5 mm", source: "measured")],
            fittings: [(name: "Elbow 90", law: fixed(k: 0.9), source: "maker's sheet", range: "that elbow")])"#;
        let catalog = Catalog::with_file("own.ron", own.as_bytes()).unwrap();
        assert!((catalog.pipe("50 mm,hose").unwrap().bore(Bore::Average) - 0.05).abs() < 1e-12);
        assert_eq!(catalog.fitting("elbow 90").unwrap().k(0.05, 1.0), Some(0.9));
        assert!(catalog.pipe("2 in, schedule 40").is_some());
    }

    #[test]
    fn a_bad_file_is_told_where() {
        let error = Catalog::with_file("own.ron", b"(\n  pipes: [(nam: \"x\")])").unwrap_err();
        assert_eq!((error.file.as_str(), error.line), ("own.ron", 2));
        assert!(Catalog::with_file("own.ron", &[0xff, 0xfe]).is_err());
        let missing = Catalog::builtin().and_path(Path::new("no/such/file.ron")).unwrap_err();
        assert!(missing.to_string().contains("can't be opened"), "{missing}");
        let bad = Catalog::with_file("own.ron", br#"(fittings: [(name: "x", law: fixed(k: -1), source: "", range: "")])"#).unwrap_err();
        assert!(bad.to_string().contains("fitting `x`"), "{bad}");
    }
}
