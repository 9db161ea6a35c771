//! The joint cycle of several units.

use super::unit::Unit;

/// Longest joint cycle that is followed to its end, ms.
const LONGEST_MS: u64 = 3_600_000;

/// The time after which all units together repeat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JointCycle {
    /// s; zero when nothing moves.
    pub period_s: f64,
    /// False when the true joint cycle is longer than an hour or the periods are no whole milliseconds.
    pub exact: bool,
}

/// Least common multiple of the units' periods, taken to the millisecond. Over an hour: as many whole turns of the slowest
/// unit as fit in an hour (at least one), marked inexact.
pub fn joint_cycle(units: &[Unit]) -> JointCycle {
    let periods: Vec<f64> = units.iter().filter_map(Unit::period).collect();
    let whole: Vec<u64> = periods.iter().map(|p| ((p * 1000.0).round() as u64).max(1)).collect();
    let exact = periods.iter().zip(&whole).all(|(p, ms)| (p * 1000.0 - *ms as f64).abs() < 1e-6 * p.max(1.0));
    let Some(&slowest) = whole.iter().max() else { return JointCycle { period_s: 0.0, exact: true } };
    match whole.iter().try_fold(1, |all, &ms| least_common_multiple(all, ms)) {
        Some(joint) => JointCycle { period_s: joint as f64 / 1000.0, exact },
        None => JointCycle { period_s: (slowest * (LONGEST_MS / slowest).max(1)) as f64 / 1000.0, exact: false },
    }
}

/// `None` when it is longer than [`LONGEST_MS`] and than both.
fn least_common_multiple(a: u64, b: u64) -> Option<u64> {
    let multiple = (a / greatest_common_divisor(a, b)).checked_mul(b)?;
    (multiple <= LONGEST_MS || multiple == a.max(b)).then_some(multiple)
}

fn greatest_common_divisor(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { greatest_common_divisor(b, a % b) }
}

#[cfg(test)]
mod tests {
    use super::super::unit::Motion;
    use super::*;

    fn units(periods: &[f64]) -> Vec<Unit> {
        let unit = |p: &f64| Unit { outlets: 1, port_arc: 1.0, windows: vec![], motion: Motion::Turning(*p), phase: 0.0, reverse: false };
        periods.iter().map(unit).collect()
    }

    #[test]
    fn least_common_multiples() {
        let cases = [
            (vec![], 0.0, true),
            (vec![40.0], 40.0, true),
            (vec![40.0, 60.0], 120.0, true),
            (vec![0.75, 1.2], 6.0, true),
            (vec![61.0, 59.0], 3599.0, true),
            (vec![61.0, 67.0], 3551.0, false),
            (vec![7200.0, 3600.0], 7200.0, true),
            (vec![10.0 / 3.0], 3.333, false),
        ];
        for (periods, period, exact) in cases {
            let joint = joint_cycle(&units(&periods));
            assert!((joint.period_s - period).abs() < 1e-9 && joint.exact == exact, "{periods:?}: {joint:?}");
        }
    }
}
