//! What the water does near the nozzles, where the grid can't hold a jet: the published jet laid over the computed flow.
//!
//! The axis of every jet is traced through the moving water ([`axis`](super::axis)); round it the computed velocity gives way to the law
//! ([`round_jet`](super::round_jet)) plus the water beside the jet, wholly to 18 cells from the mouth, then less and less to 30. Jets that
//! meet add their momentum fluxes (Reichardt 1942). The law's turbulence comes with it; farther on that of the marked jet water.

use super::{
    Flow, Jet, Rates,
    axis::{self, LENGTH, Station},
    jets::dot,
    overlay, round_jet,
    solids::NO_REGION,
    touch::{Felt, Touch},
};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// Peaks are this many standard deviations above the mean: the highest of some thousand samples.
pub(super) const PEAK: f32 = 3.0;

/// The grid's own jet may take this many times as long as the law's to come to a place (measured: 1.5 to 3).
const SLOWER: f32 = 4.0;

/// The near field of all jets of a flow. Keeps what the jets were a moment ago.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct NearField {
    pub(super) axes: Vec<[Station; LENGTH]>,
    gusts: Vec<Gust>,
}

/// Motion in a cell that its velocity doesn't show.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Gust {
    /// Mean square of the turbulent velocity of a jet, all three components, m²/s².
    pub variance: f32,
    /// Highest speed to be expected anywhere in the cell, m/s.
    pub fastest: f32,
}

impl NearField {
    /// Of a flow in which no jet has blown yet.
    pub fn new(flow: &Flow) -> Self {
        let cells = flow.grid.cells();
        let axes = vec![[Station::default(); LENGTH]; flow.ports.jets.len()];
        Self { axes, gusts: vec![Gust::default(); cells] }
    }

    /// Takes over the jets of another flow that this one has as well: they have blown for long already.
    pub fn go_on_from(&mut self, flow: &Flow, (before, then): (&Self, &Flow)) {
        for (stations, jet) in self.axes.iter_mut().zip(&flow.ports.jets) {
            if let Some(same) = then.ports.jets.iter().position(|other| other == jet) {
                *stations = before.axes[same];
            }
        }
    }

    /// Time passes: `dt` seconds with these rates. To be called at every step.
    pub fn pass(&mut self, flow: &Flow, rates: &Rates, dt: f32) {
        for (index, (stations, jet)) in self.axes.iter_mut().zip(&flow.ports.jets).enumerate() {
            let blocked = flow.sources.jets[index].region == NO_REGION;
            let momentum = rates.jets.get(index).map_or(0.0, |rate| rate.momentum).max(0.0);
            let mouth = if blocked { 0.0 } else { mouth_speed(jet, momentum) };
            for (n, station) in stations.iter_mut().enumerate() {
                let x = n as f32 * flow.grid.h;
                station.speed = round_jet::arrived(station.speed, mouth, jet.bore, x, dt);
                station.slow = round_jet::arrived(station.slow, mouth, jet.bore, x, dt / SLOWER);
            }
        }
    }

    /// Lays the jets over the velocity at cells (m/s; from [`Flow::velocity_at_cells`] of this moment).
    pub fn overlay(&mut self, flow: &Flow, velocity: &mut [[f32; 3]]) {
        self.trace(flow);
        flow.gusts(velocity, &mut self.gusts);
        overlay::lay(flow, &self.axes, velocity, &mut self.gusts);
    }

    /// Turbulence and highest speed of every cell, as the last overlay found them; x fastest.
    pub fn gusts(&self) -> &[Gust] {
        &self.gusts
    }

    /// Finds the axes in the present flow; [`NearField::overlay`] does it too.
    pub fn trace(&mut self, flow: &Flow) {
        self.axes.par_iter_mut().zip(&flow.ports.jets).for_each(|(stations, jet)| {
            if jet.bore > 0.0 && stations[1].speed > 0.0 {
                axis::trace(flow, jet, stations);
            }
        });
    }

    /// Velocity (m/s) and turbulence at a place, with the axes as last traced; `None` outside the water.
    pub fn at(&self, flow: &Flow, place: [f32; 3]) -> Option<([f32; 3], Gust)> {
        let velocity = flow.sample(place)?;
        let mut touch = Touch::default();
        for (stations, jet) in self.axes.iter().zip(&flow.ports.jets) {
            let reach = |station| axis::reach(jet, flow.grid.h, station);
            if let Some(felt) = Felt::at(jet, stations, flow.grid.h, place, &reach) {
                touch.join(&felt.at_a_point());
            }
        }
        let gust = flow.gust_at(place, velocity);
        Some(if touch.weight > 0.0 { touch.over(velocity, gust) } else { (velocity, gust) })
    }
}

/// Speed that gives this momentum flux over density (m⁴/s²) to a round mouth, m/s.
fn mouth_speed(jet: &Jet, momentum: f32) -> f32 {
    let area = std::f32::consts::FRAC_PI_4 * jet.bore * jet.bore;
    if area > 0.0 && momentum.is_finite() { (momentum / area).sqrt() } else { 0.0 }
}

impl Flow {
    /// Turbulence of the marked jet water at every cell, where the law doesn't reach.
    fn gusts(&self, velocity: &[[f32; 3]], gusts: &mut [Gust]) {
        let [nx, ny, _] = self.lattice.n;
        let rows = gusts.par_chunks_mut(nx).zip(velocity.par_chunks(nx)).with_min_len(ny).enumerate();
        rows.for_each(|(row, (gusts, velocity))| {
            let (j, k) = (row % ny, row / ny);
            let marked = self.tags.row_is_marked(j, k);
            let at = self.lattice.row(j, k);
            for (i, (gust, u)) in gusts.iter_mut().zip(velocity).enumerate() {
                *gust = if marked { self.gust(at + i, *u) } else { Gust { variance: 0.0, fastest: dot(*u, *u).sqrt() } };
            }
        });
    }

    fn gust_at(&self, place: [f32; 3], velocity: [f32; 3]) -> Gust {
        self.gust(self.lattice.cell(self.grid.cell_at(place)), velocity)
    }

    /// From how far marked water has come and how strong its jet was: the law's centreline speed there, and so its turbulence.
    fn gust(&self, at: usize, velocity: [f32; 3]) -> Gust {
        let speed = dot(velocity, velocity).sqrt();
        let (share, way, drive) = self.tags.jet_water(at, self.grid.h);
        if share <= 0.0 || way <= 0.0 || drive <= 0.0 {
            return Gust { variance: 0.0, fastest: speed };
        }
        let fast = round_jet::far_centreline(drive, way);
        let (along, variance) = round_jet::turbulence(f32::INFINITY, (share * speed / fast).min(1.0));
        Gust { variance: fast * fast * variance, fastest: speed + PEAK * fast * along }
    }
}
