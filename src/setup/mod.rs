//! The only translator: a layout becomes a pipe network, a grid with walls, and jets and sinks that follow the sequence.

pub mod basin;
pub mod drums;
mod fit;
pub mod plumbing;
pub mod port;
pub mod programme;
pub mod rock;
pub mod schedule;
pub mod seep;
pub mod surface;
pub mod tables;

pub use schedule::Schedule;

use crate::{layout::Layout, water::WaterProperties};

/// Properties of a layout's water at its temperature and salinity.
pub fn water(layout: &Layout) -> WaterProperties {
    WaterProperties::new(layout.water.temperature.si(), layout.water.salinity.si())
}
