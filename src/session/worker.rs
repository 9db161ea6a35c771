//! The session's thread: takes commands, runs the flow at its pace, puts snapshots into the slot.

use super::{
    Command, Slot, Snapshot,
    change::{Kept, kept, same_solids},
    pace::{Count, Pace},
};
use crate::{
    catalog::Catalog,
    finding::{Finding, Grade},
    flow::Ground,
    layout::Layout,
    study::{
        Fields, Record, Runner, Settings,
        case::Case,
        pool,
        verdict::{self, Ran},
    },
};
use crossbeam_channel::{Receiver, RecvTimeoutError};
use rayon::ThreadPool;
use std::{
    panic::{AssertUnwindSafe, catch_unwind},
    sync::Arc,
    time::{Duration, Instant},
};

/// Time between snapshots, s.
const SNAPSHOT_EVERY: f64 = 0.04;
/// Time between verdicts, s.
const VERDICT_EVERY: f64 = 1.0;
/// Verdicts may take this share of the thread's time.
const VERDICT_SHARE: f64 = 0.1;
/// Longest time without a look at the commands, s.
const BURST: f64 = 0.02;
/// Averages begin again after this much simulated time, without the first rush of water that was at rest or moved otherwise, s.
const SETTLING: f64 = 30.0;

/// State of the thread.
#[derive(Debug)]
pub struct Worker {
    catalog: Catalog,
    settings: Settings,
    slot: Slot,
    layout: Layout,
    pool: Option<ThreadPool>,
    run: Option<Run>,
    problem: Vec<Finding>,
    pace: Pace,
    paused: bool,
    generation: u64,
    layouts: u64,
    published: Instant,
}

/// A layout that is being computed.
#[derive(Debug)]
struct Run {
    case: Case,
    runner: Runner,
    water: Arc<Vec<f32>>,
    settled: bool,
    settles_at: f64,
    fields: Option<Arc<Fields>>,
    record: Option<Arc<Record>>,
    judged: Instant,
    judging_s: f64,
}

/// Whether the thread goes on.
#[derive(PartialEq, Eq)]
enum Next {
    Turn,
    End,
}

impl Worker {
    /// Nothing is computed until [`Worker::work`].
    pub fn new(layout: Layout, catalog: Catalog, cell: f64, threads: usize, slot: Slot) -> Self {
        let now = Instant::now();
        let settings = Settings { cell, threads, ..Settings::default() };
        Self {
            catalog,
            settings,
            slot,
            layout,
            pool: None,
            run: None,
            problem: Vec::new(),
            pace: Pace::new(1.0, now, Count::default()),
            paused: false,
            generation: 0,
            layouts: 0,
            published: now,
        }
    }

    /// The same state for a second thread, which shows itself in `slot`.
    fn twin(&self, slot: Slot) -> Self {
        let run = self.run.as_ref().map(|run| {
            let runner = run.runner.twin(&run.case, &self.settings);
            Run { case: run.case.clone(), runner, water: run.water.clone(), fields: run.fields.clone(), record: run.record.clone(), ..*run }
        });
        Self {
            catalog: self.catalog.clone(),
            settings: self.settings.clone(),
            slot,
            layout: self.layout.clone(),
            pool: pool::of(self.settings.threads).ok(),
            run,
            problem: self.problem.clone(),
            pace: Pace::new(self.pace.limit, Instant::now(), self.count()),
            paused: self.paused,
            generation: self.generation,
            layouts: self.layouts,
            published: self.published,
        }
    }

    /// Works until told to stop, or until nobody can tell it anything any more. A panic below becomes a finding.
    pub fn work(mut self, commands: &Receiver<Command>) {
        let mut next = self.guarded(Self::begin);
        while next == Next::Turn {
            next = self.guarded(|worker| worker.turn(commands));
        }
    }

    fn guarded(&mut self, work: impl FnOnce(&mut Self) -> Next) -> Next {
        catch_unwind(AssertUnwindSafe(|| work(self))).unwrap_or_else(|_| {
            self.run = None;
            self.problem = vec![broke_down()];
            self.publish();
            Next::Turn
        })
    }

    /// Takes a command or waits for one, then computes a little and shows it.
    fn turn(&mut self, commands: &Receiver<Command>) -> Next {
        match commands.recv_timeout(self.idle()) {
            Ok(command) => return self.obey(command),
            Err(RecvTimeoutError::Disconnected) => return Next::End,
            Err(RecvTimeoutError::Timeout) => {}
        }
        if !self.stands_still() {
            self.burst();
            self.judge_if_due();
            if self.published.elapsed().as_secs_f64() >= SNAPSHOT_EVERY {
                self.publish();
            }
        }
        Next::Turn
    }

    fn stands_still(&self) -> bool {
        self.paused || self.run.is_none() || !self.problem.is_empty()
    }

    /// How long the commands may be waited for.
    fn idle(&self) -> Duration {
        match &self.run {
            Some(run) if !self.stands_still() => self.pace.wait(Instant::now(), run.runner.time()),
            _ => Duration::from_secs(3600),
        }
    }

    fn obey(&mut self, command: Command) -> Next {
        match command {
            Command::Stop => return Next::End,
            Command::Pause => self.paused = true,
            Command::Play => self.paused = false,
            Command::SetPace(pace) => self.pace.limit = if pace.is_finite() { pace.clamp(0.01, 1000.0) } else { 1.0 },
            Command::ResetMean => self.forget_means(),
            Command::Reset => return self.restart(),
            Command::SetCell(cell) => {
                self.settings.cell = cell;
                return self.restart();
            }
            Command::SetThreads(threads) => self.share(threads),
            Command::SetCatalog(catalog) => self.catalog = *catalog,
            Command::SetLayout(layout) => return self.change(*layout),
            Command::Fork(fork) => {
                fork.serve(|slot| self.twin(slot));
                return Next::Turn;
            }
        }
        self.pace.restart(Instant::now(), self.count());
        self.publish();
        Next::Turn
    }

    /// Without new threads those that there are go on.
    fn share(&mut self, threads: usize) {
        if let Ok(pool) = pool::of(threads) {
            (self.settings.threads, self.pool) = (threads, Some(pool));
        }
    }

    fn forget_means(&mut self) {
        if let Some(run) = &mut self.run {
            run.runner.begin_averages();
            (run.settled, run.fields, run.record) = (true, None, None);
        }
    }

    /// Goes on with another layout, keeping what it can.
    fn change(&mut self, layout: Layout) -> Next {
        self.layout = layout;
        self.layouts += 1;
        let Some(mut run) = self.run.take() else { return self.restart() };
        let kept = kept(&run.case.layout, &self.layout);
        if kept == Kept::Nothing {
            return self.rebuild(run);
        }
        match Case::new(&self.layout, &self.catalog) {
            Ok(case) => {
                if kept == Kept::Water {
                    run.runner.set_schedule(case.schedule.clone());
                    run.fields = None;
                }
                run.runner.watch(&self.layout);
                run.record = None;
                run.judged = Instant::now() - Duration::from_secs_f64(VERDICT_EVERY);
                run.case = case;
                self.problem.clear();
            }
            Err(findings) => self.problem = findings,
        }
        self.run = Some(run);
        self.pace.restart(Instant::now(), self.count());
        self.publish();
        Next::Turn
    }

    /// Builds walls and ports anew and goes on with the water as it moves, where the cells are the same; else from rest.
    fn rebuild(&mut self, before: Run) -> Next {
        let ground = same_solids(&before.case.layout, &self.layout).then(|| before.runner.ground());
        match self.built(ground) {
            Ok(mut run) => {
                if run.runner.go_on_from(&before.runner) {
                    run.settles_at = run.runner.time() + SETTLING;
                } else {
                    self.generation += 1;
                }
                (self.run, self.problem) = (Some(run), Vec::new());
            }
            // The water as it was stays in sight until the layout is mended.
            Err(findings) => (self.run, self.problem) = (Some(before), findings),
        }
        self.pace.restart(Instant::now(), self.count());
        self.publish();
        Next::Turn
    }

    /// Goes on with the state that was handed over, or starts anew.
    fn begin(&mut self) -> Next {
        if self.run.is_none() {
            return self.restart();
        }
        self.publish();
        Next::Turn
    }

    /// Starts from water at rest.
    fn restart(&mut self) -> Next {
        self.run = None;
        self.generation += 1;
        match self.built(None) {
            Ok(run) => (self.run, self.problem) = (Some(run), Vec::new()),
            Err(findings) => self.problem = findings,
        }
        self.pace.restart(Instant::now(), self.count());
        self.publish();
        Next::Turn
    }

    /// On a ground that is known, or a new one.
    fn built(&mut self, ground: Option<Arc<Ground>>) -> Result<Run, Vec<Finding>> {
        let case = Case::new(&self.layout, &self.catalog)?;
        if self.pool.is_none() {
            self.pool = Some(pool::of(self.settings.threads)?);
        }
        let settings = &self.settings;
        let build = || {
            let mut runner = Runner::on(&case, settings, ground.clone());
            runner.begin_averages();
            runner
        };
        let runner = self.pool.as_ref().map_or_else(build, |pool| pool.install(build));
        let water = Arc::new(runner.flow().water_fraction().to_vec());
        Ok(Run {
            case,
            runner,
            water,
            settled: false,
            settles_at: SETTLING,
            fields: None,
            record: None,
            judged: Instant::now(),
            judging_s: 0.0,
        })
    }

    /// Computes until the pace or the burst is used up.
    fn burst(&mut self) {
        let (Some(run), Some(pool)) = (&mut self.run, &self.pool) else { return };
        let end = self.pace.allowed(Instant::now(), run.runner.time());
        let runner = &mut run.runner;
        pool.install(|| runner.advance_at_least_to(end, BURST));
        if !run.settled && run.runner.time() >= run.settles_at {
            run.settled = true;
            run.runner.begin_averages();
        }
        if run.runner.counters().broken {
            self.problem = vec![broke_down()];
            self.publish();
        }
    }

    fn judge_if_due(&mut self) {
        let (Some(run), Some(pool)) = (&mut self.run, &self.pool) else { return };
        let every = VERDICT_EVERY.max(run.judging_s / VERDICT_SHARE);
        if run.judged.elapsed().as_secs_f64() < every || run.runner.statistics().seconds() == 0.0 {
            return;
        }
        let started = Instant::now();
        let ran = Ran { threads: pool.current_num_threads(), wall_s: run.runner.counters().wall_s, interrupted: false, settled_at_s: None };
        let study = pool.install(|| verdict::judge(&run.case, &run.runner, &self.settings, &ran));
        (run.fields, run.record) = (Some(Arc::new(study.fields)), Some(Arc::new(study.record)));
        (run.judged, run.judging_s) = (Instant::now(), started.elapsed().as_secs_f64());
    }

    fn count(&self) -> Count {
        self.run.as_ref().map_or_else(Count::default, |run| {
            let counters = run.runner.counters();
            let cells = run.water.len() as f64;
            Count { simulated: run.runner.time(), cell_steps: counters.steps as f64 * cells, solver_s: counters.wall_s }
        })
    }

    fn velocity(&mut self) -> Vec<[f32; 3]> {
        let (Some(run), Some(pool)) = (&mut self.run, &self.pool) else { return Vec::new() };
        pool.install(|| run.runner.velocity_now().to_vec())
    }

    fn publish(&mut self) {
        let now = Instant::now();
        self.published = now;
        let rate = self.pace.rate(now, self.count());
        let still = self.stands_still();
        let velocity = self.velocity();
        let run = self.run.as_ref();
        self.slot.put(Snapshot {
            time: run.map_or(0.0, |run| run.runner.time()),
            averaged: run.map_or(0.0, |run| run.runner.statistics().seconds()),
            n: run.map_or([0; 3], |run| run.runner.basin().grid.n),
            h: run.map_or(0.0, |run| f64::from(run.runner.basin().grid.h)),
            water: run.map_or_else(Arc::default, |run| run.water.clone()),
            velocity,
            fields: run.and_then(|run| run.fields.clone()),
            record: run.and_then(|run| run.record.clone()),
            real_time_factor: if still { 0.0 } else { rate.real_time_factor },
            cell_steps_per_s: rate.cell_steps_per_s,
            paused: self.paused,
            problem: self.problem.clone(),
            layouts: self.layouts,
            generation: self.generation,
        });
    }
}

fn broke_down() -> Finding {
    let (what, why) = ("the flow solver broke down", "the picture shows nothing that can be used");
    Finding::new(Grade::Fault, "solver-broke-down", "", what, why, "change the cell size or the layout to start it again").blocking()
}
