//! A flow that runs: solver, sequence and averages together, one step at a time.

use super::{
    Fields, Settings,
    case::Case,
    exposure,
    probe::{self, Points},
    recording::{Plan, Recording},
    seepage::Inside,
    skin::{self, Patch},
    statistics::Statistics,
    watched::Watched,
};
use crate::{
    flow::{self, Flow, Ground, NearField, Physics, Rates, Recorder, Scratch, StepReport},
    layout::{Layout, Rock},
    setup::{self, basin::Basin, schedule::Schedule},
};
use glam::DVec3;
use serde::{Deserialize, Serialize};
use std::{
    sync::{Arc, OnceLock},
    time::Instant,
};

/// Least time between two samples of the averages, s: a tenth of the two seconds or so that eddies of 0.1 m take at 5 cm/s; samples nearer to
/// each other than twice that tell little new (Tennekes and Lumley 1972, from memory).
const SAMPLE_EVERY: f64 = 0.2;
/// Least steps between two samples: in large cells, where steps are long, a sample every 0.2 s took a third of a run's time.
const SAMPLE_STEPS: f64 = 8.0;
/// Longest time step, s: the sequence is followed at least this closely.
const LONGEST_STEP: f64 = 0.1;

/// A running flow with its averages. Call it from inside the thread pool that should do the work.
#[derive(Debug)]
pub struct Runner {
    basin: Basin,
    ground: Arc<Ground>,
    schedule: Schedule,
    flow: Flow,
    scratch: Scratch,
    statistics: Statistics,
    velocity: Vec<[f32; 3]>,
    near_field: NearField,
    points: Points,
    unsampled: f64,
    averaging: bool,
    dead_speed: f64,
    cycle: f64,
    watched: Vec<Watched>,
    porous: Vec<Inside>,
    /// Found when it is first asked for.
    skin: OnceLock<Vec<Patch>>,
    tape: Option<Tape>,
    counters: Counters,
}

/// A recording that is being made.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Tape {
    recorder: Recorder,
    recording: Recording,
    stretch: f64,
    running: bool,
}

/// All that moves in a run, in the order of [`Runner::moving`]: the rest follows from layout and settings.
pub(super) type Moving = (Flow, Statistics, NearField, Points, f64, bool, Option<Tape>, Counters);

/// What the steps so far had to say.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Counters {
    /// Time steps.
    pub steps: u64,
    /// Time spent in them, s.
    pub wall_s: f64,
    /// Worst imbalance of inflow and outflow, as a share.
    pub mass_error: f64,
    /// Worst root-mean-square divergence, 1/s.
    pub divergence_rms: f64,
    /// Worst root-mean-square divergence times the cell edge over the fastest cell's speed.
    pub relative_divergence: f64,
    /// Largest Courant number.
    pub courant: f64,
    /// Steps in which the solver had to put something right.
    pub repaired: u64,
    /// The solution is no longer a number.
    pub broken: bool,
}

impl Runner {
    /// Water at rest, at time zero of the sequence.
    pub fn new(case: &Case, settings: &Settings) -> Self {
        Self::on(case, settings, None)
    }

    /// The same on the [ground](Runner::ground) of a run with the same solids, if its cells are the same too.
    pub fn on(case: &Case, settings: &Settings, ground: Option<Arc<Ground>>) -> Self {
        let mut basin = Basin::new(&case.layout, settings.cell);
        let viscosity = setup::water(&case.layout).kinematic_viscosity();
        let physics = Physics::tank(viscosity as f32, settings.seed);
        let anew = || Arc::new(Ground::new(basin.grid, &physics, &|place| basin.signed_distance(place)));
        let ground = ground.filter(|ground| *ground.grid() == basin.grid).unwrap_or_else(anew);
        let mut flow = Flow::on(&ground, basin.ports.clone(), physics);
        if !basin.seep().is_empty() {
            flow.set_resistance(&|place| basin.seep().resistance(place));
        }
        basin.leave_out(flow.notes());
        let cells = basin.grid.cells();
        let porous = insides(&basin, &flow, &case.layout);
        Self {
            scratch: Scratch::new(&flow),
            statistics: Statistics::new(cells, settings.dead_speed),
            velocity: vec![[0.0; 3]; cells],
            near_field: NearField::new(&flow),
            points: Points::new(probe::places(&case.layout, settings), case.cycle()),
            schedule: case.schedule.clone(),
            unsampled: 0.0,
            averaging: false,
            dead_speed: settings.dead_speed,
            cycle: case.cycle(),
            watched: exposure::watched(&shape(&basin, &flow, &porous), &case.layout),
            porous,
            skin: OnceLock::new(),
            tape: None,
            counters: Counters::default(),
            basin,
            ground,
            flow,
        }
    }

    /// What its solids are to its cells: for another run with the same solids.
    pub fn ground(&self) -> Arc<Ground> {
        self.ground.clone()
    }

    /// One step, no longer than `dt_max` (s).
    pub fn advance(&mut self, dt_max: f64) -> StepReport {
        let started = Instant::now();
        let rates = self.rates();
        let report = flow::step(&mut self.flow, &mut self.scratch, &rates, dt_max.min(LONGEST_STEP) as f32);
        self.near_field.pass(&self.flow, &rates, report.dt);
        self.record(report.dt);
        self.unsampled += f64::from(report.dt);
        if self.averaging && is_due(self.unsampled, f64::from(report.dt)) {
            self.sample();
        }
        self.counters.add(&report, f64::from(self.basin.grid.h));
        self.counters.wall_s += started.elapsed().as_secs_f64();
        report
    }

    /// Steps until the simulated time is `end` (s) or `budget` seconds of wall time are gone; true when the end was reached.
    pub fn advance_until(&mut self, end: f64, budget: f64) -> bool {
        let started = Instant::now();
        while !self.advance_one(end) {
            if started.elapsed().as_secs_f64() > budget {
                return false;
            }
        }
        true
    }

    /// One step toward `end` (s), unless the simulated time is there or the solution broke down; true when there is nothing left to do.
    pub fn advance_one(&mut self, end: f64) -> bool {
        const AS_GOOD_AS_THERE: f64 = 1e-6;
        let is_done = |runner: &Self| runner.time() >= end - AS_GOOD_AS_THERE || runner.counters.broken;
        if !is_done(self) {
            self.advance(end - self.time());
        }
        is_done(self)
    }

    /// Whole steps of natural length until the simulated time is no less than `end` (s) or `budget` seconds of wall time are gone.
    pub fn advance_at_least_to(&mut self, end: f64, budget: f64) {
        let started = Instant::now();
        while self.time() < end && !self.counters.broken && started.elapsed().as_secs_f64() <= budget {
            self.advance(LONGEST_STEP);
        }
    }

    /// Forgets the averages and begins new ones now.
    pub fn begin_averages(&mut self) {
        self.statistics = Statistics::new(self.basin.grid.cells(), self.dead_speed).watching(self.cycle, self.watched.clone());
        self.points.forget(self.cycle);
        self.unsampled = 0.0;
        self.averaging = true;
    }

    /// Takes in what was not sampled yet; without any averages so far, the present moment stands for them.
    pub fn finish_averages(&mut self) {
        if self.statistics.seconds() == 0.0 {
            self.unsampled = self.unsampled.clamp(1e-3, SAMPLE_EVERY);
        }
        if self.unsampled > 0.0 {
            self.sample();
        }
    }

    fn sample(&mut self) {
        self.flow.velocity_at_cells(&mut self.velocity);
        self.near_field.overlay(&self.flow, &mut self.velocity);
        self.points.sample(&self.flow, &self.near_field, self.unsampled);
        self.statistics.add_gusts(self.near_field.gusts(), self.unsampled);
        self.statistics.add(&self.velocity, self.flow.water_fraction(), self.unsampled);
        self.unsampled = 0.0;
    }

    /// The averages so far, dead spots not yet marked; porous rock counts as rock.
    pub fn fields(&self) -> Fields {
        self.open_water(self.fields_with_porous())
    }

    /// Averages without the water inside porous rock.
    pub fn open_water(&self, mut averages: Fields) -> Fields {
        self.porous.iter().for_each(|rock| averages.take_out(&rock.cells));
        averages
    }

    /// The same with the water inside porous rock.
    pub fn fields_with_porous(&self) -> Fields {
        self.statistics.fields(self.basin.grid.n, f64::from(self.basin.grid.h), self.flow.water_fraction())
    }

    /// Porous rocks and their cells.
    pub fn porous(&self) -> &[Inside] {
        &self.porous
    }

    /// The skin of the rocks.
    pub fn skin(&self) -> &[Patch] {
        self.skin.get_or_init(|| skin::patches(&shape(&self.basin, &self.flow, &self.porous), self.basin.solids()))
    }

    /// The averages so far at the probes, in the order of [`probe::places`].
    pub fn points(&self) -> Fields {
        self.points.fields()
    }

    /// Velocity at the middle of every cell now, m/s, with the near field of the jets laid over it.
    pub fn velocity_now(&mut self) -> &[[f32; 3]] {
        self.flow.velocity_at_cells(&mut self.velocity);
        self.near_field.overlay(&self.flow, &mut self.velocity);
        &self.velocity
    }

    /// Goes on with another sequence or pump in the same water; the averages begin anew.
    pub fn set_schedule(&mut self, schedule: Schedule) {
        self.cycle = schedule.period.max(1e-3);
        self.schedule = schedule;
        self.begin_averages();
    }

    /// Watches the colonies and zones of another layout of the same water from now on, if they differ.
    pub fn watch(&mut self, layout: &Layout) {
        let groups = exposure::watched(&shape(&self.basin, &self.flow, &self.porous), layout);
        if groups != self.watched {
            self.watched.clone_from(&groups);
            self.statistics.watch(groups);
        }
    }

    /// Records the motion from now on, one mean velocity for every stretch of the plan.
    pub fn begin_recording(&mut self, plan: Plan) {
        let (recorder, recording) = (Recorder::new(&self.flow), Recording::of(&self.flow));
        self.tape = Some(Tape { recorder, recording, stretch: plan.stretch, running: true });
    }

    /// Ends the recording, with what is left of the last stretch.
    pub fn end_recording(&mut self) {
        if let Some(tape) = &mut self.tape {
            tape.running = false;
            if tape.recorder.seconds() > 1e-3 {
                tape.recording.streams.push(tape.recorder.take(&self.flow, &mut self.scratch));
            }
        }
    }

    /// The recorded motion.
    pub fn recording(&self) -> Option<&Recording> {
        self.tape.as_ref().map(|tape| &tape.recording).filter(|recording| !recording.streams.is_empty())
    }

    fn record(&mut self, dt: f32) {
        let Some(tape) = self.tape.as_mut().filter(|tape| tape.running) else { return };
        tape.recorder.add(&self.flow, &self.scratch, dt);
        if tape.recorder.seconds() >= tape.stretch - 1e-6 {
            tape.recording.streams.push(tape.recorder.take(&self.flow, &mut self.scratch));
        }
    }

    /// Goes on with the water of another run, when its cells are the same; the averages begin anew. False when they are not.
    pub fn go_on_from(&mut self, before: &Self) -> bool {
        let goes_on = self.flow.go_on_from(&before.flow);
        if goes_on {
            self.near_field.go_on_from(&self.flow, (&before.near_field, &before.flow));
            self.begin_averages();
        }
        goes_on
    }

    /// A second run of the same case with the same water, averages included; `case` and `settings` as for [`Runner::new`].
    pub fn twin(&self, case: &Case, settings: &Settings) -> Self {
        let mut twin = Self::on(case, settings, Some(self.ground()));
        twin.flow = self.flow.clone();
        twin.statistics = self.statistics.clone();
        twin.near_field = self.near_field.clone();
        (twin.unsampled, twin.averaging, twin.counters) = (self.unsampled, self.averaging, self.counters);
        twin
    }

    /// All that moves, to be kept and [restored](Runner::restore) later.
    pub(super) fn moving(&self) -> impl Serialize + '_ {
        let Self { flow, statistics, near_field, points, unsampled, averaging, tape, counters, .. } = self;
        (flow, statistics, near_field, points, unsampled, averaging, tape, counters)
    }

    /// Goes on from what was kept of a run of the same case with the same settings. False, and nothing changed, when it is of other cells.
    pub(super) fn restore(&mut self, moving: Moving) -> bool {
        let is_same = moving.0.grid() == self.flow.grid() && moving.0.ports() == self.flow.ports();
        if is_same {
            (self.flow, self.statistics, self.near_field, self.points, self.unsampled, self.averaging, self.tape, self.counters) = moving;
        }
        is_same
    }

    /// Averages have been begun.
    pub(super) fn is_averaging(&self) -> bool {
        self.averaging
    }

    /// A recording has been begun and not ended.
    pub(super) fn is_recording(&self) -> bool {
        self.tape.as_ref().is_some_and(|tape| tape.running)
    }

    /// The rates of all ports now.
    pub fn rates(&self) -> Rates {
        self.basin.rates(&self.schedule, self.time())
    }

    /// Simulated time, s.
    pub fn time(&self) -> f64 {
        self.flow.time()
    }

    /// The state of the water.
    pub fn flow(&self) -> &Flow {
        &self.flow
    }

    /// Grid, solids and ports.
    pub fn basin(&self) -> &Basin {
        &self.basin
    }

    /// The averages as sums.
    pub fn statistics(&self) -> &Statistics {
        &self.statistics
    }

    /// What the steps so far had to say.
    pub fn counters(&self) -> &Counters {
        &self.counters
    }
}

/// Is it time for a sample, when water was not sampled for so long (s) and the last step was so long (s)?
pub fn is_due(unsampled: f64, step: f64) -> bool {
    const ROUNDING: f64 = 1e-3;
    unsampled >= SAMPLE_EVERY.max((SAMPLE_STEPS - ROUNDING) * step)
}

/// Cells and water without any averages.
fn shape(basin: &Basin, flow: &Flow, porous: &[Inside]) -> Fields {
    let mut shape = Fields { n: basin.grid.n, h: f64::from(basin.grid.h), water: flow.water_fraction().to_vec(), ..Fields::default() };
    porous.iter().for_each(|rock| shape.take_out(&rock.cells));
    shape
}

/// The cells in each porous rock of a layout.
fn insides(basin: &Basin, flow: &Flow, layout: &Layout) -> Vec<Inside> {
    if !layout.rocks.iter().any(|rock| rock.porous.is_some()) {
        return Vec::new();
    }
    let shape = shape(basin, flow, &[]);
    let rock_at = |cell: usize| basin.seep().rock_at(DVec3::from_array(shape.centre(cell)));
    let mut cells = vec![Vec::new(); layout.rocks.len()];
    let wet = (0..shape.len()).filter(|&cell| shape.water[cell] > 0.0);
    wet.filter_map(|cell| Some((cell, rock_at(cell)?))).for_each(|(cell, rock)| cells[rock].push(cell));
    let inside = |(rock, cells): (&Rock, Vec<usize>)| {
        Some(Inside { part: format!("rocks/{}", rock.id), porosity: rock.porous.as_ref()?.porosity, cells })
    };
    layout.rocks.iter().zip(cells).filter_map(inside).collect()
}

impl Counters {
    fn add(&mut self, report: &StepReport, h: f64) {
        let divergence = f64::from(report.divergence_rms);
        let speed = f64::from(report.max_speed);
        self.steps += 1;
        self.mass_error = self.mass_error.max(f64::from(report.mass_error));
        self.divergence_rms = self.divergence_rms.max(divergence);
        if speed > 0.0 {
            self.relative_divergence = self.relative_divergence.max(divergence * h / speed);
        }
        self.courant = self.courant.max(f64::from(report.courant));
        self.repaired += u64::from(report.repaired);
        self.broken |= !report.max_speed.is_finite() || report.dt.is_nan() || report.dt <= 0.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_are_a_fifth_of_a_second_or_eight_steps_apart() {
        let between = |step: f64| (1..).map(|count| f64::from(count) * step).find(|unsampled| is_due(*unsampled, step)).unwrap_or(f64::NAN);
        for (step, wanted) in [(0.01, 0.2), (0.03, 0.24), (0.05, 0.4), (0.1, 0.8)] {
            assert!((between(step) - wanted).abs() < 1e-9, "{} s, not {wanted} s apart with steps of {step} s", between(step));
        }
    }
}
