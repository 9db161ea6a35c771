//! The demo layouts' plumbing, and a hand-checked loop from layout text to duty point.

use slackwater::catalog::Catalog;
use slackwater::finding::Grade;
use slackwater::layout::Layout;
use slackwater::setup::Schedule;

pub const DEMOS: [(&str, &str); 3] = [
    ("alcove", include_str!("../../layouts/alcove.ron")),
    ("peninsula", include_str!("../../layouts/peninsula.ron")),
    ("lagoon", include_str!("../../layouts/lagoon.ron")),
];

pub fn read(text: &str) -> Layout {
    ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME).from_str(text).unwrap()
}

pub fn demo(name: &str) -> Layout {
    read(DEMOS.iter().find(|(n, _)| *n == name).unwrap().1)
}

#[test]
fn demos_are_solved_and_balance() {
    for (name, text) in DEMOS {
        let layout = read(text);
        let clock = std::time::Instant::now();
        let schedule = Schedule::new(&layout, Catalog::builtin()).unwrap_or_else(|f| panic!("{name}: {f:#?}"));
        println!("{name}: period {} s, {} positions, {:?}", schedule.period, schedule.times.len(), clock.elapsed());
        for (i, pump) in layout.pumps.iter().enumerate() {
            let q = schedule.range(|d| d.pumps[i].flow * 3600.0 * 1000.0);
            let h = schedule.range(|d| d.pumps[i].head);
            println!("  {} {:.0}-{:.0} L/h {:.2}-{:.2} m {:?}", pump.id, q.min, q.max, h.min, h.max, schedule.duties[0].pumps[i].regime);
        }
        for (duty, time) in schedule.duties.iter().zip(&schedule.times) {
            assert!(duty.report.converged, "{name} at {time} s: {:?}", duty.report);
        }
        let total: f64 = schedule.weights().sum();
        assert!((total - 1.0).abs() < 1e-12, "{name}: weights sum to {total}");
        assert!(schedule.findings.iter().all(|f| f.grade == Grade::Note), "{:?}", schedule.findings);
    }
}
