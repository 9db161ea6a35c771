//! How far an intake pulls: the water before it that moves toward it faster than a small fish can swim for long.

use super::{Fields, record::FishZone};

/// Speed that small fish hold for long, m/s: 0.5 ft/s, the limit that 40 CFR 125.94(c) sets for screens.
pub const LIMIT: f64 = 0.15;
/// Water counts as drawn when it moves within this of straight toward the intake: cos 45°.
const TOWARD: f64 = 0.707;

/// The zone before an intake at `at` (m) that reaches out from `mouth`, cells of its sink: joined cells whose time-mean velocity is faster than `limit`
/// (m/s) and points toward the intake.
pub fn zone(fields: &Fields, intake: &str, at: [f64; 3], mouth: &[usize], limit: f64) -> FishZone {
    let away = |cell: usize| -> [f64; 3] { std::array::from_fn(|axis| at[axis] - fields.centre(cell)[axis]) };
    let size = |v: [f64; 3]| v.iter().map(|x| x * x).sum::<f64>().sqrt();
    let drawn = |cell: usize| {
        let (u, to) = (fields.mean_velocity[cell].map(f64::from), away(cell));
        let along: f64 = (0..3).map(|axis| u[axis] * to[axis]).sum();
        fields.water[cell] > 0.0 && size(u) > limit && along >= TOWARD * size(u) * size(to)
    };
    let mut seen = vec![false; fields.len()];
    let mut cells: Vec<usize> = mouth.to_vec();
    cells.iter().for_each(|&cell| seen[cell] = true);
    let mut next = 0;
    while next < cells.len() {
        for neighbour in fields.neighbours(cells[next]) {
            if !std::mem::replace(&mut seen[neighbour], true) && drawn(neighbour) {
                cells.push(neighbour);
            }
        }
        next += 1;
    }
    cells.retain(|&cell| drawn(cell));
    let reach = cells.iter().map(|&cell| size(away(cell)) + fields.h / 2.0).fold(0.0, f64::max);
    FishZone {
        intake: intake.into(),
        limit_m_s: limit,
        volume_m3: cells.iter().fold(0.0, |sum, &cell| sum + fields.volume(cell)),
        reach_m: reach,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A point sink of 3 L/s in a wall draws Q/(2π r²): over 15 cm/s within r = √(Q/(2π v)) = 56.4 mm, a half ball of 0.376 L.
    #[test]
    fn a_point_sink_has_a_half_ball() {
        let (n, h, q, limit) = ([40, 40, 20], 0.005, 3e-3, 0.15);
        let at = [0.1, 0.1, 0.0];
        let count = n.iter().product();
        let mut fields = Fields { n, h, water: vec![1.0; count], ..Fields::default() };
        fields.mean_velocity = (0..count)
            .map(|cell| {
                let to: [f64; 3] = std::array::from_fn(|axis| at[axis] - fields.centre(cell)[axis]);
                let r2: f64 = to.iter().map(|x| x * x).sum();
                to.map(|x| (q / (std::f64::consts::TAU * r2) * x / r2.sqrt()) as f32)
            })
            .collect();
        let mouth = [fields.index([20, 20, 0])];
        let zone = zone(&fields, "I1", at, &mouth, limit);
        let r = (q / (std::f64::consts::TAU * limit)).sqrt();
        let ball = 2.0 / 3.0 * std::f64::consts::PI * r.powi(3);
        assert!((zone.volume_m3 / ball - 1.0).abs() < 0.03, "{zone:?}, not {ball} m³");
        assert!((zone.reach_m - r).abs() < 1.5 * h, "{zone:?}, not {r} m");
    }

    #[test]
    fn a_jet_that_passes_is_not_pull() {
        let mut fields = Fields { n: [6, 6, 6], h: 0.05, water: vec![1.0; 216], ..Fields::default() };
        fields.mean_velocity = vec![[0.5, 0.0, 0.0]; 216];
        let mouth = [fields.index([3, 3, 0])];
        let zone = zone(&fields, "I1", [0.175, 0.175, 0.0], &mouth, 0.15);
        assert!(zone.volume_m3 < 0.3 * 216.0 * 0.05f64.powi(3), "{zone:?}");
    }
}
