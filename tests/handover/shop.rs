//! Cut list and fittings against the layout.

use super::demo;
use slackwater::catalog::Catalog;
use slackwater::handover::Numbering;
use slackwater::handover::shop::{KERF, cut_list, shopping};
use slackwater::layout::Layout;
use slackwater::units::Length;

fn layouts() -> Vec<Layout> {
    ["alcove", "peninsula", "lagoon"].map(demo).to_vec()
}

#[test]
fn seen_lengths_add_up_to_the_layouts() {
    for layout in layouts() {
        let numbering = Numbering::new(&layout, Catalog::builtin());
        let cuts = cut_list(&numbering, Catalog::builtin(), 3.0);
        let wanted: f64 = layout.circuits.iter().flat_map(|c| c.suction.iter().chain(&c.discharge)).map(|run| run.length.si()).sum();
        let seen: f64 = cuts.runs.iter().map(|cut| cut.pieces as f64 * (cut.each - 2.0 * cut.socket)).sum();
        assert!((seen - wanted).abs() < 1e-9, "{}: {seen} {wanted}", layout.name);
        assert!(cuts.left_out.is_empty());
    }
}

#[test]
fn every_piece_comes_out_of_one_stick() {
    for layout in layouts() {
        let numbering = Numbering::new(&layout, Catalog::builtin());
        let cuts = cut_list(&numbering, Catalog::builtin(), 3.0);
        for size in &cuts.sizes {
            let mut all: Vec<usize> = size.sticks.iter().flat_map(|stick| stick.pieces.clone()).collect();
            all.sort_unstable();
            assert_eq!(all, (0..size.pieces.len()).collect::<Vec<_>>());
            for stick in &size.sticks {
                let length: f64 = stick.pieces.iter().map(|piece| size.pieces[*piece].1).sum();
                assert!(length + KERF * (stick.pieces.len() - 1) as f64 <= cuts.stock + 1e-9);
            }
            assert!(size.sticks.len() >= size.fewest);
        }
    }
}

#[test]
fn a_run_longer_than_the_stock_gets_couplings() {
    let mut layout = demo("alcove");
    layout.circuits[0].suction[0].length = Length::new(20.0, "m");
    let numbering = Numbering::new(&layout, Catalog::builtin());
    let cuts = cut_list(&numbering, Catalog::builtin(), 3.0);
    assert!(cuts.runs[0].couplings > 0 && cuts.runs[0].each <= 3.0, "{:?}", cuts.runs[0]);
    let couplings = [(0, cuts.runs[0].couplings)];
    let items = shopping(&layout, &numbering, &couplings);
    assert!(items.iter().any(|item| item.part == "coupling" && item.count == cuts.runs[0].couplings));
}

#[test]
fn fittings_are_counted_once() {
    let layout = demo("peninsula");
    let numbering = Numbering::new(&layout, Catalog::builtin());
    let items = shopping(&layout, &numbering, &[]);
    let count = |part: &str| items.iter().filter(|item| item.part == part).map(|item| item.count).sum::<usize>();
    // By hand from the layout: 2 + 3 + 10 elbows in loop A, 4 + 3 + 12 in loop B, 2 + 4 in the return; 2 suction tees and the return tee;
    // 10 holes and the sump; 3 + 3 + 1 ball valves.
    assert_eq!(count("elbow 90"), 15 + 19 + 6);
    assert_eq!(count("tee"), 3);
    assert_eq!(count("bulkhead"), numbering.holes.len() + 1);
    assert_eq!(count("ball valve"), 7);
    assert_eq!(numbering.valves.len(), 7);
    assert_eq!(count("tee branch"), 0);
}
