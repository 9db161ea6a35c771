//! The same study on coarser grids, and what the figures say about each other.

use super::{Extra, Progress, Record, Settings, Study, Watch, exposure::LIKELY, grid_error, record::Cost};
use crate::{catalog::Catalog, finding::Finding, finding::Grade, layout::Layout};
use std::time::Instant;

/// Runs the study on two coarser grids and adds the errors of its main figures.
///
/// # Errors
/// As a study.
pub fn add(study: &mut Study, (layout, catalog): (&Layout, &Catalog), settings: &Settings, watch: &mut Watch) -> Result<(), Vec<Finding>> {
    let begun = Instant::now();
    let mut coarser = Vec::new();
    for power in 1..=2 {
        let cell = study.record.run.cell_m * grid_error::RATIO.powi(power);
        let settings = Settings { cell, extra: Extra::default(), until_settled: false, ..settings.clone() };
        let found = super::run(layout, catalog, &settings, &mut |progress| watch(&Progress { phase: "coarser grid", ..progress.clone() }))?;
        if found.record.run.interrupted {
            return Ok(());
        }
        coarser.push(found.record);
    }
    let record = &mut study.record;
    let cells = [record.run.cell_m, coarser[0].run.cell_m, coarser[1].run.cell_m];
    let figures = figures(record);
    let others: Vec<_> = coarser.iter().map(self::figures).collect();
    let error = |index: usize| {
        let (quantity, unit, finest) = &figures[index];
        grid_error::of(quantity, unit, [*finest, others[0][index].2, others[1][index].2], cells)
    };
    record.grid_errors = (0..figures.len()).map(error).collect();
    record.run.costs.push(Cost { measure: "two coarser grids".into(), seconds: begun.elapsed().as_secs_f64(), bytes_per_cell: 0.0 });
    mark_near_limits(record);
    record.findings.push(told(record));
    record.findings.sort_by_key(|finding| std::cmp::Reverse(finding.grade));
    Ok(())
}

/// A figure: what, its unit, its value.
type Figure = (String, &'static str, f64);

/// The figures that are compared, in the same order for every record of a layout.
fn figures(record: &Record) -> Vec<Figure> {
    let dead = record.dead_spots.iter().map(|spot| spot.share).sum();
    let slow = record.share_under.iter().map(|under| (format!("share under {:.0} cm/s", under.limit_m_s * 100.0), "share", under.share));
    let colonies = record.colonies.iter().map(|colony| (format!("mean speed at {}", colony.id), "m/s", colony.mean_speed_m_s));
    let whole = [("mean speed".to_owned(), "m/s", record.mean_speed_m_s), ("share in dead spots".to_owned(), "share", dead)];
    whole.into_iter().chain(slow).chain(colonies).collect()
}

/// Colonies whose mean the grid's error takes across an end of their band aren't certain either.
fn mark_near_limits(record: &mut Record) {
    for colony in &mut record.colonies {
        let name = format!("mean speed at {}", colony.id);
        let error = record.grid_errors.iter().find(|error| error.quantity == name).map_or(0.0, |error| error.error);
        let off = error.max(LIKELY * colony.standard_error_m_s.unwrap_or_default());
        let near = [colony.want_low_m_s, colony.want_high_m_s].iter().any(|limit| (colony.mean_speed_m_s - limit).abs() <= off);
        colony.near_limit |= near;
        let part = |finding: &&mut Finding| finding.rule.starts_with("flow-too") && finding.part.ends_with(&format!("/{}", colony.id));
        if let Some(finding) = record.findings.iter_mut().find(part).filter(|finding| near && !finding.what.contains("not certain")) {
            finding.what.push_str(super::findings::NOT_CERTAIN);
        }
    }
}

fn told(record: &Record) -> Finding {
    let speed = &record.grid_errors[0];
    let dead = &record.grid_errors[1];
    let order = speed
        .order
        .map_or_else(|| "the three values don't draw together, so no order can be seen".to_owned(), |p| format!("observed order {p:.1}"));
    Finding::new(
        Grade::Note,
        "grid-error",
        "",
        format!(
            "by the cells' size the mean speed is good to {:.0} %, the share of the water in dead spots to {:.1} percentage points",
            100.0 * speed.error / speed.values[0].abs().max(1e-9),
            100.0 * dead.error
        ),
        format!(
            "computed on cells of {} mm; {order} (grid convergence index; Roache 1994)",
            speed.cells_m.iter().map(|cell| format!("{:.0}", cell * 1e3)).collect::<Vec<_>>().join(", ")
        ),
        "take smaller cells where a verdict hangs on it",
    )
}
