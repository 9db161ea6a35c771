//! The page put together: one HTML file without a single address in it.

use super::{Shown, clip, lanes, pack, pair, scene, words};
use crate::handover::Stamp;
use crate::report::pictures::escaped;
use crate::report::shown::duration;
use crate::units::Display;
use base64::Engine;

const TEMPLATE: &str = include_str!("../../../assets/client/page.html");
const STYLE: &str = include_str!("../../../assets/client/style.css");
const LIBRARY: &str = include_str!("../../../assets/client/library.js");
const SCRIPTS: [&str; 6] = [
    include_str!("../../../assets/client/data.js"),
    include_str!("../../../assets/client/flow.js"),
    include_str!("../../../assets/client/shapes.js"),
    include_str!("../../../assets/client/view.js"),
    include_str!("../../../assets/client/labels.js"),
    include_str!("../../../assets/client/controls.js"),
];

/// The whole text of the page.
///
/// # Errors
/// When the scene can't be written as JSON: a slip of ours.
pub fn page(shown: &Shown) -> Result<String, String> {
    let stamp = Stamp::new(shown.layout(), shown.date);
    let (scene, bytes) = scene::scene(shown);
    let json = serde_json::to_string(&scene).map_err(|error| format!("the scene can't be written: {error}"))?;
    let jets = scene::jets(shown);
    let record = shown.record();
    let animals = if record.colonies.is_empty() {
        String::new()
    } else {
        section("animals", "What it means for the animals", &words::animals(shown))
    };
    let parts = [
        ("name", escaped(&stamp.name)),
        ("revision", escaped(&stamp.revision)),
        ("date", escaped(&stamp.date)),
        ("still", still(shown)?),
        ("before", pair::section(shown, &legend(scene::scale(shown), shown.layout().display), &gradient())?),
        ("lead", escaped(&words::lead(shown))),
        ("turns", escaped(&words::turns(shown, &jets))),
        ("nozzles", words::nozzles(shown, &jets)),
        ("lanes", lanes::lanes(&jets, &shown.motion.times)),
        ("length", escaped(&duration(shown.motion.length().round()))),
        ("animals", animals),
        ("slow", words::slow(shown)),
        ("unsettled", words::unsettled(record)),
        ("estimated", words::estimated(shown)),
        ("scale", legend(scene::scale(shown), shown.layout().display)),
        ("gradient", gradient()),
        ("style", STYLE.to_owned()),
        ("library", LIBRARY.to_owned()),
        ("script", format!("(function () {{\n\"use strict\";\n{}}})();\n", SCRIPTS.concat())),
        ("scene", json.replace('<', "\\u003c")),
        ("bytes", pack::text(&bytes)),
    ];
    Ok(filled(TEMPLATE, &parts))
}

/// The template with every `{{name}}` replaced, each once from left to right: text that was put in is not looked at again.
fn filled(template: &str, parts: &[(&str, String)]) -> String {
    let mut page = String::with_capacity(template.len() + parts.iter().map(|(_, text)| text.len()).sum::<usize>());
    let mut pieces = template.split("{{");
    page.push_str(pieces.next().unwrap_or_default());
    for piece in pieces {
        let (name, rest) = piece.split_once("}}").unwrap_or(("", piece));
        page.push_str(parts.iter().find(|(known, _)| *known == name).map_or("", |(_, text)| text));
        page.push_str(rest);
    }
    page
}

/// One moment, for browsers that can't draw the moving picture.
fn still(shown: &Shown) -> Result<String, String> {
    let data = base64::engine::general_purpose::STANDARD.encode(clip::still(shown)?);
    let alt = "The tank from above and from the front at one moment, with streaks that show which way and how fast the water moves.";
    Ok(format!("<img alt=\"{alt}\" src=\"data:image/png;base64,{data}\">"))
}

fn section(id: &str, heading: &str, body: &str) -> String {
    format!("<section id=\"{id}\"><h2>{heading}</h2>\n{body}</section>\n")
}

fn legend(top: f64, display: Display) -> String {
    scene::ticks(top, display).map(|tick| format!("<span>{tick}</span>")).concat()
}

fn gradient() -> String {
    let stops: Vec<String> = scene::colours().iter().map(|[r, g, b]| format!("#{r:02x}{g:02x}{b:02x}")).collect();
    format!("linear-gradient(to right, {})", stops.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_that_was_put_in_is_left_alone() {
        let parts = [("a", "{{b}}".to_owned()), ("b", "x".to_owned())];
        assert_eq!(filled("1 {{a}} 2 {{b}} 3 {{none}}", &parts), "1 {{b}} 2 x 3 ");
    }
}
