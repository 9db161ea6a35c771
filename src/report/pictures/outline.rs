//! Where solid parts are in a picture: their signed distance on a grid, between its points by straight lines.

use super::theme::{self, Tint};
use super::view::{Depth, View};
use crate::layout::Layout;
use crate::layout::solid::{Solid, solids};
use rayon::prelude::*;

/// Places along the line of sight that are looked at when all depths are shown at once.
const STATIONS: u32 = 24;

/// Signed distance (m, negative inside) to the nearest solid part and how that part is tinted.
#[derive(Debug)]
pub struct Outline {
    columns: usize,
    rows: usize,
    step: f64,
    nearest: Vec<(f64, Tint)>,
}

impl Outline {
    /// Over a picture of `size` (m, right and up). `pixel` is the edge of a pixel, m.
    pub fn new(layout: &Layout, view: View, size: [f64; 2], pixel: f64) -> Self {
        let step = if view.depth == Depth::Mean { size[0].max(size[1]) / 280.0 } else { 2.0 * pixel };
        let (columns, rows) = ((size[0] / step).ceil() as usize + 2, (size[1] / step).ceil() as usize + 2);
        let (parts, stations) = (tinted(layout, view), stations(layout, view));
        let nearest = (0..columns * rows)
            .into_par_iter()
            .map(|i| nearest(&parts, view, &stations, (i % columns) as f64 * step, (i / columns) as f64 * step))
            .collect();
        Self { columns, rows, step, nearest }
    }

    /// At a place of the picture, m.
    pub fn at(&self, right: f64, up: f64) -> (f64, Tint) {
        let place = |x: f64, n: usize| {
            let x = (x / self.step).clamp(0.0, (n - 1) as f64);
            let low = (x as usize).min(n - 2);
            (low, x - low as f64)
        };
        let ((i, s), (j, t)) = (place(right, self.columns), place(up, self.rows));
        let corner = |di, dj| self.nearest[i + di + self.columns * (j + dj)];
        let between = |a: f64, b: f64, share: f64| if share > 0.0 { a + share * (b - a) } else { a };
        let low = between(corner(0, 0).0, corner(1, 0).0, s);
        let high = between(corner(0, 1).0, corner(1, 1).0, s);
        (between(low, high, t), corner(usize::from(s > 0.5), usize::from(t > 0.5)).1)
    }
}

/// Solid parts with their tints. Over all depths, sand (everywhere) and braces (over everything) would hide the water.
fn tinted(layout: &Layout, view: View) -> Vec<(Solid, Tint)> {
    let tint = |part: &str| match part {
        p if p.starts_with("rocks/") => theme::ROCK,
        "sand" => theme::SAND,
        _ => theme::FITTED,
    };
    let shown = |part: &str| view.depth != Depth::Mean || part.starts_with("rocks/") || part.starts_with("overflows/");
    let parts = solids(layout).into_iter().filter(|solid| shown(&solid.part));
    parts.map(|solid| (solid.clone(), tint(&solid.part))).collect()
}

fn stations(layout: &Layout, view: View) -> Vec<f64> {
    match view.depth {
        Depth::Cut(at) => vec![at],
        Depth::Mean => {
            let length = layout.tank.size()[view.side.axes()[2]];
            (0..STATIONS).map(|i| (f64::from(i) + 0.5) / f64::from(STATIONS) * length).collect()
        }
    }
}

fn nearest(parts: &[(Solid, Tint)], view: View, stations: &[f64], right: f64, up: f64) -> (f64, Tint) {
    let mut best = (f64::INFINITY, theme::ROCK);
    for (solid, tint) in parts {
        for along in stations {
            let distance = solid.distance(view.side.point(right, up, *along));
            if distance < best.0 {
                best = (distance, *tint);
            }
        }
    }
    best
}
