//! What keeps a layout file from being read: every problem with its place, its reason and its mend.

use super::text::line_and_column;
use crate::finding::{Finding, Grade};
use miette::{Diagnostic, NamedSource, SourceSpan};
use std::{fmt, ops::Range};

/// One thing that is wrong with a file.
#[derive(Debug, Clone, PartialEq, thiserror::Error, Diagnostic)]
#[error("{what}")]
#[diagnostic(help("{why}; {mend}"))]
pub struct Problem {
    /// What is wrong.
    pub what: String,
    /// Why it is.
    pub why: String,
    /// What to do about it.
    pub mend: String,
    /// Line and column from 1; none when the file could not be opened at all.
    pub place: Option<(usize, usize)>,
    #[label("here")]
    span: Option<SourceSpan>,
}

/// Everything that keeps a file from being read.
#[derive(Debug, Clone)]
pub struct Problems {
    name: String,
    source: NamedSource<String>,
    list: Vec<Problem>,
}

impl Problem {
    /// At these bytes of the text.
    pub(super) fn at(text: &str, span: Range<usize>, what: impl Into<String>, why: impl Into<String>, mend: impl Into<String>) -> Self {
        let place = Some(line_and_column(text, span.start));
        let span = Some(SourceSpan::from(span));
        Self { what: what.into(), why: why.into(), mend: mend.into(), place, span }
    }

    /// About the file as a whole.
    pub(super) fn whole(what: impl Into<String>, why: impl Into<String>, mend: impl Into<String>) -> Self {
        Self { what: what.into(), why: why.into(), mend: mend.into(), place: None, span: None }
    }
}

impl Problems {
    /// In the order of the text.
    pub(super) fn new(name: &str, text: &str, mut list: Vec<Problem>) -> Self {
        list.sort_by_key(|problem| problem.place);
        Self { name: name.to_owned(), source: NamedSource::new(name, text.to_owned()), list }
    }

    /// All of them, in the order of the text.
    pub fn list(&self) -> &[Problem] {
        &self.list
    }

    /// The same as findings; each keeps the layout from being computed.
    pub fn findings(&self) -> Vec<Finding> {
        self.list.iter().map(|p| self.finding(p)).collect()
    }

    fn finding(&self, problem: &Problem) -> Finding {
        let what = format!("{}: {}", self.place(problem), problem.what);
        Finding::new(Grade::Fault, "unreadable", "", what, problem.why.as_str(), problem.mend.as_str()).blocking()
    }

    fn place(&self, problem: &Problem) -> String {
        problem.place.map_or_else(|| self.name.clone(), |(line, column)| format!("{}:{line}:{column}", self.name))
    }
}

/// One line a problem: file, line, column, what, why, mend.
impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let lines: Vec<_> = self.list.iter().map(|p| format!("{}: {}; {}; {}", self.place(p), p.what, p.why, p.mend)).collect();
        f.write_str(&lines.join("\n"))
    }
}

impl std::error::Error for Problems {}

/// Heading, then every problem under the lines that it is about.
impl Diagnostic for Problems {
    fn source_code(&self) -> Option<&dyn miette::SourceCode> {
        Some(&self.source)
    }

    fn related<'a>(&'a self) -> Option<Box<dyn Iterator<Item = &'a dyn Diagnostic> + 'a>> {
        Some(Box::new(self.list.iter().map(|problem| problem as &dyn Diagnostic)))
    }
}
