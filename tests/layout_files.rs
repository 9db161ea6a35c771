//! Layout files as users write them: reading, every problem at once, saving.

use slackwater::layout::{self, Problems};
use std::path::Path;

fn problems_of(bytes: impl AsRef<[u8]>) -> Problems {
    layout::read("test.ron", bytes.as_ref()).map(|_| ()).unwrap_err()
}

/// The demo with replacements.
fn demo_with(edits: &[(&str, &str)]) -> String {
    edits.iter().fold(layout::DEMO.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "the demo has no {from}");
        text.replacen(from, to, 1)
    })
}

#[test]
fn worked_examples_read() {
    for entry in std::fs::read_dir("layouts").unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|ending| ending == "ron") {
            layout::load(&path).unwrap_or_else(|problems| panic!("{problems}"));
        }
    }
}

#[test]
fn a_missing_file_is_one_problem() {
    let problems = layout::load(Path::new("no/such.ron")).map(|_| ()).unwrap_err();
    assert!(problems.to_string().contains("no/such.ron: the file can't be opened"));
}

#[test]
fn every_problem_at_once_with_its_place() {
    let text = "(
    version: 1,
    name: \"broken ü\", lenght: 3,
    tank: (
        length: \"2 parsec\", width: 900, height: \"800 mm\",
        water_level: \"75\",
        panels: (
            front: (material: wood, thickness: \"19 mm\"),
            back: (material: glass),
            left: (material: glass, thickness: \"19 mm\"),
            right: (material: glass, thickness: \"19 mm\"),
            bottom: (material: glass, thickness: \"19 mm\"),
        ),
    ),
    pumps: [
        (id: \"P1\", curve: [(flow: \"0 gph\", head: \"12 lb\")], sped: 0.9, speed: fast),
        (curve: [], power: 3),
    ],
    drums: [(id: \"D\", outlets: -4, bore: \"1 in\", port_arc: \"60 deg\", windows: [], windows: [])],
    probes: [(id: \"p\", at: (\"1 m\", \"2 m\"))],
)";
    let problems = problems_of(text);
    let places: Vec<_> = problems.list().iter().filter_map(|p| p.place).collect();
    let expected = [
        (3, 23, "`lenght` is not a known field"),
        (5, 17, "`2 parsec` is not a length"),
        (5, 36, "`900` stands where a text in quotes belongs"),
        (6, 22, "`75` is not a length"),
        (8, 31, "`wood` is not a known choice"),
        (9, 19, "`thickness` is missing"),
        (16, 50, "`12 lb` is not a head"),
        (16, 61, "`sped` is not a known field"),
        (16, 79, "`fast` is not a number"),
        (17, 9, "`id` is missing"),
        (17, 28, "`3` stands where"),
        (19, 32, "`-4` is not a whole number"),
        (19, 83, "`windows` is given twice"),
        (20, 28, "2 values stand here"),
    ];
    for (line, column, what) in expected {
        let found = problems.list().iter().find(|p| p.what.starts_with(what));
        assert_eq!(found.and_then(|p| p.place), Some((line, column)), "{what}\n{problems}");
    }
    assert_eq!(places.len(), expected.len(), "{problems}");
    assert!(problems.to_string().contains("did you mean `speed`?"), "{problems}");
}

#[test]
fn broken_brackets_do_not_hide_the_rest() {
    let text = demo_with(&[("depth: \"40 mm\", grain", "depth: \"40 mm\" grain"), ("port_arc: \"60 deg\"", "port_arc: \"60 dge\"")]);
    let problems = problems_of(text).to_string();
    assert!(problems.contains("a comma is missing") && problems.contains("`60 dge` is not an angle"), "{problems}");
}

#[test]
fn any_bytes_give_a_message() {
    let demo = layout::DEMO.as_bytes();
    let mut cut: Vec<Vec<u8>> = (0..demo.len()).step_by(97).map(|end| demo[..end].to_vec()).collect();
    cut.extend([vec![], vec![0xff, 0xfe, 0x00], vec![0], b"(".repeat(1 << 20), b"[[[[]]]]".to_vec(), b"42".to_vec(), b"()".to_vec()]);
    cut.push(demo_with(&[("Peninsula", "\u{0}")]).replace("\u{0}", "x").into_bytes());
    let last = cut.len() - 1;
    for bytes in &cut[..last] {
        assert!(!problems_of(bytes).list().is_empty());
    }
    let latin: Vec<u8> = demo_with(&[("Peninsula", "Peninsu~a")]).bytes().map(|b| if b == b'~' { 0xe9 } else { b }).collect();
    assert_eq!(problems_of(latin).list().len(), 1);
}

#[test]
fn newer_versions_are_turned_away_with_one_message() {
    let problems = problems_of("(version: 99, something: new, tank: 3)");
    assert_eq!(problems.list().len(), 1);
    assert!(problems.to_string().starts_with("test.ron:1:11: the layout is of format version 99"), "{problems}");
}

#[test]
fn parts_are_found() {
    let loaded = layout::read("demo", layout::DEMO.as_bytes()).unwrap();
    let line = |needle: &str| layout::DEMO[..layout::DEMO.find(needle).unwrap()].matches('\n').count() + 1;
    for (part, needle) in [
        ("nozzles/A3", "(id: \"A3\""),
        ("circuits/loop B/discharge/DB2", "(id: \"DB2\""),
        ("tank/bracing/cross brace", "(id: \"cross brace\""),
        ("overflows/end box/drains/main drain", "(id: \"main drain\""),
        ("drums/unit A/windows/1", "(id: \"unit A\", outlets"),
        ("sequences/slow turn/drives/unit B", "(drum: \"unit B\", motion: turning"),
        ("runs/DA4", "(id: \"DA4\""),
        ("sand", "(depth: \"40 mm\""),
    ] {
        assert_eq!(loaded.location(part).map(|place| place.0), Some(line(needle)), "{part}");
    }
    assert_eq!(loaded.location("nozzles/none"), None);
}
