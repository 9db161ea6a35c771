//! Dead spots on a map: hatched where the shown water is in one, outlined where one lies in front of or behind it.

use super::canvas::{Anchor, Canvas, Style, number};
use super::frame::Frame;
use super::labels::Labels;
use super::theme;
use super::view::Plane;
use crate::report::shown::volume;
use crate::study::record::DeadSpot;
use crate::units::Display;
use std::fmt::Write;

/// How many dead spots get a label of their own.
const LABELLED: usize = 8;

/// The hatch pattern; once a picture.
pub fn define_hatch(canvas: &mut Canvas, colour: &str) {
    canvas.raw(&format!(
        "<defs><pattern id=\"dead\" width=\"9\" height=\"9\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
         <rect width=\"1.8\" height=\"9\" fill=\"{colour}\" fill-opacity=\"0.7\"/></pattern></defs>"
    ));
}

/// Hatch and outline all dead spots.
pub fn areas(canvas: &mut Canvas, frame: &Frame, plane: &Plane, colour: &str) {
    let edge = |dash: &str| format!("fill=\"none\" stroke=\"{colour}\" stroke-width=\"1.6\" {dash}");
    let casing = "fill=\"none\" stroke=\"#1c2530\" stroke-width=\"3.4\" stroke-opacity=\"0.55\"";
    canvas.path(&filled(frame, plane), "fill=\"url(#dead)\"");
    let (cut, anywhere) = (outline(frame, plane, &plane.dead), outline(frame, plane, &plane.dead_anywhere));
    canvas.path(&anywhere, &edge("stroke-dasharray=\"4 3\""));
    canvas.path(&cut, casing);
    canvas.path(&cut, &edge(""));
}

/// Number and volume of the largest dead spots.
pub fn names(canvas: &mut Canvas, frame: &Frame, plane: &Plane, spots: &[DeadSpot], labels: &mut Labels, display: Display) {
    for spot in spots.iter().take(LABELLED) {
        label(canvas, frame, plane, spot, labels, display);
    }
}

fn label(canvas: &mut Canvas, frame: &Frame, plane: &Plane, spot: &DeadSpot, labels: &mut Labels, display: Display) {
    let Some(at) = middle(frame, plane, spot.rank) else { return };
    let text = format!("{}: {}", spot.rank, volume(spot.volume_m3, display));
    let style = Style::new(13.0).bold().fill("#ffffff").anchor(Anchor::Middle);
    let size = [style.width_of(&text) + 10.0, 19.0];
    let [x, y] = labels.settle(at, size, 3.0);
    canvas.line(at, [x, y], "stroke=\"#ffffff\" stroke-width=\"1.4\"");
    canvas.circle(at, 2.6, "fill=\"#ffffff\" stroke=\"#1c2530\" stroke-width=\"1\"");
    let look = format!("rx=\"4\" fill=\"{}\" stroke=\"#ffffff\" stroke-width=\"1.2\"", theme::INK);
    canvas.rect([x - 0.5 * size[0], y - 0.5 * size[1]], size, &look);
    canvas.text([x, y + 4.7], style, &text);
}

/// The cell of the spot that is nearest to the middle of what is seen of it.
fn middle(frame: &Frame, plane: &Plane, rank: usize) -> Option<[f64; 2]> {
    let of = |ranks: &[u16]| ranks.iter().any(|r| usize::from(*r) == rank);
    let ranks = if of(&plane.dead) { &plane.dead } else { &plane.dead_anywhere };
    let cells: Vec<[f64; 2]> = (0..ranks.len())
        .filter(|i| usize::from(ranks[*i]) == rank)
        .map(|i| [((i % plane.n[0]) as f64 + 0.5) * plane.h, ((i / plane.n[0]) as f64 + 0.5) * plane.h])
        .collect();
    let n = cells.len() as f64;
    let mean = [0, 1].map(|axis| cells.iter().map(|c| c[axis]).sum::<f64>() / n);
    let far = |c: &[f64; 2]| (c[0] - mean[0]).hypot(c[1] - mean[1]);
    cells.into_iter().min_by(|a, b| far(a).total_cmp(&far(b))).map(|c| frame.flat(c[0], c[1]))
}

/// Rectangles over the marked cells, a run of cells at a time.
fn filled(frame: &Frame, plane: &Plane) -> String {
    let mut path = String::new();
    for row in 0..plane.n[1] {
        let mut column = 0;
        while column < plane.n[0] {
            let marked = |c: usize| c < plane.n[0] && plane.dead[c + plane.n[0] * row] > 0;
            let end = (column..).find(|c| !marked(*c)).unwrap_or(column);
            if end > column {
                let [x, y] = frame.flat(column as f64 * plane.h, (row + 1) as f64 * plane.h).map(number);
                let (w, h) = (number((end - column) as f64 * plane.h * frame.scale), number(plane.h * frame.scale));
                let _ = write!(path, "M{x} {y}h{w}v{h}h-{w}Z");
            }
            column = end + 1;
        }
    }
    path
}

/// Lines between cells of different ranks.
fn outline(frame: &Frame, plane: &Plane, ranks: &[u16]) -> String {
    let rank = |column: isize, row: isize| {
        let inside = column >= 0 && row >= 0 && (column as usize) < plane.n[0] && (row as usize) < plane.n[1];
        if inside { ranks[column as usize + plane.n[0] * row as usize] } else { 0 }
    };
    let (columns, rows) = (plane.n[0] as isize, plane.n[1] as isize);
    let mut path = String::new();
    for row in 0..=rows {
        for column in 0..=columns {
            let (x, y) = (column as f64 * plane.h, row as f64 * plane.h);
            if row < rows && rank(column, row) != rank(column - 1, row) {
                path.push_str(&super::canvas::path_through(&[frame.flat(x, y), frame.flat(x, y + plane.h)]));
            }
            if column < columns && rank(column, row) != rank(column, row - 1) {
                path.push_str(&super::canvas::path_through(&[frame.flat(x, y), frame.flat(x + plane.h, y)]));
            }
        }
    }
    path
}
