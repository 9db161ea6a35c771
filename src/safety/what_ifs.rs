//! What-ifs: each changed layout solved, checked and held against the design as drawn.

use super::check;
use crate::catalog::Catalog;
use crate::finding::{Finding, Grade, worst};
use crate::layout::what_if::{Change, WhatIf, apply, unknown_part};
use crate::layout::{Circuit, DrainKind, End, Layout};
use crate::setup::Schedule;
use crate::setup::plumbing::is_check_valve;
use serde::{Deserialize, Serialize};

/// One line of the comparison: what changes, and what it does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WhatIfResult {
    /// Of the what-if.
    pub id: String,
    /// Grade of the worst new or worse finding.
    pub worst: Option<Grade>,
    /// Mean flow through all nozzles, m³/s.
    pub nozzle_flow_m3_s: f64,
    /// The same with nothing changed, m³/s.
    pub base_nozzle_flow_m3_s: f64,
    /// Most of any screen's speed through its open area, m/s.
    pub screen_speed_m_s: f64,
    /// The same with nothing changed, m/s.
    pub base_screen_speed_m_s: f64,
    /// Least flow of any pump that runs, m³/s; 0 when none does.
    pub least_pump_flow_m3_s: f64,
    /// Findings that the base doesn't have, or has at a lower grade.
    pub findings: Vec<Finding>,
}

/// A layout, solved and checked.
struct Checked {
    findings: Vec<Finding>,
    nozzle_flow: f64,
    screen_speed: f64,
    least_pump_flow: f64,
    /// Mean flow of each nozzle.
    nozzles: Vec<f64>,
}

/// Share of its usual flow under which a nozzle counts as without water.
const STARVED: f64 = 0.1;

/// The layout's own what-ifs and every single failure, worst first. Of a drum's stalls the worst place alone is kept.
pub fn what_ifs(layout: &Layout, catalog: &Catalog) -> Vec<WhatIfResult> {
    let base = solve(layout, catalog);
    let mut results: Vec<WhatIfResult> = layout.what_ifs.iter().map(|w| compare(layout, catalog, &base, w)).collect();
    let mut stalls: Vec<(String, WhatIfResult)> = Vec::new();
    for failure in single_failures(layout) {
        let result = compare(layout, catalog, &base, &failure);
        match stalled_drum(&failure) {
            Some(drum) => stalls.push((drum.to_owned(), result)),
            None => results.push(result),
        }
    }
    results.extend(layout.drums.iter().filter_map(|drum| worst_stall(&drum.id, &stalls)));
    results.sort_by(|a, b| badness(b).partial_cmp(&badness(a)).unwrap_or(std::cmp::Ordering::Equal));
    results
}

fn stalled_drum(failure: &WhatIf) -> Option<&str> {
    failure.changes.iter().find_map(|change| match change {
        Change::DrumStalled { drum, .. } => Some(drum.as_str()),
        _ => None,
    })
}

fn worst_stall(drum: &str, stalls: &[(String, WhatIfResult)]) -> Option<WhatIfResult> {
    let own: Vec<&WhatIfResult> = stalls.iter().filter(|(of, _)| of == drum).map(|(_, result)| result).collect();
    own.iter().copied().reduce(|a, b| if badness(b) > badness(a) { b } else { a }).cloned()
}

/// For sorting: the grade, then how much flow is lost.
fn badness(result: &WhatIfResult) -> (Option<Grade>, f64) {
    (result.worst, result.base_nozzle_flow_m3_s - result.nozzle_flow_m3_s)
}

/// One what-if against the base.
pub fn what_if(layout: &Layout, catalog: &Catalog, what_if: &WhatIf) -> WhatIfResult {
    compare(layout, catalog, &solve(layout, catalog), what_if)
}

fn compare(layout: &Layout, catalog: &Catalog, base: &Checked, what_if: &WhatIf) -> WhatIfResult {
    let changed = solve(&apply(layout, what_if), catalog);
    let mut findings: Vec<Finding> = what_if.changes.iter().filter_map(|c| unknown(layout, what_if, c)).collect();
    findings.extend(starved(layout, base, &changed));
    findings.extend(changed.findings.into_iter().filter(|f| f.grade > Grade::Note && is_new(f, &base.findings)));
    findings.sort_by_key(|f| std::cmp::Reverse(f.grade));
    WhatIfResult {
        id: what_if.id.clone(),
        worst: worst(&findings),
        nozzle_flow_m3_s: changed.nozzle_flow,
        base_nozzle_flow_m3_s: base.nozzle_flow,
        screen_speed_m_s: changed.screen_speed,
        base_screen_speed_m_s: base.screen_speed,
        least_pump_flow_m3_s: changed.least_pump_flow,
        findings,
    }
}

/// Nozzles that have water in the base and next to none now.
fn starved(layout: &Layout, base: &Checked, changed: &Checked) -> Option<Finding> {
    let lost = |(was, is): (&f64, &f64)| *was > 0.0 && *is < STARVED * was;
    let flows = base.nozzles.iter().zip(&changed.nozzles);
    let names: Vec<&str> = layout.nozzles.iter().zip(flows).filter(|(_, f)| lost(*f)).map(|(n, _)| n.id.as_str()).collect();
    (!names.is_empty()).then(|| {
        let what = format!("no water to speak of comes from {}", names.join(", "));
        let why = format!("under {:.0} % of their mean flow: the water that they move stands still while this lasts", 100.0 * STARVED);
        Finding::new(Grade::Caution, "nozzles-starved", "", what, why, "see that other nozzles reach there, or keep the spare part at hand")
    })
}

/// One failure is looked at; these rules look at one more.
fn is_second_failure(finding: &Finding) -> bool {
    matches!(finding.rule.as_str(), "screen-speed-one-blocked" | "drain-blocked" | "back-drain-check-valve")
}

fn is_new(finding: &Finding, base: &[Finding]) -> bool {
    !is_second_failure(finding) && !base.iter().any(|b| b.rule == finding.rule && b.part == finding.part && b.grade >= finding.grade)
}

fn unknown(layout: &Layout, what_if: &WhatIf, change: &Change) -> Option<Finding> {
    let id = unknown_part(layout, change)?;
    let what = format!("it changes `{id}`, which the layout doesn't have");
    Some(Finding::new(
        Grade::Caution,
        "what-if-part",
        format!("what_ifs/{}", what_if.id),
        what,
        "that change does nothing",
        "correct the name",
    ))
}

fn solve(layout: &Layout, catalog: &Catalog) -> Checked {
    let schedule = match Schedule::new(layout, catalog) {
        Ok(schedule) => schedule,
        Err(findings) => return Checked { findings, nozzle_flow: 0.0, screen_speed: 0.0, least_pump_flow: 0.0, nozzles: vec![] },
    };
    let mut findings = schedule.findings.clone();
    findings.extend(check(layout, catalog, &schedule));
    let least = (0..layout.pumps.len()).filter(|&p| layout.pumps[p].speed > 0.0).map(|p| schedule.range(|d| d.pumps[p].flow).min);
    Checked {
        findings,
        nozzle_flow: schedule.range(|d| d.nozzles.iter().map(|n| n.flow).sum()).mean,
        screen_speed: (0..layout.intakes.len()).filter_map(|i| screen_speed(layout, &schedule, i)).fold(0.0, f64::max),
        least_pump_flow: least.reduce(f64::min).unwrap_or(0.0),
        nozzles: (0..layout.nozzles.len()).map(|n| schedule.range(|d| d.nozzles[n].flow).mean).collect(),
    }
}

fn screen_speed(layout: &Layout, schedule: &Schedule, intake: usize) -> Option<f64> {
    let screen = layout.intakes[intake].screen.as_ref()?;
    let open = screen.free_area();
    (open > 0.0).then(|| schedule.range(|d| d.intakes[intake]).max / open)
}

/// Every single failure that the wet side can have: a pump off, a drum stalled (at eight places), a screen half and fully blocked, a
/// run's valve shut, a check valve failed, a drain blocked.
pub fn single_failures(layout: &Layout) -> Vec<WhatIf> {
    let mut all = Vec::new();
    let mut add = |id: String, change: Change| all.push(WhatIf { id, changes: vec![change] });
    for pump in &layout.pumps {
        add(format!("{} off", pump.id), Change::PumpSpeed { pump: pump.id.clone(), speed: 0.0 });
    }
    for drum in &layout.drums {
        for eighth in 0..8u32 {
            let change = Change::DrumStalled { drum: drum.id.clone(), turn: f64::from(eighth) / 8.0 };
            add(format!("{} stalled at {} deg", drum.id, 45 * eighth), change);
        }
    }
    for intake in &layout.intakes {
        for (words, share) in [("half blocked", 0.5), ("blocked", 1.0)] {
            add(format!("{} {words}", intake.id), Change::ScreenBlocked { intake: intake.id.clone(), share });
        }
    }
    for run in layout.circuits.iter().flat_map(|c: &Circuit| c.suction.iter().chain(&c.discharge)) {
        if run.fittings.iter().any(|f| f.part.to_lowercase().contains("valve") && !is_check_valve(f)) || matches!(run.from, End::Outlet(..))
        {
            add(format!("{} shut", run.id), Change::ValveShut { run: run.id.clone() });
        }
        if run.fittings.iter().any(is_check_valve) {
            add(format!("check valve of {} stuck open", run.id), Change::CheckValveFailed { run: run.id.clone() });
        }
    }
    for drain in layout.overflows.iter().flat_map(|o| &o.drains).filter(|d| d.kind != DrainKind::Emergency) {
        add(format!("{} blocked", drain.id), Change::DrainBlocked { drain: drain.id.clone() });
    }
    all
}
