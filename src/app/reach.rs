//! What a drag on the picture does to a part: holes slide on their panel, everything else over the floor or up and down, tips turn the aim.

use super::part::{Item, Part};
use super::sight::Ray;
use crate::layout::{Aim, Layout, Mount, PanelName, Point};
use crate::units::{Angle, Display, Length};
use glam::DVec3;

/// Dragged parts stop at multiples of this, m: 5 mm, or a quarter inch.
fn step(display: Display) -> f64 {
    if display == Display::Us { 0.00635 } else { 0.005 }
}

fn rounded(metres: f64, display: Display) -> Length {
    let step = step(display);
    let shown = Length::from_si((metres / step).round() * step, display);
    shown.text().parse().unwrap_or(shown)
}

/// The part as it is after its middle was dragged onto the line of sight; `lift` drags it up and down.
pub fn moved(layout: &Layout, part: Part, ray: Ray, lift: bool, display: Display) -> Option<Item> {
    let size = layout.tank.size();
    let now = part.place(layout)?;
    let free = |at: &mut Point| -> Option<()> {
        let to = open_water(now, ray, lift)?.clamp(DVec3::ZERO, size);
        *at = Point(rounded(to.x, display), rounded(to.y, display), if lift { rounded(to.z, display) } else { at.2.clone() });
        if lift {
            (at.0, at.1) = (rounded(now.x, display), rounded(now.y, display));
        }
        Some(())
    };
    let mut item = part.get(layout)?;
    match &mut item {
        Item::Nozzle(nozzle) => slide(&mut nozzle.mount, size, ray, display, free)?,
        Item::Intake(intake) => slide(&mut intake.mount, size, ray, display, free)?,
        Item::Propeller(propeller) => free(&mut propeller.at)?,
        Item::Rock(rock) => free(&mut rock.at)?,
        Item::Colony(colony) => free(&mut colony.at)?,
        _ => return None,
    }
    Some(item)
}

fn slide(mount: &mut Mount, size: DVec3, ray: Ray, display: Display, free: impl Fn(&mut Point) -> Option<()>) -> Option<()> {
    let middle = mount.centre(size);
    match mount {
        Mount::PipeEnd(at) => free(at),
        Mount::Hole { panel, along, up, .. } => {
            let hit = ray.meets(middle, panel.inward())?.clamp(DVec3::ZERO, size);
            let (a, u) = match panel {
                PanelName::Front | PanelName::Back => (hit.x, hit.z),
                PanelName::Left | PanelName::Right => (hit.y, hit.z),
                PanelName::Bottom => (hit.x, hit.y),
            };
            (*along, *up) = (rounded(a, display), rounded(u, display));
            Some(())
        }
    }
}

/// Over the level plane through the part, or up its plumb line.
fn open_water(now: DVec3, ray: Ray, lift: bool) -> Option<DVec3> {
    if lift {
        let toward_viewer = DVec3::new(ray.along.x, ray.along.y, 0.0).normalize_or(DVec3::Y);
        return ray.meets(now, toward_viewer).map(|hit| DVec3::new(now.x, now.y, hit.z));
    }
    // A line of sight that is nearly level would throw the part across the tank.
    (ray.along.z.abs() > 0.12).then(|| ray.meets(now, DVec3::Z)).flatten()
}

/// The part aimed so that its jet's tip, `reach` metres away, lies on the line of sight.
pub fn aimed(layout: &Layout, part: Part, ray: Ray, reach: f64) -> Option<Item> {
    let from = part.place(layout)?;
    let mut item = part.get(layout)?;
    let aim = match &mut item {
        Item::Nozzle(nozzle) => &mut nozzle.aim,
        Item::Propeller(propeller) => &mut propeller.aim,
        _ => return None,
    };
    let tip = from + aim.direction(from) * reach;
    let hit = on_ball(from, reach, ray).or_else(|| ray.meets(tip, ray.along))?;
    let direction = (hit - from).normalize_or_zero();
    *aim = angles(direction);
    Some(item)
}

/// The near or far point of a ball that a line of sight meets, whichever is closer to level.
fn on_ball(middle: DVec3, radius: f64, ray: Ray) -> Option<DVec3> {
    let to = ray.from - middle;
    let half = to.dot(ray.along);
    let root = (half * half - to.length_squared() + radius * radius).sqrt();
    let hits = [-half - root, -half + root].map(|s| ray.from + ray.along * s);
    let level = |p: &DVec3| (p.z - middle.z).abs();
    root.is_finite().then(|| if level(&hits[0]) <= level(&hits[1]) { hits[0] } else { hits[1] })
}

/// Whole degrees.
pub fn angles(direction: DVec3) -> Aim {
    let degrees = |radians: f64| Angle::new(radians.to_degrees().round(), "deg");
    Aim::Angles { azimuth: degrees(direction.y.atan2(direction.x)), elevation: degrees(direction.z.clamp(-1.0, 1.0).asin()) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::part::List;

    #[test]
    fn a_hole_stays_on_its_panel() {
        let layout = crate::layout::demo();
        let part = Part { list: List::Nozzles, index: 0 };
        let ray = Ray { from: DVec3::new(-3.0, 0.404, 0.501), along: DVec3::X };
        let Some(Item::Nozzle(nozzle)) = moved(&layout, part, ray, false, Display::Metric) else { panic!("not moved") };
        let at = nozzle.mount.centre(layout.tank.size());
        assert!(at.distance(DVec3::new(layout.tank.size().x, 0.405, 0.5)) < 1e-9, "{at}");
    }

    #[test]
    fn an_aim_follows_the_pointer() {
        let layout = crate::layout::demo();
        let part = Part { list: List::Nozzles, index: 0 };
        let from = part.place(&layout).unwrap();
        let above = from + DVec3::new(-0.3, 0.3, 5.0);
        let Some(Item::Nozzle(nozzle)) = aimed(&layout, part, Ray { from: above, along: -DVec3::Z }, 0.5) else { panic!("not aimed") };
        let direction = nozzle.aim.direction(from);
        assert!((direction.y.atan2(direction.x).to_degrees() - 135.0).abs() < 0.6);
    }
}
