//! The tank as a whole: turnover, and waves that the sequence could feed.

use super::limits::SLOSH_NEAR;
use super::site::Site;
use crate::finding::{Finding, Grade};
use crate::layout::Motion;
use crate::water::GRAVITY;
use std::f64::consts::PI;

pub fn check(site: &Site) -> Vec<Finding> {
    let mut findings: Vec<Finding> = turnover(site).into_iter().collect();
    findings.extend(slosh(site));
    findings
}

fn turnover(site: &Site) -> Option<Finding> {
    let tank = &site.layout.tank;
    let volume = tank.length.si() * tank.width.si() * tank.water_level.si();
    let total = site.schedule.range(|d| d.nozzles.iter().map(|n| n.flow).sum()).mean;
    if !(total > 0.0 && volume > 0.0) {
        return None;
    }
    let per_hour = |flow: f64| format!("{:.1}", flow * 3600.0 / volume);
    let loops = site.layout.circuits.iter().map(|circuit| {
        let pumps = site.pumps_of(circuit);
        let flow = site.schedule.range(|d| pumps.iter().map(|&p| d.pumps[p].flow).sum()).mean;
        format!("{} {}", circuit.id, per_hour(flow))
    });
    let loops = loops.collect::<Vec<_>>().join(", ");
    let of_which = if loops.is_empty() { loops } else { format!(" ({loops})") };
    let what = format!("the tank's {} pass the nozzles {} times an hour{of_which}", site.volume(volume), per_hour(total));
    Some(Finding::new(
        Grade::Note,
        "turnover",
        "",
        what,
        "mean nozzle flow over length × width × water level; rock not taken off",
        "nothing to mend",
    ))
}

/// Period of the first sloshing mode along a side, s: T = 2π/√(g k tanh kh), k = π/L (linear wave theory).
pub fn slosh_period(length: f64, depth: f64) -> f64 {
    let k = PI / length;
    2.0 * PI / (GRAVITY * k * (k * depth).tanh()).sqrt()
}

fn slosh(site: &Site) -> Vec<Finding> {
    let tank = &site.layout.tank;
    let modes = [("length", tank.length.si()), ("width", tank.width.si())].map(|(side, l)| (side, slosh_period(l, tank.water_level.si())));
    let near = |drum: &str, period: f64| {
        let (side, own) = modes.iter().copied().find(|(_, own)| (period / own - 1.0).abs() < SLOSH_NEAR)?;
        let what = format!("it switches every {period:.2} s; the water rocks along the tank's {side} in {own:.2} s");
        let why = format!(
            "a push in step with the tank's own wave builds it up until it spills; keep {:.0} % away (linear wave theory)",
            100.0 * SLOSH_NEAR
        );
        Some(Finding::new(Grade::Caution, "sloshing", format!("drums/{drum}"), what, why, "a longer or shorter switching period"))
    };
    switching(site).into_iter().filter_map(|(drum, period)| near(drum, period)).collect()
}

/// Times after which each moving unit pushes somewhere else, s.
fn switching<'a>(site: &Site<'a>) -> Vec<(&'a str, f64)> {
    let Some(sequence) = site.layout.active_sequence() else { return Vec::new() };
    let mut found = Vec::new();
    for drive in &sequence.drives {
        let Some(unit) = site.layout.drums.iter().find(|d| d.id == drive.drum) else { continue };
        match &drive.motion {
            Motion::Turning { period } => found.push((drive.drum.as_str(), period.si() / f64::from(unit.outlets.max(1)))),
            Motion::Steps(steps) => {
                let whole: f64 = steps.iter().map(|s| s.dwell.si() + s.change_over.si()).sum();
                found.extend([whole, whole / steps.len().max(1) as f64].map(|p| (drive.drum.as_str(), p)));
            }
            Motion::Held { .. } => {}
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::slosh_period;

    #[test]
    fn first_modes() {
        // Reference 6.24: linear wave theory, computed there to 3 decimals.
        for (length, depth, period) in [(1.2, 0.6, 1.295), (1.8, 0.6, 1.719), (2.4, 0.7, 2.061), (3.0, 0.8, 2.370)] {
            assert!((slosh_period(length, depth) - period).abs() < 0.0006, "{length}: {}", slosh_period(length, depth));
        }
    }
}
