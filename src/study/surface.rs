//! How much of the surface film reaches an overflow.
//!
//! From the middle of every cell of the top layer a particle is carried by the time-mean velocity of that layer, level, by the midpoint rule,
//! until it comes within a cell of an overflow's lip or its time is up.

use super::{
    Fields,
    record::{Skimmed, SurfaceRecord},
};
use rayon::prelude::*;

/// Time within which film counts as skimmed, s (common practice, no source).
pub const HORIZON: f64 = 600.0;
/// Times at which the skimmed share is told, s.
const MOMENTS: [f64; 4] = [60.0, 120.0, 300.0, 600.0];
/// Steps per cell.
const STEPS_PER_CELL: f64 = 2.0;
/// Slower than this the film stands, m/s.
const STANDS: f64 = 1e-4;

/// A straight stretch of lip at the surface, seen from above: its two ends, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lip {
    /// One end.
    pub from: [f64; 2],
    /// The other.
    pub to: [f64; 2],
}

/// The surface of an averaged flow; `None` without lips.
pub fn skimming(fields: &Fields, lips: &[Lip], horizon: f64) -> Option<SurfaceRecord> {
    if lips.is_empty() || fields.is_empty() {
        return None;
    }
    let top = fields.len() - fields.n[0] * fields.n[1]..fields.len();
    let open: Vec<usize> = top.filter(|&cell| fields.water[cell] > 0.5).collect();
    let ends: Vec<End> = open.par_iter().map(|&cell| follow(fields, lips, horizon, cell)).collect();
    let skimmed = ends.iter().filter(|end| end.reached).count() as f64;
    let toward = open.iter().map(|&cell| drift(fields, lips, cell)).sum::<f64>();
    let count = open.len().max(1) as f64;
    let within = |within_s: f64| ends.iter().filter(|end| end.reached && end.took <= within_s).count() as f64 / count;
    let moments = MOMENTS.into_iter().filter(|&moment| moment <= horizon);
    Some(SurfaceRecord {
        horizon_s: horizon,
        skimmed_share: skimmed / count,
        drift_m_s: toward / count,
        trap_at_m: trap(fields, &ends),
        skimmed: moments.map(|within_s| Skimmed { within_s, share: within(within_s) }).collect(),
    })
}

/// Where a particle of film comes to.
#[derive(Debug, Clone, Copy)]
struct End {
    reached: bool,
    at: [f64; 2],
    /// Time on the way, s.
    took: f64,
}

fn follow(fields: &Fields, lips: &[Lip], horizon: f64, cell: usize) -> End {
    let middle = fields.centre(cell);
    let mut at = [middle[0], middle[1]];
    let mut left = horizon;
    while left > 0.0 {
        if lips.iter().any(|lip| lip.distance(at) <= fields.h) {
            return End { reached: true, at, took: horizon - left };
        }
        let Some(velocity) = velocity(fields, at) else { break };
        let speed = velocity[0].hypot(velocity[1]);
        if speed < STANDS {
            break;
        }
        let dt = (fields.h / STEPS_PER_CELL / speed).min(left);
        let half = moved(fields, at, velocity, dt / 2.0);
        at = moved(fields, at, self::velocity(fields, half).unwrap_or(velocity), dt);
        left -= dt;
    }
    End { reached: false, at, took: horizon - left }
}

/// Carried on, but kept in the tank.
fn moved(fields: &Fields, at: [f64; 2], velocity: [f64; 2], dt: f64) -> [f64; 2] {
    std::array::from_fn(|axis| {
        let side = fields.n[axis] as f64 * fields.h;
        (at[axis] + velocity[axis] * dt).clamp(1e-6 * side, (1.0 - 1e-6) * side)
    })
}

/// Level velocity of the top layer, bilinear between cell middles with water; `None` off the water.
fn velocity(fields: &Fields, at: [f64; 2]) -> Option<[f64; 2]> {
    let k = fields.n[2] - 1;
    let here = fields.cell_at([at[0], at[1], (k as f64 + 0.5) * fields.h])?;
    if fields.water[here] <= 0.0 {
        return None;
    }
    let (mut sum, mut total) = ([0.0; 2], 0.0);
    for corner in 0..4 {
        let mut weight = 1.0;
        let cell: [usize; 2] = std::array::from_fn(|axis| {
            let position = at[axis] / fields.h - 0.5;
            let share = position - position.floor();
            let upper = corner >> axis & 1 == 1;
            weight *= if upper { share } else { 1.0 - share };
            (position.floor() + if upper { 1.0 } else { 0.0 }).clamp(0.0, fields.n[axis] as f64 - 1.0) as usize
        });
        let index = fields.index([cell[0], cell[1], k]);
        if fields.water[index] > 0.0 {
            (0..2).for_each(|axis| sum[axis] += weight * f64::from(fields.mean_velocity[index][axis]));
            total += weight;
        }
    }
    (total > 0.0).then(|| sum.map(|s| s / total))
}

/// Speed of the film straight toward the nearest lip, m/s.
fn drift(fields: &Fields, lips: &[Lip], cell: usize) -> f64 {
    let middle = fields.centre(cell);
    let at = [middle[0], middle[1]];
    let nearest = lips.iter().map(|lip| lip.nearest(at)).min_by(|a, b| apart(at, *a).total_cmp(&apart(at, *b)));
    let Some(lip) = nearest else { return 0.0 };
    let distance = apart(at, lip).max(1e-9);
    let velocity = fields.mean_velocity[cell];
    (0..2).map(|axis| f64::from(velocity[axis]) * (lip[axis] - at[axis]) / distance).sum()
}

/// The cell in which most film that is not skimmed comes together, if more than a tenth of all film does: a film trap.
fn trap(fields: &Fields, ends: &[End]) -> Option<[f64; 3]> {
    const SPAN: f64 = 4.0;
    const WORTH_TELLING: f64 = 0.1;
    let block = SPAN * fields.h;
    let mut counts = std::collections::BTreeMap::<[usize; 2], usize>::new();
    for end in ends.iter().filter(|end| !end.reached) {
        *counts.entry(end.at.map(|x| (x / block) as usize)).or_default() += 1;
    }
    let (place, count) = counts.into_iter().max_by_key(|&(_, count)| count)?;
    let height = fields.n[2] as f64 * fields.h;
    let middle = |c: usize| (c as f64 + 0.5) * block;
    (count as f64 > WORTH_TELLING * ends.len() as f64).then(|| [middle(place[0]), middle(place[1]), height])
}

fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

impl Lip {
    fn nearest(&self, at: [f64; 2]) -> [f64; 2] {
        let along = [self.to[0] - self.from[0], self.to[1] - self.from[1]];
        let square = along[0] * along[0] + along[1] * along[1];
        let share = ((at[0] - self.from[0]) * along[0] + (at[1] - self.from[1]) * along[1]) / square.max(1e-12);
        let share = share.clamp(0.0, 1.0);
        [self.from[0] + share * along[0], self.from[1] + share * along[1]]
    }

    fn distance(&self, at: [f64; 2]) -> f64 {
        apart(at, self.nearest(at))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn surface(velocity: impl Fn([f64; 3]) -> [f64; 2]) -> Fields {
        let n = [60, 20, 2];
        let mut fields = Fields { n, h: 0.05, water: vec![1.0; 2400], ..Fields::default() };
        fields.mean_velocity = (0..2400).map(|cell| velocity(fields.centre(cell))).map(|[u, v]| [u as f32, v as f32, 0.0]).collect();
        fields
    }

    const LEFT: Lip = Lip { from: [0.0, 0.0], to: [0.0, 1.0] };

    /// A film that drifts at 1 cm/s toward the left end brings in 1 m of its 3 m (and the last cell, which counts as there) in 100 s.
    #[test]
    fn a_steady_drift_skims_its_reach() {
        let record = skimming(&surface(|_| [-0.01, 0.0]), &[LEFT], 100.0).unwrap();
        assert!((record.skimmed_share - 1.05 / 3.0).abs() < 0.02, "{record:?}");
        assert!((record.drift_m_s - 0.01).abs() < 1e-6);
        let shares: Vec<f64> = record.skimmed.iter().map(|skimmed| skimmed.share).collect();
        assert!(shares.len() == 1 && (shares[0] - 0.65 / 3.0).abs() < 0.02, "60 s bring 60 cm and a cell: {shares:?}");
        let all = skimming(&surface(|_| [-0.01, 0.0]), &[LEFT], 600.0).unwrap();
        assert_eq!((all.skimmed_share, all.trap_at_m), (1.0, None));
    }

    /// A film that runs together at x = 2 m, y = 0.5 m never reaches the left end.
    #[test]
    fn a_trap_is_found() {
        let record = skimming(&surface(|p| [0.05 * (2.0 - p[0]), 0.05 * (0.5 - p[1])]), &[LEFT], 600.0).unwrap();
        let trap = record.trap_at_m.unwrap();
        assert!(record.skimmed_share < 0.02 && (trap[0] - 2.0).abs() < 0.2 && (trap[1] - 0.5).abs() < 0.2, "{record:?}");
    }

    /// Solid-body rotation brings every particle back to its circle: only those whose circle touches the lip are skimmed.
    #[test]
    fn circles_stay_circles() {
        let turning = surface(|p| [-0.2 * (p[1] - 0.5), 0.2 * (p[0] - 1.5)]);
        let short = Lip { from: [1.5, 0.9], to: [1.5, 0.95] };
        let end = follow(&turning, &[short], 31.0, turning.index([38, 10, 1]));
        let radius = (end.at[0] - 1.5).hypot(end.at[1] - 0.5);
        assert!(!end.reached || radius < 0.5, "{end:?}");
        assert!((radius - 0.425f64.hypot(0.025)).abs() < 0.02, "{end:?}");
    }
}
