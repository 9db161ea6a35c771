//! Pumps and drum units: where on their curves they work, never shut off, power, suction margin.

use super::limits::{LEAST_OPEN, LEAST_OPEN_FAULT, LEAST_PUMP_SHARE, MOST_EFFICIENCY};
use super::site::Site;
use crate::finding::{Finding, Grade};
use crate::hydraulics::Regime;
use crate::layout::{CircuitKind, Pump};
use crate::setup::plumbing::PumpDuty;
use crate::water::GRAVITY;

const ATMOSPHERE: f64 = 101_325.0;
const HOURS_A_YEAR: f64 = 8_766.0;

pub fn check(site: &Site) -> Vec<Finding> {
    let pumps = (0..site.layout.pumps.len()).flat_map(|i| {
        let pump = &site.layout.pumps[i];
        [shut_off(site, pump, i), run_out(site, pump, i), suction_margin(site, pump, i), energy(site, pump, i)].into_iter().flatten()
    });
    pumps.chain((0..site.layout.drums.len()).filter_map(|d| least_open(site, d))).collect()
}

fn part(pump: &Pump) -> String {
    format!("pumps/{}", pump.id)
}

fn duties<'a>(site: &'a Site, pump: usize) -> impl Iterator<Item = (f64, f64, &'a PumpDuty)> {
    let schedule = site.schedule;
    schedule.duties.iter().zip(&schedule.times).zip(schedule.weights()).map(move |((d, t), w)| (*t, w, &d.pumps[pump]))
}

fn shut_off(site: &Site, pump: &Pump, number: usize) -> Option<Finding> {
    let (time, _, least) = duties(site, number).min_by(|a, b| a.2.flow.total_cmp(&b.2.flow))?;
    let last = pump.curve.last()?.flow.si() * pump.speed;
    let at = format!("{} at {time:.1} s of the cycle, with {} of head", site.flow(least.flow), site.head(least.head));
    let report = |grade, rule, what: String, why: &str, mend: &str| Some(Finding::new(grade, rule, part(pump), what, why, mend));
    match least.regime {
        Regime::Stopped => None,
        Regime::Backwards => {
            let mend = "a check valve behind each pump, or pumps of equal head";
            report(
                Grade::Fault,
                "pump-backwards",
                format!("water is pushed backwards through it: {at}"),
                "another pump or the static head is stronger",
                mend,
            )
        }
        Regime::DeadHead => {
            let why = "a pump that moves no water boils what is in it and wears its seal";
            report(
                Grade::Fault,
                "dead-head",
                format!("it is shut off: {at}"),
                why,
                "leave at least one outlet open at every drum position, or add a bypass",
            )
        }
        _ if least.flow < LEAST_PUMP_SHARE * last => {
            let why = format!(
                "under {:.0} % of the end of its curve a pump shakes and heats (common practice, no source)",
                100.0 * LEAST_PUMP_SHARE
            );
            report(
                Grade::Caution,
                "near-dead-head",
                format!("it is nearly shut off: {at}"),
                &why,
                "keep more outlet area open, or add a bypass",
            )
        }
        _ => None,
    }
}

fn run_out(site: &Site, pump: &Pump, number: usize) -> Option<Finding> {
    let beyond: f64 = duties(site, number).filter(|d| d.2.regime == Regime::RunOut).map(|d| d.1).sum();
    (beyond > 0.0).then(|| {
        let most = site.schedule.range(|d| d.pumps[number].flow).max;
        let what = format!("up to {}, past the last point of its curve, {:.0} % of the time", site.flow(most), 100.0 * beyond);
        let why = "past its curve a pump overloads its motor and may cavitate; the flow there is an estimate";
        Finding::new(
            Grade::Caution,
            "run-out",
            part(pump),
            what,
            why,
            "add points to its curve if the maker gives them, throttle it, or slow it down",
        )
    })
}

fn suction_margin(site: &Site, pump: &Pump, number: usize) -> Option<Finding> {
    let required = pump.npsh_required.as_ref()?.si();
    let sump = site.layout.sump.as_ref().map_or(0.0, |s| s.level.si());
    let from_sump = site.layout.circuits.iter().any(|c| c.kind == CircuitKind::Return && site.pumps_of(c).contains(&number));
    let height = if from_sump { sump } else { 0.0 };
    let inlet = site.schedule.range(|d| d.pumps[number].inlet_head).min;
    let available = npsh_available(ATMOSPHERE, site.water.vapour_pressure, site.water.density, inlet - height);
    let margin = available - required;
    let what = format!("{} of suction head is left for the {} that it asks for", site.head(available), site.head(required));
    let why = format!(
        "NPSH = (air pressure - vapour pressure)/ρg + head at the inlet; the pump is taken to stand level with {}",
        if from_sump { "the sump's surface" } else { "the tank's floor" }
    );
    let grade = if margin < 0.0 {
        Grade::Fault
    } else if margin < 0.6 {
        Grade::Caution
    } else {
        return None;
    };
    Some(Finding::new(
        grade,
        "npsh",
        part(pump),
        what,
        why,
        "shorter and wider suction pipe, fewer fittings, a lower pump, cleaner screens",
    ))
}

/// Net positive suction head available, m, for absolute pressures in Pa and the head at the inlet over the pump's own height, m.
pub fn npsh_available(air: f64, vapour: f64, density: f64, inlet: f64) -> f64 {
    (air - vapour) / (density * GRAVITY) + inlet
}

fn energy(site: &Site, pump: &Pump, number: usize) -> Option<Finding> {
    let power = pump.power.as_ref()?.si() * pump.speed.powi(3);
    let water = site.schedule.range(|d| d.pumps[number].flow * d.pumps[number].head).mean * site.water.density * GRAVITY;
    if power <= 0.0 || water <= 0.0 {
        return None;
    }
    let share = water / power;
    let what = format!(
        "{water:.0} W reach the water of {power:.0} W drawn: {:.0} % wire to water, {:.0} kWh a year",
        100.0 * share,
        pump.power.as_ref()?.si() * pump.mean_cube_of_speed() * HOURS_A_YEAR / 1000.0
    );
    let why = "mean of ρ g Q H over the cycle; power by the cube of the speed (affinity laws), the year by the speed programme where there is one";
    Some(if share > MOST_EFFICIENCY {
        Finding::new(
            Grade::Caution,
            "pump-power",
            part(pump),
            what,
            "no small pump is that good: curve and power don't fit each other",
            "check both with the maker",
        )
    } else {
        Finding::new(Grade::Note, "pump-power", part(pump), what, why, "nothing to mend")
    })
}

fn least_open(site: &Site, drum: usize) -> Option<Finding> {
    let areas = site.schedule.open.iter().map(|o| o[drum].iter().sum::<f64>());
    let (least, time) = areas.zip(&site.schedule.times).min_by(|a, b| a.0.total_cmp(&b.0))?;
    let unit = &site.layout.drums[drum];
    (least < LEAST_OPEN - 1e-6 && unit.outlets > 0).then(|| {
        let what = format!("at {time:.1} s of the cycle only {:.0} % of one outlet's area is open", 100.0 * least);
        let why = format!(
            "the pump is throttled to it each time (leakage {:.0} % of each outlet is all that is left when none is open); one outlet's worth \
             should stay open (common practice, no source)",
            100.0 * unit.leakage
        );
        let mend = "a wider window, wider than the gap between two ports by one port's arc, or overlapping steps";
        let grade = if least < LEAST_OPEN_FAULT { Grade::Fault } else { Grade::Caution };
        Finding::new(grade, "least-open-area", format!("drums/{}", unit.id), what, why, mend)
    })
}
