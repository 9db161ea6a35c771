//! What the plumbing does over the cycle, as tables of the study record.

use super::plumbing::Duty;
use super::schedule::Schedule;
use crate::catalog::Catalog;
use crate::layout::Layout;
use crate::study::record::{IntakeRecord, LinkRecord, NozzleRecord, OutletRecord, PumpRecord, Range};

/// The plumbing's share of a record.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PlumbingTables {
    /// Every pump.
    pub pumps: Vec<PumpRecord>,
    /// Every run.
    pub links: Vec<LinkRecord>,
    /// Every drum outlet.
    pub outlets: Vec<OutletRecord>,
    /// Every nozzle.
    pub nozzles: Vec<NozzleRecord>,
    /// Every intake.
    pub intakes: Vec<IntakeRecord>,
}

/// Tables of a solved schedule, in the layout's order.
pub fn tables(layout: &Layout, catalog: &Catalog, schedule: &Schedule) -> PlumbingTables {
    PlumbingTables {
        pumps: (0..layout.pumps.len()).map(|i| pump(layout, schedule, i)).collect(),
        links: links(layout, catalog, schedule),
        outlets: (0..layout.drums.len())
            .flat_map(|d| (0..layout.drums[d].outlets as usize).map(move |o| outlet(layout, schedule, d, o)))
            .collect(),
        nozzles: (0..layout.nozzles.len()).map(|i| nozzle(layout, schedule, i)).collect(),
        intakes: (0..layout.intakes.len()).map(|i| intake(layout, schedule, i)).collect(),
    }
}

fn pump(layout: &Layout, schedule: &Schedule, i: usize) -> PumpRecord {
    PumpRecord {
        id: layout.pumps[i].id.clone(),
        flow_m3_s: schedule.range(|d| d.pumps[i].flow),
        head_m: schedule.range(|d| d.pumps[i].head),
    }
}

fn links(layout: &Layout, catalog: &Catalog, schedule: &Schedule) -> Vec<LinkRecord> {
    let runs = layout.circuits.iter().flat_map(|c| c.suction.iter().chain(&c.discharge).map(move |r| (c, r)));
    let record = |(i, (circuit, run)): (usize, (&crate::layout::Circuit, &crate::layout::Run))| LinkRecord {
        circuit: circuit.id.clone(),
        id: run.id.clone(),
        pipe: run.pipe.clone(),
        bore_m: catalog.pipe(&run.pipe).map_or(0.0, |p| p.bore(layout.pipes.bore)),
        flow_m3_s: schedule.range(|d| d.runs[i].flow),
        velocity_m_s: schedule.range(|d| d.runs[i].velocity),
        head_loss_m: schedule.range(|d| d.runs[i].head_loss),
    };
    runs.enumerate().map(record).collect()
}

fn outlet(layout: &Layout, schedule: &Schedule, drum: usize, outlet: usize) -> OutletRecord {
    let flow = |d: &Duty| d.outlets[drum][outlet];
    let open: Vec<f64> = schedule.open.iter().map(|o| o[drum][outlet]).collect();
    OutletRecord {
        drum: layout.drums[drum].id.clone(),
        outlet: outlet as u32 + 1,
        share_open: schedule.weights().zip(&open).filter(|(_, open)| **open > 0.5).map(|(weight, _)| weight).sum(),
        flow_m3_s: schedule.range(flow),
        time_s: schedule.times.clone(),
        open,
        flow_series_m3_s: schedule.duties.iter().map(flow).collect(),
    }
}

fn nozzle(layout: &Layout, schedule: &Schedule, i: usize) -> NozzleRecord {
    NozzleRecord {
        id: layout.nozzles[i].id.clone(),
        flow_m3_s: schedule.range(|d| d.nozzles[i].flow),
        speed_m_s: schedule.range(|d| d.nozzles[i].speed),
        momentum_m4_s2: schedule.range(|d| d.nozzles[i].momentum),
        reynolds: schedule.range(|d| d.nozzles[i].reynolds).max,
    }
}

fn intake(layout: &Layout, schedule: &Schedule, i: usize) -> IntakeRecord {
    let flow = schedule.range(|d| d.intakes[i]);
    let over = |area: f64| Range { min: flow.min / area, mean: flow.mean / area, max: flow.max / area };
    let screen = layout.intakes[i].screen.as_ref().filter(|s| s.free_area() > 0.0);
    IntakeRecord {
        id: layout.intakes[i].id.clone(),
        flow_m3_s: flow,
        approach_m_s: screen.map(|s| over(s.free_face())),
        through_m_s: screen.map(|s| over(s.free_area())),
    }
}
