//! Nozzles, propeller pumps, intakes and overflow lips as jets and sinks.

use crate::{
    flow::{Jet, Sink},
    layout::{Face, Intake, Layout, Mount, Nozzle, NozzleKind, Overflow, PanelName, Propeller, PropellerOutput},
};
use glam::{DMat3, DVec3};
use std::f64::consts::{FRAC_PI_4, PI};

/// What a jet stands for: index in the layout's list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum JetSource {
    /// A nozzle.
    Nozzle(usize),
    /// A propeller pump.
    Propeller(usize),
}

/// What a sink stands for: index in the layout's list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SinkSource {
    /// An intake.
    Intake(usize),
    /// One side of an overflow box.
    Overflow(usize),
}

/// One jet of a source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JetPart {
    /// What it stands for.
    pub source: JetSource,
    /// Its geometry.
    pub jet: Jet,
    /// Its share of the nozzle's flow.
    pub share: f64,
    /// A nozzle: share of its momentum. A propeller: momentum flux over density, m⁴/s².
    pub momentum: f64,
}

/// One sink of a source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SinkPart {
    /// What it stands for.
    pub source: SinkSource,
    /// Its geometry.
    pub sink: Sink,
    /// Its share of the source's flow.
    pub share: f64,
}

/// Most jets that stand side by side for one flat fan.
const MOST_FAN_JETS: usize = 8;

/// The jets of a layout in a box of water of this size (m) with cells of edge `h` (m).
pub fn jets(layout: &Layout, water: DVec3, h: f64) -> Vec<JetPart> {
    let nozzles = layout.nozzles.iter().enumerate().flat_map(|(index, nozzle)| nozzle_jets(layout, nozzle, index, water, h));
    let density = super::water(layout).density;
    let propellers = layout.propellers.iter().enumerate().map(|(index, propeller)| propeller_jet(propeller, index, density, water, h));
    nozzles.chain(propellers).collect()
}

fn nozzle_jets(layout: &Layout, nozzle: &Nozzle, index: usize, water: DVec3, h: f64) -> Vec<JetPart> {
    let centre = opening(layout, &nozzle.mount);
    let aim = nozzle.aim.direction(centre);
    let mouths = mouths(nozzle, aim, h);
    let share = 1.0 / mouths.len() as f64;
    let part = |mouth: Mouth| JetPart {
        source: JetSource::Nozzle(index),
        jet: Jet {
            at: single(inside(centre + mouth.offset, &nozzle.mount, water, h)),
            direction: single(mouth.direction),
            bore: mouth.bore as f32,
        },
        share,
        momentum: share,
    };
    mouths.into_iter().map(part).collect()
}

/// One round jet of a nozzle.
struct Mouth {
    offset: DVec3,
    direction: DVec3,
    bore: f64,
}

fn mouths(nozzle: &Nozzle, aim: DVec3, h: f64) -> Vec<Mouth> {
    let bore = nozzle.bore.si();
    let one = |offset: DVec3, direction: DVec3, bore: f64| Mouth { offset, direction, bore };
    match &nozzle.kind {
        NozzleKind::TwinWye { spread } => {
            let turned = |angle: f64| DMat3::from_rotation_z(angle) * aim;
            let apart = across(aim) * bore;
            vec![one(apart / 2.0, turned(spread.si() / 2.0), bore), one(-apart / 2.0, turned(-spread.si() / 2.0), bore)]
        }
        NozzleKind::FlatFan { width } => {
            let count = ((width.si() / bore.max(h)).round() as usize).clamp(1, MOST_FAN_JETS);
            let each = (width.si() * bore / count as f64 / FRAC_PI_4).sqrt();
            let along = |k: usize| (k as f64 + 0.5) / count as f64 - 0.5;
            (0..count).map(|k| one(across(aim) * width.si() * along(k), aim, each)).collect()
        }
        _ => vec![one(DVec3::ZERO, aim, bore)],
    }
}

/// Level unit vector to the left of an aim (positive turn about z); along y for a vertical aim.
fn across(aim: DVec3) -> DVec3 {
    DVec3::Z.cross(aim).try_normalize().unwrap_or(DVec3::Y)
}

/// Middle of an opening; what goes through the floor opens above the sand.
fn opening(layout: &Layout, mount: &Mount) -> DVec3 {
    let centre = mount.centre(layout.tank.size());
    match (mount.panel(), &layout.sand) {
        (Some(PanelName::Bottom), Some(sand)) => centre.with_z(centre.z.max(sand.depth.si())),
        _ => centre,
    }
}

/// A port's middle, at least half a cell inside the water and off its panel.
fn inside(centre: DVec3, mount: &Mount, water: DVec3, h: f64) -> DVec3 {
    let inward = mount.panel().map_or(DVec3::ZERO, |panel| panel.inward());
    keep_in(centre + inward * (h / 2.0), water, h)
}

fn keep_in(point: DVec3, water: DVec3, h: f64) -> DVec3 {
    let margin = DVec3::splat(h / 2.0).min(water / 2.0);
    point.clamp(margin, water - margin)
}

fn propeller_jet(propeller: &Propeller, index: usize, density: f64, water: DVec3, h: f64) -> JetPart {
    let at = propeller.at.metres();
    let aim = propeller.aim.direction(at);
    let jet = Jet { at: single(keep_in(at, water, h)), direction: single(aim), bore: propeller.bore.si() as f32 };
    JetPart { source: JetSource::Propeller(index), jet, share: 0.0, momentum: propeller_momentum(propeller, density) }
}

/// Momentum flux over density through the outlet, m⁴/s²: Q²/A, T/ρ or V²A, with the velocity even over the outlet and ambient pressure in it.
pub fn propeller_momentum(propeller: &Propeller, density: f64) -> f64 {
    let area = PI / 4.0 * propeller.bore.si().powi(2);
    match &propeller.output {
        PropellerOutput::Flow(flow) => flow.si().powi(2) / area,
        PropellerOutput::Thrust(force) => force.si() / density,
        PropellerOutput::Speed(speed) => speed.si().powi(2) * area,
    }
}

/// The sinks of a layout in a box of water of this size (m) with cells of edge `h` (m).
pub fn sinks(layout: &Layout, water: DVec3, h: f64) -> Vec<SinkPart> {
    let intakes = layout.intakes.iter().enumerate().map(|(index, intake)| intake_sink(layout, intake, index, water, h));
    let lips = layout.overflows.iter().enumerate().flat_map(|(index, overflow)| lip_sinks(overflow, index, water, h));
    intakes.chain(lips).collect()
}

fn intake_sink(layout: &Layout, intake: &Intake, index: usize, water: DVec3, h: f64) -> SinkPart {
    let centre = opening(layout, &intake.mount);
    let facing = intake.facing.as_ref().map(|aim| aim.direction(centre)).filter(|d| d.length_squared() > 0.0);
    let normal = intake.mount.panel().map(|panel| panel.inward()).or(facing).unwrap_or(DVec3::Z);
    let at = inside(centre, &intake.mount, water, h) - intake.mount.panel().map_or(DVec3::ZERO, |panel| panel.inward() * (h / 2.0));
    let sink = Sink { at: single(at), normal: single(normal), size: face(intake) };
    SinkPart { source: SinkSource::Intake(index), sink, share: 1.0 }
}

/// Sides of a rectangle as large as the screen; of one as large as the bore without a screen.
fn face(intake: &Intake) -> [f32; 2] {
    let square_of = |diameter: f64| [(FRAC_PI_4.sqrt() * diameter) as f32; 2];
    // What rock or dirt covers takes no water.
    let left = intake.screen.as_ref().map_or(1.0, |screen| screen.free_face() / screen.face.area()).max(0.01);
    match intake.screen.as_ref().map(|screen| &screen.face) {
        Some(Face::Round(diameter)) => square_of(diameter.si() * left.sqrt()),
        Some(Face::Rectangle(width, height)) => [(width.si() * left) as f32, height.si() as f32],
        None => square_of(intake.bore.si()),
    }
}

/// One sink in the top layer of cells along every side of the box that has open water in front of it; shares by length.
fn lip_sinks(overflow: &Overflow, index: usize, water: DVec3, h: f64) -> Vec<SinkPart> {
    let a = DVec3::new(overflow.from.0.si(), overflow.from.1.si(), 0.0);
    let b = DVec3::new(overflow.to.0.si(), overflow.to.1.si(), 0.0);
    let sides = lip_sides(a.min(b), a.max(b), water, h);
    let whole: f64 = sides.iter().map(|side| side.length).sum();
    let level = water.z - h / 2.0;
    let part = |side: Side| SinkPart {
        source: SinkSource::Overflow(index),
        sink: Sink { at: single(side.middle.with_z(level)), normal: single(side.outward), size: [side.length as f32, h as f32] },
        share: side.length / whole,
    };
    sides.into_iter().map(part).collect()
}

/// One side of an overflow box.
struct Side {
    middle: DVec3,
    outward: DVec3,
    length: f64,
}

/// Sides of the footprint between two corners with at least a cell of water before them, each as long as it runs inside the tank.
fn lip_sides(low: DVec3, high: DVec3, water: DVec3, h: f64) -> Vec<Side> {
    let (low, high) = (low.max(DVec3::ZERO), high.min(water).with_z(0.0));
    let middle = (low + high) / 2.0;
    let size = high - low;
    let side = |outward: DVec3, room: f64, length: f64| {
        let middle = middle + outward * size * 0.5;
        (room >= h && length > 0.0).then_some(Side { middle, outward, length })
    };
    let sides = [
        side(DVec3::NEG_X, low.x, size.y),
        side(DVec3::X, water.x - high.x, size.y),
        side(DVec3::NEG_Y, low.y, size.x),
        side(DVec3::Y, water.y - high.y, size.x),
    ];
    sides.into_iter().flatten().collect()
}

fn single(v: DVec3) -> [f32; 3] {
    v.to_array().map(|x| x as f32)
}

#[cfg(test)]
mod tests {
    use super::*;

    const WATER: DVec3 = DVec3::new(2.0, 1.0, 0.6);
    const H: f64 = 0.025;

    fn nozzle(kind: &str) -> Nozzle {
        let text = format!(
            r#"(id:"N",mount:hole(panel:back,along:"1 m",up:"0.3 m"),aim:angles(azimuth:"-90 deg",elevation:"0 deg"),bore:"25 mm",kind:{kind})"#
        );
        ron::from_str(&text).unwrap()
    }

    fn parts(kind: &str) -> Vec<Mouth> {
        mouths(&nozzle(kind), DVec3::NEG_Y, H)
    }

    #[test]
    fn a_wye_has_two_mouths_turned_apart_in_the_horizontal() {
        let both = parts(r#"twin_wye(spread:"60 deg")"#);
        assert_eq!(both.len(), 2);
        assert!((both[0].direction.dot(both[1].direction) - 0.5).abs() < 1e-12);
        assert!((both[0].direction + both[1].direction).normalize().dot(DVec3::NEG_Y) > 1.0 - 1e-12);
        assert!(both.iter().all(|mouth| mouth.direction.z == 0.0 && mouth.bore == 0.025));
    }

    #[test]
    fn a_fan_keeps_the_area_of_its_slot() {
        let fan = parts(r#"flat_fan(width:"10 cm")"#);
        assert_eq!(fan.len(), 4);
        let area: f64 = fan.iter().map(|mouth| FRAC_PI_4 * mouth.bore * mouth.bore).sum();
        assert!((area - 0.1 * 0.025).abs() < 1e-12);
        let middle: DVec3 = fan.iter().map(|mouth| mouth.offset).sum();
        assert!(middle.length() < 1e-12);
        assert!((fan[0].offset - fan[3].offset).length() - 0.075 < 1e-12);
    }

    #[test]
    fn panel_ports_sit_just_inside_the_water() {
        let n = nozzle("plain");
        let at = inside(n.mount.centre(DVec3::new(2.0, 1.0, 0.7)), &n.mount, WATER, H);
        assert!((at - DVec3::new(1.0, 0.9875, 0.3)).length() < 1e-12);
    }

    #[test]
    fn propeller_outputs_agree() {
        let with = |output: &str| -> f64 {
            let text = format!(r#"(id:"P",at:("1 m","0.5 m","0.3 m"),aim:toward(("0 m","0.5 m","0.3 m")),bore:"8 cm",output:{output})"#);
            propeller_momentum(&ron::from_str(&text).unwrap(), 1025.0)
        };
        let area = FRAC_PI_4 * 0.08 * 0.08;
        let speed = 0.004 / area;
        assert!((with(r#"flow("4 L/s")"#) / (0.004 * speed) - 1.0).abs() < 1e-12);
        assert!((with(&format!(r#"speed("{speed} m/s")"#)) / (0.004 * speed) - 1.0).abs() < 1e-12);
        assert!((with(&format!(r#"thrust("{} N")"#, 1025.0 * 0.004 * speed)) / (0.004 * speed) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn lips_face_open_water_only() {
        let corner = lip_sides(DVec3::new(0.0, 0.8, 0.0), DVec3::new(0.4, 1.0, 0.0), WATER, H);
        let facing: Vec<_> = corner.iter().map(|side| (side.outward, side.length)).collect();
        assert_eq!(facing.len(), 2);
        assert!(facing[0].0 == DVec3::X && (facing[0].1 - 0.2).abs() < 1e-12);
        assert!(facing[1].0 == DVec3::NEG_Y && (facing[1].1 - 0.4).abs() < 1e-12);
        let island = lip_sides(DVec3::new(0.8, 0.4, 0.0), DVec3::new(1.2, 0.6, 0.0), WATER, H);
        assert_eq!(island.len(), 4);
    }
}
