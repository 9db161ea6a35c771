//! From layout text to flows: sizes and losses of the catalogue, joints, states of valves and screens, pumps together and over the day, and
//! layouts that are ill.

use super::pipes::{GPM, assert_near, number, rows};
use super::plumbing::read;
use slackwater::catalog::{Bore, Catalog};
use slackwater::finding::{Finding, Grade};
use slackwater::hydraulics::{Curve, Fluid, Law, Network, Node, STACK_SHARE, full_drain, open_stack};
use slackwater::hydraulics::{contraction, expansion, gradual_contraction, gradual_expansion};
use slackwater::layout::Layout;
use slackwater::setup::Schedule;
use slackwater::setup::tables::{PlumbingTables, tables};
use std::f64::consts::{FRAC_PI_4, PI};

const GALLON_PER_HOUR: f64 = GPM / 60.0;

#[test]
fn pipe_sizes() {
    // References 1.4 (ASTM D1785, least wall, to 0.1 mm) and 1.5 (makers' averages, to 0.3 mm).
    for row in rows(include_str!("../data/pvc_d1785.csv")) {
        let pipe = Catalog::builtin().pipe(&format!("{}, schedule {}", row[1], row[0])).unwrap_or_else(|| panic!("{row:?}"));
        assert!((pipe.bore(Bore::MinimumWall) * 1e3 - number(&row, 4)).abs() < 0.1, "{row:?}");
        assert!((pipe.bore(Bore::Average) * 1e3 - number(&row, 5)).abs() < 0.3, "{row:?}");
        // Friction with one bore over that with the other at 1.5 m/s, against the ratio by Hazen-Williams, to 1 %.
        let lost =
            |which| Law::Pipe { bore: pipe.bore(which), length: 1.0, roughness: 1.5e-6 }.loss(1.5 * pipe.area(Bore::Average), 1e-6).head;
        assert_near(&format!("{row:?}"), lost(Bore::Average) / lost(Bore::MinimumWall), number(&row, 6), 0.01);
    }
    for size in [
        "20 mm, PN16",
        "25 mm, PN16",
        "32 mm, PN10",
        "40 mm, PN10",
        "50 mm, PN10",
        "63 mm, PN10",
        "75 mm, PN10",
        "90 mm, PN10",
        "110 mm, PN10",
    ] {
        assert!(Catalog::builtin().pipe(size).is_some(), "{size}");
    }
}

#[test]
fn fittings_by_size() {
    // References 1.9 and 1.10: the printed friction factors of fully rough flow that the catalogue uses lie up to 6 % from the computed ones
    // of this table (1/2 in: 0.027 against 0.0256).
    for row in rows(include_str!("../data/crane_fittings.csv")) {
        let (name, size) = (row[0].replace(';', ","), format!("{}, schedule 40", row[1]));
        let bore = Catalog::builtin().pipe(&size).unwrap().bore(Bore::MinimumWall);
        assert_near(&format!("{row:?}"), Catalog::builtin().fitting(&name).unwrap().k(bore, 1.0).unwrap(), number(&row, 2), 0.06);
    }
}

#[test]
fn changes_of_bore() {
    // Reference 1.12: (1 - β²)² exact (Borda-Carnot), 0.5 (1 - β²) (Crane). A cone of 180 deg is a step.
    for (beta, wider, narrower) in
        [(0.3, 0.8281, 0.455), (0.5, 0.5625, 0.375), (0.7, 0.2601, 0.255), (0.8, 0.1296, 0.18), (0.9, 0.0361, 0.095)]
    {
        assert_near("expansion", expansion(beta), wider, 1e-9);
        assert_near("contraction", contraction(beta), narrower, 1e-9);
        assert_near("cone of 180 deg", gradual_expansion(beta, PI), wider, 1e-9);
        assert_near("cone of 180 deg", gradual_contraction(beta, PI), narrower, 1e-9);
        assert!(gradual_expansion(beta, 0.3) < wider && gradual_contraction(beta, 0.3) < narrower);
    }
}

#[test]
fn pumps_together() {
    // Closed form, as reference 1.21: H = 12 - 4e5 Q² each, system 8e5 Q². Side by side: 12 = (8e5 + 1e5) Q²; in a row: 24 = 1.6e6 Q².
    let points: Vec<_> = (0..=540).map(|i| f64::from(i) * 1e-5).map(|q| (q, 12.0 - 4e5 * q * q)).collect();
    let pump = || Law::Pump { curve: Curve::new(&points).unwrap(), speed: 1.0 };
    let fluid = Fluid { density: 1023.3, kinematic_viscosity: 1e-6 };
    for (in_a_row, expected) in [(false, (12.0_f64 / 9e5).sqrt()), (true, (24.0_f64 / 1.6e6).sqrt())] {
        let mut net = Network::default();
        let (tank, between, out) = (net.node(Node::Fixed(0.0)), net.node(Node::Joint(0.0)), net.node(Node::Joint(0.0)));
        net.link(tank, if in_a_row { between } else { out }, pump());
        net.link(if in_a_row { between } else { tank }, out, pump());
        let system = net.link(out, tank, Law::Quadratic { resistance: 8e5 });
        assert_near(if in_a_row { "in a row" } else { "side by side" }, net.solve(&fluid, None).flow[system], expected, 1e-6);
    }
}

#[test]
fn common_practice() {
    // Common practice, no source: a 2 in intake of a closed loop carries about 4000 US gal/h (over 6 ft/s of guidance, under 8 ft/s), two of four
    // outlets of 1-1/2 in share it (under 8 ft/s), and a 2 in gravity drain takes about 2000 US gal/h: more than an open stack, less than a full one.
    let catalog = Catalog::builtin();
    let (two, half) = (catalog.pipe("2 in, schedule 40").unwrap(), catalog.pipe("1-1/2 in, schedule 40").unwrap());
    let suction = 4000.0 * GALLON_PER_HOUR / two.area(Bore::Average);
    assert!((1.829..2.438).contains(&suction), "{suction} m/s");
    let outlet = 2000.0 * GALLON_PER_HOUR / half.area(Bore::Average);
    assert!((1.0..2.438).contains(&outlet), "{outlet} m/s");
    let fluid = Fluid { density: 1023.3, kinematic_viscosity: 9.4e-7 };
    let bore = two.bore(Bore::Average);
    let (stack, full) = (open_stack(bore, STACK_SHARE), full_drain(bore, 0.6, 1.1, 1.5e-6, &fluid));
    assert!(stack < 2000.0 * GALLON_PER_HOUR && full > 2000.0 * GALLON_PER_HOUR, "{stack} {full}");
}

const PUMP: &str = r#"curve: [(flow: "0 L/h", head: "6 m"), (flow: "14000 L/h", head: "5 m"), (flow: "30000 L/h", head: "2 m"), (flow: "40000 L/h", head: "0 m")]"#;

/// A closed loop of two intakes and two nozzles; `more` is put in among the layout's fields.
fn closed_loop(suction: &str, discharge: &str, more: &str) -> Layout {
    read(&format!(
        r#"(version: 1, name: "loop", display: metric,
        tank: (length: "1600 mm", width: "600 mm", height: "700 mm", water_level: "650 mm", panels: (
            front: (material: acrylic, thickness: "15 mm"), back: (material: acrylic, thickness: "15 mm"), left: (material: acrylic, thickness: "15 mm"),
            right: (material: acrylic, thickness: "15 mm"), bottom: (material: acrylic, thickness: "15 mm"))),
        intakes: [(id: "I1", mount: hole(panel: left, along: "200 mm", up: "200 mm"), bore: "50 mm", screen: (face: round("300 mm"), open: 0.5)),
                  (id: "I2", mount: hole(panel: left, along: "450 mm", up: "200 mm"), bore: "50 mm", screen: (face: round("300 mm"), open: 0.5))],
        nozzles: [(id: "N1", mount: hole(panel: back, along: "400 mm", up: "400 mm"), aim: angles(azimuth: "-90 deg", elevation: "0 deg"), bore: "40 mm"),
                  (id: "N2", mount: hole(panel: back, along: "900 mm", up: "400 mm"), aim: angles(azimuth: "-90 deg", elevation: "0 deg"), bore: "40 mm")],
        circuits: [(id: "loop", kind: closed, suction: [{suction}], discharge: [{discharge}])], {more})"#
    ))
}

const SUCTION: &str = r#"(id: "S1", from: intake("I1"), to: joint("T"), pipe: "2 in, schedule 40", length: "0.6 m"),
    (id: "S2", from: intake("I2"), to: joint("T"), pipe: "2 in, schedule 40", length: "0.6 m"),
    (id: "S3", from: joint("T"), to: pump("P"), pipe: "2 in, schedule 40", length: "0.4 m")"#;
const DISCHARGE: &str = r#"(id: "D0", from: pump("P"), to: joint("U"), pipe: "2 in, schedule 40", length: "1 m"),
    (id: "D1", from: joint("U"), to: nozzle("N1"), pipe: "1-1/2 in, schedule 40", length: "0.8 m"),
    (id: "D2", from: joint("U"), to: nozzle("N2"), pipe: "1-1/2 in, schedule 40", length: "0.8 m")"#;

fn pumps(more: &str) -> String {
    format!(r#"pumps: [(id: "P", {PUMP}, power: "500 W")], {more}"#)
}

fn solved(layout: &Layout) -> Schedule {
    let schedule = Schedule::new(layout, Catalog::builtin()).unwrap_or_else(|f| panic!("{f:#?}"));
    assert!(schedule.duties.iter().all(|d| d.report.converged), "{:?}", schedule.duties[0].report);
    schedule
}

fn told(layout: &Layout) -> PlumbingTables {
    tables(layout, Catalog::builtin(), &solved(layout))
}

fn pump_flow(layout: &Layout) -> f64 {
    solved(layout).duties[0].pumps[0].flow
}

fn runs(layout: &Layout) -> Vec<f64> {
    solved(layout).duties[0].runs.iter().map(|run| run.flow).collect()
}

/// Water through two intakes on one pump, the second behind ten times the pipe, m³/s.
pub fn flows_of_two_intakes() -> [f64; 2] {
    let longer = SUCTION.replacen(
        r#"intake("I2"), to: joint("T"), pipe: "2 in, schedule 40", length: "0.6 m""#,
        r#"intake("I2"), to: joint("T"), pipe: "2 in, schedule 40", length: "6 m""#,
        1,
    );
    assert_ne!(longer, SUCTION);
    let flows = runs(&closed_loop(&longer, DISCHARGE, &pumps("")));
    assert!((flows[0] + flows[1] - flows[2]).abs() < 1e-9 * flows[2], "{flows:?}");
    [flows[0], flows[1]]
}

#[test]
fn joints_share_the_flow() {
    let plain = closed_loop(SUCTION, DISCHARGE, &pumps(""));
    let joints = |form: &str| closed_loop(SUCTION, DISCHARGE, &pumps(&format!("joints: [{form}],")));
    let tees = joints(r#"(id: "T", form: tee(branch: "S2")), (id: "U", form: tee(branch: "D2"))"#);
    let flow = runs(&tees);
    // The straight way out loses next to nothing at half the flow, the branch 1.16 velocity heads (reference 1.13).
    assert!(flow[4] > 1.02 * flow[5] && (flow[4] + flow[5] - flow[3]).abs() < 1e-9 * flow[3], "{flow:?}");
    assert!((flow[0] + flow[1] - flow[2]).abs() < 1e-9 * flow[2] && flow[1] != flow[0], "{flow:?}");
    assert!(pump_flow(&tees) < pump_flow(&plain));
    let wye = joints(r#"(id: "U", form: wye(branch: "D2"))"#);
    assert!(pump_flow(&wye) > pump_flow(&joints(r#"(id: "U", form: tee(branch: "D2"))"#)), "a wye loses less than a tee");
    let cross = joints(r#"(id: "U", form: cross(branches: ("D1", "D2")))"#);
    let manifold = joints(r#"(id: "U", form: manifold(branches: ["D1", "D2"], spacing: "20 cm"))"#);
    for layout in [&cross, &manifold] {
        let flow = runs(layout);
        assert!(flow.iter().all(|q| *q > 0.0) && (flow[4] / flow[5] - 1.0).abs() < 0.35, "{flow:?}");
    }
    let wrong = joints(r#"(id: "U", form: tee(branch: "D9"))"#);
    let found = Schedule::new(&wrong, Catalog::builtin()).unwrap_err();
    assert!(found[0].rule == "bad-joint" && found[0].part == "joints/U" && found[0].mend.contains("`D1`"), "{found:?}");
}

#[test]
fn the_template_is_solved() {
    let layout = read(slackwater::layout::template());
    let schedule = solved(&layout);
    assert!(schedule.findings.iter().all(|f| f.grade == Grade::Note) && layout.joints.len() == 1, "{:?}", schedule.findings);
    let [one, two] = [0, 1].map(|i| schedule.range(|d| d.intakes[i]).mean);
    assert!((one / two - 1.0).abs() < 0.1 && one != two, "{one} {two}");
}

#[test]
fn heads_add_up_from_intake_to_nozzle() {
    // What a pump adds is lost along every way through the loop: no static head.
    let joints = r#"joints: [(id: "T", form: tee(branch: "S2")), (id: "U", form: tee(branch: "D2"))],"#;
    for more in ["", joints] {
        let duty = &solved(&closed_loop(SUCTION, DISCHARGE, &pumps(more))).duties[0];
        let lost = |ways: [usize; 4]| ways.iter().map(|i| duty.runs[*i].head_loss).sum::<f64>();
        for ways in [[0, 2, 3, 4], [1, 2, 3, 5], [0, 2, 3, 5]] {
            assert_near("pump", lost(ways), duty.pumps[0].head, 1e-6);
        }
    }
}

#[test]
fn a_branch_through_a_cooler_goes_back_to_the_sump() {
    let cooler = |fitting: &str| {
        let discharge = format!(
            r#"{DISCHARGE}, (id: "C", from: joint("U"), to: sump, pipe: "1 in, schedule 40", length: "2 m", fittings: [{fitting}])"#
        );
        closed_loop(SUCTION, &discharge, &pumps(r#"sump: (level: "0.2 m", free_volume: "200 L"),"#))
    };
    let by_curve = cooler(r#"(part: "cooler", curve: [(flow: "1000 L/h", head: "0.8 m"), (flow: "2000 L/h", head: "3 m")])"#);
    let [open, fixed] = [cooler(""), cooler(r#"(part: "filter branch")"#)].map(|layout| runs(&layout)[6]);
    let through = runs(&by_curve)[6];
    assert!(through > 0.0 && through < fixed && fixed < open, "{through} {fixed} {open}");
    let found = slackwater::layout::check(&by_curve, Catalog::builtin());
    assert!(!found.iter().any(|f| f.rule == "backward-run"), "{found:?}");
}

#[test]
fn bore_and_roughness_are_chosen() {
    let with = |pipes: &str| pump_flow(&closed_loop(SUCTION, DISCHARGE, &pumps(&format!("pipes: {pipes},"))));
    let usual = pump_flow(&closed_loop(SUCTION, DISCHARGE, &pumps("")));
    assert_eq!(usual, with("(bore: average, roughness: new)"));
    assert!(with("(bore: minimum_wall)") > usual && with("(roughness: fouled)") < usual);
    assert_eq!(with("(roughness: fouled)"), with(r#"(roughness: grain("50 um"))"#));
}

#[test]
fn screens_hidden_and_blocked() {
    let text = |screen: &str| {
        let layout = closed_loop(SUCTION, DISCHARGE, &pumps(""));
        let mut layout = layout;
        let options = ron::Options::default();
        layout.intakes[0].screen = Some(options.from_str(screen).unwrap());
        told(&layout).intakes[0].clone()
    };
    let free = text(r#"(face: round("300 mm"), open: 0.5)"#);
    let half = text(r#"(face: round("300 mm"), open: 0.5, hidden: 0.5)"#);
    let quarter = text(r#"(face: round("300 mm"), open: 0.5, hidden: 0.5, blocked: 0.5)"#);
    let through = |i: &slackwater::study::record::IntakeRecord| i.through_m_s.unwrap().max / i.flow_m3_s.max;
    assert_near("one side hidden", through(&half), 2.0 * through(&free), 1e-9);
    assert_near("and half of the rest blocked", through(&quarter), 4.0 * through(&free), 1e-9);
    assert!(quarter.flow_m3_s.max < half.flow_m3_s.max && half.flow_m3_s.max < free.flow_m3_s.max);
}

#[test]
fn a_days_programme_is_solved_and_paid_for() {
    let programme = r#"programme: [(from: "8 h", speed: 1.0), (from: "22 h", speed: 0.5)]"#;
    let layout = closed_loop(SUCTION, DISCHARGE, &format!(r#"pumps: [(id: "P", {PUMP}, power: "500 W", {programme})],"#));
    let pump = told(&layout).pumps.remove(0);
    assert_eq!(
        pump.programme.iter().map(|s| (s.from_s, s.lasts_s, s.speed)).collect::<Vec<_>>(),
        [(28_800.0, 50_400.0, 1.0), (79_200.0, 36_000.0, 0.5)]
    );
    // By hand: 500 W for 14 h and 500/8 W for 10 h (affinity laws, reference 2.1), 8766 h a year.
    assert_near("energy", pump.energy_kwh_year.unwrap(), 0.5 * (14.0 + 10.0 / 8.0) / 24.0 * 8766.0, 1e-9);
    assert_near("power at night", pump.programme[1].power_w.unwrap(), 62.5, 1e-9);
    // No static head: flow goes nearly with the speed (friction factors rise a little as it falls).
    let share = pump.programme[1].flow_m3_s.mean / pump.programme[0].flow_m3_s.mean;
    assert!((0.47..=0.5).contains(&share), "{share}");
    let night = layout.at_time(3600.0);
    assert_near("the same when looked at alone", pump_flow(&night), pump.programme[1].flow_m3_s.mean, 1e-6);
    let efficiency = pump.efficiency.unwrap();
    assert!((0.1..0.9).contains(&efficiency) && pump.shut_off_share == 0.0, "{pump:?}");
}

#[test]
fn an_eductor_drags_water_in_and_keeps_momentum() {
    let mut layout = closed_loop(SUCTION, DISCHARGE, &pumps(""));
    layout.nozzles[0].kind = slackwater::layout::NozzleKind::Eductor { ratio: 4.0 };
    let (table, duty) = (told(&layout), solved(&layout).duties[0].clone());
    let [eductor, plain] = [&table.nozzles[0], &table.nozzles[1]];
    assert_near("dragged in", eductor.entrained_m3_s.mean, 3.0 * eductor.flow_m3_s.mean, 1e-9);
    assert_eq!(plain.entrained_m3_s.mean, 0.0);
    // Momentum of the motive jet, which has 1/16 of the end's area, is that of the mixed jet.
    let motive = duty.nozzles[0].flow / (FRAC_PI_4 * 0.04 * 0.04 / 16.0);
    assert_near("momentum", duty.nozzles[0].momentum, duty.nozzles[0].flow * motive, 1e-9);
}

#[test]
fn drums_slip_leak_and_tell_their_least_opening() {
    let unit = |drive: &str| {
        let discharge = r#"(id: "D0", from: pump("P"), to: drum("unit"), pipe: "2 in, schedule 40", length: "1 m"),
            (id: "D1", from: outlet("unit", 1), to: nozzle("N1"), pipe: "1-1/2 in, schedule 40", length: "0.8 m"),
            (id: "D2", from: outlet("unit", 2), to: nozzle("N2"), pipe: "1-1/2 in, schedule 40", length: "0.8 m")"#;
        let drum = r#"drums: [(id: "unit", outlets: 2, bore: "1.5 in", port_arc: "60 deg", windows: [(centre: "0 deg", arc: "150 deg")], leakage: 0.03)],"#;
        closed_loop(SUCTION, discharge, &pumps(&format!(r#"{drum} sequences: [(id: "turn", drives: [(drum: "unit", motion: {drive})])],"#)))
    };
    let steady = unit(r#"turning(period: "40 s")"#);
    let table = told(&steady);
    // Ports of 60 deg at 0 and 180 deg under 150 deg of window, by hand: least when it stands across, at 90 deg, where it covers 15 deg of each.
    let least = &table.drums[0];
    assert_near("least open", least.least_open_outlets, 2.0 * 15.0 / 60.0, 1e-9);
    assert_near("most open", least.most_open_outlets, 1.0, 1e-9);
    let port = FRAC_PI_4 * 0.0381 * 0.0381;
    assert_near("with leakage", least.least_open_area_m2, port * 2.0 * (0.03 + 0.97 * 0.25), 1e-9);
    // At rest under one port the other leaks a few per cent of what the open one carries.
    let held = solved(&unit("held(turn: 0.0)")).duties[0].outlets[0].clone();
    assert!((0.005..0.1).contains(&(held[1] / held[0])), "{held:?}");
    assert_eq!(solved(&unit(r#"turning(period: "40 s")), slip: 0.5"#.replace(")), ", "), ").as_str())).period, 80.0);
}

/// Worst grade of the findings of this rule, and their parts.
fn found(layout: &Layout, rule: &str) -> Vec<Finding> {
    solved(layout).findings.into_iter().filter(|f| f.rule == rule).collect()
}

#[test]
fn ill_layouts_are_told() {
    // A run of no length and no fittings.
    let short = DISCHARGE.replace(r#"length: "1 m""#, r#"length: "0 m""#);
    let none = found(&closed_loop(SUCTION, &short, &pumps("")), "no-resistance");
    assert!(none.len() == 1 && none[0].part == "circuits/loop/D0" && none[0].grade == Grade::Note, "{none:?}");
    // A valve fully shut.
    let valve = DISCHARGE.replace(r#"length: "1 m""#, r#"length: "1 m", fittings: [(part: "ball valve", opening: 0)]"#);
    let shut = closed_loop(SUCTION, &valve, &pumps(""));
    assert_eq!(found(&shut, "run-shut")[0].part, "circuits/loop/D0");
    assert!(solved(&shut).duties[0].pumps[0].flow.abs() < 1e-9);
    // A part with no open way to the tank: a ring of pipes without a pump, joined to nothing.
    let ring = format!(
        r#"{DISCHARGE}, (id: "X1", from: joint("A"), to: joint("B"), pipe: "1 in, schedule 40", length: "1 m"),
        (id: "X2", from: joint("B"), to: joint("A"), pipe: "1 in, schedule 40", length: "2 m")"#
    );
    let apart = found(&closed_loop(SUCTION, &ring, &pumps("")), "closed-off");
    assert!(apart.len() == 1 && apart[0].what.contains("`X1`, `X2`") && apart[0].grade == Grade::Caution, "{apart:?}");
    // Two pumps side by side, one far weaker: water runs backwards through it, and a check valve holds it.
    let weak = |fittings: &str| {
        let suction = SUCTION.replace(r#"to: pump("P")"#, r#"to: joint("V")"#);
        let discharge = format!(
            r#"(id: "A1", from: joint("V"), to: pump("P"), pipe: "2 in, schedule 40", length: "0.3 m"), (id: "B1", from: joint("V"), to: pump("Q"), pipe: "2 in, schedule 40", length: "0.3 m"),
            (id: "B2", from: pump("Q"), to: joint("U"), pipe: "2 in, schedule 40", length: "0.3 m", fittings: [{fittings}]), {DISCHARGE}"#
        );
        let pumps = format!(r#"pumps: [(id: "P", {PUMP}), (id: "Q", {PUMP}, speed: 0.3)],"#);
        solved(&closed_loop(&suction, &discharge, &pumps)).duties[0].pumps[1].flow
    };
    assert!(weak("") < -1e-4);
    let held = weak(r#"(part: "swing check valve")"#);
    assert!((-1e-5..=0.0).contains(&held), "{held}");
    assert!(weak(r#"(part: "swing check valve", check: stuck_open)"#) < -1e-4);
    assert!(weak(r#"(part: "swing check valve", check: leaks("100 L/h"))"#) < 5.0 * held);
}

#[test]
fn a_catalogue_beside_the_layout() {
    let folder = tempfile::tempdir().unwrap();
    let own = r#"(pipes: [(name: "my hose", outside: "60 mm", wall: "5 mm", source: "measured")], fittings: [(name: "odd bend", law: fixed(k: 0.7), source: "measured", range: "that bend")])"#;
    std::fs::write(folder.path().join("own.ron"), own).unwrap();
    let text = include_str!("../../layouts/alcove.ron").replacen("version: 1,", "version: 1, catalogue: \"own.ron\",", 1);
    std::fs::write(folder.path().join("tank.ron"), &text).unwrap();
    let loaded = slackwater::layout::load(&folder.path().join("tank.ron")).unwrap();
    let catalog = loaded.catalog().unwrap();
    assert!(catalog.pipe("my hose").is_some() && catalog.fitting("odd bend").is_some() && catalog.pipe("2 in, schedule 40").is_some());
    std::fs::write(folder.path().join("own.ron"), "(pipes: [(name: \"x\")])").unwrap();
    let error = loaded.catalog().unwrap_err();
    assert!(error.file.ends_with("own.ron") && error.line == 1, "{error}");
}
