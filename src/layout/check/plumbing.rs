//! Circuits: what every loop needs, and what suction must never be.

use super::{caution, fault};
use crate::finding::{Finding, Grade};
use crate::layout::{Circuit, CircuitKind, End, Layout, Pump, Run, Supply};

const ENTRAPMENT: &str = "a suction that can be covered holds a hand, hair or an animal: 50 kPa on a 100 mm pipe pulls with 393 N \
    (statics); pool codes ask for two suctions at least 3 ft (0.91 m) apart or a vacuum release (VGB Act 2007, ANSI/APSP-16)";

pub(super) fn check(layout: &Layout) -> Vec<Finding> {
    let mut found: Vec<Finding> = layout.circuits.iter().flat_map(|circuit| one_circuit(layout, circuit)).collect();
    found.extend(layout.pumps.iter().filter_map(curve));
    found.extend(layout.intakes.iter().filter(|intake| intake.screen.is_none()).map(|intake| {
        let what = format!("intake `{}` has no screen", intake.id);
        fault(
            "no-screen",
            format!("intakes/{}", intake.id),
            what,
            ENTRAPMENT,
            "give it a screen, large enough for under 0.5 ft/s (0.15 m/s) through it",
        )
    }));
    found.extend(drums(layout));
    found.extend(loose_ends(layout));
    found
}

fn runs(layout: &Layout) -> impl Iterator<Item = &Run> {
    layout.circuits.iter().flat_map(|circuit| circuit.suction.iter().chain(&circuit.discharge))
}

fn one_circuit(layout: &Layout, circuit: &Circuit) -> Vec<Finding> {
    let part = format!("circuits/{}", circuit.id);
    let mut found = Vec::new();
    let drawn_in = circuit.suction.iter().any(|run| matches!(run.to, End::Pump(_)));
    let pushed_out = circuit.discharge.iter().any(|run| matches!(run.from, End::Pump(_)));
    if !drawn_in || !pushed_out {
        let what =
            format!("no {} run {} a pump", if drawn_in { "discharge" } else { "suction" }, if drawn_in { "starts at" } else { "ends at" });
        found.push(fault("no-pump", part.clone(), what, "nothing would move the water", "join the runs to one of `pumps`").blocking());
    }
    let sides = circuit.suction.iter().map(|run| (true, run)).chain(circuit.discharge.iter().map(|run| (false, run)));
    for (is_suction, run) in sides {
        // A branch through a filter or cooler may well go back to the sump.
        let into_the_sump = is_suction && run.to == End::Sump;
        if matches!(run.from, End::Nozzle(_)) || matches!(run.to, End::Intake(_) | End::Outlet(..)) || into_the_sump {
            let what = format!("run `{}` runs the wrong way round", run.id);
            found.push(fault(
                "backward-run",
                format!("{part}/{}", run.id),
                what,
                "water comes from intakes and goes to nozzles",
                "swap `from` and `to`",
            ));
        }
        if run.from == run.to {
            let what = format!("run `{}` ends where it starts", run.id);
            found.push(
                fault("looped-run", format!("{part}/{}", run.id), what, "it carries nothing anywhere", "correct `from` or `to`").blocking(),
            );
        }
    }
    found.extend(match circuit.kind {
        CircuitKind::Closed => Vec::from_iter(closed(circuit, part)),
        CircuitKind::Return => returning(layout, circuit, part),
    });
    found
}

/// One intake alone is for the wet-side checks, which know how hard it would hold.
fn closed(circuit: &Circuit, part: String) -> Option<Finding> {
    if circuit.suction.iter().any(|run| matches!(run.from, End::Intake(_))) {
        return None;
    }
    let what = "no suction run starts at an intake".to_owned();
    Some(fault("no-intake", part, what, "a closed loop draws from the tank", "start a suction run at an intake").blocking())
}

fn returning(layout: &Layout, circuit: &Circuit, part: String) -> Vec<Finding> {
    let mut found = Vec::new();
    if layout.overflows.is_empty() {
        let what = "the return pump fills the tank, but no overflow lets water back".to_owned();
        found.push(fault("no-overflow", part.clone(), what, "the tank would spill", "add an overflow box with drains"));
    }
    if !circuit.suction.iter().any(|run| run.from == End::Sump) {
        let what = "no suction run starts at the sump".to_owned();
        found.push(fault("no-sump", part, what, "a return loop draws from the sump", "start a run at `sump`, or make it a closed loop"));
    }
    found
}

fn curve(pump: &Pump) -> Option<Finding> {
    let falling = pump.curve.windows(2).all(|pair| pair[1].flow.si() > pair[0].flow.si() && pair[1].head.si() < pair[0].head.si());
    if pump.curve.len() >= 2 && falling {
        return None;
    }
    let what = if pump.curve.len() < 2 {
        format!("its curve has {} points", pump.curve.len())
    } else {
        "its curve does not fall all the way".to_owned()
    };
    let why = "the duty point is where the falling pump curve meets the rising curve of the pipes";
    Some(
        fault(
            "pump-curve",
            format!("pumps/{}", pump.id),
            what,
            why,
            "give two points or more, flow rising and head falling, from the maker's curve",
        )
        .blocking(),
    )
}

fn drums(layout: &Layout) -> Vec<Finding> {
    let mut found = Vec::new();
    for drum in layout.drums.iter().filter(|drum| drum.outlets <= 24) {
        let part = format!("drums/{}", drum.id);
        let fed = runs(layout).any(|run| matches!(&run.to, End::Drum(id) if *id == drum.id));
        if !fed {
            found.push(caution(
                "drum-not-fed",
                part.clone(),
                "no run leads to it".into(),
                "no water comes out of it",
                "run a pipe from the pump to it",
            ));
        }
        let joined = |number: &u32| runs(layout).any(|run| run.from == End::Outlet(drum.id.clone(), *number));
        let open: Vec<_> = (1..=drum.outlets).filter(|number| !joined(number)).map(|number| number.to_string()).collect();
        if fed && !open.is_empty() {
            let what = format!("nothing is joined to outlet {}", open.join(", "));
            found.push(caution(
                "outlet-not-joined",
                part,
                what,
                "it counts as capped: when only it is open the pump is dead-headed",
                "run a pipe from it, or use a unit with fewer outlets",
            ));
        }
    }
    found
}

/// Nozzles, intakes and pumps that no run reaches, or that are both drawn and fixed.
fn loose_ends(layout: &Layout) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut judge = |part: String, supply: &Supply, count: usize| match (supply, count) {
        (Supply::Plumbed, 0) => found.push(caution(
            "not-joined",
            part,
            "no run reaches it".into(),
            "no water goes through it",
            "join it to a run, or give it `supply: fixed(...)`",
        )),
        (Supply::Fixed(_), 1..) => found.push(caution(
            "fixed-and-drawn",
            part,
            "it has a fixed flow and a run".into(),
            "only one of them can hold",
            "remove the run or the fixed flow",
        )),
        (Supply::Plumbed, 2..) => found.push(caution(
            "joined-twice",
            part,
            format!("{count} runs reach it"),
            "their flows are computed one by one, as if each had its own",
            "join them at a `joint` first",
        )),
        _ => {}
    };
    for nozzle in &layout.nozzles {
        let count = runs(layout).filter(|run| run.to == End::Nozzle(nozzle.id.clone())).count();
        judge(format!("nozzles/{}", nozzle.id), &nozzle.supply, count);
    }
    for intake in &layout.intakes {
        let count = runs(layout).filter(|run| run.from == End::Intake(intake.id.clone())).count();
        judge(format!("intakes/{}", intake.id), &intake.supply, count);
    }
    for pump in &layout.pumps {
        let used = runs(layout).any(|run| run.from == End::Pump(pump.id.clone()) || run.to == End::Pump(pump.id.clone()));
        if !used {
            let what = "no run is joined to it".to_owned();
            found.push(Finding::new(
                Grade::Note,
                "pump-not-used",
                format!("pumps/{}", pump.id),
                what,
                "it moves nothing",
                "join it, or remove it",
            ));
        }
    }
    found
}
