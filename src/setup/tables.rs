//! What the plumbing does over the cycle, as tables of the study record.

use super::plumbing::{Duty, entrainment};
use super::programme::{self, DayStep};
use super::schedule::Schedule;
use super::water;
use crate::catalog::Catalog;
use crate::hydraulics::{Regime, port_area_ratio};
use crate::layout::{Layout, Pump};
use crate::study::record::{DrumRecord, IntakeRecord, LinkRecord, NozzleRecord, OutletRecord, PumpRecord, PumpStepRecord, Range};
use crate::water::GRAVITY;

/// Of a mean year.
const HOURS_A_YEAR: f64 = 8_766.0;

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
    /// Every drum unit.
    pub drums: Vec<DrumRecord>,
}

/// Tables of a solved schedule, in the layout's order.
pub fn tables(layout: &Layout, catalog: &Catalog, schedule: &Schedule) -> PlumbingTables {
    let day = programme::day(layout, catalog);
    PlumbingTables {
        pumps: (0..layout.pumps.len()).map(|i| pump(layout, schedule, &day, i)).collect(),
        links: links(layout, catalog, schedule),
        outlets: (0..layout.drums.len())
            .flat_map(|d| (0..layout.drums[d].outlets as usize).map(move |o| outlet(layout, schedule, d, o)))
            .collect(),
        nozzles: (0..layout.nozzles.len()).map(|i| nozzle(layout, schedule, i)).collect(),
        intakes: (0..layout.intakes.len()).map(|i| intake(layout, schedule, i)).collect(),
        drums: (0..layout.drums.len()).map(|d| drum(layout, schedule, d)).collect(),
    }
}

fn pump(layout: &Layout, schedule: &Schedule, day: &[DayStep], i: usize) -> PumpRecord {
    let pump = &layout.pumps[i];
    let water = water(layout);
    let to_water = schedule.range(|d| d.pumps[i].flow * d.pumps[i].head).mean * water.density * GRAVITY;
    let power = power_at(pump, pump.speed);
    let steps: Vec<PumpStepRecord> = if pump.programme.is_empty() { Vec::new() } else { day.iter().map(|s| step(pump, s, i)).collect() };
    PumpRecord {
        id: pump.id.clone(),
        flow_m3_s: schedule.range(|d| d.pumps[i].flow),
        head_m: schedule.range(|d| d.pumps[i].head),
        speed: pump.speed,
        shut_off_share: share_in(schedule, i, Regime::DeadHead),
        run_out_share: share_in(schedule, i, Regime::RunOut),
        power_w: power,
        efficiency: power.filter(|p| *p > 0.0).map(|p| to_water / p),
        energy_kwh_year: pump.power.as_ref().map(|p| p.si() * pump.mean_cube_of_speed() * HOURS_A_YEAR / 1000.0),
        programme: steps,
    }
}

/// Affinity laws: power with the cube of the speed.
fn power_at(pump: &Pump, speed: f64) -> Option<f64> {
    pump.power.as_ref().map(|power| power.si() * speed.powi(3))
}

fn share_in(schedule: &Schedule, pump: usize, regime: Regime) -> f64 {
    let there = schedule.duties.iter().zip(schedule.weights()).filter(|(duty, _)| duty.pumps[pump].regime == regime);
    // `sum` of nothing is -0.
    there.map(|(_, weight)| weight).fold(0.0, |sum, weight| sum + weight)
}

fn step(pump: &Pump, step: &DayStep, i: usize) -> PumpStepRecord {
    let speed = pump.speed_at(step.from);
    PumpStepRecord {
        from_s: step.from,
        lasts_s: step.lasts,
        speed,
        flow_m3_s: step.schedule.range(|d| d.pumps[i].flow),
        head_m: step.schedule.range(|d| d.pumps[i].head),
        power_w: power_at(pump, speed),
    }
}

fn drum(layout: &Layout, schedule: &Schedule, d: usize) -> DrumRecord {
    let unit = &layout.drums[d];
    let port = super::plumbing::circle(unit.bore.si());
    let outlets = |open: &Vec<Vec<f64>>| open[d].iter().sum::<f64>();
    let least = schedule.open.iter().zip(&schedule.times).min_by(|a, b| outlets(a.0).total_cmp(&outlets(b.0)));
    let Some((open, at)) = least else { return DrumRecord { id: unit.id.clone(), ..DrumRecord::default() } };
    DrumRecord {
        id: unit.id.clone(),
        least_open_outlets: outlets(open),
        least_open_area_m2: open[d].iter().map(|share| port * port_area_ratio(*share, unit.leakage)).sum(),
        least_open_at_s: *at,
        most_open_outlets: schedule.open.iter().map(outlets).fold(0.0, f64::max),
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
    let density = water(layout).density;
    NozzleRecord {
        id: layout.nozzles[i].id.clone(),
        flow_m3_s: schedule.range(|d| d.nozzles[i].flow),
        speed_m_s: schedule.range(|d| d.nozzles[i].speed),
        momentum_m4_s2: schedule.range(|d| d.nozzles[i].momentum),
        reynolds: schedule.range(|d| d.nozzles[i].reynolds).max,
        thrust_n: schedule.range(|d| d.nozzles[i].momentum * density),
        entrained_m3_s: schedule.range(|d| d.nozzles[i].flow * (entrainment(&layout.nozzles[i]) - 1.0)),
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
        limit_m_s: layout.limits.as_ref().and_then(|own| own.screen_through.as_ref()).map(|speed| speed.si()),
    }
}
