//! A layout that was kept to compare with, `A`: it runs on beside the open one, `B`, in the same water at the same time.

use super::action::View;
use super::document::{Document, Edit};
use super::live::Live;
use super::model::{Errand, Model};
use super::panes::Panes;
use crate::catalog::Catalog;
use crate::finding::Grade;
use crate::layout::{self, Layout};
use crate::study::Study;
use crate::study::compare::{Case, Comparison, compare};
use bevy_egui::egui::Rect;
use std::path::Path;
use std::sync::Arc;

/// Which of the two.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The open layout: B while another is kept.
    Own,
    /// The kept one: A.
    Kept,
}

impl Side {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Own, Self::Kept];
}

/// What of the two is in sight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Compare {
    /// Both, one beside the other.
    #[default]
    Beside,
    /// What the water of B does less what that of A does, on the slice.
    Difference,
    /// B alone; A runs on.
    Alone,
}

impl Compare {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Beside, Self::Difference, Self::Alone];

    /// Word for a button.
    pub fn word(self) -> &'static str {
        match self {
            Self::Beside => "Side by side",
            Self::Difference => "Difference",
            Self::Alone => "B alone",
        }
    }

    /// What it is good for.
    pub fn help(self) -> &'static str {
        match self {
            Self::Beside => "A and B from the same place, at the same time, in the same colours",
            Self::Difference => "On the slice: B less A. Blue is faster in B, red slower, white the same",
            Self::Alone => "Only what you work on; A runs on unseen",
        }
    }

    /// The one after.
    pub fn next(self) -> Self {
        Self::ALL[(self as usize + 1) % Self::ALL.len()]
    }
}

/// What A is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Keep {
    /// The layout as it is now, in the water as it moves now.
    Now,
    /// The layout as it was before the last change.
    Before,
    /// The layout with its next sequence.
    OtherSequence,
}

/// A kept layout and what is known of it.
pub struct Kept {
    /// What it is, in a few words.
    pub name: String,
    /// The layout.
    pub layout: Arc<Layout>,
    /// Its pipes and fittings.
    pub catalog: Arc<Catalog>,
    /// What is known about it.
    pub live: Live,
    /// Goes up with each that is kept.
    pub number: u64,
    /// What the verdict on the open layout says that this one's doesn't, and the other way round.
    pub comparison: Option<Arc<Comparison>>,
}

/// A layout and what is known of it, as pictures need it.
#[derive(Clone, Copy)]
pub struct Stage<'a> {
    /// The layout.
    pub layout: &'a Layout,
    /// What is known about it.
    pub live: &'a Live,
    /// Another number whenever the layout is another.
    pub revision: u64,
}

impl Model {
    /// What is in sight on a side; `None` when nothing is.
    pub fn stage(&self, side: Side) -> Option<Stage<'_>> {
        match side {
            Side::Own => Some(Stage { layout: self.document.layout(), live: &self.live, revision: self.document.revision() }),
            Side::Kept => {
                let kept = self.kept.as_ref().filter(|_| self.desk.compare == Compare::Beside)?;
                Some(Stage { layout: &kept.layout, live: &kept.live, revision: kept.number })
            }
        }
    }

    /// How many layouts are in sight.
    pub fn sides(&self) -> usize {
        Side::ALL.into_iter().filter(|side| self.stage(*side).is_some()).count()
    }

    /// A and B in the way of seeing that shows the slice's difference; `None` otherwise.
    pub fn difference(&self) -> Option<(&Live, &Live)> {
        let kept = self.kept.as_ref().filter(|_| self.desk.compare == Compare::Difference)?;
        Some((&kept.live, &self.live))
    }

    /// How the picture's room is shared.
    pub fn panes(&self, free: Rect) -> Panes {
        if self.stage(Side::Kept).is_none() {
            return Panes::one(free);
        }
        let tank = self.document.layout().tank.size();
        Panes::two(free, (tank.x.max(tank.y) / (tank.z + 0.4 * tank.x.min(tank.y))) as f32)
    }

    /// Keep something of the open layout as A.
    pub(super) fn keep(&mut self, keep: Keep) -> Vec<Errand> {
        let layout = self.document.layout().clone();
        match keep {
            Keep::Now => {
                self.hold_as_a("as kept".into(), layout, self.live.clone());
                self.say(Grade::Note, "Kept as A: change the layout now, and see what the change does");
                vec![Errand::Fork(None), Errand::Turn(View::Home)]
            }
            Keep::Before => match self.document.before() {
                Some(before) => self.keep_other("before the change".into(), before),
                None => self.cannot("There is no change yet to compare with"),
            },
            Keep::OtherSequence => match other_sequence(&layout) {
                Some((id, other)) => self.keep_other(format!("sequence {id}"), Arc::new(other)),
                None => self.cannot("This layout has no other sequence: add one in the sequence panel"),
            },
        }
    }

    /// Keep the layout in a file as A. Both start from water at rest.
    pub(super) fn keep_file(&mut self, path: &Path) -> Vec<Errand> {
        match layout::load(path) {
            Ok(loaded) => {
                let document = Document::new(loaded.layout, Some(path.to_owned()), None);
                let name = path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned());
                let mut live = Live::default();
                live.look(document.layout(), &document.catalog, document.no_catalog.clone());
                let layout = document.layout().clone();
                self.hold_as_a(name, layout.clone(), live);
                self.say(Grade::Note, "Both start from water at rest, so that they can be compared");
                vec![Errand::Beside(Box::new(layout.as_ref().clone()), document.catalog), Errand::Turn(View::Home)]
            }
            Err(problems) => self.cannot(format!("{}: {}", path.display(), super::opening::first_of(&problems))),
        }
    }

    fn keep_other(&mut self, name: String, layout: Arc<Layout>) -> Vec<Errand> {
        let mut live = Live::default();
        live.look(&layout, &self.document.catalog, None);
        live.snapshot = self.live.snapshot.clone();
        self.hold_as_a(name, layout.clone(), live);
        vec![Errand::Fork(Some(Box::new(layout.as_ref().clone()))), Errand::Turn(View::Home)]
    }

    fn hold_as_a(&mut self, name: String, layout: Arc<Layout>, live: Live) {
        let number = self.kept_so_far + 1;
        self.kept_so_far = number;
        self.kept = Some(Kept { name, layout, catalog: self.document.catalog.clone(), live, number, comparison: None });
        self.desk.compare = Compare::Beside;
        self.desk.against = true;
    }

    /// Stop comparing.
    pub(super) fn let_go(&mut self) -> Vec<Errand> {
        self.desk.against = false;
        match self.kept.take() {
            Some(_) => vec![Errand::Unfork, Errand::Turn(View::Home)],
            None => Vec::new(),
        }
    }

    /// Go back to A: one step of the history.
    pub(super) fn take_kept(&mut self) -> Vec<Errand> {
        let Some(kept) = &self.kept else { return Vec::new() };
        let whole = Box::new(kept.layout.as_ref().clone());
        self.say(Grade::Note, "The layout is A again; undo brings B back");
        self.edit(Edit::Whole(whole))
    }

    fn cannot(&mut self, why: impl Into<String>) -> Vec<Errand> {
        self.say(Grade::Note, why);
        Vec::new()
    }

    /// Hold the newest verdicts of both against each other.
    pub fn hold_against(&mut self) {
        let own = case("B", self.document.layout(), &self.live);
        let Some(kept) = &mut self.kept else { return };
        let first = case("A", &kept.layout, &kept.live);
        kept.comparison = first.zip(own).map(|(a, b)| Arc::new(compare(&[a, b])));
    }
}

/// Once there is enough averaged for a verdict.
fn case(name: &str, layout: &Layout, live: &Live) -> Option<Case> {
    let (record, fields) = (live.verdict()?.clone(), live.fields.as_ref()?.as_ref().clone());
    Some(Case { name: name.into(), layout: Some(layout.clone()), study: Study { record, fields } })
}

/// The layout with the sequence after the one in use.
fn other_sequence(layout: &Layout) -> Option<(String, Layout)> {
    let used = layout.active_sequence()?.id.clone();
    let at = layout.sequences.iter().position(|s| s.id == used)?;
    let next = layout.sequences[(at + 1) % layout.sequences.len()].id.clone();
    (next != used).then(|| (next.clone(), Layout { sequence: next, ..layout.clone() }))
}
