//! The cell size that this machine can keep up with.

use super::solver_threads;
use crate::{
    catalog::Catalog,
    flow::{self, Flow, Grid, Jet, JetRate, Physics, Ports, Rates, Scratch, Sink},
    layout::Layout,
    setup::schedule::Schedule,
    study::pool,
};
use std::time::Instant;

/// Finest and coarsest cell edge suggested, m.
const RANGE: [f64; 2] = [0.015, 0.06];
/// Speed wanted over real time: room for pictures and for averages.
const HEADROOM: f64 = 1.6;
/// Courant number that the solver steps at.
const COURANT: f64 = 0.7;
/// Fastest jet assumed when the plumbing can't be solved, m/s.
const USUAL_JET: f64 = 2.0;

/// The finest cell edge (m, whole millimetres) that keeps real time here with so many threads (0: every core but one).
/// Times a small flow for about a tenth of a second.
pub fn suggested_cell(layout: &Layout, catalog: &Catalog, threads: usize) -> f64 {
    let tank = layout.tank.size();
    let volume = tank.x * tank.y * layout.tank.water_level.si();
    cell_for(volume, fastest_jet(layout, catalog), cell_steps_per_s(solver_threads(threads)))
}

/// Cells times steps for a second of real time are V/h³ · U/(C h); solved for h.
fn cell_for(volume: f64, jet: f64, cell_steps_per_s: f64) -> f64 {
    let edge = (HEADROOM * volume * jet / (COURANT * cell_steps_per_s)).powf(0.25);
    let whole = (edge * 1e3).ceil() / 1e3;
    if whole.is_finite() { whole.clamp(RANGE[0], RANGE[1]) } else { RANGE[1] }
}

fn fastest_jet(layout: &Layout, catalog: &Catalog) -> f64 {
    let speeds = Schedule::new(layout, catalog).map(|schedule| {
        let nozzles = schedule.duties.iter().flat_map(|duty| &duty.nozzles);
        nozzles.map(|nozzle| nozzle.speed).fold(0.0, f64::max)
    });
    speeds.ok().filter(|&speed| speed > 0.0).unwrap_or(USUAL_JET)
}

/// Speed of the solver in a small box with one jet.
fn cell_steps_per_s(threads: usize) -> f64 {
    const WARM_UP: usize = 3;
    const TIMED_S: f64 = 0.1;
    const COULD_NOT_TIME: f64 = 3e7;
    let Ok(pool) = pool::of(threads) else { return COULD_NOT_TIME };
    pool.install(|| {
        let (mut flow, rates) = small_box();
        let mut scratch = Scratch::new(&flow);
        for _ in 0..WARM_UP {
            flow::step(&mut flow, &mut scratch, &rates, 0.1);
        }
        let (started, mut steps) = (Instant::now(), 0.0);
        while started.elapsed().as_secs_f64() < TIMED_S {
            flow::step(&mut flow, &mut scratch, &rates, 0.1);
            steps += 1.0;
        }
        steps * flow.grid().cells() as f64 / started.elapsed().as_secs_f64()
    })
}

fn small_box() -> (Flow, Rates) {
    let grid = Grid { n: [64, 32, 24], h: 0.025 };
    let jet = Jet { at: [0.05, 0.4, 0.3], direction: [1.0, 0.1, 0.0], bore: 0.03 };
    let sink = Sink { at: [1.6, 0.4, 0.1], normal: [-1.0, 0.0, 0.0], size: [0.1, 0.1] };
    let ports = Ports { jets: vec![jet], sinks: vec![sink] };
    let flow = Flow::new(grid, &|_| 1.0, ports, Physics::tank(1e-6, 1));
    (flow, Rates { jets: vec![JetRate { flow: 1e-3, momentum: 1.5e-3 }], sinks: vec![1e-3] })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_follow_the_fourth_root_of_the_work() {
        let at = |volume: f64| cell_for(volume, 1.5, 6e7);
        assert!((at(1.9) - (1.6f64 * 1.9 * 1.5 / (0.7 * 6e7)).powf(0.25)).abs() <= 1e-3);
        assert_eq!(at(1e-9), 0.015);
        assert_eq!(at(1e6), 0.06);
        assert_eq!(cell_for(1.0, 1.0, 0.0), 0.06);
    }
}
