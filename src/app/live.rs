//! What is known about the layout just now: its sequence, its plumbing, the running flow and the verdict so far.

use super::part::Part;
use super::pick;
use crate::catalog::Catalog;
use crate::finding::{Finding, Grade};
use crate::layout::solid::Solid;
use crate::layout::{self, Layout, Mount, Point};
use crate::session::Snapshot;
use crate::setup::schedule::Schedule;
use crate::study::{Fields, Record};
use crate::units::Length;
use std::sync::Arc;

/// Averaged time (s of tank time) from which dead spots are shown; the window says how much of a cycle that is. Own judgement, no source.
pub const ENOUGH_S: f64 = 30.0;

/// A finding, known again after its numbers have changed: the running average renews them every second.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Which {
    rule: String,
    part: String,
    /// Of those with the same rule and part.
    nth: usize,
}

/// What is known about the layout just now.
#[derive(Default, Clone)]
pub struct Live {
    /// Outlets and flows over the joint cycle; `None` when the layout can't be computed.
    pub schedule: Option<Arc<Schedule>>,
    /// From the geometry and the plumbing, without the flow.
    pub checks: Vec<Finding>,
    /// The newest picture of the flow.
    pub snapshot: Option<Arc<Snapshot>>,
    /// The newest averages.
    pub fields: Option<Arc<Fields>>,
    /// The newest verdict.
    pub record: Option<Arc<Record>>,
    /// Worst first: the verdict's findings, or the checks while there is none.
    pub findings: Vec<Finding>,
    /// The running flow belongs to an older layout.
    pub stale: bool,
    /// How long the last change of the layout took to be in the picture of the flow, s.
    pub reaction: Option<f64>,
    /// Something in the layout moves the water.
    pub moved: bool,
    /// What the schedule was computed from.
    pipes: Option<Layout>,
    /// What can be pointed at.
    pub solids: Arc<Vec<(Part, Solid)>>,
}

impl Live {
    /// What can be said of a layout at once, in well under a second; `more` is found of it already.
    pub fn look(&mut self, layout: &Layout, catalog: &Catalog, more: Option<Finding>) {
        self.checks = layout::check(layout, catalog);
        self.checks.extend(more);
        self.stale = true;
        let pipes = pipes_only(layout);
        if self.schedule.is_none() || self.pipes.as_ref() != Some(&pipes) {
            self.schedule = None;
            match Schedule::new(layout, catalog) {
                Ok(schedule) => self.schedule = Some(Arc::new(schedule)),
                Err(why) => self.checks.extend(why),
            }
            self.pipes = Some(pipes);
        }
        if let Some(schedule) = &self.schedule {
            self.checks.extend(schedule.findings.iter().cloned());
            self.checks.extend(crate::safety::check(layout, catalog, schedule));
        }
        self.record = None;
        self.moved = moves(layout);
        self.solids = Arc::new(pick::solids(layout));
        self.list();
    }

    /// Take in a newer picture of the flow.
    pub fn take(&mut self, snapshot: Arc<Snapshot>) {
        let anew = self.snapshot.as_ref().is_none_or(|old| old.generation != snapshot.generation);
        if anew {
            (self.fields, self.record) = (None, None);
        }
        self.stale = false;
        let verdict_is_new = snapshot.record.is_some() || !snapshot.problem.is_empty();
        self.fields = snapshot.fields.clone().or(self.fields.take());
        self.record = snapshot.record.clone().or(self.record.take());
        self.snapshot = Some(snapshot);
        if anew || verdict_is_new {
            self.list();
        }
    }

    /// The newest picture of the flow that there is water in.
    pub fn flow(&self) -> Option<&Snapshot> {
        self.snapshot.as_deref().filter(|s| !s.velocity.is_empty() && s.velocity.len() == s.water.len())
    }

    /// The verdict on the flow, once enough is averaged for it to mean something: a cycle, or [`ENOUGH_S`].
    pub fn verdict(&self) -> Option<&Record> {
        let enough = self.schedule.as_ref().map_or(ENOUGH_S, |s| s.period.min(ENOUGH_S));
        let averaged = self.snapshot.as_ref().map_or(0.0, |s| s.averaged);
        self.record.as_deref().filter(|_| averaged >= enough && self.moved)
    }

    /// Worst first; the same statement once.
    fn list(&mut self) {
        let mut findings = self.checks.clone();
        findings.extend(self.verdict().iter().flat_map(|r| r.findings.iter().cloned()));
        findings.extend(self.snapshot.iter().flat_map(|s| s.problem.iter().cloned()));
        findings.sort_by(|a, b| b.grade.cmp(&a.grade).then_with(|| b.place.is_some().cmp(&a.place.is_some())));
        let mut seen = std::collections::HashSet::new();
        findings.retain(|f| seen.insert((f.rule.clone(), f.part.clone(), f.place.map(|p| p.map(|x| (x * 100.0) as i64)))));
        self.findings = findings;
    }

    /// Which finding stands at this place of the list.
    pub fn which(&self, index: usize) -> Option<Which> {
        let finding = self.findings.get(index)?;
        let alike = |f: &&Finding| f.rule == finding.rule && f.part == finding.part;
        let nth = self.findings[..index].iter().filter(alike).count();
        Some(Which { rule: finding.rule.clone(), part: finding.part.clone(), nth })
    }

    /// Where it stands in the list now.
    pub fn place(&self, which: &Which) -> Option<usize> {
        (0..self.findings.len()).find(|&index| self.which(index).as_ref() == Some(which))
    }

    /// How many findings have this grade.
    pub fn count(&self, grade: Grade) -> usize {
        self.findings.iter().filter(|f| f.grade == grade).count()
    }

    /// What keeps the layout from being computed.
    pub fn blocked(&self) -> Option<&Finding> {
        self.findings.iter().find(|f| f.blocks)
    }
}

/// Whether anything can set the water in motion.
fn moves(layout: &Layout) -> bool {
    !layout.nozzles.is_empty() || !layout.propellers.is_empty()
}

/// The layout without what plays no part in the plumbing, so that dragging rock or turning a jet doesn't solve it again.
fn pipes_only(layout: &Layout) -> Layout {
    let mut pipes = Layout {
        name: String::new(),
        notes: String::new(),
        rocks: Vec::new(),
        colonies: Vec::new(),
        zones: Vec::new(),
        probes: Vec::new(),
        propellers: Vec::new(),
        ..layout.clone()
    };
    let (size, level) = (layout.tank.size(), layout.tank.water_level.si());
    let nowhere = || Mount::PipeEnd(Point(Length::new(0.0, "m"), Length::new(0.0, "m"), Length::new(0.0, "m")));
    for nozzle in &mut pipes.nozzles {
        nozzle.aim = super::reach::angles(glam::DVec3::X);
        // Under water the depth of an outlet makes no difference to its flow.
        if nozzle.mount.centre(size).z <= level {
            nozzle.mount = nowhere();
        }
    }
    pipes.intakes.iter_mut().for_each(|intake| intake.mount = nowhere());
    pipes
}
