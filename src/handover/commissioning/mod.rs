//! The commissioning sheet: what to set, what to expect, how to measure it, what to try before the tank is left alone.

mod aim;
mod position;
mod power_cut;
mod words;

pub use aim::{AimPoint, aim_point, angle_words, point_words};
pub use position::{Position, positions, pump_of};

use super::files::{Content, Sheet, csv};
use super::measure::{mm, near, one};
use super::numbering::{Numbering, end_words};
use super::page::{Book, Column, Document, Paper, Table};
use super::revision::Stamp;
use crate::calibrate::{is_round, marks, seconds};
use crate::catalog::Catalog;
use crate::finding::{Finding, Grade};
use crate::layout::{self, End, Layout, Nozzle};
use crate::safety;
use crate::setup::Schedule;
use crate::units::{Display, FlowKind, HeadKind, show};
use words::{BEFORE_WATER, HOW_SURE, HOW_TO_MEASURE, TYPE_BACK, first_week};

/// The commissioning sheet and its table of aims.
pub fn sheets(layout: &Layout, catalog: &Catalog, numbering: &Numbering, stamp: &Stamp, paper: Paper, foot: &str) -> Vec<Sheet> {
    let mut book = Book::new(paper, stamp, "Commissioning sheet", foot);
    let schedule = Schedule::new(layout, catalog);
    let findings = findings(layout, catalog, &schedule);
    write_faults(&mut book, &findings.iter().filter(|finding| finding.grade == Grade::Fault).collect::<Vec<_>>());
    book.heading("Before water");
    BEFORE_WATER.iter().for_each(|words| book.check_box(words));
    write_valves(&mut book, numbering);
    write_aims(&mut book, layout, numbering);
    match &schedule {
        Ok(schedule) => write_expected(&mut book, layout, catalog, schedule, &findings),
        Err(_) => {
            book.warning("No flows are given: the plumbing of this layout can't be computed. See the findings at the head of this sheet.")
        }
    }
    book.heading("First week");
    first_week(layout, schedule.as_ref().ok()).iter().for_each(|words| book.check_box(words));
    let pages = Content::Pages(Document::one_page_each("Commissioning sheet", book.finish()));
    let purpose = "For whoever starts the system: what to set, where to aim, what to expect, what to try; blanks to fill in.";
    vec![Sheet::new("commissioning.pdf", pages).purpose(purpose), Sheet::ready("aims.csv", aim_csv(layout)).purpose("The aims as a table.")]
}

fn findings(layout: &Layout, catalog: &Catalog, schedule: &Result<Schedule, Vec<Finding>>) -> Vec<Finding> {
    let mut all = layout::check(layout, catalog);
    match schedule {
        Ok(schedule) => {
            all.extend(schedule.findings.iter().cloned());
            all.extend(safety::check(layout, catalog, schedule));
        }
        Err(more) => all.extend(more.iter().cloned()),
    }
    all
}

fn write_faults(book: &mut Book, faults: &[&Finding]) {
    if faults.is_empty() {
        return;
    }
    book.warning(&format!("This revision has open faults ({}). Do not start, drill, buy or glue before they are mended:", faults.len()));
    for fault in faults {
        let mend = if fault.mend.is_empty() { String::new() } else { format!(" Mend: {}.", fault.mend) };
        book.paragraph(&format!("{}: {}.{mend}", subject(fault), fault.what));
    }
}

/// What a fault is about: the last word of its part.
fn subject(fault: &Finding) -> &str {
    match fault.part.rsplit('/').next() {
        Some(part) if !part.is_empty() => part,
        _ => "the layout",
    }
}

fn write_valves(book: &mut Book, numbering: &Numbering) {
    if numbering.valves.is_empty() {
        return;
    }
    book.heading("Valves");
    let columns = vec![
        Column::left("Valve", 0.8),
        Column::left("On run", 2.6),
        Column::left("Between", 4.5),
        Column::left("Kind", 1.8),
        Column::left("Set to", 3.0),
        Column::left("Set on site", 1.4),
    ];
    let rows = numbering.valves.iter().map(|valve| {
        let run = &numbering.runs[valve.run];
        let between = format!("{} and {}", end_words(&run.run.from), end_words(&run.run.to));
        vec![
            valve.tag.clone(),
            format!("{} ({})", run.tag, run.run.id),
            between,
            valve.part.clone(),
            setting(&valve.part, valve.opening),
            String::new(),
        ]
    });
    book.table(&Table { columns, rows: rows.collect() });
}

fn setting(part: &str, opening: f64) -> String {
    let percent = format!("{:.0} %", 100.0 * opening);
    if opening >= 1.0 {
        "open".to_owned()
    } else if opening <= 0.0 {
        "SHUT".to_owned()
    } else if part.to_lowercase().contains("gate") {
        format!("{percent} of its turns, counted from shut")
    } else {
        format!("{percent}: handle {:.0} deg from shut", 90.0 * opening)
    }
}

fn write_aims(book: &mut Book, layout: &Layout, numbering: &Numbering) {
    if layout.nozzles.is_empty() {
        return;
    }
    book.heading("Aim of the nozzles");
    book.paragraph(
        "Aim in the empty tank, before the rock goes in: lay a straight rod or a line-up light in the nozzle and point it at the mark. All distances are from inside faces, \
         left and right as seen from the front. A ball-and-socket end drifts by several degrees in use: mark its position.",
    );
    let columns = vec![
        Column::left("Nozzle", 1.3),
        Column::left("Hole", 0.7),
        Column::left("Turn from straight in, and tilt (seen from behind the nozzle)", 3.6),
        Column::left("Aim at", 4.8),
        Column::left("Straight distance", 2.0),
        Column::left("In the way later", 2.0),
        Column::left("Done", 0.9),
    ];
    let rows = layout.nozzles.iter().map(|nozzle| aim_row(layout, numbering, nozzle));
    book.table(&Table { columns, rows: rows.collect() });
}

fn aim_row(layout: &Layout, numbering: &Numbering, nozzle: &Nozzle) -> Vec<String> {
    let serves = end_words(&End::Nozzle(nozzle.id.clone()));
    let hole = numbering.holes.iter().find(|hole| hole.serves == serves).map_or_else(|| "—".to_owned(), |hole| hole.tag.clone());
    let Some(point) = aim_point(layout, nozzle) else {
        return vec![nozzle.id.clone(), hole, "no aim".into(), "—".into(), "—".into(), "—".into(), String::new()];
    };
    let in_the_way =
        point.in_the_way.as_ref().map_or_else(|| "—".to_owned(), |(part, along)| format!("{part}, after {}", near(1e3 * along)));
    vec![nozzle.id.clone(), hole, angle_words(layout, nozzle), point_words(&point), near(1e3 * point.distance), in_the_way, String::new()]
}

fn aim_csv(layout: &Layout) -> String {
    let row = |nozzle: &Nozzle| {
        let point = aim_point(layout, nozzle)?;
        let face = point.face.map_or("over the rim", |panel| panel.word());
        let [x, y, z] = (1e3 * point.at).to_array();
        Some(vec![nozzle.id.clone(), angle_words(layout, nozzle), face.to_owned(), mm(x), mm(y), mm(z), mm(1e3 * point.distance)])
    };
    let head = [
        "nozzle",
        "turn from straight in, and tilt",
        "aims at",
        "from left panel mm",
        "from front panel mm",
        "up from floor mm",
        "distance mm",
    ];
    csv(&head, &layout.nozzles.iter().filter_map(row).collect::<Vec<_>>())
}

fn write_expected(book: &mut Book, layout: &Layout, catalog: &Catalog, schedule: &Schedule, findings: &[Finding]) {
    book.heading("What to expect");
    book.paragraph(HOW_SURE);
    if schedule.duties.iter().any(|duty| !duty.report.converged) {
        book.warning("Some positions did not solve fully; their numbers are not to be trusted.");
    }
    write_pumps(book, layout, schedule);
    for (drum, part) in layout.drums.iter().enumerate() {
        book.heading(&format!("Positions of {}", end_words(&End::Drum(part.id.clone())).trim_end_matches(", inlet")));
        book.table(&position_table(layout, schedule, drum));
    }
    write_measuring(book, layout, schedule);
    power_cut::write(book, layout, safety::back_drain_volumes(layout, catalog, schedule), findings);
}

fn write_pumps(book: &mut Book, layout: &Layout, schedule: &Schedule) {
    let columns = vec![
        Column::left("Pump", 2.4),
        Column::left("Speed", 1.0),
        Column::left("Flow over the cycle", 3.4),
        Column::left("Head over the cycle", 3.0),
        Column::left("Measured flow", 1.6),
        Column::left("Measured head", 1.6),
    ];
    let rows = layout.pumps.iter().enumerate().map(|(at, pump)| {
        let flow = schedule.range(|duty| duty.pumps.get(at).map_or(0.0, |p| p.flow));
        let head = schedule.range(|duty| duty.pumps.get(at).map_or(0.0, |p| p.head));
        let span = |least: String, most: String| if least == most { most } else { format!("{least} to {most}") };
        vec![
            pump.id.clone(),
            format!("{:.0} %", 100.0 * pump.speed),
            span(flow_words(flow.min, layout.display), flow_words(flow.max, layout.display)),
            span(show::<HeadKind>(head.min, layout.display), show::<HeadKind>(head.max, layout.display)),
            String::new(),
            String::new(),
        ]
    });
    book.table(&Table { columns, rows: rows.collect() });
}

fn flow_words(flow: f64, display: Display) -> String {
    show::<FlowKind>(flow, display)
}

fn position_table(layout: &Layout, schedule: &Schedule, drum: usize) -> Table {
    let outlets = (layout.drums[drum].outlets as usize).min(MOST_OUTLETS);
    let unit = match layout.display {
        Display::Us => "gph",
        Display::Metric => "L/h",
    };
    let mut columns = vec![Column::left("Open", 2.2), Column::right("Time", 0.9)];
    columns.extend((1..=outlets).map(|n| Column::right(&format!("{n}, {unit}"), 1.2)));
    columns.extend([Column::right(&format!("Pump, {unit}"), 1.4), Column::right("Head", 1.2), Column::left("Measured", 1.6)]);
    let pump = pump_of(layout, &layout.drums[drum].id);
    let rows = positions(schedule, drum).iter().map(|position| position_row(layout, schedule, position, [drum, outlets], pump)).collect();
    Table { columns, rows }
}

/// A table has no room for more.
const MOST_OUTLETS: usize = 10;

fn position_row(
    layout: &Layout,
    schedule: &Schedule,
    position: &Position,
    [drum, outlets]: [usize; 2],
    pump: Option<usize>,
) -> Vec<String> {
    let duty = &schedule.duties[position.sample];
    let plain = |flow: f64| flow_words(flow, layout.display).split(' ').next().unwrap_or_default().to_owned();
    let mut row = vec![position.words(), format!("{:.0} %", 100.0 * position.share)];
    row.extend((0..outlets).map(|n| plain(duty.outlets.get(drum).and_then(|flows| flows.get(n)).copied().unwrap_or(0.0))));
    match pump.and_then(|pump| duty.pumps.get(pump)) {
        Some(pump) => row.extend([plain(pump.flow), show::<HeadKind>(pump.head, layout.display)]),
        None => row.extend(["—".to_owned(), "—".to_owned()]),
    }
    row.push(String::new());
    row
}

fn write_measuring(book: &mut Book, layout: &Layout, schedule: &Schedule) {
    book.heading("Measuring the nozzles");
    HOW_TO_MEASURE.iter().for_each(|words| book.paragraph(words));
    let (bucket, bucket_words) = match layout.display {
        Display::Us => (5.0 * 3.785_411_784e-3, "5 gal bucket"),
        Display::Metric => (0.020, "20 L bucket"),
    };
    let columns = vec![
        Column::left("Nozzle", 1.4),
        Column::left("Most flow", 1.8),
        Column::right(bucket_words, 1.6),
        Column::left("Measured", 1.5),
        Column::left("Float: from mark to mark", 3.6),
        Column::right("Float takes", 1.5),
        Column::left("Measured", 1.5),
    ];
    let rows = layout.nozzles.iter().enumerate().map(|(at, nozzle)| measuring_row(layout, schedule, at, nozzle, bucket));
    book.table(&Table { columns, rows: rows.collect() });
    book.paragraph(TYPE_BACK);
}

fn measuring_row(layout: &Layout, schedule: &Schedule, at: usize, nozzle: &Nozzle, bucket: f64) -> Vec<String> {
    let flow = schedule.range(|duty| duty.nozzles.get(at).map_or(0.0, |n| n.flow)).max;
    let momentum = schedule.range(|duty| duty.nozzles.get(at).map_or(0.0, |n| n.momentum)).max;
    let seconds_words = |t: f64| if t < 100.0 { format!("{t:.1} s") } else { format!("{t:.0} s") };
    let fill = if flow > 1e-9 { seconds_words(bucket / flow) } else { "no flow".to_owned() };
    let (farthest, grid) = match layout.display {
        Display::Us => (5.0 * 0.3048, 0.0254),
        Display::Metric => (1.5, 0.01),
    };
    let free = aim_point(layout, nozzle).map_or(0.0, |point| point.in_the_way.map_or(point.distance, |(_, along)| along));
    let float = marks(nozzle.bore.si(), free, farthest, grid)
        .filter(|_| is_round(&nozzle.kind))
        .and_then(|marks| Some((marks, seconds(momentum, marks)?)));
    let (way, time) = match float {
        Some(([first, last], t)) => {
            (format!("{} to {}", one(1e3 * first, layout.display), one(1e3 * last, layout.display)), seconds_words(t))
        }
        None => ("no free round jet".to_owned(), "—".to_owned()),
    };
    vec![nozzle.id.clone(), flow_words(flow, layout.display), fill, String::new(), way, time, String::new()]
}
