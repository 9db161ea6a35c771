//! Fields for quantities: drag to change, click to type with a unit.

use crate::units::{Display, Kind, Quantity};
use bevy_egui::egui::{DragValue, Response, RichText, Ui};

/// One labelled field on its own row of a two-column grid; true when it changed.
pub fn quantity<K: Kind>(ui: &mut Ui, label: &str, value: &mut Quantity<K>, display: Display) -> bool {
    let name = ui.label(label);
    let (unit_name, digits) = if display == Display::Us { K::US } else { K::METRIC };
    let unit = K::UNITS.iter().find(|u| u.name == unit_name).unwrap_or(&K::UNITS[0]);
    let mut number = (value.si() - unit.offset) / unit.scale;
    let step = 0.5 * 0.1f64.powi(digits as i32);
    let parse = move |text: &str| {
        let typed: Quantity<K> = text.parse().or_else(|_| format!("{text} {unit_name}").parse()).ok()?;
        Some((typed.si() - unit.offset) / unit.scale)
    };
    let field = DragValue::new(&mut number)
        .speed(step)
        .max_decimals(digits.max(3))
        .custom_formatter(move |n, _| format!("{n:.digits$} {unit_name}"));
    let response = ui.add(field.custom_parser(parse)).labelled_by(name.id);
    ui.end_row();
    let changed = response.changed();
    tell(response, K::METRIC.0, K::US.0);
    if changed && number.is_finite() {
        *value = rounded(number * unit.scale + unit.offset, display);
    }
    changed
}

fn tell(response: Response, metric: &str, us: &str) {
    response.on_hover_text(format!("Drag to change, or click and type with any unit ({us}, {metric}, …)"));
}

/// As shown, so that the file and the screen agree.
fn rounded<K: Kind>(si: f64, display: Display) -> Quantity<K> {
    let shown = Quantity::<K>::from_si(si, display);
    shown.text().parse().unwrap_or(shown)
}

/// A share of 1 shown in percent; true when it changed.
pub fn percent(ui: &mut Ui, label: &str, value: &mut f64, most: f64) -> bool {
    let name = ui.label(label);
    let mut number = *value * 100.0;
    let response =
        ui.add(DragValue::new(&mut number).range(0.0..=most * 100.0).speed(0.5).max_decimals(0).suffix(" %")).labelled_by(name.id);
    ui.end_row();
    if response.changed() {
        *value = (number / 100.0).clamp(0.0, most);
    }
    response.changed()
}

/// A row that only tells.
pub fn fact(ui: &mut Ui, label: &str, value: impl Into<String>) {
    ui.label(RichText::new(label).weak());
    ui.label(value.into());
    ui.end_row();
}
