//! Holes in panels: on the panel, clear of edges, corners and each other.

use super::{caution, fault, length};
use crate::finding::{self, Finding};
use crate::layout::{Layout, Material, Mount, PanelName};
use glam::DVec2;

const STRENGTH: &str = "The glass rules (ASTM C1048) are for glass that is toughened after drilling and limit breakage in heat treatment; one hole \
    diameter of glass is trade practice without a standard. Neither proves a panel's strength under water: the panel maker's limits decide";

/// A hole as drilled, places along and up its panel, m.
struct Hole {
    part: String,
    panel: PanelName,
    at: DVec2,
    diameter: f64,
}

pub(super) fn check(layout: &Layout) -> Vec<Finding> {
    let holes = holes(layout);
    let mut found: Vec<Finding> = holes.iter().flat_map(|hole| one_hole(layout, hole)).collect();
    for (number, a) in holes.iter().enumerate() {
        found.extend(holes[number + 1..].iter().filter(|b| b.panel == a.panel).filter_map(|b| two_holes(layout, a, b)));
    }
    found
}

fn holes(layout: &Layout) -> Vec<Hole> {
    let nozzles = layout.nozzles.iter().map(|nozzle| (format!("nozzles/{}", nozzle.id), &nozzle.mount, nozzle.bore.si()));
    let intakes = layout.intakes.iter().map(|intake| (format!("intakes/{}", intake.id), &intake.mount, intake.bore.si()));
    let hole = |(part, mount, bore): (String, &Mount, f64)| match mount {
        Mount::PipeEnd(_) => None,
        Mount::Hole { panel, along, up, drill } => {
            let diameter = drill.as_ref().map_or(bore, |drill| drill.si());
            Some(Hole { part, panel: *panel, at: DVec2::new(along.si(), up.si()), diameter })
        }
    };
    nozzles.chain(intakes).filter_map(hole).collect()
}

/// Inside size of a panel along and up, m.
fn extent(layout: &Layout, panel: PanelName) -> DVec2 {
    let size = layout.tank.size();
    match panel {
        PanelName::Front | PanelName::Back => DVec2::new(size.x, size.z),
        PanelName::Left | PanelName::Right => DVec2::new(size.y, size.z),
        PanelName::Bottom => DVec2::new(size.x, size.y),
    }
}

fn one_hole(layout: &Layout, hole: &Hole) -> Vec<Finding> {
    let panel = layout.tank.panels.get(hole.panel);
    let (thickness, word, radius) = (panel.thickness.si(), hole.panel.word(), hole.diameter / 2.0);
    let extent = extent(layout, hole.panel);
    let show = |metres: f64| length(metres, layout.display);
    let mut found = Vec::new();
    if panel.material == Material::ToughenedGlass {
        let why = "toughened glass shatters as soon as it is drilled";
        found.push(fault(
            "toughened-hole",
            hole.part.clone(),
            format!("its hole is in the {word} panel, which is toughened glass"),
            why,
            "use annealed glass, or a panel drilled before toughening",
        ));
    }
    let to_edge = hole.at.min(extent - hole.at).min_element() - radius;
    if to_edge < 0.0 {
        let what = format!("its hole of {} runs off the {word} panel of {} by {}", show(hole.diameter), show(extent.x), show(extent.y));
        found.push(fault("hole-off-panel", hole.part.clone(), what, "it can't be drilled", "move it"));
        return found;
    }
    let glass = matches!(panel.material, Material::Glass | Material::ToughenedGlass);
    let rule = if glass { (2.0 * thickness).max(0.006) } else { 0.0 };
    let need = rule.max(hole.diameter);
    if to_edge < need {
        let what = format!("its rim is {} from the edge of the {word} panel; {} is wanted", show(to_edge), show(need));
        found.push(caution(
            "hole-edge",
            hole.part.clone(),
            what,
            &format!("twice the thickness of glass (ASTM C1048), and one hole diameter. {STRENGTH}"),
            "move it inward, or ask the panel maker",
        ));
    }
    let to_corner = hole.at.min(extent - hole.at).length() - radius;
    if glass && to_corner < 6.5 * thickness {
        let what = format!("its rim is {} from a corner; {} is wanted", show(to_corner), show(6.5 * thickness));
        found.push(caution(
            "hole-corner",
            hole.part.clone(),
            what,
            &format!("6.5 times the thickness (ASTM C1048). {STRENGTH}"),
            "move it away from the corner, or ask the panel maker",
        ));
    }
    if glass && hole.diameter > extent.min_element() / 3.0 {
        let what = format!("its hole is {} across, more than a third of the panel's short side", show(hole.diameter));
        found.push(caution(
            "hole-size",
            hole.part.clone(),
            what,
            &format!("a third of the narrowest side (ASTM C1048). {STRENGTH}"),
            "drill smaller holes, or ask the panel maker",
        ));
    }
    found
}

fn two_holes(layout: &Layout, a: &Hole, b: &Hole) -> Option<Finding> {
    let panel = layout.tank.panels.get(a.panel);
    let show = |metres: f64| length(metres, layout.display);
    let apart = a.at.distance(b.at) - (a.diameter + b.diameter) / 2.0;
    let glass = matches!(panel.material, Material::Glass | Material::ToughenedGlass);
    let rule = if glass { (2.0 * panel.thickness.si()).max(0.01) } else { 0.0 };
    let need = rule.max(a.diameter.max(b.diameter));
    if apart < 0.0 {
        let what = format!("its hole and that of {} overlap", finding::part(&b.part));
        return Some(fault("holes-overlap", a.part.clone(), what, "they can't both be drilled", "move one of them"));
    }
    (apart < need).then(|| {
        let other = finding::part(&b.part);
        let what = format!("{} is left between its rim and that of {other}; {} is wanted", show(apart), show(need));
        caution(
            "hole-spacing",
            a.part.clone(),
            what,
            &format!("twice the thickness of glass (ASTM C1048), and the larger hole's diameter. {STRENGTH}"),
            "move them apart, or ask the panel maker",
        )
    })
}
