//! The plumbing at each step of the pumps' speed programmes.

use super::schedule::Schedule;
use crate::catalog::Catalog;
use crate::layout::{DAY, Layout};

/// A time of day between two changes of any pump's speed.
#[derive(Debug, Clone, PartialEq)]
pub struct DayStep {
    /// s after midnight.
    pub from: f64,
    /// s.
    pub lasts: f64,
    /// All pumps at their speeds of that time.
    pub schedule: Schedule,
}

/// Every step of the day, solved; none without a programme, and none that can't be solved.
pub fn day(layout: &Layout, catalog: &Catalog) -> Vec<DayStep> {
    let mut times: Vec<f64> = layout.pumps.iter().flat_map(|pump| &pump.programme).map(|step| step.from.si().rem_euclid(DAY)).collect();
    times.sort_by(f64::total_cmp);
    times.dedup();
    let end = |i: usize| times.get(i + 1).copied().unwrap_or(times[0] + DAY);
    let step = |(i, from): (usize, &f64)| {
        let schedule = Schedule::new(&layout.clone().at_time(*from), catalog).ok()?;
        Some(DayStep { from: *from, lasts: end(i) - from, schedule })
    };
    times.iter().enumerate().filter_map(step).collect()
}
