//! From bytes to a layout, or to everything that is wrong with them.
//!
//! The text is read as a whole. At a problem the smallest part that holds it is taken out (its bytes become spaces, so places
//! stay true) and the rest is read again, until it reads or nothing is left to take out.

use super::explain::explain;
use super::problem::{Problem, Problems};
use super::text::{Kind, Node, Part, line_and_column, scan, skip_space};
use super::{Layout, VERSION};
use crate::units::{UnitError, collecting_rejects};
use ron::extensions::Extensions;
use std::{collections::BTreeMap, ops::Range};

/// Problems reported for one file; the rest waits until these are mended.
const MOST_PROBLEMS: usize = 50;
/// No layout is longer, bytes.
const LONGEST: usize = 8 << 20;

/// How each older version becomes the next: entry 0 takes a text of version 1 to version 2, and so on.
const MIGRATIONS: [fn(String) -> String; VERSION as usize - 1] = [];

/// A layout, its text after migration, and where everything stands in it.
pub(super) type Read = (Layout, String, Node);

/// RON as layouts are written in it.
pub(super) fn ron_options() -> ron::Options {
    ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME | Extensions::UNWRAP_NEWTYPES).with_recursion_limit(64)
}

/// Reads a layout of any known version.
pub(super) fn read(name: &str, bytes: &[u8]) -> Result<Read, Problems> {
    let (text, mut problems) = decode(bytes);
    let (root, flaws) = scan(&text);
    problems
        .extend(flaws.iter().map(|flaw| Problem::at(&text, flaw.at..flaw.at, &flaw.what, "the text is not well-formed RON", &flaw.mend)));
    let Some(root) = root.filter(|root| problems.iter().all(|p| p.place.is_some()) && is_struct(root)) else {
        if problems.is_empty() {
            problems.push(not_a_layout(&text));
        }
        return Err(Problems::new(name, &text, problems));
    };
    match version(&text, &root) {
        Err(problem) => Err(Problems::new(name, &text, vec![problem])),
        Ok(version) if version < VERSION => read(name, migrate(version, text).as_bytes()),
        Ok(_) => {
            let flawed: Vec<usize> = flaws.iter().map(|flaw| flaw.at).collect();
            parse(text, root, &flawed, problems).map_err(|(text, problems)| Problems::new(name, &text, problems))
        }
    }
}

fn is_struct(root: &Node) -> bool {
    root.group.as_ref().is_some_and(|group| group.kind != Kind::List)
}

fn not_a_layout(text: &str) -> Problem {
    let why = "a layout is `(version: 1, name: \"...\", tank: (...), ...)`";
    Problem::at(text, 0..0, "the file holds no layout", why, "start from `slackwater new FILE`")
}

/// The text, without a byte-order mark; bytes that are no text become `?` and are problems.
fn decode(bytes: &[u8]) -> (String, Vec<Problem>) {
    if bytes.len() > LONGEST {
        let why = format!("it has {} bytes; no layout has more than {LONGEST}", bytes.len());
        return (String::new(), vec![Problem::whole("the file is too long for a layout", why, "check that it is the right file")]);
    }
    let mut bytes = bytes.to_vec();
    let marked = bytes.starts_with("\u{feff}".as_bytes());
    if marked {
        bytes[..3].fill(b' ');
    }
    let mut problems = Vec::new();
    while let Err(error) = std::str::from_utf8(&bytes) {
        let at = error.valid_up_to();
        if problems.is_empty() {
            let before = String::from_utf8_lossy(&bytes[..at]).into_owned();
            let what = format!("byte {at} (0x{:02x}) is not UTF-8 text", bytes[at]);
            problems.push(Problem::at(
                &before,
                at..at,
                what,
                "layouts are plain UTF-8 text",
                "save the file as UTF-8, or check that it is a layout",
            ));
        }
        bytes[at..].iter_mut().filter(|byte| !byte.is_ascii()).for_each(|byte| *byte = b'?');
    }
    (String::from_utf8(bytes).unwrap_or_default(), problems)
}

fn version(text: &str, root: &Node) -> Result<u32, Problem> {
    let Some(part) = root.field(text, "version") else { return Ok(VERSION) };
    let span = part.value.span.clone();
    match text[span.clone()].parse::<u32>() {
        Ok(version) if (1..=VERSION).contains(&version) => Ok(version),
        Ok(version) if version > VERSION => {
            let why = format!("this program reads versions 1 to {VERSION}");
            Err(Problem::at(
                text,
                span,
                format!("the layout is of format version {version}"),
                why,
                "open it with the newer program that wrote it",
            ))
        }
        _ => {
            let what = format!("`{}` is not a format version", &text[span.clone()]);
            Err(Problem::at(text, span, what, format!("versions are 1 to {VERSION}"), format!("write `version: {VERSION}`")))
        }
    }
}

fn migrate(from: u32, text: String) -> String {
    MIGRATIONS.iter().skip(from as usize - 1).fold(text, |text, step| step(text))
}

/// The text with parts taken out, and what was said about them.
struct Peeling<'a> {
    text: &'a str,
    root: &'a Node,
    left: String,
    gone: Vec<Range<usize>>,
    problems: Vec<Problem>,
    rejects: BTreeMap<usize, Problem>,
}

fn parse(text: String, root: Node, flawed: &[usize], problems: Vec<Problem>) -> Result<Read, (String, Vec<Problem>)> {
    let mut peeling = Peeling { text: &text, root: &root, left: text.clone(), gone: Vec::new(), problems, rejects: BTreeMap::new() };
    let whole = flawed.iter().all(|&at| peeling.take_out(at));
    let layout = if whole { peeling.run() } else { None };
    let Peeling { mut problems, rejects, .. } = peeling;
    problems.extend(rejects.into_values());
    match layout {
        Some(layout) if problems.is_empty() => Ok((layout, text, root)),
        _ => Err((text, problems)),
    }
}

impl Peeling<'_> {
    fn run(&mut self) -> Option<Layout> {
        while self.problems.len() < MOST_PROBLEMS {
            let (result, rejects) = collecting_rejects(|| ron_options().from_str::<Layout>(&self.left));
            self.locate(&rejects);
            let error = match result {
                Ok(layout) => return Some(layout),
                Err(error) => error,
            };
            let at = self.offset(error.span.start);
            self.report(at, &error.code);
            if !self.take_out(at) {
                return None;
            }
        }
        None
    }

    /// Byte offset of one of the reader's places; it counts lines and characters from 1.
    fn offset(&self, place: ron::error::Position) -> usize {
        let line_start: usize = self.left.split_inclusive('\n').take(place.line.saturating_sub(1)).map(str::len).sum();
        let line = &self.left[line_start..];
        let column: usize = line.chars().take(place.col.saturating_sub(1)).map(char::len_utf8).sum();
        skip_space(&self.left, line_start + column)
    }

    fn report(&mut self, at: usize, error: &ron::Error) {
        let holders = self.root.holders(at);
        let node = holders.last().map_or(self.root, |(_, part)| &part.value);
        if let ron::Error::MissingStructField { field, .. } = error
            && node.field(self.text, field).is_some_and(|part| self.is_gone(&part.whole))
        {
            return;
        }
        let span = match holders.last() {
            Some((_, Part { name: Some(name), .. })) if name.contains(&at) => name.clone(),
            _ if matches!(error, ron::Error::MissingStructField { .. }) => node.span.start..node.span.start + 1,
            _ if matches!(error, ron::Error::ExpectedDifferentLength { .. }) => node.span.clone(),
            _ if node.span.contains(&at) && node.group.is_none() => node.span.clone(),
            _ => at..self.word_end(at),
        };
        self.problems.push(explain(self.text, span, error));
    }

    /// End of the word that begins at `at`.
    fn word_end(&self, at: usize) -> usize {
        let rest = &self.text[at..];
        at + rest.find(|c: char| !(c.is_alphanumeric() || c == '_')).filter(|&length| length > 0).unwrap_or(rest.len().min(1))
    }

    /// Takes out the smallest part that holds `at` and can be missing; false when there is none.
    fn take_out(&mut self, at: usize) -> bool {
        let holders = self.root.holders(at);
        let whole = holders.iter().rev().filter(|(kind, _)| *kind != Kind::Tuple).map(|(_, part)| part.whole.clone());
        let Some(range) = whole.into_iter().find(|range| !self.is_gone(range)) else { return false };
        let blank: Vec<u8> = self.left.as_bytes()[range.clone()].iter().map(|&byte| if byte == b'\n' { b'\n' } else { b' ' }).collect();
        self.left.replace_range(range.clone(), &String::from_utf8_lossy(&blank));
        self.gone.push(range);
        true
    }

    fn is_gone(&self, range: &Range<usize>) -> bool {
        is_within(&self.gone, range)
    }

    /// Quantities are read in the order of the text: each rejected one is the next leaf that says the same.
    fn locate(&mut self, rejects: &[UnitError]) {
        let leaves = self.root.leaves();
        let (text, gone) = (self.text, &self.gone);
        let mut rest = leaves.iter().filter(|leaf| !is_within(gone, &leaf.span));
        for reject in rejects {
            let Some(leaf) = rest.find(|leaf| leaf.string(text).as_ref() == Some(&reject.text)) else { continue };
            let what = format!("`{}` is not {}", reject.text, reject.kind);
            let problem = Problem::at(text, leaf.span.clone(), what, &reject.why, format!("write for instance {}", reject.example));
            self.rejects.insert(leaf.span.start, problem);
        }
    }
}

fn is_within(gone: &[Range<usize>], range: &Range<usize>) -> bool {
    gone.iter().any(|gone| gone.start <= range.start && range.end <= gone.end)
}

/// Where a part, named `list/id`, stands in the text.
pub(super) fn location(text: &str, root: &Node, part: &str) -> Option<(usize, usize)> {
    let node = if part.is_empty() { Some(root) } else { find(text, root, part).or_else(|| find_id(text, root, part.rsplit('/').next()?)) };
    node.map(|node| line_and_column(text, node.span.start))
}

/// Down a path of field names, ids and numbers from 1.
fn find<'a>(text: &str, node: &'a Node, path: &str) -> Option<&'a Node> {
    if path.is_empty() {
        return Some(node);
    }
    node.parts().iter().enumerate().find_map(|(index, part)| {
        let name = part
            .name
            .as_ref()
            .map_or_else(|| id_of(text, &part.value).unwrap_or_else(|| (index + 1).to_string()), |span| text[span.clone()].to_owned());
        let rest = path.strip_prefix(name.as_str())?;
        if rest.is_empty() { Some(&part.value) } else { find(text, &part.value, rest.strip_prefix('/')?) }
    })
}

/// The first list entry of this id, wherever it is.
fn find_id<'a>(text: &str, node: &'a Node, id: &str) -> Option<&'a Node> {
    if id_of(text, node).as_deref() == Some(id) {
        return Some(node);
    }
    node.parts().iter().find_map(|part| find_id(text, &part.value, id))
}

/// What an entry is called: its `id`, or the `drum` that it drives.
pub(super) fn id_of(text: &str, node: &Node) -> Option<String> {
    node.field(text, "id").or_else(|| node.field(text, "drum"))?.value.string(text)
}
