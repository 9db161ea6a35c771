//! Opening, saving and leaving: the actions that read and write files.

use super::action::View;
use super::desk::{Desk, Next, Prompt};
use super::document::Document;
use super::live::Live;
use super::model::{Errand, Model};
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

    fn go(&mut self, next: Next) -> Vec<Errand> {
        match next {
            Next::Quit => return vec![Errand::Quit],
            Next::Open(None) => return self.prompt(Prompt::Open(self.path_text())),
            Next::Open(Some(path)) => return self.open(path),
            Next::Demo => self.replace(Document::new(layout::demo(), None, Some(layout::DEMO.to_owned()))),
            Next::New => match layout::read("new layout", layout::template().as_bytes()) {
                Ok(loaded) => self.replace(Document::new(loaded.layout, None, Some(loaded.text))),
                Err(problems) => self.say(Grade::Fault, problems.to_string()),
            },
        }
        vec![Errand::Turn(View::Home)]
    }

    fn open(&mut self, path: PathBuf) -> Vec<Errand> {
        match layout::load(&path) {
            Ok(loaded) => {
                self.replace(Document::new(loaded.layout, Some(path), Some(loaded.text)));
                vec![Errand::Turn(View::Home)]
            }
            Err(problems) => {
                let first = problems.findings().into_iter().next();
                let why = first.map_or_else(|| problems.to_string(), |f| format!("{} {}", f.what, f.mend));
                self.say(Grade::Fault, format!("{}: {why}", path.display()));
                Vec::new()
            }
        }
    }

    fn replace(&mut self, mut document: Document) {
        document.follow(&self.document);
        self.document = document;
        let fresh = Desk::new(self.desk.display);
        self.desk = Desk { look: self.desk.look, shown: self.desk.shown, pace: self.desk.pace, cell: self.desk.cell, ..fresh };
        self.live = Live::default();
        self.known = None;
    }

    pub(super) fn save(&mut self) -> Vec<Errand> {
        match self.document.path.clone() {
            Some(path) => self.write(path),
            None => self.prompt(Prompt::SaveAs(self.path_text())),
        }
    }

    pub(super) fn write(&mut self, path: PathBuf) -> Vec<Errand> {
        let text = layout::write(self.document.layout(), self.document.text.as_deref());
        match layout::save(&path, self.document.layout(), self.document.text.as_deref()) {
            Ok(()) => {
                self.say(Grade::Note, format!("Saved {}", path.display()));
                self.document.mark_saved(path, text);
                self.desk.prompt = None;
            }
            Err(error) => self.say(Grade::Fault, format!("Not saved: {}: {error}. Choose another place with Save as.", path.display())),
        }
        Vec::new()
    }

    pub(super) fn path_text(&self) -> String {
        self.document.path.as_ref().map_or_else(|| self.file_name(), |p| p.display().to_string())
    }

    pub(super) fn file_name(&self) -> String {
        let words: String = self.document.layout().name.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
        format!("{}.ron", if words.is_empty() { "layout" } else { &words })
    }
}
