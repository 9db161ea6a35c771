//! What a calibrated layout says that the layout as it was did not.

use super::record::{Change, Number, NumberKind};
use crate::catalog::Catalog;
use crate::finding::Finding;
use crate::layout::Layout;
use crate::safety;
use crate::setup::Schedule;

/// A layout solved over its cycle and checked.
struct Said {
    schedule: Option<Schedule>,
    findings: Vec<Finding>,
}

fn said(layout: &Layout, catalog: &Catalog) -> Said {
    match Schedule::new(layout, catalog) {
        Ok(schedule) => {
            let mut findings = schedule.findings.clone();
            findings.extend(safety::check(layout, catalog, &schedule));
            Said { schedule: Some(schedule), findings }
        }
        Err(findings) => Said { schedule: None, findings },
    }
}

/// The difference between two states of one layout.
pub fn change(before: &Layout, after: &Layout, catalog: &Catalog) -> Change {
    let (was, is) = (said(before, catalog), said(after, catalog));
    let same = |a: &Finding, b: &Finding| a.rule == b.rule && a.part == b.part;
    let missing_in = |list: &[Finding], other: &[Finding]| -> Vec<Finding> {
        list.iter().filter(|f| !other.iter().any(|o| same(f, o) && o.grade == f.grade)).cloned().collect()
    };
    let changed = is.findings.iter().filter_map(|now| {
        let then = was.findings.iter().find(|then| same(then, now) && then.grade == now.grade)?;
        (then.what != now.what).then(|| (then.clone(), now.clone()))
    });
    Change {
        numbers: numbers(before, &was, &is),
        new: missing_in(&is.findings, &was.findings),
        gone: missing_in(&was.findings, &is.findings),
        changed: changed.collect(),
    }
}

fn numbers(layout: &Layout, was: &Said, is: &Said) -> Vec<Number> {
    let (Some(was), Some(is)) = (&was.schedule, &is.schedule) else { return Vec::new() };
    let mut all = Vec::new();
    let mut add = |part: String, what: &str, kind, value: &dyn Fn(&Schedule) -> f64| {
        all.push(Number { part, what: what.to_owned(), before: value(was), after: value(is), kind });
    };
    for (at, pump) in layout.pumps.iter().enumerate() {
        let part = || format!("pump {}", pump.id);
        add(part(), "mean flow", NumberKind::Flow, &|s| s.range(|d| d.pumps[at].flow).mean);
        add(part(), "mean head", NumberKind::Head, &|s| s.range(|d| d.pumps[at].head).mean);
    }
    for (at, intake) in layout.intakes.iter().enumerate() {
        let Some(open) = intake.screen.as_ref().map(|s| s.face.area() * s.open).filter(|open| *open > 0.0) else { continue };
        let part = format!("screen of {}", intake.id);
        add(part, "most speed through it", NumberKind::Speed, &|s| s.range(|d| d.intakes[at]).max / open);
    }
    for (at, nozzle) in layout.nozzles.iter().enumerate() {
        add(format!("nozzle {}", nozzle.id), "most flow", NumberKind::Flow, &|s| s.range(|d| d.nozzles[at].flow).max);
    }
    all
}
