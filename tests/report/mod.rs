//! The HTML pages looked at in a real Chromium: nothing amiss on the console, links, pictures, tables, contrast, width, paper.

mod browser;

use crate::compare::{BAD, GOOD, cases};
use slackwater::report::{self, folder::Folder};
use slackwater::study::compare::compare;
use std::path::{Path, PathBuf};

/// The pages of a good layout, a bad one, and both compared.
fn pages(place: &Path) -> Vec<PathBuf> {
    let into = |name: &str| Folder::new(&place.join(name)).unwrap();
    for (name, (layout, study)) in [("good", &*GOOD), ("bad", &*BAD)] {
        report::write_all(study, layout, &into(name)).unwrap();
    }
    let cases = cases();
    report::compare::write_all(&compare(&cases), &cases, &into("both")).unwrap();
    vec![place.join("good/study.html"), place.join("bad/study.html"), place.join("both/compare.html")]
}

#[test]
fn pages_are_sound_in_chromium() {
    let Some(chromium) = browser::find() else {
        eprintln!(
            "No Chromium here: the HTML pages were not looked at in a browser. Install the Debian package `chromium`, or set CHROMIUM to its path."
        );
        return;
    };
    let place = tempfile::tempdir().unwrap();
    for page in pages(place.path()) {
        for width in [420, 1100] {
            let found = browser::audit(&chromium, &page, width);
            assert_eq!(found, Vec::<String>::new(), "{} at {width} pixels", page.display());
        }
        for (paper, size) in [("A4", [595.0, 842.0]), ("Letter", [612.0, 792.0])] {
            let printed = browser::print(&chromium, &page, paper);
            assert!(
                browser::paper_of(&printed).iter().zip(size).all(|(a, b)| (a - b).abs() < 2.0),
                "{paper}: {:?}",
                browser::paper_of(&printed)
            );
        }
    }
}

/// The audit itself sees what is wrong.
#[test]
fn the_audit_finds_faults() {
    let Some(chromium) = browser::find() else { return };
    let place = tempfile::tempdir().unwrap();
    let page = place.path().join("bad.html");
    let body = "<!doctype html><html><head><title></title></head><body><h3>x</h3><p style=\"color:#999\">pale</p><a href=\"#nowhere\">a</a>\
        <a href=\"https://example.org\">b</a><img src=\"x.png\"><table><tr><td>1</td></tr></table><div style=\"width:3000px\">wide</div>\
        <script>undefinedFunction()</script></body></html>";
    std::fs::write(&page, body).unwrap();
    let found = browser::audit(&chromium, &page, 800);
    for wanted in [
        "language",
        "title",
        "heading",
        "contrast",
        "#nowhere",
        "leads out",
        "no alt",
        "not inside",
        "no heading cells",
        "no caption",
        "wider",
        "console",
    ] {
        assert!(found.iter().any(|line| line.contains(wanted)), "not found: {wanted} in {found:#?}");
    }
}
