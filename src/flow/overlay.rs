//! The near fields of all jets laid over the velocity at cells, plane by plane.

use super::{
    Flow, Jet,
    axis::{self, LENGTH, Station},
    grid::Grid,
    gust::Gust,
    jets::dot,
    touch::{Felt, Touch, Waiting},
};
use multiversion::multiversion;
use rayon::prelude::*;
use std::ops::Range;

/// A jet with the cells that it may touch.
struct Laid<'a> {
    jet: &'a Jet,
    stations: &'a [Station],
    cone: Cone,
    reach: [(f32, f32); LENGTH],
    cells: [Range<usize>; 3],
}

/// Lays the jets with these axes over the velocity at cells (m/s) and over their gusts.
pub(super) fn lay(flow: &Flow, axes: &[[Station; LENGTH]], velocity: &mut [[f32; 3]], gusts: &mut [Gust]) {
    let jets: Vec<Laid> = axes.iter().zip(&flow.ports.jets).filter_map(|(stations, jet)| laid(flow, stations, jet)).collect();
    let [nx, ny, _] = flow.grid.n;
    let planes = velocity.par_chunks_mut(nx * ny).zip(gusts.par_chunks_mut(nx * ny)).enumerate();
    planes.for_each_init(
        || (vec![Touch::default(); nx], Waiting::default()),
        |(touches, waiting), (k, (velocity, gusts))| {
            for (j, (velocity, gusts)) in velocity.chunks_mut(nx).zip(gusts.chunks_mut(nx)).enumerate() {
                lay_row((flow, &jets), (j, k), (touches, waiting), velocity, gusts);
            }
        },
    );
}

/// `None` when the jet is nowhere.
fn laid<'a>(flow: &Flow, stations: &'a [Station; LENGTH], jet: &'a Jet) -> Option<Laid<'a>> {
    let reach = std::array::from_fn(|station| axis::reach(jet, flow.grid.h, station));
    Cone::round(flow.grid.h, jet, stations).map(|cone| Laid { jet, stations, cone, reach, cells: box_round(&flow.grid, jet, stations) })
}

/// One row of cells. All `touches` are 0 before and after, and none wait.
#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn lay_row<'a>(
    (flow, jets): (&Flow, &'a [Laid<'a>]),
    (j, k): (usize, usize),
    (touches, waiting): (&mut [Touch], &mut Waiting<'a>),
    velocity: &mut [[f32; 3]],
    gusts: &mut [Gust],
) {
    let (grid, water) = (&flow.grid, &flow.solids.water[flow.grid.index([0, j, k])..]);
    let (mut first, mut end) = (usize::MAX, 0);
    for laid in jets.iter().filter(|laid| laid.cells[1].contains(&j) && laid.cells[2].contains(&k)) {
        for i in laid.cells[0].clone() {
            let centre = grid.centre([i, j, k]);
            if !laid.cone.may_hold(centre) || water[i] <= 0.0 {
                continue;
            }
            if let Some(felt) = Felt::at(laid.jet, laid.stations, grid.h, centre, &|station| laid.reach[station]) {
                waiting.push(i, felt, touches);
                (first, end) = (first.min(i), end.max(i + 1));
            }
        }
    }
    waiting.flush(touches);
    for i in first..end {
        let touch = std::mem::take(&mut touches[i]);
        if touch.weight > 0.0 {
            (velocity[i], gusts[i]) = touch.over(velocity[i], gusts[i]);
        }
    }
}

/// Cells along x, y, z of the box round all stations of a jet that take part.
fn box_round(grid: &Grid, jet: &Jet, stations: &[Station]) -> [Range<usize>; 3] {
    let (mut low, mut high) = ([f32::MAX; 3], [f32::MIN; 3]);
    for (n, station) in stations.iter().enumerate().filter(|(_, s)| s.free > 0.0 && s.speed > 0.0) {
        let reach = axis::reach(jet, grid.h, n).1;
        for d in 0..3 {
            // Across an axis the reach is less than along it.
            let wide = reach * (1.0 - station.along[d] * station.along[d]).max(0.0).sqrt() + grid.h;
            low[d] = low[d].min(station.place[d] - wide);
            high[d] = high[d].max(station.place[d] + wide);
        }
    }
    let n = grid.n;
    let range = |d: usize| {
        let bound = |x: f32| (x / grid.h).clamp(0.0, n[d] as f32) as usize;
        if low[d] < high[d] { bound(low[d])..(bound(high[d]) + 1).min(n[d]) } else { 0..0 }
    };
    [range(0), range(1), range(2)]
}

/// A straight cone that holds all that a jet may touch: most cells of the box round it don't lie in it, and are told so cheaply.
struct Cone {
    tip: [f32; 3],
    along: [f32; 3],
    /// Radius at the tip and its growth per length, twice the bend of the axis included.
    radius: f32,
    growth: f32,
    h: f32,
}

impl Cone {
    /// `None` when the jet is nowhere.
    fn round(h: f32, jet: &Jet, stations: &[Station]) -> Option<Self> {
        let last = stations.iter().rposition(|station| station.free > 0.0 && station.speed > 0.0)?;
        let between = |n: usize| -> [f32; 3] { std::array::from_fn(|d| stations[n].place[d] - stations[0].place[d]) };
        let end = between(last);
        let length = dot(end, end).sqrt();
        let along = if length > 0.0 { end.map(|c| c / length) } else { stations[0].along };
        let off = |n: usize| {
            let from = between(n);
            (dot(from, from) - dot(from, along).powi(2)).max(0.0).sqrt()
        };
        let bend = (0..=last).map(off).fold(0.0, f32::max);
        let (first, widest) = (axis::reach(jet, h, 0).1, axis::reach(jet, h, last).1);
        let growth = if length > 0.0 { (widest - first) / length } else { 0.0 };
        // Reach grows slower near the mouth than farther on: a straight line between both ends lies over it.
        Some(Self { tip: stations[0].place, along, radius: first + 2.0 * bend + h, growth, h })
    }

    #[inline(always)]
    fn may_hold(&self, place: [f32; 3]) -> bool {
        let from: [f32; 3] = std::array::from_fn(|d| place[d] - self.tip[d]);
        let ahead = dot(from, self.along);
        let radius = self.radius + self.growth * (ahead + self.h).max(0.0);
        ahead > -2.0 * self.h - self.radius && dot(from, from) - ahead * ahead <= radius * radius
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::{JetRate, Physics, Ports, Scratch, Sink, step};
    use crate::flow::{NearField, Rates};

    /// A jet across a stream of another: no cell that it touches lies outside its cone.
    #[test]
    fn a_cone_holds_all_that_a_bent_jet_touches() {
        let grid = Grid { n: [40, 30, 20], h: 0.025 };
        let jets = vec![
            Jet { at: [0.3, 0.0, 0.25], direction: [0.4, 1.0, -0.2], bore: 0.025 },
            Jet { at: [0.0, 0.4, 0.25], direction: [1.0, 0.0, 0.1], bore: 0.05 },
        ];
        let sink = Sink { at: [1.0, 0.3, 0.2], normal: [-1.0, 0.0, 0.0], size: [0.1, 0.1] };
        let mut flow = Flow::new(grid, &|_| 1.0, Ports { jets, sinks: vec![sink] }, Physics::tank(1e-6, 1));
        let (mut scratch, mut near) = (Scratch::new(&flow), NearField::new(&flow));
        let rates =
            Rates { jets: vec![JetRate { flow: 7e-4, momentum: 1e-3 }, JetRate { flow: 3e-3, momentum: 4.5e-3 }], sinks: vec![3.7e-3] };
        for _ in 0..150 {
            let report = step(&mut flow, &mut scratch, &rates, 0.1);
            near.pass(&flow, &rates, report.dt);
        }
        near.trace(&flow);
        let mut touched = [0, 0];
        for (index, (stations, jet)) in near.axes.iter().zip(&flow.ports.jets).enumerate() {
            let cone = Cone::round(grid.h, jet, stations).unwrap();
            for cell in flow.lattice.cells() {
                let reach = |station| axis::reach(jet, grid.h, station);
                let felt = Felt::at(jet, stations, grid.h, grid.centre(cell), &reach);
                touched[index] += usize::from(felt.is_some());
                assert!(felt.is_none() || cone.may_hold(grid.centre(cell)), "{cell:?} of jet {index}");
            }
        }
        assert!(touched.iter().all(|cells| *cells > 100), "{touched:?}");
    }
}
