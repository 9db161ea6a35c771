//! The plumbing table: duty points, flow and velocity in every run, what each outlet, nozzle and intake does.

use super::page::Page;
use crate::report::check_record::Plumbing;
use crate::report::shown::{self, NOTHING, percent};
use crate::study::record::{IntakeRecord, LinkRecord, Range};
use crate::units::{Display, FlowKind, HeadKind, SpeedKind};

/// Through-screen velocity, m/s, of 0.5 ft/s: 40 CFR 125.94(c).
pub const SCREEN_LIMIT: f64 = 0.1524;

/// All plumbing tables. Two numbers are the least and the most over the joint cycle.
pub fn write(page: &mut Page, wet: &Plumbing, display: Display) {
    page.heading("Plumbing");
    page.paragraph("", "Two numbers are the least and the most over one joint cycle; one number does not change.");
    pumps(page, wet, display);
    runs(page, wet, display);
    outlets(page, wet, display);
    nozzles(page, wet, display);
    intakes(page, wet, display);
}

fn with_unit(what: &str, unit: &str) -> String {
    format!("{what}, {unit}")
}

fn flow(range: &Range, display: Display) -> String {
    shown::span::<FlowKind>(range, display)
}

fn pumps(page: &mut Page, wet: &Plumbing, display: Display) {
    let rows =
        wet.pumps.iter().map(|p| vec![p.id.clone(), flow(&p.flow_m3_s, display), shown::span::<HeadKind>(&p.head_m, display)]).collect();
    let headings = ["Pump", &with_unit("Flow", shown::unit::<FlowKind>(display)), &with_unit("Head", shown::unit::<HeadKind>(display))];
    section(page, "Duty points", &headings, "lrr", rows);
}

fn runs(page: &mut Page, wet: &Plumbing, display: Display) {
    let mut circuits: Vec<&str> = wet.links.iter().map(|l| l.circuit.as_str()).collect();
    circuits.dedup();
    let headings = [
        "Run",
        "Pipe",
        &with_unit("Flow", shown::unit::<FlowKind>(display)),
        &with_unit("Velocity", shown::unit::<SpeedKind>(display)),
        &with_unit("Head lost", shown::unit::<HeadKind>(display)),
    ];
    for circuit in circuits {
        let rows = wet.links.iter().filter(|l| l.circuit == circuit).map(|l| run(l, display)).collect();
        section(page, &format!("Pipe runs of {circuit}"), &headings, "llrrr", rows);
    }
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

fn outlets(page: &mut Page, wet: &Plumbing, display: Display) {
    let unit = shown::unit::<FlowKind>(display);
    let number = |si| shown::number::<FlowKind>(si, display);
    let rows = wet
        .outlets
        .iter()
        .map(|o| {
            let q = &o.flow_m3_s;
            vec![o.drum.clone(), o.outlet.to_string(), percent(o.share_open), number(q.min), number(q.mean), number(q.max)]
        })
        .collect();
    let headings = ["Drum unit", "Outlet", "Open", &with_unit("Least", unit), &with_unit("Mean", unit), &with_unit("Most", unit)];
    section(page, "Flow of each drum outlet over the cycle", &headings, "lrrrrr", rows);
}

fn nozzles(page: &mut Page, wet: &Plumbing, display: Display) {
    let rows = wet
        .nozzles
        .iter()
        .map(|n| vec![n.id.clone(), flow(&n.flow_m3_s, display), shown::span::<SpeedKind>(&n.speed_m_s, display), reynolds(n.reynolds)])
        .collect();
    let headings = [
        "Nozzle",
        &with_unit("Flow", shown::unit::<FlowKind>(display)),
        &with_unit("Exit speed", shown::unit::<SpeedKind>(display)),
        "Jet Reynolds no.",
    ];
    section(page, "Nozzles", &headings, "lrrr", rows);
}

fn reynolds(value: f64) -> String {
    if value.is_finite() { shown::grouped((value / 100.0).round() as usize * 100) } else { NOTHING.to_owned() }
}

fn intakes(page: &mut Page, wet: &Plumbing, display: Display) {
    let unit = shown::unit::<SpeedKind>(display);
    let rows = wet.intakes.iter().map(|i| intake(i, display)).collect();
    let limit = format!("Limit {}", crate::units::show::<SpeedKind>(SCREEN_LIMIT, display));
    let headings = [
        "Intake",
        &with_unit("Flow", shown::unit::<FlowKind>(display)),
        &with_unit("At the screen", unit),
        &with_unit("Through it", unit),
        &limit,
    ];
    section(page, "Intake screens", &headings, "lrrrl", rows);
    if !wet.intakes.is_empty() {
        page.paragraph("", "Limit: 0.5 ft/s through the open area of a screen, 40 CFR 125.94(c); written for fish at water intakes.");
    }
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
        Some(range) if range.max > SCREEN_LIMIT => "OVER",
        Some(_) => "under",
    }
}

fn section(page: &mut Page, name: &str, headings: &[&str], lean: super::page::Lean, rows: Vec<Vec<String>>) {
    if rows.is_empty() {
        return;
    }
    page.line("");
    page.line(name);
    page.table(headings, lean, rows);
}
