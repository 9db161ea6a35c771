//! A made-up study of a demo layout, for tests of reports: numbers with the right shape, computed by nobody.

use crate::finding::{Finding, Grade};
use crate::layout::{Layout, solid};
use crate::study::record::*;
use crate::study::{Fields, Study};
use glam::DVec3;

/// A demo layout, read without the file module's care.
pub fn layout(text: &str) -> Layout {
    ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME).from_str(text).unwrap()
}

/// The embedded peninsula.
pub fn peninsula() -> Layout {
    layout(include_str!("../../layouts/peninsula.ron"))
}

/// A swirl with a slow corner, cells of `h`.
pub fn study(layout: &Layout, h: f64) -> Study {
    let fields = fields(layout, h);
    Study { record: record(layout, &fields), fields }
}

fn fields(layout: &Layout, h: f64) -> Fields {
    let size = DVec3::new(layout.tank.length.si(), layout.tank.width.si(), layout.tank.water_level.si());
    let n = [size.x, size.y, size.z].map(|s| (s / h).round() as usize);
    let count = n[0] * n[1] * n[2];
    let mut f = Fields {
        n,
        h,
        water: vec![1.0; count],
        mean_velocity: vec![[0.0; 3]; count],
        mean_speed: vec![0.0; count],
        rms: vec![0.02; count],
        peak: vec![0.3; count],
        share_still: vec![0.0; count],
        dead: vec![0; count],
        ..Fields::default()
    };
    let solids = solid::solids(layout);
    for i in 0..count {
        let p = DVec3::from(f.centre(i));
        if solid::distance(&solids, p) < 0.0 {
            f.water[i] = 0.0;
            continue;
        }
        let q = (p - 0.5 * size) / size;
        let v = DVec3::new(-q.y, 0.6 * q.x, 0.2 * q.z * q.x) * 0.5 * (0.3 + p.z / size.z);
        f.mean_velocity[i] = [v.x as f32, v.y as f32, v.z as f32];
        f.mean_speed[i] = v.length() as f32 + 0.004;
        if f.mean_speed[i] < 0.02 {
            f.share_still[i] = 0.95;
            f.dead[i] = if p.x > 0.5 * size.x { 1 } else { 2 };
        }
    }
    f
}

fn range(min: f64, max: f64) -> Range {
    Range { min, mean: 0.5 * (min + max), max }
}

fn record(layout: &Layout, fields: &Fields) -> Record {
    let mut findings = vec![
        Finding::new(
            Grade::Caution,
            "dead-spot",
            "dead_spots/1",
            "12.3 L of water stays under 0.8 in/s for 95 % of the time.",
            "Dirt settles there.",
            "Turn nozzle A3 a few degrees toward it.",
        ),
        Finding::new(
            Grade::Fault,
            "screen-speed",
            "intakes/intake B1",
            "Water goes through the screen at 0.81 ft/s.",
            "Over 0.5 ft/s small fish are held on the screen (40 CFR 125.94(c)).",
            "Use a screen of at least 340 cm² open area, or a second intake.",
        ),
        Finding::new(Grade::Note, "bore", "", "Average bores are used.", "", ""),
    ];
    findings.sort_by_key(|f| std::cmp::Reverse(f.grade));
    Record {
        record_version: RECORD_VERSION,
        layout: layout.name.clone(),
        run: RunInfo {
            cell_m: fields.h,
            cells: fields.n,
            cell_count: fields.len(),
            water_cells: fields.len() * 4 / 5,
            spin_up_s: 60.0,
            averaged_s: 240.0,
            cycles: 2.0,
            steps: 31_000,
            seed: 1,
            threads: 2,
            wall_s: 300.0,
            cell_steps_per_s: 1.2e7,
            peak_memory_bytes: 90_000_000,
            half_to_half: 0.031,
            ..RunInfo::default()
        },
        cycle_s: 120.0,
        pumps: layout
            .pumps
            .iter()
            .map(|p| PumpRecord {
                id: p.id.clone(),
                flow_m3_s: range(0.0029, 0.0034),
                head_m: range(4.4, 5.2),
                speed: p.speed,
                shut_off_share: 0.0,
                run_out_share: 0.0,
                power_w: Some(410.0),
                efficiency: Some(0.36),
                energy_kwh_year: Some(3594.0),
                programme: Vec::new(),
            })
            .collect(),
        links: layout
            .circuits
            .iter()
            .flat_map(|c| {
                c.suction.iter().chain(&c.discharge).map(|r| LinkRecord {
                    circuit: c.id.clone(),
                    id: r.id.clone(),
                    pipe: r.pipe.clone(),
                    bore_m: 0.0525,
                    flow_m3_s: range(0.0002, 0.0031),
                    velocity_m_s: range(0.1, 1.43),
                    head_loss_m: range(0.001, 0.41),
                })
            })
            .collect(),
        drums: layout
            .drums
            .iter()
            .map(|d| DrumRecord {
                id: d.id.clone(),
                least_open_outlets: 1.5,
                least_open_area_m2: 0.003,
                least_open_at_s: 5.0,
                most_open_outlets: 2.0,
            })
            .collect(),
        outlets: layout.drums.iter().flat_map(|d| (1..=d.outlets).map(|i| outlet(&d.id, i, d.outlets))).collect(),
        nozzles: layout
            .nozzles
            .iter()
            .map(|n| NozzleRecord {
                id: n.id.clone(),
                flow_m3_s: range(0.0, 0.0021),
                speed_m_s: range(0.0, 1.84),
                momentum_m4_s2: range(0.0, 0.0039),
                reynolds: 78_123.0,
                thrust_n: range(0.0, 4.0),
                entrained_m3_s: range(0.0, 0.0),
            })
            .collect(),
        intakes: layout
            .intakes
            .iter()
            .map(|i| IntakeRecord {
                id: i.id.clone(),
                flow_m3_s: range(0.0014, 0.0017),
                approach_m_s: Some(range(0.05, 0.06)),
                through_m_s: Some(range(0.1, if i.id.ends_with("B1") { 0.247 } else { 0.11 })),
                limit_m_s: None,
            })
            .collect(),
        water_m3: fields.water_volume(),
        turnover_per_hour: 17.0,
        share_under: [0.01, 0.02, 0.03, 0.05, 0.10]
            .map(|limit_m_s| ShareUnder { limit_m_s, share: limit_m_s * 4.0, ..ShareUnder::default() })
            .to_vec(),
        mean_speed_m_s: fields.volume_mean(|i| f64::from(fields.mean_speed[i])),
        mean_kinetic_energy_m2_s2: 0.0041,
        p95_speed_m_s: 0.14,
        peak_speed_m_s: 1.2,
        direction_change: 0.4,
        reversals_per_cycle: 1.5,
        longest_still_s: 6.0,
        dead_spots: (1..=2).map(|rank| spot(fields, rank)).collect(),
        colonies: layout
            .colonies
            .iter()
            .map(|c| ColonyRecord {
                id: c.id.clone(),
                kind: "colony".into(),
                want_low_m_s: c.want.band(&layout.bands).0,
                want_high_m_s: c.want.band(&layout.bands).1,
                mean_speed_m_s: 0.081,
                peak_m_s: 0.31,
                share_in_band: 0.4,
                verdict: if c.want.band(&layout.bands).0 > 0.08 { "too slow" } else { "in band" }.into(),
                ..ColonyRecord::default()
            })
            .collect(),
        sand: None,
        surface: None,
        fish_zones: Vec::new(),
        age: None,
        dye: None,
        detritus: Vec::new(),
        grid_errors: Vec::new(),
        skin: Vec::new(),
        seepage: Vec::new(),
        probes: layout
            .probes
            .iter()
            .map(|p| ProbeRecord {
                id: p.id.clone(),
                at_m: p.at.metres().into(),
                mean_velocity_m_s: Some([0.08, -0.01, 0.0]),
                mean_speed_m_s: Some(0.09),
                rms_m_s: Some(0.04),
                standard_error_m_s: Some(0.004),
            })
            .collect(),
        findings,
    }
}

fn outlet(drum: &str, number: u32, of: u32) -> OutletRecord {
    let time_s: Vec<f64> = (0..=120).map(f64::from).collect();
    let start = 120.0 * f64::from(number - 1) / f64::from(of);
    let open: Vec<f64> = time_s.iter().map(|t| (1.0 - ((t - start).rem_euclid(120.0) - 30.0).abs() / 30.0 + 0.5).clamp(0.0, 1.0)).collect();
    let flow: Vec<f64> = open.iter().map(|o| 0.0021 * o).collect();
    OutletRecord {
        drum: drum.to_owned(),
        outlet: number,
        share_open: 0.44,
        flow_m3_s: Range { min: 0.00003, mean: 0.0009, max: 0.0021 },
        time_s,
        open,
        flow_series_m3_s: flow,
    }
}

fn spot(fields: &Fields, rank: u16) -> DeadSpot {
    let cells: Vec<usize> = (0..fields.len()).filter(|i| fields.dead[*i] == rank).collect();
    let places: Vec<DVec3> = cells.iter().map(|i| DVec3::from(fields.centre(*i))).collect();
    let volume: f64 = cells.iter().map(|i| fields.volume(*i)).sum();
    let low = places.iter().copied().reduce(DVec3::min).unwrap_or_default();
    let high = places.iter().copied().reduce(DVec3::max).unwrap_or_default();
    let centre = places.iter().sum::<DVec3>() / places.len().max(1) as f64;
    DeadSpot {
        rank: rank.into(),
        volume_m3: volume,
        share: volume / fields.water_volume(),
        centre_m: centre.into(),
        from_m: low.into(),
        to_m: high.into(),
        mean_speed_m_s: 0.012,
        place: "between the middle ridge and the right bommie, 4 in above the sand".into(),
        ..DeadSpot::default()
    }
}
