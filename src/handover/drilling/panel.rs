//! The panel itself at true scale: outline, holes with crosshairs, what to drill, where to measure from.

use super::view::{SeenHole, View};
use crate::handover::measure::{both, inches, mm};
use crate::handover::page::{Anchor, At, Bounds, Drawing, Ink, Lettering, Pen, overlap, width, wrapped};
use crate::layout::PanelName;

/// Room round the outline for edge names and distances, mm: left, top, right, bottom.
pub const ROOM: [f64; 4] = [52.0, 16.0, 16.0, 50.0];

const OUTLINE: Pen = Pen::new(0.35, Ink::Black);
const CUT: Pen = Pen::new(0.25, Ink::Black);
const HAIR: Pen = Pen::new(0.13, Ink::Black);
const HELP: Pen = Pen::new(0.1, Ink::Grey);
const LABEL: f64 = 4.2;
const LINE: f64 = 5.5;

/// A hole's number and what it serves, read from where the drill is held.
const TAG: f64 = 6.0;
const TAG_LINE: f64 = 7.5;

/// Half length of a crosshair where no diameter is given, mm.
const BARE_CROSS: f64 = 15.0;

/// How far a crosshair reaches past the rim, mm.
const PAST_RIM: f64 = 6.0;

/// The panel's drawing: outline at [`ROOM`] from the upper left corner, one unit 1 mm of panel.
pub fn panel_drawing(view: &View) -> Drawing {
    let [left, top, right, bottom] = ROOM;
    let mut drawing = Drawing::new(view.width + left + right, view.height + top + bottom);
    drawing.layer = "panel outline";
    drawing.rectangle([left, top], [view.width, view.height], OUTLINE);
    draw_edge_names(&mut drawing, view);
    draw_distances(&mut drawing, view);
    draw_datum(&mut drawing, view);
    for hole in view.holes.iter().filter(|hole| view.holds(hole)) {
        draw_hole(&mut drawing, view, hole);
    }
    write_distances(&mut drawing, view);
    draw_labels(&mut drawing, view);
    drawing
}

/// Where a place on the panel lies on the drawing.
pub fn on_drawing(view: &View, x: f64, y: f64) -> At {
    [ROOM[0] + x, ROOM[1] + view.height - y]
}

fn draw_datum(drawing: &mut Drawing, view: &View) {
    drawing.layer = "notes";
    let [x, y] = on_drawing(view, 0.0, 0.0);
    drawing.area(&[[x, y], [x + 9.0, y], [x, y - 9.0]], Ink::Black);
    let words = format!("MEASURE FROM HERE: {}", view.corner_words());
    // Help lines of the holes must not strike it out.
    drawing.panel([x + 10.0, y - 6.5], [width(&words, LABEL, true) + 2.0, 6.0], Ink::White);
    drawing.text([x + 11.0, y - 2.0], words, Lettering::new(LABEL).bold());
}

/// Edge names, said again often enough that every tile along an edge shows one.
fn draw_edge_names(drawing: &mut Drawing, view: &View) {
    drawing.layer = "notes";
    let lettering = Lettering::new(LABEL).anchor(Anchor::Middle).ink(Ink::Grey);
    for x in spots(view.width) {
        let [px, top] = on_drawing(view, x, view.height);
        drawing.text([px, top - 3.0], view.edges.top.words(), lettering);
        let [_, low] = on_drawing(view, x, 0.0);
        drawing.text([px, low + 46.0], format!("{} (measure up from here)", view.edges.bottom.words()), lettering);
    }
    for y in spots(view.height) {
        let [left, py] = on_drawing(view, 0.0, y);
        drawing.text([left - 45.0, py], format!("{} (measure across from here)", view.edges.left.words()), lettering.upward());
        let [right, _] = on_drawing(view, view.width, y);
        drawing.text([right + 6.0, py], view.edges.right.words(), lettering.upward());
    }
}

/// Places along an edge, about 150 mm apart.
fn spots(length: f64) -> Vec<f64> {
    let count = (length / 150.0).round().clamp(1.0, 100.0);
    (0..count as usize).map(|i| (i as f64 + 0.5) * length / count).collect()
}

/// Help lines from the holes to their distances along the lower and the left edge.
fn draw_distances(drawing: &mut Drawing, view: &View) {
    drawing.layer = "distances";
    let on: Vec<&SeenHole> = view.holes.iter().filter(|hole| view.holds(hole)).collect();
    for (x, label) in spread(on.iter().map(|hole| hole.x).collect(), LINE) {
        let [px, edge] = on_drawing(view, x, 0.0);
        let [lx, _] = on_drawing(view, label, 0.0);
        let highest = on.iter().filter(|hole| (hole.x - x).abs() < SAME).map(|hole| hole.y).fold(0.0, f64::max);
        drawing.line(&[on_drawing(view, x, highest), [px, edge + 2.0], [lx, edge + 5.0]], HELP);
    }
    for (y, label) in spread(on.iter().map(|hole| hole.y).collect(), LINE) {
        let [edge, py] = on_drawing(view, 0.0, y);
        let [_, ly] = on_drawing(view, 0.0, label);
        let farthest = on.iter().filter(|hole| (hole.y - y).abs() < SAME).map(|hole| hole.x).fold(0.0, f64::max);
        drawing.line(&[on_drawing(view, farthest, y), [edge - 2.0, py], [edge - 5.0, ly]], HELP);
    }
}

/// The distances in figures, over whatever cuts the edge there.
fn write_distances(drawing: &mut Drawing, view: &View) {
    drawing.layer = "distances";
    let on = || view.holes.iter().filter(|hole| view.holds(hole));
    let figures = |length: f64| format!("{} | {}\"", mm(length), inches(length));
    for (x, label) in spread(on().map(|hole| hole.x).collect(), LINE) {
        let [lx, edge] = on_drawing(view, label, 0.0);
        drawing.panel([lx - 2.2, edge + 5.5], [4.6, 2.0 + width(&figures(x), LABEL, false)], Ink::White);
        drawing.text([lx + 1.4, edge + 6.5], figures(x), Lettering::new(LABEL).upward().anchor(Anchor::End));
    }
    for (y, label) in spread(on().map(|hole| hole.y).collect(), LINE) {
        let [edge, ly] = on_drawing(view, 0.0, label);
        let long = width(&figures(y), LABEL, false);
        drawing.panel([edge - 7.5 - long, ly - 2.2], [2.0 + long, 4.6], Ink::White);
        drawing.text([edge - 6.5, ly + 1.4], figures(y), Lettering::new(LABEL).anchor(Anchor::End));
    }
}

/// Holes closer than this along an edge share one distance, mm.
const SAME: f64 = 0.05;

/// Each distinct value with a place for its label, at least `gap` from the next one.
fn spread(mut values: Vec<f64>, gap: f64) -> Vec<(f64, f64)> {
    values.sort_by(f64::total_cmp);
    values.dedup_by(|a, b| (*a - *b).abs() < SAME);
    let mut placed: Vec<(f64, f64)> = Vec::new();
    for value in values {
        let least = placed.last().map_or(f64::NEG_INFINITY, |(_, label)| label + gap);
        placed.push((value, value.max(least)));
    }
    placed
}

fn draw_hole(drawing: &mut Drawing, view: &View, hole: &SeenHole) {
    let centre = on_drawing(view, hole.x, hole.y);
    if let Some(diameter) = hole.drill {
        drawing.layer = "holes";
        drawing.circle(centre, diameter / 2.0, CUT);
    }
    drawing.layer = "crosshairs";
    let arm = hole.drill.map_or(BARE_CROSS, |diameter| diameter / 2.0 + PAST_RIM);
    drawing.line(&[[centre[0] - arm, centre[1]], [centre[0] + arm, centre[1]]], HAIR);
    drawing.line(&[[centre[0], centre[1] - arm], [centre[0], centre[1] + arm]], HAIR);
}

/// Texts beside the holes, where they hide no other hole; in a crowd the number alone.
fn draw_labels(drawing: &mut Drawing, view: &View) {
    drawing.layer = "notes";
    let holes: Vec<&SeenHole> = view.holes.iter().filter(|hole| view.holds(hole)).collect();
    let mut taken: Vec<Bounds> = holes.iter().map(|hole| hole_bounds(view, hole)).collect();
    for hole in holes {
        let (full, short) = (label(view, hole), vec![hole.tag.clone()]);
        let centre = on_drawing(view, hole.x, hole.y);
        let found = [full, short.clone()].into_iter().find_map(|texts| Some((place_label(view, hole, &texts, &taken)?, texts)));
        let (at, texts) = found.unwrap_or(([centre[0] + 0.8, centre[1] - 1.0 - TAG_LINE], short));
        let own = label_bounds(at, &texts);
        taken.push(own);
        // Help lines of other holes must not strike out what is to be read.
        drawing.panel(at, [own[2] - own[0], own[3] - own[1]], Ink::White);
        for (line, text) in texts.iter().enumerate() {
            let (base, lettering) = match line {
                0 => (0.8 * TAG_LINE, Lettering::new(TAG).bold()),
                _ => (TAG_LINE + (line as f64 - 0.2) * LINE, Lettering::new(LABEL)),
            };
            drawing.text([at[0], at[1] + base], text, lettering);
        }
    }
}

/// Widest line beside a hole, mm.
const WIDEST_LABEL: f64 = 100.0;

fn label(view: &View, hole: &SeenHole) -> Vec<String> {
    let drill = hole.drill.map_or_else(|| "measure the bulkhead in hand".to_owned(), |d| format!("drill {}", both(d)));
    let mut texts = wrapped(&format!("{}  {}", hole.tag, hole.serves), TAG, true, WIDEST_LABEL);
    texts.push(drill);
    texts.push(format!("{} from {}", both(hole.x), short_edge(view.edges.left.word())));
    texts.push(format!("{} from {}", both(hole.y), short_edge(view.edges.bottom.word())));
    texts
}

fn short_edge(word: &str) -> String {
    if word == PanelName::Bottom.word() || word == "floor" { "the inside floor".to_owned() } else { format!("the {word} panel, inside") }
}

fn hole_bounds(view: &View, hole: &SeenHole) -> Bounds {
    let [x, y] = on_drawing(view, hole.x, hole.y);
    let reach = hole.drill.map_or(BARE_CROSS, |diameter| diameter / 2.0 + PAST_RIM);
    [x - reach, y - reach, x + reach, y + reach]
}

fn label_bounds(at: At, texts: &[String]) -> Bounds {
    let wide = |(line, text): (usize, &String)| width(text, if line == 0 { TAG } else { LABEL }, true);
    let long = texts.iter().enumerate().map(wide).fold(0.0, f64::max);
    [at[0], at[1], at[0] + long, at[1] + TAG_LINE + (texts.len() - 1) as f64 * LINE]
}

/// Upper left corner of a hole's label: to its right, left, above or below, wherever it is free and on the panel.
fn place_label(view: &View, hole: &SeenHole, texts: &[String], taken: &[Bounds]) -> Option<At> {
    let [x0, y0, x1, y1] = hole_bounds(view, hole);
    let [_, _, long, tall] = label_bounds([0.0, 0.0], texts);
    let middle = (y0 + y1) / 2.0 - tall / 2.0;
    let across = (x0 + x1) / 2.0 - long / 2.0;
    let spots = [[x1 + 1.5, middle], [x0 - 1.5 - long, middle], [across, y0 - 1.5 - tall], [across, y1 + 1.5]];
    let sheet = [ROOM[0], ROOM[1], ROOM[0] + view.width, ROOM[1] + view.height];
    let is_free = |at: &At| {
        let own = label_bounds(*at, texts);
        let inside = own[0] >= sheet[0] && own[1] >= sheet[1] && own[2] <= sheet[2] && own[3] <= sheet[3];
        inside && taken.iter().all(|other| !overlap(own, *other))
    };
    spots.into_iter().find(is_free)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_are_spread_and_shared() {
        let placed = spread(vec![100.0, 10.0, 100.0, 101.0], 4.0);
        assert_eq!(placed, [(10.0, 10.0), (100.0, 100.0), (101.0, 104.0)]);
    }
}
