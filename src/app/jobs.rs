//! What goes on beside the window: files being read, a full study, sheets being drawn and written.

use super::full_study::{Outcome, Studied};
use super::job::{Job, Standing, answer};
use super::model::{Errand, Model};
use super::reading::Reading;
use super::sheets::Page;
use crate::finding::Grade;
use std::path::PathBuf;
use std::sync::Arc;

/// Each kind of work goes on at most once at a time.
#[derive(Default)]
pub struct Jobs {
    /// A file that takes its time.
    pub reading: Option<Job<Reading>>,
    /// A full study under way.
    pub study: Option<Job<Outcome>>,
    /// The last full study.
    pub studied: Option<Studied>,
    /// Its report being written.
    pub report: Option<Job<Result<PathBuf, String>>>,
    /// Sheets being drawn.
    pub drawing: Option<Job<Result<Vec<Page>, String>>>,
    /// Sheets to look at, and the revision that they show.
    pub pages: Arc<Vec<Page>>,
    /// Of the layout that the pages show.
    pub pages_of: u64,
    /// Sheets being written.
    pub writing: Option<Job<Result<String, String>>>,
}

impl Model {
    /// Take in what has come to its end.
    pub fn attend(&mut self) -> Vec<Errand> {
        let mut errands = Vec::new();
        if let Some(read) = answer(&mut self.jobs.reading) {
            match read {
                Standing::Done(read) => errands = self.take_read(read),
                _ => self.say(Grade::Fault, "The file could not be read: reading it broke down. Is it what its name says?"),
            }
        }
        if let Some(outcome) = answer(&mut self.jobs.study) {
            match outcome {
                Standing::Done(outcome) => self.take_study(outcome),
                _ => self.say(Grade::Fault, "The full study broke down. Other cells may do"),
            }
        }
        if let Some(drawn) = answer(&mut self.jobs.drawing) {
            self.take_pages(done(drawn));
        }
        for written in
            [answer(&mut self.jobs.report).map(|r| done(r).map(|p| p.display().to_string())), answer(&mut self.jobs.writing).map(done)]
        {
            match written {
                Some(Ok(place)) => self.say(Grade::Note, format!("Written: {place}")),
                Some(Err(why)) => self.say(Grade::Fault, why),
                None => {}
            }
        }
        errands
    }
}

fn done<T>(standing: Standing<Result<T, String>>) -> Result<T, String> {
    match standing {
        Standing::Done(result) => result,
        _ => Err("The work broke down and nothing came of it".into()),
    }
}
