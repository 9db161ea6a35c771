//! The layout's pipes, solved at any position of the drums.

mod assemble;
mod duty;
mod ends;
mod fittings;
mod joints;
mod notes;
mod part;

pub use duty::{Duty, DutyReport, NozzleDuty, PumpDuty, RunDuty};
pub use ends::{circle, entrainment, exit_area, exit_width};
pub use fittings::is_check_valve;

use crate::catalog::Catalog;
use crate::finding::Finding;
use crate::hydraulics::{Fluid, Note};
use crate::layout::{Layout, Supply};
use assemble::{Assembly, assemble};
use part::{Flows, Part, split};

/// A layout's plumbing, ready to be solved. Positions that were solved once are remembered.
#[derive(Debug, Clone)]
pub struct Plumbing {
    assembly: Assembly,
    parts: Vec<Part>,
    fluid: Fluid,
    nozzles: Vec<Exit>,
    fixed_intakes: Vec<Option<f64>>,
    drums: Vec<usize>,
    notes: Vec<Note>,
}

/// What of a nozzle turns its flow into a jet.
#[derive(Debug, Clone, Copy)]
struct Exit {
    area: f64,
    width: f64,
    entrainment: f64,
    fixed: Option<f64>,
}

impl Plumbing {
    /// Reads the circuits of a layout.
    ///
    /// # Errors
    /// What keeps the network from being built: unknown pipes, fittings and ends, impossible pump curves.
    pub fn new(layout: &Layout, catalog: &Catalog) -> Result<Self, Vec<Finding>> {
        let assembly = assemble(layout, catalog);
        if !assembly.problems.is_empty() {
            return Err(assembly.problems);
        }
        let water = super::water(layout);
        Ok(Self {
            parts: split(&assembly.network, &assembly.ports),
            fluid: Fluid { density: water.density, kinematic_viscosity: water.kinematic_viscosity() },
            nozzles: layout.nozzles.iter().map(exit).collect(),
            fixed_intakes: layout.intakes.iter().map(|i| fixed(&i.supply)).collect(),
            drums: layout.drums.iter().map(|d| d.outlets as usize).collect(),
            notes: Vec::new(),
            assembly,
        })
    }

    /// Flows everywhere, with each drum's outlets open by these shares (per drum, per outlet; what is missing counts as shut).
    pub fn solve(&mut self, open: &[Vec<f64>]) -> Duty {
        let mut flows = Flows::new(self.assembly.network.links.len(), self.assembly.network.nodes.len());
        let fluid = self.fluid;
        self.parts.iter_mut().for_each(|part| part.solve(open, &fluid, &mut flows));
        for note in flows.notes.drain(..) {
            if !self.notes.contains(&note) {
                self.notes.push(note);
            }
        }
        self.duty(&flows)
    }

    /// What the positions solved so far showed about single runs: shut, closed off, without resistance, impossible.
    pub fn findings(&self, layout: &Layout) -> Vec<Finding> {
        notes::findings(layout, &self.assembly, &self.notes)
    }

    fn duty(&self, flows: &Flows) -> Duty {
        let mut duty = Duty {
            pumps: self.assembly.pumps.iter().map(|link| link.map_or_else(PumpDuty::default, |l| self.pump(l, flows))).collect(),
            runs: Vec::with_capacity(self.assembly.runs.len()),
            outlets: self.drums.iter().map(|n| vec![0.0; *n]).collect(),
            nozzles: Vec::with_capacity(self.nozzles.len()),
            intakes: vec![0.0; self.fixed_intakes.len()],
            report: flows.report.clone(),
        };
        let mut nozzle_flow = vec![0.0; self.nozzles.len()];
        for run in &self.assembly.runs {
            let flow = flows.flow[run.link];
            duty.runs.push(RunDuty { flow, velocity: flow / run.area, head_loss: self.head_loss(run.link, flows) });
            run.intake.into_iter().for_each(|i| duty.intakes[i] += flow);
            run.nozzle.into_iter().for_each(|n| nozzle_flow[n] += flow);
        }
        self.assembly.ports.iter().for_each(|p| duty.outlets[p.drum][p.outlet] = flows.flow[p.link]);
        duty.intakes.iter_mut().zip(&self.fixed_intakes).for_each(|(q, fixed)| *q = fixed.unwrap_or(*q));
        duty.nozzles.extend(self.nozzles.iter().zip(nozzle_flow).map(|(exit, flow)| self.jet(exit, exit.fixed.unwrap_or(flow))));
        duty.report.unsolved = self.assembly.runs.iter().filter(|r| flows.unsolved[r.link]).map(|r| r.circuit).collect();
        duty.report.unsolved.dedup();
        duty
    }

    fn pump(&self, link: usize, flows: &Flows) -> PumpDuty {
        let ends = &self.assembly.network.links[link];
        let flow = flows.flow[link];
        let Some((curve, speed)) = ends.law.pump() else { return PumpDuty::default() };
        PumpDuty { flow, head: curve.gain(flow, speed).0, inlet_head: flows.head[ends.from], regime: curve.regime(flow, speed) }
    }

    /// With its share of the joints at its ends where those lose by how the flow divides.
    fn head_loss(&self, link: usize, flows: &Flows) -> f64 {
        let ends = &self.assembly.network.links[link];
        let law = &ends.law;
        let at_a_tee = self.assembly.network.tees.iter().any(|tee| tee.legs().iter().flatten().any(|leg| leg.link == link));
        if at_a_tee && !flows.unsolved[link] && !law.is_shut() {
            return flows.head[ends.from] - flows.head[ends.to];
        }
        if law.is_shut() { 0.0 } else { law.loss(flows.flow[link], self.fluid.kinematic_viscosity).head }
    }

    fn jet(&self, exit: &Exit, flow: f64) -> NozzleDuty {
        let total = flow * exit.entrainment;
        let speed = total / exit.area;
        NozzleDuty { flow, speed, momentum: total * speed.abs(), reynolds: speed.abs() * exit.width / self.fluid.kinematic_viscosity }
    }
}

fn exit(nozzle: &crate::layout::Nozzle) -> Exit {
    Exit { area: exit_area(nozzle), width: exit_width(nozzle), entrainment: entrainment(nozzle), fixed: fixed(&nozzle.supply) }
}

fn fixed(supply: &Supply) -> Option<f64> {
    match supply {
        Supply::Plumbed => None,
        Supply::Fixed(flow) => Some(flow.si()),
    }
}
