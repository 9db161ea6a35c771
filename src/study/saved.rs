//! A study that was stopped, as bytes, so that it can go on later as if it had not been.
//!
//! A line of text says what it is; then come, in the binary form of `postcard` with a checksum, what the study is of, how far it is, and all
//! that moves. It is read by the same version of the program only.

use super::{
    Settings,
    case::Case,
    runner::{Moving, Runner},
};
use serde::{Deserialize, Serialize};
use std::hash::{DefaultHasher, Hash, Hasher};

/// First line; the number changes with whatever is kept, and with a flow that would go on otherwise than it began.
const TITLE: &[u8] = concat!("slackwater stopped study 6, program ", env!("CARGO_PKG_VERSION"), "\n").as_bytes();

/// How far a study is.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub(super) struct Stage {
    /// Where the batch under way ends, s of simulated time, when the study stops by itself.
    pub batch_end: Option<f64>,
    /// When the averages were found sure, s of simulated time.
    pub settled_at: Option<f64>,
    /// Where the averages end, s of simulated time, once that is known.
    pub end: Option<f64>,
    /// Wall time so far, s.
    pub wall_s: f64,
}

/// What a study is of: fingerprints of layout with pipes and pumps, and of the settings that matter.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
struct Subject {
    layout: u64,
    settings: u64,
}

impl Subject {
    fn of(case: &Case, settings: &Settings) -> Self {
        let settings = Settings { threads: 0, ..settings.clone() };
        Self { layout: fingerprint(&format!("{:?} {:?}", case.layout, case.schedule)), settings: fingerprint(&format!("{settings:?}")) }
    }
}

fn fingerprint<T: Hash + ?Sized>(of: &T) -> u64 {
    let mut hasher = DefaultHasher::new();
    of.hash(&mut hasher);
    hasher.finish()
}

/// The bytes of a study under way.
pub(super) fn bytes(case: &Case, settings: &Settings, stage: &Stage, runner: &Runner) -> Vec<u8> {
    let kept = (Subject::of(case, settings), stage, runner.moving());
    let body = postcard::to_extend(&kept, TITLE.to_vec());
    // Nothing in a study is of unknown length: writing into memory can't fail.
    let mut all = body.unwrap_or_default();
    let sum = fingerprint(all.as_slice());
    all.extend_from_slice(&sum.to_le_bytes());
    all
}

/// Puts a study back to where it was stopped.
///
/// # Errors
/// Why that can't be, in words.
pub(super) fn restore(saved: &[u8], case: &Case, settings: &Settings, runner: &mut Runner) -> Result<Stage, String> {
    let old = "it was written by another version of the program, or is no stopped study at all";
    let body = saved.strip_prefix(TITLE).ok_or(old)?;
    let damaged = "it is damaged: its checksum doesn't fit";
    let (body, sum) = body.split_last_chunk::<8>().ok_or(damaged)?;
    if fingerprint(&saved[..saved.len() - 8]) != u64::from_le_bytes(*sum) {
        return Err(damaged.into());
    }
    let (subject, stage, moving): (Subject, Stage, Moving) = postcard::from_bytes(body).map_err(|_| old)?;
    let now = Subject::of(case, settings);
    if subject.layout != now.layout {
        return Err("the layout, or the catalogue of its pipes and pumps, has changed since".into());
    }
    if subject.settings != now.settings {
        return Err("it was begun with other settings; only --threads may differ".into());
    }
    if runner.restore(moving) { Ok(stage) } else { Err(old.into()) }
}
