//! Names by which parts of a layout refer to each other.

use super::part::List;
use crate::layout::{Change, End, Gauge, Layout, Run};

/// After a part of `list` was renamed, whatever called it `old` calls it `new`.
pub fn follow(layout: &mut Layout, list: List, old: &str, new: &str) {
    let change = |name: &mut String| {
        if name == old {
            new.clone_into(name);
        }
    };
    match list {
        List::Sequences => change(&mut layout.sequence),
        List::Drums => layout.sequences.iter_mut().flat_map(|s| &mut s.drives).for_each(|d| change(&mut d.drum)),
        _ => {}
    }
    runs(layout).flat_map(|r| [&mut r.from, &mut r.to]).filter_map(|end| name_in(end, list)).for_each(change);
    let readings = layout.measured.iter_mut();
    readings.flat_map(|r| r.held.iter_mut().map(|h| (List::Drums, &mut h.drum)).chain(taken_at(&mut r.value))).for_each(|(of, name)| {
        if of == list {
            change(name);
        }
    });
    let changes = layout.what_ifs.iter_mut().flat_map(|w| &mut w.changes);
    changes.filter_map(|c| name_in_change(c, list)).for_each(change);
}

fn runs(layout: &mut Layout) -> impl Iterator<Item = &mut Run> {
    layout.circuits.iter_mut().flat_map(|c| c.suction.iter_mut().chain(&mut c.discharge))
}

fn name_in(end: &mut End, list: List) -> Option<&mut String> {
    match (end, list) {
        (End::Intake(id), List::Intakes) | (End::Nozzle(id), List::Nozzles) | (End::Pump(id), List::Pumps) => Some(id),
        (End::Drum(id) | End::Outlet(id, _), List::Drums) => Some(id),
        _ => None,
    }
}

/// The nozzle or pump at which something was measured.
fn taken_at(gauge: &mut Gauge) -> Option<(List, &mut String)> {
    match gauge {
        Gauge::Bucket { nozzle, .. } | Gauge::NozzleFlow { nozzle, .. } | Gauge::Drift { nozzle, .. } => Some((List::Nozzles, nozzle)),
        Gauge::PumpFlow { pump, .. } | Gauge::PumpHead { pump, .. } | Gauge::Pressure { pump, .. } => Some((List::Pumps, pump)),
    }
}

fn name_in_change(change: &mut Change, list: List) -> Option<&mut String> {
    match (change, list) {
        (Change::PumpSpeed { pump, .. }, List::Pumps) => Some(pump),
        (Change::DrumStalled { drum, .. }, List::Drums) => Some(drum),
        (Change::ScreenBlocked { intake, .. }, List::Intakes) => Some(intake),
        (Change::AimOff { nozzle, .. }, List::Nozzles) => Some(nozzle),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn references_follow_a_rename() {
        let mut layout = crate::layout::demo();
        let drum = layout.drums[0].id.clone();
        let text = |l: &Layout| crate::layout::write(l, None);
        let before = text(&layout).matches(&format!("\"{drum}\"")).count();
        layout.drums[0].id = "another name".into();
        follow(&mut layout, List::Drums, &drum, "another name");
        assert_eq!(text(&layout).matches("\"another name\"").count(), before);
        assert_eq!(text(&layout).matches(&format!("\"{drum}\"")).count(), 0);
    }
}
