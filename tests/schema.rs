//! A small reader of the JSON Schema in `assets/study-schema.json`: as much of draft 2020-12 as that file uses. It also
//! refuses keys that the schema does not name, so that the schema and the records can't drift apart.

use serde_json::Value;
use slackwater::report::json::SCHEMA;

/// Everything in `value` that is not as the named definition says.
pub fn problems(definition: &str, value: &Value) -> Vec<String> {
    let schema: Value = serde_json::from_str(SCHEMA).unwrap();
    let mut found = Vec::new();
    look(&schema, &schema["$defs"][definition], value, "", &mut found);
    found
}

fn look(root: &Value, schema: &Value, value: &Value, at: &str, found: &mut Vec<String>) {
    if let Some(name) = schema["$ref"].as_str() {
        let target = root.pointer(name.trim_start_matches('#')).unwrap_or_else(|| panic!("no {name}"));
        return look(root, target, value, at, found);
    }
    if let Some(choices) = schema["anyOf"].as_array() {
        let fits = |choice: &&Value| {
            let mut tried = Vec::new();
            look(root, choice, value, at, &mut tried);
            tried.is_empty()
        };
        if choices.iter().find(fits).is_none() {
            found.push(format!("{at}: none of the choices fits {value}"));
        }
    }
    plain(schema, value, at, found);
    if let Some(object) = value.as_object() {
        let known = known_keys(root, schema);
        for key in required(root, schema) {
            if !object.contains_key(&key) {
                found.push(format!("{at}: no {key}"));
            }
        }
        for (key, inner) in object {
            match known.iter().find(|(name, _)| *name == key) {
                Some((_, schema)) => look(root, schema, inner, &format!("{at}/{key}"), found),
                None if known.is_empty() => {}
                None => found.push(format!("{at}: {key} is not in the schema")),
            }
        }
    }
    for (i, inner) in value.as_array().into_iter().flatten().enumerate() {
        if schema.get("items").is_some() {
            look(root, &schema["items"], inner, &format!("{at}/{i}"), found);
        }
    }
}

fn plain(schema: &Value, value: &Value, at: &str, found: &mut Vec<String>) {
    let types: Vec<&str> = match &schema["type"] {
        Value::String(one) => vec![one],
        Value::Array(several) => several.iter().filter_map(Value::as_str).collect(),
        _ => vec![],
    };
    if !types.is_empty() && !types.iter().any(|name| is(name, value)) {
        found.push(format!("{at}: {value} is not {types:?}"));
    }
    if schema["enum"].as_array().is_some_and(|all| !all.contains(value)) || schema.get("const").is_some_and(|c| c != value) {
        found.push(format!("{at}: {value} is not allowed"));
    }
    let long = value.as_array().map_or(0, Vec::len) as u64;
    if schema["minItems"].as_u64().is_some_and(|n| long < n) || schema["maxItems"].as_u64().is_some_and(|n| long > n) {
        found.push(format!("{at}: {long} items"));
    }
}

fn is(name: &str, value: &Value) -> bool {
    match name {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        "number" => value.is_number(),
        "integer" => value.is_u64() || value.is_i64(),
        other => panic!("the schema names a type {other} that this reader does not know"),
    }
}

/// Own properties and those of `allOf`.
fn known_keys<'a>(root: &'a Value, schema: &'a Value) -> Vec<(&'a String, &'a Value)> {
    let own = schema["properties"].as_object().into_iter().flatten();
    own.chain(parents(root, schema).flat_map(|parent| parent["properties"].as_object().into_iter().flatten())).collect()
}

fn required(root: &Value, schema: &Value) -> Vec<String> {
    let own = schema["required"].as_array().into_iter().flatten();
    let all = own.chain(parents(root, schema).flat_map(|parent| parent["required"].as_array().into_iter().flatten()));
    all.filter_map(|key| key.as_str().map(str::to_owned)).collect()
}

fn parents<'a>(root: &'a Value, schema: &'a Value) -> impl Iterator<Item = &'a Value> {
    let named = |parent: &'a Value| parent["$ref"].as_str().and_then(|name| root.pointer(name.trim_start_matches('#')));
    schema["allOf"].as_array().into_iter().flatten().filter_map(named)
}

#[test]
fn the_reader_refuses_what_is_wrong() {
    let good: Value = serde_json::json!({"id": "P", "flow_m3_s": {"min": 0.0, "mean": 1.0, "max": null}, "head_m": {"min": 0.0, "mean": 1.0, "max": 2.0}});
    assert_eq!(problems("pump", &good), Vec::<String>::new());
    let wrong = |change: fn(&mut Value)| {
        let mut value = good.clone();
        change(&mut value);
        problems("pump", &value).len()
    };
    assert_eq!(wrong(|v| v["id"] = 3.into()), 1);
    assert_eq!(wrong(|v| v["colour"] = 3.into()), 1);
    assert_eq!(wrong(|v| v["head_m"] = serde_json::json!({"min": 0.0})), 2);
    assert_eq!(problems("point", &serde_json::json!([1.0, 2.0])).len(), 1);
}
