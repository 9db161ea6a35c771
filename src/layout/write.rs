//! From a layout to its text, keeping what the author wrote: only parts that changed are written anew.
//!
//! The text's own layout and the new one are both written out in full and compared bracket by bracket; where they differ, the
//! bytes of the author's text for that part are exchanged. What comes out is read again; if it isn't the new layout, the
//! whole text is written anew.

use super::Layout;
use super::pretty::{compact, flat, pretty, value};
use super::read::{id_of, read};
use super::text::{Kind, Node, Part, scan};
use std::ops::Range;

/// The text of a layout. `original`: the text that it was read from, whose comments and spacing are kept.
pub fn write(layout: &Layout, original: Option<&str>) -> String {
    original.and_then(|text| patched(layout, text)).unwrap_or_else(|| pretty(layout))
}

fn patched(layout: &Layout, original: &str) -> Option<String> {
    let (old, text, root) = read("", original.as_bytes()).ok()?;
    if old == *layout {
        return Some(original.to_owned());
    }
    let (old_text, new_text) = (compact(&old), compact(layout));
    let (old_root, new_root) = (scan(&old_text).0?, scan(&new_text).0?);
    let mut edits = Vec::new();
    let sides = Sides { old: &old_text, new: &new_text, own: &text };
    sides.compare(&old_root, &new_root, &root, &mut edits);
    let result = apply(&text, edits);
    read("", result.as_bytes()).is_ok_and(|(reread, ..)| reread == *layout).then_some(result)
}

/// Exchange these bytes for this text.
type Edit = (Range<usize>, String);

fn apply(text: &str, mut edits: Vec<Edit>) -> String {
    edits.sort_by_key(|(range, _)| (range.start, range.end));
    let mut result = text.to_owned();
    for (range, new) in edits.into_iter().rev() {
        result.replace_range(range, &new);
    }
    result
}

/// The three texts: the old layout in full, the new one in full, and the author's own.
struct Sides<'a> {
    old: &'a str,
    new: &'a str,
    own: &'a str,
}

impl Sides<'_> {
    fn compare(&self, old: &Node, new: &Node, own: &Node, edits: &mut Vec<Edit>) {
        if self.old[old.span.clone()] == self.new[new.span.clone()] {
            return;
        }
        let own = inside_some(self.own, own);
        let same_head = head(self.old, old) == head(self.new, new);
        let own_kind = own.group.as_ref().map(|group| group.kind);
        let done = match (&old.group, &new.group, own_kind) {
            (Some(was), Some(is), Some(kind)) if same_head && was.kind == is.kind && is.kind == kind => match kind {
                Kind::Struct => self.compare_fields(old, new, own, edits),
                Kind::Tuple => self.compare_tuples(old, new, own, edits),
                Kind::List => self.compare_lists(old, new, own, edits),
            },
            _ => None,
        };
        if done.is_none() {
            edits.push((own.span.clone(), value(self.new, new, indent_at(self.own, own.span.start))));
        }
    }

    fn compare_fields(&self, old: &Node, new: &Node, own: &Node, edits: &mut Vec<Edit>) -> Option<()> {
        let mut inserts = Vec::new();
        for part in new.parts() {
            let name = &self.new[part.name.clone()?];
            // A field may be left out when it is empty.
            let was = old.field(self.old, name).map(|part| &part.value);
            let is_same = was.is_some_and(|was| self.old[was.span.clone()] == self.new[part.value.span.clone()]);
            match (own.field(self.own, name), was) {
                (Some(own), Some(was)) => self.compare(was, &part.value, &own.value, edits),
                (Some(own), None) => {
                    edits.push((own.value.span.clone(), value(self.new, &part.value, indent_at(self.own, own.value.span.start))));
                }
                (None, _) if is_same => {}
                (None, _) => inserts.push(format!("{name}: {}", flat(self.new, &part.value))),
            }
        }
        let is_gone = |part: &&Part| part.name.as_ref().is_some_and(|name| new.field(self.new, &self.old[name.clone()]).is_none());
        let gone = old.parts().iter().filter(is_gone).filter_map(|part| own.field(self.own, &self.old[part.name.clone()?]));
        edits.extend(gone.map(|part| removal(self.own, part)));
        insert_after(self.own, own, own.parts().last()?, &inserts, edits);
        Some(())
    }

    fn compare_tuples(&self, old: &Node, new: &Node, own: &Node, edits: &mut Vec<Edit>) -> Option<()> {
        let count = new.parts().len();
        if old.parts().len() != count || own.parts().len() != count {
            return None;
        }
        for ((old, new), own) in old.parts().iter().zip(new.parts()).zip(own.parts()) {
            self.compare(&old.value, &new.value, &own.value, edits);
        }
        Some(())
    }

    fn compare_lists(&self, old: &Node, new: &Node, own: &Node, edits: &mut Vec<Edit>) -> Option<()> {
        if old.parts().len() != own.parts().len() {
            return None;
        }
        let kept = common(&keys(self.old, old)?, &keys(self.new, new)?)?;
        let (mut next_old, mut next_new) = (0, 0);
        for &(i, j) in kept.iter().chain([&(old.parts().len(), new.parts().len())]) {
            (next_old..i).for_each(|gone| edits.push(removal(self.own, &own.parts()[gone])));
            let inserts: Vec<_> = new.parts()[next_new..j].iter().map(|part| flat(self.new, &part.value)).collect();
            match next_old.checked_sub(1) {
                Some(before) => insert_after(self.own, own, &own.parts()[before], &inserts, edits),
                None if inserts.is_empty() => {}
                None => insert_before(self.own, &own.parts()[kept[0].0], &inserts, edits),
            }
            if i < old.parts().len() {
                self.compare(&old.parts()[i].value, &new.parts()[j].value, &own.parts()[i].value, edits);
            }
            (next_old, next_new) = (i + 1, j + 1);
        }
        Some(())
    }
}

/// What a list's entries are told apart by: ids where all have one, else their places.
fn keys(text: &str, list: &Node) -> Option<Vec<String>> {
    let ids: Option<Vec<_>> = list.parts().iter().map(|part| id_of(text, &part.value)).collect();
    let ids = ids.filter(|ids| ids.iter().collect::<std::collections::HashSet<_>>().len() == ids.len());
    Some(ids.unwrap_or_else(|| (0..list.parts().len()).map(|place| place.to_string()).collect()))
}

/// Pairs of places of the longest run of keys that both lists have in the same order; none when there is no such key.
fn common(old: &[String], new: &[String]) -> Option<Vec<(usize, usize)>> {
    if old.len() * new.len() > 1_000_000 {
        return None;
    }
    let mut longest = vec![vec![0usize; new.len() + 1]; old.len() + 1];
    for i in (0..old.len()).rev() {
        for j in (0..new.len()).rev() {
            longest[i][j] = if old[i] == new[j] { longest[i + 1][j + 1] + 1 } else { longest[i + 1][j].max(longest[i][j + 1]) };
        }
    }
    let (mut i, mut j, mut pairs) = (0, 0, Vec::new());
    while i < old.len() && j < new.len() {
        if old[i] == new[j] {
            pairs.push((i, j));
            (i, j) = (i + 1, j + 1);
        } else if longest[i + 1][j] >= longest[i][j + 1] {
            i += 1;
        } else {
            j += 1;
        }
    }
    (!pairs.is_empty()).then_some(pairs)
}

/// Entries after a part of the brackets `group`: on lines of their own when the brackets are written so.
fn insert_after(text: &str, group: &Node, part: &Part, entries: &[String], edits: &mut Vec<Edit>) {
    if entries.is_empty() {
        return;
    }
    let end = part.whole.end;
    if !text[..end].ends_with(',') {
        edits.push((end..end, ",".into()));
    }
    let line_end = end + text[end..].find('\n').unwrap_or(text.len() - end);
    let rest = text[end..line_end].trim();
    let broken = text[group.span.start..part.whole.start].contains('\n') && (rest.is_empty() || rest.starts_with("//"));
    if broken {
        let line_end = if text[..line_end].ends_with('\r') { line_end - 1 } else { line_end };
        let indent = indent_at(text, part.whole.start);
        edits.push((line_end..line_end, entries.iter().map(|entry| format!("\n{:indent$}{entry},", "")).collect()));
    } else {
        let tail = if text[end..].trim_start().starts_with([')', ']']) { "" } else { "," };
        edits.push((end..end, format!(" {}{tail}", entries.join(", "))));
    }
}

/// Entries before the first part that stays.
fn insert_before(text: &str, part: &Part, entries: &[String], edits: &mut Vec<Edit>) {
    let start = part.whole.start;
    let own_line = text[..start].trim_end_matches(' ').ends_with('\n');
    let separator = if own_line { format!(",\n{:width$}", "", width = indent_at(text, start)) } else { ", ".into() };
    edits.push((start..start, entries.iter().map(|entry| format!("{entry}{separator}")).collect()));
}

/// Takes an entry out, with its line when nothing else is on it.
fn removal(text: &str, part: &Part) -> Edit {
    let Range { start, end } = part.whole;
    let before = text[..start].trim_end_matches([' ', '\t']);
    let after = text[end..].trim_start_matches([' ', '\t', '\r']);
    if before.ends_with('\n') && after.starts_with('\n') {
        return (before.len()..text.len() - after.len() + 1, String::new());
    }
    (start..text.len() - text[end..].trim_start_matches(' ').len(), String::new())
}

/// The name before the brackets, if any.
fn head<'a>(text: &'a str, node: &Node) -> &'a str {
    node.group.as_ref().map_or("", |group| text[node.span.start..group.open].trim_end())
}

/// What `Some(...)` holds; the value itself when that isn't written.
fn inside_some<'a>(text: &str, node: &'a Node) -> &'a Node {
    match node.parts() {
        [only] if head(text, node) == "Some" => &only.value,
        _ => node,
    }
}

/// Spaces at the start of the line that holds `at`.
fn indent_at(text: &str, at: usize) -> usize {
    let line = &text[text[..at].rfind('\n').map_or(0, |newline| newline + 1)..];
    line.len() - line.trim_start_matches(' ').len()
}
