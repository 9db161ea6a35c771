//! Intakes: screens, one of two blocked, single suctions, air drawn in.

use super::limits::{SCREEN_APPROACH, SCREEN_THROUGH, SCREEN_THROUGH_SOURCE, UNBLOCKABLE};
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

fn part(intake: &Intake) -> String {
    format!("intakes/{}", intake.id)
}

fn place(site: &Site, intake: &Intake) -> [f64; 3] {
    intake.mount.centre(site.layout.tank.size()).to_array()
}

fn one(site: &Site, number: usize) -> Vec<Finding> {
    let intake = &site.layout.intakes[number];
    let most = site.schedule.range(|d| d.intakes[number]).max;
    if most < 1e-7 {
        return Vec::new();
    }
    [screen(site, intake, most), air(site, intake, most)].into_iter().flatten().map(|f| f.at(place(site, intake))).collect()
}

/// Open and whole area of a screen, m²; `None` without one.
fn areas(intake: &Intake) -> Option<(f64, f64)> {
    let screen = intake.screen.as_ref()?;
    Some((screen.free_area(), screen.free_face()))
}

fn screen(site: &Site, intake: &Intake, most: f64) -> Option<Finding> {
    let Some((open, face)) = areas(intake) else {
        let speed = site.speed(most / circle(intake.bore.si()));
        let what = format!("no screen: an open pipe end draws {} at {speed}", site.flow(most));
        let mend = format!("put a screen over it with at least {} cm² of open area", centimetres(most / SCREEN_THROUGH));
        return Some(Finding::new(Grade::Fault, "unscreened-intake", part(intake), what, WHY_SCREEN, mend));
    };
    let (through, approach) = (most / open, most / face);
    if through > SCREEN_THROUGH {
        let what = format!("water goes through the open part of its screen at {}, {} at most", site.speed(through), site.flow(most));
        let why = format!("{WHY_SCREEN}; limit {} ({SCREEN_THROUGH_SOURCE})", site.speed(SCREEN_THROUGH));
        return Some(Finding::new(Grade::Fault, "screen-speed", part(intake), what, why, bigger(open, most)));
    }
    // Equal to the two digits shown is equal.
    (approach > 1.02 * SCREEN_APPROACH).then(|| {
        let what = format!("water comes up to its screen at {}", site.speed(approach));
        let why = format!(
            "guidance for screens that are not cleaned while they run is {} over the whole face (NMFS pump-intake criteria)",
            site.speed(SCREEN_APPROACH)
        );
        let mend = format!("a face of {} cm² would do; it has {}", centimetres(most / SCREEN_APPROACH), centimetres(face));
        Finding::new(Grade::Caution, "screen-approach", part(intake), what, why, mend)
    })
}

fn bigger(open: f64, most: f64) -> String {
    format!(
        "it has {} cm² of open area and needs {}: a larger screen, or a second intake",
        centimetres(open),
        centimetres(most / SCREEN_THROUGH)
    )
}

fn centimetres(area: f64) -> String {
    format!("{:.0}", area * 1e4)
}

/// Least depth of water over an inlet that keeps air out: S = D (1 + 2.3 Fr), Fr = V/√(gD) (ANSI/HI 9.8).
pub fn submergence(diameter: f64, velocity: f64) -> f64 {
    diameter * (1.0 + 2.3 * velocity / (GRAVITY * diameter).sqrt())
}

fn air(site: &Site, intake: &Intake, most: f64) -> Option<Finding> {
    let area = areas(intake).map_or(circle(intake.bore.si()), |(_, face)| face);
    let diameter = (area / std::f64::consts::FRAC_PI_4).sqrt();
    let needed = submergence(diameter, most / area);
    let depth = site.layout.tank.water_level.si() - intake.mount.centre(site.layout.tank.size()).z;
    let dry = depth < 0.5 * intake.bore.si();
    (depth < needed).then(|| {
        let what = format!("its middle lies {} under the surface and needs {}", site.length(depth), site.length(needed));
        let why = "a shallower inlet draws air through a vortex: S = D (1 + 2.3 Fr), D of its screen's area (ANSI/HI 9.8)";
        let mend = "set it deeper, or give it a larger screen";
        let grade = if dry { Grade::Fault } else { Grade::Caution };
        Finding::new(grade, if dry { "intake-uncovered" } else { "intake-vortex" }, part(intake), what, why, mend)
    })
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
    (speed > SCREEN_THROUGH).then(|| {
        let (left, blocked) = (&site.layout.intakes[left], &site.layout.intakes[blocked]);
        let what = format!("with {} covered, water goes through the screen of {} at {}", blocked.id, left.id, site.speed(speed));
        let why = format!(
            "one covered screen makes the other take {}; limit {} ({SCREEN_THROUGH_SOURCE})",
            site.flow(flow),
            site.speed(SCREEN_THROUGH)
        );
        let mend =
            format!("each screen alone needs {} cm² of open area: larger screens, or a third intake", centimetres(flow / SCREEN_THROUGH));
        let grade = if speed > 2.0 * SCREEN_THROUGH { Grade::Fault } else { Grade::Caution };
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

#[cfg(test)]
mod tests {
    #[test]
    fn submergence_by_hand() {
        // D 0.1 m, V 1 m/s: Fr = 1/√(9.80665 × 0.1) = 1.00982; S = 0.1 (1 + 2.3226) = 0.33226 m.
        assert!((super::submergence(0.1, 1.0) - 0.332_258).abs() < 1e-5);
    }
}
