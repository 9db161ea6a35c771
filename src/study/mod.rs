//! Questions asked of a running flow.
#![doc = include_str!("MEASURES.md")]

pub mod age;
pub mod batches;
mod carried;
pub mod case;
pub mod cause;
pub mod compare;
pub mod course;
pub mod dead_spots;
pub mod detritus;
pub mod exposure;
pub mod fields;
mod findings;
pub mod fish;
pub mod grid_error;
mod grids;
pub mod histogram;
pub mod memory;
pub mod mixing;
pub mod motion;
pub mod pool;
pub mod probe;
pub mod record;
pub mod recording;
mod run;
pub mod runner;
mod saved;
pub mod scalar;
pub mod scour;
pub mod seepage;
mod settings;
mod side_by_side;
pub mod skin;
pub mod statistics;
pub mod surface;
mod trust;
pub mod verdict;
pub mod watched;
mod words;

pub use fields::Fields;
pub use record::Record;
pub use run::{NOT_RESUMED, Saves, resumable, run, with_motion};
pub use runner::Runner;
pub use settings::{Control, Extra, Progress, Settings, Span, Watch};

/// A finished study: what it found and the fields behind it.
#[derive(Debug, Clone, PartialEq)]
pub struct Study {
    /// What it found.
    pub record: Record,
    /// The fields.
    pub fields: Fields,
}
