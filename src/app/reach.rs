//! What a drag on the picture does to a part: holes slide on their panel, everything else over the floor or up and down, tips turn
//! the aim, and rock is turned and scaled by its handles.

use super::part::{Item, Part};
use super::sight::Ray;
use super::snap::{self, Grip};
use crate::layout::{Aim, Layout, Mount, PanelName, Point, Shape};
use crate::units::{Angle, Display, Length};
use glam::{DVec2, DVec3};

fn rounded(metres: f64, display: Display) -> Length {
    let step = snap::step(display);
    Length::from_si((metres / step).round() * step, display)
}

/// Where a part's middle is dragged to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pull {
    /// Line of sight through the pointer.
    pub ray: Ray,
    /// Up and down instead of over the floor.
    pub lift: bool,
    /// How places are chosen.
    pub grip: Grip,
}

/// The part as it is after its middle was dragged onto the line of sight.
pub fn moved(layout: &Layout, part: Part, pull: Pull) -> Option<Item> {
    let size = layout.tank.size();
    let display = pull.grip.display;
    let now = part.place(layout)?;
    let mut item = part.get(layout)?;
    if let Some(Mount::Hole { panel, along, up, .. }) = mount(&mut item) {
        let hit = pull.ray.meets(now, panel.inward())?.clamp(DVec3::ZERO, size);
        let at = snap::rest(layout, *panel, part, snap::on_panel(*panel, hit), pull.grip);
        (*along, *up) = (Length::from_si(at.x, display), Length::from_si(at.y, display));
        return Some(item);
    }
    let to = open_water(now, pull.ray, pull.lift)?.clamp(DVec3::ZERO, size);
    shifted(layout, part, to - now, display)
}

fn mount(item: &mut Item) -> Option<&mut Mount> {
    match item {
        Item::Nozzle(nozzle) => Some(&mut nozzle.mount),
        Item::Intake(intake) => Some(&mut intake.mount),
        _ => None,
    }
}

/// The part moved by so much (m), rounded to the grid along each direction in which it moves; holes stay on their panel. `None` when
/// it stands nowhere.
pub fn shifted(layout: &Layout, part: Part, by: DVec3, display: Display) -> Option<Item> {
    let mut item = part.get(layout)?;
    let push = |p: &mut Point| shift(p, by, display);
    match &mut item {
        Item::Nozzle(nozzle) => shift_mount(&mut nozzle.mount, by, display),
        Item::Intake(intake) => shift_mount(&mut intake.mount, by, display),
        Item::Propeller(propeller) => push(&mut propeller.at),
        Item::Rock(rock) => push(&mut rock.at),
        Item::Colony(colony) => push(&mut colony.at),
        Item::Bar(bar) => [&mut bar.from, &mut bar.to].into_iter().for_each(push),
        Item::Zone(zone) => [&mut zone.from, &mut zone.to].into_iter().for_each(push),
        Item::Overflow(o) => {
            [&mut o.from, &mut o.to].into_iter().for_each(|c| {
                add(&mut c.0, by.x, display);
                add(&mut c.1, by.y, display);
            });
        }
        Item::Tank(_) | Item::Sand(_) | Item::Sump(_) | Item::Pump(_) | Item::Drum(_) | Item::Circuit(_) | Item::Sequence(_) => {
            return None;
        }
    }
    Some(item)
}

fn shift(p: &mut Point, by: DVec3, display: Display) {
    add(&mut p.0, by.x, display);
    add(&mut p.1, by.y, display);
    add(&mut p.2, by.z, display);
}

/// A length that isn't changed keeps its words.
fn add(length: &mut Length, by: f64, display: Display) {
    if by.abs() > 1e-9 {
        *length = rounded(length.si() + by, display);
    }
}

fn shift_mount(mount: &mut Mount, by: DVec3, display: Display) {
    match mount {
        Mount::PipeEnd(at) => shift(at, by, display),
        Mount::Hole { panel, along, up, .. } => {
            let DVec2 { x, y } = snap::on_panel(*panel, by);
            add(along, x, display);
            add(up, y, display);
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
    let aim = aim_of(&mut item)?;
    let tip = from + aim.direction(from) * reach;
    let hit = on_ball(from, reach, ray, tip).or_else(|| ray.meets(tip, ray.along))?;
    *aim = angles((hit - from).normalize_or_zero());
    Some(item)
}

/// The part aimed at a place in the tank, m.
pub fn aimed_at(layout: &Layout, part: Part, target: DVec3, display: Display) -> Option<Item> {
    let mut item = part.get(layout)?;
    let length = |metres: f64| Length::from_si((metres * 1e3).round() / 1e3, display);
    *aim_of(&mut item)? = Aim::Toward(Point(length(target.x), length(target.y), length(target.z)));
    Some(item)
}

/// The aim of a nozzle or a propeller pump.
pub fn aim_of(item: &mut Item) -> Option<&mut Aim> {
    match item {
        Item::Nozzle(nozzle) => Some(&mut nozzle.aim),
        Item::Propeller(propeller) => Some(&mut propeller.aim),
        _ => None,
    }
}

/// The near or far point of a ball that a line of sight meets, whichever is closer to `now`.
fn on_ball(middle: DVec3, radius: f64, ray: Ray, now: DVec3) -> Option<DVec3> {
    let to = ray.from - middle;
    let half = to.dot(ray.along);
    let root = (half * half - to.length_squared() + radius * radius).sqrt();
    let hits = [-half - root, -half + root].map(|s| ray.from + ray.along * s);
    let away = |p: &DVec3| p.distance(now);
    root.is_finite().then(|| if away(&hits[0]) <= away(&hits[1]) { hits[0] } else { hits[1] })
}

/// Whole degrees.
pub fn angles(direction: DVec3) -> Aim {
    Aim::Angles { azimuth: degrees(direction.y.atan2(direction.x)), elevation: degrees(direction.z.clamp(-1.0, 1.0).asin()) }
}

fn degrees(radians: f64) -> Angle {
    Angle::new(radians.to_degrees().round() + 0.0, "deg")
}

/// Half the rock's largest extent over the floor, m.
pub fn girth(shape: &Shape) -> f64 {
    let size = extent(shape);
    size.x.max(size.y) / 2.0
}

/// Size of a rock along its own axes, m.
pub fn extent(shape: &Shape) -> DVec3 {
    match shape {
        Shape::Ellipsoid { size } | Shape::Box { size } => size.metres(),
        Shape::Cylinder { diameter, height } => DVec3::new(diameter.si(), diameter.si(), height.si()),
        Shape::Arch { span, height, depth, .. } => DVec3::new(span.si(), depth.si(), height.si()),
        Shape::Shelf { length, depth, thickness } => DVec3::new(length.si(), depth.si(), thickness.si()),
        Shape::Pile { length, depth, height, .. } => DVec3::new(length.si(), depth.si(), height.si()),
        Shape::Scan { unit, scan, .. } => scan.size() * unit.si(),
    }
}

/// The rock turned about the vertical so that its own x axis points at where the line of sight meets its level.
pub fn turned(layout: &Layout, part: Part, ray: Ray) -> Option<Item> {
    let Item::Rock(mut rock) = part.get(layout)? else { return None };
    let out = ray.meets(rock.at.metres(), DVec3::Z)? - rock.at.metres();
    rock.turn.yaw = degrees(out.y.atan2(out.x));
    Some(Item::Rock(rock))
}

/// The rock scaled so that its top comes to the height at which the line of sight passes its middle.
pub fn scaled(layout: &Layout, part: Part, ray: Ray, display: Display) -> Option<Item> {
    let Item::Rock(mut rock) = part.get(layout)? else { return None };
    let foot = rock.at.metres();
    let toward_viewer = DVec3::new(ray.along.x, ray.along.y, 0.0).normalize_or(DVec3::Y);
    let height = (ray.meets(foot, toward_viewer)?.z - foot.z).clamp(0.01, layout.tank.height.si() * 2.0);
    let by = height / extent(&rock.shape).z.max(1e-6);
    scale(&mut rock.shape, by, display);
    Some(Item::Rock(rock))
}

/// All sizes of a rock times `by`.
pub fn scale(shape: &mut Shape, by: f64, display: Display) {
    let grow = |l: &mut Length| *l = Length::from_si((l.si() * by * 1e3).round().max(1.0) / 1e3, display);
    match shape {
        Shape::Ellipsoid { size } | Shape::Box { size } => [&mut size.0, &mut size.1, &mut size.2].into_iter().for_each(grow),
        Shape::Cylinder { diameter, height } => [diameter, height].into_iter().for_each(grow),
        Shape::Arch { span, height, depth, thickness } => [span, height, depth, thickness].into_iter().for_each(grow),
        Shape::Shelf { length, depth, thickness } => [length, depth, thickness].into_iter().for_each(grow),
        Shape::Pile { length, depth, height, boulders, .. } => {
            [length, depth, height, &mut boulders.0, &mut boulders.1].into_iter().for_each(grow)
        }
        Shape::Scan { unit, .. } => *unit = Length::from_si(unit.si() * by, Display::Metric),
    }
}

/// The other panel of a pair, or the same for the floor; `axis` 0: left and right change places, 1: front and back.
pub fn opposite(panel: PanelName, axis: usize) -> PanelName {
    match (panel, axis) {
        (PanelName::Left, 0) => PanelName::Right,
        (PanelName::Right, 0) => PanelName::Left,
        (PanelName::Front, 1) => PanelName::Back,
        (PanelName::Back, 1) => PanelName::Front,
        (same, _) => same,
    }
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
        let pull = Pull { ray, lift: false, grip: Grip { near: 0.0, display: Display::Metric } };
        let Some(Item::Nozzle(nozzle)) = moved(&layout, part, pull) else { panic!("not moved") };
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

    #[test]
    fn a_rock_is_scaled_to_the_pointer_and_turned() {
        let mut layout = crate::layout::demo();
        let Some(Item::Rock(mut rock)) = crate::app::fresh::Fresh::Block.item(&layout) else { panic!("no block") };
        rock.at = Point(Length::new(1.0, "m"), Length::new(0.4, "m"), Length::new(0.0, "m"));
        layout.rocks = vec![rock];
        let part = Part { list: List::Rocks, index: 0 };
        let level = Ray { from: DVec3::new(1.0, -3.0, 0.1), along: DVec3::Y };
        let Some(Item::Rock(rock)) = scaled(&layout, part, level, Display::Metric) else { panic!("not scaled") };
        assert!(extent(&rock.shape).distance(DVec3::splat(0.1)) < 2e-3);
        let down = Ray { from: DVec3::new(1.0, 0.9, 3.0), along: -DVec3::Z };
        let Some(Item::Rock(rock)) = turned(&layout, part, down) else { panic!("not turned") };
        assert_eq!(rock.turn.yaw.text(), "90 deg");
    }
}
