//! How sure a time mean is: the standard error by batch means.
//!
//! The averaging time is cut into batches of equal length, each of whole joint cycles, so long that their means don't know of each other. The
//! means m₁ … m_B scatter about their own mean m with s² = ∑ (m_b − m)²/(B − 1), and the standard error of m is s/√B (batch means; Law and
//! Kelton, Simulation Modeling and Analysis; value from memory).

use super::side_by_side::{LANES, Lanes};
use serde::{Deserialize, Serialize};

/// Least length of a batch, s: some turns of the tank's largest eddies (common practice, no source).
pub const LEAST_BATCH: f64 = 20.0;

/// Length of a batch, s: whole joint cycles (s) that make at least [`LEAST_BATCH`].
pub fn length(cycle: f64) -> f64 {
    (LEAST_BATCH / cycle - 1e-9).ceil().max(1.0) * cycle
}

/// Running means and scatters of the batches of one number of each cell of a group.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Batches {
    sum: Lanes,
    mean: Lanes,
    scatter: Lanes,
}

impl Batches {
    /// Adds values × seconds to the batch that is open.
    #[inline(always)]
    pub fn add(&mut self, values: &Lanes, seconds: f32) {
        (0..LANES).for_each(|m| self.sum[m] += seconds * values[m]);
    }

    /// Closes the batch, the `count`th, which took `seconds` (Welford's update).
    pub fn close(&mut self, count: u32, seconds: f64) {
        for m in 0..LANES {
            let value = (f64::from(self.sum[m]) / seconds) as f32;
            let off = value - self.mean[m];
            self.mean[m] += off / count as f32;
            self.scatter[m] += off * (value - self.mean[m]);
            self.sum[m] = 0.0;
        }
    }

    /// Standard error of a cell's mean of `count` closed batches; `None` for fewer than two.
    pub fn standard_error(&self, cell: usize, count: u32) -> Option<f64> {
        let n = f64::from(count);
        (count >= 2).then(|| (f64::from(self.scatter[cell]).max(0.0) / (n * (n - 1.0))).sqrt())
    }
}

/// Standard error of the mean of a series of (seconds, value), cut into batches of `length` seconds; `None` when fewer than two fit.
pub fn standard_error(series: impl IntoIterator<Item = (f64, f64)>, length: f64) -> Option<f64> {
    let means = means(series, length);
    let n = means.len() as f64;
    if n < 2.0 {
        return None;
    }
    let mean = means.iter().sum::<f64>() / n;
    Some((means.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / (n * (n - 1.0))).sqrt())
}

/// Means of the whole batches of a series of (seconds, value).
fn means(series: impl IntoIterator<Item = (f64, f64)>, length: f64) -> Vec<f64> {
    let (mut means, mut sum, mut weight, mut time) = (Vec::new(), 0.0, 0.0, 0.0);
    for (seconds, value) in series {
        (sum, weight, time) = (sum + seconds * value, weight + seconds, time + seconds);
        if is_full(time, means.len(), length) {
            means.push(sum / weight);
            (sum, weight) = (0.0, 0.0);
        }
    }
    means
}

/// Whether the batch after `closed` ones is over at `time` (s).
pub fn is_full(time: f64, closed: usize, length: f64) -> bool {
    time >= (closed + 1) as f64 * length - 1e-6
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn batches_are_whole_cycles() {
        for (cycle, expected) in [(60.0, 60.0), (20.0, 20.0), (7.0, 21.0), (10.0, 20.0), (45.0, 45.0)] {
            assert!((length(cycle) - expected).abs() < 1e-9, "{cycle}");
        }
    }

    /// Batches of mean 1, 2, 3 and 6: mean 3, s² = (4 + 1 + 0 + 9)/3, so the standard error is √(14/12).
    #[test]
    fn four_batches_by_hand() {
        let series = [1.0, 2.0, 3.0, 6.0].map(|m| [(5.0, m - 0.5), (5.0, m + 0.5)]).concat();
        assert!((standard_error(series.clone(), 10.0).unwrap() - (14.0f64 / 12.0).sqrt()).abs() < 1e-12);
        let mut cells = Batches::default();
        for (index, (seconds, value)) in series.iter().enumerate() {
            cells.add(&[*value as f32; LANES], *seconds as f32);
            if index % 2 == 1 {
                cells.close(index as u32 / 2 + 1, 10.0);
            }
        }
        assert!((cells.standard_error(5, 4).unwrap() - (14.0f64 / 12.0).sqrt()).abs() < 1e-6);
        assert_eq!(standard_error(series, 30.0), None);
    }
}
