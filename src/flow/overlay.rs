//! The near fields of all jets laid over the velocity at cells, plane by plane.

use super::{
    Flow, Jet,
    axis::{self, LENGTH, Station},
    cell_means::Waiting,
    grid::Grid,
    gust::Gust,
    touch::{Felt, Touch, abreast},
};
use multiversion::multiversion;
use rayon::prelude::*;
use std::ops::Range;

/// A jet with the places that it may touch.
struct Laid<'a> {
    jet: &'a Jet,
    stations: &'a [Station],
    reach: [(f32, f32); LENGTH],
    balls: Vec<Ball>,
}

/// Holds all that a jet may touch abreast of one of its stations.
struct Ball {
    centre: [f32; 3],
    radius: f32,
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
    let h = flow.grid.h;
    let reach: [(f32, f32); LENGTH] = std::array::from_fn(|station| axis::reach(jet, h, station));
    let there = stations.iter().zip(&reach).filter(|(station, _)| station.free > 0.0 && station.speed > 0.0);
    let balls: Vec<Ball> = there.map(|(station, reach)| Ball { centre: station.place, radius: reach.1 + h }).collect();
    (!balls.is_empty()).then_some(Laid { jet, stations, reach, balls })
}

impl Laid<'_> {
    /// Cells of a row that the jet may touch.
    #[inline(always)]
    fn cells(&self, grid: &Grid, (j, k): (usize, usize)) -> Range<usize> {
        let [_, y, z] = grid.centre([0, j, k]);
        let (mut low, mut high) = (f32::MAX, f32::MIN);
        for ball in &self.balls {
            let half = ball.radius * ball.radius - (y - ball.centre[1]).powi(2) - (z - ball.centre[2]).powi(2);
            if half > 0.0 {
                (low, high) = (low.min(ball.centre[0] - half.sqrt()), high.max(ball.centre[0] + half.sqrt()));
            }
        }
        let bound = |x: f32| (x / grid.h).clamp(0.0, grid.n[0] as f32) as usize;
        if low < high { bound(low)..(bound(high) + 1).min(grid.n[0]) } else { 0..0 }
    }
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
    for laid in jets {
        let cells = laid.cells(grid, (j, k));
        let mut near = abreast(laid.stations, grid.h, grid.centre([cells.start, j, k]));
        for i in cells.filter(|i| water[*i] > 0.0) {
            if let Some(felt) = Felt::at(laid.jet, (laid.stations, near), grid.h, grid.centre([i, j, k]), &|station| laid.reach[station]) {
                near = felt.number;
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::{JetRate, Physics, Ports, Scratch, Sink, step};
    use crate::flow::{NearField, Rates};

    /// A jet across a stream of another: no cell that it touches lies outside its cells.
    #[test]
    fn the_cells_of_a_bent_jet_hold_all_that_it_touches() {
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
            let laid = laid(&flow, stations, jet).unwrap();
            for cell in flow.lattice.cells() {
                let near = abreast(stations, grid.h, grid.centre(cell));
                let felt = Felt::at(jet, (stations, near), grid.h, grid.centre(cell), &|station| laid.reach[station]);
                touched[index] += usize::from(felt.is_some());
                assert!(felt.is_none() || laid.cells(&grid, (cell[1], cell[2])).contains(&cell[0]), "{cell:?} of jet {index}");
            }
        }
        assert!(touched.iter().all(|cells| *cells > 100), "{touched:?}");
    }
}
