//! What the water does: dead spots, colonies and zones, how the speeds are spread, probes.

use super::{Table, with_unit};
use crate::report::shown::{
    NOTHING, area, duration, part, percent, scale, sentence, tank_speed, tank_speed_number, tank_speed_unit, volume,
};
use crate::study::record::{
    ColonyRecord, DeadSpot, DetritusRecord, FishZone, OutletAge, ProbeRecord, Record, SandRecord, SeepageRecord, SkinRecord, SurfaceRecord,
};
use crate::units::{Display, FlowKind, LengthKind, TankSpeedKind, show};

fn speed_heading(what: &str, display: Display) -> String {
    with_unit(what, tank_speed_unit(display))
}

/// Everything that the water does besides its dead spots; only tables that have rows.
pub fn water(record: &Record, display: Display) -> Vec<Table> {
    let mut tables = vec![
        colonies(record, display),
        speeds(record, display),
        skin(record, display),
        seepage(record, display),
        sand(record, display),
        surface(record, display),
        carried(record, display),
        outlet_ages(record),
        detritus(record),
        fish_zones(record, display),
        probes(record, display),
    ];
    tables.retain(|table| !table.rows.is_empty());
    tables
}

/// Dead spots with place, volume, share of the water and speed.
pub fn dead_spots(record: &Record, display: Display) -> Table {
    let headings = vec!["No.".into(), "Where".into(), "Volume".into(), "Of the water".into(), speed_heading("Mean", display)];
    let rows = record.dead_spots.iter().map(|spot| dead_spot(spot, display)).collect();
    Table::new("Dead spots, largest first", headings, "rlrrr", rows)
        .with_note("Connected water that stays slow almost all of the time. x from the left end, y from the front, z from the floor.")
}

fn dead_spot(spot: &DeadSpot, display: Display) -> Vec<String> {
    let speed = tank_speed_number(spot.mean_speed_m_s, display);
    vec![spot.rank.to_string(), spot_place(spot, display), volume(spot.volume_m3, display), percent(spot.share), speed]
}

fn spot_place(spot: &DeadSpot, display: Display) -> String {
    let middle = point(spot.centre_m, display);
    if spot.place.is_empty() { middle } else { format!("{} ({middle})", spot.place) }
}

/// Colonies and zones against the flow that they want.
fn colonies(record: &Record, display: Display) -> Table {
    let headings = ["Name", "Wants", "Mean", "±", "Peak", "Starved", "Blasted", "Verdict"].map(String::from).to_vec();
    let note = format!(
        "Speeds in {}; ±: two standard errors of the mean. Starved, blasted: shares of the time with the water around it slower and faster than wanted. \
         Bands are guidance: species differ, and published ranges are wide.",
        tank_speed_unit(display)
    );
    let rows = record.colonies.iter().map(|c| colony(c, display)).collect();
    Table::new("Colonies and zones", headings, "lrrrrrrl", rows).with_note(&note)
}

fn colony(colony: &ColonyRecord, display: Display) -> Vec<String> {
    let speed = |v| tank_speed_number(v, display);
    let time = |share: Option<f64>| share.map_or(NOTHING.to_owned(), percent);
    vec![
        colony.id.clone(),
        format!("{}–{}", speed(colony.want_low_m_s), speed(colony.want_high_m_s)),
        speed(colony.mean_speed_m_s),
        two_errors(colony.standard_error_m_s, display),
        speed(colony.peak_m_s),
        time(colony.time_under),
        time(colony.time_over),
        colony.verdict.clone(),
    ]
}

/// Two standard errors of a mean speed, without the unit.
fn two_errors(standard_error: Option<f64>, display: Display) -> String {
    standard_error.map_or(NOTHING.to_owned(), |error| tank_speed_number(2.0 * error, display))
}

/// Shares of the water under some speeds.
fn speeds(record: &Record, display: Display) -> Table {
    let rows = record.share_under.iter().map(|s| vec![tank_speed(s.limit_m_s, display), percent(s.share)]).collect();
    Table::new("How the speeds are spread", vec!["Slower than".into(), "Share of the open water".into()], "rr", rows).with_note(&format!(
        "By time-mean speed. Volume mean of the time-mean speed: {}. Volume mean of the kinetic energy: {:.1} ({})².",
        tank_speed(record.mean_speed_m_s, display),
        record.mean_kinetic_energy_m2_s2 / scale::<TankSpeedKind>(display).powi(2),
        tank_speed_unit(display)
    ))
}

/// Velocity at the probes.
fn probes(record: &Record, display: Display) -> Table {
    let headings = ["Probe", "Mean x", "Mean y", "Mean z", "Mean speed", "±", "RMS"].map(String::from).to_vec();
    Table::new("Probes", headings, "lrrrrrr", record.probes.iter().map(|p| probe(p, display)).collect()).with_note(&format!(
        "Time-mean velocity, time-mean speed with two standard errors (±) and root mean square of the fluctuation; all speeds: {}.",
        tank_speed_unit(display)
    ))
}

fn probe(probe: &ProbeRecord, display: Display) -> Vec<String> {
    let speed = |v: Option<f64>| v.map_or(NOTHING.to_owned(), |v| tank_speed_number(v, display));
    let part = |axis: usize| speed(probe.mean_velocity_m_s.map(|v| v[axis]));
    let error = two_errors(probe.standard_error_m_s, display);
    vec![probe.id.clone(), part(0), part(1), part(2), speed(probe.mean_speed_m_s), error, speed(probe.rms_m_s)]
}

/// What lives on the rock feels.
fn skin(record: &Record, display: Display) -> Table {
    let headings = ["Rock", "Skin", "Slow tenth", "Mean", "Fast tenth", "Still"].map(String::from).to_vec();
    let row = |skin: &SkinRecord| {
        let speed = |v| tank_speed_number(v, display);
        let speeds = [skin.slow_tenth_m_s, skin.mean_speed_m_s, skin.fast_tenth_m_s].map(speed);
        let [slow, mean, fast] = speeds;
        vec![name(&skin.part), area(skin.area_m2, display), slow, mean, fast, percent(skin.still_share)]
    };
    let note = format!(
        "Time-mean speed ({}) in the first cell off the rock, whose middle is {} off. A tenth of the skin is slower than the first figure, a tenth faster than \
         the last. Still: the share of the skin under the speed of dead spots.",
        tank_speed_unit(display),
        show::<LengthKind>(record.run.cell_m / 2.0, display)
    );
    Table::new("Speed on the rock", headings, "lrrrrr", record.skin.iter().map(row).collect()).with_note(&note)
}

/// How rock that water seeps through is renewed.
fn seepage(record: &Record, display: Display) -> Table {
    let headings = ["Porous rock", "Volume", "Mean", "Least", "Under 1 mm/s", "Through it", "Renewed in"].map(String::from).to_vec();
    let millimetres = |v: f64| format!("{:.2} mm/s", v * 1e3);
    let row = |s: &SeepageRecord| {
        let through = show::<FlowKind>(s.through_m3_s, display);
        let renewed = s.renewal_s.map_or(NOTHING.to_owned(), duration);
        let speeds = [millimetres(s.mean_speed_m_s), millimetres(s.least_speed_m_s)];
        let [mean, least] = speeds;
        vec![name(&s.part), volume(s.volume_m3, display), mean, least, percent(s.hardly_share), through, renewed]
    };
    Table::new("Inside porous rock", headings, "lrrrrrr", record.seepage.iter().map(row).collect())
        .with_note("Drag of a bed of even grains (Ergun 1952). Speeds as flow through the whole section; between the stones they are higher by one over the porosity.")
}

/// Water before intakes that a small fish can't leave.
fn fish_zones(record: &Record, display: Display) -> Table {
    let headings = ["Intake", "Faster than", "Water", "Reaches"].map(String::from).to_vec();
    let row = |zone: &FishZone| {
        let reach = show::<LengthKind>(zone.reach_m, display);
        vec![zone.intake.clone(), tank_speed(zone.limit_m_s, display), volume(zone.volume_m3, display), reach]
    };
    let drawn = record.fish_zones.iter().filter(|zone| zone.volume_m3 > 0.0);
    Table::new("Pull of the intakes on small fish", headings, "lrrr", drawn.map(row).collect()).with_note(
        "Water joined to the mouth that moves toward it faster than a small fish swims for long. Intakes without any are not listed.",
    )
}

/// `rocks/left arch` as `left arch`.
fn name(part: &str) -> String {
    part.rsplit('/').next().unwrap_or(part).to_owned()
}

/// What the flow does to the sand bed.
fn sand(record: &Record, display: Display) -> Table {
    let row = |sand: &SandRecord| {
        let of_bed =
            |square_metres: f64| format!("{} ({})", area(square_metres, display), percent(square_metres / sand.bed_area_m2.max(1e-9)));
        vec![
            vec!["Bed under open water".into(), area(sand.bed_area_m2, display)],
            vec!["Will be blown bare (mean flow)".into(), of_bed(sand.blown_area_m2)],
            vec!["Stirred now and then (peak flow)".into(), of_bed(sand.stirred_area_m2)],
            vec!["Grain".into(), format!("{:.1} mm", sand.grain_m * 1e3)],
            vec![
                format!("Grains move from, {} over the bed", show::<LengthKind>(0.05, display)),
                tank_speed(sand.threshold_speed_m_s, display),
            ],
            vec!["Fastest mean flow over the bed, of that".into(), percent(sand.worst_ratio)],
            vec!["Where".into(), sand.worst_at_m.map_or(NOTHING.to_owned(), |at| point(at, display))],
        ]
    };
    let rows = record.sand.as_ref().map(row).unwrap_or_default();
    Table::new("Sand bed", vec!["Measure".into(), "Value".into()], "lr", rows)
        .with_note("Threshold of motion by Soulsby (1997) for aragonite grains, good to about 30 %; shear from the speed near the bed by the log law of a rough wall.")
}

/// What becomes of the surface film.
fn surface(record: &Record, display: Display) -> Table {
    let row = |surface: &SurfaceRecord| {
        let drift = if surface.drift_m_s < 0.0 { "Mean drift, away from the overflow" } else { "Mean drift toward the nearest overflow" };
        vec![
            vec![format!("Film that an overflow gets in {}", duration(surface.horizon_s)), percent(surface.skimmed_share)],
            vec![drift.into(), tank_speed(surface.drift_m_s.abs(), display)],
            vec!["Where film gathers unskimmed".into(), surface.trap_at_m.map_or("nowhere".to_owned(), |at| point(at, display))],
        ]
    };
    let rows = record.surface.as_ref().map(row).unwrap_or_default();
    Table::new("Surface film", vec!["Measure".into(), "Value".into()], "lr", rows)
        .with_note("Traced in the time-mean flow just under the surface; gusts, wind and waves are left out.")
}

/// Age, mixing, turns and still spells: what was asked for.
fn carried(record: &Record, display: Display) -> Table {
    let mut rows = vec![
        vec!["Speed not exceeded 95 % of the time, mean".to_owned(), tank_speed(record.p95_speed_m_s, display)],
        vec!["Change of direction (0 %: one way, 100 %: to and fro)".to_owned(), percent(record.direction_change)],
        vec!["Turns by more than a right angle, each joint cycle".to_owned(), format!("{:.1}", record.reversals_per_cycle)],
        vec!["Longest still spell, mean".to_owned(), duration(record.longest_still_s)],
    ];
    if let Some(age) = &record.age {
        rows.push(vec!["Age of the water, mean".to_owned(), duration(age.mean_s)]);
        rows.push(vec!["Age of the water that leaves".to_owned(), duration(age.outlets_s)]);
        rows.push(vec!["Volume over flow, which that age must equal".to_owned(), duration(age.nominal_s)]);
        rows.push(vec!["A twentieth of the water is older than".to_owned(), duration(age.oldest_s)]);
        rows.push(vec!["Exchange efficiency (50 %: as if stirred)".to_owned(), percent(age.exchange_efficiency)]);
    }
    if let Some(dye) = &record.dye {
        let mixed = dye.mixed_s.map_or_else(|| format!("not within {}", duration(dye.followed_s)), duration);
        rows.push(vec![format!("Dye from {} mixed to 95 %", dye.nozzle), mixed]);
        rows.push(vec![
            "The same by the published formula for one steady jet".to_owned(),
            dye.published_s.map_or(NOTHING.to_owned(), duration),
        ]);
    }
    let rows = if record.p95_speed_m_s > 0.0 || record.age.is_some() { rows } else { Vec::new() };
    Table::new("Exchange and motion", vec!["Measure".into(), "Value".into()], "lr", rows)
}

/// How old the water is that each intake and overflow takes.
fn outlet_ages(record: &Record) -> Table {
    let headings = ["Outlet of the tank", "Of the flow", "Age of its water"].map(String::from).to_vec();
    let row = |outlet: &OutletAge| {
        vec![sentence(&part(&outlet.part)).trim_end_matches('.').to_owned(), percent(outlet.share), duration(outlet.age_s)]
    };
    let rows = record.age.iter().flat_map(|age| &age.outlets).map(row).collect();
    Table::new("Age of the water that leaves", headings, "lrr", rows)
        .with_note("Weighed by their flows these ages make the volume over the flow. A much younger one takes water that comes straight from a nozzle.")
}

/// Where detritus goes: a column for each kind.
fn detritus(record: &Record) -> Table {
    let kinds = &record.detritus;
    let headings = std::iter::once("Detritus".to_owned()).chain(kinds.iter().map(|d| d.kind.clone())).collect();
    let row = |name: String, of: &dyn Fn(&DetritusRecord) -> String| std::iter::once(name).chain(kinds.iter().map(of)).collect::<Vec<_>>();
    let by = |place: usize| {
        let name = kinds.first().map_or(String::new(), |d| format!("caught by {}", part(&d.caught[place].part)));
        row(name, &|d| d.caught.get(place).map_or(NOTHING.to_owned(), |caught| percent(caught.share)))
    };
    let mut rows = vec![row("sinks at".into(), &|d| format!("{:.1} mm/s", d.settling_m_s * 1e3))];
    rows.extend((0..kinds.first().map_or(0, |d| d.caught.len())).map(by));
    rows.push(row("caught in all".into(), &|d| percent(d.caught.iter().map(|c| c.share).sum())));
    rows.push(row("settles in the tank".into(), &|d| percent(d.settled_share)));
    rows.push(row("is still afloat".into(), &|d| percent(d.afloat_share)));
    rows.push(row("followed for".into(), &|d| duration(d.followed_s)));
    let rows = if kinds.is_empty() { Vec::new() } else { rows };
    Table::new("Where detritus goes", headings, "lrrr", rows)
}

fn point(at: [f64; 3], display: Display) -> String {
    let [x, y, z] = at.map(|c| show::<LengthKind>(c, display));
    format!("x {x}, y {y}, z {z}")
}
