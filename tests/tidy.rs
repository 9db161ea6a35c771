//! The house rules that a machine can keep: who may know whom, words that don't belong, sizes of files.
//! DEVELOPERS.md states them; change both together.

use std::{
    fs,
    path::{Path, PathBuf},
};

/// Which of our own modules a module may name. `main.rs` and `lib.rs` are the root and may name all.
const MAY_KNOW: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("water", &["units"]),
    ("finding", &["units"]),
    ("catalog", &["units", "finding"]),
    ("layout", &["units", "catalog", "finding"]),
    ("hydraulics", &["units", "water"]),
    ("sequence", &["units"]),
    ("flow", &["units"]),
    ("setup", &["units", "water", "finding", "layout", "catalog", "hydraulics", "sequence", "flow", "study::record"]),
    ("safety", &["units", "water", "finding", "layout", "catalog", "hydraulics", "sequence", "flow", "setup"]),
    ("study", &["units", "water", "finding", "layout", "catalog", "hydraulics", "sequence", "flow", "setup", "safety"]),
    ("calibrate", &["units", "water", "finding", "layout", "catalog", "sequence", "setup", "safety"]),
    ("session", &["units", "water", "finding", "layout", "catalog", "flow", "setup", "safety", "study"]),
    ("report", &["units", "finding", "layout", "catalog", "setup", "safety", "calibrate", "study"]),
    ("handover", &["units", "finding", "layout", "catalog", "setup", "safety", "calibrate", "flow", "study", "report"]),
    ("cli", &["units", "finding", "layout", "catalog", "setup", "safety", "calibrate", "study", "session", "report", "handover", "app"]),
    (
        "app",
        &[
            "units", "water", "finding", "layout", "catalog", "sequence", "flow", "setup", "safety", "study", "session", "report",
            "handover",
        ],
    ),
];

/// Words that would mean that a solver has learnt what it is used for.
const FOREIGN_WORDS: &[(&str, &[&str])] = &[
    ("flow", &["aquarium", "pump", "coral", "sump", "reef", "bevy", "egui", "std::fs"]),
    ("hydraulics", &["aquarium", "coral", "sump", "reef", "bevy", "egui", "std::fs"]),
];

/// Longest file we put up with; most are near 150 lines.
const LONGEST_FILE: usize = 600;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        match path.is_dir() {
            true => found.extend(rust_files(&path)),
            false if path.extension().is_some_and(|e| e == "rs") => found.push(path),
            false => {}
        }
    }
    found.sort();
    found
}

fn module_of(path: &Path) -> String {
    let relative = path.strip_prefix(root().join("src")).unwrap();
    relative.iter().next().unwrap().to_string_lossy().trim_end_matches(".rs").to_owned()
}

/// Each `use crate::x` and `crate::x::` in code, as written after `crate::` (lists in braces are split).
fn crate_paths(text: &str) -> Vec<String> {
    let code: String = text.lines().filter(|l| !l.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n");
    let mut paths = Vec::new();
    for piece in code.split("crate::").skip(1) {
        match piece.strip_prefix('{') {
            None => paths.push(piece.chars().take_while(|c| c.is_alphanumeric() || matches!(c, '_' | ':')).collect()),
            Some(list) => paths.extend(top_level_names(list)),
        }
    }
    paths
}

fn top_level_names(list: &str) -> Vec<String> {
    let (mut depth, mut names, mut name) = (0, vec![], String::new());
    for c in list.chars() {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => break,
            '}' => depth -= 1,
            ',' if depth == 0 => names.push(std::mem::take(&mut name)),
            c if depth == 0 && !c.is_whitespace() => name.push(c),
            _ => {}
        }
    }
    names.push(name);
    names.into_iter().filter(|n| !n.is_empty()).collect()
}

fn allowed(module: &str, path: &str) -> bool {
    let Some((_, known)) = MAY_KNOW.iter().find(|(name, _)| *name == module) else { return false };
    let first = path.split("::").next().unwrap_or("");
    first == module || known.iter().any(|k| path == *k || path.starts_with(&format!("{k}::")))
}

#[test]
fn modules_know_only_what_they_may() {
    let mut broken = Vec::new();
    for file in rust_files(&root().join("src")) {
        let module = module_of(&file);
        if matches!(module.as_str(), "lib" | "main") {
            continue;
        }
        for path in crate_paths(&fs::read_to_string(&file).unwrap()) {
            if !allowed(&module, &path) {
                broken.push(format!("{}: `crate::{path}` is not for module `{module}`", file.display()));
            }
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

#[test]
fn only_the_app_knows_the_window() {
    for file in rust_files(&root().join("src")) {
        if module_of(&file) == "app" {
            continue;
        }
        let text = fs::read_to_string(&file).unwrap();
        let code = text.lines().filter(|l| !l.trim_start().starts_with("//"));
        for line in code {
            assert!(!line.contains("bevy") && !line.contains("egui"), "{}: {line}", file.display());
        }
    }
}

#[test]
fn solvers_know_no_aquarium() {
    for (module, words) in FOREIGN_WORDS {
        for file in rust_files(&root().join("src").join(module)) {
            let text = fs::read_to_string(&file).unwrap().to_lowercase();
            for word in *words {
                assert!(!text.contains(word), "{}: the word `{word}` does not belong in `{module}`", file.display());
            }
        }
    }
}

#[test]
fn panels_import_no_bevy_but_its_egui() {
    let folder = root().join("src/app/ui");
    for file in if folder.exists() { rust_files(&folder) } else { vec![] } {
        let text = fs::read_to_string(&file).unwrap();
        for line in text.lines().filter(|l| l.trim_start().starts_with("use ")) {
            assert!(!line.contains("bevy::"), "{}: {line}", file.display());
        }
    }
}

#[test]
fn files_stay_short() {
    for folder in ["src", "tests"] {
        for file in rust_files(&root().join(folder)) {
            let lines = fs::read_to_string(&file).unwrap().lines().count();
            assert!(lines <= LONGEST_FILE, "{} has {lines} lines; split it (longest allowed: {LONGEST_FILE})", file.display());
        }
    }
}

#[test]
fn the_top_level_holds_only_what_it_should() {
    let allowed = [
        "Cargo.toml",
        "Cargo.lock",
        "README.md",
        "DEVELOPERS.md",
        "LICENSE-MIT",
        "LICENSE-APACHE",
        "clippy.toml",
        "rustfmt.toml",
        "src",
        "assets",
        "tests",
        "layouts",
        "benches",
        "target",
        ".git",
        ".gitignore",
        ".ci",
        ".cargo",
        "slackwater-study",
    ];
    for entry in fs::read_dir(root()).unwrap() {
        let name = entry.unwrap().file_name().to_string_lossy().into_owned();
        assert!(allowed.contains(&name.as_str()), "`{name}` does not belong at the top level");
    }
}
