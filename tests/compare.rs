//! `slackwater compare` from end to end on coarse grids, and the two layouts whose verdict is known beforehand.

use crate::schema;
use serde_json::Value;
use slackwater::catalog::Catalog;
use slackwater::finding::Grade;
use slackwater::layout::{self, Layout};
use slackwater::study::compare::{Case, compare, measures::Standing};
use slackwater::study::{self, Control, Settings, Span, Study};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::LazyLock;

fn file(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/verdicts").join(format!("{name}.ron"))
}

/// A layout of `tests/data/verdicts` with its study.
pub fn studied(name: &str) -> (Layout, Study) {
    let layout = layout::load(&file(name)).unwrap().layout;
    // Long enough to settle: 20 s and 20 s at 60 mm did not, and hid the slow core of the good one's round (3.7 % of the water at 60 mm
    // after 40 s, 0.2 % at 50 mm, 0.7 % at 40 mm in three places, each too small for a caution).
    let settings = Settings { cell: 0.05, spin_up: 40.0, span: Span::Seconds(60.0), ..Settings::default() };
    let study = study::run(&layout, Catalog::builtin(), &settings, &mut |_| Control::Go).unwrap();
    (layout, study)
}

/// Both, computed once for all tests.
pub static GOOD: LazyLock<(Layout, Study)> = LazyLock::new(|| studied("good"));
/// See [`GOOD`].
pub static BAD: LazyLock<(Layout, Study)> = LazyLock::new(|| studied("bad"));

/// Both as cases, the bad one first.
pub fn cases() -> Vec<Case> {
    let case =
        |name: &str, (layout, study): &(Layout, Study)| Case { name: name.into(), layout: Some(layout.clone()), study: study.clone() };
    vec![case("bad.ron", &BAD), case("good.ron", &GOOD)]
}

#[test]
fn a_bad_layout_is_condemned_for_the_right_reasons() {
    let record = &BAD.1.record;
    let faults: Vec<(&str, &str)> =
        record.findings.iter().filter(|f| f.grade == Grade::Fault).map(|f| (f.rule.as_str(), f.part.as_str())).collect();
    // Its screen has 11 cm² for what needs six times that; nothing else draws; no jet gets past the wall; the colony stands behind it.
    for wanted in [
        ("screen-speed", "intakes/I1"),
        ("single-suction", "intakes/I1"),
        ("dead-spot", "dead_spots/1"),
        ("flow-too-slow", "colonies/stand behind the wall"),
    ] {
        let is_there = |found: &(&str, &str)| *found == wanted;
        assert!(faults.iter().any(is_there), "no {wanted:?} in {faults:?}");
    }
    let spot = &record.dead_spots[0];
    // Nearly half of the water at 50 mm, where what spills over the wall is too weak; 0.27 to 0.33 of it at 20 mm.
    assert!(spot.share > 0.28 && spot.centre_m[0] > 0.48, "{spot:?}");
    let why = &record.findings.iter().find(|f| f.part == "dead_spots/1").unwrap().why;
    assert!(why.contains("in the lee of the wall") && why.contains("no jet has a clear straight line to it"), "{why}");
}

#[test]
fn a_good_layout_passes() {
    let record = &GOOD.1.record;
    let bad: Vec<_> = record.findings.iter().filter(|f| f.grade == Grade::Fault).collect();
    assert!(bad.is_empty(), "{bad:#?}");
    // What is said of the run itself (a coarse grid, a short time) is not about the design.
    let cautions: Vec<_> = record.findings.iter().filter(|f| f.grade == Grade::Caution && !f.part.is_empty()).collect();
    assert!(cautions.is_empty(), "{cautions:#?}");
    assert!(record.dead_spots.iter().map(|spot| spot.share).sum::<f64>() < 0.01);
    assert_eq!(record.colonies[0].verdict, "in band");
}

#[test]
fn the_good_one_is_better_than_the_bad_one() {
    let comparison = compare(&cases());
    let standing = |id: &str| comparison.measures.iter().find(|m| m.id == id).unwrap_or_else(|| panic!("no {id}")).standings[1];
    for id in ["faults", "dead_volume", "dead_share", "largest_dead_spot", "share_under/0.02", "intakes/I1/through"] {
        assert_eq!(standing(id), Some(Standing::Better), "{id}");
    }
    // The colonies have different names: nothing to compare.
    assert_eq!(standing("colonies/front stand/mean_speed"), None);
    let against = &comparison.against_first[0];
    let changed = |part: &str| against.changes.as_ref().unwrap().iter().any(|change| change.part == part);
    assert!(changed("rocks/wall") && changed("nozzles/N2") && changed("intakes/I1") && !changed(""), "{:#?}", against.changes);
    assert!(against.findings.iter().any(|f| f.change.word() == "lost" && f.finding.rule == "screen-speed"));
    // What is left where half of the water stood still is the core of the round, a few cells.
    let spot = &against.dead_spots[0];
    assert!(spot.volume_after_m3 < 0.01 * spot.volume_before_m3, "{spot:?}");
}

#[test]
fn a_study_is_the_same_as_itself() {
    let twice = [cases()[0].clone(), cases()[0].clone()];
    let comparison = compare(&twice);
    assert!(comparison.measures.iter().all(|m| m.standings[1].is_none_or(|s| s == Standing::Same)));
    let against = &comparison.against_first[0];
    assert_eq!((against.changes.as_deref(), against.findings.len()), (Some(&[][..]), 0));
    let spots = &twice[0].study.record.dead_spots;
    assert!(!spots.is_empty() && against.dead_spots.len() == spots.len());
    assert!(against.dead_spots.iter().all(|spot| spot.before == spot.after && (spot.shared - 1.0).abs() < 1e-6));
}

fn run(folder: &Path, more: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_slackwater"));
    command.arg("compare").args(["--cell", "100mm", "--spin-up", "1s", "--time", "2s"]).args(more).current_dir(folder).output().unwrap()
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

#[test]
fn compares_files_and_variants_and_saved_studies() {
    let place = tempfile::tempdir().unwrap();
    let (bad, blocked) = (file("bad").display().to_string(), format!("{}#I1 half blocked", file("bad").display()));
    let first = run(place.path(), &[&bad, &blocked, "--json", "--quiet", "--out", "one"]);
    assert!(first.status.code() == Some(1) && first.stderr.is_empty(), "{}", text(&first.stderr));
    let value: Value = serde_json::from_slice(&first.stdout).unwrap();
    assert_eq!(schema::problems("comparison", &value), Vec::<String>::new());
    assert_eq!(value["against_first"][0]["changes"][0]["part"], "intakes/I1");
    let folder = place.path().join("one");
    for name in ["compare.html", "compare.txt", "compare.json", "plan-mean-a.png", "plan-mean-b-less-a.svg", "a/study.json", "b/layout.ron"]
    {
        assert!(folder.join(name).metadata().unwrap().len() > 100, "{name}");
    }
    let report = std::fs::read_to_string(folder.join("compare.txt")).unwrap();
    assert!(report.lines().all(|line| line.chars().count() <= 80), "{report}");

    let again = run(place.path(), &["one/a", "one/b", "--json", "--out", "two"]);
    let saved: Value = serde_json::from_slice(&again.stdout).unwrap();
    assert_eq!(saved["against_first"], value["against_first"]);
    // Numbers read back from JSON may differ in their last digit.
    for (a, b) in saved["measures"].as_array().unwrap().iter().zip(value["measures"].as_array().unwrap()) {
        assert_eq!((&a["id"], &a["standings"]), (&b["id"], &b["standings"]));
        let (a, b) = (a["values"][1]["value"].as_f64().unwrap(), b["values"][1]["value"].as_f64().unwrap());
        assert!((a - b).abs() <= 1e-9 * a.abs(), "{a} and {b}");
    }
}

#[test]
fn what_cannot_be_compared_is_told() {
    let place = tempfile::tempdir().unwrap();
    std::fs::create_dir(place.path().join("empty")).unwrap();
    let bad = file("bad").display().to_string();
    let unknown = format!("{bad}#I1 half blokked");
    let cases: [(&[&str], &str); 5] = [
        (&[&bad], "2 values"),
        (&[&bad, "nothing.ron"], "nothing.ron"),
        (&[&bad, &unknown], "did you mean `I1 half blocked`?"),
        (&[&bad, "empty"], "study.json"),
        (&[&bad, &bad, "--cell", "1mm"], "--cell"),
    ];
    for (args, reason) in cases {
        let mut command = Command::new(env!("CARGO_BIN_EXE_slackwater"));
        let output = command.arg("compare").args(args).current_dir(place.path()).output().unwrap();
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        assert!(text(&output.stderr).contains(reason) && output.stdout.is_empty(), "{args:?}: {}", text(&output.stderr));
    }
}
