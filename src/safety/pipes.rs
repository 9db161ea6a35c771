//! Pipes: velocity, and pressure when the flow in them stops.

use super::limits::{PRESSURE_VELOCITY_MOST, STRESS_METRIC, STRESS_SCHEDULE, SUCTION_VELOCITY_MOST, WARM_WATER};
use super::site::{Placed, Site, part};
use crate::catalog::PipeSize;
use crate::finding::{Finding, Grade};
use crate::hydraulics::surge::{PVC_POISSON, PVC_STIFFNESS, Wall, rating, slow_stop, sudden_stop, wave_speed};
use crate::layout::Circuit;
use crate::water::GRAVITY;

pub fn check(site: &Site) -> Vec<Finding> {
    let mut findings: Vec<Finding> = site.runs().filter_map(|run| velocity(site, &run)).collect();
    findings.extend(site.layout.circuits.iter().filter_map(|c| surge(site, c)));
    findings
}

fn fastest(site: &Site, run: &Placed) -> f64 {
    site.schedule.range(|d| d.runs[run.number].velocity.abs()).max
}

fn velocity(site: &Site, run: &Placed) -> Option<Finding> {
    let speed = fastest(site, run);
    let (limit, most, side) = if run.is_suction {
        (site.limits.suction_velocity, SUCTION_VELOCITY_MOST, "suction")
    } else {
        (site.limits.pressure_velocity, PRESSURE_VELOCITY_MOST, "pressure")
    };
    let (limit, source) = (limit.value, limit.source);
    (speed > limit).then(|| {
        let flow = site.schedule.range(|d| d.runs[run.number].flow.abs()).max;
        let what = format!("{} flows through {} at {}", site.flow(flow), run.run.pipe, site.speed(speed));
        let why = format!("{side} pipe is kept under {} ({source}): above it noise, wear and head loss climb", site.speed(limit));
        let needed = (flow / limit / std::f64::consts::FRAC_PI_4).sqrt();
        let mend = match wider(site, needed) {
            Some(pipe) => format!("a bore of {} would do: {pipe}", site.length(needed)),
            None => format!("a bore of {} would do; split the flow over two pipes", site.length(needed)),
        };
        let grade = if speed > most.max(limit) { Grade::Fault } else { Grade::Caution };
        Finding::new(grade, "pipe-velocity", part(run), what, why, mend)
    })
}

/// The narrowest pipe of the catalogue that is wide enough.
fn wider<'a>(site: &Site<'a>, bore: f64) -> Option<&'a str> {
    let which = site.layout.pipes.bore;
    let pipes =
        site.catalog.pipe_names().filter_map(|n| site.catalog.pipe(n)).filter(|p| p.bore(which) >= bore && !p.name.ends_with("hose"));
    pipes.min_by(|a, b| a.bore(which).total_cmp(&b.bore(which))).map(|p| p.name.as_str())
}

/// Pressure at the worst pipe of a circuit's pressure side.
struct Peak<'a> {
    pipe: &'a PipeSize,
    run: &'a str,
    /// m.
    running: f64,
    sudden: f64,
    slow: f64,
    /// Pa.
    rated: f64,
}

impl Peak<'_> {
    /// Pa.
    fn bound(&self, site: &Site) -> f64 {
        (self.running + self.sudden) * site.water.density * GRAVITY
    }
}

fn surge(site: &Site, circuit: &Circuit) -> Option<Finding> {
    let peaks = site.runs().filter(|r| std::ptr::eq(r.circuit, circuit) && !r.is_suction).filter_map(|r| peak(site, &r));
    let worst = peaks.max_by(|a, b| (a.bound(site) / a.rated).total_cmp(&(b.bound(site) / b.rated)))?;
    let bound = worst.bound(site);
    let what = format!(
        "in {} ({}): {} while running; at most {} when its flow stops at once (pump trip, check valve slam), about {} as the outlets close",
        worst.run,
        worst.pipe.name,
        site.pressure(worst.running * site.water.density * GRAVITY),
        site.pressure(bound),
        site.pressure((worst.running + worst.slow) * site.water.density * GRAVITY)
    );
    let why = format!(
        "rated for about {} (2 S e/(D - e), less 12 % for warm water); upper bound a ΔV/g (Joukowsky 1898), slow closing 2 L V/(g t) (Michaud 1878)",
        site.pressure(worst.rated)
    );
    let over = bound > worst.rated;
    let mend =
        if over { "longer change-over, wider pipe, a spring check valve near the pump, or a heavier schedule" } else { "nothing to mend" };
    Some(Finding::new(
        if over { Grade::Caution } else { Grade::Note },
        "pressure-peak",
        format!("circuits/{}", circuit.id),
        what,
        why,
        mend,
    ))
}

fn peak<'a>(site: &Site<'a>, run: &Placed<'a>) -> Option<Peak<'a>> {
    let pipe = site.catalog.pipe(&run.run.pipe)?;
    let bore = pipe.bore(site.layout.pipes.bore);
    let wall = Wall { bore, thickness: (pipe.outside_m - bore) / 2.0, stiffness: PVC_STIFFNESS, poisson: PVC_POISSON };
    let wave = wave_speed(&wall, site.water.sound_speed, site.water.bulk_modulus);
    let length: f64 = run.circuit.discharge.iter().map(|r| r.length.si()).sum();
    let (change, time) = quickest_change(site, run.number);
    let stress = if pipe.name.to_lowercase().contains("schedule") { STRESS_SCHEDULE } else { STRESS_METRIC };
    Some(Peak {
        pipe,
        run: &run.run.id,
        running: site
            .pumps_of(run.circuit)
            .iter()
            .map(|&p| site.schedule.range(|d| d.pumps[p].head + d.pumps[p].inlet_head.max(0.0)).max)
            .fold(0.0, f64::max),
        sudden: sudden_stop(wave, fastest(site, run)),
        slow: if time > 0.0 { slow_stop(length, change, time, wave) } else { 0.0 },
        rated: WARM_WATER * rating(pipe.outside_m, pipe.wall_min_m, stress),
    })
}

/// Change of velocity between the two samples where it changes quickest, m/s, and the time between them, s.
fn quickest_change(site: &Site, run: usize) -> (f64, f64) {
    let schedule = site.schedule;
    let steps = (1..schedule.times.len()).map(|i| {
        let change = (schedule.duties[i].runs[run].velocity - schedule.duties[i - 1].runs[run].velocity).abs();
        (change, schedule.times[i] - schedule.times[i - 1])
    });
    steps.max_by(|a, b| (a.0 / a.1).total_cmp(&(b.0 / b.1))).unwrap_or((0.0, 0.0))
}
