//! Everything that the plumbing does over the joint cycle of all drum units.

use super::drums::units;
use super::plumbing::{Duty, Plumbing};
use crate::catalog::{Bore, Catalog};
use crate::finding::{Finding, Grade};
use crate::layout::{Layout, Roughness};
use crate::sequence::{JointCycle, Unit, joint_cycle};
use crate::study::record::Range;

/// Period of a schedule in which nothing moves, s.
const STILL_PERIOD: f64 = 10.0;
/// About how many samples a turn of the quickest unit gets.
const SAMPLES_PER_TURN: f64 = 100.0;
/// Shortest time between regular samples, s.
const SHORTEST_STEP: f64 = 0.05;
/// Most regular samples in a cycle.
const MOST_SAMPLES: f64 = 2400.0;
/// Most samples at corners of the sequence besides them.
const MOST_CORNERS: usize = 2000;

/// Duties over one joint cycle, at times that include every instant at which an outlet starts or stops to move.
#[derive(Debug, Clone, PartialEq)]
pub struct Schedule {
    /// Joint cycle, s; 10 s when nothing moves.
    pub period: f64,
    /// Sample times, rising from 0, all below the period.
    pub times: Vec<f64>,
    /// Open share of each outlet of each drum at each time.
    pub open: Vec<Vec<Vec<f64>>>,
    /// What the plumbing does at each time.
    pub duties: Vec<Duty>,
    /// What went wrong on the way.
    pub findings: Vec<Finding>,
    /// False when the true joint cycle is longer than an hour or no whole number of milliseconds.
    pub cycle_exact: bool,
}

impl Schedule {
    /// Solves the plumbing over the joint cycle.
    ///
    /// # Errors
    /// What keeps the plumbing from being computed at all.
    pub fn new(layout: &Layout, catalog: &Catalog) -> Result<Self, Vec<Finding>> {
        let mut plumbing = Plumbing::new(layout, catalog)?;
        let units = units(layout);
        let cycle = joint_cycle(&units);
        let times = sample_times(&units, cycle);
        let open: Vec<Vec<Vec<f64>>> = times.iter().map(|t| positions(&units, *t)).collect();
        let duties: Vec<Duty> = open.iter().map(|o| plumbing.solve(o)).collect();
        let period = if cycle.period_s > 0.0 { cycle.period_s } else { STILL_PERIOD };
        let mut schedule = Self { period, times, open, duties, findings: Vec::new(), cycle_exact: cycle.exact };
        schedule.findings = findings(layout, &schedule);
        schedule.findings.extend(plumbing.findings(layout));
        schedule.findings.extend(pipe_choice(layout));
        Ok(schedule)
    }

    /// Flow (m³/s) and momentum flux over density (m⁴/s²) of a nozzle, by its number, at any time.
    pub fn nozzle_at(&self, nozzle: usize, t: f64) -> (f64, f64) {
        let flow = self.at(t, |d| d.nozzles.get(nozzle).map_or(0.0, |n| n.flow));
        (flow, self.at(t, |d| d.nozzles.get(nozzle).map_or(0.0, |n| n.momentum)))
    }

    /// Flow out of the tank through an intake, by its number, at any time, m³/s.
    pub fn intake_at(&self, intake: usize, t: f64) -> f64 {
        self.at(t, |d| d.intakes.get(intake).copied().unwrap_or(0.0))
    }

    /// What nozzles bring in beyond what intakes take out, m³/s: it leaves over the overflows.
    pub fn return_flow_at(&self, t: f64) -> f64 {
        self.at(t, surplus)
    }

    /// Any number of the duties at any time: linear between samples, going round and round.
    pub fn at(&self, t: f64, value: impl Fn(&Duty) -> f64) -> f64 {
        let count = self.times.len();
        let t = t.rem_euclid(self.period);
        let next = self.times.partition_point(|s| *s <= t);
        let before = next.saturating_sub(1);
        let end = self.times.get(next).copied().unwrap_or(self.period);
        let (a, b) = (value(&self.duties[before]), value(&self.duties[next % count]));
        let span = end - self.times[before];
        if span > 0.0 { a + (b - a) * (t - self.times[before]) / span } else { a }
    }

    /// Least, time mean and most of any number of the duties over the cycle.
    pub fn range(&self, value: impl Fn(&Duty) -> f64) -> Range {
        let mut range = Range { min: f64::INFINITY, mean: 0.0, max: f64::NEG_INFINITY };
        for (duty, weight) in self.duties.iter().zip(self.weights()) {
            let x = value(duty);
            range = Range { min: range.min.min(x), mean: range.mean + weight * x, max: range.max.max(x) };
        }
        range
    }

    /// Share of the cycle that each sample stands for: half the way to its neighbours.
    pub fn weights(&self) -> impl Iterator<Item = f64> {
        let last = self.times.len() - 1;
        (0..=last).map(move |i| {
            let before = if i == 0 { self.times[last] - self.period } else { self.times[i - 1] };
            let after = if i == last { self.times[0] + self.period } else { self.times[i + 1] };
            (after - before) / (2.0 * self.period)
        })
    }
}

/// Flow that a duty brings into the tank and takes out through no intake, m³/s.
pub fn surplus(duty: &Duty) -> f64 {
    duty.nozzles.iter().map(|n| n.flow).sum::<f64>() - duty.intakes.iter().sum::<f64>()
}

fn positions(units: &[Unit], t: f64) -> Vec<Vec<f64>> {
    let position = |unit: &Unit| {
        let mut open = vec![0.0; unit.outlets];
        unit.open(t, &mut open);
        open
    };
    units.iter().map(position).collect()
}

/// Corners of all units and a regular grid that fits into every unit's period, so that positions repeat.
fn sample_times(units: &[Unit], cycle: JointCycle) -> Vec<f64> {
    if cycle.period_s <= 0.0 {
        return vec![0.0];
    }
    let step = regular_step(units, cycle.period_s);
    let mut times: Vec<f64> = (0..).map(|i| f64::from(i) * step).take_while(|t| *t < cycle.period_s - 1e-6).collect();
    let corners: Vec<f64> = units.iter().flat_map(|u| corners(u, cycle.period_s)).collect();
    if corners.len() <= MOST_CORNERS {
        times.extend(corners);
    }
    times.sort_by(f64::total_cmp);
    times.dedup_by(|a, b| *a - *b < 1e-3);
    times
}

fn corners(unit: &Unit, until: f64) -> Vec<f64> {
    let Some(period) = unit.period() else { return Vec::new() };
    let turns = (until / period).ceil() as u32;
    let first = unit.corners();
    (0..turns).flat_map(|turn| first.iter().map(move |c| c + f64::from(turn) * period)).filter(|t| *t < until).collect()
}

fn regular_step(units: &[Unit], period: f64) -> f64 {
    let periods: Vec<f64> = units.iter().filter_map(Unit::period).collect();
    let quickest = periods.iter().copied().fold(f64::INFINITY, f64::min);
    let wanted = (quickest / SAMPLES_PER_TURN).max(SHORTEST_STEP).max(period / MOST_SAMPLES);
    let common = periods.iter().map(|p| (p * 1000.0).round() as u64).fold(0, common_divisor) as f64 / 1000.0;
    if common > wanted { common / (common / wanted).floor() } else { wanted }
}

fn common_divisor(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { common_divisor(b, a % b) }
}

/// What all pipes are computed with.
fn pipe_choice(layout: &Layout) -> Option<Finding> {
    let bore = match layout.pipes.bore {
        Bore::Average => "makers' average bores",
        Bore::MinimumWall => "the bores of the least walls that the standard allows",
    };
    let wall = match &layout.pipes.roughness {
        Roughness::New => "new walls (1.5 µm)".to_owned(),
        Roughness::Fouled => "walls with years of film (50 µm)".to_owned(),
        Roughness::Grain(grain) => format!("walls with a roughness of {}", grain.text()),
    };
    let why = "the least wall makes a pipe wider than it mostly is: 4 to 14 % less friction than the average; film makes it rougher";
    let mend = "choose otherwise with `pipes: (bore: ..., roughness: ...)`";
    let pipes = layout.circuits.iter().any(|c| !c.suction.is_empty() || !c.discharge.is_empty());
    pipes.then(|| Finding::new(Grade::Note, "pipe-choice", "", format!("pipes are computed with {bore} and {wall}"), why, mend))
}

fn findings(layout: &Layout, schedule: &Schedule) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (number, circuit) in layout.circuits.iter().enumerate() {
        if let Some(at) = schedule.duties.iter().position(|d| d.report.unsolved.contains(&number)) {
            let what = format!("its flows could not be found {:.1} s into the cycle; they are shown as zero", schedule.times[at]);
            let why = "the network solver did not reach its residual of 1e-9";
            let mend = "look for impossible numbers on its runs and its pump's curve";
            findings.push(Finding::new(Grade::Fault, "plumbing-unsolved", format!("circuits/{}", circuit.id), what, why, mend));
        }
    }
    if !schedule.cycle_exact {
        let what =
            format!("the drum units do not meet again within an hour; {:.0} s of their motion are used over and over", schedule.period);
        let why = "averages over the cycle are then only nearly exact";
        let mend = "give the units periods with a small common multiple, for instance 40 s and 60 s";
        findings.push(Finding::new(Grade::Note, "joint-cycle", "", what, why, mend));
    }
    findings
}
