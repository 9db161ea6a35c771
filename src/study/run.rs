//! A whole study: spin-up, averages over whole cycles, verdict.

use super::{
    Control, Progress, Settings, Study, Watch, carried,
    case::Case,
    grids,
    motion::{Motion, Recorder},
    pool,
    recording::Plan,
    runner::Runner,
    saved::{self, Stage},
    verdict::{self, Ran},
};
use crate::{
    catalog::Catalog,
    finding::{Finding, Grade},
    layout::Layout,
    setup::basin::Basin,
};
use rayon::ThreadPool;
use std::time::Instant;

/// Wall time between two looks at the watcher, s.
const LOOK_EVERY: f64 = 0.1;
/// Rule of the finding that says why a stopped study can't go on.
pub const NOT_RESUMED: &str = "resume";
/// Wall time between two states that are kept, s.
const KEEP_EVERY: f64 = 60.0;
/// Name of the phase before the averages.
const SPIN_UP: &str = "spin-up";

/// Runs a study to its end, or until `watch` answers [`Control::Stop`]: then the verdict is on what there is, and says so.
///
/// # Errors
/// All findings, when the layout can't be computed.
pub fn run(layout: &Layout, catalog: &Catalog, settings: &Settings, watch: &mut Watch) -> Result<Study, Vec<Finding>> {
    resumable(layout, catalog, settings, watch, Saves { from: None, keep: &mut |_| {} })
}

/// Where the state of a study under way comes from and goes to.
pub struct Saves<'a> {
    /// A state that was kept earlier.
    pub from: Option<&'a [u8]>,
    /// Called with the state as bytes once a minute, when the study is stopped, and before measures that take long.
    pub keep: &'a mut (dyn FnMut(&[u8]) + Send),
}

/// A study that can be stopped and gone on with later: same layout, settings and seed give the same bits as without the stop.
///
/// # Errors
/// As [`run`]; also when the state that was kept doesn't fit (rule [`NOT_RESUMED`]).
pub fn resumable(layout: &Layout, catalog: &Catalog, settings: &Settings, watch: &mut Watch, saves: Saves) -> Result<Study, Vec<Finding>> {
    let case = Case::new(layout, catalog)?;
    let (mut study, ..) = studied(&case, settings, watch, None, saves)?;
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
    let (study, runner, recorded) = studied(case, settings, watch, Some(recorder()), Saves { from: None, keep: &mut |_| {} })?;
    Ok((study, recorded.unwrap_or_else(recorder).finish(&runner)))
}

type Studied = (Study, Runner, Option<Recorder>);

fn studied(
    case: &Case,
    settings: &Settings,
    watch: &mut Watch,
    recorder: Option<Recorder>,
    Saves { from, keep }: Saves,
) -> Result<Studied, Vec<Finding>> {
    let started = Instant::now();
    let pool = pool::of(settings.threads)?;
    let mut runner = pool.install(|| Runner::new(case, settings));
    let stage = from.map(|saved| saved::restore(saved, case, settings, &mut runner)).transpose().map_err(|why| vec![not_resumed(&why)])?;
    let mut course =
        Course { runner, recorder, pool: &pool, case, settings, started, watch, keep, stage: stage.unwrap_or_default(), kept: started };
    let finished = course.follow();
    if finished && (settings.extra.carries() || settings.extra.grid_error) {
        course.keep();
    }
    let wall_s = course.wall_s();
    let (mut runner, recorder, settled_at_s) = (course.runner, course.recorder, course.stage.settled_at);
    let ran = Ran { threads: pool.current_num_threads(), wall_s, interrupted: !finished, settled_at_s };
    let mut study = pool.install(|| {
        runner.finish_averages();
        verdict::judge(case, &runner, settings, &ran)
    });
    if finished {
        let mut stopped = false;
        let mut watching = |progress: &Progress| {
            let answer = watch(progress);
            stopped |= answer == Control::Stop;
            answer
        };
        pool.install(|| carried::add(&mut study, (case, &runner), settings, &mut watching));
        study.record.run.interrupted |= stopped;
    }
    Ok((study, runner, recorder))
}

fn not_resumed(why: &str) -> Finding {
    let mend = "Run the study without --resume; it begins anew.";
    Finding::new(
        Grade::Fault,
        "resume",
        "",
        format!("The stopped study can't go on: {why}."),
        "Results would not be those of one run.",
        mend,
    )
    .blocking()
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
    keep: &'a mut (dyn FnMut(&[u8]) + Send),
    stage: Stage,
    /// When the state was last kept.
    kept: Instant,
}

impl Course<'_> {
    /// Spin-up, averages, recording; whether it came to its end. Goes on from wherever the runner is.
    fn follow(&mut self) -> bool {
        let spin_up = self.settings.spin_up.max(0.0);
        let cycle = self.case.cycle();
        let span = self.settings.span;
        let most = if self.settings.until_settled { span.most_seconds(cycle) } else { span.seconds(cycle) };
        let total = spin_up + most.max(0.0);
        if !self.runner.is_averaging() {
            let spun_up = self.to(spin_up, total, SPIN_UP);
            self.runner.begin_averages();
            if !spun_up {
                return false;
            }
        }
        let plan = Plan::new(cycle, self.runner.basin().grid.cells());
        if self.settings.until_settled {
            return self.until_settled(total, plan);
        }
        let record_from = (total - plan.seconds).max(spin_up);
        self.to(record_from, total, "averaging") && self.recorded(total, total)
    }

    /// Batch after batch until the averages are sure. While their halves differ, what was averaged counts as spin-up and they begin anew.
    fn until_settled(&mut self, total: f64, plan: Plan) -> bool {
        let batch = self.runner.statistics().batch_s();
        while self.stage.end.is_none() && self.stage.settled_at.is_none() && self.runner.time() < total - 1e-6 {
            let end = *self.stage.batch_end.get_or_insert((self.runner.time() + batch).min(total));
            if !self.to(end, total, "averaging until settled") {
                return false;
            }
            self.stage.batch_end = None;
            let statistics = self.runner.statistics();
            if statistics.is_sure(self.case.cycle()) {
                self.stage.settled_at = Some(self.runner.time());
            } else if statistics.drifts(self.case.cycle()) {
                self.runner.begin_averages();
            }
            if self.runner.counters().broken {
                break;
            }
        }
        let more = if self.settings.extra.carries() { plan.seconds } else { 0.0 };
        let end = *self.stage.end.get_or_insert(self.runner.time() + more);
        self.recorded(end, total.max(end))
    }

    /// Goes on to `end` (s), recording if somebody needs it.
    fn recorded(&mut self, end: f64, total: f64) -> bool {
        if self.settings.extra.carries() && !self.runner.is_recording() && self.runner.recording().is_none() {
            let seconds = end - self.runner.time();
            let plan = Plan::new(seconds.max(1e-3), self.runner.basin().grid.cells());
            self.runner.begin_recording(Plan { seconds, ..plan });
        }
        let finished = self.to(end, total, "averaging");
        if finished {
            self.pool.install(|| self.runner.end_recording());
        }
        finished
    }

    /// Wall time so far, from before a stop on, s.
    fn wall_s(&self) -> f64 {
        self.stage.wall_s + self.started.elapsed().as_secs_f64()
    }

    /// Hands the state over to whoever keeps it.
    fn keep(&mut self) {
        let stage = Stage { wall_s: self.wall_s(), ..self.stage };
        (self.keep)(&saved::bytes(self.case, self.settings, &stage, &self.runner));
        self.kept = Instant::now();
    }

    fn to(&mut self, end: f64, total: f64, phase: &'static str) -> bool {
        loop {
            if self.kept.elapsed().as_secs_f64() > KEEP_EVERY {
                self.keep();
            }
            let wall_s = self.wall_s();
            let progress = Progress { simulated: self.runner.time(), total, phase, wall_s };
            if (self.watch)(&progress) == Control::Stop {
                self.keep();
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
