//! Labels that keep off each other and off the marks.

use super::canvas::{Anchor, Canvas, Style};

/// What a unit of distance from the mark costs, in units of covered area.
const NEARNESS: f64 = 0.5;

/// A box that is taken: left, top, right, bottom.
type Taken = [f64; 4];

/// Places already used on a map.
#[derive(Debug)]
pub struct Labels {
    bounds: Taken,
    taken: Vec<Taken>,
}

impl Labels {
    /// None yet; labels stay within `bounds` where they can.
    pub fn new(bounds: [f64; 4]) -> Self {
        Self { bounds, taken: Vec::new() }
    }

    /// Keep labels off a mark.
    pub fn keep_off(&mut self, at: [f64; 2], radius: f64) {
        self.taken.push([at[0] - radius, at[1] - radius, at[0] + radius, at[1] + radius]);
    }

    /// Find the place near `at` where a box of `size` covers the least, and take it. Returns its middle.
    pub fn settle(&mut self, at: [f64; 2], size: [f64; 2], gap: f64) -> [f64; 2] {
        let (w, h) = (0.5 * size[0] + gap, 0.5 * size[1] + gap);
        let around = [
            [w, 0.0],
            [-w, 0.0],
            [0.0, -h],
            [0.0, h],
            [w, -h],
            [-w, -h],
            [w, h],
            [-w, h],
            [0.0, -2.2 * h],
            [0.0, 2.2 * h],
            [w + 46.0, 0.0],
            [-w - 46.0, 0.0],
        ];
        let boxed = |[dx, dy]: [f64; 2]| {
            let (x, y) = (at[0] + dx, at[1] + dy);
            [x - 0.5 * size[0], y - 0.5 * size[1], x + 0.5 * size[0], y + 0.5 * size[1]]
        };
        let cost = |shift: &[f64; 2]| self.cost(boxed(*shift)) + NEARNESS * (shift[0].abs() - w).max(shift[1].abs() - h).max(0.0);
        let best = around.into_iter().min_by(|a, b| cost(a).total_cmp(&cost(b))).map_or(self.bounds, boxed);
        self.taken.push(best);
        [0.5 * (best[0] + best[2]), 0.5 * (best[1] + best[3])]
    }

    /// A label near a mark.
    pub fn put(&mut self, canvas: &mut Canvas, at: [f64; 2], gap: f64, style: Style, text: &str) {
        let middle = self.settle(at, [style.width_of(text), style.size * 1.1], gap);
        canvas.text_with_halo([middle[0], middle[1] + 0.36 * style.size], style.anchor(Anchor::Middle), text);
    }

    fn cost(&self, b: Taken) -> f64 {
        let out = |low: f64, high: f64| (low.max(0.0) + high.max(0.0)) * 100.0;
        let outside = out(self.bounds[0] - b[0], b[2] - self.bounds[2]) + out(self.bounds[1] - b[1], b[3] - self.bounds[3]);
        outside + self.taken.iter().map(|t| overlap(b, *t)).sum::<f64>()
    }
}

fn overlap(a: Taken, b: Taken) -> f64 {
    let along = |i: usize| (a[i + 2].min(b[i + 2]) - a[i].max(b[i])).max(0.0);
    along(0) * along(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn second_label_gives_way() {
        let mut labels = Labels::new([0.0, 0.0, 100.0, 100.0]);
        let (a, b) = (labels.settle([50.0, 50.0], [20.0, 10.0], 2.0), labels.settle([50.0, 50.0], [20.0, 10.0], 2.0));
        assert!((a[0] - b[0]).abs() >= 20.0 || (a[1] - b[1]).abs() >= 10.0, "{a:?} {b:?}");
    }

    #[test]
    fn labels_stay_inside() {
        let mut labels = Labels::new([0.0, 0.0, 100.0, 100.0]);
        assert!(labels.settle([98.0, 50.0], [20.0, 10.0], 2.0)[0] < 98.0);
    }
}
