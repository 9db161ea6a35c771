//! What `slackwater check --json` prints, and the part of it that a study shares: the plumbing over one joint cycle.

use crate::finding::Finding;
use crate::safety::WhatIfResult;
use crate::study::record::{DrumRecord, IntakeRecord, LinkRecord, NozzleRecord, OutletRecord, PumpRecord, Record};
use serde::{Deserialize, Serialize};

/// Version of [`CheckReport`]'s form.
pub const CHECK_VERSION: u32 = 1;

/// The answer to one `check` command. Adding fields is allowed, renaming is not.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CheckReport {
    /// [`CHECK_VERSION`].
    pub check_version: u32,
    /// One entry per file, in the order typed.
    pub files: Vec<CheckRecord>,
}

/// The check of one layout file.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct CheckRecord {
    /// The file as typed.
    pub file: String,
    /// Name of the layout; empty when the file could not be read.
    pub layout: String,
    /// It can be computed.
    pub usable: bool,
    /// The plumbing over one joint cycle; `None` when it can't be computed.
    pub plumbing: Option<Plumbing>,
    /// Everything found, worst first.
    pub findings: Vec<Located>,
    /// What-ifs that were asked for, worst first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub what_ifs: Vec<WhatIfResult>,
}

/// A finding and where its part stands in the file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Located {
    /// The finding.
    #[serde(flatten)]
    pub finding: Finding,
    /// Line in the file, from 1; `None` where the part has none.
    pub line: Option<usize>,
    /// Column, from 1.
    pub column: Option<usize>,
}

/// The plumbing over one joint cycle.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Plumbing {
    /// Joint cycle of all drum units, s.
    pub cycle_s: f64,
    /// Every pump.
    pub pumps: Vec<PumpRecord>,
    /// Every pipe run.
    pub links: Vec<LinkRecord>,
    /// Every drum outlet.
    pub outlets: Vec<OutletRecord>,
    /// Every nozzle.
    pub nozzles: Vec<NozzleRecord>,
    /// Every intake.
    pub intakes: Vec<IntakeRecord>,
    /// Every drum unit.
    #[serde(default)]
    pub drums: Vec<DrumRecord>,
}

impl From<&Record> for Plumbing {
    fn from(record: &Record) -> Self {
        Self {
            cycle_s: record.cycle_s,
            pumps: record.pumps.clone(),
            links: record.links.clone(),
            outlets: record.outlets.clone(),
            nozzles: record.nozzles.clone(),
            intakes: record.intakes.clone(),
            drums: record.drums.clone(),
        }
    }
}
