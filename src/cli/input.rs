//! Layouts from files.

use super::output::complain;
use crate::catalog::Catalog;
use crate::layout::{self, Loaded, Problems};
use crate::report::shown::count;
use crate::units::Time;
use miette::{Diagnostic, GraphicalReportHandler, SourceCode};
use std::fmt;
use std::path::Path;

/// Most problems of a file that are told one by one.
const MOST: usize = 20;

/// A layout, or nothing after everything that is wrong with the file has been told on standard error.
pub fn layout(path: &Path) -> Option<Loaded> {
    layout::load(path).inspect_err(|problems| tell(&path.display().to_string(), problems)).ok()
}

/// The catalogue of a layout, with a file of the user's laid over it; nothing after what is wrong has been told on standard error.
pub fn catalog(loaded: &Loaded, own: Option<&Path>) -> Option<Catalog> {
    let all = loaded.catalog().and_then(|catalog| own.map_or(Ok(catalog.clone()), |path| catalog.and_path(path)));
    all.inspect_err(|error| complain(&format!("the catalogue can't be used: {error}"))).ok()
}

/// The layout with its pumps at their speeds of a time of day.
pub fn at_time(mut loaded: Loaded, time: Option<&Time>) -> Loaded {
    if let Some(time) = time {
        loaded.layout = loaded.layout.at_time(time.si());
    }
    loaded
}

/// Tell what is wrong with a file, with its lines.
pub fn tell(file: &str, problems: &Problems) {
    let mut text = String::new();
    let told = Told { file, problems };
    let is_whole = problems.list().iter().all(|problem| problem.place.is_none());
    if is_whole || GraphicalReportHandler::new().render_report(&mut text, &told).is_err() {
        text = problems.to_string();
    }
    complain(text.trim_end());
}

/// The problems under one headline.
#[derive(Debug)]
struct Told<'a> {
    file: &'a str,
    problems: &'a Problems,
}

impl fmt::Display for Told<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let n = self.problems.list().len();
        let more = if n > MOST { format!("; the first {MOST} are told here") } else { String::new() };
        write!(f, "{} can't be read as a layout: {}{more}", self.file, count(n, "problem"))
    }
}

impl std::error::Error for Told<'_> {}

impl Diagnostic for Told<'_> {
    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.problems.source_code()
    }

    fn related<'b>(&'b self) -> Option<Box<dyn Iterator<Item = &'b dyn Diagnostic> + 'b>> {
        self.problems.related().map(|all| Box::new(all.take(MOST)) as Box<dyn Iterator<Item = &'b dyn Diagnostic>>)
    }
}
