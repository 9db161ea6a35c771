//! Questions asked of a running flow.
#![doc = include_str!("MEASURES.md")]

pub mod case;
pub mod dead_spots;
pub mod exposure;
pub mod fields;
mod findings;
pub mod memory;
pub mod pool;
pub mod probe;
pub mod record;
mod run;
pub mod runner;
pub mod scour;
mod settings;
pub mod statistics;
pub mod surface;
mod trust;
pub mod verdict;
mod words;

pub use fields::Fields;
pub use record::Record;
pub use run::run;
pub use runner::Runner;
pub use settings::{Control, Progress, Settings, Span};

/// A finished study: what it found and the fields behind it.
#[derive(Debug, Clone, PartialEq)]
pub struct Study {
    /// What it found.
    pub record: Record,
    /// The fields.
    pub fields: Fields,
}
