//! The sequence as bars of blocks: which outlet is open when over one joint cycle.

use super::page::Page;
use crate::report::shown::{duration, shortened};
use crate::study::record::OutletRecord;

/// Widest name before a bar.
const NAME: usize = 20;

/// One bar an outlet; nothing when there are no drum units.
pub fn write(page: &mut Page, outlets: &[OutletRecord], cycle_s: f64) {
    if outlets.is_empty() {
        return;
    }
    page.heading("Sequence");
    page.paragraph("", &format!("One joint cycle of {}. Full block: open; shaded: changing over; dot: closed.", duration(cycle_s)));
    let columns = page.width() - NAME - 2;
    page.line("");
    page.line(&scale(cycle_s, columns));
    for outlet in outlets {
        let name = format!("{} {}", shortened(&outlet.drum, NAME - 4), outlet.outlet);
        page.line(&format!("{name:>NAME$}  {}", bar(outlet, cycle_s, columns)));
    }
}

fn scale(cycle_s: f64, columns: usize) -> String {
    let end = duration(cycle_s);
    format!("{:>NAME$}  0 s{end:>width$}", "", width = columns.saturating_sub(3))
}

fn bar(outlet: &OutletRecord, cycle_s: f64, columns: usize) -> String {
    (0..columns).map(|i| block(open_at(outlet, cycle_s * (i as f64 + 0.5) / columns as f64))).collect()
}

fn block(open: f64) -> char {
    match open {
        o if o > 0.9 => '█',
        o if o > 0.5 => '▓',
        o if o > 0.1 => '░',
        _ => '·',
    }
}

/// Open fraction at a time, between the samples by straight lines.
pub fn open_at(outlet: &OutletRecord, time: f64) -> f64 {
    let (times, open) = (&outlet.time_s, &outlet.open);
    let after = times.partition_point(|t| *t <= time).min(open.len());
    match after {
        0 => open.first().copied().unwrap_or(0.0),
        n if n >= times.len() => open.last().copied().unwrap_or(0.0),
        n => {
            let share = (time - times[n - 1]) / (times[n] - times[n - 1]).max(1e-12);
            open[n - 1] + share * (open[n] - open[n - 1])
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::record::Range;

    #[test]
    fn bars_show_open_and_closed() {
        let outlet = OutletRecord {
            drum: "D".into(),
            outlet: 1,
            share_open: 0.5,
            flow_m3_s: Range::default(),
            time_s: vec![0.0, 4.0, 6.0, 10.0],
            open: vec![1.0, 1.0, 0.0, 0.0],
            flow_series_m3_s: vec![0.0; 4],
        };
        assert_eq!(bar(&outlet, 10.0, 10), "████▓░····");
        assert_eq!(open_at(&outlet, 5.0), 0.5);
    }
}
