//! What the study is of, at the head of the report.

use crate::layout::{Layout, revision};
use crate::report::shown::{today, volume};
use crate::report::tables::Table;
use crate::study::record::Record;
use crate::units::{Display, FlowKind, LengthKind, show};

/// The table "the job": tank, water, pumps, outlets, sequence, revision, date.
pub fn table(record: &Record, layout: &Layout) -> Table {
    let display = layout.display;
    let mut rows = vec![row("Tank inside", tank(layout, display)), row("Open water", volume(record.water_m3, display))];
    rows.extend((!record.pumps.is_empty()).then(|| row("Pumps", pumps(record, display))));
    rows.push(row("Nozzles, intakes", format!("{}, {}", layout.nozzles.len() + layout.propellers.len(), layout.intakes.len())));
    rows.extend(
        layout.active_sequence().map(|sequence| row("Sequence", format!("{}, repeats every {:.1} s", sequence.id, record.cycle_s))),
    );
    rows.push(row("Revision of the layout", revision(layout)));
    rows.push(row("Date of the report", today()));
    Table { title: "The job".into(), headings: vec!["What".into(), "As drawn".into()], lean: "ll", rows, note: String::new() }
}

fn row(what: &str, value: String) -> Vec<String> {
    vec![what.to_owned(), value]
}

fn tank(layout: &Layout, display: Display) -> String {
    let length = |m: f64| show::<LengthKind>(m, display);
    let size = layout.tank.size();
    let level = length(layout.tank.water_level.si());
    format!("{} long, {} from front to back, {} high; water {level} deep", length(size.x), length(size.y), length(size.z))
}

fn pumps(record: &Record, display: Display) -> String {
    let of = |pump: &crate::study::record::PumpRecord| format!("{} ({})", pump.id, show::<FlowKind>(pump.flow_m3_s.mean, display));
    record.pumps.iter().map(of).collect::<Vec<_>>().join(", ")
}
