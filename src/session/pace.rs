//! Simulated time against the clock on the wall.

use std::time::{Duration, Instant};

/// Lets simulated time run no faster than so many seconds per second, and measures how fast it does run.
#[derive(Debug, Clone)]
pub struct Pace {
    /// Simulated seconds per second of wall time, at most.
    pub limit: f64,
    anchor: (Instant, f64),
    window: (Instant, Count),
    latest: Rate,
}

/// Where a run is.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Count {
    /// Simulated, s.
    pub simulated: f64,
    /// Cells times steps.
    pub cell_steps: f64,
    /// Time spent in steps, s.
    pub solver_s: f64,
}

/// How fast it goes.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Rate {
    /// Simulated seconds per second of wall time.
    pub real_time_factor: f64,
    /// Cells times steps per second of solver time.
    pub cell_steps_per_s: f64,
}

/// A run that falls behind by more than this doesn't hurry afterwards to make up for it, s.
const FORGIVEN: f64 = 0.1;
/// Time over which speeds are measured, s.
const WINDOW: f64 = 0.5;

impl Pace {
    /// From this moment on.
    pub fn new(limit: f64, now: Instant, count: Count) -> Self {
        Self { limit, anchor: (now, count.simulated), window: (now, count), latest: Rate::default() }
    }

    /// The simulated time that may be reached by now, s. A run that has fallen behind starts counting anew.
    pub fn allowed(&mut self, now: Instant, simulated: f64) -> f64 {
        let allowed = self.anchor.1 + (now - self.anchor.0).as_secs_f64() * self.limit;
        if allowed - simulated > FORGIVEN * self.limit {
            self.anchor = (now, simulated + FORGIVEN * self.limit);
            return self.anchor.1;
        }
        allowed
    }

    /// How long to wait until `simulated` (s) may be passed.
    pub fn wait(&self, now: Instant, simulated: f64) -> Duration {
        let due = (simulated - self.anchor.1) / self.limit;
        Duration::try_from_secs_f64(due - (now - self.anchor.0).as_secs_f64()).unwrap_or_default()
    }

    /// Counts from here, after a pause or a new limit.
    pub fn restart(&mut self, now: Instant, count: Count) {
        *self = Self { latest: self.latest, ..Self::new(self.limit, now, count) };
    }

    /// How fast it goes, renewed every half second.
    pub fn rate(&mut self, now: Instant, count: Count) -> Rate {
        let (since, from) = self.window;
        let wall = (now - since).as_secs_f64();
        if wall >= WINDOW {
            let solver = (count.solver_s - from.solver_s).max(1e-9);
            self.latest = Rate {
                real_time_factor: (count.simulated - from.simulated) / wall,
                cell_steps_per_s: (count.cell_steps - from.cell_steps) / solver,
            };
            self.window = (now, count);
        }
        self.latest
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(simulated: f64) -> Count {
        Count { simulated, ..Count::default() }
    }

    #[test]
    fn simulated_time_keeps_to_the_clock() {
        let start = Instant::now();
        let later = |s: f64| start + Duration::from_secs_f64(s);
        let mut pace = Pace::new(2.0, start, at(10.0));
        assert!((pace.allowed(later(0.05), 10.0) - 10.1).abs() < 1e-9);
        assert!((pace.wait(later(0.05), 10.3).as_secs_f64() - 0.1).abs() < 1e-6);
        assert_eq!(pace.wait(later(0.5), 10.3), Duration::ZERO);
    }

    #[test]
    fn a_late_run_does_not_hurry() {
        let start = Instant::now();
        let later = |s: f64| start + Duration::from_secs_f64(s);
        let mut pace = Pace::new(1.0, start, at(0.0));
        assert!((pace.allowed(later(5.0), 0.5) - 0.6).abs() < 1e-9);
        assert!((pace.allowed(later(5.1), 0.6) - 0.7).abs() < 1e-9);
    }

    #[test]
    fn speeds_are_measured() {
        let start = Instant::now();
        let mut pace = Pace::new(1.0, start, at(0.0));
        let count = Count { simulated: 3.0, cell_steps: 4e6, solver_s: 0.5 };
        let rate = pace.rate(start + Duration::from_secs(2), count);
        assert_eq!(rate, Rate { real_time_factor: 1.5, cell_steps_per_s: 8e6 });
    }
}
