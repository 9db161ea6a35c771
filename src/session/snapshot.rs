//! What a session shows of itself, and what it can be told.

use super::fork::Fork;
use crate::{
    catalog::Catalog,
    finding::Finding,
    layout::Layout,
    study::{Fields, Record},
};
use std::sync::Arc;

/// What a session can be told.
#[derive(Debug, Clone)]
pub enum Command {
    /// Stop simulated time; the last snapshot stays.
    Pause,
    /// Let simulated time run.
    Play,
    /// Look pipes and fittings up in this catalogue from the next layout on.
    SetCatalog(Box<Catalog>),
    /// Go on with a changed layout; what hasn't changed is kept.
    SetLayout(Box<Layout>),
    /// Start again with this cell edge, m.
    SetCell(f64),
    /// Compute with so many threads from now on.
    SetThreads(usize),
    /// Simulated seconds per second of wall time, at most; 1 shows the motion as it would be.
    SetPace(f64),
    /// Forget the averages and begin new ones.
    ResetMean,
    /// Start again from water at rest.
    Reset,
    /// Let a second session go on from here; see [`super::Session::fork`].
    Fork(Fork),
    /// End the session.
    Stop,
}

/// The flow at one moment. A newer one replaces an older one; none is queued.
#[derive(Debug, Clone)]
pub struct Snapshot {
    /// Simulated time, s.
    pub time: f64,
    /// Simulated time that the averages cover, s.
    pub averaged: f64,
    /// Cells along x, y, z.
    pub n: [usize; 3],
    /// Cell edge, m.
    pub h: f64,
    /// Share of each cell that is open water.
    pub water: Arc<Vec<f32>>,
    /// Velocity at the middle of each cell, m/s.
    pub velocity: Vec<[f32; 3]>,
    /// Averages so far; renewed about once a second.
    pub fields: Option<Arc<Fields>>,
    /// The verdict so far; renewed with the averages.
    pub record: Option<Arc<Record>>,
    /// Simulated seconds per second of wall time, lately; 0 while paused.
    pub real_time_factor: f64,
    /// Cells times steps per second of solver time, lately.
    pub cell_steps_per_s: f64,
    /// Simulated time stands still.
    pub paused: bool,
    /// Why nothing can be computed, or why the solver stopped; empty when all is well.
    pub problem: Vec<Finding>,
    /// How many changed layouts the session had been given by then.
    pub layouts: u64,
    /// Goes up by one whenever the water starts from rest (other cells, or reset), so that viewers drop what they keep.
    pub generation: u64,
}
