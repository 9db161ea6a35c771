//! Document, desk and what is known, with the one place where Actions are carried out.

use super::action::{Action, PACES, View};
use super::clip::Form;
use super::desk::{Desk, Layer, Look, Next, Notice, Prompt, Wanted};
use super::document::{Document, Edit};
use super::jobs::Jobs;
use super::kept::{Compare, Kept};
use super::live::Live;
use super::part::Part;
use super::shelf::Shelf;
use super::template::Template;
use super::worker::cell_here;
use crate::catalog::Catalog;
use crate::finding::Grade;
use crate::layout::Layout;
use crate::session::Command;
use crate::units::Display;
use std::path::PathBuf;
use std::sync::Arc;

/// Everything the panels see.
pub struct Model {
    /// The open layout.
    pub document: Document,
    /// How it is looked at.
    pub desk: Desk,
    /// What is known about it.
    pub live: Live,
    /// The layout that it is compared with.
    pub kept: Option<Kept>,
    /// How many were kept so far.
    pub(super) kept_so_far: u64,
    /// Seconds since the start, for gestures and notices.
    pub now: f64,
    /// What goes on beside the window.
    pub jobs: Jobs,
    /// What outlives the window.
    pub shelf: Shelf,
    /// Revision and units that `live` was made for.
    pub(super) known: Option<(u64, Display)>,
}

/// What an action asks of the world outside the model.
#[derive(Debug, Clone)]
pub enum Errand {
    /// Tell the running flow.
    Tell(Command),
    /// Let a second flow go on from here, with another layout if there is one.
    Fork(Option<Box<Layout>>),
    /// Start a second flow on this layout, and this one again with it.
    Beside(Box<Layout>, Arc<Catalog>),
    /// End the second flow.
    Unfork,
    /// Turn the camera.
    Turn(View),
    /// Take the camera to a place (m) and see this much around it (m).
    Fly([f64; 3], f64),
    /// The system's dialog for a file to open.
    PickOpen,
    /// The system's dialog for a layout to compare with.
    PickBeside,
    /// Write a large picture of the tank to this file.
    Still(PathBuf),
    /// Record a clip into this file or folder.
    Record(PathBuf),
    /// Stop recording.
    StopRecording,
    /// The system's dialog for a mesh file.
    PickRock,
    /// The system's dialog for a folder to write this into.
    PickFolder(Wanted),
    /// The system's dialog for a file to write, with a name to begin with.
    PickSave(String),
    /// Close the window.
    Quit,
}

impl Model {
    /// Around a document.
    pub fn new(document: Document) -> Self {
        let desk = Desk::new(document.layout().display);
        let mut model = Self {
            document,
            desk,
            live: Live::default(),
            kept: None,
            kept_so_far: 0,
            now: 0.0,
            jobs: Jobs::default(),
            shelf: Shelf::default(),
            known: None,
        };
        model.refresh();
        model
    }

    /// The layout in the units on screen, for all that speaks of it.
    pub fn as_shown(&self) -> Layout {
        Layout { display: self.desk.display, ..self.document.layout().as_ref().clone() }
    }

    /// Bring what is known up to date; true when the layout has changed since the last call.
    pub fn refresh(&mut self) -> bool {
        let changed = self.known != Some((self.document.revision(), self.desk.display));
        if changed {
            self.fetch_scans();
            self.known = Some((self.document.revision(), self.desk.display));
            self.live.look(&self.as_shown(), &self.document.catalog, self.document.no_catalog.clone());
        }
        changed
    }

    /// Carry out an action.
    pub fn apply(&mut self, action: Action) -> Vec<Errand> {
        match action {
            Action::Edit(edit) => self.edit(edit),
            Action::Undo => self.step(Document::undo, "Nothing to undo"),
            Action::Redo => self.step(Document::redo, "Nothing to redo"),
            Action::Add(fresh) => self.add_fresh(fresh),
            Action::Press => self.hold(true),
            Action::Release => self.hold(false),
            Action::Duplicate => self.duplicate(),
            Action::Delete => self.delete(),
            Action::Mirror(mirror) => self.mirror(mirror),
            Action::MirrorCopy(mirror) => self.mirror_copy(mirror),
            Action::Nudge(steps) => self.nudge(steps),
            Action::Spin(degrees) => self.spin(degrees),
            Action::Grow(by) => self.grow(by),
            Action::PickAim => self.pick_aim(),
            Action::AimAt(place) => self.aim_at(place.into()),
            Action::SelectAlso(part) => self.select_also(part),
            Action::SelectList => self.select_list(),
            Action::NextSequence => self.next_sequence(),
            Action::New => self.prompt(Prompt::New),
            Action::NewFrom(template) => self.leave(Next::From(template)),
            Action::Demo => self.leave(Next::From(Template::Peninsula)),
            Action::SaveFirst => self.save_first(),
            Action::Reload => self.reload(),
            Action::KeepMine => self.keep_mine(),
            Action::TakeUp(rescued) => self.take_up(rescued),
            Action::ThrowAway(rescued) => self.throw_away(&rescued),
            Action::Open => self.leave(Next::Open(None)),
            Action::OpenPath(path) => self.leave(Next::Open(Some(path))),
            Action::Quit => self.leave(Next::Quit),
            Action::Discard => self.discard(),
            Action::Save => self.save(),
            Action::SaveAs => self.prompt(Prompt::SaveAs(self.path_text())),
            Action::SavePath(path) => self.write(path),
            Action::ImportRock => self.prompt(Prompt::Import(self.mesh_folder())),
            Action::ImportPath(path) => self.import(path),
            Action::BrowseRock => vec![Errand::PickRock],
            Action::BrowseBeside => vec![Errand::PickBeside],
            Action::BrowseOpen => vec![Errand::PickOpen],
            Action::BrowseSave => vec![Errand::PickSave(self.file_name())],
            Action::StopReading => self.stop_reading(),
            Action::AskStudy => self.ask_study(),
            Action::StartStudy(wish) => self.start_study(wish),
            Action::StopStudy => self.stop_study(),
            Action::WriteReport(folder) => self.write_report(folder),
            Action::AskSheets => self.ask_sheets(),
            Action::WriteSheets(folder) => self.write_sheets(folder),
            Action::StopSheets => self.stop_sheets(),
            Action::BrowseFolder(wanted) => vec![Errand::PickFolder(wanted)],
            Action::PlayPause => self.play(!self.desk.playing),
            Action::Pace(pace) => self.pace(pace),
            Action::Slower => self.pace(PACES.into_iter().rev().find(|p| *p < self.desk.pace).unwrap_or(PACES[0])),
            Action::Faster => self.pace(PACES.into_iter().find(|p| *p > self.desk.pace).unwrap_or(PACES[PACES.len() - 1])),
            Action::Scrub(time) => self.scrub(time),
            Action::RestartMean => vec![Errand::Tell(Command::ResetMean)],
            Action::Cell(cell) => self.cell(cell),
            Action::ShowFinding(index) => self.show_finding(index),
            Action::NextFinding => self.next_finding(),
            Action::ShowDeadSpot(rank) => self.show_dead_spot(rank),
            Action::View(view) => {
                self.desk.orbiting = false;
                vec![Errand::Turn(view)]
            }
            Action::Keep(keep) => self.keep(keep),
            Action::KeepFile => self.prompt(Prompt::Beside(self.path_text())),
            Action::KeepPath(path) => self.keep_file(&path),
            Action::TakeKept => self.take_kept(),
            Action::LetGo => self.let_go(),
            Action::Clip => self.prompt(Prompt::Clip),
            Action::Record => self.record(),
            Action::StopRecording => vec![Errand::StopRecording],
            Action::Still => self.still(),
            Action::Frame => self.frame(),
            Action::Select(part) => self.select(part),
            other => self.look(other),
        }
    }

    /// Actions that change nothing but the picture.
    fn look(&mut self, action: Action) -> Vec<Errand> {
        let desk = &mut self.desk;
        match action {
            Action::Show(quantity) => {
                desk.quantity = quantity;
                desk.shown.slice |= !desk.shown.skin && !desk.shown.arrows;
            }
            Action::Slice(slice) => {
                desk.slice = slice;
                desk.shown.slice |= !desk.shown.arrows;
            }
            Action::PinSlice => {
                let slice = desk.slice;
                desk.pinned.truncate(super::view::slice::MOST - 2);
                desk.pinned.insert(0, slice);
                desk.slice.share = (slice.share + 0.15).rem_euclid(1.0);
                desk.shown.slice = true;
            }
            Action::UnpinSlices => desk.pinned.clear(),
            Action::Orbit => desk.orbiting = !desk.orbiting,
            Action::TurnSlice => {
                desk.slice.axis = desk.slice.axis.next();
                desk.shown.slice = true;
            }
            Action::NudgeSlice(by) => {
                desk.slice.share = (desk.slice.share + by).clamp(0.0, 1.0);
                desk.shown.slice = true;
            }
            Action::Compare(compare) => {
                desk.compare = compare;
                desk.shown.slice |= compare == Compare::Difference;
            }
            Action::NextCompare => {
                let next = desk.compare.next();
                return self.apply(Action::Compare(next));
            }
            Action::Wish(wish) => desk.clip = wish,
            Action::Against(against) => desk.against = against,
            Action::Low(low) => desk.low = low,
            Action::Top(top) => desk.top = top,
            Action::Toggle(layer) => {
                let shown = desk.shown.of(layer);
                *shown = !*shown;
                if layer == Layer::Panels && !*shown {
                    desk.prompt = None;
                }
            }
            Action::FullPicture => desk.full = !desk.full,
            Action::Units => desk.display = other_units(desk.display),
            Action::Text(by) => desk.text = if by > 0.0 { (desk.text * by).clamp(0.7, 2.5) } else { 1.0 },
            Action::Look => desk.look = if desk.look == Look::Dark { Look::Light } else { Look::Dark },
            Action::Lower(lower) => desk.lower = lower,
            Action::Prompt(prompt) => desk.prompt = prompt,
            Action::Search(words) => desk.search = words,
            Action::Dismiss => desk.notice = None,
            _ => {}
        }
        Vec::new()
    }

    /// Tell the user something in one line.
    pub fn say(&mut self, grade: Grade, text: impl Into<String>) {
        self.desk.notice = Some(Notice { grade, text: text.into(), since: self.now });
    }

    fn next_sequence(&mut self) -> Vec<Errand> {
        let layout = self.document.layout();
        let used = layout.active_sequence().and_then(|active| layout.sequences.iter().position(|s| s.id == active.id));
        let next = layout.sequences.iter().cycle().nth(used.map_or(0, |i| i + 1)).map(|s| s.id.clone());
        match next {
            Some(id) if layout.sequences.len() > 1 => {
                self.say(Grade::Note, format!("Sequence: {id}"));
                self.edit(Edit::UseSequence(id))
            }
            _ => {
                self.say(Grade::Note, "This layout has no other sequence");
                Vec::new()
            }
        }
    }

    pub(super) fn prompt(&mut self, prompt: Prompt) -> Vec<Errand> {
        self.desk.prompt = Some(prompt);
        Vec::new()
    }

    fn play(&mut self, playing: bool) -> Vec<Errand> {
        self.desk.playing = playing;
        vec![Errand::Tell(if playing { Command::Play } else { Command::Pause })]
    }

    fn pace(&mut self, pace: f64) -> Vec<Errand> {
        self.desk.pace = pace;
        vec![Errand::Tell(Command::SetPace(pace))]
    }

    fn scrub(&mut self, time: f64) -> Vec<Errand> {
        self.desk.playhead = time.max(0.0);
        if self.desk.playing { self.play(false) } else { Vec::new() }
    }

    fn cell(&mut self, cell: Option<f64>) -> Vec<Errand> {
        self.desk.cell = cell;
        let edge = cell.unwrap_or_else(|| cell_here(self.document.layout(), &self.document.catalog));
        vec![Errand::Tell(Command::SetCell(edge))]
    }

    /// A name beside the layout's file that is free.
    fn free_name(&self, ending: impl Fn(usize) -> String) -> Option<PathBuf> {
        let layout = self.document.path.clone().unwrap_or_else(|| self.file_name().into());
        (1..1000).map(|n| layout.with_extension(ending(n))).find(|path| !path.exists())
    }

    /// A picture beside the layout's file.
    fn still(&self) -> Vec<Errand> {
        self.free_name(|n| format!("still-{n}.png")).map(Errand::Still).into_iter().collect()
    }

    /// A clip beside it.
    fn record(&mut self) -> Vec<Errand> {
        self.desk.prompt = None;
        if self.desk.recording.is_some() || self.live.flow().is_none() {
            self.say(Grade::Note, "A clip can be recorded once the water moves, one at a time");
            return Vec::new();
        }
        let name = self.free_name(|n| if self.desk.clip.form == Form::Gif { format!("clip-{n}.gif") } else { format!("clip-{n}") });
        name.map(Errand::Record).into_iter().collect()
    }

    fn frame(&mut self) -> Vec<Errand> {
        let Some(part) = self.desk.selected else { return self.nothing_selected() };
        self.fly(part.place(self.document.layout()).map(|p| p.to_array()))
    }

    fn next_finding(&mut self) -> Vec<Errand> {
        if self.live.findings.is_empty() {
            self.say(Grade::Note, "The verdict lists nothing so far");
            return Vec::new();
        }
        let open = self.desk.finding.as_ref().and_then(|which| self.live.place(which));
        self.show_finding(open.map_or(0, |i| i + 1) % self.live.findings.len())
    }

    fn show_finding(&mut self, index: usize) -> Vec<Errand> {
        let Some(finding) = self.live.findings.get(index) else { return Vec::new() };
        let layout = self.document.layout();
        let part = Part::named(layout, &finding.part);
        let place = finding.place.or_else(|| Some(part?.place(layout)?.to_array()));
        let spot = self.live.record.iter().flat_map(|r| &r.dead_spots).find(|d| finding.place == Some(d.centre_m)).map(|d| d.rank as u16);
        let which = self.live.which(index);
        let already = self.desk.finding == which;
        self.desk.finding = which;
        self.desk.dead_spot = spot;
        if part.is_some() {
            self.select(part);
        }
        if already { Vec::new() } else { self.fly(place) }
    }

    fn show_dead_spot(&mut self, rank: u16) -> Vec<Errand> {
        let place = self.live.record.iter().flat_map(|r| &r.dead_spots).find(|d| d.rank == usize::from(rank)).map(|d| d.centre_m);
        self.desk.dead_spot = Some(rank);
        self.desk.shown.dead_spots = true;
        self.fly(place)
    }

    fn fly(&self, place: Option<[f64; 3]>) -> Vec<Errand> {
        let size = self.document.layout().tank.size();
        place.map(|p| Errand::Fly(p, size.max_element() * 0.5)).into_iter().collect()
    }
}

fn other_units(display: Display) -> Display {
    match display {
        Display::Us => Display::Metric,
        Display::Metric => Display::Us,
    }
}
