//! Cavities of edge 1 whose lid slides at a speed of 1, Re 1000.

use super::{Outcome, Plot, Row, Run, WALL, all_water, cubic, laminar};
use slackwater::flow::{Grid, Side};

/// Botella and Peyret 1998 (reference 6.4): (y, u at x = ½), (x, v at y = ½).
const FLAT_U: [[f64; 2]; 17] = [
    [0.0, 0.0],
    [0.0547, -0.1812881],
    [0.0625, -0.20233],
    [0.0703, -0.2228955],
    [0.1016, -0.3004561],
    [0.1719, -0.3885691],
    [0.2813, -0.2803696],
    [0.4531, -0.1081999],
    [0.5, -0.0620561],
    [0.6172, 0.0570178],
    [0.7344, 0.1886747],
    [0.8516, 0.3372212],
    [0.9531, 0.4723329],
    [0.9609, 0.5169277],
    [0.9688, 0.5808359],
    [0.9766, 0.6644227],
    [1.0, 1.0],
];
const FLAT_V: [[f64; 2]; 17] = [
    [0.0, 0.0],
    [0.0625, 0.2807056],
    [0.0703, 0.2962703],
    [0.0781, 0.3099097],
    [0.0938, 0.3330442],
    [0.1563, 0.3769189],
    [0.2266, 0.3339924],
    [0.2344, 0.3253592],
    [0.5, 0.0257995],
    [0.8047, -0.3202137],
    [0.8594, -0.4264545],
    [0.9063, -0.5264392],
    [0.9453, -0.4103754],
    [0.9531, -0.3553213],
    [0.9609, -0.2936869],
    [0.9688, -0.2279225],
    [1.0, 0.0],
];

/// Albensoeder and Kuhlmann 2005, table 5 (reference 6.6): (height, u), (place along the lid's motion, speed upward).
const CUBE_U: [[f64; 2]; 17] = [
    [0.0, 0.0],
    [0.0547, -0.20623],
    [0.0625, -0.22283],
    [0.0703, -0.23696],
    [0.1016, -0.27293],
    [0.1719, -0.2516],
    [0.2813, -0.10999],
    [0.4531, -0.00612],
    [0.5, 0.00802],
    [0.6172, 0.03905],
    [0.7344, 0.07334],
    [0.8516, 0.12183],
    [0.9531, 0.33171],
    [0.9609, 0.39821],
    [0.9688, 0.48443],
    [0.9766, 0.58964],
    [1.0, 1.0],
];
const CUBE_V: [[f64; 2]; 17] = [
    [0.0, 0.0],
    [0.0625, 0.21738],
    [0.0703, 0.22746],
    [0.0781, 0.23503],
    [0.0938, 0.24407],
    [0.1563, 0.22924],
    [0.2266, 0.17580],
    [0.2344, 0.16987],
    [0.5, 0.03674],
    [0.8047, -0.15223],
    [0.8594, -0.31117],
    [0.9063, -0.43423],
    [0.9453, -0.33511],
    [0.9531, -0.29032],
    [0.9609, -0.24095],
    [0.9688, -0.18864],
    [1.0, 0.0],
];

/// Largest error wanted at this many cells a side (the row 6).
fn tolerance(n: usize) -> f64 {
    match n {
        0..48 => 0.07,
        48..64 => 0.04,
        _ => 0.025,
    }
}

/// The flat one after a time of `end` from rest.
pub fn flat(n: usize, end: f64) -> Outcome {
    let h = 1.0 / n as f32;
    let lid = Side::Sliding { velocity: [1.0, 0.0, 0.0] };
    let mut run = Run::new(Grid { n: [n, n, 1], h }, &all_water, laminar(1e-3, [WALL, WALL, WALL, lid, Side::Slip, Side::Slip]));
    run.until(end);
    let across = line(n, 1.0, |y| run.flow.sample([0.5, y, 0.5 * h]).unwrap()[0]);
    let along = line(n, 0.0, |x| run.flow.sample([x, 0.5, 0.5 * h]).unwrap()[1]);
    outcome("flat cavity", "Botella and Peyret 1998 (6.4)", n, [(across, FLAT_U), (along, FLAT_V)])
}

/// The cubic one.
pub fn cube(n: usize, end: f64) -> Outcome {
    let lid = Side::Sliding { velocity: [1.0, 0.0, 0.0] };
    let mut run = Run::new(Grid { n: [n; 3], h: 1.0 / n as f32 }, &all_water, laminar(1e-3, [WALL, WALL, WALL, WALL, WALL, lid]));
    run.until(end);
    let across = line(n, 1.0, |z| run.flow.sample([0.5, 0.5, z]).unwrap()[0]);
    let along = line(n, 0.0, |x| run.flow.sample([x, 0.5, 0.5]).unwrap()[2]);
    outcome("cubic cavity", "Albensoeder and Kuhlmann 2005 (6.6)", n, [(across, CUBE_U), (along, CUBE_V)])
}

/// Values at cell centres along a line from wall to wall, with those of the walls: 0 and `last`.
fn line(n: usize, last: f64, value: impl Fn(f32) -> f32) -> Vec<[f64; 2]> {
    let inner = (0..n).map(|i| (i as f32 + 0.5) / n as f32).map(|x| [f64::from(x), f64::from(value(x))]);
    std::iter::once([0.0, 0.0]).chain(inner).chain(std::iter::once([1.0, last])).collect()
}

/// Computed, then published points of a curve.
type Curve = (Vec<[f64; 2]>, [[f64; 2]; 17]);

fn outcome(name: &str, source: &'static str, n: usize, curves: [Curve; 2]) -> Outcome {
    let mut outcome = Outcome::default();
    let axes = [["height", "speed along the lid"], ["place along the lid", "speed across"]];
    for ((computed, published), (which, axes)) in curves.into_iter().zip(["u", "v"].into_iter().zip(axes)) {
        let worst = published.iter().map(|point| (cubic(&computed, point[0]) - point[1]).abs()).fold(0.0, f64::max);
        outcome.rows.push(Row {
            case: format!("{name}, {n} cells a side, largest error of {which}"),
            source,
            wanted: 0.0,
            tolerance: tolerance(n),
            got: worst,
        });
        outcome.plots.push(Plot { name: format!("{name} {n} {which}"), axes, computed, published: published.to_vec() });
    }
    outcome
}
