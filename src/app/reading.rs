//! Files that are read on a thread of their own: the window waits a moment for small ones, and goes on working while large ones are read.

use super::action::View;
use super::document::Document;
use super::job::{Job, Standing};
use super::model::{Errand, Model};
use super::opening::first_of;
use super::scans;
use crate::finding::Grade;
use crate::layout::{self, Loaded, Rock};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// The window waits no longer than this for a file, so that small ones are there at once.
const MOMENT: Duration = Duration::from_millis(150);

/// What was read.
pub enum Reading {
    /// A layout, and the revision of the document that it takes the place of.
    Layout(PathBuf, u64, Result<Box<Loaded>, String>),
    /// Rocks whose mesh files were looked at.
    Scans(Vec<Rock>),
    /// A mesh, as rock.
    Mesh(PathBuf, Result<Box<Rock>, String>),
}

impl Model {
    pub(super) fn open(&mut self, path: PathBuf) -> Vec<Errand> {
        let revision = self.document.revision();
        self.read(&path.clone(), move || {
            let loaded = layout::load(&path).map(Box::new).map_err(|problems| first_of(&problems));
            Reading::Layout(path, revision, loaded)
        })
    }

    /// Add the mesh in this file as rock on the floor, in the middle of the tank, in the unit in which it fits.
    pub(super) fn import(&mut self, path: PathBuf) -> Vec<Errand> {
        let (layout, folder) = (self.document.layout().clone(), self.folder());
        self.read(&path.clone(), move || {
            let rock = scans::rock(&path, &layout, &folder).map(Box::new);
            Reading::Mesh(path, rock)
        })
    }

    /// Read it on a thread of its own. A small file is there when this comes back.
    pub(super) fn read(&mut self, path: &Path, read: impl FnOnce() -> Reading + Send + 'static) -> Vec<Errand> {
        if self.jobs.reading.is_some() {
            self.say(Grade::Note, "Another file is being read; let it come to its end, or leave it");
            return Vec::new();
        }
        let name = path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned());
        let job = Job::start("reading", move |watch| {
            watch.see(0.0, &name);
            read()
        });
        match job.wait(MOMENT) {
            Standing::Done(read) => return self.take_read(read),
            Standing::Running | Standing::Broken => self.jobs.reading = Some(job),
        }
        Vec::new()
    }

    pub(super) fn stop_reading(&mut self) -> Vec<Errand> {
        self.jobs.reading = None;
        Vec::new()
    }

    pub(super) fn take_read(&mut self, read: Reading) -> Vec<Errand> {
        match read {
            Reading::Layout(path, revision, Ok(_)) if self.document.unsaved() && self.document.revision() != revision => {
                let text =
                    format!("{} was not opened: the layout was changed meanwhile. Save it, then open the file again", path.display());
                self.say(Grade::Caution, text);
            }
            Reading::Layout(path, _, Ok(loaded)) => {
                self.shelf.remember(&path);
                self.replace(Document::new(loaded.layout, Some(path), Some(loaded.text)));
                return vec![Errand::Turn(View::Home)];
            }
            Reading::Scans(rocks) => self.take_scans(&rocks),
            Reading::Mesh(_, Ok(rock)) => return self.place_scan(*rock),
            Reading::Layout(path, _, Err(why)) | Reading::Mesh(path, Err(why)) => {
                self.say(Grade::Fault, format!("{}: {why}", path.display()));
            }
        }
        Vec::new()
    }
}
