//! Parts seen in a mirror that stands across the middle of the tank.

use super::part::{Item, Part};
use super::reach::opposite;
use crate::layout::{Aim, Layout, Mount, PanelName, Point, Turn};
use crate::units::{Angle, Display, Length};
use std::f64::consts::PI;

/// Which sides change places.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mirror {
    /// Left and right.
    LeftRight,
    /// Front and back.
    FrontBack,
}

/// The part as the mirror shows it; `None` when it stands nowhere. Piles and imported rock are placed and turned, but their own form stays.
pub fn mirrored(layout: &Layout, part: Part, mirror: Mirror, display: Display) -> Option<Item> {
    let size = layout.tank.size();
    let axis = mirror as usize;
    let glass = Glass { axis, whole: size[axis], display };
    let mut item = part.get(layout)?;
    match &mut item {
        Item::Nozzle(nozzle) => {
            glass.mount(&mut nozzle.mount);
            glass.aim(&mut nozzle.aim);
        }
        Item::Intake(intake) => {
            glass.mount(&mut intake.mount);
            intake.facing.iter_mut().for_each(|aim| glass.aim(aim));
        }
        Item::Propeller(propeller) => {
            glass.point(&mut propeller.at);
            glass.aim(&mut propeller.aim);
        }
        Item::Rock(rock) => {
            glass.point(&mut rock.at);
            glass.turn(&mut rock.turn);
        }
        Item::Colony(colony) => glass.point(&mut colony.at),
        Item::Zone(zone) => glass.corners(&mut zone.from, &mut zone.to),
        Item::Bar(bar) => glass.corners(&mut bar.from, &mut bar.to),
        Item::Overflow(o) => {
            let (from, to) = if axis == 0 { (&mut o.from.0, &mut o.to.0) } else { (&mut o.from.1, &mut o.to.1) };
            glass.swap(from, to);
        }
        Item::Tank(_) | Item::Sand(_) | Item::Sump(_) | Item::Pump(_) | Item::Drum(_) | Item::Circuit(_) | Item::Sequence(_) => {
            return None;
        }
    }
    Some(item)
}

struct Glass {
    axis: usize,
    whole: f64,
    display: Display,
}

impl Glass {
    fn length(&self, l: &mut Length) {
        *l = Length::from_si(self.whole - l.si(), self.display);
    }

    fn point(&self, p: &mut Point) {
        self.length(if self.axis == 0 { &mut p.0 } else { &mut p.1 });
    }

    fn corners(&self, from: &mut Point, to: &mut Point) {
        if self.axis == 0 { self.swap(&mut from.0, &mut to.0) } else { self.swap(&mut from.1, &mut to.1) }
    }

    /// The lesser corner stays the lesser one.
    fn swap(&self, from: &mut Length, to: &mut Length) {
        self.length(from);
        self.length(to);
        std::mem::swap(from, to);
    }

    fn mount(&self, mount: &mut Mount) {
        match mount {
            Mount::PipeEnd(at) => self.point(at),
            Mount::Hole { panel, along, up, .. } => {
                let goes_along = match panel {
                    PanelName::Front | PanelName::Back => (self.axis == 0).then_some(along),
                    PanelName::Left | PanelName::Right => (self.axis == 1).then_some(along),
                    PanelName::Bottom => Some(if self.axis == 0 { along } else { up }),
                };
                goes_along.into_iter().for_each(|l| self.length(l));
                *panel = opposite(*panel, self.axis);
            }
        }
    }

    fn aim(&self, aim: &mut Aim) {
        match aim {
            Aim::Toward(target) => self.point(target),
            Aim::Angles { azimuth, .. } => *azimuth = if self.axis == 0 { degrees(PI - azimuth.si()) } else { degrees(-azimuth.si()) },
        }
    }

    /// Turns about directions in the glass are seen turned the other way; the one about the direction across it stays.
    fn turn(&self, turn: &mut Turn) {
        turn.yaw = degrees(-turn.yaw.si());
        let other = if self.axis == 0 { &mut turn.pitch } else { &mut turn.roll };
        *other = degrees(-other.si());
    }
}

/// Between -180 and 180.
fn degrees(radians: f64) -> Angle {
    let turn = (radians + PI).rem_euclid(2.0 * PI) - PI;
    let tenths = (turn.to_degrees() * 10.0).round() / 10.0 + 0.0;
    Angle::new(if tenths <= -180.0 { 180.0 } else { tenths }, "deg")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::part::{List, ids};
    use glam::DVec3;

    #[test]
    fn a_mirror_shows_places_and_directions() {
        let layout = crate::layout::demo();
        let size = layout.tank.size();
        for (mirror, across) in [(Mirror::LeftRight, DVec3::X), (Mirror::FrontBack, DVec3::Y)] {
            for index in 0..layout.nozzles.len() {
                let part = Part { list: List::Nozzles, index };
                let Some(Item::Nozzle(seen)) = mirrored(&layout, part, mirror, Display::Metric) else { panic!("not mirrored") };
                let own = &layout.nozzles[index];
                let (a, b) = (own.mount.centre(size), seen.mount.centre(size));
                let expected = a + across * (size.dot(across) - 2.0 * a.dot(across));
                assert!(b.distance(expected) < 1e-4, "{b} and {expected}");
                let (d, e) = (own.aim.direction(a), seen.aim.direction(b));
                assert!(e.distance(d - across * 2.0 * d.dot(across)) < 2e-3);
            }
        }
    }

    #[test]
    fn twice_in_the_mirror_is_as_before() {
        let mut layout = crate::layout::demo();
        for list in List::ALL {
            for index in 0..ids(&layout, list).len() {
                let part = Part { list, index };
                let before = part.place(&layout);
                for _ in 0..2 {
                    if let Some(item) = mirrored(&layout, part, Mirror::LeftRight, Display::Metric) {
                        item.put(&mut layout, index);
                    }
                }
                let after = part.place(&layout);
                assert!(before.zip(after).is_none_or(|(a, b)| a.distance(b) < 1e-4), "{part:?}");
            }
        }
    }
}
