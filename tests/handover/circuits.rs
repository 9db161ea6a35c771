//! Circuit drawings: every run and valve by its number, ends with their heights, a return loop from the side.

use super::{all, demo, named};
use slackwater::catalog::Catalog;
use slackwater::handover::Numbering;
use slackwater::layout::CircuitKind;

/// Texts of a drawing whose letters are outlines.
fn labels(svg: &str) -> Vec<String> {
    svg.split("aria-label=\"").skip(1).map(|rest| rest.split('"').next().unwrap().to_owned()).collect()
}

#[test]
fn every_number_is_on_its_drawing() {
    for name in ["alcove", "peninsula", "lagoon"] {
        let layout = demo(name);
        let numbering = Numbering::new(&layout, Catalog::builtin());
        let sheets = all(&layout);
        for (at, circuit) in layout.circuits.iter().enumerate() {
            let svg = String::from_utf8(named(&sheets, &format!("circuit {}.svg", at + 1)).bytes().unwrap()).unwrap();
            let labels = labels(&svg);
            let runs: Vec<usize> = numbering.runs_of(at).map(|(run, _)| run).collect();
            let valves = numbering.valves.iter().filter(|valve| runs.contains(&valve.run)).map(|valve| &valve.tag);
            for tag in numbering.runs_of(at).map(|(_, run)| &run.tag).chain(valves) {
                assert!(labels.contains(tag), "{name} {}: no {tag}", circuit.id);
            }
            assert!(labels.iter().any(|label| label.contains("revision")), "{name}");
            let seen_from_the_side = labels.iter().any(|label| label.starts_with("lift: "));
            assert_eq!(seen_from_the_side, circuit.kind == CircuitKind::Return, "{name} {}", circuit.id);
        }
    }
}

/// Peninsula, by hand: sump at -550 mm, return nozzles at 720 mm with a 1 in bore, water at 800 mm, lip at 788 mm.
#[test]
fn heights_of_the_return_loop() {
    let sheets = all(&demo("peninsula"));
    let svg = String::from_utf8(named(&sheets, "circuit 3.svg").bytes().unwrap()).unwrap();
    let labels = labels(&svg).join("\n");
    for wanted in ["lift: 1350 mm", "running: -550 mm", "running: 800 mm", "lip of end box: 788 mm", "top of bore: 732.7 mm"] {
        assert!(labels.contains(wanted), "no `{wanted}` in {labels}");
    }
}

#[test]
fn the_index_comes_first_and_every_sheet_says_what_it_is_for() {
    let sheets = all(&demo("alcove"));
    assert_eq!(sheets[0].name, "index.pdf");
    let without: Vec<&str> = sheets[1..].iter().filter(|sheet| sheet.purpose.is_empty()).map(|sheet| sheet.name.as_str()).collect();
    assert!(without.iter().all(|name| name.contains("client")), "{without:?}");
}
