//! Colonies and zones against the flow they want, and shares of the water under round limits.

use super::{
    Fields,
    record::{ColonyRecord, ShareUnder},
    watched::Watched,
};
use crate::layout::{Colony, Layout, Want, Zone};

/// Limits of the shares of slow water, m/s.
pub const SHARE_LIMITS: [f64; 5] = [0.01, 0.02, 0.03, 0.05, 0.10];

/// Standard errors within which a mean most likely lies: 95 % of the time with many batches.
pub const LIKELY: f64 = 2.0;

/// Share of the open water whose time-mean speed is under each of [`SHARE_LIMITS`].
pub fn shares_under(fields: &Fields) -> Vec<ShareUnder> {
    let off = |cell: usize| LIKELY * fields.error(cell).unwrap_or_default();
    let share = |limit: f64, errors: f64| {
        fields.volume_mean(|cell| if f64::from(fields.mean_speed[cell]) + errors * off(cell) < limit { 1.0 } else { 0.0 })
    };
    let known = !fields.standard_error.is_empty();
    let of = |&limit_m_s: &f64| ShareUnder {
        limit_m_s,
        share: share(limit_m_s, 0.0),
        share_low: known.then(|| share(limit_m_s, 1.0)),
        share_high: known.then(|| share(limit_m_s, -1.0)),
    };
    SHARE_LIMITS.iter().map(of).collect()
}

/// The groups of cells of every colony, then of every zone of a layout; `shape` has the water.
pub fn watched(shape: &Fields, layout: &Layout) -> Vec<Watched> {
    let group =
        |id: &str, cells: Vec<usize>| Watched::new(id, &cells.into_iter().map(|cell| (cell, shape.volume(cell))).collect::<Vec<_>>());
    let colonies = layout.colonies.iter().map(|colony| group(&colony.id, round(shape, colony)));
    let zones = layout.zones.iter().map(|zone| group(&zone.id, within(shape, zone)));
    colonies.chain(zones).collect()
}

/// Every colony, then every zone of a layout; `watched` has their course in the same order, cut into batches of `batch` seconds.
pub fn colonies(fields: &Fields, layout: &Layout, watched: &[Watched], batch: f64) -> Vec<ColonyRecord> {
    let mut records = judged(fields, layout);
    for (record, group) in records.iter_mut().zip(watched).filter(|(record, group)| record.id == group.id) {
        add_course(record, group, batch);
    }
    records
}

/// What the course of a group adds to its record.
fn add_course(record: &mut ColonyRecord, group: &Watched, batch: f64) {
    let (low, high) = (record.want_low_m_s, record.want_high_m_s);
    let shares = group.shares(low, high);
    record.time_in_band = shares.map(|shares| shares.within);
    record.time_over = shares.map(|shares| shares.over);
    record.time_under = shares.map(|shares| shares.under);
    record.standard_error_m_s = group.standard_error(batch);
    let off = LIKELY * record.standard_error_m_s.unwrap_or_default();
    record.near_limit = [low, high].iter().any(|limit| (record.mean_speed_m_s - limit).abs() <= off);
}

fn judged(fields: &Fields, layout: &Layout) -> Vec<ColonyRecord> {
    let band = |want: &Want| want.band(&layout.bands);
    let colonies = layout.colonies.iter().map(|colony| judge(fields, &colony.id, "colony", band(&colony.want), &round(fields, colony)));
    let zones = layout.zones.iter().map(|zone| judge(fields, &zone.id, "zone", band(&zone.want), &within(fields, zone)));
    colonies.chain(zones).collect()
}

/// Cells with water whose middles lie within the colony's own size of its middle, but no nearer than a cell and a half:
/// the water that it feels, half a diameter round its skin.
fn round(fields: &Fields, colony: &Colony) -> Vec<usize> {
    let radius = colony.size.si().max(1.5 * fields.h);
    let middle = colony.at.metres().to_array();
    cells_where(fields, |centre| (0..3).map(|axis| (centre[axis] - middle[axis]).powi(2)).sum::<f64>() <= radius * radius)
}

/// Cells with water whose middles lie in the zone's box, grown to at least one cell.
fn within(fields: &Fields, zone: &Zone) -> Vec<usize> {
    let (a, b) = (zone.from.metres(), zone.to.metres());
    let middle = (a + b) / 2.0;
    let half = ((a - b).abs() / 2.0).max(glam::DVec3::splat(fields.h / 2.0));
    cells_where(fields, |centre| (glam::DVec3::from_array(centre) - middle).abs().cmple(half * (1.0 + 1e-9)).all())
}

fn cells_where(fields: &Fields, belongs: impl Fn([f64; 3]) -> bool) -> Vec<usize> {
    (0..fields.len()).filter(|&cell| fields.water[cell] > 0.0 && belongs(fields.centre(cell))).collect()
}

fn judge(fields: &Fields, id: &str, kind: &str, (low, high): (f64, f64), cells: &[usize]) -> ColonyRecord {
    let volume: f64 = cells.iter().map(|&cell| fields.volume(cell)).sum();
    let mean = |of: &dyn Fn(usize) -> f64| match cells {
        [] => 0.0,
        _ => cells.iter().map(|&cell| fields.volume(cell) * of(cell)).sum::<f64>() / volume,
    };
    let speed = |cell: usize| f64::from(fields.mean_speed[cell]);
    let mean_speed = mean(&speed);
    ColonyRecord {
        id: id.into(),
        kind: kind.into(),
        want_low_m_s: low,
        want_high_m_s: high,
        mean_speed_m_s: mean_speed,
        peak_m_s: cells.iter().map(|&cell| f64::from(fields.peak[cell])).fold(0.0, f64::max),
        p95_m_s: cells.iter().map(|&cell| fields.p95.get(cell).map_or(0.0, |&speed| f64::from(speed))).fold(0.0, f64::max),
        share_in_band: mean(&|cell| if (low..=high).contains(&speed(cell)) { 1.0 } else { 0.0 }),
        verdict: verdict(cells.is_empty(), mean_speed, low, high).into(),
        ..ColonyRecord::default()
    }
}

fn verdict(dry: bool, speed: f64, low: f64, high: f64) -> &'static str {
    match speed {
        _ if dry => "no water there",
        s if s < low => "too slow",
        s if s > high => "too fast",
        _ => "in band",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::Bands;

    /// Time-mean speed rises from 0 at x = 0 by 1 cm/s for every 10 cm; peaks are three times that.
    fn ramp() -> Fields {
        let mut fields = Fields { n: [40, 8, 8], h: 0.05, water: vec![1.0; 2560], ..Fields::default() };
        fields.mean_speed = (0..2560).map(|cell| (0.1 * fields.centre(cell)[0]) as f32).collect();
        fields.peak = fields.mean_speed.iter().map(|speed| 3.0 * speed).collect();
        fields
    }

    #[test]
    fn shares_of_a_ramp() {
        let shares = shares_under(&ramp());
        for (share, expected) in shares.iter().zip([0.05, 0.10, 0.15, 0.25, 0.50]) {
            assert!((share.share - expected).abs() < 1e-9, "{share:?}");
        }
    }

    #[test]
    fn zones_and_colonies_on_a_ramp() {
        let zone = |x0: f64, x1: f64, want: Want| -> ColonyRecord {
            let text = format!(r#"(id:"z",from:("{x0} m","0.1 m","0.1 m"),to:("{x1} m","0.3 m","0.3 m"),want:gentle)"#);
            let zone: Zone = ron::from_str(&text).unwrap();
            let fields = ramp();
            judge(&fields, "z", "zone", want.band(&Bands::default()), &within(&fields, &zone))
        };
        let gentle = zone(0.2, 0.6, Want::Gentle);
        assert!((gentle.mean_speed_m_s - 0.04).abs() < 1e-8, "{gentle:?}");
        assert!((gentle.share_in_band - 0.75).abs() < 1e-9, "{gentle:?}");
        assert!((gentle.peak_m_s - 3.0 * 0.0575).abs() < 1e-6);
        assert_eq!(gentle.verdict, "in band");
        assert_eq!(zone(0.2, 0.6, Want::Strong).verdict, "too slow");
        assert_eq!(zone(1.6, 2.0, Want::Gentle).verdict, "too fast");
        assert_eq!(zone(3.0, 4.0, Want::Gentle).verdict, "no water there");

        let colony: Colony = ron::from_str(r#"(id:"c",at:("1 m","0.2 m","0.2 m"),size:"10 cm",want:strong)"#).unwrap();
        let fields = ramp();
        let record = judge(&fields, "c", "colony", colony.want.band(&Bands::default()), &round(&fields, &colony));
        assert!((record.mean_speed_m_s - 0.1).abs() < 1e-8 && (record.share_in_band - 0.5).abs() < 1e-9, "{record:?}");
    }
}
