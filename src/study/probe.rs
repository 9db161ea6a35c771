//! Averages at points, gathered there: finer than the cells can tell near a nozzle.

use super::{Fields, Settings, record::ProbeRecord, statistics::Statistics};
use crate::{
    flow::{Flow, Gust, NearField},
    layout::Layout,
};
use serde::{Deserialize, Serialize};

/// Every point that is reported, m: the layout's probes, then those that were asked for besides.
pub fn places(layout: &Layout, settings: &Settings) -> Vec<[f64; 3]> {
    layout.probes.iter().map(|probe| probe.at.metres().to_array()).chain(settings.probes.iter().copied()).collect()
}

/// One record for each of [`places`], from their averages.
pub fn records(layout: &Layout, settings: &Settings, averages: &Fields) -> Vec<ProbeRecord> {
    let drawn = layout.probes.iter().map(|probe| probe.id.clone());
    let typed = settings.probes.iter().map(|at| at.map(|x| x.to_string()).join(","));
    let points = drawn.chain(typed).zip(places(layout, settings)).enumerate();
    points.map(|(index, (id, at_m))| record(averages, index, id, at_m)).collect()
}

fn record(averages: &Fields, index: usize, id: String, at_m: [f64; 3]) -> ProbeRecord {
    let wet = averages.water[index] > 0.0;
    ProbeRecord {
        id,
        at_m,
        mean_velocity_m_s: wet.then(|| averages.mean_velocity[index].map(f64::from)),
        mean_speed_m_s: wet.then(|| f64::from(averages.mean_speed[index])),
        rms_m_s: wet.then(|| f64::from(averages.rms[index])),
        standard_error_m_s: averages.error(index).filter(|_| wet),
    }
}

/// Points in the water with their averages.
#[derive(Debug, Serialize, Deserialize)]
pub struct Points {
    places: Vec<[f64; 3]>,
    /// 1 in water, 0 elsewhere, as of the last sample.
    wet: Vec<f32>,
    statistics: Statistics,
}

impl Points {
    /// No samples yet; `cycle` is the joint cycle, s.
    pub fn new(places: Vec<[f64; 3]>, cycle: f64) -> Self {
        let count = places.len();
        Self { places, wet: vec![0.0; count], statistics: Statistics::new(count, 0.0).watching(cycle, Vec::new()) }
    }

    /// Forgets all samples.
    pub fn forget(&mut self, cycle: f64) {
        *self = Self::new(std::mem::take(&mut self.places), cycle);
    }

    /// Adds the present velocity, which stands for `seconds`.
    pub fn sample(&mut self, flow: &Flow, near_field: &NearField, seconds: f64) {
        let found: Vec<_> = self.places.iter().map(|place| near_field.at(flow, place.map(|x| x as f32))).collect();
        self.wet = found.iter().map(|found| if found.is_some() { 1.0 } else { 0.0 }).collect();
        let gusts: Vec<Gust> = found.iter().map(|found| found.map_or_else(Gust::default, |(_, gust)| gust)).collect();
        let velocity: Vec<[f32; 3]> = found.iter().map(|found| found.map_or([0.0; 3], |(velocity, _)| velocity)).collect();
        self.statistics.add_gusts(&gusts, seconds);
        self.statistics.add(&velocity, &self.wet, seconds);
    }

    /// The averages so far: one "cell" for each point.
    pub fn fields(&self) -> Fields {
        self.statistics.fields([self.places.len(), 1, 1], 1.0, &self.wet)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::{Grid, Physics, Ports};

    /// A velocity that is linear in x, y and z, with a wall of rock at x > 0.7.
    fn linear() -> Flow {
        let grid = Grid { n: [10, 8, 6], h: 0.1 };
        let mut flow = Flow::new(grid, &|p| 0.7 - p[0], Ports::default(), Physics::tank(1e-6, 1));
        flow.set_velocity(&|p| [0.3 * p[1], p[2], p[0]]);
        flow
    }

    #[test]
    fn linear_fields_come_back_exactly_and_rock_does_not_answer() {
        let flow = linear();
        let mut points = Points::new(vec![[0.333, 0.412, 0.277], [0.75, 0.4, 0.3], [2.0, 0.4, 0.3]], 20.0);
        for seconds in [0.1, 0.3] {
            points.sample(&flow, &NearField::new(&flow), seconds);
        }
        let averages = points.fields();
        let found = record(&averages, 0, "p".into(), [0.0; 3]);
        let velocity = found.mean_velocity_m_s.unwrap();
        for (got, expected) in velocity.iter().zip([0.3 * 0.412, 0.277, 0.333]) {
            assert!((got - expected).abs() < 1e-6, "{velocity:?}");
        }
        assert!(found.rms_m_s.unwrap() < 1e-3);
        assert_eq!(record(&averages, 1, "rock".into(), [0.0; 3]).mean_speed_m_s, None);
        assert_eq!(record(&averages, 2, "outside".into(), [0.0; 3]).mean_speed_m_s, None);
    }

    /// A batch at 10 cm/s and one at 30 cm/s: mean 20, standard error 20/√2/√2 = 10 cm/s. None in rock, and none by one batch.
    #[test]
    fn two_batches_have_their_standard_error() {
        let mut flow = linear();
        let near = NearField::new(&flow);
        let mut points = Points::new(vec![[0.3, 0.4, 0.3], [0.75, 0.4, 0.3]], 20.0);
        let found = |points: &Points, index: usize| record(&points.fields(), index, "p".into(), [0.0; 3]);
        for (speed, known) in [(0.1, false), (0.3, true)] {
            flow.set_velocity(&|_| [speed, 0.0, 0.0]);
            (0..200).for_each(|_| points.sample(&flow, &near, 0.1));
            assert_eq!(found(&points, 0).standard_error_m_s.is_some(), known);
        }
        assert!((found(&points, 0).standard_error_m_s.unwrap() - 0.1).abs() < 1e-6);
        assert_eq!(found(&points, 1).standard_error_m_s, None);
    }
}
