//! Averages at points.

use super::{Fields, record::ProbeRecord};

/// The averages at a point (m), trilinear between the middles of the cells with water round it.
pub fn at(fields: &Fields, id: &str, point: [f64; 3]) -> ProbeRecord {
    let nothing = ProbeRecord { id: id.into(), at_m: point, mean_velocity_m_s: None, mean_speed_m_s: None, rms_m_s: None };
    let in_water = fields.cell_at(point).is_some_and(|cell| fields.water[cell] > 0.0);
    if !in_water {
        return nothing;
    }
    let corners = corners(fields, point);
    let total: f64 = corners.iter().map(|(_, weight)| weight).sum();
    if total <= 0.0 {
        return nothing;
    }
    let mean = |of: &dyn Fn(usize) -> f64| corners.iter().map(|&(cell, weight)| weight * of(cell)).sum::<f64>() / total;
    ProbeRecord {
        mean_velocity_m_s: Some(std::array::from_fn(|axis| mean(&|cell| f64::from(fields.mean_velocity[cell][axis])))),
        mean_speed_m_s: Some(mean(&|cell| f64::from(fields.mean_speed[cell]))),
        rms_m_s: Some(mean(&|cell| f64::from(fields.rms[cell]).powi(2)).sqrt()),
        ..nothing
    }
}

/// The eight cells round a point with their trilinear weights; cells without water weigh nothing, and beyond the grid's sides
/// the outermost cell stands in.
fn corners(fields: &Fields, point: [f64; 3]) -> [(usize, f64); 8] {
    std::array::from_fn(|corner| {
        let mut weight = 1.0;
        let cell = std::array::from_fn(|axis| {
            let position = point[axis] / fields.h - 0.5;
            let share = position - position.floor();
            let upper = corner >> axis & 1 == 1;
            weight *= if upper { share } else { 1.0 - share };
            (position.floor() + if upper { 1.0 } else { 0.0 }).clamp(0.0, fields.n[axis] as f64 - 1.0) as usize
        });
        let index = fields.index(cell);
        (index, if fields.water[index] > 0.0 { weight } else { 0.0 })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A velocity that is linear in x, y and z, with a wall of rock at x > 0.7.
    fn linear() -> Fields {
        let n = [10, 8, 6];
        let mut fields = Fields { n, h: 0.1, water: vec![1.0; 480], rms: vec![0.05; 480], ..Fields::default() };
        let centres: Vec<_> = (0..480).map(|index| fields.centre(index)).collect();
        fields.water = centres.iter().map(|c| if c[0] < 0.7 { 1.0 } else { 0.0 }).collect();
        fields.mean_velocity =
            centres.iter().map(|c| [c[0] + 2.0 * c[1], c[2], if c[0] < 0.7 { 1.0 } else { 99.0 }].map(|u| u as f32)).collect();
        fields.mean_speed = centres.iter().map(|c| (c[0] + c[1] + c[2]) as f32).collect();
        fields
    }

    #[test]
    fn linear_fields_come_back_exactly() {
        let record = at(&linear(), "p", [0.333, 0.412, 0.277]);
        let velocity = record.mean_velocity_m_s.unwrap();
        for (got, expected) in velocity.iter().zip([0.333 + 0.824, 0.277, 1.0]) {
            assert!((got - expected).abs() < 1e-6, "{velocity:?}");
        }
        assert!((record.mean_speed_m_s.unwrap() - 1.022).abs() < 1e-6);
        assert!((record.rms_m_s.unwrap() - 0.05).abs() < 1e-8);
    }

    #[test]
    fn rock_neither_answers_nor_mixes_in() {
        assert_eq!(at(&linear(), "rock", [0.75, 0.4, 0.3]).mean_speed_m_s, None);
        assert_eq!(at(&linear(), "outside", [2.0, 0.4, 0.3]).mean_speed_m_s, None);
        let beside = at(&linear(), "beside", [0.69, 0.4, 0.3]).mean_velocity_m_s.unwrap();
        assert!((beside[2] - 1.0).abs() < 1e-6, "{beside:?}");
    }
}
