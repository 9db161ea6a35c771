//! What every check looks at, and how it writes numbers.

use super::limits::Limits;
use crate::catalog::Catalog;
use crate::layout::{Circuit, End, Layout, Run};
use crate::setup::{Schedule, water};
use crate::units::{AreaKind, FlowKind, ForceKind, HeadKind, LengthKind, PressureKind, SpeedKind, VolumeKind, show};
use crate::water::WaterProperties;

/// A design with its solved plumbing.
pub struct Site<'a> {
    pub layout: &'a Layout,
    pub catalog: &'a Catalog,
    pub schedule: &'a Schedule,
    pub water: WaterProperties,
    pub limits: Limits,
}

/// A run with where it belongs.
#[derive(Clone, Copy)]
pub struct Placed<'a> {
    /// Number among all runs.
    pub number: usize,
    pub circuit: &'a Circuit,
    pub run: &'a Run,
    pub is_suction: bool,
}

impl<'a> Site<'a> {
    pub fn new(layout: &'a Layout, catalog: &'a Catalog, schedule: &'a Schedule) -> Self {
        let water = water(layout);
        Self { layout, catalog, schedule, water, limits: Limits::of(layout) }
    }

    /// All runs, circuits in order, suction before discharge.
    pub fn runs(&self) -> impl Iterator<Item = Placed<'a>> {
        let sides = self.layout.circuits.iter().flat_map(|c| [(c, &c.suction, true), (c, &c.discharge, false)]);
        let runs = sides.flat_map(|(circuit, runs, is_suction)| runs.iter().map(move |run| (circuit, run, is_suction)));
        runs.enumerate().map(|(number, (circuit, run, is_suction))| Placed { number, circuit, run, is_suction })
    }

    /// Real bore of a run, m.
    pub fn bore(&self, run: &Run) -> f64 {
        self.pipe_bore(&run.pipe)
    }

    /// Real bore of a nominal pipe, m; 0 for one that the catalogue doesn't have.
    pub fn pipe_bore(&self, name: &str) -> f64 {
        self.catalog.pipe(name).map_or(0.0, |p| p.bore(self.layout.pipes.bore))
    }

    /// Numbers of the intakes that a circuit draws from.
    pub fn intakes_of(&self, circuit: &Circuit) -> Vec<usize> {
        let is_of = |id: &str| circuit.suction.iter().any(|r| matches!(&r.from, End::Intake(name) if name == id));
        (0..self.layout.intakes.len()).filter(|&i| is_of(&self.layout.intakes[i].id)).collect()
    }

    /// Numbers of the pumps that a circuit drives its water with.
    pub fn pumps_of(&self, circuit: &Circuit) -> Vec<usize> {
        let is_of = |id: &str| circuit.discharge.iter().any(|r| matches!(&r.from, End::Pump(name) if name == id));
        (0..self.layout.pumps.len()).filter(|&i| is_of(&self.layout.pumps[i].id)).collect()
    }

    pub fn flow(&self, si: f64) -> String {
        show::<FlowKind>(si, self.layout.display)
    }

    pub fn speed(&self, si: f64) -> String {
        show::<SpeedKind>(si, self.layout.display)
    }

    pub fn head(&self, si: f64) -> String {
        show::<HeadKind>(si, self.layout.display)
    }

    pub fn length(&self, si: f64) -> String {
        show::<LengthKind>(si, self.layout.display)
    }

    pub fn volume(&self, si: f64) -> String {
        show::<VolumeKind>(si, self.layout.display)
    }

    pub fn area(&self, si: f64) -> String {
        show::<AreaKind>(si, self.layout.display)
    }

    pub fn pressure(&self, si: f64) -> String {
        show::<PressureKind>(si, self.layout.display)
    }

    pub fn force(&self, si: f64) -> String {
        show::<ForceKind>(si, self.layout.display)
    }
}

/// Name of a run for a finding.
pub fn part(placed: &Placed) -> String {
    format!("circuits/{}/{}", placed.circuit.id, placed.run.id)
}
