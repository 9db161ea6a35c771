//! What the page's view is built from: the tank and its parts in metres, and where in the packed bytes the rest lies.

use super::{Shown, pack, speed};
use crate::layout::solid::{Solid, distance};
use crate::layout::{Layout, Material, PanelName};
use crate::report::shown::{tank_speed_unit, trimmed};
use crate::setup::surface::{Surface, surface};
use crate::units::Display;
use glam::DVec3;
use rayon::prelude::*;
use serde::Serialize;

/// Samples of the rock along the tank's longest side.
const FINENESS: f64 = 90.0;
/// Finest step of the samples, m.
const FINEST: f64 = 0.006;
/// Most dead spots that are marked.
const MOST_SPOTS: usize = 6;
/// Colours that the page goes between.
const COLOURS: u32 = 32;
/// Start of the part of the colour map that is used: its darkest blues can't be told from the dark ground.
const DARKEST: f64 = 0.22;

/// All of it.
#[derive(Debug, Serialize)]
pub struct Scene {
    size: [f64; 3],
    level: f64,
    sand: f64,
    opaque: Vec<&'static str>,
    boxes: Vec<Block>,
    jets: Vec<JetMark>,
    intakes: Vec<IntakeMark>,
    spots: Vec<SpotMark>,
    rock: RockMesh,
    motion: Water,
    colours: Vec<[u8; 3]>,
    /// Top of the colour scale, m/s.
    scale: f64,
}

/// An upright box: two corners.
#[derive(Debug, Serialize)]
struct Block(Place, Place);

type Place = [f64; 3];

/// A nozzle or a propeller pump.
#[derive(Debug, Clone, Serialize)]
pub struct JetMark {
    /// Its name.
    pub id: String,
    at: Place,
    aim: Place,
    bore: f64,
    /// Largest flow in the cycle, m³/s.
    pub most: f64,
    /// Flow at each frame's time as a share of the largest.
    pub share: Vec<f64>,
    propeller: bool,
}

impl JetMark {
    /// Middle of its opening, unit vector of its jet, bore; m.
    pub fn mouth(&self) -> ([f32; 3], [f32; 3], f32) {
        (self.at.map(|x| x as f32), self.aim.map(|x| x as f32), self.bore as f32)
    }

    /// Its flow at a time as a share of its largest: by straight lines between frames.
    pub fn share_at(&self, times: &[f64], time: f64) -> f64 {
        let after = times.partition_point(|t| *t <= time).clamp(1, times.len().max(2) - 1);
        match (self.share.get(after - 1), self.share.get(after)) {
            (Some(a), Some(b)) => a + (b - a) * ((time - times[after - 1]) / (times[after] - times[after - 1]).max(1e-9)).clamp(0.0, 1.0),
            (Some(a), None) => *a,
            _ => 0.0,
        }
    }

    /// Unit vector of its jet.
    pub fn aim(&self) -> [f64; 3] {
        self.aim
    }
}

#[cfg(test)]
impl JetMark {
    /// A nozzle of which only name and shares matter.
    pub fn named(id: &str, share: Vec<f64>) -> Self {
        Self { id: id.to_owned(), at: [0.0; 3], aim: [1.0, 0.0, 0.0], bore: 0.03, most: 1e-3, share, propeller: false }
    }
}

#[derive(Debug, Serialize)]
struct IntakeMark {
    id: String,
    at: Place,
    normal: Place,
    radius: f64,
}

#[derive(Debug, Serialize)]
struct SpotMark {
    at: Place,
    words: String,
}

#[derive(Debug, Serialize)]
struct RockMesh {
    points: usize,
    triangles: usize,
    origin: Place,
    /// Metres in one step of a packed co-ordinate.
    step: f64,
}

#[derive(Debug, Serialize)]
struct Water {
    n: [usize; 3],
    h: f64,
    cells: [usize; 3],
    cell: f64,
    times: Vec<f64>,
    top: f64,
}

/// The scene and its packed bytes, in this order: frames, water of the blocks, wet cells, rock (points, shade, triangles).
pub fn scene(shown: &Shown) -> (Scene, Vec<u8>) {
    let (layout, motion) = (shown.layout(), shown.motion);
    let mut bytes = pack::frames(motion);
    bytes.extend(motion.water.iter().map(|w| pack::share(*w)));
    bytes.extend(pack::bits(&motion.wet));
    let rock = rock(layout, &mut bytes);
    let scene = Scene {
        size: layout.tank.size().to_array(),
        level: layout.tank.water_level.si(),
        sand: layout.sand.as_ref().map_or(0.0, |sand| sand.depth.si()),
        opaque: PanelName::ALL
            .into_iter()
            .filter(|p| layout.tank.panels.get(*p).material == Material::Opaque)
            .map(PanelName::word)
            .collect(),
        boxes: boxes(layout),
        jets: jets(shown),
        intakes: intakes(layout),
        spots: spots(shown),
        rock,
        motion: Water {
            n: motion.n,
            h: f64::from(motion.h),
            cells: motion.grid.n,
            cell: f64::from(motion.grid.h),
            times: motion.times.iter().map(|t| short(*t)).collect(),
            top: f64::from(motion.top),
        },
        colours: colours(),
        scale: scale(shown),
    };
    (scene, bytes)
}

/// Top of the colour scale, m/s: a round number near the mean speed that one cell in twenty exceeds; jets run off it.
pub fn scale(shown: &Shown) -> f64 {
    let fields = &shown.study.fields;
    let mut speeds: Vec<f32> = (0..fields.len()).filter(|i| fields.water[*i] > 0.5).map(|i| fields.mean_speed[i]).collect();
    speeds.sort_by(f32::total_cmp);
    let high = speeds.get(speeds.len() * 19 / 20).map_or(0.1, |s| f64::from(*s));
    let unit = unit(shown.layout().display);
    let tops = [1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 30.0, 40.0, 60.0, 80.0];
    tops.into_iter().map(|top| top * unit).find(|top| *top >= 0.98 * high).unwrap_or(100.0 * unit)
}

/// What stands at the start, the middle and the end of the colour scale.
pub fn ticks(top: f64, display: Display) -> [String; 3] {
    let number = |share: f64| trimmed(share * top / unit(display), 1);
    [number(0.0), number(0.5), format!("{} {} and more", number(1.0), tank_speed_unit(display))]
}

/// Metres per second in a unit of the speed of water in a tank.
fn unit(display: Display) -> f64 {
    match display {
        Display::Us => 0.0254,
        Display::Metric => 0.01,
    }
}

/// The colours from slow to fast: cividis (Nuñez, Anderton and Renslow 2018) without its darkest part.
pub fn colours() -> Vec<[u8; 3]> {
    (0..COLOURS)
        .map(|i| {
            let c = colorous::CIVIDIS.eval_continuous(DARKEST + (1.0 - DARKEST) * f64::from(i) / f64::from(COLOURS - 1));
            [c.r, c.g, c.b]
        })
        .collect()
}

/// To a tenth of a millimetre or millisecond: short in the file.
fn short(x: f64) -> f64 {
    (x * 1e4).round() / 1e4
}

fn place(p: DVec3) -> Place {
    p.to_array().map(short)
}

fn boxes(layout: &Layout) -> Vec<Block> {
    let rim = layout.tank.height.si();
    let bars = layout.tank.bracing.iter().map(|bar| Block(place(bar.from.metres()), place(bar.to.metres())));
    let overflows = layout.overflows.iter().map(|o| {
        let (from, to) = (&o.from, &o.to);
        Block([short(from.0.si()), short(from.1.si()), 0.0], [short(to.0.si()), short(to.1.si()), short(rim)])
    });
    bars.chain(overflows).collect()
}

/// Nozzles in the layout's order, then propeller pumps.
pub fn jets(shown: &Shown) -> Vec<JetMark> {
    let (layout, motion) = (shown.layout(), shown.motion);
    let nozzles = layout.nozzles.iter().enumerate().map(|(index, nozzle)| {
        let at = nozzle.mount.centre(layout.tank.size());
        let flows: Vec<f64> = motion.times.iter().map(|t| shown.case.schedule.nozzle_at(index, motion.start + t).0.max(0.0)).collect();
        let most = flows.iter().copied().fold(0.0, f64::max);
        let share = flows.iter().map(|flow| if most > 0.0 { short(flow / most) } else { 0.0 }).collect();
        let aim = place(nozzle.aim.direction(at));
        JetMark { id: nozzle.id.clone(), at: place(at), aim, bore: nozzle.bore.si(), most, share, propeller: false }
    });
    let propellers = layout.propellers.iter().map(|propeller| {
        let at = propeller.at.metres();
        let aim = place(propeller.aim.direction(at));
        let share = vec![1.0; motion.times.len()];
        JetMark { id: propeller.id.clone(), at: place(at), aim, bore: propeller.bore.si(), most: 1e-3, share, propeller: true }
    });
    nozzles.chain(propellers).collect()
}

fn intakes(layout: &Layout) -> Vec<IntakeMark> {
    let mark = |intake: &crate::layout::Intake| {
        let at = intake.mount.centre(layout.tank.size());
        let normal = intake.mount.panel().map_or(DVec3::Z, PanelName::inward);
        IntakeMark { id: intake.id.clone(), at: place(at), normal: place(normal), radius: short(0.5 * intake.bore.si().max(0.04)) }
    };
    layout.intakes.iter().map(mark).collect()
}

fn spots(shown: &Shown) -> Vec<SpotMark> {
    let spots = shown.record().dead_spots.iter().take(MOST_SPOTS);
    spots
        .map(|spot| SpotMark {
            at: spot.centre_m.map(short),
            words: format!("slow water, {}", speed(spot.mean_speed_m_s, shown.layout().display)),
        })
        .collect()
}

fn rock(layout: &Layout, bytes: &mut Vec<u8>) -> RockMesh {
    let size = layout.tank.size();
    let step = (size.max_element() / FINENESS).max(FINEST);
    let origin = DVec3::splat(-2.0 * step);
    let rocks: Vec<Solid> = layout.rocks.iter().map(Solid::rock).collect();
    let n = size.to_array().map(|edge| ((edge / step).ceil() as usize + 5).min(400));
    let away = |p: DVec3| distance(&rocks, p);
    let mesh = if rocks.is_empty() { Surface::default() } else { cut(n, origin, step, &away) };
    let longest = n.into_iter().max().unwrap_or(1) as f32;
    for point in &mesh.points {
        let packed = point.map(|x| (x / longest * f32::from(u16::MAX)).clamp(0.0, f32::from(u16::MAX)).round() as u16);
        bytes.extend(packed.iter().flat_map(|x| x.to_le_bytes()));
    }
    bytes.extend(
        mesh.points.par_iter().map(|p| openness(origin + DVec3::from_array(p.map(f64::from)) * step, step, &away)).collect::<Vec<_>>(),
    );
    bytes.extend(mesh.triangles.iter().flat_map(|t| t.to_le_bytes()));
    RockMesh {
        points: mesh.points.len(),
        triangles: mesh.triangles.len() / 3,
        origin: place(origin),
        step: step * f64::from(longest) / f64::from(u16::MAX),
    }
}

fn cut(n: [usize; 3], origin: DVec3, step: f64, away: &(impl Fn(DVec3) -> f64 + Sync)) -> Surface {
    let sample = |c: usize| {
        let cell = DVec3::new((c % n[0]) as f64, (c / n[0] % n[1]) as f64, (c / (n[0] * n[1])) as f64);
        away(origin + cell * step) as f32
    };
    let samples: Vec<f32> = (0..n[0] * n[1] * n[2]).into_par_iter().map(sample).collect();
    surface(n, &samples)
}

/// How much light gets to a point of the rock's surface: less where more rock is close in front of it.
fn openness(at: DVec3, step: f64, away: &impl Fn(DVec3) -> f64) -> u8 {
    let slope = |axis: DVec3| away(at + axis * step * 0.5) - away(at - axis * step * 0.5);
    let normal = DVec3::new(slope(DVec3::X), slope(DVec3::Y), slope(DVec3::Z)).normalize_or(DVec3::Z);
    pack::share((away(at + normal * step * 4.0) / (step * 4.0)).clamp(0.0, 1.0) as f32)
}
