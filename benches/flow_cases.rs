//! The flow solver against published flows, in full: prints wanted and got for every row, and writes a plot of each curve with its
//! published points to `target/flow-cases`. `cargo bench --no-default-features --bench flow_cases -- cavity` runs those whose name
//! has `cavity` in it; all of them take some twenty minutes on one core.

#[path = "../tests/validation/cases/mod.rs"]
#[allow(clippy::unwrap_used, reason = "shared with the tests, where it is allowed: a place inside the box has a speed")]
mod cases;
mod chart;

use cases::{Outcome, Row, body, cavity, channel, energy, intake, step, vortex};
use chart::{Chart, Curve};
use std::path::Path;

/// A case by name.
type Case = (&'static str, fn() -> Outcome);

const CASES: [Case; 26] = [
    ("flat cavity 32", || cavity::flat(32, 60.0)),
    ("flat cavity 48", || cavity::flat(48, 60.0)),
    ("flat cavity 64", || cavity::flat(64, 60.0)),
    ("cubic cavity 32", || cavity::cube(32, 40.0)),
    ("cubic cavity 48", || cavity::cube(48, 40.0)),
    ("cubic cavity 64", || cavity::cube(64, 40.0)),
    ("order of a vortex", || vortex::order_of_vortex(64)),
    ("order of stresses", || vortex::order_of_stresses(64)),
    ("cubic vortex", || vortex::cubic_vortex(64)),
    ("laminar channel", || channel::laminar_channel(16)),
    ("smooth channel", || channel::turbulent_channel(16, 0.0, 12.0)),
    ("rough channel", || channel::turbulent_channel(16, 0.05, 12.0)),
    ("laminar step", || step::laminar_step(16, 100.0, 120.0)),
    ("turbulent step", || step::turbulent_step(8, 200.0)),
    ("cube on the floor", || step::cube(8, 160.0)),
    ("cube of 16 cells", || step::cube(16, 100.0)),
    ("sink of one cell", || intake::narrow(96, 1.0, &[4.0, 5.0, 6.0, 8.0, 12.0])),
    ("sink of two cells", || intake::narrow(96, 2.0, &[4.0, 5.0, 6.0, 8.0, 12.0])),
    ("wide sink", || intake::wide(128)),
    ("pair of sinks", || intake::pair(96, [1.2e-4, 0.8e-4], &[4.0, 5.0, 6.0, 8.0])),
    ("skimming", || intake::skimming(96, &[4.0, 5.0, 6.0, 8.0, 12.0])),
    ("energy of a duct", || energy::duct(32)),
    ("energy of vortices", || energy::vortices(64)),
    ("bodies of 8 cells", || bodies(1)),
    ("bodies of 16 cells", || bodies(2)),
    ("bodies of 24 cells", || bodies(3)),
];

fn main() {
    let wanted: Vec<String> = std::env::args().skip(1).filter(|arg| !arg.starts_with('-')).collect();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/flow-cases");
    for (name, run) in CASES.iter().filter(|case| wanted.is_empty() || wanted.iter().any(|part| case.0.contains(part.as_str()))) {
        let start = std::time::Instant::now();
        let outcome = run();
        println!("{name} ({:.0} s)", start.elapsed().as_secs_f64());
        outcome.rows.iter().for_each(print);
        for plot in &outcome.plots {
            let curves = vec![Curve { name: "computed".into(), points: plot.computed.clone() }];
            Chart { name: plot.name.to_string(), axes: plot.axes, curves, published: plot.published.clone() }.write(&folder);
        }
    }
}

fn print(row: &Row) {
    let verdict = if row.holds() { "holds " } else { "MISSED" };
    println!("  {verdict} {}: wanted {:.4} ± {:.4}, got {:.4} ({})", row.case, row.wanted, row.tolerance, row.got, row.source);
}

/// Each body's drag beside the mean of those of its shape, which no placement or turn may leave by more than a tenth; with cells so many times
/// finer than eight to a body's width.
fn bodies(finer: usize) -> Outcome {
    let drags = body::LIES.map(|lie| (lie, body::drag(&lie, finer)));
    let rows = drags.map(|(lie, drag)| {
        let same: Vec<f64> = drags.iter().filter(|other| other.0.shape == lie.shape).map(|other| other.1.coefficient).collect();
        let wanted = same.iter().sum::<f64>() / same.len() as f64;
        let case = format!("{}, {} cells wide, drag coefficient (speed behind it {:+.2})", lie.name, 8 * finer, drag.wake);
        Row { case, source: "mean of all its lies", wanted, tolerance: 0.1 * wanted, got: drag.coefficient }
    });
    Outcome { rows: rows.to_vec(), plots: vec![] }
}
