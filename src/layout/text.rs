//! The shape of a layout's text: which bytes hold which part. Knows RON's brackets, names, strings and comments, nothing of layouts.

use std::ops::Range;

/// Deeper brackets than this are no layout.
const DEEPEST: usize = 40;

/// One value in the text.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Node {
    /// Its bytes, with a variant's name before its brackets.
    pub span: Range<usize>,
    /// Its brackets, if it has any.
    pub group: Option<Group>,
}

/// Brackets with what is in them.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Group {
    /// What the brackets mean.
    pub kind: Kind,
    /// Where the opening bracket stands.
    pub open: usize,
    /// In order.
    pub parts: Vec<Part>,
}

/// What brackets mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// `(name: value, ...)`
    Struct,
    /// `(value, ...)`
    Tuple,
    /// `[value, ...]`
    List,
}

/// One entry between brackets.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Part {
    /// Bytes of its name, in a struct.
    pub name: Option<Range<usize>>,
    /// Its value.
    pub value: Node,
    /// All of it: name, value and the comma after it.
    pub whole: Range<usize>,
}

/// Something that is not RON.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Flaw {
    /// Where.
    pub at: usize,
    /// What is wrong.
    pub what: String,
    /// How to mend it.
    pub mend: String,
}

/// The one value that the text should hold, and everything that is wrong with its brackets, commas and quotes.
pub(super) fn scan(text: &str) -> (Option<Node>, Vec<Flaw>) {
    let mut scanner = Scanner { text, at: 0, depth: 0, flaws: Vec::new() };
    scanner.attributes();
    let root = scanner.value();
    scanner.space();
    if root.is_some() && scanner.flaws.is_empty() && scanner.at < text.len() {
        scanner.flaw(
            scanner.at,
            "there is more text after the end of the layout",
            "remove it, or look for a bracket that closes too early",
        );
    }
    (root, scanner.flaws)
}

/// First byte after `at` that is neither space nor comment.
pub(super) fn skip_space(text: &str, at: usize) -> usize {
    let mut scanner = Scanner { text, at, depth: 0, flaws: Vec::new() };
    scanner.space();
    scanner.at
}

/// Line and column, both from 1, columns in characters.
pub(super) fn line_and_column(text: &str, at: usize) -> (usize, usize) {
    let before = text.get(..at).unwrap_or(text);
    let start = before.rfind('\n').map_or(0, |newline| newline + 1);
    (before.matches('\n').count() + 1, before[start..].chars().count() + 1)
}

impl Node {
    /// Parts between its brackets; none when it has no brackets.
    pub fn parts(&self) -> &[Part] {
        self.group.as_ref().map_or(&[], |group| &group.parts)
    }

    /// The part of this name.
    pub fn field(&self, text: &str, name: &str) -> Option<&Part> {
        self.parts().iter().find(|part| part.name.as_ref().is_some_and(|span| &text[span.clone()] == name))
    }

    /// What a string value says, without quotes and escapes.
    pub fn string(&self, text: &str) -> Option<String> {
        ron::from_str(&text[self.span.clone()]).ok()
    }

    /// Values without brackets, in order.
    pub fn leaves(&self) -> Vec<&Self> {
        if self.group.is_none() { vec![self] } else { self.parts().iter().flat_map(|part| part.value.leaves()).collect() }
    }

    /// The parts that hold the byte `at`, outermost first, each with the kind of brackets that it stands in.
    pub fn holders(&self, at: usize) -> Vec<(Kind, &Part)> {
        let mut found = Vec::new();
        let mut node = self;
        while let Some(group) = &node.group {
            let Some(part) = group.parts.iter().find(|part| part.whole.contains(&at)) else { break };
            found.push((group.kind, part));
            node = &part.value;
        }
        found
    }
}

struct Scanner<'a> {
    text: &'a str,
    at: usize,
    depth: usize,
    flaws: Vec<Flaw>,
}

impl Scanner<'_> {
    fn rest(&self) -> &str {
        &self.text[self.at..]
    }

    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    fn flaw(&mut self, at: usize, what: impl Into<String>, mend: impl Into<String>) {
        self.flaws.push(Flaw { at, what: what.into(), mend: mend.into() });
    }

    fn give_up(&mut self) {
        self.at = self.text.len();
    }

    /// Past characters for which `keep` holds.
    fn run(&mut self, keep: impl Fn(char) -> bool) {
        let rest = self.rest();
        self.at += rest.find(|c| !keep(c)).unwrap_or(rest.len());
    }

    /// Past white space and comments.
    fn space(&mut self) {
        loop {
            self.run(char::is_whitespace);
            if self.rest().starts_with("//") {
                self.run(|c| c != '\n');
            } else if self.rest().starts_with("/*") {
                self.block_comment();
            } else {
                return;
            }
        }
    }

    fn block_comment(&mut self) {
        let start = self.at;
        let mut depth = 0;
        while let Some(c) = self.peek() {
            let (step, change) = match self.rest() {
                rest if rest.starts_with("/*") => (2, 1),
                rest if rest.starts_with("*/") => (2, -1),
                _ => (c.len_utf8(), 0),
            };
            self.at += step;
            depth += change;
            if depth == 0 {
                return;
            }
        }
        self.flaw(start, "this comment is never closed", "close it with `*/`");
    }

    /// Past `#![enable(...)]` lines, which RON allows at the top.
    fn attributes(&mut self) {
        self.space();
        while self.rest().starts_with("#!") {
            self.run(|c| c != ']');
            self.at = (self.at + 1).min(self.text.len());
            self.space();
        }
    }

    fn value(&mut self) -> Option<Node> {
        self.space();
        let start = self.at;
        match self.peek() {
            Some('(' | '[') => self.group(start),
            Some('"') => self.string(start),
            Some('r') if self.rest().starts_with("r\"") || self.rest().starts_with("r#") => self.raw_string(start),
            Some(c) if c.is_alphanumeric() || "_+-.".contains(c) => self.word(start),
            Some(c) => {
                self.flaw(start, format!("`{c}` can't start a value"), "write a text in quotes, a number, a name, `(...)` or `[...]`");
                None
            }
            None => {
                self.flaw(start, "the text ends where a value should stand", "the file may have been cut short: complete it");
                None
            }
        }
    }

    /// A number, or a name with or without brackets.
    fn word(&mut self, start: usize) -> Option<Node> {
        self.run(|c| c.is_alphanumeric() || "_+-.".contains(c));
        let end = self.at;
        self.space();
        if self.peek() == Some('(') {
            return self.group(start);
        }
        self.at = end;
        Some(Node { span: start..end, group: None })
    }

    fn string(&mut self, start: usize) -> Option<Node> {
        self.at += 1;
        let mut escaped = false;
        while let Some(c) = self.peek() {
            self.at += c.len_utf8();
            if c == '"' && !escaped {
                return Some(Node { span: start..self.at, group: None });
            }
            escaped = c == '\\' && !escaped;
        }
        self.flaw(start, "this text is never closed", "close it with `\"`");
        None
    }

    fn raw_string(&mut self, start: usize) -> Option<Node> {
        self.at += 1;
        let hashes_from = self.at;
        self.run(|c| c == '#');
        let closing = format!("\"{}", &self.text[hashes_from..self.at]);
        let found = self.rest().strip_prefix('"').and_then(|rest| rest.find(&closing));
        let Some(length) = found else {
            self.flaw(start, "this text is never closed", format!("close it with `{closing}`"));
            self.give_up();
            return None;
        };
        self.at += 1 + length + closing.len();
        Some(Node { span: start..self.at, group: None })
    }

    /// Brackets and what is in them; `start` is where the name before them begins.
    fn group(&mut self, start: usize) -> Option<Node> {
        let open = self.at;
        if self.depth == DEEPEST {
            self.flaw(
                open,
                format!("brackets are nested more than {DEEPEST} deep"),
                "no layout needs that: look for a missing closing bracket",
            );
            self.give_up();
            return None;
        }
        self.depth += 1;
        let list = self.peek() == Some('[');
        self.at += 1;
        let parts = self.parts(open, list);
        self.depth -= 1;
        let named = parts.iter().any(|part| part.name.is_some());
        let kind = if list {
            Kind::List
        } else if named {
            Kind::Struct
        } else {
            Kind::Tuple
        };
        Some(Node { span: start..self.at, group: Some(Group { kind, open, parts }) })
    }

    fn parts(&mut self, open: usize, list: bool) -> Vec<Part> {
        let mut parts = Vec::new();
        loop {
            self.space();
            match self.peek() {
                None => {
                    let bracket = if list { ("[", "]") } else { ("(", ")") };
                    self.flaw(open, format!("this `{}` is never closed", bracket.0), format!("close it with `{}`", bracket.1));
                    return parts;
                }
                Some(c @ (')' | ']')) => {
                    if list != (c == ']') {
                        self.flaw(
                            self.at,
                            format!("this `{c}` closes a bracket of the other kind"),
                            "make the two alike; a closing bracket may be missing",
                        );
                    }
                    self.at += 1;
                    return parts;
                }
                Some(_) => parts.extend(self.part(list)),
            }
        }
    }

    fn part(&mut self, list: bool) -> Option<Part> {
        let start = self.at;
        let name = if list { None } else { self.name() };
        let Some(value) = self.value() else {
            self.run(|c| !",)]".contains(c));
            self.comma();
            return None;
        };
        if !self.comma() {
            let end = value.span.end;
            self.flaw(end, "a comma is missing after this", "separate entries with `,`");
        }
        Some(Part { name, value, whole: start..self.at })
    }

    /// `name:`, if that is what stands here.
    fn name(&mut self) -> Option<Range<usize>> {
        let start = self.at;
        self.run(|c| c.is_alphanumeric() || c == '_');
        let name = start..self.at;
        self.space();
        if !name.is_empty() && self.peek() == Some(':') {
            self.at += 1;
            return Some(name);
        }
        self.at = start;
        None
    }

    /// Past a comma if there is one; false when there is neither a comma nor a reason to have none.
    fn comma(&mut self) -> bool {
        let end = self.at;
        self.space();
        match self.peek() {
            Some(',') => self.at += 1,
            Some(')' | ']') | None => self.at = end,
            Some(_) => return false,
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_parts_through_comments_and_strings() {
        let text = "// (\n(a: [1, b(\"), (\"), /* ] */ r#\"]\"\"#], c: (x, -2.5e3))";
        let (root, flaws) = scan(text);
        let root = root.unwrap();
        assert!(flaws.is_empty(), "{flaws:?}");
        let a = &root.field(text, "a").unwrap().value;
        let items: Vec<_> = a.parts().iter().map(|part| &text[part.value.span.clone()]).collect();
        assert_eq!(items, ["1", "b(\"), (\")", "r#\"]\"\"#"]);
        assert_eq!(root.leaves().len(), 5);
    }

    #[test]
    fn names_the_flaw() {
        let cases = [
            ("", "ends where a value", 0),
            ("(a: 1 b: 2)", "comma is missing", 5),
            ("(a: [1, 2)", "other kind", 9),
            ("(a: [1, 2]", "never closed", 0),
            ("(a: \"x)", "never closed", 4),
            ("(a: 1) z", "more text", 7),
            ("(a: {})", "can't start", 4),
            ("/* (", "never closed", 0),
        ];
        for (text, words, at) in cases {
            let flaws = scan(text).1;
            assert!(flaws.iter().any(|flaw| flaw.what.contains(words) && flaw.at == at), "{text}: {flaws:?}");
        }
    }

    #[test]
    fn survives_hostile_nesting() {
        for opening in ["(", "[", "a(", "(a:", "/*"] {
            assert!(!scan(&opening.repeat(100_000)).1.is_empty());
        }
    }
}
