//! Layouts in the project's own style: short parts on one line, long ones an entry a line.

use super::Layout;
use super::read::ron_options;
use super::text::{Kind, Node, Part, scan};

/// Lines are broken to stay within this many characters where brackets allow it.
const WIDTH: usize = 120;

/// A layout without spaces, comments or line breaks; nothing left out.
pub(super) fn compact(layout: &Layout) -> String {
    ron_options().to_string(layout).unwrap_or_default()
}

/// A layout in the project's own style.
pub(super) fn pretty(layout: &Layout) -> String {
    let text = compact(layout);
    let Some(root) = scan(&text).0 else { return text };
    block(&text, &root, 0) + "\n"
}

/// A value that starts on a line indented by `indent`.
pub(super) fn value(text: &str, node: &Node, indent: usize) -> String {
    let line = flat(text, node);
    let fits = indent + line.chars().count() <= WIDTH;
    if fits || written(text, node).next().is_none() { line } else { block(text, node, indent) }
}

/// An entry a line.
fn block(text: &str, node: &Node, indent: usize) -> String {
    let inner = indent + 4;
    let entries: String = written(text, node).map(|part| format!("{:inner$}{},\n", "", entry(text, part, inner))).collect();
    format!("{}\n{entries}{:indent$}{}", opening(text, node), "", closing(node))
}

fn entry(text: &str, part: &Part, indent: usize) -> String {
    let name = part.name.as_ref().map_or_else(String::new, |span| format!("{}: ", &text[span.clone()]));
    let many = indent == 4 && part.value.group.as_ref().is_some_and(|group| group.kind == Kind::List && !group.parts.is_empty());
    name + &if many { block(text, &part.value, indent) } else { value(text, &part.value, indent) }
}

/// All on one line.
pub(super) fn flat(text: &str, node: &Node) -> String {
    if node.group.is_none() {
        return text[node.span.clone()].to_owned();
    }
    let entries: Vec<_> = written(text, node)
        .map(|part| part.name.as_ref().map_or_else(String::new, |span| format!("{}: ", &text[span.clone()])) + &flat(text, &part.value))
        .collect();
    format!("{}{}{}", opening(text, node), entries.join(", "), closing(node))
}

/// The parts worth writing: what is absent is left out.
fn written<'a>(text: &'a str, node: &'a Node) -> impl Iterator<Item = &'a Part> {
    node.parts().iter().filter(|part| part.name.is_none() || &text[part.value.span.clone()] != "None")
}

/// Up to and with the opening bracket.
fn opening<'a>(text: &'a str, node: &Node) -> &'a str {
    &text[node.span.start..node.group.as_ref().map_or(node.span.end, |group| group.open + 1)]
}

fn closing(node: &Node) -> &'static str {
    match &node.group {
        Some(group) if group.kind == Kind::List => "]",
        Some(_) => ")",
        None => "",
    }
}
