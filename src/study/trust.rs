//! How far the numbers of a study can be trusted: too short, too coarse, not balanced, outside the models' range.

use super::{case::Case, record::Record, runner::Runner, words::length};
use crate::{
    finding::{self, Finding, Grade},
    flow::Note,
    layout::{Layout, solid::Solid},
    setup::port::{JetSource, SinkSource},
};
use glam::DVec3;

/// The two halves of the averaging may differ by this much.
const SETTLED: f64 = 0.10;
/// Mass must close to this share of the inflow at every step.
const MASS_CLOSED: f64 = 1e-5;
/// Divergence times cell edge over the fastest speed; one pressure cycle a step leaves about 5e-5 of it.
const DIVERGENCE_CLOSED: f64 = 1e-3;
/// Share of the steps that the solver may put right before it is a caution: less can't move a mean by as much (common practice, no source).
const REPAIRED: f64 = 1e-3;
/// Cells along a tank's shortest side that are enough: with 13 dead spots came out too large, with 17 no longer (one tank: `flow/METHOD.md`).
const ENOUGH_ACROSS: usize = 20;

/// Everything that a reader of the figures must know about the run.
pub fn findings(case: &Case, runner: &Runner, record: &Record) -> Vec<Finding> {
    let notes = runner.flow().notes().iter().map(|note| grid_note(note, case, runner));
    let mut findings: Vec<Finding> = notes.collect();
    let runs = [interrupted(record), not_settled(record), short(record), not_closed(runner), broken(runner), coarse(case, record)];
    findings.extend(runs.into_iter().flatten());
    findings.push(limits(case, record));
    findings
}

fn interrupted(record: &Record) -> Option<Finding> {
    let run = &record.run;
    let what = format!("stopped early: {:.0} s of spin-up, then {:.0} s averaged", run.spin_up_s, run.averaged_s);
    let (why, mend) =
        ("the averages cover less than was asked for; after a stop in the spin-up they show a single moment", "run it to its end");
    run.interrupted.then(|| Finding::new(Grade::Caution, "interrupted", "", what, why, mend))
}

fn not_settled(record: &Record) -> Option<Finding> {
    let change = record.run.half_to_half;
    let what =
        format!("not settled: the mean speed of the water changed by {:+.0} % from one half of the averaging to the other", change * 100.0);
    let (why, mend) = ("a change of more than 10 % means that the spin-up or the averaging was too short", "run longer");
    (change.abs() > SETTLED).then(|| Finding::new(Grade::Caution, "not-settled", "", what, why, mend))
}

fn short(record: &Record) -> Option<Finding> {
    let run = &record.run;
    let what = format!("averaged over {:.0} s, but the joint cycle of the drum units takes {:.0} s", run.averaged_s, record.cycle_s);
    let (why, mend) =
        ("outlets that open in the rest of the cycle count too little", "average over whole cycles, or choose periods that fit each other");
    (run.cycles < 0.999 && !run.interrupted).then(|| Finding::new(Grade::Caution, "less-than-a-cycle", "", what, why, mend))
}

fn not_closed(runner: &Runner) -> Option<Finding> {
    let counters = runner.counters();
    let is_loose = counters.mass_error > MASS_CLOSED || counters.relative_divergence > DIVERGENCE_CLOSED;
    let much_repaired = counters.repaired as f64 > REPAIRED * counters.steps as f64;
    let what = format!(
        "the flow solver put something right in {} of its {} steps (fast water held back, or the pressure found again); it closed mass to {:.0e} of the flow and divergence to {:.0e} of the fastest speed per cell",
        counters.repaired, counters.steps, counters.mass_error, counters.relative_divergence
    );
    let grade = match () {
        () if counters.mass_error > 1e3 * MASS_CLOSED => Grade::Fault,
        () if is_loose || much_repaired => Grade::Caution,
        () => Grade::Note,
    };
    let mend = if grade == Grade::Note { "nothing to mend" } else { "try another cell size; if it stays, send the layout to the authors" };
    let why = "wanted: in less than 1 step of 1000, 1e-5 and 1e-3";
    (is_loose || counters.repaired > 0).then(|| Finding::new(grade, "solver-not-closed", "", what, why, mend))
}

fn broken(runner: &Runner) -> Option<Finding> {
    let what = format!("the flow solution broke down at {:.1} s", runner.time());
    let (why, mend) = ("no figure of this study can be used", "try another cell size, and send the layout to the authors");
    runner.counters().broken.then(|| Finding::new(Grade::Fault, "solver-broke-down", "", what, why, mend))
}

fn coarse(case: &Case, record: &Record) -> Option<Finding> {
    let run = &record.run;
    let least = run.cells.iter().copied().min().unwrap_or(0);
    let enough = length(run.cell_m * least as f64 / ENOUGH_ACROSS as f64, &case.layout);
    let what = format!("the shortest side of the tank is only {least} cells long");
    let why = "with 10 to 13 the water came out up to a sixth too slow, and a dead spot behind rock up to four times too large; fewer were not tried";
    let mend = format!("before you drill, run it with cells of {enough} or less");
    (least < ENOUGH_ACROSS).then(|| Finding::new(Grade::Caution, "few-cells-across", "", what, why, &mend))
}

/// What every study leaves out.
fn limits(case: &Case, record: &Record) -> Finding {
    let shown = |cells: f64| length(cells * record.run.cell_m, &case.layout);
    Finding::new(
        Grade::Note,
        "model-limits",
        "",
        format!("computed with cells of {}: details smaller than about {} are not seen", shown(1.0), shown(4.0)),
        "within 18 cells of a nozzle, less and less to 30, the published free round jet is told instead of the computed one, up to where it strikes something; \
         beside such a place speeds come out too low; rock is taken as solid unless the layout calls it porous, the surface as flat, water as one temperature",
        "take the speeds as estimates, good to some 20 %, and a dead spot as a place to look at",
    )
}

/// A remark of the solver in the layout's own words.
fn grid_note(note: &Note, case: &Case, runner: &Runner) -> Finding {
    let layout = &case.layout;
    let jet = |index: usize| runner.basin().jet_sources().nth(index).map_or_else(Default::default, |source| jet_part(layout, source));
    let sink = |index: usize| runner.basin().sink_sources().nth(index).map_or_else(Default::default, |source| sink_part(layout, source));
    let (jet_name, sink_name) = (|index: usize| finding::part(&jet(index)), |index: usize| finding::part(&sink(index)));
    let cells = |n: usize| format!("{n} cell{} of {}", if n == 1 { "" } else { "s" }, length(record_cell(runner), layout));
    let finding = |grade, rule: &str, part: String, what: String, why: &str, mend: &str| Finding::new(grade, rule, part, what, why, mend);
    match *note {
        Note::JetBlocked { jet: index } => finding(
            Grade::Fault,
            "jet-blocked",
            jet(index),
            format!("{} has no open water before its mouth", jet_name(index)),
            "it is left out of the computed flow",
            "move it out of the rock, or turn it",
        ),
        Note::SinkBlocked { sink: index } => finding(
            Grade::Fault,
            "intake-blocked",
            sink(index),
            format!("{} has no open water before it", sink_name(index)),
            "it is left out of the computed flow; the others take its share",
            "move it out of the rock or sand, or turn it",
        ),
        Note::JetThin { jet: index, bore_in_cells } => finding(
            Grade::Caution,
            "cell-coarse-for-nozzle",
            jet(index),
            format!("the bore of {} is only {bore_in_cells:.2} of a cell", jet_name(index)),
            "the jet model was checked down to a third of a cell",
            "take smaller cells",
        ),
        Note::NoWayOut { jet: index } => finding(
            Grade::Caution,
            "water-shut-in",
            jet(index),
            format!("the water that {} enters has no way out to an intake or overflow", jet_name(index)),
            "its jet pushes the water there but brings none",
            "open a way through the rock, or take smaller cells",
        ),
        Note::NoWayIn { sink: index } => finding(
            Grade::Caution,
            "water-shut-in",
            sink(index),
            format!("nothing refills the water that {} draws from", sink_name(index)),
            "it is left out of the computed flow",
            "open a way through the rock, or take smaller cells",
        ),
        Note::SealedWater { cells: n, at } => finding(
            Grade::Note,
            "sealed-water",
            nearest_part(runner, at),
            format!("water that no jet reaches is taken to be at rest: {}", cells(n)),
            "it is closed in by rock at this cell size",
            "look whether the rock is really closed there; take smaller cells",
        )
        .at(at.map(f64::from)),
        Note::ThinSolid { cells: n, at } => finding(
            Grade::Note,
            "cell-coarse-for-rock",
            nearest_part(runner, at),
            format!("rock or bracing thinner than two cells runs through {}", cells(n)),
            "water may be held back or let through where it should not",
            "take smaller cells to be sure of the flow there",
        )
        .at(at.map(f64::from)),
        Note::NarrowGap { cells: n, at } => finding(
            Grade::Note,
            "cell-coarse-for-gap",
            nearest_part(runner, at),
            format!("gaps narrower than two cells run through {}", cells(n)),
            "the speed in them is not reliable",
            "take smaller cells to be sure of the flow there",
        )
        .at(at.map(f64::from)),
    }
}

/// The solid part nearest to a place.
fn nearest_part(runner: &Runner, at: [f32; 3]) -> String {
    let place = DVec3::from_array(at.map(f64::from));
    let away = |part: &&Solid| part.distance(place).abs();
    let nearest = runner.basin().solids().parts().iter().min_by(|a, b| away(a).total_cmp(&away(b)));
    nearest.map_or_else(String::new, |part| part.part.clone())
}

fn record_cell(runner: &Runner) -> f64 {
    f64::from(runner.basin().grid.h)
}

fn jet_part(layout: &Layout, source: JetSource) -> String {
    match source {
        JetSource::Nozzle(index) => format!("nozzles/{}", layout.nozzles[index].id),
        JetSource::Propeller(index) => format!("propellers/{}", layout.propellers[index].id),
    }
}

fn sink_part(layout: &Layout, source: SinkSource) -> String {
    match source {
        SinkSource::Intake(index) => format!("intakes/{}", layout.intakes[index].id),
        SinkSource::Overflow(index) => format!("overflows/{}", layout.overflows[index].id),
    }
}
