//! Inlets near a surface: deep enough, or they draw air through a vortex. Intakes of the tank, the sump's suction, drains that run full.

use super::intakes::{areas, part, place};
use super::site::Site;
use crate::finding::{Finding, Grade};
use crate::layout::{Drain, DrainKind, End, Intake, Overflow};
use crate::setup::plumbing::circle;
use crate::setup::schedule::surplus;
use crate::water::GRAVITY;
use std::f64::consts::FRAC_PI_4;

const LAW: &str = "S = D (1 + 2.3 Fr), ANSI/HI 9.8";

pub fn check(site: &Site) -> Vec<Finding> {
    let mut findings: Vec<Finding> = (0..site.layout.intakes.len()).filter_map(|i| intake(site, i)).collect();
    findings.extend(sump(site));
    findings.extend(drains(site));
    findings
}

/// Least depth of water over an inlet that keeps air out: S = D (1 + 2.3 Fr), Fr = V/√(gD) (ANSI/HI 9.8).
pub fn submergence(diameter: f64, velocity: f64) -> f64 {
    diameter * (1.0 + 2.3 * velocity / (GRAVITY * diameter).sqrt())
}

fn intake(site: &Site, number: usize) -> Option<Finding> {
    let intake: &Intake = &site.layout.intakes[number];
    let most = site.schedule.range(|d| d.intakes[number]).max;
    if most < 1e-7 {
        return None;
    }
    let area = areas(intake).map_or(circle(intake.bore.si()), |(_, face)| face);
    let needed = submergence((area / FRAC_PI_4).sqrt(), most / area);
    let depth = site.layout.tank.water_level.si() - intake.mount.centre(site.layout.tank.size()).z;
    let dry = depth < 0.5 * intake.bore.si();
    (depth < needed).then(|| {
        let what = format!("its middle lies {} under the surface and needs {}", site.length(depth), site.length(needed));
        let why = format!("a shallower inlet draws air through a vortex ({LAW}; D of its screen's area)");
        let mend = "set it deeper, or give it a larger screen";
        let grade = if dry { Grade::Fault } else { Grade::Caution };
        Finding::new(grade, if dry { "intake-uncovered" } else { "intake-vortex" }, part(intake), what, why, mend).at(place(site, intake))
    })
}

/// The widest need of the runs that start in the sump, against the depth that the layout gives.
fn sump(site: &Site) -> Option<Finding> {
    let suctions = site.runs().filter(|run| run.run.from == End::Sump).map(|run| {
        let (bore, flow) = (site.bore(run.run), site.schedule.range(|d| d.runs[run.number].flow).max);
        (submergence(bore, flow / circle(bore)), run.run.id.as_str())
    });
    let (needed, run) = suctions.filter(|s| s.0.is_finite()).max_by(|a, b| a.0.total_cmp(&b.0))?;
    let report = |grade, what: String, mend: &str| {
        let why = format!("the sump's level falls as water evaporates, and a shallow suction then draws air ({LAW}; D the pipe's bore)");
        Some(Finding::new(grade, "sump-vortex", "sump", what, why, mend))
    };
    match site.layout.sump.as_ref()?.suction_depth.as_ref().map(|d| d.si()) {
        None => {
            let what = format!("{run} needs {} of water over its mouth there to stay free of air; not checked", site.length(needed));
            report(Grade::Note, what, "write the sump's `suction_depth` to have it checked")
        }
        Some(depth) if depth < needed => {
            let what = format!("{run} draws from {} under the sump's surface and needs {}", site.length(depth), site.length(needed));
            report(Grade::Caution, what, "more water in the sump, a suction set deeper, or a wider mouth")
        }
        Some(depth) => {
            let what = format!("{run} draws from {} under the sump's surface and needs {}", site.length(depth), site.length(needed));
            report(Grade::Note, what, "nothing to mend")
        }
    }
}

/// Drains that run full must not draw air; the others are meant to. The flow is shared by what each can carry.
fn drains(site: &Site) -> Vec<Finding> {
    let all = site.layout.overflows.iter().flat_map(|o| o.drains.iter().map(move |d| (o, d)));
    let full: Vec<_> = all.filter(|(_, d)| d.kind == DrainKind::FullSiphon).collect();
    let total: f64 = full.iter().map(|(_, d)| super::overflow::capacity(site, d)).sum();
    let comes = site.schedule.range(surplus).max.min(total);
    let one = |(overflow, drain): &(&Overflow, &Drain)| {
        let bore = site.pipe_bore(&drain.pipe);
        let flow = comes * super::overflow::capacity(site, drain) / total;
        let (needed, depth) = (submergence(bore, flow / circle(bore)), drain.depth.as_ref()?.si());
        (depth < needed && flow > 1e-7).then(|| {
            let what = format!("{} of water stand over its mouth and it needs {}", site.length(depth), site.length(needed));
            let why = format!("a full drain that draws air gurgles and loses its siphon ({LAW}; D the pipe's bore)");
            let mend = "set its mouth deeper in the box, or turn it down with an elbow of wider bore";
            Finding::new(Grade::Caution, "drain-vortex", format!("overflows/{}/drains/{}", overflow.id, drain.id), what, why, mend)
        })
    };
    full.iter().filter_map(one).collect()
}

#[cfg(test)]
mod tests {
    #[test]
    fn submergence_by_hand() {
        // D 0.1 m, V 1 m/s: Fr = 1/√(9.80665 × 0.1) = 1.00982; S = 0.1 (1 + 2.3226) = 0.33226 m.
        assert!((super::submergence(0.1, 1.0) - 0.332_258).abs() < 1e-5);
    }
}
