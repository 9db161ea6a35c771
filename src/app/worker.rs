//! The running flow: started with the window, told of every change of the layout, asked for its newest picture each frame.

use super::Desktop;
use crate::session::{Command, Session, suggested_cell};
use bevy::prelude::*;

/// Wait this long after an edit before the flow starts anew, s: a dragged number is many edits.
const SETTLE: f64 = 0.25;

/// The running flow.
#[derive(Resource)]
pub struct Worker(Session);

impl Worker {
    /// Start on the model's layout.
    pub fn start(model: &super::model::Model) -> Self {
        let layout = model.document.layout();
        Self(Session::start(layout.as_ref().clone(), &model.document.catalog, suggested_cell(layout, &model.document.catalog, 0), 0))
    }

    /// Tell it something.
    pub fn tell(&self, command: Command) {
        self.0.send(command);
    }
}

/// Keeps flow and document together.
pub fn plugin(app: &mut App) {
    app.add_systems(PreUpdate, (newest, changed, keep_up).chain());
}

fn newest(worker: Res<Worker>, mut desktop: ResMut<Desktop>) {
    let Some(snapshot) = worker.0.latest() else { return };
    let new = desktop.live.snapshot.as_ref().is_none_or(|old| !std::sync::Arc::ptr_eq(old, &snapshot));
    if new {
        desktop.live.take(snapshot);
    }
}

/// What the flow has been told of.
#[derive(Default)]
struct Told {
    revision: u64,
    since: Option<f64>,
    tank: Option<crate::layout::Tank>,
}

fn changed(worker: Res<Worker>, mut desktop: ResMut<Desktop>, mut told: Local<Told>) {
    if desktop.refresh() {
        told.since = Some(desktop.now);
    }
    let due = told.since.is_some_and(|t| desktop.now - t > SETTLE) && desktop.document.revision() != told.revision;
    if due {
        told.since = None;
        told.revision = desktop.document.revision();
        let layout = desktop.document.layout();
        let another = told.tank.as_ref().is_some_and(|t| *t != layout.tank);
        told.tank = Some(layout.tank.clone());
        worker.tell(Command::SetCatalog(Box::new(desktop.document.catalog.as_ref().clone())));
        worker.tell(Command::SetLayout(Box::new(layout.as_ref().clone())));
        if another && desktop.desk.cell.is_none() {
            worker.tell(Command::SetCell(suggested_cell(layout, &desktop.document.catalog, 0)));
        }
    }
}

/// Under this share of real time the automatic cells are too fine for the machine as it is loaded now.
const TOO_SLOW: f64 = 0.6;
/// How long that is watched after a start, s.
const WATCHED: f64 = 6.0;
/// Coarsest automatic cells, m.
const COARSEST: f64 = 0.06;

/// How long a flow has run since it started anew.
#[derive(Default)]
struct Watch {
    generation: Option<u64>,
    since: f64,
    done: bool,
}

/// Coarser cells, once for each start, when the window and other programs leave the flow too little of the machine.
fn keep_up(worker: Res<Worker>, desktop: Res<Desktop>, mut watch: Local<Watch>) {
    let Some(flow) = desktop.live.snapshot.as_ref().filter(|_| desktop.desk.cell.is_none() && desktop.desk.playing) else { return };
    if watch.generation != Some(flow.generation) {
        let coarsened = watch.done && watch.generation.is_some_and(|g| g + 1 == flow.generation);
        *watch = Watch { generation: Some(flow.generation), since: desktop.now, done: coarsened };
    }
    if watch.done || desktop.now - watch.since < WATCHED {
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
