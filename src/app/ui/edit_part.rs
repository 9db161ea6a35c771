//! The fields of every kind of part.

use super::{Seen, edit_pipes, edit_port, edit_rock, edit_sequence, fields};
use crate::app::part::Item;
use crate::layout::{Material, Point, Tank, Want};
use crate::units::{Display, Speed};
use bevy_egui::egui::{RichText, Ui};

/// One row or more for everything about it; true when something changed.
pub fn edit(ui: &mut Ui, item: &mut Item, seen: &Seen) -> bool {
    let display = seen.model.desk.display;
    let size = seen.model.document.layout().tank.size();
    match item {
        Item::Tank(tank) => edit_tank(ui, tank, display),
        Item::Sand(sand) => {
            fields::quantity(ui, "Depth", &mut sand.depth, display) | fields::quantity(ui, "Grain", &mut sand.grain, Display::Metric)
        }
        Item::Sump(sump) => {
            fields::quantity(ui, "Water level", &mut sump.level, display)
                | fields::quantity(ui, "Room above", &mut sump.free_volume, display)
        }
        Item::Bar(bar) => point(ui, "From", &mut bar.from, display) | point(ui, "To", &mut bar.to, display),
        Item::Rock(rock) => edit_rock::edit(ui, rock, display),
        Item::Overflow(overflow) => edit_pipes::overflow(ui, overflow, seen),
        Item::Pump(pump) => edit_pipes::pump(ui, pump, display),
        Item::Drum(drum) => edit_pipes::drum(ui, drum, seen),
        Item::Intake(intake) => edit_port::intake(ui, intake, size, display),
        Item::Nozzle(nozzle) => edit_port::nozzle(ui, nozzle, size, display),
        Item::Circuit(circuit) => edit_pipes::circuit(ui, circuit, seen),
        Item::Propeller(propeller) => edit_port::propeller(ui, propeller, display),
        Item::Sequence(sequence) => edit_sequence::edit(ui, sequence, seen),
        Item::Colony(colony) => {
            point(ui, "At", &mut colony.at, display)
                | fields::quantity(ui, "Size", &mut colony.size, display)
                | want(ui, &mut colony.want, seen)
        }
        Item::Zone(zone) => {
            point(ui, "From", &mut zone.from, display) | point(ui, "To", &mut zone.to, display) | want(ui, &mut zone.want, seen)
        }
    }
}

/// Three rows for a place in the tank.
pub fn point(ui: &mut Ui, label: &str, p: &mut Point, display: Display) -> bool {
    ui.label(RichText::new(label).strong());
    ui.end_row();
    fields::quantity(ui, "  from left", &mut p.0, display)
        | fields::quantity(ui, "  from front", &mut p.1, display)
        | fields::quantity(ui, "  above floor", &mut p.2, display)
}

fn edit_tank(ui: &mut Ui, tank: &mut Tank, display: Display) -> bool {
    let sizes = fields::quantity(ui, "Length", &mut tank.length, display)
        | fields::quantity(ui, "Width", &mut tank.width, display)
        | fields::quantity(ui, "Height", &mut tank.height, display)
        | fields::quantity(ui, "Water level", &mut tank.water_level, display);
    fields::fact(
        ui,
        "Holds",
        crate::units::show::<crate::units::VolumeKind>(tank.length.si() * tank.width.si() * tank.water_level.si(), display),
    );
    let kinds = [
        (Material::Glass, "glass"),
        (Material::ToughenedGlass, "toughened glass"),
        (Material::Acrylic, "acrylic"),
        (Material::Opaque, "opaque"),
    ];
    let p = &mut tank.panels;
    let panels =
        [("Front", &mut p.front), ("Back", &mut p.back), ("Left", &mut p.left), ("Right", &mut p.right), ("Bottom", &mut p.bottom)];
    panels.into_iter().fold(sizes, |changed, (word, panel)| {
        fields::choice(ui, word, &mut panel.material, &kinds) | fields::quantity(ui, "  thick", &mut panel.thickness, display) | changed
    })
}

fn want(ui: &mut Ui, want: &mut Want, seen: &Seen) -> bool {
    let display = seen.model.desk.display;
    let (low, high) = want.band(&seen.model.document.layout().bands);
    let own =
        if matches!(want, Want::Band(..)) { want.clone() } else { Want::Band(Speed::from_si(low, display), Speed::from_si(high, display)) };
    let wants = [(Want::Gentle, "gentle"), (Want::Moderate, "moderate"), (Want::Strong, "strong"), (own, "own band")];
    let chosen = fields::choice(ui, "Wants", want, &wants);
    let moved = if let Want::Band(low, high) = want {
        fields::quantity(ui, "  at least", low, display) | fields::quantity(ui, "  at most", high, display)
    } else {
        false
    };
    chosen | moved
}
