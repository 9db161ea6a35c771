//! A whole study: spin-up, averages over whole cycles, verdict.

use super::{
    Control, Progress, Settings, Study, Watch, carried,
    case::Case,
    grids,
    motion::{Motion, Recorder},
    pool,
    recording::Plan,
    runner::Runner,
    verdict::{self, Ran},
};
use crate::{catalog::Catalog, finding::Finding, layout::Layout, setup::basin::Basin};
use rayon::ThreadPool;
use std::time::Instant;

/// Wall time between two looks at the watcher, s.
const LOOK_EVERY: f64 = 0.1;
/// Name of the phase before the averages.
const SPIN_UP: &str = "spin-up";

/// Runs a study to its end, or until `watch` answers [`Control::Stop`]: then the verdict is on what there is, and says so.
///
/// # Errors
/// All findings, when the layout can't be computed.
pub fn run(layout: &Layout, catalog: &Catalog, settings: &Settings, watch: &mut Watch) -> Result<Study, Vec<Finding>> {
    let case = Case::new(layout, catalog)?;
    let (mut study, ..) = studied(&case, settings, watch, None)?;
    if !study.record.run.interrupted && settings.extra.grid_error {
        grids::add(&mut study, (layout, catalog), settings, watch)?;
    }
    Ok(study)
}

/// Runs a study and keeps one cycle of the moving water, from the start of the averages on. The study is the same, bit for bit, as without.
///
/// # Errors
/// As [`run`].
pub fn with_motion(case: &Case, settings: &Settings, watch: &mut Watch) -> Result<(Study, Motion), Vec<Finding>> {
    let recorder = || Recorder::new(Basin::new(&case.layout, settings.cell).grid, case.cycle());
    let (study, runner, recorded) = studied(case, settings, watch, Some(recorder()))?;
    Ok((study, recorded.unwrap_or_else(recorder).finish(&runner)))
}

type Studied = (Study, Runner, Option<Recorder>);

fn studied(case: &Case, settings: &Settings, watch: &mut Watch, recorder: Option<Recorder>) -> Result<Studied, Vec<Finding>> {
    let started = Instant::now();
    let pool = pool::of(settings.threads)?;
    let runner = pool.install(|| Runner::new(case, settings));
    let mut course = Course { runner, recorder, pool: &pool, case, settings, started, watch };
    let (finished, settled_at_s) = course.follow();
    let ran = Ran { threads: pool.current_num_threads(), wall_s: started.elapsed().as_secs_f64(), interrupted: !finished, settled_at_s };
    let (mut runner, recorder) = (course.runner, course.recorder);
    let mut study = pool.install(|| {
        runner.finish_averages();
        verdict::judge(case, &runner, settings, &ran)
    });
    if finished {
        pool.install(|| carried::add(&mut study, (case, &runner), settings, watch));
    }
    Ok((study, runner, recorder))
}

/// A study under way.
struct Course<'a> {
    runner: Runner,
    /// Keeps one cycle of the motion, from the start of the averages on, if somebody wants it.
    recorder: Option<Recorder>,
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
        if !self.to(spin_up, total, SPIN_UP) {
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
            let recorder = if phase == SPIN_UP { &mut None } else { &mut self.recorder };
            if self.pool.install(|| advance(&mut self.runner, end, recorder)) {
                return true;
            }
        }
    }
}

/// On to `end` (s), or as far as comes before the next look at the watcher; true when the end was reached.
fn advance(runner: &mut Runner, end: f64, recorder: &mut Option<Recorder>) -> bool {
    let Some(recorder) = recorder else { return runner.advance_until(end, LOOK_EVERY) };
    let started = Instant::now();
    recorder.see(runner);
    while started.elapsed().as_secs_f64() < LOOK_EVERY {
        let is_done = runner.advance_one(end);
        recorder.see(runner);
        if is_done {
            return true;
        }
    }
    false
}
