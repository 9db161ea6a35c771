//! What-ifs beside the layout as drawn.

use super::{Table, with_unit};
use crate::report::shown;
use crate::safety::WhatIfResult;
use crate::units::{Display, FlowKind, SpeedKind};

/// One row for the layout as drawn, one for each what-if.
pub fn what_ifs(results: &[WhatIfResult], display: Display) -> Table {
    let flow_of = |si| shown::number::<FlowKind>(si, display);
    let speed_of = |si| shown::number::<SpeedKind>(si, display);
    let row = |what: &str, worst: &str, flow: f64, screen: f64| vec![what.to_owned(), worst.to_owned(), flow_of(flow), speed_of(screen)];
    let base = results.first().map(|r| row("as drawn", "", r.base_nozzle_flow_m3_s, r.base_screen_speed_m_s));
    let changed = results.iter().map(|r| row(&r.id, r.worst.map_or("nothing new", |g| g.word()), r.nozzle_flow_m3_s, r.screen_speed_m_s));
    let headings = vec![
        "What if".into(),
        "Worst new".into(),
        with_unit("All nozzles", shown::unit::<FlowKind>(display)),
        with_unit("Fastest screen", shown::unit::<SpeedKind>(display)),
    ];
    Table::new("What if, worst first", headings, "llrr", base.into_iter().chain(changed).collect())
        .with_note("Of the eight angles at which a drum is stalled, the worst is shown.")
}
