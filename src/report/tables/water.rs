//! What the water does: dead spots, colonies and zones, how the speeds are spread, probes.

use super::{Table, with_unit};
use crate::report::shown::{NOTHING, TANK_SPEED, percent, tank_speed, tank_speed_number, volume};
use crate::study::record::{ColonyRecord, DeadSpot, ProbeRecord, Record};
use crate::units::{Display, LengthKind, show};

fn speed_heading(what: &str) -> String {
    with_unit(what, TANK_SPEED)
}

/// Dead spots with place, volume, share of the water and speed.
pub fn dead_spots(record: &Record, display: Display) -> Table {
    let headings = vec!["No.".into(), "Where".into(), "Volume".into(), "Of the water".into(), speed_heading("Mean")];
    let rows = record.dead_spots.iter().map(|spot| dead_spot(spot, display)).collect();
    Table::new("Dead spots, largest first", headings, "rlrrr", rows)
        .with_note("Connected water that stays slow almost all of the time. x from the left end, y from the front, z from the floor.")
}

fn dead_spot(spot: &DeadSpot, display: Display) -> Vec<String> {
    let speed = tank_speed_number(spot.mean_speed_m_s);
    vec![spot.rank.to_string(), spot_place(spot, display), volume(spot.volume_m3, display), percent(spot.share), speed]
}

fn spot_place(spot: &DeadSpot, display: Display) -> String {
    let [x, y, z] = spot.centre_m.map(|c| show::<LengthKind>(c, display));
    let middle = format!("x {x}, y {y}, z {z}");
    if spot.place.is_empty() { middle } else { format!("{} ({middle})", spot.place) }
}

/// Colonies and zones against the flow that they want.
pub fn colonies(record: &Record) -> Table {
    let speed = speed_heading;
    let headings = vec!["Name".into(), speed("Wants"), speed("Mean"), speed("Peak"), "In band".into(), "Verdict".into()];
    Table::new("Colonies and zones", headings, "lrrrrl", record.colonies.iter().map(colony).collect())
        .with_note("Bands of wanted flow are guidance: species differ, and published ranges are wide.")
}

fn colony(colony: &ColonyRecord) -> Vec<String> {
    let speed = tank_speed_number;
    vec![
        colony.id.clone(),
        format!("{}–{}", speed(colony.want_low_m_s), speed(colony.want_high_m_s)),
        speed(colony.mean_speed_m_s),
        speed(colony.peak_m_s),
        percent(colony.share_in_band),
        colony.verdict.clone(),
    ]
}

/// Shares of the water under some speeds.
pub fn speeds(record: &Record) -> Table {
    let rows = record.share_under.iter().map(|s| vec![tank_speed(s.limit_m_s), percent(s.share)]).collect();
    Table::new("How the speeds are spread", vec!["Slower than".into(), "Share of the open water".into()], "rr", rows).with_note(&format!(
        "By time-mean speed. Volume mean of the time-mean speed: {}. Volume mean of the kinetic energy: {:.2} cm²/s².",
        tank_speed(record.mean_speed_m_s),
        record.mean_kinetic_energy_m2_s2 * 1e4
    ))
}

/// Velocity at the probes.
pub fn probes(record: &Record) -> Table {
    let headings = ["Probe", "Mean x", "Mean y", "Mean z", "Mean speed", "RMS"].map(String::from).to_vec();
    Table::new("Probes", headings, "lrrrrr", record.probes.iter().map(probe).collect())
        .with_note(&format!("Time-mean velocity, time-mean speed and root mean square of the fluctuation, in {}.", TANK_SPEED))
}

fn probe(probe: &ProbeRecord) -> Vec<String> {
    let speed = |v: Option<f64>| v.map_or(NOTHING.to_owned(), tank_speed_number);
    let part = |axis: usize| speed(probe.mean_velocity_m_s.map(|v| v[axis]));
    vec![probe.id.clone(), part(0), part(1), part(2), speed(probe.mean_speed_m_s), speed(probe.rms_m_s)]
}
