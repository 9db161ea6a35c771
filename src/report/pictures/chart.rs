//! Charts of the sequence: which outlet is open when, and how much each delivers.

use super::canvas::{Anchor, Canvas, Style};
use super::theme::{self, MARGIN, WIDTH};
use super::{Picture, legend};
use crate::report::shown::{count, duration, number, shortened, trimmed, unit};
use crate::study::record::{OutletRecord, Record};
use crate::units::{Display, FlowKind};

const LEFT: f64 = 240.0;
const ROW: f64 = 30.0;
const TOP: f64 = MARGIN + 76.0;

/// Both charts; none without drum units.
pub fn all(record: &Record, display: Display) -> Vec<Picture> {
    if record.outlets.is_empty() { Vec::new() } else { vec![sequence(record), outlet_flow(record, display)] }
}

/// Rows with a gap between drum units: the outlet and the middle of its row.
fn rows(outlets: &[OutletRecord]) -> Vec<(&OutletRecord, f64)> {
    let mut y = TOP + 0.5 * ROW;
    let mut rows: Vec<(&OutletRecord, f64)> = Vec::new();
    for outlet in outlets {
        if rows.last().is_some_and(|(last, _)| last.drum != outlet.drum) {
            y += 0.6 * ROW;
        }
        rows.push((outlet, y));
        y += ROW;
    }
    rows
}

fn bottom(rows: &[(&OutletRecord, f64)]) -> f64 {
    rows.last().map_or(TOP, |(_, y)| y + 0.5 * ROW)
}

/// Names of the rows; the drum unit's at its first outlet only.
fn names(canvas: &mut Canvas, rows: &[(&OutletRecord, f64)]) {
    let mut last = "";
    for (outlet, y) in rows {
        canvas.text([LEFT - 12.0, y + 4.5], Style::new(13.0).anchor(Anchor::End), &format!("outlet {}", outlet.outlet));
        if outlet.drum != last {
            canvas.text([MARGIN, y + 4.5], Style::new(13.0).bold(), &shortened(&outlet.drum, 17));
            last = &outlet.drum;
        }
    }
}

fn sequence(record: &Record) -> Picture {
    let rows = rows(&record.outlets);
    let (end, wide) = (bottom(&rows), WIDTH - MARGIN - LEFT);
    let mut canvas = Canvas::new(WIDTH, end + 52.0 + MARGIN);
    let under =
        format!("Open share of each drum outlet over one joint cycle of {}. {}", duration(record.cycle_s), shortened(&record.layout, 48));
    legend::title(&mut canvas, "Sequence", &under);
    names(&mut canvas, &rows);
    for (outlet, y) in &rows {
        canvas.rect([LEFT, y - 11.0], [wide, 22.0], &format!("fill=\"{}\"", theme::TRACK));
        canvas.polygon(&area(outlet, record.cycle_s, *y, wide), &format!("fill=\"{}\"", theme::OPEN));
    }
    time_axis(&mut canvas, record.cycle_s, end + 4.0, wide);
    let alt = format!("Sequence chart: {} over one joint cycle of {}.", count(rows.len(), "drum outlet"), duration(record.cycle_s));
    Picture { name: "sequence".into(), title: "Sequence".into(), alt, svg: canvas.finish("Sequence") }
}

fn area(outlet: &OutletRecord, cycle_s: f64, y: f64, wide: f64) -> Vec<[f64; 2]> {
    let low = y + 11.0;
    let x = |t: f64| LEFT + wide * (t / cycle_s.max(1e-9)).clamp(0.0, 1.0);
    let line = outlet.time_s.iter().zip(&outlet.open).map(|(t, open)| [x(*t), low - 22.0 * open.clamp(0.0, 1.0)]);
    let again = outlet.open.first().copied().unwrap_or(0.0).clamp(0.0, 1.0);
    let mut points = vec![[LEFT, low]];
    points.extend(line);
    points.extend([[LEFT + wide, low - 22.0 * again], [LEFT + wide, low]]);
    points
}

fn time_axis(canvas: &mut Canvas, cycle_s: f64, y: f64, wide: f64) {
    let step = [0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1800.0, 3600.0];
    let step = step.into_iter().find(|s| cycle_s / s <= 13.0).unwrap_or(cycle_s.max(1.0) / 10.0);
    canvas.line([LEFT, y], [LEFT + wide, y], &format!("stroke=\"{}\"", theme::INK));
    let ticks = (cycle_s / step).floor().min(100.0) as u32;
    for i in 0..=ticks {
        let t = f64::from(i) * step;
        let x = LEFT + wide * t / cycle_s.max(1e-9);
        canvas.line([x, y], [x, y + 5.0], &format!("stroke=\"{}\"", theme::INK));
        canvas.text([x, y + 20.0], Style::new(12.5).anchor(Anchor::Middle), &tick(t, cycle_s));
    }
    canvas.text([LEFT + wide, y + 40.0], Style::new(12.5).fill(theme::SOFT_INK).anchor(Anchor::End), "time");
}

/// A time on the axis: seconds as long as they read easily.
fn tick(t: f64, cycle_s: f64) -> String {
    if cycle_s <= 600.0 { format!("{} s", trimmed(t, 1)) } else { duration(t) }
}

fn outlet_flow(record: &Record, display: Display) -> Picture {
    let rows = rows(&record.outlets);
    let (end, wide) = (bottom(&rows), WIDTH - 2.0 * MARGIN - LEFT - 90.0);
    let most = record.outlets.iter().map(|o| o.flow_m3_s.max).fold(1e-9, f64::max);
    let mut canvas = Canvas::new(WIDTH, end + 46.0 + MARGIN);
    let unit = unit::<FlowKind>(display);
    legend::title(
        &mut canvas,
        "Flow of each outlet",
        &format!("Bar: time mean; thin line: least to most over the joint cycle; {unit}. {}", record.layout),
    );
    names(&mut canvas, &rows);
    let x = |flow: f64| LEFT + wide * (flow / most).clamp(0.0, 1.0);
    for (outlet, y) in &rows {
        let q = &outlet.flow_m3_s;
        canvas.rect([LEFT, y - 9.0], [x(q.mean) - LEFT, 18.0], &format!("fill=\"{}\"", theme::FLOW));
        canvas.line([x(q.min), *y], [x(q.max), *y], &format!("stroke=\"{}\" stroke-width=\"1.6\"", theme::INK));
        for flow in [q.min, q.max] {
            canvas.line([x(flow), y - 5.0], [x(flow), y + 5.0], &format!("stroke=\"{}\" stroke-width=\"1.6\"", theme::INK));
        }
        let text = format!(
            "{} ({} to {})",
            number::<FlowKind>(q.mean, display),
            number::<FlowKind>(q.min, display),
            number::<FlowKind>(q.max, display)
        );
        canvas.text_with_halo([x(q.max) + 9.0, y + 4.5], Style::new(12.5), &text);
    }
    canvas.line([LEFT, TOP - 4.0], [LEFT, end + 2.0], &format!("stroke=\"{}\"", theme::INK));
    let alt = format!("Flow of {}: time mean, least and most over one joint cycle.", count(rows.len(), "drum outlet"));
    Picture { name: "outlets".into(), title: "Flow of each outlet".into(), alt, svg: canvas.finish("Flow of each outlet") }
}
