//! Streamlines of the mean flow, from a rake of points over the slice: where water goes from there, and where it came from.

use super::ribbon::{self, Ribbon};
use super::sample::mean_at;
use super::scale::{Scale, Span};
use super::tracers::plain;
use crate::app::desk::{Desk, Look, Quantity, Slice};
use crate::app::kept::{Compare, Side};
use crate::app::palette::colour;
use crate::app::space::layer;
use crate::app::ui::theme::Theme;
use crate::app::{Desktop, Phase};
use crate::layout::Tank;
use crate::study::Fields;
use bevy::prelude::*;
use glam::DVec3;
use std::sync::Arc;

/// Points of the rake along and up the slice.
const RAKE: [usize; 2] = [12, 6];
/// Every so manieth point of a line is drawn: the steps of half a cell are finer than the eye asks for.
const DRAWN: usize = 2;
/// Longest line each way, as a share of the tank's longest size.
const LONGEST: f32 = 0.8;

/// Streamlines.
pub fn plugin(app: &mut App) {
    app.add_systems(Update, rebuild.in_set(Phase::View));
}

/// The drawn lines.
#[derive(Component)]
struct Lines(Side);

/// Colours by speed, or one for all where the legend speaks of something else.
#[derive(Clone, Copy, PartialEq)]
struct Ink {
    span: Span,
    plain: Option<Color>,
}

impl Ink {
    fn now(desk: &Desk, scale: &Scale) -> Self {
        match desk.colours_surfaces() && desk.quantity == Quantity::Mean && desk.compare != Compare::Difference {
            true => Self { span: scale.slice, plain: None },
            false => Self { span: scale.tracers, plain: plain(desk) },
        }
    }

    fn of(self, speed: f32) -> [f32; 4] {
        let share = (speed - self.span.low) / (self.span.top - self.span.low).max(1e-6);
        let [r, g, b] = colour(share.clamp(0.0, 1.0));
        self.plain.unwrap_or(Color::srgb_u8(r, g, b)).to_linear().to_f32_array()
    }
}

/// What is drawn just now.
#[derive(Default)]
struct Drawn {
    fields: Option<Arc<Fields>>,
    slice: Option<Slice>,
    look: Look,
    ink: Option<Ink>,
}

fn rebuild(
    mut commands: Commands,
    desktop: Res<Desktop>,
    scale: Res<Scale>,
    old: Query<(Entity, &Lines)>,
    mut drawn: Local<[Drawn; 2]>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut materials: ResMut<Assets<Ribbon>>,
) {
    let desk = &desktop.desk;
    for (side, drawn) in Side::ALL.into_iter().zip(drawn.iter_mut()) {
        let stage = desktop.stage(side).filter(|_| desk.shown.streams);
        let known = stage.and_then(|stage| Some((stage.layout, stage.live.fields.as_ref()?)));
        let ink = Ink::now(desk, &scale);
        let same = match (&drawn.fields, known) {
            (Some(a), Some((_, b))) => {
                Arc::ptr_eq(a, b) && (drawn.slice, drawn.look, drawn.ink) == (Some(desk.slice), desk.look, Some(ink))
            }
            (None, None) => true,
            _ => false,
        };
        if same {
            continue;
        }
        *drawn = Drawn { fields: known.map(|(_, fields)| fields.clone()), slice: Some(desk.slice), look: desk.look, ink: Some(ink) };
        old.iter().filter(|(_, lines)| lines.0 == side).for_each(|(entity, _)| commands.entity(entity).despawn());
        let Some((layout, fields)) = known else { continue };
        let mesh = ribbon::mesh(&lines(fields, &layout.tank, desk.slice, ink));
        if mesh.count_vertices() == 0 {
            continue;
        }
        let paint = materials.add(Ribbon::on(&Theme::of(desk.look)));
        commands.spawn((Lines(side), layer(side), Mesh3d(meshes.add(mesh)), MeshMaterial3d(paint), Transform::IDENTITY));
    }
}

/// Lines of places and their colours.
fn lines(fields: &Fields, tank: &Tank, slice: Slice, ink: Ink) -> Vec<Vec<([f32; 3], [f32; 4])>> {
    let longest = tank.size().max_element() as f32 * LONGEST;
    let each = |seed| [1.0, -1.0].map(|sign| trace(fields, seed, sign, longest));
    let thinned = |line: Vec<([f32; 3], f32)>| line.into_iter().step_by(DRAWN).map(|(at, speed)| (at, ink.of(speed))).collect();
    rake(tank, slice).flat_map(each).map(thinned).collect()
}

/// Points evenly over the slice.
fn rake(tank: &Tank, slice: Slice) -> impl Iterator<Item = [f32; 3]> {
    let size = tank.size().with_z(tank.water_level.si());
    let axis = slice.axis.index();
    let (along, up) = [(1, 2), (0, 2), (0, 1)][axis];
    (0..RAKE[0] * RAKE[1]).map(move |i| {
        let mut p = DVec3::ZERO;
        p[axis] = size[axis] * f64::from(slice.share.clamp(0.01, 0.99));
        p[along] = size[along] * ((i % RAKE[0]) as f64 + 0.5) / RAKE[0] as f64;
        p[up] = size[up] * ((i / RAKE[0]) as f64 + 0.5) / RAKE[1] as f64;
        p.as_vec3().to_array()
    })
}

/// Places along the mean flow (or against it) with its speed there, by the midpoint rule in steps of half a cell.
fn trace(fields: &Fields, seed: [f32; 3], sign: f32, longest: f32) -> Vec<([f32; 3], f32)> {
    let step = fields.h as f32 * 0.5;
    let mut at = seed;
    let mut line = Vec::new();
    for _ in 0..(longest / step) as usize {
        let Some(u) = mean_at(fields, at) else { break };
        let speed = super::scale::length(u);
        line.push((at, speed));
        if speed < 1e-4 {
            break;
        }
        let ahead = |from: [f32; 3], u: [f32; 3], by: f32| -> [f32; 3] {
            let size = super::scale::length(u).max(1e-9);
            std::array::from_fn(|a| from[a] + sign * by * u[a] / size)
        };
        let Some(half) = mean_at(fields, ahead(at, u, step * 0.5)) else { break };
        at = ahead(at, half, step);
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Water that turns about the middle of a box as a solid body: streamlines are circles.
    #[test]
    fn lines_close_in_a_turning_body() {
        let n = [40, 40, 4];
        let mut fields = Fields { n, h: 0.05, water: vec![1.0; 6400], ..Fields::default() };
        fields.mean_velocity = (0..6400)
            .map(|c| {
                let p = fields.centre(c);
                [-(p[1] - 1.0) as f32, (p[0] - 1.0) as f32, 0.0]
            })
            .collect();
        let line = trace(&fields, [1.6, 1.0, 0.1], 1.0, 3.6);
        assert!(line.len() > 100);
        for (p, speed) in &line {
            let radius = ((p[0] - 1.0).powi(2) + (p[1] - 1.0).powi(2)).sqrt();
            assert!((radius - 0.6).abs() < 4e-3 && (speed - 0.6).abs() < 4e-3, "{p:?}");
        }
    }
}
