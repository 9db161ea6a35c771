//! A layout's water as the flow solver sees it: a grid of cells, solids, jets and sinks, and their rates over the sequence.
//!
//! The grid fills the box from the floor to the water level; there is none above. Rates are balanced: what the jets bring in,
//! the sinks take out, overflows first, for nothing else can keep the level.

use super::{
    fit::fitted_cell,
    port::{self, JetPart, JetSource, SinkPart, SinkSource},
    rock::Solids,
    schedule::Schedule,
    seep::Seep,
};
use crate::{
    finding::{Finding, Grade},
    flow::{Grid, JetRate, Note, Ports, Rates},
    layout::Layout,
    units::{LengthKind, show},
};
use glam::DVec3;

/// Grid, solids and ports of a layout.
#[derive(Debug, Clone)]
pub struct Basin {
    /// The cells.
    pub grid: Grid,
    /// Where water enters and leaves.
    pub ports: Ports,
    /// What had to be rounded or left out.
    pub findings: Vec<Finding>,
    solids: Solids,
    /// Those of them that no water gets through.
    walls: Solids,
    seep: Seep,
    jets: Vec<JetPart>,
    sinks: Vec<SinkPart>,
    overflow: bool,
}

/// Flows that don't add up by themselves, m³/s.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Imbalance {
    /// Brought in by nozzles.
    pub inflow: f64,
    /// Taken out by intakes and overflows as they were given.
    pub outflow: f64,
}

impl Basin {
    /// Of a layout, with cells of about `cell` metres.
    pub fn new(layout: &Layout, cell: f64) -> Self {
        let tank = layout.tank.size();
        let wanted = DVec3::new(tank.x, tank.y, layout.tank.water_level.si());
        let (n, h) = fitted_cell(wanted, cell);
        let grid = Grid { n, h: h as f32 };
        let box_size = DVec3::from_array(n.map(|cells| cells as f64 * f64::from(grid.h)));
        let jets = port::jets(layout, box_size, h);
        let sinks = port::sinks(layout, box_size, h);
        let ports = Ports { jets: jets.iter().map(|j| j.jet).collect(), sinks: sinks.iter().map(|s| s.sink).collect() };
        let findings = rounding(layout, wanted, box_size, h).into_iter().collect();
        let overflow = sinks.iter().any(|s| matches!(s.source, SinkSource::Overflow(_)));
        Self {
            grid,
            ports,
            findings,
            solids: Solids::new(layout),
            walls: Solids::impervious(layout),
            seep: Seep::new(layout),
            jets,
            sinks,
            overflow,
        }
    }

    /// Signed distance to the nearest solid in the box that no water gets through, m: negative inside.
    pub fn signed_distance(&self, place: [f32; 3]) -> f32 {
        self.walls.distance(DVec3::from_array(place.map(f64::from))) as f32
    }

    /// What holds the water back without stopping it.
    pub fn seep(&self) -> &Seep {
        &self.seep
    }

    /// The solid parts.
    pub fn solids(&self) -> &Solids {
        &self.solids
    }

    /// What each jet stands for, in the order of [`Ports::jets`].
    pub fn jet_sources(&self) -> impl Iterator<Item = JetSource> {
        self.jets.iter().map(|jet| jet.source)
    }

    /// What each sink stands for, in the order of [`Ports::sinks`].
    pub fn sink_sources(&self) -> impl Iterator<Item = SinkSource> {
        self.sinks.iter().map(|sink| sink.source)
    }

    /// Takes ports that the flow solver found blocked out of the balance.
    pub fn leave_out(&mut self, notes: &[Note]) {
        for note in notes {
            match *note {
                Note::JetBlocked { jet } => (self.jets[jet].share, self.jets[jet].momentum) = (0.0, 0.0),
                Note::NoWayOut { jet } => self.jets[jet].share = 0.0,
                Note::SinkBlocked { sink } | Note::NoWayIn { sink } => self.sinks[sink].share = 0.0,
                _ => {}
            }
        }
    }

    /// Rates at a time (s) of the sequence: every jet's own flow and momentum; the sinks' flows sum to the jets'.
    pub fn rates(&self, schedule: &Schedule, t: f64) -> Rates {
        let mut jets: Vec<[f64; 2]> = self.jets.iter().map(|jet| jet_rate(jet, schedule, t)).collect();
        let mut sinks: Vec<f64> = self.sinks.iter().map(|sink| sink_rate(sink, schedule, t)).collect();
        self.balance(&mut jets, &mut sinks);
        Rates {
            jets: jets.iter().map(|&[flow, momentum]| JetRate { flow: flow as f32, momentum: momentum as f32 }).collect(),
            sinks: sinks.iter().map(|&flow| flow as f32).collect(),
        }
    }

    /// In- and outflow as given, before they are balanced.
    pub fn imbalance(&self, schedule: &Schedule, t: f64) -> Imbalance {
        let inflow = self.jets.iter().map(|jet| jet_rate(jet, schedule, t)[0]).sum();
        Imbalance { inflow, outflow: self.sinks.iter().map(|sink| sink_rate(sink, schedule, t)).sum() }
    }

    /// Overflows take what the intakes leave. Without an overflow, or when intakes take more than comes in, all sinks are scaled; with no
    /// sink at all the jets keep their momentum and lose their flow.
    fn balance(&self, jets: &mut [[f64; 2]], sinks: &mut [f64]) {
        let inflow: f64 = jets.iter().map(|jet| jet[0]).sum();
        let over = |index: usize| matches!(self.sinks[index].source, SinkSource::Overflow(_));
        let intakes: f64 = (0..sinks.len()).filter(|&index| !over(index)).map(|index| sinks[index]).sum();
        let lips: f64 = self.sinks.iter().filter(|s| matches!(s.source, SinkSource::Overflow(_))).map(|s| s.share).sum();
        if lips > 0.0 && inflow >= intakes {
            (0..sinks.len())
                .filter(|&index| over(index))
                .for_each(|index| sinks[index] = (inflow - intakes) * self.sinks[index].share / lips);
            return;
        }
        let outflow: f64 = sinks.iter().sum();
        if outflow > 0.0 {
            sinks.iter_mut().for_each(|flow| *flow *= inflow / outflow);
        } else {
            jets.iter_mut().for_each(|jet| jet[0] = 0.0);
        }
    }

    /// What the balance had to change at any time of the sequence.
    pub fn balance_findings(&self, schedule: &Schedule) -> Vec<Finding> {
        const ENOUGH_TO_TELL: f64 = 0.01;
        let samples = schedule.times.iter().map(|&t| self.imbalance(schedule, t));
        let off = |i: &Imbalance| (i.inflow - i.outflow).abs() / i.inflow.max(i.outflow).max(f64::MIN_POSITIVE);
        let Some(worst) = samples.max_by(|a, b| off(a).total_cmp(&off(b))) else { return Vec::new() };
        let harmless = off(&worst) <= ENOUGH_TO_TELL || (self.overflow && worst.inflow >= worst.outflow);
        if harmless { Vec::new() } else { vec![unbalanced(worst)] }
    }
}

fn jet_rate(jet: &JetPart, schedule: &Schedule, t: f64) -> [f64; 2] {
    match jet.source {
        JetSource::Nozzle(index) => {
            let (flow, momentum) = schedule.nozzle_at(index, t);
            [flow.max(0.0) * jet.share, momentum.max(0.0) * jet.momentum]
        }
        JetSource::Propeller(_) => [0.0, jet.momentum],
    }
}

fn sink_rate(sink: &SinkPart, schedule: &Schedule, t: f64) -> f64 {
    match sink.source {
        SinkSource::Intake(index) => schedule.intake_at(index, t).max(0.0) * sink.share,
        SinkSource::Overflow(_) => schedule.return_flow_at(t).max(0.0) * sink.share,
    }
}

fn rounding(layout: &Layout, wanted: DVec3, got: DVec3, h: f64) -> Option<Finding> {
    const WORTH_TELLING: f64 = 1e-3;
    let off = (got - wanted).abs();
    let length = |m: f64| show::<LengthKind>(m, layout.display);
    (off.max_element() > WORTH_TELLING).then(|| {
        Finding::new(
            Grade::Note,
            "grid-rounding",
            "tank",
            format!(
                "the computed water is {} long, {} wide and {} deep, for {} by {} by {} in the layout",
                length(got.x),
                length(got.y),
                length(got.z),
                length(wanted.x),
                length(wanted.y),
                length(wanted.z)
            ),
            format!("the grid has whole cells of {:.1} mm; the box is off by {:.0} mm at most", h * 1e3, off.max_element() * 1e3),
            "nothing to mend",
        )
    })
}

fn unbalanced(worst: Imbalance) -> Finding {
    let litres = |flow: f64| format!("{:.2} L/s", flow * 1e3);
    let (what, mend) = match worst {
        Imbalance { outflow, .. } if outflow <= 0.0 => (
            format!("nozzles bring in {} and nothing takes water out", litres(worst.inflow)),
            "add an intake or an overflow; until then the jets push the water but bring none",
        ),
        Imbalance { inflow, .. } if inflow <= 0.0 => (
            format!("intakes take out {} and nothing brings water in", litres(worst.outflow)),
            "add a nozzle; until then the intakes are taken as shut",
        ),
        _ => (
            format!("nozzles bring in {} but intakes and overflows take out {}", litres(worst.inflow), litres(worst.outflow)),
            "set the fixed supplies so that they add up, or add an overflow; until then the outflows are scaled to the inflow",
        ),
    };
    Finding::new(Grade::Caution, "flow-balance", "", what, "the water level stays only if as much leaves as comes in", mend)
}
