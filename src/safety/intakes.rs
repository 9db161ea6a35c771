//! Intakes: screens, one of two blocked, single suctions.

use super::limits::UNBLOCKABLE;
use super::site::Site;
use crate::finding::{Finding, Grade};
use crate::layout::what_if::{Change, WhatIf, apply};
use crate::layout::{Circuit, Face, Intake};
use crate::setup::plumbing::{Plumbing, circle};
use crate::water::GRAVITY;

const WHY_SCREEN: &str = "slow and sleeping animals are pinned to a screen that draws harder";

pub fn check(site: &Site) -> Vec<Finding> {
    let mut findings: Vec<Finding> = (0..site.layout.intakes.len()).flat_map(|i| one(site, i)).collect();
    findings.extend(site.layout.circuits.iter().flat_map(|c| suction(site, c)));
    findings
}

pub fn part(intake: &Intake) -> String {
    format!("intakes/{}", intake.id)
}

pub fn place(site: &Site, intake: &Intake) -> [f64; 3] {
    intake.mount.centre(site.layout.tank.size()).to_array()
}

fn one(site: &Site, number: usize) -> Vec<Finding> {
    let intake = &site.layout.intakes[number];
    let most = site.schedule.range(|d| d.intakes[number]).max;
    if most < 1e-7 {
        return Vec::new();
    }
    screen(site, intake, most).into_iter().map(|f| f.at(place(site, intake))).collect()
}

/// Open and whole area of a screen, m²; `None` without one.
pub fn areas(intake: &Intake) -> Option<(f64, f64)> {
    let screen = intake.screen.as_ref()?;
    Some((screen.free_area(), screen.free_face()))
}

fn screen(site: &Site, intake: &Intake, most: f64) -> Option<Finding> {
    let (through_limit, approach_limit) = (site.limits.screen_through, site.limits.screen_approach);
    let Some((open, face)) = areas(intake) else {
        let speed = site.speed(most / circle(intake.bore.si()));
        let what = format!("no screen: an open pipe end draws {} at {speed}", site.flow(most));
        let mend = format!("put a screen over it with at least {} of open area", site.area(most / through_limit.value));
        return Some(Finding::new(Grade::Fault, "unscreened-intake", part(intake), what, WHY_SCREEN, mend));
    };
    let (through, approach) = (most / open, most / face);
    if through > through_limit.value {
        let what = format!("water goes through the open part of its screen at {}, {} at most", site.speed(through), site.flow(most));
        let why = format!("{WHY_SCREEN}; limit {} ({})", site.speed(through_limit.value), through_limit.source);
        return Some(Finding::new(Grade::Fault, "screen-speed", part(intake), what, why, bigger(site, open, most)));
    }
    // Equal to the two digits shown is equal.
    (approach > 1.02 * approach_limit.value).then(|| {
        let what = format!("water comes up to its screen at {}", site.speed(approach));
        let why = format!("guidance over the whole face is {} ({})", site.speed(approach_limit.value), approach_limit.source);
        let mend = format!("a face of {} would do; it has {}", site.area(most / approach_limit.value), site.area(face));
        Finding::new(Grade::Caution, "screen-approach", part(intake), what, why, mend)
    })
}

fn bigger(site: &Site, open: f64, most: f64) -> String {
    let needed = site.area(most / site.limits.screen_through.value);
    format!("it has {} of open area and needs {needed}: a larger screen, or a second intake", site.area(open))
}

/// What the suction side of a circuit does when one of its intakes is covered.
fn suction(site: &Site, circuit: &Circuit) -> Vec<Finding> {
    let intakes = site.intakes_of(circuit);
    let drawing = intakes.iter().any(|&i| site.schedule.range(|d| d.intakes[i]).max > 1e-7);
    match intakes.as_slice() {
        _ if !drawing => Vec::new(),
        [only] => single(site, circuit, &site.layout.intakes[*only]).into_iter().collect(),
        several => one_blocked(site, circuit, several).into_iter().collect(),
    }
}

fn single(site: &Site, circuit: &Circuit, intake: &Intake) -> Option<Finding> {
    if intake.screen.as_ref().is_some_and(|s| unblockable(&s.face)) {
        return None;
    }
    // A pump can't pull harder than the air pushes.
    let shut_off =
        |i: &usize| site.layout.pumps[*i].curve.first().map_or(0.0, |p| p.head.si() * site.layout.pumps[*i].speed.powi(2)).min(10.0);
    let pull = site.pumps_of(circuit).iter().map(shut_off).fold(0.0, f64::max) * site.water.density * GRAVITY;
    let area = areas(intake).map_or(circle(intake.bore.si()), |(_, face)| face);
    let what = format!("it is the only way for water into circuit {}", circuit.id);
    let why = format!(
        "what covers it is held with the pump's whole pull, up to {} on this face, and the circuit stops; two intakes, or one that can't be covered, are the rule (ANSI/APSP-7 and -16, for people; it serves animals too)",
        site.force(pull * area)
    );
    let mend = "join a second intake by a tee, at least 3 ft (0.9 m) away or in another panel";
    Some(Finding::new(Grade::Fault, "single-suction", part(intake), what, why, mend).at(place(site, intake)))
}

fn unblockable(face: &Face) -> bool {
    match face {
        Face::Round(diameter) => diameter.si() > UNBLOCKABLE.1,
        Face::Rectangle(a, b) => a.si().min(b.si()) > UNBLOCKABLE.0 && a.si().max(b.si()) > UNBLOCKABLE.1,
    }
}

/// The worst screen speed at another intake while one is covered, at the position with the most flow.
fn one_blocked(site: &Site, circuit: &Circuit, intakes: &[usize]) -> Option<Finding> {
    let drawn = |d: &crate::setup::plumbing::Duty| intakes.iter().map(|&i| d.intakes[i]).sum::<f64>();
    let hardest =
        (0..site.schedule.duties.len()).max_by(|a, b| drawn(&site.schedule.duties[*a]).total_cmp(&drawn(&site.schedule.duties[*b])))?;
    let worst = intakes.iter().filter_map(|&blocked| {
        let flows = with_blocked(site, blocked, hardest)?;
        let others = intakes.iter().filter(move |i| **i != blocked);
        let speed = |i: usize| areas(&site.layout.intakes[i]).map(|(open, _)| flows[i] / open);
        others.filter_map(|&i| Some((speed(i)?, i, blocked, flows[i]))).max_by(|a, b| a.0.total_cmp(&b.0))
    });
    let (speed, left, blocked, flow) = worst.max_by(|a, b| a.0.total_cmp(&b.0))?;
    let limit = site.limits.screen_through;
    (speed > limit.value).then(|| {
        let (left, blocked) = (&site.layout.intakes[left], &site.layout.intakes[blocked]);
        let what =
            format!("with {} covered, {} goes through the screen of {} at {}", blocked.id, site.flow(flow), left.id, site.speed(speed));
        let why = format!("one covered screen makes the other take all; limit {} ({})", site.speed(limit.value), limit.source);
        let mend = format!("each screen alone needs {} of open area: larger screens, or a third intake", site.area(flow / limit.value));
        let grade = if speed > 2.0 * limit.value { Grade::Fault } else { Grade::Caution };
        Finding::new(grade, "screen-speed-one-blocked", format!("circuits/{}", circuit.id), what, why, mend).at(place(site, left))
    })
}

fn with_blocked(site: &Site, blocked: usize, position: usize) -> Option<Vec<f64>> {
    let change = Change::ScreenBlocked { intake: site.layout.intakes[blocked].id.clone(), share: 1.0 };
    let changed = apply(site.layout, &WhatIf { id: String::new(), changes: vec![change] });
    let mut plumbing = Plumbing::new(&changed, site.catalog).ok()?;
    let duty = plumbing.solve(&site.schedule.open[position]);
    duty.report.converged.then_some(duty.intakes)
}
