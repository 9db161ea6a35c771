//! Wet-side checks: weirs, drains, pressure surge, suction margin, and the faults that were built into the demos.

use super::pipes::{GPM, assert_near, number, rows};
use super::plumbing::{DEMOS, demo, read};
use slackwater::catalog::Catalog;
use slackwater::finding::{Finding, Grade};
use slackwater::hydraulics::surge::{PVC_POISSON, Wall, rating, slow_stop, sudden_stop, wave_speed};
use slackwater::hydraulics::weir::{francis, kindsvater_carter, rehbock};
use slackwater::hydraulics::{Fluid, full_drain, open_stack};
use slackwater::layout::Layout;
use slackwater::safety;
use slackwater::setup::Schedule;

#[test]
fn weirs() {
    // Reference 3.2: one metre of lip 0.5 m high; formulas of Francis 1883, Rehbock 1929, Kindsvater and Carter 1957.
    for row in rows(include_str!("../data/weir_sharp_crest_1m_P500mm.csv")) {
        let head = number(&row, 0) / 1000.0;
        let cases = [(francis(1.0, head), 1), (rehbock(1.0, 0.5, head), 2), (kindsvater_carter(1.0, 0.5, head), 4)];
        for (flow, column) in cases {
            assert_near(&format!("column {column} of {row:?}"), flow * 1000.0, number(&row, column), 0.002);
        }
    }
    // Reference 3.1: 3 ft of lip, 0.5 ft of head: 100.0 L/s.
    assert_near("Francis, 3 ft, 0.5 ft", francis(3.0 * 0.3048, 0.5 * 0.3048), 0.100_015, 0.002);
}

#[test]
fn drains() {
    // Reference 3.7: least-wall bores, length = drop + 0.5 m, K = 2.7, ν 9.4e-7; 1 %.
    let fluid = Fluid { density: 1023.3, kinematic_viscosity: 9.4e-7 };
    let bores =
        [(1.049, [1.013, 1.262, 1.484]), (1.610, [2.516, 3.173, 3.781]), (2.067, [4.236, 5.371, 6.439]), (3.068, [9.557, 12.194, 14.723])];
    for (bore, flows) in bores {
        for (drop, flow) in [0.6, 1.0, 1.5].into_iter().zip(flows) {
            assert_near(&format!("{bore} in, {drop} m"), full_drain(bore * 0.0254, drop, drop + 0.5, 1.5e-6, &fluid) * 1000.0, flow, 0.01);
        }
    }
    // Reference 3.8: Wyly and Eaton at the nominal sizes, gal/min; the formula itself is good to 20 %.
    for (inches, flow) in [(1.0, 3.57), (1.5, 10.51), (2.0, 22.64), (3.0, 66.76), (4.0, 143.8)] {
        assert_near(&format!("stack {inches} in"), open_stack(inches * 0.0254, 7.0 / 24.0) / GPM, flow, 0.005);
    }
}

#[test]
fn pressure_surge() {
    // Reference 2.6: thick-wall wave speeds in PVC, sound 1534.36 m/s, bulk 2.4092 GPa; same formula, 0.5 %.
    for row in rows(include_str!("../data/joukowsky_pvc.csv")) {
        let wall = Wall {
            bore: number(&row, 2) / 1000.0,
            thickness: number(&row, 3) / 1000.0,
            stiffness: number(&row, 5) * 1e9,
            poisson: number(&row, 6),
        };
        assert_near(&format!("{row:?}"), wave_speed(&wall, 1534.36, 2.4092e9), number(&row, 9), 0.005);
    }
    // References 2.5, 2.8: definitions.
    assert_near("Joukowsky", sudden_stop(430.0, 1.0), 43.8, 0.002);
    assert_near("Michaud", slow_stop(10.0, 1.5, 1.0, 430.0), 3.059, 0.001);
    assert_near("a quick closing is a sudden one", slow_stop(10.0, 1.5, 1e-4, 430.0), sudden_stop(430.0, 1.5), 1e-12);
    // ASTM D1785 table: 2 in schedule 40, 2000 psi stress, 280 psi (277 before rounding).
    assert_near("rating, psi", rating(2.375, 0.154, 2000.0), 277.35, 0.001);
    const { assert!(PVC_POISSON < 0.5) };
}

#[test]
fn suction_margin() {
    // Reference 2.4: S35 25 °C, 0.5 m flooded, 0.8 m of loss: 9.4865 m, 0.2 %.
    let water = slackwater::water::WaterProperties::new(298.15, 35.0);
    let available = safety::npsh_available(101_325.0, water.vapour_pressure, water.density, 0.5 - 0.8);
    assert_near("NPSH available", available, 9.4865, 0.002);
}

fn findings(layout: &Layout) -> Vec<Finding> {
    let schedule = Schedule::new(layout, Catalog::builtin()).unwrap_or_else(|f| panic!("{f:#?}"));
    safety::check(layout, Catalog::builtin(), &schedule)
}

fn has(findings: &[Finding], rule: &str, part: &str, grade: Grade) -> bool {
    findings.iter().any(|f| f.rule == rule && f.part.contains(part) && f.grade == grade)
}

#[test]
fn the_demos_faults_are_found() {
    for (name, text) in DEMOS {
        println!("== {name}");
        findings(&read(text))
            .iter()
            .for_each(|f| println!("{}: {} [{}] {} | {} | {}", f.grade.word(), f.rule, f.part, f.what, f.why, f.mend));
    }
    assert!(has(&findings(&demo("alcove")), "single-suction", "intake", Grade::Fault));
    assert!(has(&findings(&demo("lagoon")), "least-open-area", "east front unit", Grade::Fault));
}

#[test]
fn what_ifs_of_the_demos() {
    for (name, text) in DEMOS {
        let clock = std::time::Instant::now();
        let results = safety::what_ifs(&read(text), Catalog::builtin());
        println!("== {name}: {} in {:?}", results.len(), clock.elapsed());
        for r in &results {
            let rules: Vec<_> = r.findings.iter().map(|f| format!("{}:{}@{}", f.grade.word(), f.rule, f.part)).collect();
            println!("{} {:.0} of {:.0} L/h {rules:?}", r.id, r.nozzle_flow_m3_s * 3.6e6, r.base_nozzle_flow_m3_s * 3.6e6);
        }
        assert!(results.windows(2).all(|w| w[0].worst >= w[1].worst), "{name}");
        assert!(results.iter().all(|r| r.nozzle_flow_m3_s.is_finite() && r.screen_speed_m_s.is_finite()), "{name}");
    }
}

/// A demo with a piece of its text exchanged.
fn changed(name: &str, from: &str, to: &str) -> Layout {
    let text = DEMOS.iter().find(|(known, _)| *known == name).unwrap().1;
    assert!(text.contains(from), "{from}");
    read(&text.replacen(from, to, 1))
}

#[test]
fn air_at_the_sumps_suction_and_in_a_full_drain() {
    // ANSI/HI 9.8: S = D (1 + 2.3 Fr). Peninsula's return: the 2 in drain and suction need some 0.1 to 0.3 m each.
    assert!(!has(&findings(&demo("peninsula")), "sump-vortex", "sump", Grade::Caution));
    let shallow = changed("peninsula", "suction_depth: \"300 mm\"", "suction_depth: \"40 mm\"");
    assert!(has(&findings(&shallow), "sump-vortex", "sump", Grade::Caution));
    let unknown = changed("peninsula", ", suction_depth: \"300 mm\"", "");
    let said = findings(&unknown);
    assert!(said.iter().any(|f| f.rule == "sump-vortex" && f.grade == Grade::Note && f.what.contains("not checked")), "{said:#?}");
    assert!(!has(&findings(&demo("peninsula")), "drain-vortex", "main drain", Grade::Caution));
    let gurgling = changed("peninsula", "depth: \"450 mm\"", "depth: \"30 mm\"");
    assert!(has(&findings(&gurgling), "drain-vortex", "main drain", Grade::Caution));
}

#[test]
fn own_limits_stand_before_the_usual_ones() {
    let own =
        changed("peninsula", "    sump: (", "    limits: (screen_through: \"0.3 ft/s\", pressure_velocity: \"20 ft/s\"),\n    sump: (");
    let (usual, own) = (findings(&demo("peninsula")), findings(&own));
    let slow = |list: &[Finding]| list.iter().filter(|f| f.rule == "screen-speed").count();
    assert!(slow(&own) > slow(&usual), "a stricter screen limit finds more");
    assert!(own.iter().filter(|f| f.rule == "screen-speed").all(|f| f.why.contains("the layout's own limit")));
    let fast = |list: &[Finding]| list.iter().any(|f| f.rule == "pipe-velocity" && f.why.starts_with("pressure"));
    assert!(!fast(&own), "a looser pipe limit finds nothing");
}

#[test]
fn comb_teeth_raise_the_surface() {
    // Rehbock: at a small head Q ~ L h^1.5, so half the lip needs about 2^(2/3) = 1.587 of the head.
    let height = |layout: &Layout| {
        let said = findings(layout);
        let found = said.iter().find(|f| f.rule == "water-level" || f.rule == "weir-head");
        found.map(|f| f.what.clone())
    };
    let combed = changed("lagoon", "lip: \"650 mm\"", "lip: \"650 mm\", open: 0.5");
    assert!(height(&combed).is_some() && height(&combed) != height(&demo("lagoon")));
}

#[test]
fn one_stall_of_each_drum_is_shown() {
    let results = safety::what_ifs(&demo("peninsula"), Catalog::builtin());
    for drum in ["unit A", "unit B"] {
        assert_eq!(results.iter().filter(|r| r.id.starts_with(&format!("{drum} stalled"))).count(), 1, "{drum}");
    }
}

#[test]
fn screen_areas_and_a_textbook_stop() {
    // Reference 7.6, arithmetic on 7.1 and 7.3: open area for 1 L/s at 0.5 ft/s, whole face at 0.2 ft/s, cm².
    assert_near("open area, cm²", 1e-3 / safety::limits::SCREEN_THROUGH * 1e4, 65.6, 0.001);
    assert_near("whole face, cm²", 1e-3 / safety::limits::SCREEN_APPROACH * 1e4, 164.0, 0.001);
    // Reference 2.7, a coursework problem: waves of 400.4 m/s, 2.5 m/s stopped at once: 102.0 m, 0.5 %. (Its wave speed is of the
    // simple formula for thin walls; this program takes thick ones, reference 2.6.)
    assert_near("stop, m", sudden_stop(400.4, 2.5), 102.0, 0.005);
}

#[test]
fn back_drain_is_area_times_fall() {
    // Reference 3.9, geometry: with its check valve failed a return empties the tank from the crest down to the nozzle's upper edge.
    let layout = demo("peninsula");
    let schedule = Schedule::new(&layout, Catalog::builtin()).unwrap();
    let volumes = safety::back_drain_volumes(&layout, Catalog::builtin(), &schedule).unwrap();
    let size = layout.tank.size();
    let edge = |n: &slackwater::layout::Nozzle| n.mount.centre(size).z + 0.5 * n.bore.si();
    let lowest = layout.nozzles.iter().filter(|n| n.id.starts_with('R')).map(edge).fold(f64::INFINITY, f64::min);
    let fall = layout.overflows[0].crest.si() - lowest;
    assert!(fall > 0.0);
    assert_near("more water, m³", volumes.failed - volumes.held, size.x * size.y * fall, 1e-9);
}
