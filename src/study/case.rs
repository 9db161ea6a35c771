//! Everything about a layout that is known before its water moves.

use crate::{
    catalog::Catalog,
    finding::Finding,
    layout::{self, Layout},
    safety,
    setup::{
        schedule::Schedule,
        tables::{self, PlumbingTables},
    },
};

/// A layout with its solved plumbing.
#[derive(Debug, Clone)]
pub struct Case {
    /// What is studied.
    pub layout: Layout,
    /// Every drum position of the joint cycle, solved.
    pub schedule: Schedule,
    /// Pumps, pipes, outlets, nozzles and intakes over the cycle.
    pub tables: PlumbingTables,
    /// What the layout check, the plumbing and the wet-side checks say.
    pub findings: Vec<Finding>,
}

impl Case {
    /// Checks the layout and solves its plumbing.
    ///
    /// # Errors
    /// All findings, when one of them makes the layout impossible to compute.
    pub fn new(layout: &Layout, catalog: &Catalog) -> Result<Self, Vec<Finding>> {
        let mut findings = layout::check(layout, catalog);
        if findings.iter().any(|finding| finding.blocks) {
            return Err(findings);
        }
        let schedule = match Schedule::new(layout, catalog) {
            Ok(schedule) => schedule,
            Err(more) => return Err([findings, more].concat()),
        };
        findings.extend(schedule.findings.iter().cloned());
        findings.extend(safety::check(layout, catalog, &schedule));
        let tables = tables::tables(layout, catalog, &schedule);
        Ok(Self { layout: layout.clone(), schedule, tables, findings })
    }

    /// Joint cycle, s; never zero.
    pub fn cycle(&self) -> f64 {
        self.schedule.period.max(1e-3)
    }
}
