//! The running flow: started with the window, told of every change of the layout, asked for its newest picture each frame.

use super::Desktop;
use super::live::Live;
use crate::catalog::Catalog;
use crate::layout::Layout;
use crate::session::{Command, Session, Snapshot, suggested_cell};
use crate::study::Record;
use bevy::prelude::*;
use std::sync::Arc;

/// Wait this long after an edit before the flow starts anew, s: a dragged number is many edits.
const SETTLE: f64 = 0.25;

/// The running flow, and the one that it is compared with.
#[derive(Resource)]
pub struct Worker {
    own: Session,
    other: Option<Session>,
}

impl Worker {
    /// Start on the model's layout.
    pub fn start(model: &super::model::Model) -> Self {
        let layout = model.document.layout();
        let catalog = &model.document.catalog;
        Self { own: Session::start(layout.as_ref().clone(), catalog, suggested_cell(layout, catalog, 0), 0), other: None }
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

    /// A second flow goes on from where the first is, with another layout if there is one.
    pub fn fork(&mut self, layout: Option<Box<Layout>>) {
        let other = self.own.fork();
        layout.into_iter().for_each(|layout| other.send(Command::SetLayout(layout)));
        self.other = Some(other);
    }

    /// A second flow starts on this layout with cells of this edge (m), and the first starts again with it.
    pub fn beside(&mut self, layout: Layout, catalog: &Catalog, cell: f64) {
        self.other = Some(Session::start(layout, catalog, cell, 0));
        self.tell(Command::Reset);
    }

    /// End the second flow.
    pub fn unfork(&mut self) {
        self.other = None;
    }
}

/// Keeps flow and document together.
pub fn plugin(app: &mut App) {
    app.add_systems(PreUpdate, (newest, changed, keep_up, together).chain());
}

fn newest(worker: Res<Worker>, mut desktop: ResMut<Desktop>) {
    let own = worker.own.latest().filter(|new| is_new(&desktop.live, new));
    let other = worker.other.as_ref().and_then(Session::latest);
    let other = other.filter(|new| desktop.kept.as_ref().is_some_and(|kept| is_new(&kept.live, new)));
    let judged = own.iter().chain(&other).any(|snapshot| snapshot.record.is_some());
    let before = records(&desktop);
    if let Some(snapshot) = own {
        desktop.live.take(snapshot);
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

/// What the flow has been told of.
#[derive(Default)]
struct Told {
    revision: (u64, Option<crate::units::Display>),
    since: Option<f64>,
    tank: Option<crate::layout::Tank>,
}

fn changed(worker: Res<Worker>, mut desktop: ResMut<Desktop>, mut told: Local<Told>) {
    if told.tank.is_none() {
        told.tank = Some(desktop.document.layout().tank.clone());
    }
    if desktop.refresh() {
        told.since = Some(desktop.now);
    }
    let newest = (desktop.document.revision(), Some(desktop.desk.display));
    let due = told.since.is_some_and(|t| desktop.now - t > SETTLE) && newest != told.revision;
    if due {
        told.since = None;
        told.revision = newest;
        let layout = desktop.as_shown();
        let another = told.tank.as_ref().is_some_and(|t| *t != layout.tank);
        told.tank = Some(layout.tank.clone());
        let cell = (another && desktop.desk.cell.is_none()).then(|| suggested_cell(&layout, &desktop.document.catalog, 0));
        worker.tell(Command::SetCatalog(Box::new(desktop.document.catalog.as_ref().clone())));
        worker.tell(Command::SetLayout(Box::new(layout)));
        cell.into_iter().for_each(|cell| worker.tell(Command::SetCell(cell)));
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
