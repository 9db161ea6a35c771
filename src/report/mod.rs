//! A study's results for people and programs: text, pictures, HTML, JSON, CSV, VTK. Reads records and fields; computes no flow.

pub mod cautions;
pub mod check_record;
pub mod pictures;
#[cfg(test)]
mod sample;
pub mod shown;
pub mod text;
pub mod verdict;
