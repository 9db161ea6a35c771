//! What the layout says that each reading should have been.

use super::drift;
use super::factor::{names, runs};
use super::limits::Z95;
use crate::catalog::Catalog;
use crate::finding::{Finding, Grade};
use crate::layout::{self, Circuit, End, Gauge, Held, Layout, Reading, Run, Side};
use crate::sequence::{Motion, Unit};
use crate::setup::drums::units;
use crate::setup::plumbing::{Duty, Plumbing};
use crate::setup::water;
use crate::water::GRAVITY;

/// A reading made ready: SI, with the position of every drum unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Sight {
    /// As in the layout.
    pub reading: Reading,
    /// What was read, SI.
    pub measured: f64,
    /// Its standard uncertainty, the law's own included, SI.
    pub sigma: f64,
    /// Open share of each outlet of each drum.
    pub open: Vec<Vec<f64>>,
    /// Circuits that the measured part belongs to.
    pub circuits: Vec<String>,
    place: Place,
}

/// Where a reading was taken, by numbers in the layout.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Place {
    Nozzle(usize),
    Pump(usize),
}

/// The usable readings, and what is wrong with the others.
///
/// # Errors
/// What keeps the layout's plumbing from being computed.
pub fn sights(layout: &Layout, catalog: &Catalog) -> Result<(Vec<Sight>, Vec<Finding>), Vec<Finding>> {
    let found = layout::check(layout, catalog);
    if found.iter().any(|finding| finding.blocks) {
        return Err(found.into_iter().filter(|finding| finding.blocks).collect());
    }
    Plumbing::new(layout, catalog)?;
    let units = units(layout);
    let mut unused: Vec<Finding> = found.into_iter().filter(|f| f.rule == "bad-reading" || f.rule == "dangling-reading").collect();
    let mut sights = Vec::new();
    for reading in &layout.measured {
        if unused.iter().any(|finding| finding.part == part(reading)) {
            continue;
        }
        match sight(layout, &units, reading) {
            Ok(sight) => sights.push(sight),
            Err(finding) => unused.push(*finding),
        }
    }
    Ok((sights, unused))
}

fn part(reading: &Reading) -> String {
    format!("measured/{}", reading.id)
}

fn sight(layout: &Layout, units: &[Unit], reading: &Reading) -> Result<Sight, Box<Finding>> {
    let Some(place) = place(layout, &reading.value) else {
        return Err(refused(reading, "its part is not in the layout", "the reading belongs to nothing", "correct the name"));
    };
    let end = match place {
        Place::Nozzle(n) => End::Nozzle(layout.nozzles[n].id.clone()),
        Place::Pump(p) => End::Pump(layout.pumps[p].id.clone()),
    };
    let circuits: Vec<&Circuit> = layout.circuits.iter().filter(|c| names(c, &end)).collect();
    usable(layout, reading, place, &circuits)?;
    let (measured, sigma) = read(&reading.value);
    let held = |id: &str| reading.held.iter().find(|held| held.drum == id);
    let open = units.iter().zip(&layout.drums).map(|(unit, drum)| open(unit, held(&drum.id))).collect();
    let circuits = circuits.iter().map(|c| c.id.clone()).collect();
    Ok(Sight { reading: reading.clone(), measured, sigma, open, circuits, place })
}

fn refused(reading: &Reading, what: &str, why: &str, mend: &str) -> Box<Finding> {
    Box::new(Finding::new(Grade::Caution, "reading-unused", part(reading), what, why, mend))
}

fn usable(layout: &Layout, reading: &Reading, place: Place, circuits: &[&Circuit]) -> Result<(), Box<Finding>> {
    if circuits.is_empty() {
        let mend = "draw the run, or remove the reading";
        return Err(refused(reading, "no pipe run leads to its part", "its flow isn't computed from the plumbing", mend));
    }
    let mut drums = layout.drums.iter().filter(|d| circuits.iter().any(|c| names(c, &End::Drum(d.id.clone()))));
    if let Some(drum) = drums.find(|d| !reading.held.iter().any(|held| held.drum == d.id)) {
        let what = format!("it doesn't say how drum unit `{}` stood", drum.id);
        let mend = format!("hold the unit, and add `held: [(drum: \"{}\", open: [1])]`", drum.id);
        return Err(refused(reading, &what, "the flow depends on which outlets are open", &mend));
    }
    match (&reading.value, place) {
        (Gauge::Drift { .. }, Place::Nozzle(n)) if !drift::is_round(&layout.nozzles[n].kind) => {
            let why = "the law of a float's time holds for round jets only";
            Err(refused(reading, "its nozzle throws no round jet", why, "measure its flow by bucket"))
        }
        _ => Ok(()),
    }
}

fn place(layout: &Layout, value: &Gauge) -> Option<Place> {
    let nozzle = value.nozzle().and_then(|id| layout.nozzles.iter().position(|n| n.id == id)).map(Place::Nozzle);
    nozzle.or_else(|| value.pump().and_then(|id| layout.pumps.iter().position(|p| p.id == id)).map(Place::Pump))
}

/// Value and standard uncertainty, SI. What is given is the half width of a 95 % interval.
fn read(value: &Gauge) -> (f64, f64) {
    let (measured, within) = match value {
        Gauge::Bucket { time, within, .. } => (time.si(), within.si()),
        Gauge::NozzleFlow { flow, within, .. } | Gauge::PumpFlow { flow, within, .. } => (flow.si(), within.si()),
        Gauge::PumpHead { head, within, .. } => (head.si(), within.si()),
        Gauge::Pressure { pressure, within, .. } => (pressure.si(), within.si()),
        Gauge::Drift { time, within, .. } => (time.si(), within.si().hypot(drift::LAW_SHARE * time.si())),
    };
    (measured, within / Z95)
}

/// Where the unit stood: the given turn, or the turn at which just these outlets stand open most clearly, or plainly open and shut.
fn open(unit: &Unit, held: Option<&Held>) -> Vec<f64> {
    let mut shares = vec![0.0; unit.outlets];
    let Some(held) = held else {
        unit.open(0.0, &mut shares);
        return shares;
    };
    let at = |turn: f64| {
        let mut shares = vec![0.0; unit.outlets];
        Unit { motion: Motion::Held(turn), phase: 0.0, reverse: false, ..unit.clone() }.open(0.0, &mut shares);
        shares
    };
    if let Some(turn) = held.turn {
        return at(turn);
    }
    let wanted: Vec<bool> = (1..=unit.outlets as u32).map(|n| held.open.contains(&n)).collect();
    let fits = |shares: &Vec<f64>| shares.iter().zip(&wanted).all(|(share, wanted)| (*share >= 0.5) == *wanted);
    let clarity = |shares: &[f64]| shares.iter().map(|share| (share - 0.5).abs()).fold(f64::INFINITY, f64::min);
    let turning = matches!(unit.motion, Motion::Turning(_) | Motion::Held(_));
    let turns = (0..360).filter(|_| turning).map(|degree| at(f64::from(degree) / 360.0)).filter(fits);
    let clearest = turns.max_by(|a, b| clarity(a).total_cmp(&clarity(b)));
    clearest.unwrap_or_else(|| wanted.iter().map(|open| f64::from(u8::from(*open))).collect())
}

/// What a layout says that each reading should be, SI; `None` when its plumbing can't be computed.
pub fn predictions(layout: &Layout, catalog: &Catalog, sights: &[Sight]) -> Option<Vec<f64>> {
    let mut plumbing = Plumbing::new(layout, catalog).ok()?;
    Some(sights.iter().map(|sight| prediction(layout, &plumbing.solve(&sight.open), sight)).collect())
}

fn prediction(layout: &Layout, duty: &Duty, sight: &Sight) -> f64 {
    match (&sight.reading.value, sight.place) {
        (Gauge::Bucket { volume, .. }, Place::Nozzle(n)) => volume.si() / duty.nozzles[n].flow.max(1e-12),
        (Gauge::NozzleFlow { .. }, Place::Nozzle(n)) => duty.nozzles[n].flow,
        (Gauge::Drift { from, to, .. }, Place::Nozzle(n)) => {
            drift::seconds(duty.nozzles[n].momentum.max(1e-18), [from.si(), to.si()]).unwrap_or(f64::INFINITY)
        }
        (Gauge::PumpFlow { .. }, Place::Pump(p)) => duty.pumps[p].flow,
        (Gauge::PumpHead { .. }, Place::Pump(p)) => duty.pumps[p].head,
        (Gauge::Pressure { side, height, .. }, Place::Pump(p)) => {
            let gain = if *side == Side::Outlet { duty.pumps[p].head } else { 0.0 };
            // The network's heads are total heads; a gauge in the pipe's wall doesn't feel the velocity head.
            let total = duty.pumps[p].inlet_head + gain - height.si();
            weight(layout) * (total - velocity_head(layout, duty, p, *side))
        }
        _ => f64::NAN,
    }
}

/// Velocity head in the run at one side of a pump, m; 0 where runs meet only at the pump itself and none is found.
fn velocity_head(layout: &Layout, duty: &Duty, pump: usize, side: Side) -> f64 {
    let end = End::Pump(layout.pumps[pump].id.clone());
    let here = |run: &Run| if side == Side::Inlet { run.to == end } else { run.from == end };
    let speed = layout.circuits.iter().flat_map(runs).zip(&duty.runs).find(|(run, _)| here(run)).map_or(0.0, |(_, duty)| duty.velocity);
    speed * speed / (2.0 * GRAVITY)
}

/// Of the water, N/m³.
fn weight(layout: &Layout) -> f64 {
    water(layout).density * GRAVITY
}
