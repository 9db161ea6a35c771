//! True scale: PDF, tiles, SVG and DXF against the layout, within 0.1 mm (the issue's figure).

use super::pdf::{Page, crosshairs, pages};
use super::{drilled, named};
use dxf::entities::EntityType;
use slackwater::handover::drilling::{LAYERS, SeenHole, View, outline_corner, whole_sheet};
use slackwater::handover::{Sheet, Stamp};

const TOLERANCE: f64 = 0.1;

/// Half a crosshair in the drawing: 6 mm past the rim, 15 mm where no diameter is given.
fn arm(hole: &SeenHole) -> f64 {
    hole.drill.map_or(15.0, |diameter| diameter / 2.0 + 6.0)
}

fn name(view: &View, rest: &str) -> String {
    format!("drilling {} panel{rest}", view.panel.word())
}

/// Crosshair of a hole on a page: the one nearest to where it should be.
fn found(page: &Page, hole: &SeenHole, wanted: [f64; 2]) -> [f64; 2] {
    let all = crosshairs(page, arm(hole));
    let off = |at: &[f64; 2]| (at[0] - wanted[0]).hypot(at[1] - wanted[1]);
    all.into_iter().min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or_else(|| panic!("no crosshair for {}", hole.tag))
}

#[test]
fn one_page_pdf_is_true_to_scale() {
    for (layout, sheets, view) in drilled() {
        let pages = pages(&named(sheets, &name(view, ".pdf")).bytes().unwrap());
        let sheet = whole_sheet(layout, view, &Stamp::new(layout, "2026-03-01"));
        assert_eq!(pages.len(), 1);
        assert!((pages[0].size[0] - sheet.width).abs() < TOLERANCE && (pages[0].size[1] - sheet.height).abs() < TOLERANCE);
        let [left, top] = outline_corner();
        let origin = [left, sheet.height - top - view.height];
        for hole in &view.holes {
            let at = found(&pages[0], hole, [origin[0] + hole.x, origin[1] + hole.y]);
            let off = (at[0] - origin[0] - hole.x).hypot(at[1] - origin[1] - hole.y);
            assert!(off < TOLERANCE, "{} {}: off by {off} mm", layout.name, hole.tag);
        }
    }
}

/// Every tile shows a part of the same drawing. Tiles laid with their windows overlapping by 10 mm give one picture: each crosshair that a window
/// shows must lie, on the table, where the drawing has it.
#[test]
fn tiles_laid_together_give_the_same_distances() {
    // Panels of 4 m make a hundred tiles and show nothing new.
    for (layout, sheets, view) in drilled().filter(|(_, _, view)| view.width < 2500.0) {
        for paper in ["A4", "Letter"] {
            let pages = pages(&named(sheets, &name(view, &format!(", tiles on {paper}.pdf"))).bytes().unwrap());
            let tiles: Vec<&Page> = pages.iter().filter(|page| !page.windows.is_empty()).collect();
            for hole in &view.holes {
                let spots: Vec<[f64; 2]> = tiles.iter().filter_map(|tile| on_table(tile, &tiles, hole, view)).collect();
                assert!(!spots.is_empty(), "{} {paper} {}: on no tile", layout.name, hole.tag);
                for spot in spots {
                    let off = spot[0].hypot(spot[1]);
                    assert!(off < TOLERANCE, "{} {paper} {}: off by {off} mm", layout.name, hole.tag);
                }
            }
        }
    }
}

/// How far a hole's crosshair on a laid tile lies from where the panel has it; `None` when the tile doesn't show it.
fn on_table(tile: &Page, tiles: &[&Page], hole: &SeenHole, view: &View) -> Option<[f64; 2]> {
    let [wx, wy, ww, wh] = tile.windows[0];
    // One hole is the anchor of a tile's own drawing; from it follows which part the window shows.
    let alike = view.holes.iter().filter(|other| other.drill == view.holes[0].drill);
    let anchor = alike.min_by(|a, b| rank([a.x, a.y]).total_cmp(&rank([b.x, b.y])))?;
    let first = first_crosshair(tile, anchor)?;
    let first_on_first = first_crosshair(tiles[0], anchor)?;
    let moved = [first_on_first[0] - first[0], first_on_first[1] - first[1]];
    // Tiles are laid in steps of the window less the overlap; the way the drawing was moved must be a whole number of steps.
    let steps = [moved[0] / (ww - 10.0), moved[1] / (wh - 10.0)];
    let laid = [steps[0].round() * (ww - 10.0), steps[1].round() * (wh - 10.0)];
    let at = found(tile, hole, [first[0] + hole.x - anchor.x, first[1] + hole.y - anchor.y]);
    let down = tile.size[1] - at[1];
    let shown = (wx..=wx + ww).contains(&at[0]) && (wy..=wy + wh).contains(&down);
    let table = [at[0] + laid[0] - first_on_first[0], at[1] + laid[1] - first_on_first[1]];
    shown.then(|| [table[0] - (hole.x - anchor.x), table[1] - (hole.y - anchor.y)])
}

/// From the left, then from below.
fn rank(at: [f64; 2]) -> f64 {
    at[0] + 1e-3 * at[1]
}

/// The first crosshair of a hole's size anywhere on a tile's drawing, seen or not.
fn first_crosshair(tile: &Page, hole: &SeenHole) -> Option<[f64; 2]> {
    crosshairs(tile, arm(hole)).into_iter().min_by(|a, b| rank(*a).total_cmp(&rank(*b)))
}

#[test]
fn svg_holds_the_circles() {
    for (layout, sheets, view) in drilled() {
        let svg = String::from_utf8(named(sheets, &name(view, ".svg")).bytes().unwrap()).unwrap();
        assert!(!svg.contains("<text"), "text must be outlines");
        let [left, top] = outline_corner();
        let circles: Vec<[f64; 3]> = svg.split("<circle ").skip(1).map(|c| ["cx", "cy", "r"].map(|key| number(c, key))).collect();
        for hole in view.holes.iter().filter(|hole| hole.drill.is_some()) {
            let wanted = [left + hole.x, top + view.height - hole.y, hole.drill.unwrap() / 2.0];
            let is_it = |circle: &[f64; 3]| circle.iter().zip(wanted).all(|(a, b)| (a - b).abs() < 0.001);
            assert!(circles.iter().any(is_it), "{} {}", layout.name, hole.tag);
        }
        let sheet = whole_sheet(layout, view, &Stamp::new(layout, "2026-03-01"));
        assert!((number(&svg, "<svg xmlns=\"http://www.w3.org/2000/svg\" width") - sheet.width).abs() < 0.001);
    }
}

/// The number in `key="…"`, unit or not.
fn number(text: &str, key: &str) -> f64 {
    let value = text.split(&format!("{key}=\"")).nth(1).unwrap().split('"').next().unwrap();
    value.trim_end_matches("mm").parse().unwrap()
}

#[test]
fn dxf_read_back() {
    for (_, sheets, view) in drilled() {
        let drawing = read_dxf(named(sheets, &name(view, ".dxf")));
        let layers: Vec<&str> = drawing.layers().map(|layer| layer.name.as_str()).collect();
        assert!(LAYERS.iter().all(|name| layers.contains(name)), "{layers:?}");
        let circles: Vec<[f64; 3]> = drawing
            .entities()
            .filter_map(|entity| match &entity.specific {
                EntityType::Circle(circle) if entity.common.layer == "holes" => {
                    Some([circle.center.x, circle.center.y, 2.0 * circle.radius])
                }
                _ => None,
            })
            .collect();
        let wanted: Vec<[f64; 3]> = view.holes.iter().filter_map(|hole| Some([hole.x, hole.y, hole.drill?])).collect();
        assert_eq!(circles.len(), wanted.len());
        for (circle, wanted) in circles.iter().zip(&wanted) {
            assert!(circle.iter().zip(wanted).all(|(a, b)| (a - b).abs() < 1e-9), "{circle:?} {wanted:?}");
        }
    }
}

fn read_dxf(sheet: &Sheet) -> dxf::Drawing {
    dxf::Drawing::load(&mut sheet.bytes().unwrap().as_slice()).unwrap()
}
