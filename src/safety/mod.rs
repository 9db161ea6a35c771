//! Wet-side checks: will the room stay dry and the animals alive? From a layout and its solved plumbing alone.
//!
//! Limits stand in [`limits`]; formulas in [`crate::hydraulics`] and on its method page. Not looked at: swirl, the water that an overflow box itself holds, strength of panels.

mod intakes;
pub mod limits;
mod overflow;
mod pipes;
mod power_cut;
mod pumps;
mod site;
mod tank;
mod vortex;
mod what_ifs;

pub use power_cut::{BackDrain, back_drain_volumes};
pub use pumps::npsh_available;
pub use tank::slosh_period;
pub use vortex::submergence;
pub use what_ifs::{WhatIfResult, single_failures, what_if, what_ifs};

use crate::catalog::Catalog;
use crate::finding::Finding;
use crate::layout::Layout;
use crate::setup::Schedule;
use site::Site;

/// Everything worth saying about the wet side, worst first; among equals in the order of the water's way.
pub fn check(layout: &Layout, catalog: &Catalog, schedule: &Schedule) -> Vec<Finding> {
    let site = Site::new(layout, catalog, schedule);
    let lists = [
        intakes::check(&site),
        vortex::check(&site),
        pipes::check(&site),
        pumps::check(&site),
        overflow::check(&site),
        power_cut::check(&site),
        tank::check(&site),
    ];
    let mut findings = lists.concat();
    findings.sort_by_key(|f| std::cmp::Reverse(f.grade));
    findings
}
