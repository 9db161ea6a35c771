//! What the water does near the nozzles, where the grid can't hold a jet: the published jet laid over the computed flow.
//!
//! The axis of every jet is traced through the moving water ([`axis`](super::axis)); round it the computed velocity gives way to the law
//! ([`round_jet`](super::round_jet)) plus the water beside the jet, wholly to 18 cells from the mouth, then less and less to 30. Jets that
//! meet add their momentum fluxes (Reichardt 1942). The law's turbulence comes with it; farther on that of the marked jet water.

use super::{
    Flow, Jet, Rates,
    axis::{self, LENGTH, Station},
    gust::Gust,
    overlay, round_jet,
    solids::NO_REGION,
    touch::{Felt, Touch, abreast},
};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// The grid's own jet may take this many times as long as the law's to come to a place (measured: 1.5 to 3).
const SLOWER: f32 = 4.0;

/// The near field of all jets of a flow. Keeps what the jets were a moment ago.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct NearField {
    pub(super) axes: Vec<[Station; LENGTH]>,
    gusts: Vec<Gust>,
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
            let near = abreast(stations, flow.grid.h, place);
            if let Some(felt) = Felt::at(jet, (stations, near), flow.grid.h, place, &reach) {
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
