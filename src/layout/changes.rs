//! What differs between two layouts, part by part and field by field.

use super::Layout;
use crate::units::{
    AngleKind, FlowKind, ForceKind, HeadKind, Kind, LengthKind, PowerKind, PressureKind, Quantity, SalinityKind, SpeedKind,
    TemperatureKind, TimeKind,
};
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// Longest value that is written out.
const LONGEST: usize = 80;
/// Fields that change nothing about the water.
const UNTOLD: [&str; 5] = ["version", "name", "notes", "display", "what_ifs"];

/// One field of one part that is not the same in both.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FieldChange {
    /// The part as `list/id`, for instance `nozzles/N3`; empty for the layout itself.
    pub part: String,
    /// The field, its outer fields before it with slashes, for instance `aim/azimuth`; empty for the whole part.
    pub field: String,
    /// As written in the first; `None` where it isn't there.
    pub before: Option<String>,
    /// As written in the second; `None` where it isn't there.
    pub after: Option<String>,
}

/// Everything that differs. Lengths that are written in two ways but mean the same are no difference.
pub fn changes(before: &Layout, after: &Layout) -> Vec<FieldChange> {
    let mut found = Vec::new();
    let (Ok(before), Ok(after)) = (serde_json::to_value(before), serde_json::to_value(after)) else { return found };
    for name in keys(&before, &after).into_iter().filter(|name| !UNTOLD.contains(&name.as_str())) {
        let at = Place { part: String::new(), field: name.clone() };
        look(&at, before.get(&name), after.get(&name), &mut found);
    }
    found
}

/// Where the comparison stands.
#[derive(Clone)]
struct Place {
    part: String,
    field: String,
}

impl Place {
    /// Into a field.
    fn field(&self, name: &str) -> Self {
        let field = if self.field.is_empty() { name.to_owned() } else { format!("{}/{name}", self.field) };
        Self { part: self.part.clone(), field }
    }

    /// Into a part of the list that this place is.
    fn part(&self, id: &str) -> Self {
        let list = if self.part.is_empty() { self.field.clone() } else { format!("{}/{}", self.part, self.field) };
        Self { part: format!("{list}/{id}"), field: String::new() }
    }

    fn changed(self, before: Option<String>, after: Option<String>) -> FieldChange {
        FieldChange { part: self.part, field: self.field, before, after }
    }
}

fn look(at: &Place, before: Option<&Value>, after: Option<&Value>, found: &mut Vec<FieldChange>) {
    let before = before.filter(|value| !value.is_null());
    let after = after.filter(|value| !value.is_null());
    match (before, after) {
        (Some(Value::Array(a)), Some(Value::Array(b))) if has_ids(a) && has_ids(b) => parts(at, a, b, found),
        (Some(Value::Array(a)), Some(Value::Array(b))) if a.len() == b.len() && a != b && holds_objects(a) => {
            a.iter().zip(b).enumerate().for_each(|(i, (a, b))| look(&at.field(&format!("{}", i + 1)), Some(a), Some(b), found));
        }
        (Some(a @ Value::Object(_)), Some(b @ Value::Object(_))) if is_same_kind(a, b) => {
            keys(a, b).iter().for_each(|key| look(&at.field(key), a.get(key), b.get(key), found));
        }
        (a, b) if a.map(settled) == b.map(settled) => {}
        (a, b) => found.push(at.clone().changed(a.map(written), b.map(written))),
    }
}

/// Parts of a list, matched by their ids: those of the first in its order, then the new ones.
fn parts(at: &Place, before: &[Value], after: &[Value], found: &mut Vec<FieldChange>) {
    let of = |list: &'_ [Value], id: &str| list.iter().find(|value| id_of(value) == Some(id)).cloned();
    for part in before {
        let Some(id) = id_of(part) else { continue };
        match of(after, id) {
            Some(other) => look(&at.part(id), Some(part), Some(&other), found),
            None => found.push(at.part(id).changed(Some(summary(part)), None)),
        }
    }
    let new = after.iter().filter_map(|part| id_of(part).filter(|id| of(before, id).is_none()).map(|id| (id, part)));
    found.extend(new.map(|(id, part)| at.part(id).changed(None, Some(summary(part)))));
}

fn id_of(value: &Value) -> Option<&str> {
    value.get("id").and_then(Value::as_str)
}

fn has_ids(list: &[Value]) -> bool {
    list.iter().all(|value| id_of(value).is_some())
}

fn holds_objects(list: &[Value]) -> bool {
    list.iter().all(|value| value.is_object() || value.is_array())
}

/// Both have fields, or both are the same choice of several.
fn is_same_kind(a: &Value, b: &Value) -> bool {
    let only = |value: &Value| value.as_object().filter(|map| map.len() == 1).and_then(|map| map.keys().next().cloned());
    match (only(a), only(b)) {
        (None, None) => true,
        (a, b) => a == b,
    }
}

fn keys(a: &Value, b: &Value) -> Vec<String> {
    let of = |value: &Value| value.as_object().map(|map| map.keys().cloned().collect::<Vec<_>>()).unwrap_or_default();
    let (mut all, more) = (of(a), of(b));
    more.into_iter().for_each(|key| {
        if !all.contains(&key) {
            all.push(key)
        }
    });
    all
}

/// The same value for quantities that mean the same: "1 in" and "25.4 mm".
fn settled(value: &Value) -> Value {
    match value {
        Value::String(text) => quantity(text).map_or_else(|| value.clone(), |(kind, si)| Value::String(format!("{kind} {si:.9e}"))),
        Value::Array(list) => Value::Array(list.iter().map(settled).collect()),
        Value::Object(map) => Value::Object(map.iter().map(|(key, value)| (key.clone(), settled(value))).collect()),
        other => other.clone(),
    }
}

fn quantity(text: &str) -> Option<(&'static str, f64)> {
    fn of<K: Kind>(text: &str) -> Option<(&'static str, f64)> {
        text.parse::<Quantity<K>>().ok().map(|quantity| (K::NAME, quantity.si()))
    }
    let kinds = [
        of::<LengthKind>,
        of::<FlowKind>,
        of::<SpeedKind>,
        of::<AngleKind>,
        of::<TimeKind>,
        of::<TemperatureKind>,
        of::<SalinityKind>,
        of::<HeadKind>,
        of::<ForceKind>,
        of::<PressureKind>,
        of::<PowerKind>,
    ];
    kinds.into_iter().find_map(|read| read(text))
}

/// A value in one line, as near to the file as it reads well.
fn written(value: &Value) -> String {
    let text = plain(value);
    if text.chars().count() <= LONGEST {
        return text;
    }
    text.chars().take(LONGEST - 1).chain(['…']).collect()
}

fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Array(list) => format!("({})", list.iter().map(plain).collect::<Vec<_>>().join(", ")),
        Value::Object(map) => map.iter().filter(|(_, v)| !v.is_null()).map(|(key, v)| field(key, v)).collect::<Vec<_>>().join(", "),
        other => other.to_string(),
    }
}

fn field(key: &str, value: &Value) -> String {
    let key = key.replace('_', " ");
    if value.is_object() { format!("{key} ({})", plain(value)) } else { format!("{key} {}", plain(value)) }
}

/// What a part is, without its id.
fn summary(part: &Value) -> String {
    let mut part = part.clone();
    if let Some(map) = part.as_object_mut() {
        map.remove("id");
    }
    written(&part)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::{Change, WhatIf, demo, what_if::apply};
    use crate::units::{Angle, Length};

    fn told(change: impl FnOnce(&mut Layout)) -> Vec<FieldChange> {
        let (before, mut after) = (demo(), demo());
        change(&mut after);
        changes(&before, &after)
    }

    #[test]
    fn the_same_written_otherwise_is_no_change() {
        let (mut before, mut one) = (demo(), demo());
        before.tank.length = Length::new(24.0, "in");
        one.tank.length = Length::new(609.6, "mm");
        one.notes = "other".into();
        assert_ne!(before.tank.length.text(), one.tank.length.text());
        assert_eq!(changes(&before, &one), []);
    }

    #[test]
    fn fields_and_parts_are_named() {
        let level = told(|layout| layout.tank.water_level = Length::new(20.0, "in"));
        assert_eq!((level.len(), level[0].part.as_str(), level[0].field.as_str()), (1, "", "tank/water_level"));
        assert_eq!(level[0].after.as_deref(), Some("20 in"));

        let id = demo().nozzles[0].id.clone();
        let gone = told(|layout| drop(layout.nozzles.remove(0)));
        assert_eq!((gone.len(), gone[0].part.clone(), gone[0].after.clone()), (1, format!("nozzles/{id}"), None));

        let speed = told(|layout| layout.pumps[0].speed = 0.5);
        assert_eq!((speed[0].part.clone(), speed[0].field.as_str()), (format!("pumps/{}", demo().pumps[0].id), "speed"));
        assert_eq!((speed[0].before.as_deref(), speed[0].after.as_deref()), (Some("1.0"), Some("0.5")));
    }

    #[test]
    fn a_what_if_tells_what_it_changes() {
        let id = demo().nozzles[0].id.clone();
        let off = Change::AimOff { nozzle: id.clone(), angle: Angle::new(10.0, "deg") };
        let after = apply(&demo(), &WhatIf { id: "knocked".into(), changes: vec![off] });
        let found = changes(&demo(), &after);
        assert!(!found.is_empty() && found.iter().all(|change| change.part == format!("nozzles/{id}") && change.field.starts_with("aim")));
    }
}
