//! Arcs on a circle and how far they cover each other.

use std::f64::consts::TAU;

/// A stretch of the circle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    /// Its middle, rad.
    pub centre: f64,
    /// How long it is, rad; the whole circle from 2π up.
    pub length: f64,
}

impl Arc {
    /// Where it starts, in [0, 2π), and where it ends, after that.
    fn span(&self) -> (f64, f64) {
        let start = (self.centre - 0.5 * self.length).rem_euclid(TAU);
        (start, start + self.length.clamp(0.0, TAU))
    }
}

/// Length of `port` that lies under any of the `windows`, rad. Exact; windows may overlap each other.
pub fn overlap(port: Arc, windows: &[Arc]) -> f64 {
    let mut spans = unrolled(windows);
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (start, end) = port.span();
    let (mut covered, mut reached) = (0.0, start);
    for (from, to) in spans {
        let (from, to) = (from.max(reached), to.min(end));
        if to > from {
            covered += to - from;
            reached = to;
        }
    }
    covered
}

/// Each window three times, a turn apart, so that a port that crosses zero meets them all.
fn unrolled(windows: &[Arc]) -> Vec<(f64, f64)> {
    windows.iter().map(Arc::span).flat_map(|(a, b)| [-TAU, 0.0, TAU].map(|turn| (a + turn, b + turn))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arc(centre: f64, length: f64) -> Arc {
        Arc { centre: centre.to_radians(), length: length.to_radians() }
    }

    #[test]
    fn overlaps_by_hand() {
        let cases = [
            (arc(0.0, 40.0), vec![arc(0.0, 90.0)], 40.0),
            (arc(0.0, 40.0), vec![arc(30.0, 40.0)], 10.0),
            (arc(0.0, 40.0), vec![arc(350.0, 10.0), arc(5.0, 20.0)], 30.0),
            (arc(0.0, 40.0), vec![arc(0.0, 20.0), arc(5.0, 20.0)], 25.0),
            (arc(180.0, 40.0), vec![arc(0.0, 90.0)], 0.0),
            (arc(359.0, 40.0), vec![arc(-721.0, 400.0)], 40.0),
            (arc(10.0, 0.0), vec![arc(10.0, 20.0)], 0.0),
        ];
        for (port, windows, degrees) in cases {
            assert!((overlap(port, &windows).to_degrees() - degrees).abs() < 1e-9, "{port:?} {windows:?}");
        }
    }
}
