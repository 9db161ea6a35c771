//! The flow solver against published flows, in full: prints wanted and got for every row, and writes a plot of each curve with its
//! published points to `target/flow-cases`. `cargo bench --no-default-features --bench flow_cases -- cavity` runs those whose name
//! has `cavity` in it; all of them take some ten minutes on one core.

#[path = "../tests/validation/cases/mod.rs"]
#[allow(clippy::unwrap_used, reason = "shared with the tests, where it is allowed: a place inside the box has a speed")]
mod cases;

use cases::{Outcome, Plot, Row, body, cavity, channel, energy, intake, step, vortex};
use std::{fmt::Write, fs, path::Path};

/// A case by name.
type Case = (&'static str, fn() -> Outcome);

const CASES: [Case; 23] = [
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
    ("sink of one cell", || intake::narrow(96, 1.0, &[4.0, 5.0, 6.0, 8.0, 12.0])),
    ("sink of two cells", || intake::narrow(96, 2.0, &[4.0, 5.0, 6.0, 8.0, 12.0])),
    ("wide sink", || intake::wide(128)),
    ("pair of sinks", || intake::pair(96, [1.2e-4, 0.8e-4], &[4.0, 5.0, 6.0, 8.0])),
    ("skimming", || intake::skimming(96, &[4.0, 5.0, 6.0, 8.0, 12.0])),
    ("energy of a duct", || energy::duct(32)),
    ("energy of vortices", || energy::vortices(64)),
    ("bodies", bodies),
];

fn main() {
    let wanted: Vec<String> = std::env::args().skip(1).filter(|arg| !arg.starts_with('-')).collect();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/flow-cases");
    fs::create_dir_all(&folder).expect("a folder for the plots");
    for (name, run) in CASES.iter().filter(|case| wanted.is_empty() || wanted.iter().any(|part| case.0.contains(part.as_str()))) {
        let start = std::time::Instant::now();
        let outcome = run();
        println!("{name} ({:.0} s)", start.elapsed().as_secs_f64());
        outcome.rows.iter().for_each(print);
        for plot in &outcome.plots {
            let file = folder.join(format!("{}.svg", plot.name.replace(' ', "-")));
            fs::write(&file, svg(plot)).expect("a plot can be written");
        }
    }
}

fn print(row: &Row) {
    let verdict = if row.holds() { "holds " } else { "MISSED" };
    println!("  {verdict} {}: wanted {:.4} ± {:.4}, got {:.4} ({})", row.case, row.wanted, row.tolerance, row.got, row.source);
}

/// Each body's drag beside the mean of those of its shape, which no placement or turn may leave by more than a tenth.
fn bodies() -> Outcome {
    let drags = body::LIES.map(|lie| (lie, body::drag(&lie)));
    let rows = drags.map(|(lie, drag)| {
        let same: Vec<f64> = drags.iter().filter(|other| other.0.shape == lie.shape).map(|other| other.1.coefficient).collect();
        let wanted = same.iter().sum::<f64>() / same.len() as f64;
        let case = format!("{}, drag coefficient (speed behind it {:+.2})", lie.name, drag.wake);
        Row { case, source: "mean of all its lies", wanted, tolerance: 0.1 * wanted, got: drag.coefficient }
    });
    Outcome { rows: rows.to_vec(), plots: vec![] }
}

/// Frame of a plot, in points: left, top, width, height.
const FRAME: [f64; 4] = [60.0, 20.0, 460.0, 300.0];

fn svg(plot: &Plot) -> String {
    let all = || plot.computed.iter().chain(&plot.published);
    let range = |d: usize| all().fold([f64::MAX, f64::MIN], |[low, high], point| [low.min(point[d]), high.max(point[d])]);
    let ranges = [range(0), range(1)];
    let part = |point: &[f64; 2], d: usize| (point[d] - ranges[d][0]) / (ranges[d][1] - ranges[d][0]).max(1e-12);
    let place = |point: &[f64; 2]| (FRAME[0] + FRAME[2] * part(point, 0), FRAME[1] + FRAME[3] * (1.0 - part(point, 1)));
    let mut out = String::from("<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 540 380' font-family='sans-serif' font-size='12'>\n");
    let [x, y, w, h] = FRAME;
    let _ = writeln!(
        out,
        "<rect width='540' height='380' fill='white'/><rect x='{x}' y='{y}' width='{w}' height='{h}' fill='none' stroke='black'/>"
    );
    let line: String = plot.computed.iter().map(place).map(|(x, y)| format!("{x:.1},{y:.1} ")).collect();
    let _ = writeln!(out, "<polyline points='{line}' fill='none' stroke='#0b5a8a' stroke-width='1.5'/>");
    for (x, y) in plot.published.iter().map(place) {
        let _ = writeln!(out, "<circle cx='{x:.1}' cy='{y:.1}' r='3.5' fill='none' stroke='#b03a00' stroke-width='1.5'/>");
    }
    let (bottom, right) = (y + h, x + w);
    let [[x_low, x_high], [y_low, y_high]] = ranges;
    let _ = writeln!(
        out,
        "<text x='{x}' y='{}'>{x_low:.3}</text><text x='{right}' y='{}' text-anchor='end'>{x_high:.3}</text>",
        bottom + 16.0,
        bottom + 16.0
    );
    let _ = writeln!(
        out,
        "<text x='{}' y='{bottom}' text-anchor='end'>{y_low:.3}</text><text x='{}' y='{}' text-anchor='end'>{y_high:.3}</text>",
        x - 4.0,
        x - 4.0,
        y + 10.0
    );
    let _ = writeln!(out, "<text x='{}' y='{}' text-anchor='middle'>{}</text>", x + 0.5 * w, bottom + 16.0, plot.axes[0]);
    let _ = writeln!(
        out,
        "<text x='16' y='{}' transform='rotate(-90 16 {})' text-anchor='middle'>{}</text>",
        y + 0.5 * h,
        y + 0.5 * h,
        plot.axes[1]
    );
    let _ = writeln!(out, "<text x='{x}' y='{}'>{}: line computed, circles published</text>\n</svg>", bottom + 40.0, plot.name);
    out
}
