//! Places in words: "back left, behind the left arch, 60 mm above the sand". Left and right are as seen from the front.

use super::dead_spots::Region;
use crate::{
    layout::Layout,
    setup::{port::JetSource, rock::Solids},
    units::{LengthKind, show},
};
use glam::DVec3;

/// A rock farther away than this is no help in finding a place, m.
const NEAR: f64 = 0.15;
/// A dead spot nearer than this to the ground or the surface touches it, m.
const TOUCHES: f64 = 0.03;

/// Where a dead spot is.
pub fn place(layout: &Layout, solids: &Solids, region: &Region) -> String {
    let tank = layout.tank.size();
    let (low, high) = (DVec3::from_array(region.spot.from_m), DVec3::from_array(region.spot.to_m));
    let side = side_words(low / tank, high / tank);
    let rock = beside_rock(solids, DVec3::from_array(region.inside), layout.tank.water_level.si());
    // A spot that reaches down to the ground doesn't lie on top of what stands there.
    let rock = rock.map(|words| if low.z - ground(layout).0 < TOUCHES { words.replacen("on top of", "beside", 1) } else { words });
    [Some(side), rock, Some(height_words(layout, low.z, high.z))].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// Which part of the tank, from a box in shares of its length and width.
fn side_words(low: DVec3, high: DVec3) -> String {
    let word = |low: f64, high: f64, first: &'static str, last: &'static str| match (low + high) / 2.0 {
        _ if high - low > 0.6 => None,
        middle if middle < 1.0 / 3.0 => Some(first),
        middle if middle > 2.0 / 3.0 => Some(last),
        _ => Some("middle"),
    };
    match (word(low.y, high.y, "front", "back"), word(low.x, high.x, "left", "right")) {
        (None, None) => "over most of the tank".into(),
        (Some("middle"), None) => "along the middle".into(),
        (Some(y), None) => format!("along the {y}"),
        (None, Some("middle")) => "across the middle".into(),
        (None, Some(x)) => format!("all across the {x}"),
        (Some("middle"), Some("middle")) => "in the middle".into(),
        (Some("middle"), Some(x)) => x.into(),
        (Some(y), Some("middle")) => format!("{y} middle"),
        (Some(y), Some(x)) => format!("{y} {x}"),
    }
}

/// Height of the sand or the bare floor, m, and its name.
fn ground(layout: &Layout) -> (f64, &'static str) {
    layout.sand.as_ref().map_or((0.0, "floor"), |sand| (sand.depth.si(), "sand"))
}

/// How high, from the lowest and highest point (m).
fn height_words(layout: &Layout, low: f64, high: f64) -> String {
    let (floor, ground) = ground(layout);
    let length = |m: f64| show::<LengthKind>(m, layout.display);
    let at_surface = high > layout.tank.water_level.si() - TOUCHES;
    match (low - floor < TOUCHES, at_surface) {
        (true, true) => format!("from the {ground} to the surface"),
        (true, false) => format!("on the {ground}, up to {} above it", length(high - floor)),
        (false, true) => format!("at the surface, down to {} above the {ground}", length(low - floor)),
        (false, false) => format!("{} to {} above the {ground}", length(low - floor), length(high - floor)),
    }
}

/// How it lies to the nearest rock, if one is near.
fn beside_rock(solids: &Solids, point: DVec3, water_level: f64) -> Option<String> {
    let (rock, distance) = *solids.rocks_by_distance(point).first()?;
    if distance > NEAR {
        return None;
    }
    let roofed = solids.in_the_way(point, point.with_z(water_level)).is_some_and(|part| part.part == format!("rocks/{rock}"));
    let away = away_from(solids, rock, point);
    let relation = match away.abs().max_position() {
        _ if roofed => "under",
        2 if away.z > 0.0 => "on top of",
        2 => "under",
        1 if away.y > 0.0 => "behind",
        1 => "in front of",
        _ if away.x > 0.0 => "right of",
        _ => "left of",
    };
    Some(format!("{relation} {}", rock_name(rock)))
}

/// The direction from a rock's surface to a point near it: the gradient of its distance.
fn away_from(solids: &Solids, rock: &str, point: DVec3) -> DVec3 {
    const STEP: f64 = 5e-3;
    let part = solids.parts().iter().find(|solid| solid.part == format!("rocks/{rock}"));
    part.map_or(DVec3::ZERO, |part| {
        let slope = |axis: DVec3| part.distance(point + axis * STEP) - part.distance(point - axis * STEP);
        DVec3::new(slope(DVec3::X), slope(DVec3::Y), slope(DVec3::Z))
    })
}

/// "the left arch", but "rock R3".
fn rock_name(id: &str) -> String {
    if id.chars().next().is_some_and(char::is_lowercase) { format!("the {id}") } else { format!("rock {id}") }
}

/// A solid part for people: "the left arch", "the overflow box end box".
pub(super) fn part_name(part: &str) -> String {
    match part.split_once('/') {
        Some(("rocks", id)) => rock_name(id),
        Some(("overflows", id)) => format!("overflow {id}"),
        Some((_, id)) => format!("brace {}", id.rsplit('/').next().unwrap_or(id)),
        None => format!("the {part}"),
    }
}

/// A jet for people: "nozzle N1".
pub(super) fn jet_name(layout: &Layout, source: JetSource) -> String {
    match source {
        JetSource::Nozzle(index) => format!("nozzle {}", layout.nozzles[index].id),
        JetSource::Propeller(index) => format!("propeller pump {}", layout.propellers[index].id),
    }
}

/// A length for people.
pub(super) fn length(m: f64, layout: &Layout) -> String {
    show::<LengthKind>(m, layout.display)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sides_as_seen_from_the_front() {
        let cases = [
            ([0.1, 0.8], [0.2, 0.95], "back left"),
            ([0.8, 0.0], [0.9, 0.2], "front right"),
            ([0.4, 0.4], [0.6, 0.6], "in the middle"),
            ([0.1, 0.9], [0.9, 1.0], "along the back"),
            ([0.0, 0.1], [0.1, 0.9], "all across the left"),
            ([0.45, 0.0], [0.55, 0.1], "front middle"),
            ([0.0, 0.0], [1.0, 1.0], "over most of the tank"),
        ];
        for (low, high, words) in cases {
            let point = |p: [f64; 2]| DVec3::new(p[0], p[1], 0.5);
            assert_eq!(side_words(point(low), point(high)), words);
        }
    }
}
