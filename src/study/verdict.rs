//! From averages to a record: measures, places in words, findings.

use super::{
    Fields, Settings, Study,
    case::Case,
    dead_spots::{self, Limits, Region},
    exposure, findings, memory, probe,
    record::{RECORD_VERSION, Record, RunInfo},
    runner::Runner,
    scour,
    surface::{self, Lip},
    words::{self, Line},
};
use crate::{
    flow::{Jet, Sink},
    setup::port::{JetSource, SinkSource},
};
use glam::DVec3;

/// What only the caller knows of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ran {
    /// Threads used.
    pub threads: usize,
    /// Wall time, s.
    pub wall_s: f64,
    /// Stopped before its time.
    pub interrupted: bool,
}

/// Everything the averages say about a layout.
pub fn judge(case: &Case, runner: &Runner, settings: &Settings, ran: &Ran) -> Study {
    let mut fields = runner.fields();
    let limits = Limits { speed: settings.dead_speed, share: settings.dead_share };
    let mut regions = dead_spots::find(&mut fields, limits);
    let solids = runner.basin().solids();
    regions.iter_mut().for_each(|region| region.spot.place = words::place(&case.layout, solids, region));
    let run = run_info(case, runner, settings, ran, &fields);
    let mut record = measures(case, run, &fields, &regions);
    record.probes = probe::records(&case.layout, settings, &runner.points());
    record.surface = surface::skimming(&fields, &lips(runner), surface::HORIZON);
    record.findings = findings::all(case, runner, settings, &record, &reaches(case, runner, &regions));
    Study { record, fields }
}

/// How each dead spot lies to the jets, for those that get a finding of their own.
fn reaches(case: &Case, runner: &Runner, regions: &[Region]) -> Vec<String> {
    let basin = runner.basin();
    let point = |p: [f32; 3]| DVec3::from_array(p.map(f64::from));
    let line = |(source, jet): (JetSource, &Jet)| Line { source, at: point(jet.at), direction: point(jet.direction) };
    let jets: Vec<Line> = basin.jet_sources().zip(&basin.ports.jets).map(line).collect();
    let told = regions.iter().take(findings::MOST_SPOTS);
    told.map(|region| words::reach(&case.layout, basin.solids(), &jets, DVec3::from_array(region.inside))).collect()
}

/// The lips of all overflows, as their sinks have them.
fn lips(runner: &Runner) -> Vec<Lip> {
    let basin = runner.basin();
    let of_overflow = |(source, sink): (SinkSource, &Sink)| {
        let lip = || {
            let [x, y, _] = sink.at.map(f64::from);
            let along = [-sink.normal[1], sink.normal[0]].map(|t| f64::from(t * sink.size[0]) / 2.0);
            Lip { from: [x - along[0], y - along[1]], to: [x + along[0], y + along[1]] }
        };
        matches!(source, SinkSource::Overflow(_)).then(lip)
    };
    basin.sink_sources().zip(&basin.ports.sinks).filter_map(of_overflow).collect()
}

fn run_info(case: &Case, runner: &Runner, settings: &Settings, ran: &Ran, fields: &Fields) -> RunInfo {
    let counters = runner.counters();
    let averaged_s = runner.statistics().seconds();
    RunInfo {
        cell_m: fields.h,
        cells: fields.n,
        cell_count: fields.len(),
        water_cells: fields.water.iter().filter(|&&water| water > 0.0).count(),
        spin_up_s: (runner.time() - averaged_s).max(0.0),
        averaged_s,
        cycles: averaged_s / case.cycle(),
        steps: counters.steps,
        seed: settings.seed,
        threads: ran.threads,
        wall_s: ran.wall_s,
        cell_steps_per_s: counters.steps as f64 * fields.len() as f64 / counters.wall_s.max(1e-9),
        peak_memory_bytes: memory::peak_bytes(),
        worst_mass_error: counters.mass_error,
        worst_divergence_rms_per_s: counters.divergence_rms,
        half_to_half: runner.statistics().half_to_half(case.cycle()),
        interrupted: ran.interrupted,
    }
}

fn measures(case: &Case, run: RunInfo, fields: &Fields, regions: &[Region]) -> Record {
    let tables = case.tables.clone();
    let water_m3 = fields.water_volume();
    let through_nozzles: f64 = tables.nozzles.iter().map(|nozzle| nozzle.flow_m3_s.mean).sum();
    Record {
        record_version: RECORD_VERSION,
        layout: case.layout.name.clone(),
        run,
        cycle_s: case.cycle(),
        pumps: tables.pumps,
        links: tables.links,
        outlets: tables.outlets,
        nozzles: tables.nozzles,
        intakes: tables.intakes,
        drums: tables.drums,
        water_m3,
        turnover_per_hour: if water_m3 > 0.0 { through_nozzles * 3600.0 / water_m3 } else { 0.0 },
        share_under: exposure::shares_under(fields),
        mean_speed_m_s: fields.volume_mean(|cell| f64::from(fields.mean_speed[cell])),
        mean_kinetic_energy_m2_s2: fields.volume_mean(|cell| fields.kinetic_energy(cell)),
        dead_spots: regions.iter().map(|region| region.spot.clone()).collect(),
        colonies: exposure::colonies(fields, &case.layout),
        probes: Vec::new(),
        sand: scour::sand(fields, &case.layout),
        surface: None,
        findings: Vec::new(),
    }
}
