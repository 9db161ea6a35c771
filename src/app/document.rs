//! The open layout with its history. Only [`Document::apply`], [`Document::undo`] and [`Document::redo`] change it.

use super::part::{Item, Part, ids};
use crate::layout::{Layout, VERSION};
use std::path::PathBuf;
use std::sync::Arc;

/// A change of the layout.
#[derive(Debug, Clone, PartialEq)]
pub enum Edit {
    /// Rename the layout.
    Name(String),
    /// Put a changed part back at its place in its list.
    Put(usize, Box<Item>),
    /// Add a part at the end of its list; it gets an id that is free.
    Add(Box<Item>),
    /// Take a part away.
    Remove(Part),
    /// Use another sequence, by id.
    UseSequence(String),
}

/// Further edits of the same part within this time belong to the same undo step, s.
const ONE_GESTURE: f64 = 0.7;

/// The open layout.
#[derive(Debug, Clone)]
pub struct Document {
    layout: Arc<Layout>,
    saved: Arc<Layout>,
    /// Where it was read from or saved to.
    pub path: Option<PathBuf>,
    /// The file's text, so that saving keeps the author's comments.
    pub text: Option<String>,
    undo: Vec<Arc<Layout>>,
    redo: Vec<Arc<Layout>>,
    gesture: Option<(Gesture, f64)>,
    revision: u64,
}

/// What a gesture changes.
#[derive(Debug, Clone, PartialEq)]
enum Gesture {
    Name,
    Part(Part),
}

impl Document {
    /// A document fresh from a file.
    pub fn new(layout: Layout, path: Option<PathBuf>, text: Option<String>) -> Self {
        let layout = Arc::new(layout);
        Self { saved: layout.clone(), layout, path, text, undo: Vec::new(), redo: Vec::new(), gesture: None, revision: 0 }
    }

    /// The layout.
    pub fn layout(&self) -> &Arc<Layout> {
        &self.layout
    }

    /// Goes up with every change; equal numbers mean an equal layout.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// There are changes that no file holds.
    pub fn unsaved(&self) -> bool {
        self.layout != self.saved
    }

    /// Something can be undone.
    pub fn can_undo(&self) -> bool {
        !self.undo.is_empty()
    }

    /// Something can be done again.
    pub fn can_redo(&self) -> bool {
        !self.redo.is_empty()
    }

    /// The file now holds this layout as `text`.
    pub fn mark_saved(&mut self, path: PathBuf, text: String) {
        self.saved = self.layout.clone();
        self.path = Some(path);
        self.text = Some(text);
    }

    /// Change the layout; `now` (s) tells gestures apart. Returns whether anything changed.
    pub fn apply(&mut self, edit: Edit, now: f64) -> bool {
        let gesture = gesture_of(&edit);
        let mut next = Layout::clone(&self.layout);
        perform(edit, &mut next);
        if next == *self.layout {
            return false;
        }
        let goes_on =
            gesture.is_some() && self.gesture.as_ref().is_some_and(|(g, at)| Some(g) == gesture.as_ref() && now - at < ONE_GESTURE);
        if !goes_on {
            self.undo.push(self.layout.clone());
        }
        self.gesture = gesture.map(|g| (g, now));
        self.redo.clear();
        self.become_layout(Arc::new(next));
        true
    }

    /// One step back.
    pub fn undo(&mut self) -> bool {
        let Some(before) = self.undo.pop() else { return false };
        self.redo.push(self.layout.clone());
        self.gesture = None;
        self.become_layout(before);
        true
    }

    /// One step forward again.
    pub fn redo(&mut self) -> bool {
        let Some(after) = self.redo.pop() else { return false };
        self.undo.push(self.layout.clone());
        self.gesture = None;
        self.become_layout(after);
        true
    }

    /// Number revisions on from those of the document this one takes the place of.
    pub fn follow(&mut self, before: &Self) {
        self.revision = before.revision + 1;
    }

    fn become_layout(&mut self, layout: Arc<Layout>) {
        self.layout = layout;
        self.revision += 1;
    }
}

fn gesture_of(edit: &Edit) -> Option<Gesture> {
    match edit {
        Edit::Name(_) => Some(Gesture::Name),
        Edit::Put(index, item) => Some(Gesture::Part(Part { list: item.list(), index: *index })),
        Edit::Add(_) | Edit::Remove(_) | Edit::UseSequence(_) => None,
    }
}

fn perform(edit: Edit, layout: &mut Layout) {
    layout.version = VERSION;
    match edit {
        Edit::Name(name) => layout.name = name,
        Edit::Put(index, item) => {
            let list = item.list();
            if index < ids(layout, list).len() {
                item.put(layout, index);
            }
        }
        Edit::Add(mut item) => {
            let list = item.list();
            if let Some(id) = item.id_mut() {
                *id = free_id(&ids(layout, list), id);
            }
            let end = ids(layout, list).len();
            item.put(layout, end);
        }
        Edit::Remove(part) => {
            part.remove(layout);
        }
        Edit::UseSequence(id) => {
            if layout.sequences.iter().any(|s| s.id == id) {
                layout.sequence = id;
            }
        }
    }
}

/// `wish`, or `wish` with the first number at its end that no other id has.
fn free_id(taken: &[&str], wish: &str) -> String {
    if !wish.is_empty() && !taken.contains(&wish) {
        return wish.to_owned();
    }
    let stem = wish.trim_end_matches(|c: char| c.is_ascii_digit());
    let stem = if stem.is_empty() { "part " } else { stem };
    let numbers = 1..=taken.len() + 1;
    numbers.map(|n| format!("{stem}{n}")).find(|id| !taken.contains(&id.as_str())).unwrap_or_else(|| stem.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn free_ids_count_on() {
        assert_eq!(free_id(&["N1", "N2"], "N2"), "N3");
        assert_eq!(free_id(&["N1"], "N7"), "N7");
        assert_eq!(free_id(&[], ""), "part 1");
        assert_eq!(free_id(&["arch"], "arch"), "arch1");
    }
}
