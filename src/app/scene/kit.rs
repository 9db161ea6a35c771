//! Simple solids for the scene builders.

use super::finish::Finish;
use crate::app::kept::Side;
use crate::app::space::{colour, layer, place};
use crate::app::ui::theme::Theme;
use bevy::prelude::*;
use bevy_egui::egui::Color32;
use glam::DVec3;

/// Marks everything that is rebuilt with the layout of a side.
#[derive(Component)]
pub struct Prop(pub Side);

/// What a builder needs.
pub struct Kit<'a, 'w, 's> {
    /// Spawns.
    pub commands: &'a mut Commands<'w, 's>,
    /// Shapes.
    pub meshes: &'a mut Assets<Mesh>,
    /// Surfaces.
    pub materials: &'a mut Assets<Finish>,
    /// Colours.
    pub theme: Theme,
    /// For which layout.
    pub side: Side,
}

impl<'w, 's> Kit<'_, 'w, 's> {
    /// A dull, lit surface.
    pub fn dull(&mut self, c: Color32) -> Handle<Finish> {
        self.materials.add(Finish::lit(colour(c, 1.0), self.theme.look))
    }

    /// A flat, unlit surface that lets `1 - opacity` of what is behind through.
    pub fn flat(&mut self, c: Color32, opacity: f32) -> Handle<Finish> {
        self.materials.add(Finish::flat(colour(c, opacity)))
    }

    /// An upright block between two opposite corners, m.
    pub fn block(&mut self, a: DVec3, b: DVec3, material: &Handle<Finish>) -> EntityCommands<'_> {
        let size = (b - a).abs().max(DVec3::splat(1e-4));
        let mesh = self.meshes.add(Cuboid::new(size.x as f32, size.z as f32, size.y as f32));
        self.thing(mesh, material, Transform::from_translation(place((a + b) / 2.0)))
    }

    /// A thin square bar between two points, m.
    pub fn beam(&mut self, a: DVec3, b: DVec3, thick: f32, material: &Handle<Finish>) {
        let (from, to) = (place(a), place(b));
        let along = to - from;
        let Some(direction) = along.try_normalize() else { return };
        let mesh = self.meshes.add(Cuboid::new(thick, along.length() + thick, thick));
        let turn = Quat::from_rotation_arc(Vec3::Y, direction);
        self.thing(mesh, material, Transform::from_translation((from + to) / 2.0).with_rotation(turn));
    }

    /// The twelve edges of an upright block, m.
    pub fn edges(&mut self, a: DVec3, b: DVec3, thick: f32, material: &Handle<Finish>) {
        let corner = |i: usize| {
            DVec3::new(if i & 1 == 0 { a.x } else { b.x }, if i & 2 == 0 { a.y } else { b.y }, if i & 4 == 0 { a.z } else { b.z })
        };
        for i in 0..8 {
            for bit in [1, 2, 4] {
                if i & bit == 0 {
                    self.beam(corner(i), corner(i | bit), thick, material);
                }
            }
        }
    }

    /// A round bar between two points, m.
    pub fn pipe(&mut self, a: DVec3, b: DVec3, radius: f64, material: &Handle<Finish>) {
        let (from, to) = (place(a), place(b));
        let along = to - from;
        let Some(direction) = along.try_normalize() else { return };
        let mesh = self.meshes.add(Cylinder::new(radius as f32, along.length()).mesh().resolution(20));
        let turn = Quat::from_rotation_arc(Vec3::Y, direction);
        self.thing(mesh, material, Transform::from_translation((from + to) / 2.0).with_rotation(turn));
    }

    /// Any mesh.
    pub fn thing(&mut self, mesh: Handle<Mesh>, material: &Handle<Finish>, at: Transform) -> EntityCommands<'_> {
        self.commands.spawn((Prop(self.side), layer(self.side), Mesh3d(mesh), MeshMaterial3d(material.clone()), at))
    }
}
