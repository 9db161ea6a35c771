//! Records as JSON; their form is described in `assets/study-schema.json`.

use serde::Serialize;

/// The schema of `study.json`, of `check --json` and of `compare --json`: JSON Schema, draft 2020-12.
pub const SCHEMA: &str = include_str!("../../assets/study-schema.json");

/// A record as indented JSON with a line end.
///
/// # Errors
/// When a value can't be written as JSON, in words.
pub fn text<T: Serialize>(record: &T) -> Result<String, String> {
    serde_json::to_string_pretty(record).map(|text| text + "\n").map_err(|e| format!("the record can't be written as JSON: {e}"))
}
