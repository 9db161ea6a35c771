//! Where results go when no folder is named.

use std::path::{Path, PathBuf};

/// The file's name with what was done to it, in the folder that the program runs in: `layouts/lagoon.ron` is studied into `lagoon-study`.
pub fn folder(file: &Path, what: &str) -> PathBuf {
    let stem = file.file_stem().map_or_else(|| "layout".into(), |stem| stem.to_string_lossy());
    PathBuf::from(format!("{stem}-{what}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folders_are_named_after_the_file() {
        assert_eq!(folder(Path::new("layouts/lagoon.ron"), "study"), Path::new("lagoon-study"));
        assert_eq!(folder(Path::new(".."), "handover"), Path::new("layout-handover"));
    }
}
