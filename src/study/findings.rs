//! What a study has to say, in words and grades. Limits without a source are common practice and say so in `MEASURES.md`.

use super::{
    Settings,
    case::Case,
    record::{ColonyRecord, DeadSpot, FishZone, Record, SandRecord, SurfaceRecord},
    runner::Runner,
    trust,
    words::part_name,
};
use crate::{
    finding::{self, Finding, Grade},
    layout::Layout,
    units::{AngleKind, AreaKind, Display, LengthKind, SpeedKind, TankSpeedKind, VolumeKind, show},
};

/// Dead spots that get a finding of their own; the rest share one.
pub const MOST_SPOTS: usize = 8;
/// A dead spot larger than this share of the water is a fault.
const FAULT_SHARE: f64 = 0.05;
/// A dead spot larger than this share of the water is worth a look; smaller ones are notes.
const CAUTION_SHARE: f64 = 0.005;
/// A colony that gets less than this share of its lowest speed, or more than the inverse of its highest, is in the wrong place.
const FAR_OUT: f64 = 0.5;
/// Share of the sand bed blown bare that is told, and that is a fault.
const BLOWN_TELL: f64 = 0.002;
const BLOWN_FAULT: f64 = 0.1;
/// Share of the surface film that should be skimmed in time.
const FILM_ENOUGH: f64 = 0.5;

/// Water before an intake that is told, m³: less is within the guard of a screen (common practice, no source).
const PULL_TOLD: f64 = 5e-4;
/// A dead spot is certain when this share of it is under the limit by more than two standard errors.
const MOSTLY: f64 = 0.5;
/// What is said of a figure that two standard errors take across its limit.
pub const NOT_CERTAIN: &str = " (near the limit, not certain)";

/// All findings of a study, worst first; the largest dead spots get one each.
pub fn all(case: &Case, runner: &Runner, settings: &Settings, record: &Record) -> Vec<Finding> {
    let display = case.layout.display;
    let mut findings = case.findings.clone();
    let (told, rest) = record.dead_spots.split_at(record.dead_spots.len().min(MOST_SPOTS));
    findings.extend(told.iter().map(|spot| dead_spot(spot, settings, display)));
    findings.extend(small_rest(rest, display));
    findings.extend(record.colonies.iter().filter_map(|colony| exposure(colony, &case.layout)));
    findings.extend(record.sand.as_ref().and_then(|sand| blown_sand(sand, display)));
    findings.extend(record.surface.as_ref().and_then(film));
    findings.extend(record.fish_zones.iter().filter_map(|zone| pull(zone, display)));
    findings.extend(runner.basin().findings.iter().cloned());
    findings.extend(runner.basin().balance_findings(&case.schedule));
    findings.extend(trust::findings(case, runner, record));
    findings.sort_by_key(|finding| std::cmp::Reverse(finding.grade));
    findings
}

fn dead_spot(spot: &DeadSpot, settings: &Settings, display: Display) -> Finding {
    let speed = |v: f64| show::<TankSpeedKind>(v, display);
    let grade = match spot.share {
        share if share > FAULT_SHARE => Grade::Fault,
        share if share > CAUTION_SHARE => Grade::Caution,
        _ => Grade::Note,
    };
    let volume = show::<VolumeKind>(spot.volume_m3, display);
    let cause = spot.cause.as_ref().map_or("", |cause| cause.words.as_str());
    Finding::new(
        grade,
        "dead-spot",
        format!("dead_spots/{}", spot.rank),
        format!(
            "dead spot {}: {volume} ({:.1} % of the water) {}, mean speed {}{}",
            spot.rank,
            spot.share * 100.0,
            spot.place,
            speed(spot.mean_speed_m_s),
            if spot.sure_share.is_some_and(|share| share < MOSTLY) { NOT_CERTAIN } else { "" }
        ),
        format!(
            "water under {} for more than {:.0} % of the time drops its detritus there (limit: common practice); {cause}",
            speed(settings.dead_speed),
            settings.dead_share * 100.0
        ),
        way_out(spot, display),
    )
    .at(spot.centre_m)
}

/// What would move the water of a dead spot.
fn way_out(spot: &DeadSpot, display: Display) -> String {
    let cause = spot.cause.as_ref();
    let turn = cause.and_then(|cause| cause.reach.as_ref()).map_or_else(
        || "bring a nozzle to where it sees the spot".to_owned(),
        |reach| format!("turn {} by {} toward it", reach.jet, show::<AngleKind>(reach.turn_rad, display)),
    );
    let rock = cause.and_then(|cause| cause.lee_of.as_deref()).map_or_else(String::new, |part| format!(", move {}", part_name(part)));
    format!("{turn}{rock}, or let the sequence sweep past it")
}

fn small_rest(rest: &[DeadSpot], display: Display) -> Option<Finding> {
    let total: f64 = rest.iter().map(|spot| spot.volume_m3).sum();
    let grade = if rest.iter().map(|spot| spot.share).sum::<f64>() > CAUTION_SHARE { Grade::Caution } else { Grade::Note };
    let what = format!("{} more dead spots of {} in all, each smaller than those above", rest.len(), show::<VolumeKind>(total, display));
    let (why, mend) = ("many small ones together gather as much detritus as one large one", "see the list of dead spots and the map");
    (!rest.is_empty()).then(|| Finding::new(grade, "dead-spots-small", "", what, why, mend))
}

fn exposure(record: &ColonyRecord, layout: &Layout) -> Option<Finding> {
    let cm = |v: f64| show::<TankSpeedKind>(v, layout.display);
    let (low, high, speed) = (record.want_low_m_s, record.want_high_m_s, record.mean_speed_m_s);
    let (grade, rule, mend) = match record.verdict.as_str() {
        "in band" => return None,
        "too slow" if speed < low * FAR_OUT => (Grade::Fault, "flow-too-slow", "move it into the flow, or turn a nozzle toward it"),
        "too slow" => (Grade::Caution, "flow-too-slow", "move it a little toward the flow, or turn a nozzle toward it"),
        "too fast" if speed > high / FAR_OUT => (Grade::Fault, "flow-too-fast", "move it out of the jet, or turn the nozzle away"),
        "too fast" => (Grade::Caution, "flow-too-fast", "move it a little out of the flow, or turn the nozzle away"),
        _ => (Grade::Caution, "no-water-there", "check its place: it is in rock, in the sand or out of the water"),
    };
    let part = format!("{}/{}", if record.kind == "zone" { "zones" } else { "colonies" }, record.id);
    let name = finding::part(&part);
    let what = match rule {
        "no-water-there" => format!("{name} has no water round it"),
        _ => format!(
            "{name} is {}: mean {}, peak {}{}",
            record.verdict,
            cm(speed),
            cm(record.peak_m_s),
            if record.near_limit { NOT_CERTAIN } else { "" }
        ),
    };
    let time = record.time_in_band.map_or_else(String::new, |share| format!(", and {:.0} % of the time", share * 100.0));
    let why = format!(
        "it wants {} to {} (guidance, species differ); {:.0} % of its water is in that band{time}",
        cm(low),
        cm(high),
        record.share_in_band * 100.0
    );
    Some(Finding::new(grade, rule, part, what, why, mend).at(middle_of(record, layout)?))
}

/// Water before an intake that draws small fish in.
fn pull(zone: &FishZone, display: Display) -> Option<Finding> {
    let finding = Finding::new(
        Grade::Note,
        "intake-pull",
        format!("intakes/{}", zone.intake),
        format!(
            "{} pulls small fish in from up to {}: {} of water moves toward it at over {}",
            zone.intake,
            show::<LengthKind>(zone.reach_m, display),
            show::<VolumeKind>(zone.volume_m3, display),
            show::<SpeedKind>(zone.limit_m_s, display)
        ),
        "a small fish can't hold against that for long (limit: 0.5 ft/s, 40 CFR 125.94(c); set with --fish-speed); water pushed there by a jet counts too",
        "spread the suction over a larger screen or a second intake, or guard it",
    );
    (zone.volume_m3 > PULL_TOLD).then_some(finding)
}

/// Sand that the mean flow blows away.
fn blown_sand(sand: &SandRecord, display: Display) -> Option<Finding> {
    let share = sand.blown_area_m2 / sand.bed_area_m2.max(1e-9);
    let grade = if share > BLOWN_FAULT { Grade::Fault } else { Grade::Caution };
    let finding = Finding::new(
        grade,
        "sand-blown",
        "sand",
        format!(
            "the sand bed will be blown bare over {} ({:.0} % of it); stirred now and then over {}",
            show::<AreaKind>(sand.blown_area_m2, display),
            share * 100.0,
            show::<AreaKind>(sand.stirred_area_m2, display)
        ),
        format!(
            "grains of {:.1} mm begin to move at {} {} over the bed (Soulsby 1997, aragonite, good to 30 %)",
            sand.grain_m * 1e3,
            show::<TankSpeedKind>(sand.threshold_speed_m_s, display),
            show::<LengthKind>(0.05, display)
        ),
        "lift the jet off the bed, use coarser sand there, or leave it bare",
    );
    (share > BLOWN_TELL).then(|| match sand.worst_at_m {
        Some(place) => finding.at(place),
        None => finding,
    })
}

/// Surface film that no overflow gets.
fn film(surface: &SurfaceRecord) -> Option<Finding> {
    let (share, minutes) = (surface.skimmed_share, surface.horizon_s / 60.0);
    let gathered = if surface.trap_at_m.is_some() { "; much of the rest gathers in one place" } else { "" };
    let what = format!("{:.0} % of the surface film reaches an overflow within {minutes:.0} minutes{gathered}", share * 100.0);
    let why = "film that stays shuts out air and light (limit of 50 %: common practice); traced in the mean flow, gusts and wind left out";
    let finding = Finding::new(
        Grade::Caution,
        "surface-film",
        "",
        what,
        why,
        "aim a nozzle near the surface toward the overflow, or lengthen its lip",
    );
    (share < FILM_ENOUGH).then(|| match surface.trap_at_m {
        Some(place) => finding.at(place),
        None => finding,
    })
}

/// Where a colony or zone is, m.
fn middle_of(record: &ColonyRecord, layout: &Layout) -> Option<[f64; 3]> {
    let colony = || layout.colonies.iter().find(|colony| colony.id == record.id).map(|colony| colony.at.metres());
    let zone = || layout.zones.iter().find(|zone| zone.id == record.id).map(|zone| (zone.from.metres() + zone.to.metres()) / 2.0);
    let middle = if record.kind == "zone" { zone() } else { colony() };
    middle.map(|point| point.to_array())
}
