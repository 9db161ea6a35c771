//! A full study beside the window: asked for, watched, stopped, looked at, written as a report.

use super::desk::Prompt;
use super::job::{Job, Watch};
use super::model::{Errand, Model};
use crate::catalog::Catalog;
use crate::finding::{Finding, Grade};
use crate::layout::Layout;
use crate::report::{self, folder::Folder, shown::count};
use crate::study::{Extra, Progress, Settings, Span, Study, run};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Cell edges on offer, mm.
pub const CELLS_MM: [u32; 7] = [12, 15, 20, 25, 30, 40, 50];
/// More cells than this are not started from the window: some 2 GB of memory. Own choice; the command line goes further.
pub const MOST_CELLS: f64 = 1.2e7;
/// Courant number that the solver steps at.
const COURANT: f64 = 0.7;

/// What a full study is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StudyWish {
    /// Cell edge, mm.
    pub cell_mm: u32,
    /// Go on until the averages are sure, however long that takes.
    pub until_settled: bool,
    /// Age of the water as well.
    pub age: bool,
}

impl Default for StudyWish {
    fn default() -> Self {
        Self { cell_mm: 25, until_settled: false, age: false }
    }
}

/// What came of it, with the layout that was studied and its revision.
pub type Outcome = (Result<Study, Vec<Finding>>, Arc<Layout>, u64);

/// A finished full study.
#[derive(Clone)]
pub struct Studied {
    /// What it found.
    pub study: Arc<Study>,
    /// The layout that was studied.
    pub layout: Arc<Layout>,
    /// The document's revision then.
    pub revision: u64,
}

impl StudyWish {
    fn settings(self) -> Settings {
        let extra = Extra { age: self.age, ..Extra::default() };
        let cell = f64::from(self.cell_mm) * 1e-3;
        Settings { cell, until_settled: self.until_settled, threads: threads(), extra, ..Settings::default() }
    }

    /// How many cells it takes.
    pub fn cells(self, layout: &Layout) -> f64 {
        let size = layout.tank.size();
        size.x * size.y * layout.tank.water_level.si() / (f64::from(self.cell_mm) * 1e-3).powi(3)
    }

    /// About how long it takes, s, where the solver does so many cell steps a second; `fastest`: jet, m/s.
    pub fn seconds(self, layout: &Layout, cycle: f64, fastest: f64, cell_steps_per_s: f64) -> f64 {
        let settings = self.settings();
        let span = if self.until_settled { Span::Auto.seconds(cycle) * 2.0 } else { Span::Auto.seconds(cycle) };
        let steps = (settings.spin_up + span) * fastest / (COURANT * settings.cell);
        steps * self.cells(layout) / cell_steps_per_s.max(1.0)
    }
}

/// One core is left to the window.
fn threads() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from).saturating_sub(1).max(1)
}

impl Model {
    pub(super) fn ask_study(&mut self) -> Vec<Errand> {
        let prompt =
            if self.jobs.study.is_none() && self.fresh_study().is_some() { Prompt::Studied } else { Prompt::Study(StudyWish::default()) };
        self.prompt(prompt)
    }

    /// The last full study, if it is of the layout as it is.
    pub fn fresh_study(&self) -> Option<&Studied> {
        self.jobs.studied.as_ref().filter(|s| s.revision == self.document.revision())
    }

    pub(super) fn start_study(&mut self, wish: StudyWish) -> Vec<Errand> {
        self.desk.prompt = None;
        if self.jobs.study.is_some() {
            self.say(Grade::Note, "A full study is under way already");
            return Vec::new();
        }
        let layout = Arc::new(self.as_shown());
        let (catalog, revision) = (self.document.catalog.clone(), self.document.revision());
        self.jobs.study = Some(Job::start("full study", move |watch| (studied(&layout, &catalog, wish, watch), layout, revision)));
        Vec::new()
    }

    pub(super) fn stop_study(&mut self) -> Vec<Errand> {
        if let Some(job) = &self.jobs.study {
            job.stop();
        }
        Vec::new()
    }

    pub(super) fn take_study(&mut self, (outcome, layout, revision): Outcome) {
        match outcome {
            Ok(study) if study.record.run.averaged_s > 0.0 => {
                let found = |grade: Grade| study.record.findings.iter().filter(|f| f.grade == grade).count();
                let early = if study.record.run.interrupted { "stopped early" } else { "done" };
                let (faults, cautions) = (count(found(Grade::Fault), "fault"), count(found(Grade::Caution), "caution"));
                self.say(Grade::Note, format!("Full study {early}: {faults}, {cautions}. How sure shows it"));
                self.jobs.studied = Some(Studied { study: Arc::new(study), layout, revision });
            }
            Ok(_) => self.say(Grade::Note, "Full study stopped before anything was averaged"),
            Err(findings) => {
                let why = findings.first().map_or(String::new(), |f| format!("{}; {}", f.what, f.mend));
                self.say(Grade::Fault, format!("The full study can't be run: {why}"));
            }
        }
    }

    /// Folder beside the layout's file that a report or sheets go to.
    pub fn folder_beside(&self, what: &str) -> PathBuf {
        let file = self.document.path.clone().unwrap_or_else(|| self.file_name().into());
        let whole = if file.is_absolute() { file } else { std::env::current_dir().unwrap_or_default().join(file) };
        whole.with_extension("").with_file_name(format!("{}-{what}", whole.file_stem().unwrap_or_default().to_string_lossy()))
    }

    pub(super) fn write_report(&mut self, folder: PathBuf) -> Vec<Errand> {
        let Some(Studied { study, layout, .. }) = self.jobs.studied.clone() else { return Vec::new() };
        self.jobs.report = Some(Job::start("report", move |_| written(&study, &layout, &folder)));
        Vec::new()
    }
}

fn studied(layout: &Layout, catalog: &Catalog, wish: StudyWish, watch: &Watch) -> Result<Study, Vec<Finding>> {
    run(layout, catalog, &wish.settings(), &mut |progress: &Progress| {
        watch.see(if progress.total > 0.0 { progress.simulated / progress.total } else { 0.0 }, progress.phase)
    })
}

fn written(study: &Study, layout: &Layout, folder: &Path) -> Result<PathBuf, String> {
    let told = |error: std::io::Error| format!("{} can't be written: {error}. Choose another folder", folder.display());
    let place = Folder::new(folder).map_err(told)?;
    report::write_all(study, layout, &place).map_err(told)?;
    Ok(folder.join("study.html"))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Half the cell edge: eight times the cells, twice the steps.
    #[test]
    fn halving_cells_takes_sixteen_times_as_long() {
        let layout = crate::layout::demo();
        let seconds = |cell_mm| StudyWish { cell_mm, ..StudyWish::default() }.seconds(&layout, 60.0, 2.0, 1e7);
        assert!((seconds(20) / seconds(40) - 16.0).abs() < 1e-9);
    }
}
