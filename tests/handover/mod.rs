//! Sheets measured as a person would: page sizes, crosshairs in the PDF itself, tiles put together, DXF read back, awkward layouts.

mod awkward;
mod pdf;
mod scale;
mod shop;

use slackwater::catalog::Catalog;
use slackwater::handover::drilling::View;
use slackwater::handover::{Numbering, Sheet, sheets};
use slackwater::layout::{Layout, PanelName, load};

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

/// Every panel of every demo that has holes.
fn drilled() -> Vec<(Layout, View)> {
    let layouts = ["alcove", "peninsula", "lagoon"].map(demo);
    let views = layouts.iter().flat_map(|layout| PanelName::ALL.map(|panel| (layout.clone(), view(layout, panel))));
    views.filter(|(_, view)| !view.holes.is_empty()).collect()
}
