//! The plumbing: duty points, flow and velocity in every run, what each outlet, nozzle and intake does.

use super::{Table, with_unit};
use crate::report::check_record::Plumbing;
use crate::report::shown::{self, NOTHING, percent};
use crate::safety::limits::SCREEN_THROUGH;
use crate::study::record::{DrumRecord, IntakeRecord, LinkRecord, PumpRecord, PumpStepRecord, Range};
use crate::units::{AreaKind, Display, FlowKind, ForceKind, HeadKind, SpeedKind, show};

/// The limit that a screen is held against, m/s.
pub fn screen_limit(intake: &IntakeRecord) -> f64 {
    intake.limit_m_s.unwrap_or(SCREEN_THROUGH)
}

/// All plumbing tables that have rows. Two numbers in a cell are the least and the most over the joint cycle.
pub fn plumbing(wet: &Plumbing, display: Display) -> Vec<Table> {
    let mut tables = vec![pumps(wet, display), power(wet), programmes(wet, display)];
    tables.extend(runs(wet, display));
    tables.extend([drums(wet, display), outlets(wet, display), nozzles(wet, display), intakes(wet, display)]);
    tables.retain(|table| !table.rows.is_empty());
    tables
}

fn flow_heading(what: &str, display: Display) -> String {
    with_unit(what, shown::unit::<FlowKind>(display))
}

fn speed_heading(what: &str, display: Display) -> String {
    with_unit(what, shown::unit::<SpeedKind>(display))
}

fn head_heading(what: &str, display: Display) -> String {
    with_unit(what, shown::unit::<HeadKind>(display))
}

fn flow(range: &Range, display: Display) -> String {
    shown::span::<FlowKind>(range, display)
}

fn pumps(wet: &Plumbing, display: Display) -> Table {
    let rows = wet.pumps.iter().map(|p| vec![p.id.clone(), flow(&p.flow_m3_s, display), shown::span::<HeadKind>(&p.head_m, display)]);
    let headings = vec!["Pump".into(), flow_heading("Flow", display), head_heading("Head", display)];
    Table::new("Duty points", headings, "lrr", rows.collect())
}

fn power(wet: &Plumbing) -> Table {
    let known = |value: Option<f64>, digits: usize| value.map_or(NOTHING.to_owned(), |v| format!("{v:.digits$}"));
    let row = |p: &PumpRecord| {
        let efficiency = p.efficiency.map_or(NOTHING.to_owned(), percent);
        vec![p.id.clone(), percent(p.speed), known(p.power_w, 0), efficiency, known(p.energy_kwh_year, 0)]
    };
    let rows = wet.pumps.iter().filter(|p| p.power_w.is_some()).map(row).collect();
    let headings = ["Pump", "Speed", "Power, W", "Wire to water", "kWh a year"].map(String::from).to_vec();
    Table::new("Power", headings, "lrrrr", rows)
}

fn programmes(wet: &Plumbing, display: Display) -> Table {
    let clock = |s: f64| format!("{:02}:{:02}", (s / 3600.0) as u32, (s / 60.0) as u32 % 60);
    let row = |(pump, step): (&PumpRecord, &PumpStepRecord)| {
        let head = shown::span::<HeadKind>(&step.head_m, display);
        let power = step.power_w.map_or(NOTHING.to_owned(), |w| format!("{w:.0}"));
        vec![pump.id.clone(), clock(step.from_s), percent(step.speed), flow(&step.flow_m3_s, display), head, power]
    };
    let rows = wet.pumps.iter().flat_map(|pump| pump.programme.iter().map(move |step| (pump, step))).map(row).collect();
    let headings =
        vec!["Pump".into(), "From".into(), "Speed".into(), flow_heading("Flow", display), head_heading("Head", display), "Power, W".into()];
    Table::new("Speeds over the day", headings, "lrrrrr", rows).with_note("`check --at 22h` looks at one time of day with everything else.")
}

fn drums(wet: &Plumbing, display: Display) -> Table {
    let row = |d: &DrumRecord| {
        let area = shown::number::<AreaKind>(d.least_open_area_m2, display);
        vec![
            d.id.clone(),
            format!("{:.2}", d.least_open_outlets),
            format!("{:.1}", d.least_open_at_s),
            area,
            format!("{:.2}", d.most_open_outlets),
        ]
    };
    let headings = vec![
        "Drum unit".into(),
        "Least open".into(),
        "At, s".into(),
        with_unit("Area with leakage", shown::unit::<AreaKind>(display)),
        "Most open".into(),
    ];
    Table::new("Open area of each drum unit, in whole outlets", headings, "lrrrr", wet.drums.iter().map(row).collect())
}

fn runs(wet: &Plumbing, display: Display) -> Vec<Table> {
    let mut circuits: Vec<&str> = wet.links.iter().map(|l| l.circuit.as_str()).collect();
    circuits.dedup();
    let headings = || {
        vec![
            "Run".into(),
            "Pipe".into(),
            flow_heading("Flow", display),
            speed_heading("Velocity", display),
            head_heading("Head lost", display),
        ]
    };
    let of = |circuit: &str| wet.links.iter().filter(|l| l.circuit == circuit).map(|l| run(l, display)).collect();
    circuits.iter().map(|circuit| Table::new(&format!("Pipe runs of {circuit}"), headings(), "llrrr", of(circuit))).collect()
}

fn run(link: &LinkRecord, display: Display) -> Vec<String> {
    vec![
        link.id.clone(),
        link.pipe.clone(),
        flow(&link.flow_m3_s, display),
        shown::span::<SpeedKind>(&link.velocity_m_s, display),
        shown::span::<HeadKind>(&link.head_loss_m, display),
    ]
}

fn outlets(wet: &Plumbing, display: Display) -> Table {
    let number = |si| shown::number::<FlowKind>(si, display);
    let row = |o: &crate::study::record::OutletRecord| {
        let q = &o.flow_m3_s;
        vec![o.drum.clone(), o.outlet.to_string(), percent(o.share_open), number(q.min), number(q.mean), number(q.max)]
    };
    let headings = vec![
        "Drum unit".into(),
        "Outlet".into(),
        "Open".into(),
        flow_heading("Least", display),
        flow_heading("Mean", display),
        flow_heading("Most", display),
    ];
    Table::new("Flow of each drum outlet over the cycle", headings, "lrrrrr", wet.outlets.iter().map(row).collect())
        .with_note("Open: share of the cycle in which the outlet is more than half open.")
}

fn nozzles(wet: &Plumbing, display: Display) -> Table {
    let row = |n: &crate::study::record::NozzleRecord| {
        vec![
            n.id.clone(),
            flow(&n.flow_m3_s, display),
            shown::span::<SpeedKind>(&n.speed_m_s, display),
            shown::span::<ForceKind>(&n.thrust_n, display),
            reynolds(n.reynolds),
        ]
    };
    let headings = vec![
        "Nozzle".into(),
        flow_heading("Flow", display),
        speed_heading("Exit speed", display),
        with_unit("Thrust", shown::unit::<ForceKind>(display)),
        "Jet Reynolds no.".into(),
    ];
    Table::new("Nozzles", headings, "lrrrr", wet.nozzles.iter().map(row).collect())
}

fn reynolds(value: f64) -> String {
    if value.is_finite() { shown::grouped((value / 100.0).round() as usize * 100) } else { NOTHING.to_owned() }
}

fn intakes(wet: &Plumbing, display: Display) -> Table {
    let headings = vec![
        "Intake".into(),
        flow_heading("Flow", display),
        speed_heading("Approach", display),
        speed_heading("Through", display),
        format!("Limit {}", show::<SpeedKind>(wet.intakes.first().map_or(SCREEN_THROUGH, screen_limit), display)),
    ];
    Table::new("Intake screens", headings, "lrrrl", wet.intakes.iter().map(|i| intake(i, display)).collect()).with_note(
        "Approach: over the whole screen face; through: over its open area. Limit, unless the layout sets its own: 0.5 ft/s (15.2 cm/s) through the open area, 40 CFR 125.94(c); a rule for fish at large water intakes, used here as guidance.",
    )
}

fn intake(intake: &IntakeRecord, display: Display) -> Vec<String> {
    let speed = |range: &Option<Range>| range.as_ref().map_or(NOTHING.to_owned(), |r| shown::span::<SpeedKind>(r, display));
    vec![
        intake.id.clone(),
        flow(&intake.flow_m3_s, display),
        speed(&intake.approach_m_s),
        speed(&intake.through_m_s),
        screen_word(intake).to_owned(),
    ]
}

/// How a screen stands against the limit, in words.
pub fn screen_word(intake: &IntakeRecord) -> &'static str {
    match intake.through_m_s {
        None => "NO SCREEN",
        Some(range) if range.max > screen_limit(intake) => "OVER",
        Some(_) => "under",
    }
}
