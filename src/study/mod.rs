//! Questions asked of a running flow.

pub mod fields;
pub mod record;
mod settings;

pub use fields::Fields;
pub use record::Record;
pub use settings::{Control, Progress, Settings, Span};

/// A finished study: what it found and the fields behind it.
#[derive(Debug, Clone, PartialEq)]
pub struct Study {
    /// What it found.
    pub record: Record,
    /// The fields.
    pub fields: Fields,
}
