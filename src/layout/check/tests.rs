//! One broken layout a rule: the demo with a change, and the rule that must speak.

use super::check;
use crate::catalog::Catalog;
use crate::finding::Grade;
use crate::layout::{Layout, demo, read};

fn read_with(edits: &[(&str, &str)]) -> Layout {
    let text = edits.iter().fold(crate::layout::DEMO.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "the demo has no {from}");
        text.replacen(from, to, 1)
    });
    read("test", text.as_bytes()).unwrap_or_else(|problems| panic!("{problems}")).layout
}

#[test]
fn the_demo_can_be_computed() {
    let found = check(&demo(), Catalog::builtin());
    assert!(found.iter().all(|finding| !finding.blocks), "{found:#?}");
}

#[test]
fn each_rule_speaks() {
    let cases = [
        (("length: \"2400 mm\"", "length: \"2400 m\""), "bad-size", "tank"),
        (("water_level: \"800 mm\"", "water_level: \"860 mm\""), "over-the-rim", "tank"),
        (("depth: \"40 mm\"", "depth: \"900 mm\""), "no-water", "sand"),
        (("(id: \"A2\"", "(id: \"A1\""), "bad-id", "nozzles/A1"),
        (("to: nozzle(\"A1\")", "to: nozzle(\"A7\")"), "dangling-run", "circuits/loop A/discharge/DA2"),
        (("from: outlet(\"unit A\", 1)", "from: outlet(\"unit A\", 7)"), "dangling-run", "circuits/loop A/discharge/DA2"),
        (("pipe: \"2 in, schedule 40\"", "pipe: \"2 in, schedule 41\""), "unknown-pipe", "overflows/end box/drains/main drain"),
        (("(part: \"elbow 90\", count: 1)", "(part: \"elbo 90\")"), "unknown-fitting", "circuits/loop A/suction/SA1"),
        (("sequence: \"slow turn\"", "sequence: \"slow torn\""), "no-sequence", ""),
        (("open: [1, 2]", "open: [1, 9]"), "no-outlet", "sequences/side to side/drives/unit A"),
        (("open: [1, 2]", "open: []"), "dead-head", "sequences/side to side/drives/unit A"),
        (("arc: \"150 deg\"", "arc: \"10 deg\""), "dead-head", "sequences/slow turn/drives/unit A"),
        (("to: pump(\"loop A pump\")", "to: joint(\"nowhere\")"), "no-pump", "circuits/loop A"),
        ((", screen: (face: rectangle(\"250 mm\", \"250 mm\"), open: 0.5)", ""), "no-screen", "intakes/intake A1"),
        (("head: \"19.5 ft\"", "head: \"29.5 ft\""), "pump-curve", "pumps/loop A pump"),
        (("from: outlet(\"unit A\", 4)", "from: outlet(\"unit A\", 3)"), "outlet-not-joined", "drums/unit A"),
        (("right: (material: glass", "right: (material: toughened_glass"), "toughened-hole", "intakes/intake A1"),
        (("along: \"170 mm\", up: \"190 mm\"", "along: \"20 mm\", up: \"190 mm\""), "hole-off-panel", "intakes/intake A1"),
        (("along: \"170 mm\", up: \"190 mm\"", "along: \"60 mm\", up: \"190 mm\""), "hole-edge", "intakes/intake A1"),
        (("along: \"280 mm\", up: \"720 mm\"", "along: \"200 mm\", up: \"640 mm\""), "holes-overlap", "nozzles/A1"),
        (("azimuth: \"177 deg\"", "azimuth: \"10 deg\""), "into-wall", "nozzles/A1"),
        (("pipe_end((\"1480 mm\", \"640 mm\", \"380 mm\"))", "pipe_end((\"1800 mm\", \"520 mm\", \"250 mm\"))"), "in-solid", "nozzles/A3"),
        (
            ("pipe_end((\"1480 mm\", \"640 mm\", \"380 mm\"))", "pipe_end((\"1480 mm\", \"640 mm\", \"830 mm\"))"),
            "above-water",
            "nozzles/A3",
        ),
        (("crest: \"788 mm\"", "crest: \"810 mm\""), "dry-overflow", "overflows/end box"),
        (("to: (\"2400 mm\", \"650 mm\")", "to: (\"2500 mm\", \"650 mm\")"), "outside", "overflows/end box"),
        (("at: (\"300 mm\", \"500 mm\", \"150 mm\")", "at: (\"1800 mm\", \"520 mm\", \"250 mm\")"), "buried", "probes/behind the arch"),
    ];
    let clean = check(&demo(), Catalog::builtin());
    for (edit, rule, part) in cases {
        let found = check(&read_with(&[edit]), Catalog::builtin());
        assert!(found.iter().any(|f| f.rule == rule && f.part == part), "{rule} {part}\n{found:#?}");
        assert!(!clean.iter().any(|f| f.rule == rule && f.part == part), "{rule} speaks on the sound demo");
        assert!(found.iter().all(|f| !f.what.is_empty() && !f.why.is_empty() && !f.mend.is_empty()));
    }
}

#[test]
fn an_empty_tank_is_no_fault() {
    let mut layout = demo();
    layout.circuits.clear();
    layout.nozzles.clear();
    layout.intakes.clear();
    layout.drums.clear();
    layout.sequences.clear();
    layout.sequence.clear();
    let found = check(&layout, Catalog::builtin());
    assert!(found.iter().all(|finding| finding.grade < Grade::Fault), "{found:#?}");
}
