//! Opening, saving and leaving: the actions that read and write files.

use super::action::View;
use super::desk::{Desk, Next, Prompt};
use super::document::{Document, Edit};
use super::live::Live;
use super::model::{Errand, Model};
use super::shelf::{self, Rescued};
use super::template::Template;
use crate::finding::Grade;
use crate::layout;
use std::path::PathBuf;

impl Model {
    pub(super) fn leave(&mut self, next: Next) -> Vec<Errand> {
        if self.document.unsaved() && next != Next::Open(None) {
            return self.prompt(Prompt::Unsaved(next));
        }
        self.go(next)
    }

    pub(super) fn discard(&mut self) -> Vec<Errand> {
        match self.desk.prompt.take() {
            Some(Prompt::Unsaved(next)) => self.go(next),
            _ => Vec::new(),
        }
    }

    /// Save, then do what was waiting for it.
    pub(super) fn save_first(&mut self) -> Vec<Errand> {
        let Some(Prompt::Unsaved(next)) = self.desk.prompt.take() else { return Vec::new() };
        self.desk.waiting = Some(next);
        self.save()
    }

    fn go(&mut self, next: Next) -> Vec<Errand> {
        self.desk.waiting = None;
        match next {
            Next::Quit => {
                self.shelf.forget();
                vec![Errand::Quit]
            }
            Next::Open(None) => self.prompt(Prompt::Open(self.path_text())),
            Next::Open(Some(path)) => self.open(path),
            Next::From(template) => self.begin(template),
        }
    }

    fn begin(&mut self, template: Template) -> Vec<Errand> {
        match layout::read(template.name(), template.text().as_bytes()) {
            Ok(loaded) => {
                self.replace(Document::new(loaded.layout, None, Some(loaded.text)));
                vec![Errand::Turn(View::Home)]
            }
            Err(problems) => {
                self.say(Grade::Fault, problems.to_string());
                Vec::new()
            }
        }
    }

    pub(super) fn replace(&mut self, mut document: Document) {
        document.follow(&self.document);
        self.shelf.forget();
        self.document = document;
        let (old, fresh) = (&self.desk, Desk::new(self.desk.display));
        self.desk = Desk {
            look: old.look,
            text: old.text,
            shown: old.shown,
            compare: old.compare,
            against: old.against,
            clip: old.clip.clone(),
            recording: old.recording,
            pace: old.pace,
            cell: old.cell,
            software: old.software,
            full: old.full,
            recent: self.shelf.recent(),
            ..fresh
        };
        self.live = Live::default();
        self.known = None;
        self.jobs.pages = std::sync::Arc::default();
    }

    pub(super) fn save(&mut self) -> Vec<Errand> {
        match self.document.path.clone() {
            Some(path) => self.write(path),
            None => self.prompt(Prompt::SaveAs(self.path_text())),
        }
    }

    pub(super) fn write(&mut self, path: PathBuf) -> Vec<Errand> {
        self.move_scans(&path);
        let text = layout::write(self.document.layout(), self.document.text.as_deref());
        match layout::save(&path, self.document.layout(), self.document.text.as_deref()) {
            Ok(()) => {
                self.say(Grade::Note, format!("Saved {}", path.display()));
                self.shelf.remember(&path);
                self.shelf.forget();
                self.desk.recent = self.shelf.recent();
                self.document.mark_saved(path, text);
                self.desk.prompt = None;
                match self.desk.waiting.take() {
                    Some(next) => self.go(next),
                    None => Vec::new(),
                }
            }
            Err(error) => {
                self.desk.waiting = None;
                self.say(Grade::Fault, format!("Not saved: {}: {error}. Choose another place with Save as.", path.display()));
                Vec::new()
            }
        }
    }

    pub(super) fn path_text(&self) -> String {
        self.document.path.as_ref().map_or_else(|| self.file_name(), |p| p.display().to_string())
    }

    pub(super) fn file_name(&self) -> String {
        let words: String = self.document.layout().name.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
        format!("{}.ron", if words.is_empty() { "layout" } else { &words })
    }

    /// Look at what ended windows left behind, and at the files opened lately.
    pub fn begin_with(&mut self, shelf: shelf::Shelf) {
        self.shelf = shelf;
        if let Some(path) = &self.document.path {
            self.shelf.remember(path);
        }
        self.desk.recent = self.shelf.recent();
        if let Some(first) = self.shelf.left_behind().into_iter().next() {
            self.desk.prompt = Some(Prompt::Rescue(first));
        }
    }

    /// Take up a layout that an ended window left behind; it is unsaved until it is saved.
    pub(super) fn take_up(&mut self, rescued: Rescued) -> Vec<Errand> {
        match layout::read("rescued layout", rescued.text.as_bytes()) {
            Ok(loaded) => {
                let on_disk = rescued.path.as_ref().and_then(|p| layout::load(p).ok());
                let before = on_disk.map_or_else(layout::demo, |l| l.layout);
                let mut document = Document::new(before, rescued.path, Some(loaded.text));
                document.apply(Edit::Whole(Box::new(loaded.layout)), self.now);
                self.replace(document);
                self.say(Grade::Note, "Taken up again. Save it to keep it; undo shows what the file holds");
            }
            Err(problems) => self.say(Grade::Fault, format!("What was left can't be read: {}", first_of(&problems))),
        }
        shelf::discard(&rescued.kept);
        vec![Errand::Turn(View::Home)]
    }

    pub(super) fn throw_away(&mut self, rescued: &Rescued) -> Vec<Errand> {
        shelf::discard(&rescued.kept);
        self.desk.prompt = self.shelf.left_behind().into_iter().next().map(Prompt::Rescue);
        Vec::new()
    }

    /// The file was changed by another program: read it again where nothing is lost by that, else ask.
    pub fn changed_on_disk(&mut self) {
        if self.document.unsaved() {
            self.desk.prompt.get_or_insert(Prompt::Changed);
        } else {
            self.reload();
        }
    }

    pub(super) fn reload(&mut self) -> Vec<Errand> {
        self.desk.prompt = None;
        let Some(path) = self.document.path.clone() else { return Vec::new() };
        match layout::load(&path) {
            Ok(loaded) => {
                self.document.take_in(loaded.layout, loaded.text);
                self.drop_lost_selection();
                self.say(Grade::Note, "The file was changed by another program and read again; undo goes back");
            }
            Err(problems) => {
                self.document.stamp();
                self.say(Grade::Fault, format!("Changed by another program, and can't be read now: {}", first_of(&problems)));
            }
        }
        Vec::new()
    }

    pub(super) fn keep_mine(&mut self) -> Vec<Errand> {
        self.desk.prompt = None;
        self.document.stamp();
        Vec::new()
    }
}

/// The first of several problems, with its mend.
pub(super) fn first_of(problems: &layout::Problems) -> String {
    let first = problems.findings().into_iter().next();
    first.map_or_else(|| problems.to_string(), |f| format!("{} {}", f.what, f.mend))
}
