//! How far the numbers go: what they would be on other cells, and what they cost.

use super::Table;
use crate::report::shown::{NOTHING, duration, grouped, number, percent, tank_speed, tank_speed_unit};
use crate::study::record::{GridError, Record};
use crate::study::statistics::Statistics;
use crate::units::{Display, LengthKind, TankSpeedKind, show};

/// Only tables that have rows.
pub fn trust(record: &Record, display: Display) -> Vec<Table> {
    let mut tables = vec![grid_errors(record, display), costs(record)];
    tables.retain(|table| !table.rows.is_empty());
    tables
}

/// Main figures on three grids, with the error of the finest.
fn grid_errors(record: &Record, display: Display) -> Table {
    let cells: &[f64] = record.grid_errors.first().map_or(&[], |first| &first.cells_m);
    let mut headings = vec!["Figure".to_owned()];
    headings.extend(cells.iter().map(|&cell| show::<LengthKind>(cell, display)));
    headings.extend(["Order".to_owned(), "Error ±".to_owned()]);
    let note = format!(
        "Speeds in {}. By the grid convergence index (Roache 1994); without an order the values don't draw together, and the error is a cautious guess.",
        tank_speed_unit(display)
    );
    let rows = record.grid_errors.iter().map(|error| grid_error(error, display)).collect();
    Table::new("The same on coarser cells", headings, "lrrrrr", rows).with_note(&note)
}

fn grid_error(error: &GridError, display: Display) -> Vec<String> {
    let value = |v: f64| if error.unit == "m/s" { number::<TankSpeedKind>(v, display) } else { percent(v) };
    let order = error.order.map_or(NOTHING.to_owned(), |order| format!("{order:.1}"));
    let values = error.values.iter().map(|&v| value(v));
    let limit = error.quantity.strip_prefix("share under ").and_then(|limit| limit.strip_suffix(" cm/s")?.parse::<f64>().ok());
    let name = limit.map_or_else(|| error.quantity.clone(), |limit| format!("slower than {}", tank_speed(0.01 * limit, display)));
    std::iter::once(name).chain(values).chain([order, value(error.error)]).collect()
}

/// Time and memory of the study and of every measure that was asked for.
fn costs(record: &Record) -> Table {
    let run = &record.run;
    let row = |what: &str, seconds: f64, bytes: f64| {
        let time = if seconds > 0.0 { duration(seconds) } else { NOTHING.to_owned() };
        vec![what.to_owned(), time, if bytes > 0.0 { grouped(bytes.round() as usize) } else { NOTHING.to_owned() }]
    };
    let whole = row("flow, averages and verdict", run.wall_s, Statistics::bytes_per_cell() as f64);
    let besides = run.costs.iter().map(|cost| row(&cost.measure, cost.seconds, cost.bytes_per_cell));
    let rows = if run.wall_s > 0.0 { std::iter::once(whole).chain(besides).collect() } else { Vec::new() };
    let threads = crate::report::shown::count(run.threads, "thread");
    let peak =
        if run.peak_memory_bytes > 0 { format!(" Peak memory {:.0} MB.", run.peak_memory_bytes as f64 / 1e6) } else { String::new() };
    Table::new("What it took", ["Measure", "Time", "Bytes per cell"].map(String::from).to_vec(), "lrr", rows)
        .with_note(&format!("On {threads}; {} cells. Of the first row the bytes are those of the averages.{peak}", grouped(run.cell_count)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;
    use crate::study::record::Cost;

    #[test]
    fn grids_and_costs_are_told_when_there_are_any() {
        let mut record = sample::study(&sample::peninsula(), 0.1).record;
        record.run.wall_s = 0.0;
        assert_eq!(trust(&record, Display::Metric), Vec::new());
        let of = |quantity: &str, unit: &str, values: [f64; 3], order, error| GridError {
            quantity: quantity.into(),
            unit: unit.into(),
            values: values.to_vec(),
            cells_m: vec![0.02, 0.03, 0.045],
            order,
            error,
        };
        record.grid_errors = vec![
            of("mean speed", "m/s", [0.05, 0.06, 0.08], Some(1.7), 0.01),
            of("share in dead spots", "share", [0.1, 0.2, 0.1], None, 0.6),
        ];
        record.run.wall_s = 65.0;
        record.run.costs = vec![Cost { measure: "water age".into(), seconds: 12.0, bytes_per_cell: 40.0 }];
        let [grids, costs] = trust(&record, Display::Metric).try_into().unwrap();
        assert_eq!(grids.headings, ["Figure", "20 mm", "30 mm", "45 mm", "Order", "Error ±"]);
        assert_eq!(
            grids.rows,
            [["mean speed", "5.0", "6.0", "8.0", "1.7", "1.0"], ["share in dead spots", "10 %", "20 %", "10 %", "—", "60 %"]]
        );
        assert_eq!(costs.rows[1], ["water age", "12 s", "40"]);
    }
}
