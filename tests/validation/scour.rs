//! Sand under a uniform current: blown where the current is over Soulsby's threshold speed, and only there.

use slackwater::{
    layout::Layout,
    study::{Fields, scour},
    water::WaterProperties,
};

/// A tank 1.0 × 0.5 × 0.5 m with 4 cm of sand of this grain.
fn bed(grain: &str) -> Layout {
    let panel = r#"(material: glass, thickness: "10 mm")"#;
    ron::Options::default()
        .with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME)
        .from_str(&format!(
            r#"(version: 1, name: "Bed", tank: (length: "1 m", width: "500 mm", height: "550 mm", water_level: "500 mm",
                panels: (front: {panel}, back: {panel}, left: {panel}, right: {panel}, bottom: {panel})),
                sand: (depth: "4 cm", grain: "{grain}"))"#
        ))
        .unwrap()
}

/// A current along x whose mean speed rises from left to right to `fastest`, peaks twice as high, over 40 mm of sand on 20 mm cells.
fn ramp(fastest: f64) -> Fields {
    let (n, h) = ([50, 25, 25], 0.02);
    let count = n.iter().product();
    let mut fields = Fields { n, h, water: vec![1.0; count], ..Fields::default() };
    let at = |cell: usize| fields.centre(cell)[0];
    let speed: Vec<f32> = (0..count).map(|cell| (fastest * at(cell)) as f32).collect();
    fields.water = (0..count).map(|cell| if fields.cell(cell)[2] < 2 { 0.0 } else { 1.0 }).collect();
    fields.peak = speed.iter().map(|u| 2.0 * u).collect();
    fields.mean_speed = speed;
    fields
}

/// The first clear cell has its middle 10 mm over the bed: there the log law over z₀ = d/12 asks for u* /0.40 · ln(12 · 10 mm/d), with u* of reference 8.5
/// (0.0167, 0.0242 and 0.0388 m/s for 0.5, 1 and 2 mm aragonite). A ramp to 0.8 m/s over 1 m is over that beyond x = u/0.8; tolerance one column of cells
/// and 1 % of the threshold.
#[test]
fn the_bare_area_ends_where_the_threshold_is() {
    for (grain, d, shear_speed) in [("0.5 mm", 0.5e-3f64, 0.0167f64), ("1 mm", 1e-3, 0.0242), ("2 mm", 2e-3, 0.0388)] {
        let layout = bed(grain);
        let record = scour::sand(&ramp(0.8), &layout).unwrap();
        let threshold = shear_speed / 0.40 * (12.0 * 0.01 / d).ln();
        let beyond = |speed: f64| 0.5 * (1.0 - (speed / 0.8)).clamp(0.0, 1.0);
        let tolerance = 0.5 * (0.02 + 0.01 * threshold / 0.8);
        assert!((record.bed_area_m2 - 0.5).abs() < 1e-9, "{record:?}");
        assert!((record.blown_area_m2 - beyond(threshold)).abs() < tolerance, "{grain}: {record:?}, not {} m²", beyond(threshold));
        assert!((record.stirred_area_m2 - beyond(threshold / 2.0)).abs() < tolerance, "{grain}: {record:?}");
        assert!((record.worst_ratio / (0.8 * 0.99 / threshold) - 1.0).abs() < 0.015, "{grain}: {record:?}");
    }
}

/// A current under the threshold moves nothing, and rock on the bed is no bed.
#[test]
fn gentle_water_moves_nothing() {
    let mut fields = ramp(0.05);
    let record = scour::sand(&fields, &bed("0.5 mm")).unwrap();
    assert_eq!((record.blown_area_m2, record.stirred_area_m2), (0.0, 0.0));
    (0..fields.len())
        .filter(|cell| fields.centre(*cell)[0] < 0.5)
        .collect::<Vec<_>>()
        .into_iter()
        .for_each(|cell| fields.water[cell] = 0.0);
    assert!((scour::sand(&fields, &bed("0.5 mm")).unwrap().bed_area_m2 - 0.25).abs() < 1e-9);
}

/// Reference 8.5, quartz: 0.149, 0.244, 0.505 and 1.287 Pa for 0.2, 0.5, 1 and 2 mm; 1 %.
#[test]
fn thresholds_of_quartz() {
    let water = WaterProperties::new(298.15, 35.0);
    for (mm, expected) in [(0.2, 0.149), (0.5, 0.244), (1.0, 0.505), (2.0, 1.287)] {
        let got = scour::threshold_shear(mm * 1e-3, 2650.0, &water);
        assert!((got / expected - 1.0).abs() < 0.01, "{mm} mm: {got} Pa, not {expected} Pa");
    }
}
