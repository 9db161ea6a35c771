//! New parts, ready to be moved to where they belong.

use super::document::Edit;
use super::fresh_loop;
use super::part::Item;
use crate::layout::{Aim, Bar, Colony, Intake, Layout, Mount, Nozzle, NozzleKind, PanelName, Point, Propeller, PropellerOutput, Rock};
use crate::layout::{Drain, DrainKind, Face, Overflow, Sand, Screen, Sequence, Shape, Sump, Supply, Turn, Want, Zone};
use crate::units::{Angle, Length, Speed, VolumeFlow};
use glam::DVec3;

/// What can be added with one click.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs, reason = "the names say it")]
pub enum Fresh {
    Nozzle,
    PipeEnd,
    Intake,
    Propeller,
    Boulder,
    Block,
    Pillar,
    Arch,
    Shelf,
    Pile,
    Brace,
    Sand,
    Colony,
    Zone,
    Sequence,
    Loop,
    Pump,
    Drum,
    Overflow,
    Sump,
}

impl Fresh {
    /// All of them, as the menu lists them.
    pub const ALL: [Self; 20] = [
        Self::Loop,
        Self::Nozzle,
        Self::PipeEnd,
        Self::Intake,
        Self::Propeller,
        Self::Boulder,
        Self::Block,
        Self::Pillar,
        Self::Arch,
        Self::Shelf,
        Self::Pile,
        Self::Brace,
        Self::Sand,
        Self::Colony,
        Self::Zone,
        Self::Sequence,
        Self::Pump,
        Self::Drum,
        Self::Overflow,
        Self::Sump,
    ];

    /// What the menu says.
    pub fn name(self) -> &'static str {
        match self {
            Self::Nozzle => "Nozzle in the back panel",
            Self::PipeEnd => "Nozzle on a pipe end",
            Self::Intake => "Intake in the back panel",
            Self::Propeller => "Propeller pump",
            Self::Boulder => "Rock: boulder",
            Self::Block => "Rock: block",
            Self::Pillar => "Rock: pillar",
            Self::Arch => "Rock: arch",
            Self::Shelf => "Rock: shelf",
            Self::Pile => "Rock: pile of boulders",
            Self::Brace => "Brace across the rim",
            Self::Sand => "Sand bed",
            Self::Colony => "Colony",
            Self::Zone => "Zone",
            Self::Sequence => "Copy of the sequence in use",
            Self::Loop => "Closed loop: pump, drum unit, 2 intakes, 4 nozzles",
            Self::Pump => "Pump",
            Self::Drum => "Drum unit with four outlets",
            Self::Overflow => "Overflow box",
            Self::Sump => "Sump",
        }
    }

    /// The edits that add it; none where there is nothing to add.
    pub fn edits(self, layout: &Layout) -> Vec<Edit> {
        match self {
            Self::Loop => fresh_loop::edits(layout),
            Self::Sequence => copied_sequence(layout),
            other => other.item(layout).into_iter().map(|item| Edit::Add(Box::new(item))).collect(),
        }
    }

    /// The part, in the middle of the tank or of its panel and sized to the tank; `None` where the layout has nothing to copy, or
    /// has the only one there can be.
    pub fn item(self, layout: &Layout) -> Option<Item> {
        let size = layout.tank.size();
        let floor = layout.sand.as_ref().map_or(0.0, |s| s.depth.si());
        let middle = DVec3::new(size.x / 2.0, size.y / 2.0, floor);
        let unit = size.min_element() * 0.4;
        let free = free_place(layout, middle, unit);
        let rock = |shape: Shape, name: &str| {
            Some(Item::Rock(Rock { id: name.into(), shape, at: point(free), turn: Turn::default(), porous: None }))
        };
        match self {
            Self::Nozzle => Some(Item::Nozzle(nozzle(hole(size, 0.7), "N1"))),
            Self::PipeEnd => Some(Item::Nozzle(nozzle(Mount::PipeEnd(point(size / 2.0)), "N1"))),
            Self::Intake => Some(Item::Intake(intake(hole(size, 0.3)))),
            Self::Propeller => Some(Item::Propeller(propeller(DVec3::new(0.08, size.y / 2.0, layout.tank.water_level.si() * 0.75)))),
            Self::Boulder => rock(Shape::Ellipsoid { size: point(DVec3::new(unit, unit * 0.9, unit * 0.8)) }, "boulder 1"),
            Self::Block => rock(Shape::Box { size: point(DVec3::splat(unit * 0.7)) }, "block 1"),
            Self::Pillar => rock(Shape::Cylinder { diameter: mm(unit * 0.4), height: mm(unit) }, "pillar 1"),
            Self::Arch => {
                rock(Shape::Arch { span: mm(unit * 1.3), height: mm(unit), depth: mm(unit * 0.5), thickness: mm(unit * 0.3) }, "arch 1")
            }
            Self::Shelf => rock(Shape::Shelf { length: mm(unit), depth: mm(unit * 0.6), thickness: mm(unit * 0.15) }, "shelf 1"),
            Self::Pile => rock(pile(unit), "pile 1"),
            Self::Brace => Some(Item::Bar(brace(size))),
            Self::Sand => layout.sand.is_none().then(|| Item::Sand(Sand { depth: Length::new(30.0, "mm"), grain: Length::new(1.0, "mm") })),
            Self::Colony => {
                let at = point(middle + DVec3::Z * unit);
                Some(Item::Colony(Colony { id: "colony 1".into(), at, size: Length::new(10.0, "cm"), want: Want::Moderate, grown: None }))
            }
            Self::Zone => Some(Item::Zone(zone(middle, size))),
            Self::Sequence => layout.active_sequence().map(|s| Item::Sequence(Sequence::clone(s))),
            Self::Loop => None,
            Self::Pump => Some(Item::Pump(fresh_loop::pump("pump 1", 8000.0))),
            Self::Drum => Some(Item::Drum(fresh_loop::drum("unit 1", Length::new(32.0, "mm")))),
            Self::Overflow => Some(Item::Overflow(overflow(layout))),
            Self::Sump => layout.sump.is_none().then(|| {
                Item::Sump(Sump {
                    level: Length::new(-700.0, "mm"),
                    free_volume: crate::units::Volume::new(120.0, "L"),
                    suction_depth: None,
                })
            }),
        }
    }
}

/// The first place along the middle of the floor that is so far (m) from all rock, else the middle.
fn free_place(layout: &Layout, middle: DVec3, apart: f64) -> DVec3 {
    let shares = [1.0, 0.5, 1.5, 0.25, 1.75, 0.75, 1.25];
    let places = shares.map(|share| middle.with_x(middle.x * share));
    let free = |p: &DVec3| layout.rocks.iter().all(|rock| rock.at.metres().truncate().distance(p.truncate()) >= apart);
    places.into_iter().find(free).unwrap_or(middle)
}

/// Whole millimetres.
fn mm(metres: f64) -> Length {
    Length::new((metres * 1e3).round(), "mm")
}

fn point(p: DVec3) -> Point {
    Point(mm(p.x), mm(p.y), mm(p.z))
}

fn hole(size: DVec3, share_up: f64) -> Mount {
    Mount::Hole { panel: PanelName::Back, along: mm(size.x / 2.0), up: mm(size.z * share_up), drill: None }
}

/// A fixed flow, so that it runs before its plumbing is drawn.
fn nozzle(mount: Mount, id: &str) -> Nozzle {
    let forward = Aim::Angles { azimuth: Angle::new(-90.0, "deg"), elevation: Angle::new(0.0, "deg") };
    let supply = Supply::Fixed(VolumeFlow::new(2000.0, "L/h"));
    Nozzle { id: id.into(), mount, aim: forward, bore: Length::new(25.0, "mm"), kind: NozzleKind::default(), k: None, supply }
}

fn intake(mount: Mount) -> Intake {
    let face = Face::Rectangle(Length::new(150.0, "mm"), Length::new(150.0, "mm"));
    let supply = Supply::Fixed(VolumeFlow::new(2000.0, "L/h"));
    Intake {
        id: "intake 1".into(),
        mount,
        facing: None,
        bore: Length::new(50.0, "mm"),
        screen: Some(Screen { face, open: 0.5, hidden: 0.0, blocked: 0.0 }),
        supply,
    }
}

fn propeller(at: DVec3) -> Propeller {
    let along = Aim::Angles { azimuth: Angle::new(0.0, "deg"), elevation: Angle::new(0.0, "deg") };
    let output = PropellerOutput::Speed(Speed::new(1.0, "m/s"));
    Propeller { id: "propeller 1".into(), at: point(at), aim: along, bore: Length::new(80.0, "mm"), output }
}

fn pile(unit: f64) -> Shape {
    Shape::Pile {
        length: mm(unit * 1.5),
        depth: mm(unit),
        height: mm(unit * 0.9),
        boulders: (mm(unit * 0.3), mm(unit * 0.6)),
        count: 14,
        seed: 1,
    }
}

fn brace(size: DVec3) -> Bar {
    let (from, to) = (DVec3::new(size.x * 0.45, 0.0, size.z - 0.03), DVec3::new(size.x * 0.55, size.y, size.z));
    Bar { id: "brace 1".into(), from: point(from), to: point(to) }
}

fn zone(middle: DVec3, size: DVec3) -> Zone {
    let half = size * 0.12;
    let low = (middle - half).max(DVec3::new(0.0, 0.0, middle.z));
    Zone { id: "zone 1".into(), from: point(low), to: point(middle + half), want: Want::Moderate }
}

/// In the left back corner, its lip just under the water.
fn overflow(layout: &Layout) -> Overflow {
    let (size, level) = (layout.tank.size(), layout.tank.water_level.si());
    let side = size.y.min(0.6) * 0.3;
    let pipe = if layout.display == crate::units::Display::Us { "1-1/2 in, schedule 40" } else { "50 mm, PN10" };
    let drain = |id: &str, kind: DrainKind| Drain { id: id.into(), pipe: pipe.into(), kind, drop: mm(1.0), length: mm(1.5), depth: None };
    Overflow {
        id: "overflow 1".into(),
        from: (mm(0.0), mm(size.y - side)),
        to: (mm(side), mm(size.y)),
        crest: mm(level - 0.006),
        lip: mm(side * 2.0),
        open: 1.0,
        drains: vec![
            drain("siphon", DrainKind::FullSiphon),
            drain("stack", DrainKind::OpenStack),
            drain("emergency", DrainKind::Emergency),
        ],
    }
}

/// A copy of the sequence in use, which takes its place at once.
fn copied_sequence(layout: &Layout) -> Vec<Edit> {
    let Some(active) = layout.active_sequence() else { return Vec::new() };
    let id = super::document::free_id(&super::part::ids(layout, super::part::List::Sequences), &format!("{} 2", active.id));
    let copy = Sequence { id: id.clone(), ..active.clone() };
    vec![Edit::Add(Box::new(Item::Sequence(copy))), Edit::UseSequence(id)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fresh_rock_stands_beside_what_is_there() {
        let text = crate::app::template::Template::Empty.text();
        let mut layout = crate::layout::read("start", text.as_bytes()).unwrap().layout;
        for _ in 0..4 {
            let Some(Item::Rock(rock)) = Fresh::Arch.item(&layout) else { panic!("no rock") };
            layout.rocks.push(rock);
        }
        let along: Vec<f64> = layout.rocks.iter().map(|rock| rock.at.metres().x).collect();
        assert_eq!(along, [1.0, 0.5, 1.5, 1.0]);
    }
}
