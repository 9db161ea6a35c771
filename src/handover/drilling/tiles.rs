//! The panel at true scale on sheets of office paper, to be cut and joined. Lengths in mm.

use super::panel::panel_drawing;
use super::sheet::{bar, title, write_notes};
use super::view::View;
use crate::handover::page::{Anchor, At, Book, Bounds, Document, Drawing, Ink, Layer, Lettering, Page, Paper, Pen, overlap, shortened};
use crate::handover::revision::Stamp;
use crate::layout::Layout;

/// Printed on both of two neighbours.
pub const OVERLAP: f64 = 10.0;

/// Paper that is left free round the window: left, top, right, bottom. Office printers need 5 mm or so.
const FREE: [f64; 4] = [9.0, 24.0, 9.0, 13.0];

/// How a drawing is cut into tiles.
#[derive(Debug, Clone, PartialEq)]
pub struct Tiling {
    /// Of a tile.
    pub paper: Paper,
    /// Size of the part of the drawing that a tile shows.
    pub window: At,
    /// Columns and rows.
    pub count: [usize; 2],
}

impl Tiling {
    /// The cut of a drawing of this size, the paper laid whichever way needs fewer sheets.
    pub fn new(size: At, paper: Paper) -> Self {
        let ways = [paper, paper.landscape()].map(|paper| {
            let window = [paper.width - FREE[0] - FREE[2], paper.height - FREE[1] - FREE[3]];
            let count = [0, 1].map(|axis| ((size[axis] - OVERLAP) / (window[axis] - OVERLAP)).ceil().max(1.0) as usize);
            Self { paper, window, count }
        });
        let [upright, across] = ways;
        if across.count[0] * across.count[1] < upright.count[0] * upright.count[1] { across } else { upright }
    }

    /// Upper left corner of a tile's window on the drawing.
    pub fn corner(&self, column: usize, row: usize) -> At {
        [column as f64 * (self.window[0] - OVERLAP), row as f64 * (self.window[1] - OVERLAP)]
    }

    /// Upper left corner of the window on the paper.
    pub fn on_paper(&self) -> At {
        [FREE[0], FREE[1]]
    }

    fn bounds(&self, column: usize, row: usize) -> Bounds {
        let [x, y] = self.corner(column, row);
        [x, y, x + self.window[0], y + self.window[1]]
    }

    /// Tiles with something on them, row by row.
    pub fn used(&self, drawing: &Drawing) -> Vec<[usize; 2]> {
        let marks: Vec<Bounds> = drawing.items.iter().flat_map(|item| item.mark.bounds()).collect();
        let all = (0..self.count[1]).flat_map(|row| (0..self.count[0]).map(move |column| [column, row]));
        all.filter(|[column, row]| marks.iter().any(|mark| overlap(*mark, self.bounds(*column, *row)))).collect()
    }
}

/// The tiled document of a panel: notes and tile map first, then the tiles.
pub fn tiled(layout: &Layout, view: &View, stamp: &Stamp, paper: Paper, foot: &str) -> Document {
    let panel = panel_drawing(view);
    let tiling = Tiling::new([panel.width, panel.height], paper);
    let used = tiling.used(&panel);
    let mut book = Book::new(paper, stamp, &title(view), foot);
    book.heading("Tile map");
    book.paragraph(&format!(
        "{} tiles on {}, column-row from the upper left. Print at 100 %. Cut each tile along its broken lines and butt it to its neighbours; lines and crosses must run through. \
         Tiles left white on the map have nothing on them and are not printed. Tape moves and paper stretches: check every hole centre against its two distances with a tape measure.",
        used.len(),
        paper.name,
    ));
    book.drawing(&map(view, &panel, &tiling, &used, book.width()));
    write_notes(&mut book, layout, view);
    let mut drawings = book.finish_before(used.len());
    let notes = drawings.len();
    let mut pages: Vec<Page> = drawings.iter().enumerate().map(|(drawing, d)| Page::whole(drawing, d)).collect();
    drawings.push(panel);
    for (at, tile) in used.iter().enumerate() {
        let page = format!("page {} of {}", notes + at + 1, notes + used.len());
        drawings.push(frame(
            &tiling,
            *tile,
            &title(view),
            &format!("revision {}  ·  {}  ·  {page}  ·  {}", stamp.revision, stamp.date, stamp.name),
        ));
        pages.push(tile_page(&tiling, *tile, notes, drawings.len() - 1));
    }
    Document { title: title(view), drawings, pages }
}

fn tile_page(tiling: &Tiling, [column, row]: [usize; 2], panel: usize, frame: usize) -> Page {
    let (corner, on_paper) = (tiling.corner(column, row), tiling.on_paper());
    let at = [on_paper[0] - corner[0], on_paper[1] - corner[1]];
    let panel = Layer { drawing: panel, at, window: Some((on_paper, tiling.window)) };
    let frame = Layer { drawing: frame, at: [0.0, 0.0], window: None };
    Page { width: tiling.paper.width, height: tiling.paper.height, layers: vec![panel, frame] }
}

/// What stands round a tile: its number, cut lines, names of its neighbours, scale bar.
fn frame(tiling: &Tiling, [column, row]: [usize; 2], title: &str, facts: &str) -> Drawing {
    let mut frame = Drawing::new(tiling.paper.width, tiling.paper.height);
    let [left, top] = tiling.on_paper();
    let [width, height] = tiling.window;
    frame.text([left, 10.0], format!("TILE {}", name(column, row)), Lettering::new(5.0).bold());
    frame.text([left + 30.0, 8.0], shortened(title, 3.0, true, width - 30.0), Lettering::new(3.0).bold());
    frame.text([left + 30.0, 12.0], shortened(facts, 2.8, false, width - 30.0), Lettering::new(2.8));
    bar(&mut frame, [left + 1.0, 19.0], 100.0, "100 mm: measure before use");
    let foot =
        "Toughened glass shatters when drilled. Water-cooled bit, support, eye and hand protection. The panel maker's limits decide.";
    frame.text([left, frame.height - 3.0], shortened(foot, 2.4, false, width), Lettering::new(2.4));
    cut_lines(&mut frame, tiling, [column, row], [left, top], [width, height]);
    frame
}

/// Broken lines through the middle of each overlap, with small crosses at their ends.
fn cut_lines(frame: &mut Drawing, tiling: &Tiling, [column, row]: [usize; 2], [left, top]: At, [width, height]: At) {
    let half = OVERLAP / 2.0;
    let (right, bottom) = (left + width, top + height);
    let pen = Pen::new(0.15, Ink::Grey).dashed();
    let words = Lettering::new(2.4).ink(Ink::Grey).anchor(Anchor::Middle);
    let mut upright = |x: f64, neighbour: String| {
        frame.line(&[[x, top - 2.0], [x, bottom + 2.0]], pen);
        frame.text([x + 0.8, bottom + 5.5], format!("cut; butt to {neighbour}"), words);
    };
    if column > 0 {
        upright(left + half, name(column - 1, row));
    }
    if column + 1 < tiling.count[0] {
        upright(right - half, name(column + 1, row));
    }
    let mut level = |y: f64, neighbour: String| {
        frame.line(&[[left - 2.0, y], [right + 2.0, y]], pen);
        frame.text([left - 3.0, y], format!("cut; butt to {neighbour}"), words.upward());
    };
    if row > 0 {
        level(top + half, name(column, row - 1));
    }
    if row + 1 < tiling.count[1] {
        level(bottom - half, name(column, row + 1));
    }
}

fn name(column: usize, row: usize) -> String {
    format!("{}-{}", column + 1, row + 1)
}

/// The panel made small with the tiles over it.
fn map(view: &View, panel: &Drawing, tiling: &Tiling, used: &[[usize; 2]], width: f64) -> Drawing {
    let scale = (width / panel.width).min(95.0 / panel.height);
    let mut map = Drawing::new(panel.width * scale, panel.height * scale);
    for [column, row] in used {
        let [x0, y0, x1, y1] = tiling.bounds(*column, *row).map(|v| v * scale);
        let (x1, y1) = (x1.min(map.width), y1.min(map.height));
        map.panel([x0, y0], [x1 - x0, y1 - y0], Ink::Pale);
    }
    for [column, row] in used {
        let [x0, y0, x1, y1] = tiling.bounds(*column, *row).map(|v| v * scale);
        let (x1, y1) = (x1.min(map.width), y1.min(map.height));
        map.rectangle([x0, y0], [x1 - x0, y1 - y0], Pen::new(0.15, Ink::Grey));
        let size = (0.22 * (y1 - y0)).clamp(1.2, 4.0);
        map.text(
            [(x0 + x1) / 2.0, (y0 + y1) / 2.0 + size / 3.0],
            name(*column, *row),
            Lettering::new(size).ink(Ink::Grey).anchor(Anchor::Middle),
        );
    }
    let corner = super::panel::on_drawing(view, 0.0, view.height).map(|v| v * scale);
    map.rectangle(corner, [view.width * scale, view.height * scale], Pen::new(0.4, Ink::Black));
    for hole in view.holes.iter().filter(|hole| view.holds(hole)) {
        let at = super::panel::on_drawing(view, hole.x, hole.y).map(|v| v * scale);
        map.circle(at, (hole.drill.unwrap_or(20.0) / 2.0 * scale).max(0.4), Pen::new(0.3, Ink::Black));
    }
    map
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tiles_cover_the_drawing() {
        for (width, height) in [(100.0, 100.0), (2450.0, 900.0), (1000.0, 192.0), (192.0, 260.0)] {
            for paper in [Paper::A4, Paper::LETTER] {
                let tiling = Tiling::new([width, height], paper);
                let [columns, rows] = tiling.count;
                let far = tiling.bounds(columns - 1, rows - 1);
                assert!(far[2] >= width && far[3] >= height, "{width} {height}: {far:?}");
                assert!(columns == 1 || tiling.bounds(columns - 2, 0)[2] < width);
                let next = tiling.corner(1, 1);
                assert_eq!(next, [tiling.window[0] - OVERLAP, tiling.window[1] - OVERLAP]);
            }
        }
    }
}
