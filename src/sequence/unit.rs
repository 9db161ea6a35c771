//! One drum unit through time.

use super::arc::{Arc, overlap};
use std::f64::consts::TAU;

/// A unit that opens and closes outlets.
#[derive(Debug, Clone, PartialEq)]
pub struct Unit {
    /// How many outlets, evenly round the body, the first at angle 0.
    pub outlets: usize,
    /// Arc of one outlet's port, rad.
    pub port_arc: f64,
    /// Openings in the drum, at angle 0 of the drum.
    pub windows: Vec<Arc>,
    /// How it moves.
    pub motion: Motion,
    /// How far into its cycle it is at time zero, s.
    pub phase: f64,
    /// Runs the other way round.
    pub reverse: bool,
}

/// How a unit moves.
#[derive(Debug, Clone, PartialEq)]
pub enum Motion {
    /// Steadily; one turn in this many seconds.
    Turning(f64),
    /// From one set of open outlets to the next.
    Steps(Vec<Step>),
    /// Not at all, at this share of a turn.
    Held(f64),
}

/// One step of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Open outlets, from 0.
    pub open: Vec<usize>,
    /// Fully open for this long, s.
    pub dwell: f64,
    /// Then a linear change to the next step over this long, s.
    pub change_over: f64,
}

impl Unit {
    /// Time after which it repeats, s; `None` when it stands still.
    pub fn period(&self) -> Option<f64> {
        let period = match &self.motion {
            Motion::Turning(period) => *period,
            Motion::Steps(steps) if steps.len() > 1 => steps.iter().map(|s| s.dwell.max(0.0) + s.change_over.max(0.0)).sum(),
            _ => 0.0,
        };
        (period.is_finite() && period > 0.0).then_some(period)
    }

    /// Open share of each outlet at time `t`, s, into `out` (one number per outlet; spare ones are set to zero).
    pub fn open(&self, t: f64, out: &mut [f64]) {
        out.fill(0.0);
        match &self.motion {
            Motion::Turning(period) => self.open_at_turn(self.period().map_or(0.0, |_| self.local(t, *period) / period), out),
            Motion::Held(turn) => self.open_at_turn(*turn, out),
            Motion::Steps(steps) => self.open_at_step(steps, t, out),
        }
    }

    /// Times in the first `period` seconds after zero at which an outlet starts or stops changing, sorted.
    pub fn corners(&self) -> Vec<f64> {
        let Some(period) = self.period() else { return Vec::new() };
        let local = match &self.motion {
            Motion::Turning(_) => self.turning_corners().into_iter().map(|turn| turn * period).collect(),
            Motion::Steps(steps) => step_corners(steps),
            Motion::Held(_) => Vec::new(),
        };
        let sign = if self.reverse { -1.0 } else { 1.0 };
        let mut times: Vec<f64> = local.into_iter().map(|at: f64| (sign * at - self.phase).rem_euclid(period)).collect();
        times.sort_by(f64::total_cmp);
        times
    }

    fn local(&self, t: f64, period: f64) -> f64 {
        let into = t + self.phase;
        (if self.reverse { -into } else { into }).rem_euclid(period)
    }

    fn port(&self, outlet: usize) -> Arc {
        Arc { centre: TAU * outlet as f64 / self.outlets.max(1) as f64, length: self.port_arc }
    }

    fn open_at_turn(&self, turn: f64, out: &mut [f64]) {
        let turned: Vec<Arc> = self.windows.iter().map(|w| Arc { centre: w.centre + TAU * turn, length: w.length }).collect();
        for (outlet, share) in out.iter_mut().enumerate().take(self.outlets) {
            let port = self.port(outlet);
            *share = if port.length > 0.0 { (overlap(port, &turned) / port.length.min(TAU)).clamp(0.0, 1.0) } else { 0.0 };
        }
    }

    fn open_at_step(&self, steps: &[Step], t: f64, out: &mut [f64]) {
        let Some(last) = steps.len().checked_sub(1) else { return };
        let mut into = self.period().map_or(0.0, |period| self.local(t, period));
        for (i, step) in steps.iter().enumerate() {
            let (dwell, change) = (step.dwell.max(0.0), step.change_over.max(0.0));
            if into < dwell + change || i == last {
                let moved = if change > 0.0 { ((into - dwell) / change).clamp(0.0, 1.0) } else { 0.0 };
                add(&step.open, 1.0 - moved, out);
                add(&steps[(i + 1) % steps.len()].open, moved, out);
                return;
            }
            into -= dwell + change;
        }
    }

    /// Shares of a turn at which an edge of a window passes an edge of a port.
    fn turning_corners(&self) -> Vec<f64> {
        let edges = |arc: Arc| [arc.centre - 0.5 * arc.length, arc.centre + 0.5 * arc.length];
        let ports: Vec<f64> = (0..self.outlets).flat_map(|o| edges(self.port(o))).collect();
        let windows = self.windows.iter().flat_map(|w| edges(*w));
        windows.flat_map(|w| ports.iter().map(move |p| ((p - w) / TAU).rem_euclid(1.0))).collect()
    }
}

fn step_corners(steps: &[Step]) -> Vec<f64> {
    let mut at = 0.0;
    let mut corners = Vec::with_capacity(2 * steps.len());
    for step in steps {
        corners.push(at);
        at += step.dwell.max(0.0);
        corners.push(at);
        at += step.change_over.max(0.0);
    }
    corners
}

/// An outlet that is open in both steps stays open: the two shares add up to one.
fn add(open: &[usize], share: f64, out: &mut [f64]) {
    for &outlet in open {
        if let Some(o) = out.get_mut(outlet) {
            *o = (*o + share).min(1.0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turning(windows: Vec<Arc>) -> Unit {
        Unit { outlets: 4, port_arc: 60f64.to_radians(), windows, motion: Motion::Turning(40.0), phase: 0.0, reverse: false }
    }

    fn open(unit: &Unit, t: f64) -> Vec<f64> {
        let mut out = vec![0.0; unit.outlets];
        unit.open(t, &mut out);
        out.iter().map(|x| (x * 1e9).round() / 1e9).collect()
    }

    #[test]
    fn a_window_goes_round() {
        let unit = turning(vec![Arc { centre: 0.0, length: 60f64.to_radians() }]);
        assert_eq!(open(&unit, 0.0), [1.0, 0.0, 0.0, 0.0]);
        assert_eq!(open(&unit, 10.0), [0.0, 1.0, 0.0, 0.0]);
        // 30 degrees on: half of the first port's 60 degrees is left.
        assert_eq!(open(&unit, 40.0 / 12.0), [0.5, 0.0, 0.0, 0.0]);
        assert_eq!(open(&Unit { reverse: true, ..unit.clone() }, 10.0), [0.0, 0.0, 0.0, 1.0]);
        assert_eq!(open(&Unit { phase: 20.0, ..unit }, 0.0), [0.0, 0.0, 1.0, 0.0]);
    }

    #[test]
    fn steps_dwell_and_change_over_linearly() {
        let step = |open: Vec<usize>| Step { open, dwell: 6.0, change_over: 2.0 };
        let mut unit = turning(vec![]);
        unit.motion = Motion::Steps(vec![step(vec![0, 1]), step(vec![1, 2]), step(vec![3])]);
        assert_eq!(unit.period(), Some(24.0));
        assert_eq!(open(&unit, 5.0), [1.0, 1.0, 0.0, 0.0]);
        assert_eq!(open(&unit, 6.5), [0.75, 1.0, 0.25, 0.0]);
        assert_eq!(open(&unit, 23.0), [0.5, 0.5, 0.0, 0.5]);
        assert_eq!(open(&unit, 24.0 + 5.0), open(&unit, 5.0));
        assert_eq!(unit.corners(), [0.0, 6.0, 8.0, 14.0, 16.0, 22.0]);
    }

    #[test]
    fn nonsense_stands_still() {
        let mut unit = turning(vec![]);
        for motion in [Motion::Turning(0.0), Motion::Turning(f64::NAN), Motion::Steps(vec![]), Motion::Held(0.3)] {
            unit.motion = motion;
            assert_eq!(unit.period(), None);
            assert_eq!(open(&unit, 3.0), [0.0; 4]);
        }
    }
}
