//! What runs back into the sump when the power fails.

use super::overflow::surface_height;
use super::site::Site;
use crate::catalog::Catalog;
use crate::finding::{Finding, Grade};
use crate::layout::{CheckState, Circuit, CircuitKind, End, Layout, Nozzle, Run};
use crate::setup::Schedule;
use crate::setup::plumbing::{circle, is_check_valve};
use crate::setup::schedule::surplus;

/// A return nozzle as a way back for the water.
struct Way<'a> {
    nozzle: &'a Nozzle,
    /// Height at which air gets in and the siphon breaks, m.
    breaks_at: f64,
    has_check_valve: bool,
}

/// What the findings and the sheets go by.
struct Estimate<'a> {
    ways: Vec<Way<'a>>,
    /// Surface while the pumps run, m.
    level: f64,
    /// Water in return pipes and drains, m³.
    inventory: f64,
    drain: BackDrain,
    /// Room in the sump, m³.
    room: f64,
}

/// `None` without a sump or a return nozzle.
fn estimate<'a>(site: &Site<'a>) -> Option<Estimate<'a>> {
    let room = site.layout.sump.as_ref()?.free_volume.si();
    let ways = ways(site);
    if ways.is_empty() {
        return None;
    }
    let (level, inventory) = (running_level(site), inventory(site));
    let lowest = |ways: &mut dyn Iterator<Item = &Way>| ways.map(|w| w.breaks_at).fold(level, f64::min);
    let (held, failed) = (lowest(&mut ways.iter().filter(|w| !w.has_check_valve)), lowest(&mut ways.iter()));
    let volume = |siphon_break: f64| back_drain(site, level, siphon_break, inventory);
    let drain = BackDrain { held: volume(held), failed: volume(failed) };
    Some(Estimate { ways, level, inventory, drain, room })
}

pub fn check(site: &Site) -> Vec<Finding> {
    let Some(Estimate { ways, level, inventory, drain, room }) = estimate(site) else { return Vec::new() };
    let (volume, worst) = (drain.held, drain.failed);
    let how = format!(
        "tank area × fall of the surface + {} in return pipes and drains; rock and the box's own water not counted{}",
        site.volume(inventory),
        each(site, &ways, level, inventory)
    );
    let deepest = ways.iter().min_by(|a, b| a.breaks_at.total_cmp(&b.breaks_at)).map_or("", |w| &w.nozzle.id);
    let report = |grade, rule, what: String, why: String, mend: &str| vec![Finding::new(grade, rule, "sump", what, why, mend)];
    if volume > room {
        let what = format!("{} run back when the pump stops; the sump has room for {}", site.volume(volume), site.volume(room));
        let mend = format!("raise {deepest} to just under the surface or drill a siphon break there, or a larger sump");
        return report(Grade::Fault, "back-drain", what, format!("the floor gets the rest ({how})"), &mend);
    }
    if worst > room {
        let what = format!(
            "{} run back when the pump stops and a check valve stays open, down to {deepest}; the sump has room for {}",
            site.volume(worst),
            site.volume(room)
        );
        let why = format!("check valves do fail: held, it is {} ({how})", site.volume(volume));
        let mend =
            format!("raise {deepest} to just under the surface or drill a siphon break there, or a larger sump; don't rely on the valve");
        return report(Grade::Fault, "back-drain-check-valve", what, why, &mend);
    }
    let what = format!(
        "{} run back when the pump stops, {} with check valves stuck open; the sump has room for {}",
        site.volume(volume),
        site.volume(worst),
        site.volume(room)
    );
    if worst > site.limits.sump_share.value * room {
        return report(
            Grade::Caution,
            "back-drain",
            what,
            format!("more than {:.0} % of the room ({}; {how})", 100.0 * site.limits.sump_share.value, site.limits.sump_share.source),
            "a little more room in the sump, or a higher return",
        );
    }
    report(Grade::Note, "back-drain", what, how, "nothing to mend")
}

/// What runs back into the sump when all pumps stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BackDrain {
    /// With every check valve holding, m³.
    pub held: f64,
    /// With every check valve stuck open, m³.
    pub failed: f64,
}

/// What runs back when all pumps stop; `None` without a sump or a return nozzle.
pub fn back_drain_volumes(layout: &Layout, catalog: &Catalog, schedule: &Schedule) -> Option<BackDrain> {
    estimate(&Site::new(layout, catalog, schedule)).map(|estimate| estimate.drain)
}

/// What each return behind a check valve lets back if its valve alone fails, where there are several.
fn each(site: &Site, ways: &[Way], level: f64, inventory: f64) -> String {
    let guarded: Vec<_> = ways.iter().filter(|w| w.has_check_valve).collect();
    let open = ways.iter().filter(|w| !w.has_check_valve).map(|w| w.breaks_at).fold(level, f64::min);
    let one = |w: &&Way| format!("{} {}", w.nozzle.id, site.volume(back_drain(site, level, open.min(w.breaks_at), inventory)));
    if guarded.len() < 2 {
        return String::new();
    }
    format!("; with one valve failed: {}", guarded.iter().map(one).collect::<Vec<_>>().join(", "))
}

/// Surface while the pumps run, m: the layout's, or the computed one where that is higher.
fn running_level(site: &Site) -> f64 {
    let computed = surface_height(site, site.schedule.range(surplus).max);
    let stated = site.layout.tank.water_level.si();
    if computed.is_finite() { stated.max(computed) } else { stated }
}

/// Volume that runs back when the surface falls from `level` to the crest, or on to `siphon_break` where that is lower, m³.
fn back_drain(site: &Site, level: f64, siphon_break: f64, inventory: f64) -> f64 {
    let crest = site.layout.overflows.iter().map(|o| o.crest.si()).fold(level, f64::min);
    let area = site.layout.tank.length.si() * site.layout.tank.width.si();
    area * (level - crest.min(siphon_break)).max(0.0) + inventory
}

/// Water in return pipes and drains, m³.
fn inventory(site: &Site) -> f64 {
    let runs = returns(site).flat_map(|c| c.suction.iter().chain(&c.discharge)).map(|r| circle(site.bore(r)) * r.length.si());
    let drains = site.layout.overflows.iter().flat_map(|o| &o.drains);
    runs.sum::<f64>() + drains.map(|d| circle(site.pipe_bore(&d.pipe)) * d.length.si()).sum::<f64>()
}

fn returns<'a>(site: &Site<'a>) -> impl Iterator<Item = &'a Circuit> {
    site.layout.circuits.iter().filter(|c| c.kind == CircuitKind::Return)
}

fn ways<'a>(site: &Site<'a>) -> Vec<Way<'a>> {
    let nozzles = &site.layout.nozzles;
    let runs = returns(site).flat_map(|c| c.discharge.iter().map(move |r| (c, r)));
    let way = |(circuit, run): (&'a Circuit, &'a Run)| {
        let End::Nozzle(id) = &run.to else { return None };
        let nozzle = nozzles.iter().find(|n| n.id == *id)?;
        let top = nozzle.mount.centre(site.layout.tank.size()).z + 0.5 * nozzle.bore.si();
        Some(Way { nozzle, breaks_at: top, has_check_valve: guarded(circuit, run) })
    };
    runs.filter_map(way).collect()
}

/// Whether a check valve sits anywhere between the pump and the end of this run.
fn guarded(circuit: &Circuit, run: &Run) -> bool {
    let mut run = run;
    for _ in 0..=circuit.discharge.len() {
        if run.fittings.iter().any(|fitting| is_check_valve(fitting) && fitting.check == CheckState::Holds) {
            return true;
        }
        let Some(before) = circuit.discharge.iter().find(|r| r.to == run.from) else { return false };
        run = before;
    }
    false
}
