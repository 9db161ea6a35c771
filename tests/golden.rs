//! What `slackwater check` says of each worked example, kept word for word; numbers may differ by a hundredth or a last digit, so that a
//! better solver doesn't break them. After a wanted change: `SLACKWATER_BLESS=1 cargo test --release golden`, then read the diff.

use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn check(name: &str) -> String {
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_slackwater"))
        .args(["check", &format!("layouts/{name}.ron")])
        .current_dir(root())
        .output()
        .unwrap();
    String::from_utf8(output.stdout).unwrap()
}

/// Words and numbers by turns: "SA1 2432" gives "SA", 1, " ", 2432.
fn pieces(line: &str) -> Vec<(String, Option<f64>)> {
    let number = |c: char| c.is_ascii_digit() || c == '.';
    let mut pieces: Vec<String> = Vec::new();
    let mut was_number = None;
    for c in line.chars() {
        if was_number != Some(number(c)) {
            pieces.push(String::new());
        }
        was_number = Some(number(c));
        pieces.last_mut().unwrap().push(c);
    }
    pieces.into_iter().map(|piece| (piece.clone(), piece.parse().ok())).collect()
}

/// Numbers nearly the same; everything else the same but for the spaces that fill a column.
fn same(a: &str, b: &str) -> bool {
    let (a, b) = (pieces(a), pieces(b));
    let last_digit = |text: &str| text.split_once('.').map_or(1.0, |(_, after)| 10f64.powi(-(after.len() as i32)));
    a.len() == b.len()
        && a.iter().zip(&b).all(|((a, x), (b, y))| match (x, y) {
            (Some(x), Some(y)) => (x - y).abs() <= (0.01 * x.abs()).max(1.01 * last_digit(a)),
            _ => a.trim() == b.trim(),
        })
}

fn compare(name: &str) {
    let (found, path) = (check(name), root().join(format!("tests/golden/{name}.check.txt")));
    if std::env::var_os("SLACKWATER_BLESS").is_some() {
        std::fs::write(&path, &found).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let differ = found.lines().zip(kept.lines()).find(|(a, b)| !same(a, b));
    assert!(differ.is_none(), "{name}: {differ:#?}");
    assert_eq!(found.lines().count(), kept.lines().count(), "{name}");
}

#[test]
fn alcove() {
    compare("alcove");
}

#[test]
fn peninsula() {
    compare("peninsula");
}

#[test]
fn lagoon() {
    compare("lagoon");
}

#[test]
fn the_comparison_sees_what_matters() {
    assert!(same("A1   1331–1617   0.33", "A1   1335–1617   0.34"));
    assert!(!same("A1   1331", "A1   1400") && !same("intake under", "intake OVER") && !same("1 fault", "3 fault"));
    assert!(Path::new("layouts/alcove.ron").exists());
}
