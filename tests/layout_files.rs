//! Layout files as users write them: reading, every problem at once, saving.

use proptest::prelude::*;
use slackwater::layout::{self, Layout, Mount, NozzleKind, Point, Problems, Supply};
use slackwater::units::{Display, Length};
use std::path::Path;

const EXAMPLES: [&str; 3] = [layout::DEMO, include_str!("../layouts/alcove.ron"), include_str!("../layouts/lagoon.ron")];

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

fn parsed(text: &str) -> Layout {
    layout::read("test.ron", text.as_bytes()).unwrap_or_else(|problems| panic!("{problems}\n{text}")).layout
}

/// Lines of `new` that `old` does not have.
fn new_lines<'a>(old: &str, new: &'a str) -> Vec<&'a str> {
    new.lines().filter(|line| !old.lines().any(|known| known == *line)).collect()
}

#[test]
fn an_unchanged_layout_keeps_its_bytes() {
    for text in EXAMPLES {
        assert_eq!(layout::write(&parsed(text), Some(text)), text);
        assert_eq!(parsed(&layout::write(&parsed(text), None)), parsed(text));
    }
}

#[test]
fn a_change_touches_its_own_line_only() {
    let text = layout::DEMO;
    let mut changed = parsed(text);
    changed.pumps[0].speed = 0.75;
    if let Mount::Hole { along, .. } = &mut changed.nozzles[0].mount {
        *along = Length::new(205.0, "mm");
    }
    changed.sand = None;
    let written = layout::write(&changed, Some(text));
    let lines = new_lines(text, &written);
    assert_eq!(lines.len(), 3, "{lines:#?}");
    assert_eq!(lines[0], "    sand: None,");
    assert!(lines[1].contains("power: \"370 W\", speed: 0.75)"), "{}", lines[1]);
    assert!(lines[2].contains("along: \"205 mm\", up: \"600 mm\""), "{}", lines[2]);
    assert_eq!(written.lines().count(), text.lines().count());
}

#[test]
fn entries_come_and_go_on_their_own_lines() {
    let text = layout::DEMO;
    let mut changed = parsed(text);
    let mut copy = changed.nozzles.remove(3);
    copy.id = "A9".into();
    changed.nozzles.insert(1, copy);
    changed.probes.clear();
    changed.zones.push(changed.zones[0].clone());
    changed.zones[1].id = "second strip".into();
    let written = layout::write(&changed, Some(text));
    assert_eq!(parsed(&written), changed);
    let lines = new_lines(text, &written);
    assert_eq!(lines.len(), 3, "{lines:#?}");
    assert!(lines[0].starts_with("        (id: \"A9\"") && lines[0].ends_with("),"), "{}", lines[0]);
    assert!(!written.contains("\"A4\", mount") && written.contains("// Unit B: risers at the open end"));
}

#[test]
fn a_part_that_may_be_left_out_comes_and_goes() {
    let text = layout::DEMO;
    let mut changed = parsed(text);
    let reading = r#"(id: "a", value: nozzle_flow(nozzle: "A1", flow: "2000 gph", within: "50 gph"))"#;
    changed.measured.push(ron::from_str(reading).unwrap());
    changed.circuits[0].loss_factor = Some(1.125);
    let written = layout::write(&changed, Some(text));
    assert_eq!(parsed(&written), changed);
    assert_eq!(new_lines(text, &written).len(), 2, "{:#?}", new_lines(text, &written));
    changed.measured.clear();
    let emptied = layout::write(&changed, Some(&written));
    assert!(parsed(&emptied) == changed && !emptied.contains("measured:") && emptied.contains("// Unit B: risers at the open end"));
}

#[test]
fn saving_is_whole_or_not_at_all() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("own.ron");
    std::fs::write(&path, layout::DEMO).unwrap();
    let mut changed = parsed(layout::DEMO);
    changed.name = "Other".into();
    layout::save(&path, &changed, Some(layout::DEMO)).unwrap();
    assert_eq!(layout::load(&path).unwrap().layout, changed);
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    assert!(layout::save(&folder.path().join("none/own.ron"), &changed, None).is_err());
}

/// One change to a layout, as a user of the window might make it.
fn change(layout: &mut Layout, (kind, place, number): (u8, usize, f64)) {
    let metres = Length::from_si(number, if place % 2 == 0 { Display::Us } else { Display::Metric });
    let count = layout.nozzles.len();
    match kind {
        0 if count > 0 => layout.nozzles[place % count].mount = Mount::PipeEnd(Point(metres.clone(), metres.clone(), metres)),
        1 if count > 0 => layout.nozzles[place % count].kind = NozzleKind::FlatFan { width: metres },
        2 if count > 0 => layout.nozzles[place % count].supply = Supply::Fixed("900 L/h".parse().unwrap()),
        3 if count > 0 => drop(layout.nozzles.remove(place % count)),
        4 if count > 0 => {
            layout.nozzles.push(layout::Nozzle { id: format!("new \"{place}\" // ü"), ..layout.nozzles[place % count].clone() })
        }
        5 if count > 0 => layout.nozzles.rotate_left(place % count),
        6 => layout.notes = format!("line {place}\n\\ \"quoted\" {number}"),
        7 => layout.sand = None,
        8 => layout.rocks.truncate(place % 4),
        9 => layout.pumps.iter_mut().for_each(|pump| pump.speed = number),
        10 => layout.circuits.reverse(),
        11 => drop(layout.circuits.first_mut().map(|circuit| circuit.discharge.clear())),
        12 => drop(layout.pumps.first_mut().map(|pump| pump.curve.truncate(place % 3))),
        13 => layout.tank.bracing.clear(),
        14 => layout.overflows.iter_mut().for_each(|overflow| overflow.from.0 = metres.clone()),
        _ => layout.name = format!("{number}"),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_written_reads_back(example in 0usize..3, changes in prop::collection::vec((0u8..16, 0usize..40, -5.0..5.0), 1..6)) {
        let text = EXAMPLES[example];
        let mut changed = parsed(text);
        changes.into_iter().for_each(|one| change(&mut changed, one));
        let kept = layout::write(&changed, Some(text));
        prop_assert_eq!(&parsed(&kept), &changed);
        prop_assert_eq!(kept.lines().next(), text.lines().next(), "the author's comments are gone");
        let again = layout::write(&parsed(text), Some(&kept));
        prop_assert_eq!(parsed(&again), parsed(text));
        let anew = layout::write(&changed, None);
        prop_assert_eq!(&parsed(&anew), &changed);
        prop_assert_eq!(layout::write(&changed, Some(&anew)), anew);
    }

    #[test]
    fn random_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        drop(layout::read("x", &bytes));
    }

    #[test]
    fn random_ron_never_panics(text in "[\\[\\]()\"a-c:, \n/*{}r#0-9.]{0,200}") {
        drop(layout::read("x", text.as_bytes()));
    }
}

#[test]
fn the_template_is_sound() {
    let layout = parsed(layout::template());
    let found = layout::check(&layout, slackwater::catalog::Catalog::builtin());
    assert!(found.is_empty(), "{found:#?}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    /// The demo with a few bytes changed: whatever still reads can be checked and written.
    #[test]
    fn mutated_layouts_never_panic(edits in prop::collection::vec((any::<prop::sample::Index>(), 0usize..3, any::<prop::sample::Index>()), 1..4)) {
        const SPLICES: [&str; 14] = ["9", "-", "0", "\"", "(", ")", "[", ",", "mm", "e300", "NaN", "\u{e9}", "999999999 m", "/*"];
        let mut bytes = layout::DEMO.as_bytes().to_vec();
        for (place, length, splice) in edits {
            let at = place.index(bytes.len());
            let end = (at + length).min(bytes.len());
            bytes.splice(at..end, SPLICES[splice.index(SPLICES.len())].bytes());
        }
        if let Ok(loaded) = layout::read("x", &bytes) {
            drop(layout::check(&loaded.layout, slackwater::catalog::Catalog::builtin()));
            prop_assert_eq!(&parsed(&layout::write(&loaded.layout, Some(layout::DEMO))), &loaded.layout);
        }
    }
}

#[test]
fn the_guide_shows_a_layout_that_works() {
    let guide = include_str!("../layouts/README.md");
    let example = guide.split("```ron\n").nth(1).and_then(|rest| rest.split("```").next()).unwrap();
    let found = layout::check(&parsed(example), slackwater::catalog::Catalog::builtin());
    assert!(found.iter().all(|finding| !finding.blocks), "{found:#?}");
}
