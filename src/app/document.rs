//! The open layout with its history. Only [`Document::apply`], [`Document::undo`] and [`Document::redo`] change it.

use super::history::Step;
use super::part::{Item, Part, ids};
use super::refer;
use crate::catalog::Catalog;
use crate::finding::{Finding, Grade};
use crate::layout::file::catalog_of;
use crate::layout::{Layout, VERSION};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;

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
    /// Give a part another id; whatever refers to it follows.
    Rename(Part, String),
    /// Several edits as one step.
    All(Vec<Edit>),
    /// Another layout altogether.
    Whole(Box<Layout>),
}

/// Without a held button, further edits of the same part within this time belong to the same undo step, s: typing.
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
    /// Pipes and fittings: the builtin ones with the layout's own file over them.
    pub catalog: Arc<Catalog>,
    /// Why the layout's own catalogue can't be used.
    pub no_catalog: Option<Finding>,
    undo: Vec<Step>,
    redo: Vec<Step>,
    gesture: Option<(Gesture, f64)>,
    held: bool,
    revision: u64,
    /// What the file looked like when it was last read or written.
    stamp: Option<Stamp>,
}

/// When a file was changed last, and how long it is.
type Stamp = (SystemTime, u64);

fn stamp_of(path: Option<&Path>) -> Option<Stamp> {
    let about = std::fs::metadata(path?).ok()?;
    Some((about.modified().ok()?, about.len()))
}

fn unusable_catalog(why: &str) -> Finding {
    let mend = "mend the file that `catalogue` names, then open the layout again";
    Finding::new(Grade::Fault, "catalogue", "", format!("its own catalogue can't be used: {why}"), "the builtin one alone is in use", mend)
}

/// What a gesture changes.
#[derive(Debug, Clone, PartialEq)]
enum Gesture {
    Name,
    Id(Part),
    Parts(Vec<Part>),
}

impl Document {
    /// A document fresh from a file.
    pub fn new(layout: Layout, path: Option<PathBuf>, text: Option<String>) -> Self {
        let layout = Arc::new(layout);
        let stamp = stamp_of(path.as_deref());
        let (catalog, no_catalog) = match catalog_of(&layout, path.as_deref()) {
            Ok(catalog) => (catalog, None),
            Err(why) => (Catalog::builtin().clone(), Some(unusable_catalog(&why.to_string()))),
        };
        Self {
            catalog: Arc::new(catalog),
            no_catalog,
            saved: layout.clone(),
            layout,
            path,
            text,
            undo: Vec::new(),
            redo: Vec::new(),
            gesture: None,
            held: false,
            revision: 0,
            stamp,
        }
    }

    /// The layout.
    pub fn layout(&self) -> &Arc<Layout> {
        &self.layout
    }

    /// The layout before the last step.
    pub fn before(&self) -> Option<Arc<Layout>> {
        self.undo.last().map(|step| step.from(&self.layout))
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
        self.stamp();
    }

    /// Another program has changed the file since it was last read or written.
    pub fn changed_on_disk(&self) -> bool {
        let now = stamp_of(self.path.as_deref());
        now.is_some() && self.stamp.is_some() && now != self.stamp
    }

    /// Take the file as it is now for known.
    pub fn stamp(&mut self) {
        self.stamp = stamp_of(self.path.as_deref());
    }

    /// The file's new content, as a step that can be undone.
    pub fn take_in(&mut self, layout: Layout, text: String) {
        let layout = Arc::new(layout);
        self.stamp();
        self.text = Some(text);
        self.saved = layout.clone();
        if layout != self.layout {
            self.undo.push(Step::new(&layout, &self.layout));
            self.redo.clear();
            self.gesture = None;
            self.become_layout(layout);
        }
    }

    /// Change the layout; `now` (s) tells gestures apart. Returns whether anything changed.
    pub fn apply(&mut self, edit: Edit, now: f64) -> bool {
        let gesture = gesture_of(&edit);
        let mut next = Layout::clone(&self.layout);
        perform(edit, &mut next);
        if next == *self.layout {
            return false;
        }
        let same = gesture.is_some() && self.gesture.as_ref().is_some_and(|(g, _)| Some(g) == gesture.as_ref());
        let goes_on = same && self.gesture.as_ref().is_some_and(|(_, at)| self.held || now - at < ONE_GESTURE);
        // What goes on may change more parts than it did at first.
        let before = if goes_on { self.undo.pop().map(|step| step.from(&self.layout)) } else { None };
        self.undo.push(Step::new(&next, before.as_ref().unwrap_or(&self.layout)));
        self.gesture = gesture.map(|g| (g, now));
        self.redo.clear();
        self.become_layout(Arc::new(next));
        true
    }

    /// A button of the mouse goes down or up: what is changed while it is held is one step, and the next press begins another.
    pub fn hold(&mut self, held: bool) {
        self.held = held;
        self.gesture = None;
    }

    /// Change what is not the user's doing and no step of the history: what was read of files, and how they are named.
    pub fn touch_up(&mut self, change: impl FnOnce(&mut Layout)) {
        let mut layout = Layout::clone(&self.layout);
        change(&mut layout);
        self.become_layout(Arc::new(layout));
    }

    /// One step back.
    pub fn undo(&mut self) -> bool {
        let Some(before) = self.undo.pop().map(|step| step.from(&self.layout)) else { return false };
        self.redo.push(Step::new(&before, &self.layout));
        self.gesture = None;
        self.become_layout(before);
        true
    }

    /// One step forward again.
    pub fn redo(&mut self) -> bool {
        let Some(after) = self.redo.pop().map(|step| step.from(&self.layout)) else { return false };
        self.undo.push(Step::new(&after, &self.layout));
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
        Edit::Rename(part, _) => Some(Gesture::Id(*part)),
        Edit::Put(index, item) => Some(Gesture::Parts(vec![Part { list: item.list(), index: *index }])),
        Edit::All(edits) => {
            let parts = edits.iter().map(gesture_of).collect::<Option<Vec<_>>>()?;
            let list = parts.into_iter().map(|g| if let Gesture::Parts(p) = g { Some(p) } else { None }).collect::<Option<Vec<_>>>()?;
            Some(Gesture::Parts(list.concat()))
        }
        Edit::Add(_) | Edit::Remove(_) | Edit::UseSequence(_) | Edit::Whole(_) => None,
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
        Edit::Rename(part, id) => rename(layout, part, &id),
        Edit::Whole(whole) => *layout = *whole,
        Edit::All(edits) => edits.into_iter().for_each(|edit| perform(edit, layout)),
    }
}

/// A part's new id, unless another part of its list has it or it is empty.
fn rename(layout: &mut Layout, part: Part, id: &str) {
    let taken = ids(layout, part.list).contains(&id);
    let Some(mut item) = part.get(layout).filter(|_| !taken && !id.trim().is_empty()) else { return };
    let Some(old) = item.id_mut().map(|old| std::mem::replace(old, id.to_owned())) else { return };
    item.put(layout, part.index);
    refer::follow(layout, part.list, &old, id);
}

/// `wish`, or `wish` with the first number at its end that no other id has.
pub fn free_id(taken: &[&str], wish: &str) -> String {
    if !wish.is_empty() && !taken.contains(&wish) {
        return wish.to_owned();
    }
    let stem = wish.trim_end_matches(|c: char| c.is_ascii_digit());
    // "arch", "arch 2", but "N1", "N2".
    let (stem, first) = match stem {
        "" => ("part ".to_owned(), 1),
        word if word == wish && word.len() > 2 => (format!("{word} "), 2),
        stem => (stem.to_owned(), 1),
    };
    let numbers = first..=first + taken.len();
    numbers.map(|n| format!("{stem}{n}")).find(|id| !taken.contains(&id.as_str())).unwrap_or(stem)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn free_ids_count_on() {
        assert_eq!(free_id(&["N1", "N2"], "N2"), "N3");
        assert_eq!(free_id(&["N1"], "N7"), "N7");
        assert_eq!(free_id(&[], ""), "part 1");
        assert_eq!(free_id(&["arch", "arch 2"], "arch"), "arch 3");
        assert_eq!(free_id(&["N"], "N"), "N1");
    }

    #[test]
    fn the_layouts_own_catalogue_is_used() {
        let folder = tempfile::tempdir().unwrap();
        let own = r#"(fittings: [(name: "siphon break", law: fixed(k: 0.4), source: "measured", range: "that one")])"#;
        std::fs::write(folder.path().join("own.ron"), own).unwrap();
        let open = |catalogue: &str| {
            let layout = Layout { catalogue: catalogue.into(), ..crate::layout::demo() };
            Document::new(layout, Some(folder.path().join("tank.ron")), None)
        };
        let (own, none, missing) = (open("own.ron"), open(""), open("gone.ron"));
        assert!(own.catalog.fitting("siphon break").is_some() && own.no_catalog.is_none());
        assert!(none.catalog.fitting("siphon break").is_none() && none.no_catalog.is_none());
        assert!(missing.no_catalog.is_some_and(|f| f.what.contains("gone.ron")) && missing.catalog.fitting("elbow 90").is_some());
    }
}
