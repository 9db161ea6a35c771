//! A whole study: spin-up, averages over whole cycles, verdict.

use super::{
    Control, Progress, Settings, Study, Watch, carried,
    case::Case,
    grids, pool,
    recording::Plan,
    runner::Runner,
    verdict::{self, Ran},
};
use crate::{catalog::Catalog, finding::Finding, layout::Layout};
use rayon::ThreadPool;
use std::time::Instant;

/// Wall time between two looks at the watcher, s.
const LOOK_EVERY: f64 = 0.1;

/// Runs a study to its end, or until `watch` answers [`Control::Stop`]: then the verdict is on what there is, and says so.
///
/// # Errors
/// All findings, when the layout can't be computed.
pub fn run(layout: &Layout, catalog: &Catalog, settings: &Settings, watch: &mut Watch) -> Result<Study, Vec<Finding>> {
    let started = Instant::now();
    let case = Case::new(layout, catalog)?;
    let pool = pool::of(settings.threads)?;
    let mut course = Course { runner: pool.install(|| Runner::new(&case, settings)), pool: &pool, case: &case, settings, started, watch };
    let (finished, settled_at_s) = course.follow();
    let ran = Ran { threads: pool.current_num_threads(), wall_s: started.elapsed().as_secs_f64(), interrupted: !finished, settled_at_s };
    let mut runner = course.runner;
    let mut study = pool.install(|| {
        runner.finish_averages();
        verdict::judge(&case, &runner, settings, &ran)
    });
    if finished {
        pool.install(|| carried::add(&mut study, (&case, &runner), settings, watch));
        if settings.extra.grid_error {
            grids::add(&mut study, (layout, catalog), settings, watch)?;
        }
    }
    Ok(study)
}

/// A study under way.
struct Course<'a> {
    runner: Runner,
    pool: &'a ThreadPool,
    case: &'a Case,
    settings: &'a Settings,
    started: Instant,
    watch: &'a mut Watch<'a>,
}

impl Course<'_> {
    /// Spin-up, averages, recording; whether it came to its end, and when the averages were found sure.
    fn follow(&mut self) -> (bool, Option<f64>) {
        let spin_up = self.settings.spin_up.max(0.0);
        let cycle = self.case.cycle();
        let span = self.settings.span;
        let most = if self.settings.until_settled { span.most_seconds(cycle) } else { span.seconds(cycle) };
        let total = spin_up + most.max(0.0);
        if !self.to(spin_up, total, "spin-up") {
            self.runner.begin_averages();
            return (false, None);
        }
        self.runner.begin_averages();
        let plan = Plan::new(cycle, self.runner.basin().grid.cells());
        if self.settings.until_settled {
            return self.until_settled(total, plan);
        }
        let record_from = (total - plan.seconds).max(spin_up);
        let finished = self.to(record_from, total, "averaging") && self.recorded(total, total);
        (finished, None)
    }

    /// Batch after batch until the averages are sure. While their halves differ, what was averaged counts as spin-up and they begin anew.
    fn until_settled(&mut self, total: f64, plan: Plan) -> (bool, Option<f64>) {
        let batch = self.runner.statistics().batch_s();
        let mut settled_at = None;
        while settled_at.is_none() && self.runner.time() < total - 1e-6 {
            let end = (self.runner.time() + batch).min(total);
            if !self.to(end, total, "averaging until settled") {
                return (false, None);
            }
            let statistics = self.runner.statistics();
            if statistics.is_sure(self.case.cycle()) {
                settled_at = Some(self.runner.time());
            } else if statistics.drifts(self.case.cycle()) {
                self.runner.begin_averages();
            }
            if self.runner.counters().broken {
                break;
            }
        }
        let end = self.runner.time() + if self.settings.extra.carries() { plan.seconds } else { 0.0 };
        (self.recorded(end, total.max(end)), settled_at)
    }

    /// Goes on to `end` (s), recording if somebody needs it.
    fn recorded(&mut self, end: f64, total: f64) -> bool {
        if self.settings.extra.carries() {
            let seconds = end - self.runner.time();
            let plan = Plan::new(seconds.max(1e-3), self.runner.basin().grid.cells());
            self.runner.begin_recording(Plan { seconds, ..plan });
        }
        let finished = self.to(end, total, "averaging");
        self.pool.install(|| self.runner.end_recording());
        finished
    }

    fn to(&mut self, end: f64, total: f64, phase: &'static str) -> bool {
        loop {
            let wall_s = self.started.elapsed().as_secs_f64();
            let progress = Progress { simulated: self.runner.time(), total, phase, wall_s };
            if (self.watch)(&progress) == Control::Stop {
                return false;
            }
            if self.pool.install(|| self.runner.advance_until(end, LOOK_EVERY)) {
                return true;
            }
        }
    }
}
