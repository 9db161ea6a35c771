//! How much glass stays round a hole, and what published guidance asks for. Lengths in mm.
//!
//! The guidance is for glass that will be toughened, with its holes drilled before; it limits breakage in heat treatment and is
//! no strength rule for annealed aquarium panels under water load. One hole diameter of glass to edges and between holes is
//! common practice there, without a standard.

use super::view::{SeenHole, View};
use crate::layout::Material;

/// What the guidance is good for; said on every drilling sheet.
pub const STANDING: &str = "The edge, spacing and corner figures are guidance for glass that is toughened after drilling (ASTM C1048 as quoted by glass processors; \
    EN 12150-1 for the 2 x thickness and 6 x thickness forms). They limit breakage in heat treatment; they are no strength rule for annealed aquarium panels under water. \
    Common trade practice there, without a standard, is at least one hole diameter of glass to any edge and between holes. The panel maker's and the engineer's limits decide.";

/// Clear glass round one hole.
#[derive(Debug, Clone, PartialEq)]
pub struct Margins {
    /// Rim to the nearest edge (inside outline); negative: the hole cuts it.
    pub edge: f64,
    /// Rim to the nearest other rim, and that hole's number; `None`: no other hole of known size.
    pub spacing: Option<(f64, String)>,
    /// Rim to the nearest corner.
    pub corner: f64,
}

/// What guidance asks for a hole in a panel of some thickness.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    /// Rim to edge.
    pub edge: f64,
    /// Rim to rim.
    pub spacing: f64,
    /// Rim to corner.
    pub corner: f64,
}

impl Asked {
    /// ASTM C1048 as quoted by processors: edge max(6 mm, 2 t), spacing max(10 mm, 2 t), corner 6.5 t.
    pub fn for_glass(thickness: f64) -> Self {
        Self { edge: (2.0 * thickness).max(6.0), spacing: (2.0 * thickness).max(10.0), corner: 6.5 * thickness }
    }
}

/// Margins of a hole in its view; `None` when its diameter isn't given.
pub fn margins(view: &View, hole: &SeenHole) -> Option<Margins> {
    let radius = hole.drill? / 2.0;
    let (across, up) = (hole.x.min(view.width - hole.x), hole.y.min(view.height - hole.y));
    let others = view.holes.iter().filter(|other| other.tag != hole.tag);
    let gaps = others.filter_map(|other| {
        let apart = (other.x - hole.x).hypot(other.y - hole.y);
        Some((apart - radius - other.drill? / 2.0, other.tag.clone()))
    });
    let spacing = gaps.min_by(|a, b| a.0.total_cmp(&b.0));
    Some(Margins { edge: across.min(up) - radius, spacing, corner: across.hypot(up) - radius })
}

/// What is wrong or short at a hole, in words; empty when nothing is.
pub fn remarks(view: &View, hole: &SeenHole) -> Vec<String> {
    if !view.holds(hole) {
        return vec!["OFF THE PANEL: its centre is not on this panel. Do not drill; mend the layout.".to_owned()];
    }
    let Some(have) = margins(view, hole) else { return vec!["diameter not given: measure the bulkhead in hand".to_owned()] };
    let diameter = hole.drill.unwrap_or(0.0);
    let mut found = Vec::new();
    if have.edge <= 0.0 {
        found.push("CUTS THE EDGE of the panel. Do not drill; mend the layout.".to_owned());
    }
    if let Some((gap, other)) = have.spacing.as_ref().filter(|(gap, _)| *gap <= 0.0) {
        found.push(format!("RUNS INTO {other} by {:.0} mm. Do not drill; mend the layout.", -gap));
    }
    if found.is_empty() {
        found.extend(short_of_practice(&have, diameter));
        if is_glass(view.material) {
            found.extend(short_of_guidance(&have, diameter, view));
        }
    }
    found
}

/// Whether the glass guidance applies.
pub fn is_glass(material: Material) -> bool {
    matches!(material, Material::Glass | Material::ToughenedGlass)
}

fn short_of_practice(have: &Margins, diameter: f64) -> Vec<String> {
    let mut found = Vec::new();
    if have.edge < diameter {
        found.push(format!("edge: {:.0} mm left, one hole diameter is {diameter:.0} mm (trade practice)", have.edge));
    }
    if let Some((gap, other)) = have.spacing.as_ref().filter(|(gap, _)| *gap < diameter) {
        found.push(format!("to {other}: {gap:.0} mm left, one hole diameter is {diameter:.0} mm (trade practice)"));
    }
    found
}

fn short_of_guidance(have: &Margins, diameter: f64, view: &View) -> Vec<String> {
    let asked = Asked::for_glass(view.thickness);
    let mut found = Vec::new();
    let mut check = |what: &str, have: f64, need: f64| {
        if have < need {
            found.push(format!("{what}: {have:.0} mm left, guidance asks {need:.0} mm"));
        }
    };
    check("edge", have.edge, asked.edge);
    if let Some((gap, other)) = &have.spacing {
        check(&format!("to {other}"), *gap, asked.spacing);
    }
    check("corner", have.corner, asked.corner);
    if diameter < view.thickness + 1.6 {
        found.push(format!("diameter under thickness + 1.6 mm ({:.1} mm)", view.thickness + 1.6));
    }
    if diameter > view.width.min(view.height) / 3.0 {
        found.push("diameter over a third of the panel's narrow side".to_owned());
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The worked values for 10, 12, 15 and 19 mm glass: edge 20/24/30/38, corner 65/78/97.5/123.5 (arithmetic on ASTM C1048).
    #[test]
    fn guidance_by_thickness() {
        for (thickness, edge, corner) in [(10.0, 20.0, 65.0), (12.0, 24.0, 78.0), (15.0, 30.0, 97.5), (19.0, 38.0, 123.5)] {
            assert_eq!(Asked::for_glass(thickness), Asked { edge, spacing: edge, corner });
        }
        assert_eq!(Asked::for_glass(2.0).edge, 6.0);
        assert_eq!(Asked::for_glass(2.0).spacing, 10.0);
    }
}
