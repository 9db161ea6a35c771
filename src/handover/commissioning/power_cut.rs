//! The power-cut test: what is expected, where the sump's line should come to stand, what to write down.

use super::words::{POWER_CUT, POWER_CUT_WITHOUT_SUMP};
use crate::finding::Finding;
use crate::handover::measure::near;
use crate::handover::page::{Book, Column, Table};
use crate::layout::Layout;
use crate::safety::BackDrain;
use crate::units::{Display, VolumeKind, show};

/// The test with its predicted lines.
pub(super) fn write(book: &mut Book, layout: &Layout, drain: Option<BackDrain>, findings: &[Finding]) {
    book.heading("Power-cut test");
    let steps = if layout.sump.is_some() { POWER_CUT.as_slice() } else { POWER_CUT_WITHOUT_SUMP.as_slice() };
    steps.iter().for_each(|words| book.check_box(words));
    let Some(drain) = drain else {
        return book.paragraph("No back-drain volume is predicted: the layout has no sump, or no return loop.");
    };
    for finding in findings.iter().filter(|finding| finding.rule.starts_with("back-drain")) {
        book.paragraph(&format!("Expected: {}. Reckoned so: {}.", finding.what, finding.why));
    }
    book.paragraph(&format!(
        "Expected line in the sump: running line + expected volume / water surface of the sump. The sump's footprint is not in the layout: measure length x width of its water and read the rise here.{}",
        layout.sump.as_ref().map_or_else(String::new, |sump| format!(" Room above the running line in the layout: {}.", show::<VolumeKind>(sump.free_volume.si(), layout.display)))
    ));
    book.table(&rises(drain, layout.display));
    book.paragraph(
        "Water surface of the sump ________  running line marked at ________  line after the cut, valves holding ________  valves held open ________  room left to the rim ________",
    );
}

/// Rise of the sump's line by its water surface.
fn rises(drain: BackDrain, display: Display) -> Table {
    let volume = |cubic_metres: f64| show::<VolumeKind>(cubic_metres, display);
    let columns = vec![
        Column::left("Water surface of the sump", 3.0),
        Column::right(&format!("Rise, check valves holding ({})", volume(drain.held)), 3.4),
        Column::right(&format!("Rise, check valves stuck open ({})", volume(drain.failed)), 3.4),
    ];
    let rise = |cubic_metres: f64, area: f64| near(1e3 * cubic_metres / area);
    let row = |(words, area): (String, f64)| vec![words, rise(drain.held, area), rise(drain.failed, area)];
    Table { columns, rows: surfaces(display).into_iter().map(row).collect() }
}

/// Usual footprints, m².
fn surfaces(display: Display) -> Vec<(String, f64)> {
    match display {
        Display::Us => [(30.0, 12.0), (36.0, 16.0), (48.0, 18.0), (60.0, 24.0)]
            .map(|(l, w)| (format!("{l} in x {w} in"), l * w * 0.0254 * 0.0254))
            .into(),
        Display::Metric => [(600.0, 350.0), (800.0, 400.0), (1000.0, 500.0), (1500.0, 600.0)]
            .map(|(l, w)| (format!("{l} mm x {w} mm"), l * w * 1e-6))
            .into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 50 L on 500 mm x 1000 mm: 100 mm.
    #[test]
    fn volume_over_surface() {
        let table = rises(BackDrain { held: 0.05, failed: 0.1 }, Display::Metric);
        let row = table.rows.iter().find(|row| row[0] == "1000 mm x 500 mm").unwrap();
        assert!(row[1].starts_with("100 mm") && row[2].starts_with("200 mm"), "{row:?}");
    }
}
