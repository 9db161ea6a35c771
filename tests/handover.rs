//! Sheets measured as a person would: page sizes, crosshairs, tiles, DXF read back, awkward layouts.

use slackwater::catalog::Catalog;
use slackwater::handover::drilling::{SeenHole, Tiling, View};
use slackwater::handover::{Numbering, Sheet, sheets};
use slackwater::layout::{self, Layout, PanelName};

const POINTS_PER_MM: f64 = 72.0 / 25.4;

fn demo(name: &str) -> Layout {
    let path = format!("{}/layouts/{name}.ron", env!("CARGO_MANIFEST_DIR"));
    layout::load(path.as_ref()).unwrap().layout
}

fn all(layout: &Layout) -> Vec<Sheet> {
    sheets(layout, Catalog::builtin(), "2026-03-01").unwrap()
}

fn named<'a>(sheets: &'a [Sheet], name: &str) -> &'a Sheet {
    sheets.iter().find(|sheet| sheet.name == name).unwrap_or_else(|| panic!("no {name}"))
}

fn view(layout: &Layout, panel: PanelName) -> View {
    View::new(layout, &Numbering::new(layout, Catalog::builtin()), panel)
}

#[test]
#[ignore = "writes to SHEETS for looking at"]
fn write_for_looking() {
    let folder = std::env::var("SHEETS").unwrap();
    for name in ["alcove", "peninsula", "lagoon"] {
        let options = slackwater::handover::Options { folder: format!("{folder}/{name}").into(), date: "2026-03-01".into() };
        slackwater::handover::write(&demo(name), Catalog::builtin(), &options).unwrap();
    }
}
