//! Tables for spreadsheets: RFC 4180, SI units named in the headings.

mod measures;

use crate::study::record::{Range, Record};

/// File name and contents of each table of a study.
pub fn all(record: &Record) -> Vec<(&'static str, String)> {
    vec![
        ("runs.csv", runs(record)),
        ("outlets.csv", outlets(record)),
        ("dead-spots.csv", dead_spots(record)),
        ("colonies.csv", colonies(record)),
        ("measures.csv", measures::table(record)),
    ]
}

fn table(headings: &[&str], rows: impl Iterator<Item = Vec<String>>) -> String {
    let head = headings.iter().map(|h| (*h).to_owned()).collect();
    std::iter::once(head)
        .chain(rows)
        .map(|row: Vec<String>| row.iter().map(|cell| quoted(cell)).collect::<Vec<_>>().join(",") + "\r\n")
        .collect()
}

fn quoted(cell: &str) -> String {
    if cell.contains([',', '"', '\n', '\r']) { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell.to_owned() }
}

fn numbers(ranges: &[Range]) -> Vec<String> {
    ranges.iter().flat_map(|r| [r.min, r.mean, r.max]).map(|v| v.to_string()).collect()
}

fn runs(record: &Record) -> String {
    let headings = [
        "circuit",
        "run",
        "pipe",
        "bore_m",
        "flow_min_m3_s",
        "flow_mean_m3_s",
        "flow_max_m3_s",
        "velocity_min_m_s",
        "velocity_mean_m_s",
        "velocity_max_m_s",
        "head_loss_min_m",
        "head_loss_mean_m",
        "head_loss_max_m",
    ];
    let rows = record.links.iter().map(|l| {
        let mut row = vec![l.circuit.clone(), l.id.clone(), l.pipe.clone(), l.bore_m.to_string()];
        row.extend(numbers(&[l.flow_m3_s, l.velocity_m_s, l.head_loss_m]));
        row
    });
    table(&headings, rows)
}

fn outlets(record: &Record) -> String {
    let rows = record.outlets.iter().flat_map(|o| {
        let series = o.time_s.iter().zip(&o.open).zip(&o.flow_series_m3_s);
        series.map(|((t, open), q)| vec![o.drum.clone(), o.outlet.to_string(), t.to_string(), open.to_string(), q.to_string()])
    });
    table(&["drum", "outlet", "time_s", "open", "flow_m3_s"], rows)
}

fn dead_spots(record: &Record) -> String {
    let rows = record.dead_spots.iter().map(|d| {
        let mut row = vec![d.rank.to_string(), d.volume_m3.to_string(), d.share.to_string()];
        row.extend(d.centre_m.map(|c| c.to_string()));
        row.extend([d.mean_speed_m_s.to_string(), d.place.clone()]);
        row
    });
    table(&["rank", "volume_m3", "share", "x_m", "y_m", "z_m", "mean_speed_m_s", "place"], rows)
}

fn colonies(record: &Record) -> String {
    let headings = [
        "id",
        "kind",
        "want_low_m_s",
        "want_high_m_s",
        "mean_speed_m_s",
        "peak_m_s",
        "share_in_band",
        "verdict",
        "p95_m_s",
        "time_in_band",
        "time_over",
        "time_under",
        "standard_error_m_s",
    ];
    let known = |value: Option<f64>| value.map_or_else(String::new, |v| v.to_string());
    let rows = record.colonies.iter().map(|c| {
        let numbers = [c.want_low_m_s, c.want_high_m_s, c.mean_speed_m_s, c.peak_m_s, c.share_in_band].map(|v| v.to_string());
        let course = [Some(c.p95_m_s), c.time_in_band, c.time_over, c.time_under, c.standard_error_m_s].map(known);
        [vec![c.id.clone(), c.kind.clone()], numbers.to_vec(), vec![c.verdict.clone()], course.to_vec()].concat()
    });
    table(&headings, rows)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_quoted_where_needed() {
        let text = table(&["a", "b"], [vec!["x, \"y\"".to_owned(), "1".to_owned()]].into_iter());
        assert_eq!(text, "a,b\r\n\"x, \"\"y\"\"\",1\r\n");
    }
}
