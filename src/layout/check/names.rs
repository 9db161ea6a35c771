//! Ids and references.

use super::{caution, fault};
use crate::catalog::Catalog;
use crate::finding::Finding;
use crate::layout::explain::nearest;
use crate::layout::{CheckState, End, Layout, Run};
use std::collections::HashSet;

pub(super) fn check(layout: &Layout, catalog: &Catalog) -> Vec<Finding> {
    let mut found: Vec<Finding> = lists(layout).iter().flat_map(|(list, ids)| ids_of(list, ids)).collect();
    for circuit in &layout.circuits {
        for (side, runs) in [("suction", &circuit.suction), ("discharge", &circuit.discharge)] {
            runs.iter()
                .for_each(|run| found.extend(run_names(layout, catalog, &format!("circuits/{}/{side}/{}", circuit.id, run.id), run)));
        }
    }
    for overflow in &layout.overflows {
        for drain in &overflow.drains {
            found.extend(pipe_name(catalog, &format!("overflows/{}/drains/{}", overflow.id, drain.id), &drain.pipe));
        }
    }
    found.extend(sequence_names(layout));
    found
}

/// Every list whose entries need ids of their own.
fn lists(layout: &Layout) -> Vec<(String, Vec<&str>)> {
    macro_rules! ids {
        ($list:expr) => {
            $list.iter().map(|entry| entry.id.as_str()).collect::<Vec<_>>()
        };
    }
    let mut lists = vec![
        ("tank/bracing".to_owned(), ids!(layout.tank.bracing)),
        ("rocks".to_owned(), ids!(layout.rocks)),
        ("overflows".to_owned(), ids!(layout.overflows)),
        ("pumps".to_owned(), ids!(layout.pumps)),
        ("drums".to_owned(), ids!(layout.drums)),
        ("intakes".to_owned(), ids!(layout.intakes)),
        ("nozzles".to_owned(), ids!(layout.nozzles)),
        ("circuits".to_owned(), ids!(layout.circuits)),
        ("joints".to_owned(), ids!(layout.joints)),
        ("propellers".to_owned(), ids!(layout.propellers)),
        ("sequences".to_owned(), ids!(layout.sequences)),
        ("colonies".to_owned(), ids!(layout.colonies)),
        ("zones".to_owned(), ids!(layout.zones)),
        ("probes".to_owned(), ids!(layout.probes)),
    ];
    lists.extend(layout.overflows.iter().map(|overflow| (format!("overflows/{}/drains", overflow.id), ids!(overflow.drains))));
    lists.extend(layout.circuits.iter().map(|circuit| {
        let ids = circuit.suction.iter().chain(&circuit.discharge).map(|run| run.id.as_str()).collect();
        (format!("circuits/{}", circuit.id), ids)
    }));
    lists
}

fn ids_of(list: &str, ids: &[&str]) -> Vec<Finding> {
    let mut known = HashSet::new();
    let bad = ids.iter().filter(|id| id.trim().is_empty() || !known.insert(**id));
    bad.map(|id| {
        let what = if id.trim().is_empty() { "an entry has no id".into() } else { format!("two entries are called `{id}`") };
        fault(
            "bad-id",
            format!("{list}/{id}"),
            what,
            "runs, sequences and findings name parts by their ids",
            "give each entry an id of its own",
        )
        .blocking()
    })
    .collect()
}

fn run_names(layout: &Layout, catalog: &Catalog, part: &str, run: &Run) -> Vec<Finding> {
    let mut found = Vec::new();
    found.extend([&run.from, &run.to].into_iter().filter_map(|end| end_name(layout, part, end)));
    found.extend(pipe_name(catalog, part, &run.pipe));
    for fitting in run.fittings.iter().filter(|fitting| fitting.k.is_none() && fitting.curve.is_empty()) {
        let Some(kind) = catalog.fitting(&fitting.part) else {
            let mend = suggestion(
                &fitting.part,
                catalog.fitting_names(),
                "take a name from assets/catalog/fittings.ron, or give its own `k` or `curve`",
            );
            let what = format!("the catalogue has no fitting `{}`", fitting.part);
            found.push(fault("unknown-fitting", part.into(), what, "its loss isn't known", &mend).blocking());
            continue;
        };
        if (fitting.check != CheckState::Holds && kind.opens_at().is_none()) || (fitting.other.is_some() && kind.bore_change().is_none()) {
            let what = format!("`{}` has a `check` or `other`, but is no check valve or no change of bore", fitting.part);
            found.push(caution("setting-ignored", part.into(), what, "it plays no part", "use the right fitting, or remove it"));
        }
        if fitting.opening < 1.0 && !kind.is_valve() {
            let what = format!("`{}` has an opening, but is not a valve whose opening can be set", fitting.part);
            found.push(caution("opening-ignored", part.into(), what, "the opening plays no part", "use a valve, or remove the opening"));
        }
    }
    found
}

fn pipe_name(catalog: &Catalog, part: &str, name: &str) -> Option<Finding> {
    let known = catalog.pipe(name).is_some();
    (!known).then(|| {
        let mend = suggestion(name, catalog.pipe_names(), "take a name from assets/catalog/pipes.ron, such as \"2 in, schedule 40\"");
        fault("unknown-pipe", part.into(), format!("the catalogue has no pipe `{name}`"), "its bore isn't known", &mend).blocking()
    })
}

fn suggestion<'a>(name: &str, known: impl Iterator<Item = &'a str>, otherwise: &str) -> String {
    nearest(name, known).map_or_else(|| otherwise.to_owned(), |name| format!("did you mean \"{name}\"?"))
}

fn end_name(layout: &Layout, part: &str, end: &End) -> Option<Finding> {
    let (kind, id, mut known): (_, _, Box<dyn Iterator<Item = &str> + '_>) = match end {
        End::Intake(id) => ("intake", id, Box::new(layout.intakes.iter().map(|x| x.id.as_str()))),
        End::Nozzle(id) => ("nozzle", id, Box::new(layout.nozzles.iter().map(|x| x.id.as_str()))),
        End::Pump(id) => ("pump", id, Box::new(layout.pumps.iter().map(|x| x.id.as_str()))),
        End::Drum(id) | End::Outlet(id, _) => ("drum unit", id, Box::new(layout.drums.iter().map(|x| x.id.as_str()))),
        End::Joint(_) => return None,
        End::Sump if layout.sump.is_some() => return None,
        End::Sump => {
            let what = "it ends at the sump, but the layout has none".into();
            return Some(
                fault("no-sump", part.into(), what, "its water level drives the run", "add `sump: (level: ..., free_volume: ...)`")
                    .blocking(),
            );
        }
    };
    let names: Vec<&str> = known.by_ref().collect();
    if !names.contains(&id.as_str()) {
        let mend = suggestion(id, names.into_iter(), "correct the name, or add the part");
        return Some(
            fault("dangling-run", part.into(), format!("there is no {kind} `{id}`"), "the run would end nowhere", &mend).blocking(),
        );
    }
    let End::Outlet(_, number) = end else { return None };
    let outlets = layout.drums.iter().find(|drum| drum.id == *id)?.outlets;
    let what = format!("`{id}` has outlets 1 to {outlets}, not {number}");
    (!(1..=outlets).contains(number))
        .then(|| fault("dangling-run", part.into(), what, "the run would start nowhere", "correct the number").blocking())
}

fn sequence_names(layout: &Layout) -> Vec<Finding> {
    let mut found = Vec::new();
    if !layout.sequence.is_empty() && layout.active_sequence().is_none() {
        let mend = suggestion(&layout.sequence, layout.sequences.iter().map(|s| s.id.as_str()), "name one of `sequences`");
        let what = format!("there is no sequence `{}`", layout.sequence);
        found.push(fault("no-sequence", String::new(), what, "it is the one in use", &mend).blocking());
    }
    for sequence in &layout.sequences {
        let mut seen = HashSet::new();
        for drive in &sequence.drives {
            let part = format!("sequences/{}/drives/{}", sequence.id, drive.drum);
            if !layout.drums.iter().any(|drum| drum.id == drive.drum) {
                let mend = suggestion(&drive.drum, layout.drums.iter().map(|drum| drum.id.as_str()), "name one of `drums`");
                found.push(
                    fault("no-drum", part, format!("there is no drum unit `{}`", drive.drum), "the drive moves nothing", &mend).blocking(),
                );
            } else if !seen.insert(&drive.drum) {
                let what = format!("`{}` is driven twice", drive.drum);
                found.push(fault("driven-twice", part, what, "only one motion can hold", "remove one of the drives").blocking());
            }
        }
    }
    found
}
