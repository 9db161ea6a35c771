//! Sheets measured as a person would: page sizes, crosshairs in the PDF itself, tiles put together, DXF read back, awkward layouts.

mod awkward;
mod circuits;
mod pdf;
mod readers;
mod scale;
mod shop;

use slackwater::catalog::Catalog;
use slackwater::handover::drilling::View;
use slackwater::handover::{Numbering, Sheet, sheets};
use slackwater::layout::{Layout, PanelName, load};
use std::sync::LazyLock;

fn demo(name: &str) -> Layout {
    load(format!("{}/layouts/{name}.ron", env!("CARGO_MANIFEST_DIR")).as_ref()).unwrap().layout
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

/// A demo with its sheets and its drilled panels.
struct Drilled {
    layout: Layout,
    sheets: Vec<Sheet>,
    views: Vec<View>,
}

static DRILLED: LazyLock<Vec<Drilled>> = LazyLock::new(|| ["alcove", "peninsula", "lagoon"].map(|name| sheets_of(demo(name))).into());

fn sheets_of(layout: Layout) -> Drilled {
    let views = PanelName::ALL.map(|panel| view(&layout, panel)).into_iter().filter(|view| !view.holes.is_empty()).collect();
    Drilled { sheets: all(&layout), views, layout }
}

/// Every panel of every demo that has holes, with the sheets of its layout.
fn drilled() -> impl Iterator<Item = (&'static Layout, &'static [Sheet], &'static View)> {
    DRILLED.iter().flat_map(|demo| demo.views.iter().map(|view| (&demo.layout, demo.sheets.as_slice(), view)))
}
