//! Rockwork, cut from its signed distance.

use super::kit::Kit;
use crate::app::job::{self, Job, Standing};
use crate::app::space::{place, place_f32};
use crate::app::view::slice::Skinned;
use crate::layout::solid::Solid;
use crate::layout::{Layout, Rock};
use crate::setup::surface::{Surface, surface};
use bevy::asset::RenderAssetUsages;
use bevy::mesh::{Indices, PrimitiveTopology};
use bevy::prelude::*;
use glam::DVec3;
use rayon::prelude::*;

/// Samples along the tank's longest side.
const FINENESS: f64 = 120.0;

/// The rocks of both sides.
#[derive(Resource, Default)]
pub struct Cuts(pub [Cut; 2]);

/// The rocks that were cut last, so that moving a nozzle doesn't cut them again.
#[derive(Default)]
pub struct Cut {
    rocks: Vec<Rock>,
    size: DVec3,
    mesh: Option<Handle<Mesh>>,
    job: Option<Job<Option<Mesh>>>,
}

impl Cut {
    /// Rock that was changed is cut beside the picture, which shows it as it was until then. True when there is other rock to show.
    pub fn attend(&mut self, layout: Option<&Layout>, meshes: &mut Assets<Mesh>) -> bool {
        let done = match job::answer(&mut self.job) {
            Some(Standing::Done(mesh)) => {
                self.mesh = mesh.map(|mesh| meshes.add(mesh));
                true
            }
            Some(_) => true,
            None => false,
        };
        if let Some(layout) = layout.filter(|layout| self.job.is_none() && self.mesh.is_some() && self.rocks != layout.rocks) {
            self.rocks = layout.rocks.clone();
            let layout = layout.clone();
            self.job = Some(Job::start("rock", move |_| mesh(&layout)));
        }
        done
    }
}

/// All rocks as one mesh.
pub fn build(kit: &mut Kit, layout: &Layout, cut: &mut Cut) {
    let size = layout.tank.size();
    if cut.mesh.is_none() || cut.size != size {
        *cut = Cut { rocks: layout.rocks.clone(), size, mesh: mesh(layout).map(|m| kit.meshes.add(m)), job: None };
    }
    let Some(mesh) = cut.mesh.clone() else { return };
    let stone = kit.dull(kit.theme.rock);
    let skin = Skinned { side: kit.side, plain: stone.clone() };
    kit.thing(mesh, &stone, Transform::IDENTITY).insert(skin);
}

fn mesh(layout: &Layout) -> Option<Mesh> {
    let rocks: Vec<Solid> = layout.rocks.iter().map(Solid::rock).collect();
    let size = layout.tank.size();
    let step = (size.max_element() / FINENESS).max(0.004);
    if rocks.is_empty() || !step.is_finite() {
        return None;
    }
    // Two samples beyond the tank on each side, so that rock against a panel is closed.
    let n = [size.x, size.y, size.z].map(|s| ((s / step).ceil() as usize + 5).min(400));
    let origin = DVec3::splat(-2.0 * step);
    let distance = |p: DVec3| rocks.iter().map(|r| r.distance(p)).fold(f64::INFINITY, f64::min);
    let samples: Vec<f32> = (0..n[0] * n[1] * n[2])
        .into_par_iter()
        .map(|c| {
            let cell = DVec3::new((c % n[0]) as f64, (c / n[0] % n[1]) as f64, (c / (n[0] * n[1])) as f64);
            distance(origin + cell * step) as f32
        })
        .collect();
    Some(shade(surface(n, &samples), origin, step, &distance))
}

/// Normals from the distance itself, and darkness where rock is close by.
fn shade(surface: Surface, origin: DVec3, step: f64, distance: &(impl Fn(DVec3) -> f64 + Sync)) -> Mesh {
    let vertices: Vec<(Vec3, Vec3, [f32; 4])> = surface
        .points
        .par_iter()
        .map(|p| {
            let at = origin + DVec3::from_array(p.map(f64::from)) * step;
            let normal = slope(at, step * 0.5, distance);
            let open = (distance(at + normal * step * 4.0) / (step * 4.0)).clamp(0.0, 1.0);
            let light = (0.42 + 0.58 * open) as f32 * grain(at);
            (place(at), place_f32([normal.x as f32, normal.y as f32, normal.z as f32]), [light, light, light, 1.0])
        })
        .collect();
    Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::RENDER_WORLD | RenderAssetUsages::MAIN_WORLD)
        .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, vertices.iter().map(|v| v.0).collect::<Vec<_>>())
        .with_inserted_attribute(Mesh::ATTRIBUTE_NORMAL, vertices.iter().map(|v| v.1).collect::<Vec<_>>())
        .with_inserted_attribute(Mesh::ATTRIBUTE_COLOR, vertices.iter().map(|v| v.2).collect::<Vec<_>>())
        .with_inserted_indices(Indices::U32(surface.triangles))
}

fn slope(p: DVec3, e: f64, distance: &impl Fn(DVec3) -> f64) -> DVec3 {
    let along = |axis: DVec3| distance(p + axis * e) - distance(p - axis * e);
    DVec3::new(along(DVec3::X), along(DVec3::Y), along(DVec3::Z)).normalize_or(DVec3::Z)
}

/// Slight unevenness of the stone's brightness.
fn grain(p: DVec3) -> f32 {
    let wave = (p.x * 61.0 + (p.z * 47.0).sin()).sin() * (p.y * 53.0 + (p.x * 39.0).cos()).sin() * (p.z * 71.0).cos();
    1.0 + 0.07 * wave as f32
}
