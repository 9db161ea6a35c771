//! The running flow: started with the window, told of every change of the layout, asked for its newest picture each frame.

use super::live::Live;
use super::{Desktop, machine};
use crate::catalog::Catalog;
use crate::layout::Layout;
use crate::session::{Command, Session, Snapshot, suggested_cell};
use crate::study::Record;
use bevy::prelude::*;
use std::sync::Arc;
use std::time::Instant;

/// Another tank starts the flow anew: that waits until nothing was edited for so long, s, as a dragged number is many edits.
const SETTLE: f64 = 0.25;
/// Other changes go to the flow at once, but no more often than this, s.
const EVERY: f64 = 0.1;

/// Coarser cells where the processor draws as well: a third less work for the flow. Own judgement, no source.
const BESIDE_PICTURES: f64 = 1.12;

/// The finest cells that this machine keeps up with beside its pictures, m.
pub fn cell_here(layout: &Layout, catalog: &Catalog) -> f64 {
    let alone = suggested_cell(layout, catalog, machine::flow_threads());
    if machine::draws_in_software() { (alone * BESIDE_PICTURES * 1e3).round() / 1e3 } else { alone }
}

/// The running flow, and the one that it is compared with.
#[derive(Resource)]
pub struct Worker {
    own: Session,
    other: Option<Session>,
    told: Told,
}

/// What the flow of the open layout has been told of.
#[derive(Default)]
struct Told {
    tank: Option<crate::layout::Tank>,
    /// When it was told last, and when the layout changed last, s.
    at: f64,
    touched: f64,
    /// Since when the layout has been changed without the flow knowing.
    untold: Option<Instant>,
    layouts: u64,
    /// Changes that no picture carries yet: the number of the layout, and since when it was changed.
    unseen: Vec<(u64, Instant)>,
}

impl Worker {
    /// Start on the model's layout.
    pub fn start(model: &super::model::Model) -> Self {
        let layout = model.document.layout();
        let catalog = &model.document.catalog;
        let own = Session::start(layout.as_ref().clone(), catalog, cell_here(layout, catalog), machine::flow_threads());
        Self { own, other: None, told: Told { tank: Some(layout.tank.clone()), ..Told::default() } }
    }

    /// Tell the flow of the open layout something.
    pub fn tell(&self, command: Command) {
        self.own.send(command);
    }

    /// Tell both flows something.
    pub fn tell_all(&self, command: Command) {
        self.other.iter().for_each(|other| other.send(command.clone()));
        self.tell(command);
    }

    /// A second flow goes on from where the first is, with another layout if there is one. They share the threads.
    pub fn fork(&mut self, layout: Option<Box<Layout>>) {
        self.tell(Command::SetThreads(half()));
        let other = self.own.fork();
        layout.into_iter().for_each(|layout| other.send(Command::SetLayout(layout)));
        self.other = Some(other);
    }

    /// A second flow starts on this layout with cells of this edge (m), and the first starts again with it.
    pub fn beside(&mut self, layout: Layout, catalog: &Catalog, cell: f64) {
        self.tell(Command::SetThreads(half()));
        self.other = Some(Session::start(layout, catalog, cell, half()));
        self.tell(Command::Reset);
    }

    /// End the second flow.
    pub fn unfork(&mut self) {
        self.other = None;
        self.tell(Command::SetThreads(machine::flow_threads()));
    }
}

/// Threads for each of two flows.
fn half() -> usize {
    machine::flow_threads().div_ceil(2)
}

/// Keeps flow and document together.
pub fn plugin(app: &mut App) {
    app.add_systems(PreUpdate, (newest, keep_up, together).chain());
    // After the panels: what they changed is computed while this picture is drawn.
    app.add_systems(Last, changed);
}

fn newest(mut worker: ResMut<Worker>, mut desktop: ResMut<Desktop>) {
    let own = worker.own.latest().filter(|new| is_new(&desktop.live, new));
    let other = worker.other.as_ref().and_then(Session::latest);
    let other = other.filter(|new| desktop.kept.as_ref().is_some_and(|kept| is_new(&kept.live, new)));
    let judged = own.iter().chain(&other).any(|snapshot| snapshot.record.is_some());
    let before = records(&desktop);
    if let Some(snapshot) = own {
        let stale = desktop.live.stale && !worker.told.carries(snapshot.layouts);
        desktop.live.reaction = worker.told.seen(snapshot.layouts).or(desktop.live.reaction);
        desktop.live.take(snapshot);
        desktop.live.stale = stale;
    }
    if let (Some(snapshot), Some(kept)) = (other, &mut desktop.kept) {
        kept.live.take(snapshot);
    }
    if judged && before != records(&desktop) {
        desktop.hold_against();
    }
}

fn is_new(live: &Live, snapshot: &Arc<Snapshot>) -> bool {
    live.snapshot.as_ref().is_none_or(|old| !Arc::ptr_eq(old, snapshot))
}

/// Which verdicts are known, by where they lie.
fn records(desktop: &Desktop) -> [Option<*const Record>; 2] {
    let kept = desktop.kept.as_ref().and_then(|kept| kept.live.record.as_ref());
    [desktop.live.record.as_ref(), kept].map(|record| record.map(Arc::as_ptr))
}

impl Told {
    /// A picture after so many changed layouts shows all that was changed.
    fn carries(&self, layouts: u64) -> bool {
        self.untold.is_none() && layouts >= self.layouts
    }

    /// How long the oldest change that such a picture carries first was on its way, s.
    fn seen(&mut self, layouts: u64) -> Option<f64> {
        let oldest = self.unseen.iter().filter(|(n, _)| *n <= layouts).map(|(_, since)| since.elapsed().as_secs_f64()).reduce(f64::max);
        self.unseen.retain(|(n, _)| *n > layouts);
        oldest
    }

    /// The layout has to be told now.
    fn is_due(&self, now: f64, another_tank: bool) -> bool {
        // One at a time: where building walls takes long, changes must not pile up before the flow.
        self.untold.is_some() && self.unseen.is_empty() && if another_tank { now - self.touched > SETTLE } else { now - self.at >= EVERY }
    }
}

fn changed(mut worker: ResMut<Worker>, mut desktop: ResMut<Desktop>) {
    let now = desktop.now;
    if desktop.refresh() {
        worker.told.touched = now;
        worker.told.untold.get_or_insert_with(Instant::now);
    }
    let another = worker.told.tank.as_ref() != Some(&desktop.document.layout().tank);
    if worker.told.is_due(now, another) {
        worker.tell_layout(&desktop, another);
    }
}

impl Worker {
    fn tell_layout(&mut self, desktop: &Desktop, another_tank: bool) {
        let layout = desktop.as_shown();
        let told = &mut self.told;
        (told.at, told.tank, told.layouts) = (desktop.now, Some(layout.tank.clone()), told.layouts + 1);
        told.unseen.extend(told.untold.take().map(|since| (told.layouts, since)));
        let cell = (another_tank && desktop.desk.cell.is_none()).then(|| cell_here(&layout, &desktop.document.catalog));
        self.tell(Command::SetCatalog(Box::new(desktop.document.catalog.as_ref().clone())));
        self.tell(Command::SetLayout(Box::new(layout)));
        cell.into_iter().for_each(|cell| self.tell(Command::SetCell(cell)));
    }
}

/// Under this share of real time the automatic cells are too fine for the machine as it is loaded now.
const TOO_SLOW: f64 = 0.6;
/// How long that is watched after a start, s.
const WATCHED: f64 = 6.0;
/// Coarsest automatic cells, m.
const COARSEST: f64 = 0.06;

/// How long a flow has run since it started anew or was changed.
#[derive(Default)]
struct Watch {
    generation: Option<u64>,
    revision: u64,
    since: f64,
    done: bool,
}

/// Coarser cells, once for each start and each change of the layout, when the window and other programs leave the flow too little of the machine.
fn keep_up(worker: Res<Worker>, desktop: Res<Desktop>, mut watch: Local<Watch>) {
    let Some(flow) = desktop.live.snapshot.as_ref().filter(|_| desktop.desk.cell.is_none() && desktop.desk.playing) else { return };
    let revision = desktop.document.revision();
    if watch.generation != Some(flow.generation) || watch.revision != revision {
        let coarsened = watch.done && watch.revision == revision && watch.generation.is_some_and(|g| g + 1 == flow.generation);
        *watch = Watch { generation: Some(flow.generation), revision, since: desktop.now, done: coarsened };
    }
    // A full study takes its share for a while; that says nothing about the cells.
    if watch.done || desktop.jobs.study.is_some() || desktop.now - watch.since < WATCHED {
        return;
    }
    watch.done = true;
    let wanted = desktop.desk.pace.min(1.0);
    if flow.real_time_factor < TOO_SLOW * wanted && flow.h < COARSEST {
        // Work for a second of tank time goes with the fourth power of the cell edge.
        let edge = flow.h * (wanted / flow.real_time_factor.max(0.01)).powf(0.25).min(1.6);
        worker.tell(Command::SetCell((edge * 1e3).ceil().min(COARSEST * 1e3) / 1e3));
    }
}

/// Two flows further apart in time than this are brought together, s.
const APART: f64 = 0.1;
/// How soon they are, s.
const SOON: f64 = 1.0;
/// How often the two are looked at, s.
const LOOK_EVERY: f64 = 0.3;

/// Both flows at the same time: the one ahead waits for the other; when the open layout's water starts from rest, the other's does too.
pub(super) fn together(worker: Res<Worker>, desktop: Res<Desktop>, mut looked: Local<f64>, mut generation: Local<Option<u64>>) {
    let (Some(other), Some(kept), Some(own)) = (&worker.other, &desktop.kept, &desktop.live.snapshot) else {
        *generation = None;
        return;
    };
    let Some(others) = kept.live.snapshot.as_ref().filter(|s| !s.velocity.is_empty()) else { return };
    if generation.replace(own.generation).is_some_and(|before| before != own.generation) {
        other.send(Command::SetCell(own.h));
    }
    if desktop.now - *looked < LOOK_EVERY || !desktop.desk.playing {
        return;
    }
    *looked = desktop.now;
    let (ahead, pace) = (own.time - others.time, desktop.desk.pace);
    worker.own.send(Command::SetPace(reined(pace, ahead, others)));
    other.send(Command::SetPace(reined(pace, -ahead, own)));
}

/// The pace of a flow that is so far `ahead` (s) of the `other`.
fn reined(pace: f64, ahead: f64, other: &Snapshot) -> f64 {
    let slower = other.real_time_factor.max(0.05) * (1.0 - (ahead - APART) / SOON);
    if ahead > APART { slower.clamp(0.02, pace) } else { pace }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_are_told_at_once_but_another_tank_when_it_is_settled() {
        let mut told = Told { at: 1.0, touched: 2.0, ..Told::default() };
        assert!(!told.is_due(2.0, false), "nothing was changed");
        told.untold = Some(Instant::now());
        assert!(!Told { unseen: vec![(1, Instant::now())], untold: told.untold, ..Told::default() }.is_due(9.0, false));
        assert!(told.is_due(2.0, false) && !told.is_due(1.05, false));
        assert!(!told.is_due(2.1, true) && told.is_due(2.3, true));
    }

    #[test]
    fn a_picture_carries_the_changes_before_it() {
        let mut told = Told { layouts: 2, unseen: vec![(1, Instant::now()), (2, Instant::now())], ..Told::default() };
        assert_eq!(told.seen(0), None);
        assert!(!told.carries(1) && told.seen(1).is_some() && told.seen(1).is_none());
        assert!(told.carries(2) && told.seen(2).is_some());
    }
}
