//! A whole study: spin-up, averages over whole cycles, verdict.

use super::{
    Control, Progress, Settings, Study,
    case::Case,
    pool,
    runner::Runner,
    verdict::{self, Ran},
};
use crate::{catalog::Catalog, finding::Finding, layout::Layout};
use std::time::Instant;

/// Wall time between two looks at the watcher, s.
const LOOK_EVERY: f64 = 0.1;

/// Runs a study to its end, or until `watch` answers [`Control::Stop`]: then the verdict is on what there is, and says so.
///
/// # Errors
/// All findings, when the layout can't be computed.
pub fn run(
    layout: &Layout,
    catalog: &Catalog,
    settings: &Settings,
    watch: &mut dyn FnMut(&Progress) -> Control,
) -> Result<Study, Vec<Finding>> {
    let started = Instant::now();
    let case = Case::new(layout, catalog)?;
    let pool = pool::of(settings.threads)?;
    let mut runner = pool.install(|| Runner::new(&case, settings));
    let spin_up = settings.spin_up.max(0.0);
    let total = spin_up + settings.span.seconds(case.cycle()).max(0.0);
    let mut to = |runner: &mut Runner, end: f64, phase: &'static str| loop {
        let progress = Progress { simulated: runner.time(), total, phase, wall_s: started.elapsed().as_secs_f64() };
        if watch(&progress) == Control::Stop {
            return false;
        }
        if pool.install(|| runner.advance_until(end, LOOK_EVERY)) {
            return true;
        }
    };
    let spun_up = to(&mut runner, spin_up, "spin-up");
    runner.begin_averages();
    let finished = spun_up && to(&mut runner, total, "averaging");
    let ran = Ran { threads: pool.current_num_threads(), wall_s: started.elapsed().as_secs_f64(), interrupted: !finished };
    Ok(pool.install(|| {
        runner.finish_averages();
        verdict::judge(&case, &runner, settings, &ran)
    }))
}
