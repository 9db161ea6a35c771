//! Groups of cells whose mean speed is kept sample by sample: the water round colonies and in zones.

use super::batches;
use serde::{Deserialize, Serialize};

/// One group and its course.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Watched {
    /// Id in the layout.
    pub id: String,
    /// Its cells, with their share of the group's water.
    pub cells: Vec<(u32, f32)>,
    series: Vec<(f32, f32)>,
}

/// What a group's course amounts to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    /// Share of the time in which the group's mean speed was under the band.
    pub under: f64,
    /// Share of the time within it.
    pub within: f64,
    /// Share of the time over it.
    pub over: f64,
}

impl Watched {
    /// Nothing seen yet; `cells` with their open water.
    pub fn new(id: &str, cells: &[(usize, f64)]) -> Self {
        let water: f64 = cells.iter().map(|(_, water)| water).sum();
        let cells = cells.iter().map(|&(cell, open)| (cell as u32, (open / water) as f32)).collect();
        Self { id: id.into(), cells, series: Vec::new() }
    }

    /// The same group with nothing seen.
    pub fn forget(&mut self) {
        self.series.clear();
    }

    /// Adds a sample of the velocities of all cells (m/s), standing for `seconds`.
    pub fn add(&mut self, velocity: &[[f32; 3]], seconds: f64) {
        let size = |u: [f32; 3]| (u[0] * u[0] + u[1] * u[1] + u[2] * u[2]).sqrt();
        let speed: f32 = self.cells.iter().map(|&(cell, share)| share * size(velocity[cell as usize])).sum();
        self.series.push((seconds as f32, speed));
    }

    /// Shares of the time under, within and over a band (m/s); `None` before the first sample or without water.
    pub fn shares(&self, low: f64, high: f64) -> Option<Shares> {
        let total: f64 = self.series().map(|(seconds, _)| seconds).sum();
        let time = |of: &dyn Fn(f64) -> bool| self.series().filter(|&(_, speed)| of(speed)).map(|(seconds, _)| seconds).sum::<f64>();
        (total > 0.0 && !self.cells.is_empty()).then(|| {
            let (under, over) = (time(&|speed| speed < low) / total, time(&|speed| speed > high) / total);
            Shares { under, within: 1.0 - under - over, over }
        })
    }

    /// Standard error of the mean speed, m/s, from batches of so many seconds.
    pub fn standard_error(&self, batch: f64) -> Option<f64> {
        batches::standard_error(self.series(), batch).filter(|_| !self.cells.is_empty())
    }

    fn series(&self) -> impl Iterator<Item = (f64, f64)> {
        self.series.iter().map(|&(seconds, speed)| (f64::from(seconds), f64::from(speed)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A ramp from 0 to 1 m/s over 100 s spends 20 s under 0.2, 50 s up to 0.7 and 30 s over it.
    #[test]
    fn a_ramp_spends_its_time_evenly() {
        let mut group = Watched::new("ramp", &[(1, 0.5), (2, 0.5)]);
        for step in 0..1000 {
            let speed = (step as f32 + 0.5) / 1000.0;
            group.add(&[[9.0; 3], [speed, 0.0, 0.0], [0.0, speed, 0.0]], 0.1);
        }
        let shares = group.shares(0.2, 0.7).unwrap();
        for (got, expected) in [(shares.under, 0.2), (shares.within, 0.5), (shares.over, 0.3)] {
            assert!((got - expected).abs() < 2e-3, "{shares:?}");
        }
        // Five batches with means 0.1, 0.3 … 0.9: s² = 0.1, standard error √(0.1/5).
        assert!((group.standard_error(20.0).unwrap() - 0.02f64.sqrt()).abs() < 1e-3);
    }

    #[test]
    fn nothing_seen_nothing_said() {
        assert_eq!(Watched::new("dry", &[]).shares(0.0, 1.0), None);
        assert_eq!(Watched::new("new", &[(0, 1.0)]).standard_error(1.0), None);
    }
}
