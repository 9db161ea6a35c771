//! Every other measure of a study in one long table: measure, part, value, unit.

use crate::study::record::{
    AgeRecord, DetritusRecord, DyeRecord, ProbeRecord, Record, SandRecord, SeepageRecord, SkinRecord, SurfaceRecord,
};

type Row = (&'static str, String, f64, &'static str);

/// The table; measures that weren't asked for, or could not be given, have no row.
pub fn table(record: &Record) -> String {
    let cells = |(measure, part, value, unit): Row| vec![measure.to_owned(), part, value.to_string(), unit.to_owned()];
    super::table(&["measure", "part", "value", "unit"], rows(record).into_iter().filter(|row| row.2.is_finite()).map(cells))
}

fn rows(record: &Record) -> Vec<Row> {
    let mut rows = whole(record);
    rows.extend(record.skin.iter().flat_map(skin));
    rows.extend(record.seepage.iter().flat_map(seepage));
    rows.extend(record.sand.iter().flat_map(sand));
    rows.extend(record.surface.iter().flat_map(surface));
    rows.extend(record.fish_zones.iter().flat_map(|zone| {
        let of = |measure, value, unit| (measure, zone.intake.clone(), value, unit);
        [of("pull of the intake, volume", zone.volume_m3, "m3"), of("pull of the intake, reach", zone.reach_m, "m")]
    }));
    rows.extend(record.probes.iter().flat_map(probe));
    rows.extend(record.age.iter().flat_map(age));
    rows.extend(record.dye.iter().flat_map(dye));
    rows.extend(record.detritus.iter().flat_map(detritus));
    rows.extend(record.grid_errors.iter().map(|error| {
        let unit = if error.unit == "m/s" { "m/s" } else { "share" };
        ("error by the cells' size", error.quantity.clone(), error.error, unit)
    }));
    rows.extend(record.run.costs.iter().flat_map(|cost| {
        let of = |measure, value, unit| (measure, cost.measure.clone(), value, unit);
        [of("cost, time", cost.seconds, "s"), of("cost, memory", cost.bytes_per_cell, "bytes per cell")]
    }));
    rows
}

fn whole(record: &Record) -> Vec<Row> {
    let of = |measure, value, unit| (measure, String::new(), value, unit);
    let mut rows = vec![
        of("open water", record.water_m3, "m3"),
        of("turnover", record.turnover_per_hour, "1/h"),
        of("mean speed", record.mean_speed_m_s, "m/s"),
        of("standard error of the mean speed", record.run.standard_error_m_s.unwrap_or(f64::NAN), "m/s"),
        of("mean kinetic energy", record.mean_kinetic_energy_m2_s2, "m2/s2"),
        of("95th percentile of speed, mean", record.p95_speed_m_s, "m/s"),
        of("peak speed", record.peak_speed_m_s, "m/s"),
        of("change of direction, mean", record.direction_change, "share"),
        of("turns each joint cycle, mean", record.reversals_per_cycle, "1/cycle"),
        of("longest still spell, mean", record.longest_still_s, "s"),
    ];
    let under = record.share_under.iter().map(|under| ("water slower than", format!("{} m/s", under.limit_m_s), under.share, "share"));
    rows.extend(under);
    rows
}

fn skin(skin: &SkinRecord) -> Vec<Row> {
    let of = |measure, value, unit| (measure, skin.part.clone(), value, unit);
    vec![
        of("skin, area", skin.area_m2, "m2"),
        of("skin, mean speed", skin.mean_speed_m_s, "m/s"),
        of("skin, slowest tenth under", skin.slow_tenth_m_s, "m/s"),
        of("skin, fastest tenth over", skin.fast_tenth_m_s, "m/s"),
        of("skin, still", skin.still_share, "share"),
    ]
}

fn seepage(seepage: &SeepageRecord) -> Vec<Row> {
    let of = |measure, value, unit| (measure, seepage.part.clone(), value, unit);
    vec![
        of("porous rock, mean speed", seepage.mean_speed_m_s, "m/s"),
        of("porous rock, under 1 mm/s", seepage.hardly_share, "share"),
        of("porous rock, flow through it", seepage.through_m3_s, "m3/s"),
        of("porous rock, renewal", seepage.renewal_s.unwrap_or(f64::NAN), "s"),
    ]
}

fn sand(sand: &SandRecord) -> Vec<Row> {
    let of = |measure, value, unit| (measure, "sand".to_owned(), value, unit);
    vec![
        of("bed under open water", sand.bed_area_m2, "m2"),
        of("bed blown bare", sand.blown_area_m2, "m2"),
        of("bed stirred", sand.stirred_area_m2, "m2"),
        of("fastest flow over the bed, of the threshold", sand.worst_ratio, "share"),
    ]
}

fn surface(surface: &SurfaceRecord) -> Vec<Row> {
    let within =
        |skimmed: &crate::study::record::Skimmed| ("film skimmed within", format!("{} s", skimmed.within_s), skimmed.share, "share");
    let mut rows = vec![
        ("drift of the film to the overflow", String::new(), surface.drift_m_s, "m/s"),
        ("film skimmed within", format!("{} s", surface.horizon_s), surface.skimmed_share, "share"),
    ];
    rows.extend(surface.skimmed.iter().map(within));
    rows
}

fn probe(probe: &ProbeRecord) -> [Row; 3] {
    let of = |measure, value: Option<f64>| (measure, probe.id.clone(), value.unwrap_or(f64::NAN), "m/s");
    [
        of("probe, mean speed", probe.mean_speed_m_s),
        of("probe, standard error of the mean speed", probe.standard_error_m_s),
        of("probe, RMS", probe.rms_m_s),
    ]
}

fn age(age: &AgeRecord) -> Vec<Row> {
    let of = |measure, value, unit| (measure, String::new(), value, unit);
    let by_outlet = age.outlets.iter().flat_map(|outlet| {
        let of = |measure, value, unit| (measure, outlet.part.clone(), value, unit);
        [of("age of the water that leaves", outlet.age_s, "s"), of("share of the water that leaves", outlet.share, "share")]
    });
    let whole = [
        of("age of the water, mean", age.mean_s, "s"),
        of("age of the water that leaves", age.outlets_s, "s"),
        of("volume over flow", age.nominal_s, "s"),
        of("a twentieth of the water is older than", age.oldest_s, "s"),
        of("exchange efficiency", age.exchange_efficiency, "share"),
    ];
    whole.into_iter().chain(by_outlet).collect()
}

fn dye(dye: &DyeRecord) -> Vec<Row> {
    let of = |measure, value: Option<f64>, unit| (measure, dye.nozzle.clone(), value.unwrap_or(f64::NAN), unit);
    vec![
        of("dye mixed to 95 %", dye.mixed_s, "s"),
        of("dye mixed to 95 %, published formula", dye.published_s, "s"),
        of("dye, variation at the end", Some(dye.variation), "share"),
    ]
}

fn detritus(detritus: &DetritusRecord) -> Vec<Row> {
    let of = |measure, value| (measure, detritus.kind.clone(), value, "share");
    let caught =
        detritus.caught.iter().map(|caught| ("detritus caught", format!("{} by {}", detritus.kind, caught.part), caught.share, "share"));
    let rest = [
        of("detritus settled", detritus.settled_share),
        of("detritus settled, standard error", detritus.standard_error),
        of("detritus afloat", detritus.afloat_share),
    ];
    caught.chain(rest).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn only_what_is_known_has_a_row() {
        let layout = sample::peninsula();
        let mut record = sample::study(&layout, 0.1).record;
        record.run.standard_error_m_s = None;
        record.skin = vec![SkinRecord { part: "rocks/left, \"arch\"".into(), area_m2: 0.5, ..SkinRecord::default() }];
        let text = table(&record);
        assert!(text.starts_with("measure,part,value,unit\r\nopen water,,"), "{text}");
        assert!(text.contains("skin, area") && text.contains("\"rocks/left, \"\"arch\"\"\",0.5,m2\r\n"), "{text}");
        assert!(!text.contains("NaN") && !text.contains("\nstandard error of the mean"), "{text}");
    }
}
