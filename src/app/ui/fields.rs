//! Fields for quantities: drag to change, click to type with a unit.

use super::meaning;
use crate::units::{Display, Kind, Quantity, Time};
use bevy_egui::egui::{ComboBox, DragValue, Response, RichText, Ui};

/// Share of a number that a point of dragging changes it by.
const SHARE_PER_POINT: f64 = 0.002;

/// One labelled field on its own row of a two-column grid; true when it changed.
pub fn quantity<K: Kind>(ui: &mut Ui, label: &str, value: &mut Quantity<K>, display: Display) -> bool {
    let name = named(ui, label);
    let (unit_name, digits) = if display == Display::Us { K::US } else { K::METRIC };
    let unit = K::UNITS.iter().find(|u| u.name == unit_name).unwrap_or(&K::UNITS[0]);
    let mut number = (value.si() - unit.offset) / unit.scale;
    // A metre should not take a metre of desk; Shift is ten times finer.
    let step = (0.5 * 0.1f64.powi(digits as i32)).max(number.abs() * SHARE_PER_POINT);
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

/// The name of a field; what it decides is told under the pointer.
fn named(ui: &mut Ui, label: &str) -> Response {
    let name = ui.label(label);
    match meaning::of(label) {
        Some(text) => name.on_hover_text(text),
        None => name,
    }
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
    let name = named(ui, label);
    let mut number = *value * 100.0;
    let response =
        ui.add(DragValue::new(&mut number).range(0.0..=most * 100.0).speed(0.5).max_decimals(0).suffix(" %")).labelled_by(name.id);
    ui.end_row();
    if response.changed() {
        *value = (number / 100.0).clamp(0.0, most);
    }
    response.changed()
}

/// A plain number; true when it changed.
pub fn number(ui: &mut Ui, label: &str, value: &mut f64, range: std::ops::RangeInclusive<f64>, digits: usize) -> bool {
    let name = named(ui, label);
    let speed = 0.5 * 0.1f64.powi(digits as i32);
    let changed = ui.add(DragValue::new(value).range(range).speed(speed).max_decimals(digits)).labelled_by(name.id).changed();
    ui.end_row();
    changed
}

/// A time of day, "8:30"; true when it changed.
pub fn time_of_day(ui: &mut Ui, label: &str, value: &mut Time) -> bool {
    let name = named(ui, label);
    let mut minutes = value.in_unit("min").round();
    let field =
        DragValue::new(&mut minutes).range(0.0..=24.0 * 60.0).speed(5.0).custom_formatter(|m, _| clock(m)).custom_parser(minutes_of);
    let changed = ui.add(field).labelled_by(name.id).on_hover_text("Drag to change, or click and type: 8, 8:30, 17.5").changed();
    ui.end_row();
    if changed {
        *value = Time::new(minutes.round() / 60.0, "h");
    }
    changed
}

fn clock(minutes: f64) -> String {
    let whole = minutes.round() as u32;
    format!("{}:{:02}", whole / 60, whole % 60)
}

fn minutes_of(text: &str) -> Option<f64> {
    let (hours, minutes) = text.trim().trim_end_matches('h').trim_end().split_once(':').unwrap_or((text.trim().trim_end_matches('h'), "0"));
    Some(60.0 * hours.trim().parse::<f64>().ok()? + minutes.trim().parse::<f64>().ok()?)
}

/// A whole number; true when it changed.
pub fn count(ui: &mut Ui, label: &str, value: &mut u32, range: std::ops::RangeInclusive<u32>) -> bool {
    let name = named(ui, label);
    let changed = ui.add(DragValue::new(value).range(range).speed(0.05)).labelled_by(name.id).changed();
    ui.end_row();
    changed
}

/// Yes or no; true when it changed.
pub fn tick(ui: &mut Ui, label: &str, value: &mut bool) -> bool {
    let name = named(ui, label);
    let changed = ui.checkbox(value, "").labelled_by(name.id).changed();
    ui.end_row();
    changed
}

/// One of several; true when it changed.
pub fn choice<T: PartialEq + Clone>(ui: &mut Ui, label: &str, value: &mut T, options: &[(T, &str)]) -> bool {
    let name = named(ui, label);
    let changed = pick(ui, label, value, options).labelled_by(name.id).changed();
    ui.end_row();
    changed
}

/// One of several, without a row of its own.
pub fn pick<T: PartialEq + Clone>(
    ui: &mut Ui,
    salt: impl std::hash::Hash + std::fmt::Debug,
    value: &mut T,
    options: &[(T, &str)],
) -> Response {
    let shown = options.iter().find(|(v, _)| v == value).map_or("", |(_, word)| word);
    let before = value.clone();
    let list = |ui: &mut Ui| options.iter().for_each(|(v, word)| drop(ui.selectable_value(value, v.clone(), *word)));
    let mut response = ComboBox::from_id_salt(ui.id().with(salt)).selected_text(shown).width(116.0).show_ui(ui, list).response;
    if before != *value {
        response.mark_changed();
    }
    response
}

/// A quantity that can be left out: ticked when it is there; true when it changed.
pub fn optional<K: Kind>(ui: &mut Ui, label: &str, value: &mut Option<Quantity<K>>, usual: f64, display: Display) -> bool {
    let mut there = value.is_some();
    let mut changed = tick(ui, label, &mut there);
    if changed {
        *value = there.then(|| Quantity::from_si(usual, display));
    }
    if let Some(quantity) = value {
        changed |= self::quantity(ui, "  ", quantity, display);
    }
    changed
}

/// A row that only tells.
pub fn fact(ui: &mut Ui, label: &str, value: impl Into<String>) {
    ui.label(RichText::new(label).weak());
    ui.label(value.into());
    ui.end_row();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_of_day_are_read_as_they_are_written() {
        for (text, minutes, shown) in [("8", 480.0, "8:00"), ("8:30", 510.0, "8:30"), ("17.5 h", 1050.0, "17:30"), (" 0:05 ", 5.0, "0:05")]
        {
            assert_eq!((minutes_of(text), clock(minutes).as_str()), (Some(minutes), shown), "{text}");
        }
        assert_eq!((minutes_of("noon"), minutes_of("8:x")), (None, None));
    }
}
