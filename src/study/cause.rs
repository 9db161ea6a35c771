//! Why water stands still: found by following the averaged flow, forward from the jets and backward from the spot.
//!
//! Paths are followed in ⟨u⟩, straight between cell middles, by the midpoint rule. A jet passes by where its path comes near. The spot is in the lee
//! of the solid that stands upstream of it as the water goes there, or between it and there. Its water comes from the jet that most paths lead back to.
//! A jet would reach it where nothing stands on the straight line to it; then it arrives with 5.8 √(4M/π)/x (round jet, Hussein, Capp and
//! George 1994), M its momentum flux over density while it runs and x the distance.

use super::{
    Fields,
    dead_spots::Region,
    record::{Cause, Passing, Reach},
    words::{jet_name, length, part_name},
};
use crate::{
    layout::Layout,
    setup::{port::JetSource, rock::Solids},
    units::{AngleKind, TankSpeedKind, show},
};
use glam::DVec3;

/// A path nearer than this passes by, m.
const NEAR: f64 = 0.15;
/// A solid shelters water this far behind it, m.
const LEE: f64 = 0.5;
/// Where its path is slower than this a jet is spent and passes nothing by, m/s (common practice, no source).
const SPENT: f64 = 0.01;
/// Decay of a round jet.
const DECAY: f64 = 5.8;
/// Longest path, in sums of the box's edges.
const LONGEST: f64 = 3.0;
/// Steps per cell.
const STEPS_PER_CELL: f64 = 2.0;
/// Slower water leads nowhere, m/s.
const STANDS: f64 = 5e-4;
/// Starts of paths back from a spot, at most.
const STARTS: usize = 48;
/// Cells of a spot that distances are taken to, at most.
const MARKS: usize = 200;

/// A jet as paths need it.
#[derive(Debug, Clone, Copy)]
pub struct Line {
    /// What it belongs to.
    pub source: JetSource,
    /// Its start, m.
    pub at: DVec3,
    /// Its direction, of length 1.
    pub direction: DVec3,
    /// Momentum flux over density while it runs, m⁴/s².
    pub momentum: f64,
}

/// Everything that paths go through.
#[derive(Debug, Clone, Copy)]
pub struct Scene<'a> {
    /// The averages.
    pub fields: &'a Fields,
    /// The layout.
    pub layout: &'a Layout,
    /// Its solid parts.
    pub solids: &'a Solids,
    /// All jets.
    pub jets: &'a [Line],
    /// The paths of the jets, in their order.
    pub paths: &'a [Vec<DVec3>],
}

/// The path of every jet in the averages: from its mouth and from eight places round its axis.
pub fn paths(fields: &Fields, jets: &[Line]) -> Vec<Vec<DVec3>> {
    jets.iter().map(|jet| starts(fields, jet).into_iter().flat_map(|start| path(fields, start, 1.0)).collect()).collect()
}

fn starts(fields: &Fields, jet: &Line) -> Vec<DVec3> {
    let ahead = jet.at + jet.direction * 1.5 * fields.h;
    let across = jet.direction.any_orthonormal_vector();
    let other = jet.direction.cross(across);
    let round = (0..8).map(|i| std::f64::consts::TAU * f64::from(i) / 8.0);
    std::iter::once(ahead).chain(round.map(|angle| ahead + (across * angle.cos() + other * angle.sin()) * fields.h)).collect()
}

/// The path from a place with the flow (way 1) or against it (way −1), until it ends at something solid, stands, or is very long.
fn path(fields: &Fields, start: DVec3, way: f64) -> Vec<DVec3> {
    let step = fields.h / STEPS_PER_CELL;
    let most = (LONGEST * fields.n.iter().sum::<usize>() as f64 * STEPS_PER_CELL) as usize;
    let along = |at: DVec3| velocity(fields, at).filter(|u| u.length() > STANDS).map(|u| u.normalize() * way * step);
    let next = |at: &DVec3| along(*at).and_then(|first| along(*at + first / 2.0)).map(|second| *at + second);
    std::iter::successors(Some(start), next).take(most).collect()
}

/// Mean velocity between cell middles; cells without water count as water at rest. `None` outside the water.
fn velocity(fields: &Fields, at: DVec3) -> Option<DVec3> {
    fields.cell_at(at.to_array()).filter(|&cell| fields.water[cell] > 0.0)?;
    let place = at / fields.h - 0.5;
    let low = place.floor();
    let part = place - low;
    let corner = |corner: usize| {
        let high = DVec3::new((corner & 1) as f64, (corner >> 1 & 1) as f64, (corner >> 2) as f64);
        let weight = high * part + (1.0 - high) * (1.0 - part);
        let cell = low + high;
        let cell = [0, 1, 2].map(|axis| cell[axis].clamp(0.0, fields.n[axis] as f64 - 1.0) as usize);
        DVec3::from_array(fields.mean_velocity[fields.index(cell)].map(f64::from)) * weight.x * weight.y * weight.z
    };
    Some((0..8).map(corner).sum())
}

/// Why a spot is dead.
pub fn of(scene: &Scene, region: &Region) -> Cause {
    let inside = DVec3::from_array(region.inside);
    let mut near: Vec<(DVec3, Passing)> = (0..scene.jets.len()).filter_map(|jet| passing(scene, region, jet)).collect();
    near.sort_by(|a, b| a.1.distance_m.total_cmp(&b.1.distance_m));
    near.dedup_by(|a, b| a.1.jet == b.1.jet);
    let shelter = near.first().and_then(|(from, _)| shelter(scene, *from, inside));
    let passes: Vec<Passing> = near
        .into_iter()
        .map(|(_, passing)| passing)
        .filter(|passing| passing.distance_m <= NEAR && passing.speed_m_s > SPENT)
        .take(2)
        .collect();
    let mut cause = Cause { lee_of: shelter, passes, fed_by: fed_by(scene, region), reach: reach(scene, inside), words: String::new() };
    cause.words = words(scene, &cause);
    cause
}

/// What stands upstream of a spot, as the water at a place beside it goes; else what stands between that place and the spot.
fn shelter(scene: &Scene, beside: DVec3, inside: DVec3) -> Option<String> {
    let upstream = inside - velocity(scene.fields, beside).unwrap_or_default().normalize_or_zero() * LEE;
    let met = |from: DVec3, to: DVec3| scene.solids.in_the_way(from, to).filter(|solid| solid.part != "sand");
    met(inside, upstream).or_else(|| met(beside, inside)).map(|solid| solid.part.clone())
}

/// Where a jet's path comes nearest to a spot.
fn passing(scene: &Scene, region: &Region, jet: usize) -> Option<(DVec3, Passing)> {
    let every = region.cells.len().div_ceil(MARKS).max(1);
    let marks: Vec<DVec3> = region.cells.iter().step_by(every).map(|&cell| DVec3::from_array(scene.fields.centre(cell))).collect();
    let (low, high) = (DVec3::from_array(region.spot.from_m), DVec3::from_array(region.spot.to_m));
    let off = |point: DVec3| marks.iter().map(|mark| mark.distance_squared(point)).fold(f64::INFINITY, f64::min);
    let nearer = |best: Option<(DVec3, f64)>, point: &DVec3| match best {
        // Farther from the spot's box than from the spot before: no need to look at its cells.
        Some((_, least)) if point.distance_squared(point.clamp(low, high)) >= least => best,
        _ => Some((*point, off(*point))).filter(|(_, found)| best.is_none_or(|(_, least)| *found < least)).or(best),
    };
    let nearest = scene.paths[jet].iter().fold(None, nearer)?;
    let speed = scene.fields.cell_at(nearest.0.to_array()).map_or(0.0, |cell| f64::from(scene.fields.mean_speed[cell]));
    let distance_m = (nearest.1.sqrt() - scene.fields.h / 2.0).max(0.0);
    Some((nearest.0, Passing { jet: jet_name(scene.layout, scene.jets[jet].source), distance_m, speed_m_s: speed }))
}

/// The jet at whose mouth most paths back from the rim of a spot end or pass.
fn fed_by(scene: &Scene, region: &Region) -> Option<String> {
    let fields = scene.fields;
    let rim = |&&cell: &&usize| fields.neighbours(cell).any(|next| fields.water[next] > 0.0 && fields.dead[next] != fields.dead[cell]);
    let rim: Vec<usize> = region.cells.iter().filter(rim).copied().collect();
    let every = rim.len().div_ceil(STARTS).max(1);
    let mut counts = vec![0usize; scene.jets.len()];
    for &cell in rim.iter().step_by(every) {
        let back = path(fields, DVec3::from_array(fields.centre(cell)), -1.0);
        if let Some(jet) = back.iter().find_map(|point| scene.jets.iter().position(|jet| jet.at.distance(*point) < 2.5 * fields.h)) {
            counts[jet] += 1;
        }
    }
    let (best, &count) = counts.iter().enumerate().max_by_key(|&(index, &count)| (count, std::cmp::Reverse(index)))?;
    let starts = rim.len().div_ceil(every);
    (count * 4 > starts).then(|| jet_name(scene.layout, scene.jets[best].source))
}

/// The jet that would arrive fastest on a clear straight line, if it were turned toward the spot.
fn reach(scene: &Scene, inside: DVec3) -> Option<Reach> {
    let arrival = |jet: &Line| {
        let way = inside - jet.at;
        let clear = scene.solids.in_the_way(jet.at + jet.direction * 0.02, inside).is_none();
        let strength = (4.0 * jet.momentum / std::f64::consts::PI).sqrt();
        (clear && strength > 0.0).then(|| Reach {
            jet: jet_name(scene.layout, jet.source),
            turn_rad: jet.direction.angle_between(way),
            distance_m: way.length(),
            speed_m_s: DECAY * strength / way.length().max(1e-3),
        })
    };
    scene.jets.iter().filter_map(arrival).max_by(|a, b| a.speed_m_s.total_cmp(&b.speed_m_s))
}

fn words(scene: &Scene, cause: &Cause) -> String {
    let cm = |speed: f64| show::<TankSpeedKind>(speed, scene.layout.display);
    let lee = cause.lee_of.as_ref().map(|part| format!("it lies in the lee of {}", part_name(part)));
    let passes = cause.passes.iter().map(|passing| match passing.distance_m {
        d if d < scene.fields.h => format!("the path of {} touches it with {}", passing.jet, cm(passing.speed_m_s)),
        d => format!("the path of {} passes {} away with {}", passing.jet, length(d, scene.layout), cm(passing.speed_m_s)),
    });
    let none = cause.passes.is_empty().then(|| format!("no jet's path comes within {}", length(NEAR, scene.layout)));
    let fed = cause.fed_by.as_ref().map(|jet| format!("its water comes from {jet}"));
    let reach = match &cause.reach {
        Some(reach) => format!(
            "{} has a clear line to it: turned by {} it would arrive with about {} after {}",
            reach.jet,
            show::<AngleKind>(reach.turn_rad, scene.layout.display),
            cm(reach.speed_m_s),
            length(reach.distance_m, scene.layout)
        ),
        None => "no jet has a clear straight line to it".into(),
    };
    lee.into_iter().chain(passes).chain(none).chain(fed).chain([reach]).collect::<Vec<_>>().join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Solid-body rotation about (1, 1): a path comes back to its circle, forward and backward.
    #[test]
    fn paths_in_a_rotation_are_circles() {
        let n = [40, 40, 2];
        let mut fields = Fields { n, h: 0.05, water: vec![1.0; 3200], ..Fields::default() };
        fields.mean_velocity = (0..3200).map(|cell| fields.centre(cell)).map(|p| [(1.0 - p[1]) as f32, (p[0] - 1.0) as f32, 0.0]).collect();
        for way in [1.0, -1.0] {
            let path = path(&fields, DVec3::new(1.5, 1.0, 0.05), way);
            let radius = |p: &DVec3| (p.truncate() - glam::DVec2::ONE).length();
            assert!(path.len() > 200 && path.iter().all(|p| (radius(p) - 0.5).abs() < 0.01), "{}", path.len());
            assert_eq!((path[10].y > 1.0), way > 0.0);
        }
    }
}
