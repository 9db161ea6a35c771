//! Panels, water, sand, bracing, overflow boxes.

use super::WaterBody;
use super::kit::Kit;
use crate::app::view::slice::Skinned;
use crate::layout::{Layout, Material, Overflow, PanelName};
use glam::DVec3;

/// Thickness of drawn edges as a share of the tank's longest size.
const EDGE: f64 = 0.0016;

/// Build all of it.
pub fn build(kit: &mut Kit, layout: &Layout) {
    let size = layout.tank.size();
    let thick = (size.max_element() * EDGE) as f32;
    let edge = kit.flat(kit.theme.edge, 1.0);
    kit.edges(DVec3::ZERO, size, thick, &edge);
    PanelName::ALL.into_iter().for_each(|name| panel(kit, layout, name));
    water(kit, layout, thick);
    if let Some(sand) = &layout.sand {
        let grain = kit.dull(kit.theme.sand);
        let skin = Skinned { side: kit.side, plain: grain.clone() };
        kit.block(DVec3::ZERO, DVec3::new(size.x, size.y, sand.depth.si()), &grain).insert(skin);
    }
    let brace = kit.flat(kit.theme.brace, 0.35);
    for bar in &layout.tank.bracing {
        kit.block(bar.from.metres(), bar.to.metres(), &brace);
        kit.edges(bar.from.metres(), bar.to.metres(), thick * 0.6, &edge);
    }
    layout.overflows.iter().for_each(|o| overflow(kit, o, thick));
}

/// A slab outside the water, clear where the panel is clear.
fn panel(kit: &mut Kit, layout: &Layout, name: PanelName) {
    let panel = layout.tank.panels.get(name);
    let size = layout.tank.size();
    let outward = -name.inward();
    let base = (DVec3::ONE + outward) / 2.0 * size;
    let across = (DVec3::ONE - outward.abs()) * size;
    let from = base * outward.abs();
    let to = from + across + outward * panel.thickness.si();
    let opaque = panel.material == Material::Opaque;
    let (tint, opacity) = if opaque { (kit.theme.opaque, 0.55) } else { (kit.theme.glass, 0.045) };
    let floor = name == PanelName::Bottom;
    let material = kit.flat(tint, if floor { 0.5 } else { opacity });
    kit.block(from, to, &material);
}

fn water(kit: &mut Kit, layout: &Layout, thick: f32) {
    let (size, level) = (layout.tank.size(), layout.tank.water_level.si());
    let surface = kit.flat(kit.theme.water, 0.10);
    let low = DVec3::new(0.0, 0.0, level - 0.001);
    kit.block(low, DVec3::new(size.x, size.y, level), &surface).insert(WaterBody);
    let line = kit.flat(kit.theme.water, 0.8);
    let corners = [(0.0, 0.0), (size.x, 0.0), (size.x, size.y), (0.0, size.y)].map(|(x, y)| DVec3::new(x, y, level));
    for i in 0..4 {
        kit.beam(corners[i], corners[(i + 1) % 4], thick * 0.7, &line);
    }
}

fn overflow(kit: &mut Kit, overflow: &Overflow, thick: f32) {
    let from = DVec3::new(overflow.from.0.si(), overflow.from.1.si(), 0.0);
    let to = DVec3::new(overflow.to.0.si(), overflow.to.1.si(), overflow.crest.si());
    let body = kit.flat(kit.theme.overflow, 0.4);
    kit.block(from, to, &body);
    let edge = kit.flat(kit.theme.brace, 1.0);
    kit.edges(from, to, thick * 0.8, &edge);
}
