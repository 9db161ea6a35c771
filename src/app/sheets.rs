//! The handover beside the window: its pages to look at, and the sheets written into a folder.

use super::desk::Prompt;
use super::job::{Job, Watch};
use super::model::{Errand, Model};
use crate::catalog::Catalog;
use crate::handover;
use crate::layout::Layout;
use crate::study::Control;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Longest side of a page's picture, pixels.
const LONGEST: u32 = 1100;

/// A page to look at.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// What it is.
    pub title: String,
    /// The file that it will be in.
    pub file_name: String,
    /// Whom it is for.
    pub purpose: &'static str,
    /// Which page of the file, from 1, and how many there are.
    pub number: [usize; 2],
    /// Width and height, pixels.
    pub size: [usize; 2],
    /// Four bytes each: red, green, blue, opacity.
    pub pixels: Arc<Vec<u8>>,
}

impl Model {
    /// Draw the pages and show them.
    pub(super) fn ask_sheets(&mut self) -> Vec<Errand> {
        let revision = self.document.revision();
        if self.jobs.pages.is_empty() || self.jobs.pages_of != revision {
            let (layout, catalog) = (self.as_shown(), self.document.catalog.clone());
            self.jobs.pages_of = revision;
            self.jobs.pages = Arc::default();
            self.jobs.drawing = Some(Job::start("pages", move |watch| drawn(&layout, &catalog, watch)));
        }
        self.prompt(Prompt::Sheets(0))
    }

    pub(super) fn take_pages(&mut self, pages: Result<Vec<Page>, String>) {
        match pages {
            Ok(pages) => self.jobs.pages = Arc::new(pages),
            Err(why) => {
                self.desk.prompt = None;
                self.say(crate::finding::Grade::Fault, format!("The sheets can't be drawn: {why}"));
            }
        }
    }

    pub(super) fn write_sheets(&mut self, folder: PathBuf) -> Vec<Errand> {
        if self.jobs.writing.is_none() {
            let (layout, catalog) = (self.as_shown(), self.document.catalog.clone());
            self.jobs.writing = Some(Job::start("sheets", move |watch| written(&layout, &catalog, &folder, watch)));
        }
        Vec::new()
    }

    pub(super) fn stop_sheets(&mut self) -> Vec<Errand> {
        if let Some(job) = &self.jobs.writing {
            job.stop();
        }
        Vec::new()
    }
}

fn drawn(layout: &Layout, catalog: &Catalog, watch: &Watch) -> Result<Vec<Page>, String> {
    let previews = handover::previews(layout, catalog, &crate::report::shown::today())?;
    let all = previews.len().max(1) as f64;
    let mut pages = Vec::new();
    for (i, preview) in previews.into_iter().enumerate() {
        if watch.see(i as f64 / all, &preview.title) == Control::Stop {
            break;
        }
        let picture = preview.picture(LONGEST)?;
        pages.push(Page {
            size: [picture.width() as usize, picture.height() as usize],
            pixels: Arc::new(picture.into_raw()),
            title: preview.title,
            file_name: preview.file_name,
            purpose: preview.purpose,
            number: [preview.page, preview.pages],
        });
    }
    Ok(pages)
}

/// Where they are now, with a word on what lies there from before.
fn written(layout: &Layout, catalog: &Catalog, folder: &Path, watch: &Watch) -> Result<String, String> {
    let sheets = handover::sheets(layout, catalog, &crate::report::shown::today())?;
    let paths = handover::write_sheets_watched(folder, &sheets, &mut |share, name| watch.see(share, name));
    let paths = paths.map_err(|error| match error.kind() {
        std::io::ErrorKind::Interrupted => "Stopped: the folder is as it was".to_owned(),
        _ => format!("The sheets can't be written: {error}. Choose another folder"),
    })?;
    let strays = handover::strays(folder, &paths);
    let old = if strays.is_empty() { String::new() } else { format!("; {} files of another revision lie there too", strays.len()) };
    Ok(format!("{} files in {}{old}", paths.len(), folder.display()))
}
