//! Drilling sheets: one panel at true scale, as PDF on one page and on tiles, as SVG and as DXF.

mod dxf;
mod margin;
mod panel;
mod sheet;
mod tiles;
mod view;

pub use dxf::{LAYERS, panel_dxf};
pub use margin::{Asked, Margins, margins, remarks};
pub use sheet::{outline_corner, whole_sheet};
pub use tiles::{OVERLAP, Tiling};
pub use view::{Edge, Edges, SeenHole, View};

use super::files::{Content, Sheet, csv};
use super::measure::{inches, mm};
use super::numbering::Numbering;
use super::page::{Document, Paper};
use super::revision::Stamp;
use crate::layout::{Layout, PanelName};

const ONE_PAGE: &str =
    "For the person at the drill: the panel at true scale on one large page (plot it at 100 %), with its table of holes and its warnings.";
const TILED: &str = "The same on office paper, to be cut and joined; its first pages say how.";

/// All drilling sheets of a layout and a list of all holes. Panels without holes have none.
///
/// # Errors
/// When a drawing for machines can't be written; the text says why.
pub fn sheets(layout: &Layout, numbering: &Numbering, stamp: &Stamp, foot: &str) -> Result<Vec<Sheet>, String> {
    let views: Vec<View> =
        PanelName::ALL.iter().map(|panel| View::new(layout, numbering, *panel)).filter(|view| !view.holes.is_empty()).collect();
    let mut sheets = Vec::new();
    for view in &views {
        let name = format!("drilling {} panel", view.panel.word());
        let whole = whole_sheet(layout, view, stamp);
        let page = Document::one_page_each(&name, vec![whole.clone()]);
        sheets.push(Sheet::new(format!("{name}.pdf"), Content::Pages(page)).purpose(ONE_PAGE));
        sheets.push(
            Sheet::new(format!("{name}.svg"), Content::Outlined(whole)).purpose("The same for a plotter or a cutter that reads SVG."),
        );
        sheets.push(
            Sheet::ready(format!("{name}.dxf"), panel_dxf(view, stamp)?)
                .purpose("The panel for a machine: outline, holes, crosshairs on layers named in words, millimetres."),
        );
        for paper in [Paper::A4, Paper::LETTER] {
            let file = format!("{name}, tiles on {}.pdf", paper.name);
            sheets.push(Sheet::new(file, Content::Tiles(tiles::tiled(layout, view, stamp, paper, foot))).purpose(TILED));
        }
    }
    sheets.push(Sheet::ready("holes.csv", hole_list(&views)).purpose("All holes as a table."));
    Ok(sheets)
}

fn hole_list(views: &[View]) -> String {
    let head =
        ["hole", "for", "panel", "seen", "from left edge", "mm", "in", "from lower edge", "mm", "in", "drill mm", "drill in", "look at"];
    let rows: Vec<Vec<String>> = views.iter().flat_map(|view| view.holes.iter().map(move |hole| hole_row(view, hole))).collect();
    csv(&head, &rows)
}

fn hole_row(view: &View, hole: &SeenHole) -> Vec<String> {
    vec![
        hole.tag.clone(),
        hole.serves.clone(),
        view.panel.word().into(),
        "from outside".into(),
        view.edges.left.words(),
        mm(hole.x),
        inches(hole.x),
        view.edges.bottom.words(),
        mm(hole.y),
        inches(hole.y),
        hole.drill.map(mm).unwrap_or_default(),
        hole.drill.map(inches).unwrap_or_default(),
        remarks(view, hole).join("; "),
    ]
}
