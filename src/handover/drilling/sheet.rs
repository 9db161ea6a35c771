//! The whole panel on one page: the panel at true scale, below it the table, the margins and the warnings.

use super::margin::{self, Asked, Margins};
use super::panel::{ROOM, panel_drawing};
use super::view::{SeenHole, View};
use crate::handover::measure::both;
use crate::handover::page::{Anchor, Book, Column, Drawing, Ink, Lettering, Pen, Table, shortened, strip};
use crate::handover::revision::Stamp;
use crate::layout::{Layout, Material, PanelName};

const HEAD: f64 = 24.0;
const SIDE: f64 = 8.0;
const NOTES: f64 = 420.0;

/// One page at true scale with everything on it.
pub fn whole_sheet(layout: &Layout, view: &View, stamp: &Stamp) -> Drawing {
    let panel = panel_drawing(view);
    let facts = strip(NOTES, stamp, |book| write_facts(book, layout, view));
    let rules = strip(NOTES, stamp, |book| {
        write_rules(book, view);
        book.heading("Cautions");
        book.paragraph(&crate::handover::foot());
    });
    let low = HEAD + panel.height;
    // Side by side where the panel is wide enough: the sheet of a long panel stays low.
    let second = if panel.width >= 2.0 * NOTES + SIDE { [2.0 * SIDE + NOTES, low] } else { [SIDE, low + facts.height] };
    let width = panel.width.max(NOTES) + 2.0 * SIDE;
    let mut sheet = Drawing::new(width, (low + facts.height).max(second[1] + rules.height) + SIDE);
    write_head(&mut sheet, view, stamp);
    sheet.place(&panel, [SIDE, HEAD]);
    sheet.place(&facts, [SIDE, low]);
    sheet.place(&rules, second);
    sheet
}

/// Where the outline's upper left corner lies on the whole sheet, mm.
pub fn outline_corner() -> [f64; 2] {
    [SIDE + ROOM[0], HEAD + ROOM[1]]
}

/// "Drilling sheet: right panel, seen from outside".
pub fn title(view: &View) -> String {
    let from = if view.panel == PanelName::Bottom { "from below" } else { "from outside" };
    format!("Drilling sheet: {} panel, seen {from}, water side behind", view.panel.word())
}

fn write_head(sheet: &mut Drawing, view: &View, stamp: &Stamp) {
    let width = sheet.width - 2.0 * SIDE;
    sheet.layer = "notes";
    sheet.text([SIDE, 10.0], shortened(&title(view), 6.0, true, width), Lettering::new(6.0).bold());
    let facts = format!("revision {}  ·  {}  ·  page 1 of 1  ·  {}", stamp.revision, stamp.date, stamp.name);
    sheet.text([SIDE, 16.5], shortened(&facts, 3.6, false, width), Lettering::new(3.6));
    let scale = "True scale 1:1. Print at 100 %, no scaling; measure the bars below before you trust it.";
    sheet.text([SIDE, 21.5], scale, Lettering::new(3.2));
    sheet.line(&[[SIDE, 23.0], [SIDE + width, 23.0]], Pen::new(0.4, Ink::Black));
}

/// What the person at the drill must know, on any page of this panel.
pub fn write_notes(book: &mut Book, layout: &Layout, view: &View) {
    write_facts(book, layout, view);
    write_rules(book, view);
}

fn write_facts(book: &mut Book, layout: &Layout, view: &View) {
    book.drawing(&bars());
    for words in warnings(view) {
        book.warning(&words);
    }
    book.heading("Panel");
    book.paragraph(&format!(
        "{}, {} thick. Inside size {} x {}. Distances are measured from the INSIDE faces of the neighbouring panels, from {}. \
         The outline is the inside outline: how far the panel laps over or stands between its neighbours is not in the layout. Where it laps over a \
         neighbour, its real edge lies farther out by the neighbour's thickness ({}), so add that when you measure from the real edge.",
        material_words(view.material),
        both(view.thickness),
        both(view.width),
        both(view.height),
        view.corner_words(),
        neighbours(layout, view),
    ));
    book.heading("Holes");
    book.table(&hole_table(view));
    if let Some(words) = drains(layout, view) {
        book.paragraph(&words);
    }
}

fn write_rules(book: &mut Book, view: &View) {
    book.heading("Glass round the holes");
    book.table(&margin_table(view));
    book.paragraph(&asked_words(view));
    book.paragraph(margin::STANDING);
    book.heading("At the drill");
    for words in AT_THE_DRILL {
        book.check_box(words);
    }
}

const AT_THE_DRILL: [&str; 6] = [
    "Print checked: the 100 mm bar measures 100 mm and the 4 in bar 4 in, across and down the page.",
    "Every hole marked from the two distances with a tape, not from the paper alone; seen from the side that this sheet is drawn from.",
    "Each bulkhead, strainer and gasket in hand and measured: its maker gives the hole diameter, the room for its flange and nut, and the thickest panel.",
    "Glass known to be annealed (not toughened): asked of the seller, seen through polarised light.",
    "Panel flat on firm, even support, with a backing against break-out; diamond bit flooded with water, slow, light pressure; acrylic: a bit ground for plastic.",
    "Eye and hand protection on; drill on a residual-current device (RCD, GFCI), its cable kept out of the water; nobody under the panel.",
];

fn warnings(view: &View) -> Vec<String> {
    let mut found = Vec::new();
    if view.material == Material::ToughenedGlass {
        found.push("TOUGHENED (TEMPERED) GLASS: it shatters when drilled. Do not drill this panel. Have it made with its holes before toughening, or choose annealed glass.".to_owned());
    }
    for hole in &view.holes {
        found.extend(
            margin::remarks(view, hole)
                .into_iter()
                .filter(|words| words.contains("Do not drill"))
                .map(|words| format!("{}: {words}", hole.tag)),
        );
    }
    found
}

/// For people.
pub fn material_words(material: Material) -> &'static str {
    match material {
        Material::Glass => "Annealed float glass (as the layout says: make sure)",
        Material::ToughenedGlass => "TOUGHENED (tempered) glass",
        Material::Acrylic => "Cast acrylic",
        Material::Opaque => "Opaque panel (coated plywood, concrete or fibreglass)",
    }
}

fn neighbours(layout: &Layout, view: &View) -> String {
    let edges = [view.edges.left, view.edges.right, view.edges.bottom, view.edges.top];
    let faces = edges.into_iter().filter_map(|edge| match edge {
        super::view::Edge::Face(panel) => Some(format!("{} {}", edge.word(), both(1e3 * layout.tank.panels.get(panel).thickness.si()))),
        super::view::Edge::Rim => None,
    });
    faces.collect::<Vec<_>>().join(", ")
}

fn hole_table(view: &View) -> Table {
    let columns = vec![
        Column::left("Hole", 1.0),
        Column::left("For", 3.0),
        Column::left("Drill", 3.0),
        Column::left(&format!("From {}", view.edges.left.words()), 2.6),
        Column::left(&format!("From {}", view.edges.bottom.words()), 2.6),
        Column::left("Look at", 5.0),
    ];
    Table { columns, rows: view.holes.iter().map(|hole| hole_row(view, hole)).collect() }
}

fn hole_row(view: &View, hole: &SeenHole) -> Vec<String> {
    let drill = hole.drill.map_or_else(|| "measure the bulkhead in hand".to_owned(), both);
    let remarks = margin::remarks(view, hole).join("; ");
    let remarks = if remarks.is_empty() { "—".to_owned() } else { remarks };
    vec![hole.tag.clone(), hole.serves.clone(), drill, both(hole.x), both(hole.y), remarks]
}

fn margin_table(view: &View) -> Table {
    let columns = vec![
        Column::left("Hole", 1.0),
        Column::left("Rim to nearest edge", 3.0),
        Column::left("Rim to nearest rim", 3.6),
        Column::left("Rim to nearest corner", 3.0),
        Column::left("One hole diameter", 3.0),
    ];
    Table { columns, rows: view.holes.iter().map(|hole| margin_row(view, hole)).collect() }
}

fn margin_row(view: &View, hole: &SeenHole) -> Vec<String> {
    let Some(Margins { edge, spacing, corner }) = margin::margins(view, hole).filter(|_| view.holds(hole)) else {
        return vec![hole.tag.clone(), "—".into(), "—".into(), "—".into(), "—".into()];
    };
    let spacing = spacing.map_or_else(|| "no other hole of known size".to_owned(), |(gap, other)| format!("{} to {other}", both(gap)));
    vec![hole.tag.clone(), both(edge), spacing, both(corner), both(hole.drill.unwrap_or(0.0))]
}

fn asked_words(view: &View) -> String {
    if !margin::is_glass(view.material) {
        return "No published rule for holes in this material is held here: ask the panel maker.".to_owned();
    }
    let Asked { edge, spacing, corner } = Asked::for_glass(view.thickness);
    format!(
        "Guidance at {} thickness: rim to edge at least {}, rim to rim {}, rim to corner {} (6.5 x thickness; the European form 6 x thickness), diameter at least {} and at most a third of the narrow side.",
        both(view.thickness),
        both(edge),
        both(spacing),
        both(corner),
        both((view.thickness + 1.6).max(6.0)),
    )
}

/// Drains pass a panel inside their overflow box, at places that the layout doesn't hold.
fn drains(layout: &Layout, view: &View) -> Option<String> {
    let boxes: Vec<&str> = layout.overflows.iter().filter(|o| !o.drains.is_empty()).map(|o| o.id.as_str()).collect();
    (view.panel == PanelName::Bottom && !boxes.is_empty()).then(|| {
        format!("NOT on this sheet: the holes for the drains of {}. Their places are not in the layout; they pass the floor or a wall inside the box.", boxes.join(", "))
    })
}

/// A 100 mm and a 4 in bar across and a 100 mm bar down, to check the print.
pub fn bars() -> Drawing {
    let mut bars = Drawing::new(150.0, 108.0);
    bars.layer = "scale bars";
    bar(&mut bars, [2.0, 6.0], 100.0, "100 mm");
    bar(&mut bars, [2.0, 15.0], 101.6, "4 in");
    bar_down(&mut bars, [125.0, 4.0], 100.0, "100 mm");
    for (line, words) in [
        "Measure all three bars with a steel rule.",
        "Off by more than 0.5 mm: print again at 100 %,",
        "with no fitting to the page; do not drill.",
    ]
    .iter()
    .enumerate()
    {
        bars.text([2.0, 26.0 + 5.0 * line as f64], *words, Lettering::new(3.6));
    }
    bars
}

/// An upright bar of this length with end strokes.
fn bar_down(drawing: &mut Drawing, at: [f64; 2], length: f64, words: &str) {
    let pen = Pen::new(0.25, Ink::Black);
    drawing.line(&[at, [at[0], at[1] + length]], pen);
    for y in [at[1], at[1] + length] {
        drawing.line(&[[at[0] - 2.0, y], [at[0] + 2.0, y]], pen);
    }
    drawing.text([at[0] - 1.0, at[1] + length / 2.0], words, Lettering::new(3.0).upward().anchor(Anchor::Middle));
}

/// A bar of this length with end strokes.
pub fn bar(drawing: &mut Drawing, at: [f64; 2], length: f64, words: &str) {
    let pen = Pen::new(0.25, Ink::Black);
    drawing.line(&[at, [at[0] + length, at[1]]], pen);
    for x in [at[0], at[0] + length] {
        drawing.line(&[[x, at[1] - 2.0], [x, at[1] + 2.0]], pen);
    }
    drawing.text([at[0] + length / 2.0, at[1] - 1.0], words, Lettering::new(3.0).anchor(Anchor::Middle));
}
