//! Readings: do they name parts, and are their numbers measurements?

use super::{caution, fault};
use crate::finding::Finding;
use crate::layout::explain::nearest;
use crate::layout::{Gauge, Held, Layout, Reading};
use crate::units::{Kind, Quantity};
use std::collections::HashSet;

pub(super) fn check(layout: &Layout) -> Vec<Finding> {
    let mut seen = HashSet::new();
    let twice = layout.measured.iter().filter(|reading| reading.id.trim().is_empty() || !seen.insert(reading.id.as_str()));
    let mut found: Vec<Finding> = twice.map(|r| bad(r, "needs a name of its own".into(), "give it another `id`")).collect();
    for reading in &layout.measured {
        found.extend(names(layout, reading));
        found.extend(numbers(reading));
        found.extend(date(reading));
    }
    found
}

fn part(reading: &Reading) -> String {
    format!("measured/{}", reading.id)
}

/// Readings play no part in the computation of the design: a bad one is left out of `calibrate`, and keeps nothing else from being computed.
fn bad(reading: &Reading, what: String, mend: &str) -> Finding {
    caution("bad-reading", part(reading), what, "`slackwater calibrate` can't use it", mend)
}

fn names(layout: &Layout, reading: &Reading) -> Vec<Finding> {
    let nozzle = reading.value.nozzle().map(|id| ("nozzle", id, layout.nozzles.iter().map(|n| n.id.as_str()).collect::<Vec<_>>()));
    let pump = reading.value.pump().map(|id| ("pump", id, layout.pumps.iter().map(|p| p.id.as_str()).collect()));
    let drums = reading.held.iter().map(|h| ("drum unit", h.drum.as_str(), layout.drums.iter().map(|d| d.id.as_str()).collect()));
    let wrong = nozzle.into_iter().chain(pump).chain(drums).filter(|(_, id, known)| !known.contains(id));
    let unknown = wrong.map(|(kind, id, known)| {
        let mend = nearest(id, known.into_iter()).map_or_else(|| "correct the name".to_owned(), |name| format!("did you mean \"{name}\"?"));
        fault("dangling-reading", part(reading), format!("there is no {kind} `{id}`"), "the reading belongs to nothing", &mend)
    });
    unknown.chain(reading.held.iter().filter_map(|held| held_outlets(layout, reading, held))).collect()
}

fn held_outlets(layout: &Layout, reading: &Reading, held: &Held) -> Option<Finding> {
    let drum = layout.drums.iter().find(|d| d.id == held.drum)?;
    let wrong = held.open.iter().find(|n| !(1..=drum.outlets).contains(n));
    if let Some(number) = wrong {
        return Some(bad(reading, format!("`{}` has outlets 1 to {}, not {number}", drum.id, drum.outlets), "correct the number"));
    }
    let turn = held.turn.is_some_and(|turn| !(0.0..=1.0).contains(&turn));
    turn.then(|| bad(reading, "its `turn` is not between 0 and 1".into(), "write a share of a turn"))
}

fn numbers(reading: &Reading) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut measured = |ok: bool, what: &str| {
        if !ok {
            found.push(bad(reading, what.to_owned(), "correct the number or its unit"));
        }
    };
    match &reading.value {
        Gauge::Bucket { volume, time, within, .. } => measured(all_positive(&[si(volume), si(time), si(within)]), POSITIVE),
        Gauge::NozzleFlow { flow, within, .. } | Gauge::PumpFlow { flow, within, .. } => {
            measured(si(flow).is_finite() && si(flow) >= 0.0 && all_positive(&[si(within)]), POSITIVE);
        }
        Gauge::PumpHead { head, within, .. } => measured(all_positive(&[si(head), si(within)]), POSITIVE),
        Gauge::Pressure { height, pressure, within, .. } => {
            measured(si(height).is_finite() && si(pressure).is_finite() && all_positive(&[si(within)]), POSITIVE);
        }
        Gauge::Drift { from, to, time, within, .. } => {
            measured(all_positive(&[si(time), si(within), si(from)]) && si(to) > si(from), "needs marks in order and times above zero");
        }
    }
    found
}

const POSITIVE: &str = "needs numbers above zero, and an uncertainty above zero";

fn si<K: Kind>(quantity: &Quantity<K>) -> f64 {
    quantity.si()
}

fn all_positive(numbers: &[f64]) -> bool {
    numbers.iter().all(|x| x.is_finite() && *x > 0.0)
}

fn date(reading: &Reading) -> Option<Finding> {
    let date = &reading.date;
    let fits = date.is_empty() || chrono::NaiveDate::parse_from_str(date, "%Y-%m-%d").is_ok_and(|d| d.to_string() == *date);
    (!fits).then(|| bad(reading, format!("`{date}` is no date"), "write year, month and day as 2026-03-14"))
}
