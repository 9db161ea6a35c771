//! What the water does: dead spots, colonies and zones, how the speeds are spread, probes.

use super::page::Page;
use crate::report::shown::{NOTHING, percent, tank_speed, tank_speed_number, tank_speed_unit, volume};
use crate::study::record::{ColonyRecord, DeadSpot, ProbeRecord, Record};
use crate::units::{Display, LengthKind, show};

/// All water tables.
pub fn write(page: &mut Page, record: &Record, display: Display) {
    dead_spots(page, &record.dead_spots, display);
    colonies(page, &record.colonies, display);
    speeds(page, record, display);
    probes(page, &record.probes, display);
}

fn dead_spots(page: &mut Page, spots: &[DeadSpot], display: Display) {
    page.heading("Dead spots, largest first");
    if spots.is_empty() {
        page.line("None found.");
        return;
    }
    page.paragraph("", "Connected water that stays slow almost all of the time.");
    let headings = ["No.", "Where", "Volume", "Of the water", &format!("Mean, {}", tank_speed_unit(display).0)];
    let rows = spots.iter().map(|spot| dead_spot(spot, display)).collect();
    page.table(&headings, "rlrrr", rows);
}

fn dead_spot(spot: &DeadSpot, display: Display) -> Vec<String> {
    let speed = tank_speed_number(spot.mean_speed_m_s, display);
    vec![spot.rank.to_string(), spot_place(spot, display), volume(spot.volume_m3, display), percent(spot.share), speed]
}

/// Where a dead spot is: in words, then its middle.
pub fn spot_place(spot: &DeadSpot, display: Display) -> String {
    let [x, y, z] = spot.centre_m.map(|c| show::<LengthKind>(c, display));
    let middle = format!("x {x}, y {y}, z {z}");
    if spot.place.is_empty() { middle } else { format!("{} ({middle})", spot.place) }
}

fn colonies(page: &mut Page, colonies: &[ColonyRecord], display: Display) {
    if colonies.is_empty() {
        return;
    }
    let unit = tank_speed_unit(display).0;
    page.heading("Colonies and zones");
    let headings = ["Name", &format!("Wants, {unit}"), &format!("Mean, {unit}"), &format!("Peak, {unit}"), "In band", "Verdict"];
    page.table(&headings, "lrrrrl", colonies.iter().map(|c| colony(c, display)).collect());
    page.paragraph("", "Bands of wanted flow are guidance: species differ, and published ranges are wide.");
}

fn colony(colony: &ColonyRecord, display: Display) -> Vec<String> {
    let speed = |v| tank_speed_number(v, display);
    vec![
        colony.id.clone(),
        format!("{}–{}", speed(colony.want_low_m_s), speed(colony.want_high_m_s)),
        speed(colony.mean_speed_m_s),
        speed(colony.peak_m_s),
        percent(colony.share_in_band),
        colony.verdict.clone(),
    ]
}

fn speeds(page: &mut Page, record: &Record, display: Display) {
    page.heading("How the speeds are spread");
    page.paragraph(
        "",
        &format!(
            "Mean speed of all open water: {}. Kinetic energy, the tank's mean: {:.2} cm²/s².",
            tank_speed(record.mean_speed_m_s, display),
            record.mean_kinetic_energy_m2_s2 * 1e4
        ),
    );
    for share in &record.share_under {
        page.line(&format!("{:>9} of the water is slower than {}", percent(share.share), tank_speed(share.limit_m_s, display)));
    }
}

fn probes(page: &mut Page, probes: &[ProbeRecord], display: Display) {
    if probes.is_empty() {
        return;
    }
    let unit = tank_speed_unit(display).0;
    page.heading("Probes");
    let headings = ["Probe", "Mean x", "Mean y", "Mean z", "Mean speed", "RMS"];
    page.paragraph("", &format!("Time-mean velocity, time-mean speed and root mean square of the fluctuation, all in {unit}."));
    page.table(&headings, "lrrrrr", probes.iter().map(|p| probe(p, display)).collect());
}

fn probe(probe: &ProbeRecord, display: Display) -> Vec<String> {
    let speed = |v: Option<f64>| v.map_or(NOTHING.to_owned(), |v| tank_speed_number(v, display));
    let part = |axis: usize| speed(probe.mean_velocity_m_s.map(|v| v[axis]));
    vec![probe.id.clone(), part(0), part(1), part(2), speed(probe.mean_speed_m_s), speed(probe.rms_m_s)]
}
