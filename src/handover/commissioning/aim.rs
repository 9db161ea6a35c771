//! Where a nozzle points, as angles at the nozzle and as a point that can be measured in an empty tank. Lengths in m.

use crate::handover::measure::near;
use crate::layout::solid::{Solid, solids};
use crate::layout::{Layout, Nozzle, PanelName};
use glam::DVec3;

/// Where the straight line of an aim ends.
#[derive(Debug, Clone, PartialEq)]
pub struct AimPoint {
    /// The face it meets; `None`: it leaves over the rim.
    pub face: Option<PanelName>,
    /// The point.
    pub at: DVec3,
    /// Straight from the nozzle.
    pub distance: f64,
    /// The first solid on the way, and how far off it is.
    pub in_the_way: Option<(String, f64)>,
}

/// The end of a nozzle's straight line; `None` when its aim or place is none.
pub fn aim_point(layout: &Layout, nozzle: &Nozzle) -> Option<AimPoint> {
    let size = layout.tank.size();
    let from = nozzle.mount.centre(size);
    let direction = nozzle.aim.direction(from);
    if !from.is_finite() || !(direction.length() - 1.0).abs().le(&1e-6) {
        return None;
    }
    let (distance, face) = exit(from, direction, size)?;
    let in_the_way = first_solid(&solids(layout), from, direction, distance);
    Some(AimPoint { face, at: from + distance * direction, distance, in_the_way })
}

/// Distance to the first face of the tank, and which.
fn exit(from: DVec3, direction: DVec3, size: DVec3) -> Option<(f64, Option<PanelName>)> {
    use PanelName::{Back, Bottom, Front, Left, Right};
    let to = |from: f64, speed: f64, size: f64, low, high| match speed {
        s if s > 1e-9 => Some(((size - from) / s, high)),
        s if s < -1e-9 => Some((-from / s, low)),
        _ => None,
    };
    let ways = [
        to(from.x, direction.x, size.x, Some(Left), Some(Right)),
        to(from.y, direction.y, size.y, Some(Front), Some(Back)),
        to(from.z, direction.z, size.z, Some(Bottom), None),
    ];
    ways.into_iter().flatten().filter(|(distance, _)| *distance > 1e-6).min_by(|a, b| a.0.total_cmp(&b.0))
}

/// Steps along the line by the distance to the nearest solid. Starts a little way out, past the nozzle's own mount.
fn first_solid(solids: &[Solid], from: DVec3, direction: DVec3, until: f64) -> Option<(String, f64)> {
    const START: f64 = 0.03;
    const TOUCH: f64 = 0.002;
    let mut along = START;
    while along < until - 0.02 {
        let nearest = solids.iter().map(|solid| (solid.distance(from + along * direction), solid)).min_by(|a, b| a.0.total_cmp(&b.0));
        let (gap, solid) = nearest?;
        if gap < TOUCH {
            return Some((solid.part.rsplit('/').next().unwrap_or_default().to_owned(), along));
        }
        along += gap.max(TOUCH);
    }
    None
}

/// "back panel: 412 mm (...) from the left panel, 530 mm (...) up", all from inside faces.
pub fn point_words(point: &AimPoint) -> String {
    let mm = 1e3 * point.at;
    match point.face {
        Some(PanelName::Front | PanelName::Back) => {
            let face = point.face.map_or("", PanelName::word);
            format!("{face} panel: {} from the left panel, {} up from the floor", near(mm.x), near(mm.z))
        }
        Some(PanelName::Left | PanelName::Right) => {
            let face = point.face.map_or("", PanelName::word);
            format!("{face} panel: {} from the front panel, {} up from the floor", near(mm.y), near(mm.z))
        }
        Some(PanelName::Bottom) => format!("floor: {} from the left panel, {} from the front panel", near(mm.x), near(mm.y)),
        None => format!("over the rim, at rim height: {} from the left panel, {} from the front panel", near(mm.x), near(mm.y)),
    }
}

/// "20 deg to the left, 5 deg down", from straight in, seen from behind the nozzle; or by the compass of the tank for a pipe end or the floor.
pub fn angle_words(layout: &Layout, nozzle: &Nozzle) -> String {
    let direction = nozzle.aim.direction(nozzle.mount.centre(layout.tank.size()));
    let tilt = tilt_words(direction.z.clamp(-1.0, 1.0).asin().to_degrees());
    let flat = DVec3::new(direction.x, direction.y, 0.0);
    match nozzle.mount.panel().filter(|panel| *panel != PanelName::Bottom) {
        Some(panel) => {
            let inward = panel.inward();
            // Anticlockwise seen from above is to the left for someone who looks along the way in.
            let turn = inward.cross(flat).z.atan2(inward.dot(flat)).to_degrees();
            format!("{}, {tilt}", turn_words(turn))
        }
        None => format!(
            "{:.0} deg anticlockwise from pointing at the right panel, seen from above; {tilt}",
            flat.y.atan2(flat.x).to_degrees().rem_euclid(360.0)
        ),
    }
}

fn turn_words(degrees: f64) -> String {
    match degrees.round() {
        0.0 => "straight".to_owned(),
        d if d > 0.0 => format!("{d:.0} deg to the left"),
        d => format!("{:.0} deg to the right", -d),
    }
}

fn tilt_words(degrees: f64) -> String {
    match degrees.round() {
        0.0 => "level".to_owned(),
        d if d > 0.0 => format!("{d:.0} deg up"),
        d => format!("{:.0} deg down", -d),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_end_on_faces() {
        let size = DVec3::new(2.0, 1.0, 0.8);
        let cases = [
            (DVec3::new(0.0, 0.5, 0.4), DVec3::X, 2.0, Some(PanelName::Right)),
            (DVec3::new(1.0, 0.5, 0.4), DVec3::NEG_Y, 0.5, Some(PanelName::Front)),
            (DVec3::new(1.0, 0.5, 0.4), DVec3::new(0.6, 0.0, -0.8), 0.5, Some(PanelName::Bottom)),
            (DVec3::new(1.0, 0.5, 0.4), DVec3::Z, 0.4, None),
        ];
        for (from, direction, distance, face) in cases {
            let got = exit(from, direction, size).unwrap();
            assert!((got.0 - distance).abs() < 1e-12 && got.1 == face, "{from} {direction}: {got:?}");
        }
    }

    #[test]
    fn left_is_left_of_the_way_in() {
        // Someone who looks from the back panel toward the front has the right panel (+x) on the left.
        let nozzle = |azimuth: &str| -> Nozzle {
            ron::from_str(&format!(
                r#"(id: "N", mount: hole(panel: back, along: "1 m", up: "0.4 m"), aim: angles(azimuth: "{azimuth}", elevation: "-5 deg"), bore: "1 in")"#
            ))
            .unwrap()
        };
        let layout = crate::layout::demo();
        assert_eq!(angle_words(&layout, &nozzle("-50 deg")), "40 deg to the left, 5 deg down");
        assert_eq!(angle_words(&layout, &nozzle("-130 deg")), "40 deg to the right, 5 deg down");
    }
}
