//! Small maps beside findings: plan and front elevation with the rock, and the place marked.

use crate::layout::Layout;
use crate::report::pictures::escaped;
use crate::setup::rock::Solids;
use glam::DVec3;
use std::fmt::Write;

/// Squares along the length of the tank.
const ACROSS: f64 = 72.0;
/// Places along the line of sight that are looked at.
const STATIONS: usize = 14;
/// Width of a small map in units of its picture.
const WIDTH: f64 = 200.0;

/// One view: its id, words, and which axis of the tank runs up the picture.
const VIEWS: [(&str, &str, usize); 2] = [("plan", "Plan, front below", 1), ("front", "From the front", 2)];

/// Rock and outline, once a page, to be used by every [`map`].
pub fn ground(layout: &Layout) -> String {
    let solids = Solids::new(layout);
    let symbols: String = VIEWS.iter().map(|&(id, _, up)| symbol(layout, &solids, id, up)).collect();
    format!(
        "<svg width=\"0\" height=\"0\" class=\"hidden\" aria-hidden=\"true\">\n<title>Rock of the small maps</title>\n{symbols}</svg>\n"
    )
}

/// The small maps with a place (m) marked. `what` is the marked part in words.
pub fn map(layout: &Layout, at: [f64; 3], what: &str) -> String {
    let one = |&(id, words, up): &(&str, &str, usize)| {
        let [width, height] = size(layout, up);
        let (x, y) = (at[0] * scale(layout), height - at[up] * scale(layout));
        format!(
            "<svg viewBox=\"-1 -1 {:.0} {:.0}\" role=\"img\"><title>{words}: where {} is</title><use href=\"#ground-{id}\"/>\
             <circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"7\" class=\"mark\"/><circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"2\" class=\"dot\"/></svg>",
            width + 2.0,
            height + 2.0,
            escaped(what)
        )
    };
    let maps: Vec<String> = VIEWS.iter().map(|view| format!("<span>{}<small>{}</small></span>", one(view), view.1)).collect();
    format!("<div class=\"where\">{}</div>\n", maps.concat())
}

fn scale(layout: &Layout) -> f64 {
    WIDTH / layout.tank.size().x.max(1e-3)
}

/// Width and height of a view; `up` is the tank's axis that runs up.
fn size(layout: &Layout, up: usize) -> [f64; 2] {
    [WIDTH, layout.tank.size()[up] * scale(layout)]
}

fn symbol(layout: &Layout, solids: &Solids, id: &str, up: usize) -> String {
    let [width, height] = size(layout, up);
    let frame = format!("<rect width=\"{width:.1}\" height=\"{height:.1}\" class=\"glass\"/>");
    let level = layout.tank.water_level.si() * scale(layout);
    let y = height - level;
    let level = if up == 2 { format!("<path d=\"M0 {y:.1}h{width:.1}\" class=\"glass\"/>") } else { String::new() };
    let rock = rock(layout, solids, up);
    format!("<symbol id=\"ground-{id}\" overflow=\"visible\"><path class=\"rock\" d=\"{rock}\"/>{frame}{level}</symbol>\n")
}

/// Rock at any depth along the line of sight, a run of squares at a time.
fn rock(layout: &Layout, solids: &Solids, up: usize) -> String {
    let tank = layout.tank.size();
    let step = tank.x / ACROSS;
    let rows = (tank[up] / step).ceil() as usize;
    let is_rock = |column: usize, row: usize| {
        let mut point = DVec3::new((column as f64 + 0.5) * step, 0.0, 0.0);
        point[up] = (row as f64 + 0.5) * step;
        let along = 3 - up;
        (0..STATIONS).any(|station| {
            point[along] = (station as f64 + 0.5) / STATIONS as f64 * tank[along];
            solids.parts().iter().any(|part| part.part.starts_with("rocks/") && part.distance(point) < 0.0)
        })
    };
    let (edge, height) = (step * scale(layout), tank[up] * scale(layout));
    let mut path = String::new();
    for row in 0..rows {
        let mut column = 0;
        while column < ACROSS as usize {
            let end = (column..ACROSS as usize).find(|c| !is_rock(*c, row)).unwrap_or(ACROSS as usize);
            if end > column {
                let (x, y, run) = (column as f64 * edge, height - (row + 1) as f64 * edge, (end - column) as f64 * edge);
                let _ = write!(path, "M{x:.1} {y:.1}h{run:.1}v{edge:.1}h-{run:.1}z");
            }
            column = end + 1;
        }
    }
    path
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn a_place_is_marked_in_both_views() {
        let layout = sample::peninsula();
        let tank = layout.tank.size();
        let map = map(&layout, [tank.x / 2.0, tank.y, 0.0], "dead spot <1>");
        assert_eq!((map.matches("<svg").count(), map.matches("cx=\"100.0\"").count()), (2, 4), "{map}");
        assert!(map.contains("cy=\"0.0\"") && map.contains("dead spot &lt;1&gt;"), "{map}");
        assert!(ground(&layout).matches('M').count() > 20);
    }
}
