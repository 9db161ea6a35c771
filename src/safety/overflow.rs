//! Overflows and drains: how high the surface stands, and whether the drains carry the return flow with the best of them blocked.

use super::limits::LEVEL_DIFFERENCE;
use super::site::Site;
use crate::finding::{Finding, Grade};
use crate::hydraulics::weir::{francis, rehbock};
use crate::hydraulics::{Fluid, STACK_SHARE, full_drain, open_stack};
use crate::layout::{Drain, DrainKind};
use crate::setup::schedule::surplus;

pub fn check(site: &Site) -> Vec<Finding> {
    let flow = site.schedule.range(surplus);
    let mut findings = Vec::new();
    if flow.min < -1e-6 {
        let what = format!("intakes take {} more out of the tank than nozzles bring in", site.flow(-flow.min));
        let why = "the level falls until an intake draws air";
        findings.push(Finding::new(
            Grade::Fault,
            "level-falls",
            "",
            what,
            why,
            "give back what is taken: check fixed supplies, and that every circuit ends in the tank",
        ));
    }
    if flow.max < 1e-6 {
        return findings;
    }
    if site.layout.overflows.is_empty() {
        let what = format!("{} comes into the tank and has no overflow to leave by", site.flow(flow.max));
        findings.push(Finding::new(Grade::Fault, "no-overflow", "", what, "the tank runs over", "add an overflow box with drains"));
        return findings;
    }
    findings.extend(surface(site, flow.max));
    findings.extend(drains(site, flow.max));
    findings
}

/// Height of the surface over the tank's floor at which all lips together carry this flow, m.
pub fn surface_height(site: &Site, flow: f64) -> f64 {
    let lips: Vec<(f64, f64)> = site.layout.overflows.iter().map(|o| (o.crest.si(), o.lip.si() * o.open)).collect();
    let carried = |z: f64| lips.iter().map(|(crest, lip)| rehbock(*lip, *crest, z - crest)).sum::<f64>();
    let lowest = lips.iter().map(|l| l.0).fold(f64::INFINITY, f64::min);
    let (mut low, mut high) = (lowest, lowest + 1.0);
    if !lowest.is_finite() || flow.is_nan() || carried(high) < flow {
        return f64::INFINITY;
    }
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if carried(middle) < flow { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

fn surface(site: &Site, flow: f64) -> Vec<Finding> {
    let z = surface_height(site, flow);
    let lowest = site.layout.overflows.iter().map(|o| o.crest.si()).fold(f64::INFINITY, f64::min);
    let lip: f64 = site.layout.overflows.iter().map(|o| o.lip.si() * o.open).sum();
    let head = z - lowest;
    let plain = (flow / francis(lip, 1.0)).powf(2.0 / 3.0);
    let law = format!("Rehbock 1929 over {} of open lip; the plain Francis formula gives {}", site.length(lip), site.length(plain));
    let (freeboard, weir_head) = (site.limits.freeboard, site.limits.weir_head);
    let (level, rim) = (site.layout.tank.water_level.si(), site.layout.tank.height.si());
    let finding = |grade, rule, what: String, why: String, mend: String| Finding::new(grade, rule, "overflows", what, why, mend);
    let mut findings = Vec::new();
    if z > rim - freeboard.value {
        let what = format!("{} over the lip puts the surface {} under the rim", site.length(head), site.length(rim - z));
        let why = format!("a wave spills; {} is the least ({law}; {})", site.length(freeboard.value), freeboard.source);
        findings.push(finding(Grade::Fault, "freeboard", what, why, "a longer lip, a lower crest, or less return flow".into()));
    } else if head > weir_head.value {
        let what = format!("{} of water stand over the lip at {}", site.length(head), site.flow(flow));
        let why = format!("above {} teeth drown and the box roars ({law}; {})", site.length(weir_head.value), weir_head.source);
        findings.push(finding(Grade::Caution, "weir-head", what, why, "a longer lip, or less return flow".into()));
    }
    if (z - level).abs() > LEVEL_DIFFERENCE {
        let what = format!("the surface will stand at {}, not at {} as the layout says", site.length(z), site.length(level));
        let why = format!(
            "{} goes over the lip with {} of head ({law}); teeth and rounded edges add 10 to 20 %",
            site.flow(flow),
            site.length(head)
        );
        findings.push(finding(
            Grade::Caution,
            "water-level",
            what,
            why,
            format!("set the water level to {}, or move the crest", site.length(z)),
        ));
    }
    findings
}

/// Most that a drain carries, m³/s: full pipe, or for an open or emergency drain a film round a core of air.
pub fn capacity(site: &Site, drain: &Drain) -> f64 {
    let bore = site.pipe_bore(&drain.pipe);
    let roughness = site.layout.pipes.roughness.grain(site.catalog.pipe(&drain.pipe).and_then(|p| p.roughness_m));
    let fluid = Fluid { density: site.water.density, kinematic_viscosity: site.water.kinematic_viscosity() };
    match drain.kind {
        DrainKind::FullSiphon if bore > 0.0 => full_drain(bore, drain.drop.si(), drain.length.si(), roughness, &fluid),
        _ => open_stack(bore, STACK_SHARE),
    }
}

fn drains(site: &Site, flow: f64) -> Vec<Finding> {
    let all: Vec<&Drain> = site.layout.overflows.iter().flat_map(|o| &o.drains).collect();
    let each: Vec<f64> = all.iter().map(|d| capacity(site, d)).collect();
    let total: f64 = each.iter().sum();
    let usual: f64 = all.iter().zip(&each).filter(|(d, _)| d.kind != DrainKind::Emergency).map(|(_, q)| q).sum();
    let law = "full pipe by the energy equation; open and emergency drains 7/24 full (Wyly and Eaton 1961, good to 20 %)";
    let report = |grade, rule, what: String, why: String, mend: &str| Finding::new(grade, rule, "overflows", what, why, mend);
    let Some((best, most)) = each.iter().copied().enumerate().max_by(|a, b| a.1.total_cmp(&b.1)) else {
        let what = "no overflow has a drain that works".into();
        return vec![report(Grade::Fault, "drain-capacity", what, "the box fills and the tank runs over".into(), "at least two drains")];
    };
    let (name, left) = (&all[best].id, total - most);
    let (comes, carried) = (site.flow(flow), site.flow(left));
    let mut findings = Vec::new();
    if total < flow {
        let what = format!("all drains together carry {} of the {comes} that comes", site.flow(total));
        findings.push(report(
            Grade::Fault,
            "drain-capacity",
            what,
            format!("the tank runs over ({law})"),
            "larger drains, or less return flow",
        ));
    } else if usual < flow {
        let what = format!("without the emergency drain only {} of {comes} is carried", site.flow(usual));
        findings.push(report(
            Grade::Caution,
            "drain-capacity",
            what,
            format!("the emergency drain runs all the time ({law})"),
            "larger drains, or less return flow",
        ));
    }
    if left < flow {
        let what = format!("with {name} blocked the other drains carry {carried} of the {comes} that comes");
        let why = format!("a snail is enough to block a drain, and then the room floods ({law})");
        findings.push(report(
            Grade::Fault,
            "drain-blocked",
            what,
            why,
            "a second drain of the same size, a larger emergency drain, or less return flow",
        ));
    }
    if findings.is_empty() {
        let what = format!("drains carry {}; {carried} with {name} blocked; {comes} comes", site.flow(total));
        findings.push(report(Grade::Note, "drain-capacity", what, law.into(), "nothing to mend"));
    }
    findings
}
