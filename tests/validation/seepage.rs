//! Porous rock through a whole study: continuity.

use slackwater::{
    catalog::Catalog,
    layout::{Layout, Rock, read},
    study::{self, Control, Record, Settings, Span},
};

/// A bare tank of 80 × 50 cm with 46 cm of water, 1500 L/h in at the left and out at the right.
const TANK: &str = r#"(
    version: 1, name: "Seepage", display: metric,
    tank: (length: "800 mm", width: "500 mm", height: "500 mm", water_level: "450 mm", panels: (
        front: (material: glass, thickness: "10 mm"), back: (material: glass, thickness: "10 mm"), left: (material: glass, thickness: "10 mm"),
        right: (material: glass, thickness: "10 mm"), bottom: (material: glass, thickness: "12 mm"))),
    nozzles: [(id: "N", mount: hole(panel: left, along: "250 mm", up: "300 mm"), aim: angles(azimuth: "0 deg", elevation: "0 deg"), bore: "20 mm", supply: fixed("1500 L/h"))],
    intakes: [(id: "I", mount: hole(panel: right, along: "250 mm", up: "200 mm"), bore: "40 mm", screen: (face: round("120 mm"), open: 0.5), supply: fixed("1500 L/h"))],
)"#;

/// The bare tank.
pub fn tank() -> Layout {
    read("seepage.ron", TANK.as_bytes()).unwrap().layout
}

fn studied(layout: &Layout) -> Record {
    let settings = Settings { cell: 0.025, spin_up: 40.0, span: Span::Seconds(20.0), threads: 2, ..Settings::default() };
    study::run(layout, Catalog::builtin(), &settings, &mut |_| Control::Go).unwrap().record
}

/// Rubble from wall to wall: whatever comes in must seep through it, 1500 L/h over 50 × 45 cm. Exact by continuity; 3 % for what the jet carries in and out
/// again at its faces: little, for grains of 1 mm lose sixty times the jet's stagnation pressure there. The water in them takes 40 s to settle: after 20 s it is
/// 3 % off, after 40 under 1 %.
#[test]
fn all_the_water_seeps_through_a_wall_of_rubble() {
    let rubble = r#"(id: "rubble", shape: box(size: ("200 mm", "500 mm", "450 mm")), at: ("500 mm", "250 mm", "0 mm"), porous: Some((porosity: 0.4, grain: "1 mm")))"#;
    let rock: Rock = ron::from_str(rubble).unwrap();
    let record = studied(&Layout { rocks: vec![rock], ..tank() });
    let [found] = record.seepage.as_slice() else { panic!("{:?}", record.seepage) };
    println!("{found:?}");
    let (flow, volume) = (1.5 / 3600.0, 0.2 * 0.5 * 0.45);
    let rows = [
        ("volume", found.volume_m3, volume, 1e-3),
        ("flow through it", found.through_m3_s, flow, 0.03),
        ("renewal", found.renewal_s.unwrap(), 0.4 * volume / flow, 0.03),
        ("mean speed, whole section", found.mean_speed_m_s, flow / (0.5 * 0.45), 0.03),
        ("open water", record.water_m3, 0.8 * 0.5 * 0.45 - volume, 1e-3),
    ];
    for (case, got, wanted, tolerance) in rows {
        assert!((got / wanted - 1.0).abs() < tolerance, "{case}: {got}, not {wanted}");
    }
    assert!(record.skin.iter().any(|skin| skin.part == "rocks/rubble"), "{:?}", record.skin);
}
