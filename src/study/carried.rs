//! The measures that need recorded motion, for those who ask for them: water age, mixing of dye, detritus.

use super::{
    Control, Progress, Settings, Study, age,
    case::Case,
    detritus, mixing,
    record::{AgeRecord, Caught, Cost, DetritusRecord, DyeRecord, OutletAge, Record},
    recording::Recording,
    runner::Runner,
    scalar::{Scalar, Taken},
    settings::{DETRITUS, Watch},
};
use crate::{
    finding::{self, Finding, Grade},
    layout::Layout,
    setup::port::{JetSource, SinkSource},
    units::{Display, TankSpeedKind, show},
};
use glam::DVec3;
use std::time::Instant;

/// Particles of each kind: shares are good to about 1 in 100.
const PARTICLES: usize = 2000;
/// Water that lies slower than this lets detritus lie, m/s (8.8: 15 to 30 cm/s near the wall commonly quoted).
pub const LIFTING: f64 = 0.15;
/// Exchange efficiency below this means that much of the flow goes past the rest; perfect mixing has 0.5.
const SHORT_CIRCUIT: f64 = 0.35;
/// Share of some detritus that settles in the tank and is told.
const MUCH_SETTLED: f64 = 0.3;

/// Adds what was asked for to a study, from the motion that was recorded.
pub fn add(study: &mut Study, (case, runner): (&Case, &Runner), settings: &Settings, watch: &mut Watch) {
    let Some(recording) = runner.recording() else { return };
    let started = Instant::now();
    let at = |phase, simulated, total| Progress { simulated, total, phase, wall_s: started.elapsed().as_secs_f64() };
    let record = &mut study.record;
    let stream_bytes = 12.0 * recording.streams.len() as f64;
    cost(record, "recorded motion", 0.0, stream_bytes);
    if settings.extra.age {
        let begun = Instant::now();
        if let Some(found) = age::age(recording, &mut |done, total| watch(&at("water age", done, total))) {
            let outlets = outlet_ages(&found.by_sink, &case.layout, runner);
            record.age = Some(AgeRecord { outlets, ..found.record });
            study.fields.age = found.at_cell;
        }
        cost(record, "water age", begun.elapsed().as_secs_f64(), Scalar::BYTES_PER_CELL as f64);
    }
    if let Some(nozzle) = &settings.extra.dye {
        let begun = Instant::now();
        record.dye = dye(case, runner, recording, nozzle, &mut |done, total| watch(&at("dye", done, total)));
        cost(record, "dye", begun.elapsed().as_secs_f64(), Scalar::BYTES_PER_CELL as f64);
    }
    if let Some(seconds) = settings.extra.detritus_s {
        let begun = Instant::now();
        study.fields.settled = vec![0.0; study.fields.len()];
        for (name, settling) in DETRITUS {
            let plan = detritus::Plan { settling, lifting: LIFTING, count: PARTICLES, seconds, seed: settings.seed };
            let fate = detritus::follow(recording, &over_rock(recording, &case.layout), &plan, &mut |done, total| {
                watch(&at("detritus", done, total))
            });
            let each = 1.0 / (DETRITUS.len() * fate.count.max(1)) as f32;
            fate.resting.iter().for_each(|&cell| study.fields.settled[cell] += each);
            record.detritus.push(told(name, settling, &fate, &case.layout, runner));
        }
        cost(record, "detritus", begun.elapsed().as_secs_f64(), 4.0);
    }
    record.findings.extend(findings(record, case.layout.display));
    record.findings.sort_by_key(|finding| std::cmp::Reverse(finding.grade));
}

fn cost(record: &mut Record, measure: &str, seconds: f64, bytes_per_cell: f64) {
    record.run.costs.push(Cost { measure: measure.into(), seconds, bytes_per_cell });
}

/// Cells of water that stand on rock, not on the floor or the sand.
fn over_rock(recording: &Recording, layout: &Layout) -> Vec<usize> {
    let plane = recording.n[0] * recording.n[1];
    let ground = layout.sand.as_ref().map_or(0.0, |sand| sand.depth.si()) + recording.h;
    let above = |cell: usize| recording.cell(cell)[2] as f64 * recording.h > ground;
    (plane..recording.water.len())
        .filter(|&cell| recording.water[cell] > 0.5 && recording.water[cell - plane] == 0.0 && above(cell))
        .collect()
}

/// What the sinks of each intake and overflow took, by the names of the layout.
fn by_part<'a, T: Copy + 'a>(of_sinks: &'a [T], layout: &'a Layout, runner: &'a Runner, with: impl Fn(T, T) -> T) -> Vec<(String, T)> {
    let mut parts: Vec<(String, T)> = Vec::new();
    for (source, &taken) in runner.basin().sink_sources().zip(of_sinks) {
        let part = match source {
            SinkSource::Intake(index) => format!("intakes/{}", layout.intakes[index].id),
            SinkSource::Overflow(index) => format!("overflows/{}", layout.overflows[index].id),
        };
        match parts.iter_mut().find(|other| other.0 == part) {
            Some(other) => other.1 = with(other.1, taken),
            None => parts.push((part, taken)),
        }
    }
    parts
}

/// Ages by the names of the layout; outlets that took nothing are left out.
fn outlet_ages(by_sink: &[Taken], layout: &Layout, runner: &Runner) -> Vec<OutletAge> {
    let all: f64 = by_sink.iter().map(|taken| taken.water).sum();
    let told = |(part, taken): (String, Taken)| Some(OutletAge { part, age_s: taken.mean()?, share: taken.water / all });
    by_part(by_sink, layout, runner, Taken::with).into_iter().filter_map(told).collect()
}

/// Shares by the names of the layout.
fn told(name: &str, settling: f64, fate: &detritus::Fate, layout: &Layout, runner: &Runner) -> DetritusRecord {
    let count = fate.count.max(1) as f64;
    let caught = by_part(&fate.caught, layout, runner, |a, b| a + b).into_iter();
    let caught = caught.map(|(part, taken)| Caught { part, share: taken as f64 / count }).collect();
    let settled = fate.settled as f64 / count;
    DetritusRecord {
        kind: name.into(),
        settling_m_s: settling,
        lifting_m_s: LIFTING,
        particles: fate.count,
        followed_s: fate.followed_s,
        caught,
        settled_share: settled,
        afloat_share: fate.afloat as f64 / count,
        standard_error: (settled * (1.0 - settled) / count).sqrt(),
    }
}

/// A shot of dye at a nozzle, beside the published time.
fn dye(case: &Case, runner: &Runner, recording: &Recording, nozzle: &str, watch: &mut dyn FnMut(f64, f64) -> Control) -> Option<DyeRecord> {
    let of_nozzle = |source: JetSource| matches!(source, JetSource::Nozzle(index) if case.layout.nozzles[index].id == nozzle);
    let jet = runner.basin().jet_sources().position(of_nozzle)?;
    let mixed = mixing::mixing(recording, &recording.jets[jet], mixing::HORIZON, watch);
    let port = runner.basin().ports.jets[jet];
    let point = |p: [f32; 3]| DVec3::from_array(p.map(f64::from));
    let path = free_path(recording, point(port.at), point(port.direction));
    let momentum = case.tables.nozzles.iter().map(|nozzle| nozzle.momentum_m4_s2.mean).sum();
    Some(DyeRecord {
        nozzle: nozzle.into(),
        mixed_s: mixed.mixed_s,
        followed_s: mixed.followed_s,
        variation: mixed.course.last().map_or(0.0, |last| last[1]),
        published_s: mixing::published(path, momentum),
        free_path_m: path,
    })
}

/// How far a straight line goes through water, m.
fn free_path(recording: &Recording, from: DVec3, direction: DVec3) -> f64 {
    let (along, step) = (direction.normalize_or_zero(), 0.25 * recording.h);
    let most = 1e5;
    let wet = |s: f64| recording.cell_at((from + along * s).to_array()).is_some_and(|cell| recording.water[cell] > 0.0);
    let steps = (4..).map(|i| f64::from(i) * step).find(|&s| !wet(s) || s > most);
    if along == DVec3::ZERO { 0.0 } else { steps.unwrap_or_default() }
}

fn findings(record: &Record, display: Display) -> Vec<Finding> {
    let age = record.age.as_ref().map(old_water);
    let dye = record.dye.as_ref().map(mixed);
    age.into_iter().chain(dye).chain(record.detritus.iter().map(|detritus| detritus_told(detritus, display))).collect()
}

fn old_water(age: &super::record::AgeRecord) -> Finding {
    let minutes = |s: f64| format!("{:.1} min", s / 60.0);
    let grade = if age.exchange_efficiency < SHORT_CIRCUIT || !age.settled { Grade::Caution } else { Grade::Note };
    let unsure = if age.settled { "" } else { "; the ages had not come to rest yet" };
    Finding::new(
        grade,
        "water-age",
        "",
        format!(
            "water is {} old on average since it left a nozzle, the oldest twentieth over {}{unsure}",
            minutes(age.mean_s),
            minutes(age.oldest_s)
        ),
        format!(
            "the water that leaves must be as old as the volume over the flow, {}: {} was computed; the exchange is {:.0} % efficient, where 50 % is a stirred \
             tank and much less means that the flow goes past the rest",
            minutes(age.nominal_s),
            minutes(age.outlets_s),
            age.exchange_efficiency * 100.0
        ),
        "look at the map of ages; aim a nozzle at the oldest water or take water out there",
    )
    .at(age.oldest_at_m.unwrap_or_default())
}

fn mixed(dye: &DyeRecord) -> Finding {
    let time = |s: f64| format!("{s:.0} s");
    let published = dye
        .published_s
        .map_or_else(String::new, |s| format!("; {} by the published formula for one steady jet, good to 30 % at best", time(s)));
    let what = match dye.mixed_s {
        Some(s) => format!("a shot of dye at nozzle {} is mixed to 95 % after {}", dye.nozzle, time(s)),
        None => format!("a shot of dye at nozzle {} is not mixed to 95 % after {}", dye.nozzle, time(dye.followed_s)),
    };
    let why = format!("carried by the recorded motion; the grid mixes a little itself, so real water takes longer{published}");
    let mend = "compare sequences by it; it is no limit";
    Finding::new(
        if dye.mixed_s.is_some() { Grade::Note } else { Grade::Caution },
        "dye-mixing",
        format!("nozzles/{}", dye.nozzle),
        what,
        why,
        mend,
    )
}

fn detritus_told(detritus: &DetritusRecord, display: Display) -> Finding {
    let speed = |v: f64| show::<TankSpeedKind>(v, display);
    let percent = |share: f64| format!("{:.0} %", share * 100.0);
    let caught: f64 = detritus.caught.iter().map(|caught| caught.share).sum();
    let grade = if detritus.settled_share > MUCH_SETTLED { Grade::Caution } else { Grade::Note };
    let catching = detritus.caught.iter().filter(|other| other.share > 0.0).count();
    let by = detritus.caught.iter().max_by(|a, b| a.share.total_cmp(&b.share)).map_or_else(String::new, |most| match catching {
        0 => String::new(),
        1 => format!(" by {}", finding::part(&most.part)),
        _ => format!(", most by {} ({})", finding::part(&most.part), percent(most.share)),
    });
    Finding::new(
        grade,
        "detritus",
        "",
        format!(
            "{} detritus (sinks at {}): after {:.1} h {} has settled, {} is caught{by}, {} is afloat",
            detritus.kind,
            speed(detritus.settling_m_s),
            detritus.followed_s / 3600.0,
            percent(detritus.settled_share),
            percent(caught),
            percent(detritus.afloat_share)
        ),
        format!(
            "{} particles over rock and water on the recorded motion, shares good to {:.0} %; what lies is lifted at {} (common practice); what a loop's intake draws in comes back by its nozzles, which is left out",
            detritus.particles,
            (200.0 * detritus.standard_error).max(1.0),
            speed(detritus.lifting_m_s)
        ),
        "see the map of what settles; sweep it with a nozzle, or put an intake or the overflow in its way",
    )
}
