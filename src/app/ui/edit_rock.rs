//! The fields of a rock.

use super::edit_part::point;
use super::{fields, words};
use crate::layout::scan::Up;
use crate::layout::{Rock, Shape, Turn};
use crate::units::{Display, Length};
use bevy_egui::egui::Ui;

/// Its place, turn and form; true when something changed.
pub fn edit(ui: &mut Ui, rock: &mut Rock, display: Display) -> bool {
    point(ui, "Stands at", &mut rock.at, display) | turn(ui, &mut rock.turn, display) | shape(ui, &mut rock.shape, display)
}

fn turn(ui: &mut Ui, turn: &mut Turn, display: Display) -> bool {
    fields::quantity(ui, "Turned", &mut turn.yaw, display)
        | fields::quantity(ui, "Nose up", &mut turn.pitch, display)
        | fields::quantity(ui, "Rolled", &mut turn.roll, display)
}

fn shape(ui: &mut Ui, shape: &mut Shape, display: Display) -> bool {
    match shape {
        Shape::Ellipsoid { size } | Shape::Box { size } => {
            fields::quantity(ui, "Long", &mut size.0, display)
                | fields::quantity(ui, "Deep", &mut size.1, display)
                | fields::quantity(ui, "High", &mut size.2, display)
        }
        Shape::Cylinder { diameter, height } => {
            fields::quantity(ui, "Across", diameter, display) | fields::quantity(ui, "High", height, display)
        }
        Shape::Arch { span, height, depth, thickness } => {
            fields::quantity(ui, "Span", span, display)
                | fields::quantity(ui, "High", height, display)
                | fields::quantity(ui, "Deep", depth, display)
                | fields::quantity(ui, "Thick", thickness, display)
        }
        Shape::Shelf { length, depth, thickness } => {
            fields::quantity(ui, "Long", length, display)
                | fields::quantity(ui, "Deep", depth, display)
                | fields::quantity(ui, "Thick", thickness, display)
        }
        Shape::Pile { length, depth, height, boulders, count, seed } => {
            let mut pile = *seed as u32;
            let sizes = fields::quantity(ui, "Long", length, display)
                | fields::quantity(ui, "Deep", depth, display)
                | fields::quantity(ui, "High", height, display)
                | fields::quantity(ui, "Smallest boulder", &mut boulders.0, display)
                | fields::quantity(ui, "Largest boulder", &mut boulders.1, display)
                | fields::count(ui, "Boulders", count, 1..=400);
            let another = fields::count(ui, "Which pile", &mut pile, 0..=9999);
            if another {
                *seed = u64::from(pile);
            }
            sizes | another
        }
        Shape::Scan { file, unit, up, scan } => {
            fields::fact(ui, "File", file.clone());
            let size = scan.size() * unit.si();
            if let Some(field) = &scan.field {
                fields::fact(ui, "Triangles", words::thousands(field.triangles));
                fields::fact(ui, "Size", [size.x, size.y, size.z].map(|s| words::length(s, display)).join(" × "));
            }
            let mut bring = size.max_element();
            let mut largest = Length::from_si(bring, display);
            let resized = fields::quantity(ui, "Largest size", &mut largest, display);
            if resized && bring > 0.0 {
                bring = largest.si() / bring;
                *unit = Length::from_si(unit.si() * bring, Display::Metric);
            }
            let turned = fields::choice(ui, "Up in the file", up, &[(Up::Z, "z"), (Up::Y, "y")]);
            if turned {
                // Read anew with the other axis up.
                scan.field = None;
            }
            resized | turned
        }
    }
}
