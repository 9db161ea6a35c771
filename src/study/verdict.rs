//! From averages to a record: measures, places in words, findings.

use super::{
    Fields, Settings, Study,
    case::Case,
    cause::{self, Line, Scene},
    dead_spots::{self, Limits, Region},
    exposure, findings, fish, memory, probe,
    record::{FishZone, RECORD_VERSION, Record, RunInfo},
    runner::Runner,
    scour, seepage, skin,
    surface::{self, Lip},
    words,
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
    /// Simulated time at which the averages were found sure, s.
    pub settled_at_s: Option<f64>,
}

/// Everything the averages say about a layout.
pub fn judge(case: &Case, runner: &Runner, settings: &Settings, ran: &Ran) -> Study {
    let averages = runner.fields_with_porous();
    let seepage = seepage::records(&averages, runner.porous());
    let mut fields = runner.open_water(averages);
    let limits = Limits { speed: settings.dead_speed, share: settings.dead_share };
    let mut regions = dead_spots::find(&mut fields, limits);
    let solids = runner.basin().solids();
    regions.iter_mut().for_each(|region| region.spot.place = words::place(&case.layout, solids, region));
    causes(case, runner, &fields, &mut regions);
    let run = run_info(case, runner, settings, ran, &fields);
    let mut record = measures(case, runner, run, (&fields, &regions));
    record.probes = probe::records(&case.layout, settings, &runner.points());
    record.fish_zones = fish_zones(case, runner, settings, &fields);
    record.surface = surface::skimming(&fields, &lips(runner), surface::HORIZON);
    record.skin = skin::records(&fields, runner.skin(), solids, settings.dead_speed);
    record.seepage = seepage;
    record.findings = findings::all(case, runner, settings, &record);
    Study { record, fields }
}

/// Why the larger dead spots are there.
fn causes(case: &Case, runner: &Runner, fields: &Fields, regions: &mut [Region]) {
    let basin = runner.basin();
    let point = |p: [f32; 3]| DVec3::from_array(p.map(f64::from));
    let line = |(source, jet): (JetSource, &Jet)| {
        let (at, direction) = (point(jet.at), point(jet.direction).normalize_or_zero());
        Line { source, at, direction, momentum: momentum(case, runner, source) }
    };
    let jets: Vec<Line> = basin.jet_sources().zip(&basin.ports.jets).map(line).collect();
    let paths = cause::paths(fields, &jets);
    let scene = Scene { fields, layout: &case.layout, solids: basin.solids(), jets: &jets, paths: &paths };
    for region in regions.iter_mut().take(findings::MOST_SPOTS) {
        region.spot.cause = Some(cause::of(&scene, region));
    }
}

/// Momentum flux over density of one of the jets of a source while it runs, m⁴/s².
fn momentum(case: &Case, runner: &Runner, source: JetSource) -> f64 {
    let same = runner.basin().jet_sources().filter(|other| *other == source).count().max(1) as f64;
    match source {
        JetSource::Nozzle(index) => case.tables.nozzles.get(index).map_or(0.0, |nozzle| nozzle.momentum_m4_s2.max) / same,
        JetSource::Propeller(_) => {
            let rates = runner.rates();
            runner
                .basin()
                .jet_sources()
                .zip(&rates.jets)
                .filter(|(other, _)| *other == source)
                .map(|(_, rate)| f64::from(rate.momentum))
                .sum::<f64>()
                / same
        }
    }
}

/// The pull of every intake.
fn fish_zones(case: &Case, runner: &Runner, settings: &Settings, fields: &Fields) -> Vec<FishZone> {
    let basin = runner.basin();
    let zone = |(index, (source, sink)): (usize, (SinkSource, &Sink))| {
        let SinkSource::Intake(intake) = source else { return None };
        let mouth: Vec<usize> = runner.flow().sink_cells(index).into_iter().map(|(cell, _)| cell).collect();
        Some(fish::zone(fields, &case.layout.intakes[intake].id, sink.at.map(f64::from), &mouth, settings.fish_speed))
    };
    basin.sink_sources().zip(&basin.ports.sinks).enumerate().filter_map(zone).collect()
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
        batches: runner.statistics().batches(),
        batch_s: runner.statistics().batch_s(),
        standard_error_m_s: runner.statistics().standard_error(),
        settled_at_s: ran.settled_at_s,
        costs: Vec::new(),
    }
}

fn measures(case: &Case, runner: &Runner, run: RunInfo, (fields, regions): (&Fields, &[Region])) -> Record {
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
        p95_speed_m_s: fields.volume_mean(|cell| f64::from(fields.p95[cell])),
        peak_speed_m_s: fields.peak.iter().copied().fold(0.0, f32::max).into(),
        direction_change: fields.volume_mean(|cell| fields.direction_change(cell)),
        reversals_per_cycle: fields.volume_mean(|cell| f64::from(fields.reversals[cell])),
        longest_still_s: fields.volume_mean(|cell| f64::from(fields.longest_still[cell])),
        dead_spots: regions.iter().map(|region| region.spot.clone()).collect(),
        colonies: exposure::colonies(fields, &case.layout, runner.statistics().watched(), runner.statistics().batch_s()),
        probes: Vec::new(),
        sand: scour::sand(fields, &case.layout),
        surface: None,
        fish_zones: Vec::new(),
        age: None,
        dye: None,
        detritus: Vec::new(),
        grid_errors: Vec::new(),
        skin: Vec::new(),
        seepage: Vec::new(),
        findings: Vec::new(),
    }
}
