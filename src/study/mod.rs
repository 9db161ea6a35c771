//! Questions asked of a running flow.

pub mod record;
