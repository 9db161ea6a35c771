//! Where a dragged hole comes to rest: on centre lines, level with other holes, evenly spaced, mirrored, or on the grid.

use super::part::{List, Part};
use crate::layout::{Layout, Mount, PanelName};
use crate::units::Display;
use glam::{DVec2, DVec3};

/// A hole on a panel, by its centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hole {
    /// Whose it is.
    pub part: Part,
    /// Along and up the panel, m.
    pub at: DVec2,
}

/// Why a hole's centre stands where it stands along one direction of its panel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Why {
    /// On the panel's centre line.
    Centre,
    /// As far along, or as high, as the hole there, m.
    Level(DVec2),
    /// As far from one side as the hole there (m) is from the other.
    Mirrored(DVec2),
    /// As far from one as from the other of these two holes, or as far from the first as that is from the second, m.
    Even(DVec2, DVec2),
}

impl Why {
    /// The word beside the guide line.
    pub fn word(self) -> &'static str {
        match self {
            Self::Centre => "centre line",
            Self::Level(_) => "in line",
            Self::Mirrored(_) => "mirrored",
            Self::Even(..) => "evenly spaced",
        }
    }
}

/// How a place is chosen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grip {
    /// A guide nearer than this takes the hole, m; zero: only the grid.
    pub near: f64,
    /// Whose grid.
    pub display: Display,
}

/// Grid step, m: 5 mm, or a quarter inch.
pub fn step(display: Display) -> f64 {
    if display == Display::Us { 0.00635 } else { 0.005 }
}

/// Where a place in the tank (m) lies along and up a panel.
pub fn on_panel(panel: PanelName, place: DVec3) -> DVec2 {
    match panel {
        PanelName::Front | PanelName::Back => DVec2::new(place.x, place.z),
        PanelName::Left | PanelName::Right => DVec2::new(place.y, place.z),
        PanelName::Bottom => DVec2::new(place.x, place.y),
    }
}

/// The place in the tank (m) that lies there on a panel.
pub fn in_tank(panel: PanelName, at: DVec2, size: DVec3) -> DVec3 {
    match panel {
        PanelName::Front => DVec3::new(at.x, 0.0, at.y),
        PanelName::Back => DVec3::new(at.x, size.y, at.y),
        PanelName::Left => DVec3::new(0.0, at.x, at.y),
        PanelName::Right => DVec3::new(size.x, at.x, at.y),
        PanelName::Bottom => DVec3::new(at.x, at.y, 0.0),
    }
}

/// All holes of a panel but this part's.
pub fn others(layout: &Layout, panel: PanelName, part: Part) -> Vec<Hole> {
    let nozzles = layout.nozzles.iter().enumerate().map(|(index, n)| (Part { list: List::Nozzles, index }, &n.mount));
    let intakes = layout.intakes.iter().enumerate().map(|(index, n)| (Part { list: List::Intakes, index }, &n.mount));
    let hole = |(whose, mount): (Part, &Mount)| match mount {
        Mount::Hole { panel: p, along, up, .. } if *p == panel && whose != part => {
            Some(Hole { part: whose, at: DVec2::new(along.si(), up.si()) })
        }
        _ => None,
    };
    nozzles.chain(intakes).filter_map(hole).collect()
}

/// Where a hole dragged to `at` (m) comes to rest.
pub fn rest(layout: &Layout, panel: PanelName, part: Part, at: DVec2, grip: Grip) -> DVec2 {
    let guides = guides(layout, panel, part);
    DVec2::from_array([0, 1].map(|axis| {
        let away = |g: &&Guide| (g.at - at[axis]).abs();
        let nearest = guides.iter().filter(|g| g.axis == axis).min_by(|a, b| away(a).total_cmp(&away(b)));
        match nearest.filter(|g| away(g) < grip.near) {
            Some(guide) => guide.at,
            None => (at[axis] / step(grip.display)).round() * step(grip.display),
        }
    }))
}

/// A line that a hole can come to rest on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Guide {
    /// 0: it fixes the place along the panel; 1: up the panel.
    pub axis: usize,
    /// There, m.
    pub at: f64,
    /// And why.
    pub why: Why,
}

/// The guides that a hole stands on, at most one for each direction.
pub fn met(layout: &Layout, panel: PanelName, part: Part, at: DVec2) -> Vec<Guide> {
    const EXACT: f64 = 2e-4;
    let guides = guides(layout, panel, part);
    [0, 1].into_iter().filter_map(|axis| guides.iter().find(|g| g.axis == axis && (g.at - at[axis]).abs() < EXACT).copied()).collect()
}

/// Every guide of a panel, the most telling first.
fn guides(layout: &Layout, panel: PanelName, part: Part) -> Vec<Guide> {
    let extent = on_panel(panel, layout.tank.size());
    let holes = others(layout, panel, part);
    let mut found = Vec::new();
    for axis in [0, 1] {
        let upright = axis == 1 && panel != PanelName::Bottom;
        let mut put = |at: f64, why: Why| {
            if at > 0.0 && at < extent[axis] {
                found.push(Guide { axis, at, why });
            }
        };
        put(extent[axis] / 2.0, Why::Centre);
        holes.iter().for_each(|h| put(h.at[axis], Why::Level(h.at)));
        // Up a wall there is nothing to mirror: the floor and the water are not alike.
        holes.iter().filter(|_| !upright).for_each(|h| put(extent[axis] - h.at[axis], Why::Mirrored(h.at)));
        for (i, a) in holes.iter().enumerate() {
            for b in &holes[i + 1..] {
                let (a, b) = (a.at, b.at);
                put((a[axis] + b[axis]) / 2.0, Why::Even(a, b));
                put(2.0 * a[axis] - b[axis], Why::Even(a, b));
                put(2.0 * b[axis] - a[axis], Why::Even(b, a));
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Length;

    fn with_holes(places: &[(f64, f64)]) -> Layout {
        let mut layout = crate::layout::demo();
        let nozzle = layout.nozzles[0].clone();
        layout.intakes.clear();
        layout.nozzles = places
            .iter()
            .map(|(along, up)| {
                let mut nozzle = nozzle.clone();
                nozzle.mount =
                    Mount::Hole { panel: PanelName::Back, along: Length::new(*along, "mm"), up: Length::new(*up, "mm"), drill: None };
                nozzle
            })
            .collect();
        layout
    }

    fn dragged(layout: &Layout, at: [f64; 2], near: f64) -> DVec2 {
        let part = Part { list: List::Nozzles, index: 0 };
        rest(layout, PanelName::Back, part, DVec2::from_array(at), Grip { near, display: Display::Metric })
    }

    #[test]
    fn a_hole_rests_on_guides_or_on_the_grid() {
        let layout = with_holes(&[(0.0, 0.0), (300.0, 400.0), (700.0, 400.0)]);
        let length = layout.tank.size().x;
        let cases = [
            ([0.497, 0.404], [0.5, 0.4]),                       // midway between the two, and as high
            ([1.104, 0.204], [1.1, 0.205]),                     // as far from the second as the first is; grid
            ([length / 2.0 + 0.004, 0.1], [length / 2.0, 0.1]), // centre line
            ([length - 0.304, 0.1], [length - 0.3, 0.1]),       // mirrored
        ];
        for (at, expected) in cases {
            let got = dragged(&layout, at, 0.01);
            assert!(got.distance(DVec2::from_array(expected)) < 1e-9, "{at:?}: {got}");
        }
        assert!(dragged(&layout, [0.497, 0.4013], 0.0).distance(DVec2::new(0.495, 0.4)) < 1e-9);
    }

    #[test]
    fn a_panel_and_the_tank_agree() {
        let size = DVec3::new(2.0, 0.8, 0.6);
        for panel in PanelName::ALL {
            let at = DVec2::new(0.3, 0.2);
            assert_eq!(on_panel(panel, in_tank(panel, at, size)), at);
        }
    }
}
