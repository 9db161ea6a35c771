//! The panel as DXF, an open exchange format for machines: millimetres, seen from outside, origin in the corner measured from.

use super::view::View;
use crate::handover::revision::Stamp;
use dxf::{
    Drawing, Point,
    entities::{Circle, Entity, EntityType, Line, Text},
    enums::{AcadVersion, Units},
    tables::Layer,
};

/// Layers, named in words.
pub const LAYERS: [&str; 4] = ["panel outline", "holes", "crosshairs", "notes"];

/// Half length of a crosshair where no diameter is given, mm.
const BARE_CROSS: f64 = 15.0;

/// The panel as a DXF file.
///
/// # Errors
/// When it can't be written; the text says why.
pub fn panel_dxf(view: &View, stamp: &Stamp) -> Result<Vec<u8>, String> {
    let mut drawing = Drawing::new();
    drawing.header.version = AcadVersion::R2000;
    drawing.header.default_drawing_units = Units::Millimeters;
    without_clock(&mut drawing);
    for name in LAYERS {
        drawing.add_layer(Layer { name: name.to_owned(), ..Layer::default() });
    }
    add_outline(&mut drawing, view);
    for hole in view.holes.iter().filter(|hole| view.holds(hole)) {
        if let Some(diameter) = hole.drill {
            add(&mut drawing, "holes", EntityType::Circle(Circle::new(Point::new(hole.x, hole.y, 0.0), diameter / 2.0)));
        }
        let arm = hole.drill.map_or(BARE_CROSS, |diameter| diameter / 2.0 + 6.0);
        add_line(&mut drawing, "crosshairs", [hole.x - arm, hole.y], [hole.x + arm, hole.y]);
        add_line(&mut drawing, "crosshairs", [hole.x, hole.y - arm], [hole.x, hole.y + arm]);
        let size = hole.drill.map_or_else(|| "measure the bulkhead in hand".to_owned(), |d| format!("drill {d:.1} mm"));
        add_text(&mut drawing, [hole.x + arm + 2.0, hole.y + 2.0], &format!("{} {}: {size}", hole.tag, hole.serves));
    }
    for (line, words) in notes(view, stamp).iter().enumerate() {
        add_text(&mut drawing, [0.0, -12.0 - 7.0 * line as f64], words);
    }
    let mut bytes = Vec::new();
    drawing.save(&mut bytes).map_err(|error| error.to_string())?;
    Ok(bytes)
}

/// The same panel gives the same file: no time of day and no random numbers in it. The date stands in the notes.
fn without_clock(drawing: &mut Drawing) {
    let header = &mut drawing.header;
    (header.creation_date, header.update_date) = Default::default();
    (header.creation_date_universal, header.update_date_universal) = Default::default();
    (header.fingerprint_guid, header.version_guid) = Default::default();
}

fn notes(view: &View, stamp: &Stamp) -> Vec<String> {
    let mut notes = vec![
        format!("{} · {} panel · revision {} · {}", stamp.name, view.panel.word(), stamp.revision, stamp.date),
        "Millimetres, 1:1, seen from outside, water side behind.".to_owned(),
        format!("Origin: {}. The outline is the inside outline; laps are not in it.", view.corner_words()),
        format!("{}, {:.1} mm. The panel maker's limits for holes decide.", super::sheet::material_words(view.material), view.thickness),
    ];
    let off: Vec<&str> = view.holes.iter().filter(|hole| !view.holds(hole)).map(|hole| hole.tag.as_str()).collect();
    if !off.is_empty() {
        notes.push(format!("NOT DRAWN, off the panel: {}", off.join(", ")));
    }
    notes
}

fn add_outline(drawing: &mut Drawing, view: &View) {
    let corners = [[0.0, 0.0], [view.width, 0.0], [view.width, view.height], [0.0, view.height], [0.0, 0.0]];
    for pair in corners.windows(2) {
        add_line(drawing, "panel outline", pair[0], pair[1]);
    }
}

fn add_line(drawing: &mut Drawing, layer: &str, from: [f64; 2], to: [f64; 2]) {
    let line = Line::new(Point::new(from[0], from[1], 0.0), Point::new(to[0], to[1], 0.0));
    add(drawing, layer, EntityType::Line(line));
}

fn add_text(drawing: &mut Drawing, at: [f64; 2], words: &str) {
    let value: String = words.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let text = Text { location: Point::new(at[0], at[1], 0.0), text_height: 5.0, value, ..Text::default() };
    add(drawing, "notes", EntityType::Text(text));
}

fn add(drawing: &mut Drawing, layer: &str, what: EntityType) {
    let mut entity = Entity::new(what);
    entity.common.layer = layer.to_owned();
    drawing.add_entity(entity);
}
