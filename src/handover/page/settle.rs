//! The same drawings give the same PDF, byte for byte.
//!
//! `svg2pdf` keeps fonts and resources in hash tables, so that their numbers and their order change from run to run. Here the objects of a
//! finished PDF are put in the order in which they are first named, from the catalogue on, and numbered by it; entries of resource
//! dictionaries stand in the order of their names. Only for files that `pdf-writer` wrote: plain objects and one cross-reference table.

use std::collections::HashMap;
use std::fmt::Write;

/// One object: its text up to the stream, and the rest (empty without a stream).
struct Object<'a> {
    head: String,
    rest: &'a [u8],
}

/// The same document with its objects in settled order; unchanged when it isn't built as expected.
pub fn settled(pdf: Vec<u8>) -> Vec<u8> {
    reordered(&pdf).unwrap_or(pdf)
}

fn reordered(pdf: &[u8]) -> Option<Vec<u8>> {
    let tail = &pdf[pdf.len().saturating_sub(40)..];
    let table: usize = String::from_utf8_lossy(tail).split("startxref").nth(1)?.split_whitespace().next()?.parse().ok()?;
    let closing = std::str::from_utf8(pdf.get(table..)?).ok()?;
    let (places, trailer) = closing.split_once("trailer")?;
    let trailer = trailer.split("startxref").next()?;
    let objects = objects(pdf, places, table)?;
    let order = order(trailer, &objects);
    let new: HashMap<u32, usize> = order.iter().enumerate().map(|(at, id)| (*id, at + 1)).collect();
    let mut out = pdf[..objects_start(places)?].to_vec();
    let mut starts = Vec::new();
    for id in &order {
        starts.push(out.len());
        let object = objects.get(id)?;
        out.extend(renumbered(&object.head, &new)?.bytes());
        out.extend(object.rest);
    }
    out.extend(ending(&starts, &renumbered(trailer, &new)?, out.len()).bytes());
    Some(out)
}

/// Offsets of objects in use, by their numbers.
fn offsets(places: &str) -> impl Iterator<Item = (u32, usize)> {
    let lines = places.lines().skip(2).enumerate();
    lines.filter(|(_, line)| line.trim_end().ends_with('n')).filter_map(|(id, line)| Some((id as u32, line.get(..10)?.parse().ok()?)))
}

fn objects_start(places: &str) -> Option<usize> {
    offsets(places).map(|(_, at)| at).min()
}

fn objects<'a>(pdf: &'a [u8], places: &str, table: usize) -> Option<HashMap<u32, Object<'a>>> {
    let mut found: Vec<(u32, usize)> = offsets(places).collect();
    found.sort_by_key(|(_, at)| *at);
    let ends = found.iter().skip(1).map(|(_, at)| *at).chain([table]);
    found.iter().zip(ends).map(|((id, start), end)| Some((*id, object(pdf.get(*start..end)?)?))).collect()
}

fn object(bytes: &[u8]) -> Option<Object<'_>> {
    let stream = b"\nstream\n";
    let split = bytes.windows(stream.len()).position(|w| w == stream).unwrap_or(bytes.len());
    let head = std::str::from_utf8(&bytes[..split]).ok()?;
    Some(Object { head: with_sorted_entries(head), rest: &bytes[split..] })
}

/// Neighbouring lines that each give a numbered name its object, in the order of their names.
fn with_sorted_entries(head: &str) -> String {
    let mut lines: Vec<&str> = head.split('\n').collect();
    for group in lines.chunk_by_mut(|a, b| is_entry(a) && is_entry(b)) {
        group.sort_unstable();
    }
    lines.join("\n")
}

/// "/F0 12 0 R" or "/cs1 [/ICCBased 8 0 R]".
fn is_entry(line: &str) -> bool {
    let line = line.trim();
    let name = line.split(' ').next().unwrap_or_default();
    name.starts_with('/') && name.ends_with(|c: char| c.is_ascii_digit()) && line.trim_end_matches(']').ends_with(" 0 R")
}

/// Numbers of objects in the order in which they are first named, from the trailer on.
fn order(trailer: &str, objects: &HashMap<u32, Object>) -> Vec<u32> {
    let mut order: Vec<u32> = Vec::new();
    let mut next = named(trailer);
    while !next.is_empty() {
        let mut deeper = Vec::new();
        for id in next {
            if !order.contains(&id) && objects.contains_key(&id) {
                order.push(id);
                deeper.extend(named(&objects[&id].head));
            }
        }
        next = deeper;
    }
    order
}

fn named(text: &str) -> Vec<u32> {
    let words: Vec<&str> = words(text).collect();
    words.windows(3).filter(|w| w[1] == "0" && w[2] == "R").filter_map(|w| w[0].parse().ok()).collect()
}

/// Words and what stands between them, one after the other.
fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| c.is_whitespace() || "[]<>/".contains(c)).filter(|word| !word.is_empty())
}

/// The text with every `N 0 R` and `N 0 obj` under its new number; `None` when it names an object that isn't there.
fn renumbered(text: &str, new: &HashMap<u32, usize>) -> Option<String> {
    let mut out = String::new();
    let mut rest = text;
    while let Some(at) = [" 0 R", " 0 obj"].iter().filter_map(|mark| rest.find(mark)).min() {
        let digits = rest[..at].bytes().rev().take_while(u8::is_ascii_digit).count();
        let (before, number) = rest[..at].split_at(at - digits);
        let _ = write!(out, "{before}{} 0 ", new.get(&number.parse().ok()?)?);
        rest = &rest[at + 3..];
    }
    out.push_str(rest);
    Some(out)
}

fn ending(starts: &[usize], trailer: &str, table: usize) -> String {
    let mut text = format!("xref\n0 {}\n0000000000 65535 f\r\n", starts.len() + 1);
    for start in starts {
        let _ = write!(text, "{start:010} 00000 n\r\n");
    }
    let mut entries: Vec<String> = trailer.lines().map(str::to_owned).collect();
    entries
        .iter_mut()
        .filter(|line| line.trim_start().starts_with("/Size"))
        .for_each(|line| *line = format!("  /Size {}", starts.len() + 1));
    let _ = write!(text, "trailer{}\nstartxref\n{table}\n%%EOF", entries.join("\n"));
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn entries_are_sorted_within_their_dictionary_only() {
        let head = "<<\n  /Font <<\n    /f1 9 0 R\n    /f0 7 0 R\n  >>\n  /Length 3";
        assert_eq!(with_sorted_entries(head), "<<\n  /Font <<\n    /f0 7 0 R\n    /f1 9 0 R\n  >>\n  /Length 3");
    }

    #[test]
    fn numbers_follow_the_first_naming() {
        let new = HashMap::from([(7, 1), (12, 2)]);
        assert_eq!(renumbered("7 0 obj\n/A [12 0 R 7 0 R] /B 0 R0", &new), None);
        assert_eq!(renumbered("7 0 obj\n/A [12 0 R 7 0 R]", &new).as_deref(), Some("1 0 obj\n/A [2 0 R 1 0 R]"));
        assert_eq!(named("/Kids [12 0 R 7 0 R] /Count 2"), [12, 7]);
    }

    #[test]
    fn what_is_no_pdf_stays_as_it_is() {
        assert_eq!(settled(b"hello".to_vec()), b"hello");
    }
}
